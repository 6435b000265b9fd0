#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "core/base/span.h"
#include "core/circuit/entries/limits.h"

namespace benchproof {

/// The file of a user's own types that a description names: `catalogue = "..."`.
struct OwnCatalogue {
  std::string path;  ///< Within the description's folder.
  Span span;         ///< Where the description names it.
};

/// Whether a path stays within the folder that it starts from, as it is written: not
/// empty, not absolute, and without `..`. What links do with it is not known here.
[[nodiscard]] bool is_beside(std::string_view path);

/// What the description names as its own catalogue; nothing where it names none or
/// not one that read_circuit lets pass. Reads no file: whoever does gives the types to
/// read_circuit.
[[nodiscard]] std::optional<OwnCatalogue> own_catalogue(std::string_view description,
                                                        const Limits& limits = {});

}  // namespace benchproof
