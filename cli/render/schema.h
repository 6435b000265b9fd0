#pragma once

#include <string>

#include "core/catalogue/catalogue.h"

namespace benchproof {

/// The JSON Schema (draft 7, which editors know) of a description: made from the table
/// of kinds, the units and the limits of the reader; the names of types from
/// `catalogue`. It refuses what can be told without looking from one place of the
/// description to another, and no description that the reader takes.
[[nodiscard]] std::string schema_json(const Catalogue& catalogue);

}  // namespace benchproof
