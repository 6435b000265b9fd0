#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/preferred.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// How far a part's key may be off, as a share: what the part says, or else what the
/// catalogue assumes, or what parts of the kind are usually sold with. Of a value from
/// a series, given in `series`, no more is assumed than parts of that series are sold
/// with: E48 2 %, E96 1 %, E192 0.5 % (IEC 60063, from memory). Nothing where the kind
/// or the key has no tolerance.
[[nodiscard]] std::optional<double> tolerance_of(
    const Part& part, std::string_view key,
    std::optional<Series> series = std::nullopt);

/// What copies of a part's type are published to lie between: its figures `KEY_least`
/// and `KEY_most`, where one is not told the usual value in its place; nothing where
/// neither is. In the key's unit.
struct PublishedBounds {
  Figure least;
  Figure most;
};
[[nodiscard]] std::optional<PublishedBounds> published_bounds(const Part& part,
                                                              std::string_view key);

/// The figures of a part's type that have bounds: "gain", "output" ... and "forward",
/// the voltage of a forward curve.
[[nodiscard]] std::vector<std::string> bounded_figures(const Part& part);

/// The unit of a key or bounded figure of a part; nothing of what is no number.
[[nodiscard]] std::optional<Unit> unit_of_target(const Part& part,
                                                 std::string_view key);

}  // namespace benchproof
