#pragma once

#include <optional>
#include <string_view>

#include "core/base/quantity.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/expectations/detail/expectation_subject.h"

// The quantity that an expectation asks for, and its bounds.

namespace benchproof {

/// The one quantity that an expectation asks for, or nothing after a complaint, which
/// names the `choices`.
[[nodiscard]] const QuantityStyle* find_quantity(Reading& reading,
                                                 const TomlNode& table,
                                                 std::string_view choices);

/// Reads the quantity behind a key; nothing where the key is not there, or after a
/// complaint.
[[nodiscard]] std::optional<double> read_bound(Reading& reading, const TomlNode& table,
                                               std::string_view key, Unit unit);

/// Reads { nominal, within } or { min, max }. False after a complaint.
[[nodiscard]] bool read_bounds(Reading& reading, const TomlEntry& entry, Unit unit,
                               Expectation& expectation);

/// Whether bounds on a source's power say anything: what it delivers counts as less
/// than nothing, so that one above can hardly be passed. Complains if they do not.
[[nodiscard]] bool check_power(Reading& reading, const TomlEntry& entry,
                               const Expectation& expectation);

}  // namespace benchproof
