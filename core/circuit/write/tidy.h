#pragma once

#include <string>
#include <string_view>

#include "core/circuit/circuit.h"

namespace benchproof {

/// A description whose wiring is written as paths.
struct Tidied {
  std::string text;  ///< The whole description; as it was where nothing changes.
  bool is_changed = false;
  std::string reason;  ///< Why nothing changes, in words; empty otherwise.
};

/// Writes what stands in [nets] as paths, where that is shorter. Parts of two pins are
/// followed from their first pin to their second, from net to net, as far as it goes;
/// what is not on the way stays in its list. Names of nets stay, paths that are there
/// stay, and so does every comment: one that stood beside a list which goes stands
/// beside the path that takes its place.
///
/// `circuit` is what the text was read as. Whoever puts the text in the place of the
/// other reads it again first, and compares: see same_wiring.
[[nodiscard]] Tidied tidy(std::string_view text, const Circuit& circuit);

/// Whether two circuits have the same parts, and the same pins on nets of the same
/// names.
[[nodiscard]] bool same_wiring(const Circuit& one, const Circuit& other);

}  // namespace benchproof
