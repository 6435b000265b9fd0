#pragma once

#include <string>

#include "core/catalogue/catalogue.h"
#include "core/catalogue/kind.h"
#include "core/catalogue/search.h"

namespace benchproof {

// The catalogue for people: at most kLineWidth columns.

/// Each kind with the number of its types and some names: one screen.
[[nodiscard]] std::string kinds_text(const Catalogue& catalogue);

/// The types found with their most telling figures, kind by kind, one line each.
[[nodiscard]] std::string types_text(const Found& found);

/// A kind's pins and the keys that a description may give it.
[[nodiscard]] std::string kind_text(const Kind& kind);

/// All of one type: how a description asks for it, its figures with condition, mark and
/// source, the model and how far it is off the published figures, and the keys that
/// override or add.
[[nodiscard]] std::string type_text(const Type& type);

}  // namespace benchproof
