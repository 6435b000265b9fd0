#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cli/render/verify/report.h"
#include "core/catalogue/catalogue.h"
#include "core/catalogue/search.h"

namespace benchproof {

/// The kinds with their pins, keys and number of types as a JSON object, layout 1;
/// without a final line feed.
[[nodiscard]] std::string kinds_json(const Catalogue& catalogue);

/// The types found, every figure with its source, as a JSON object, layout 1. Values
/// are in the unit named beside them and never rounded. Without a type: the `near`
/// names.
[[nodiscard]] std::string types_json(std::string_view asked, const Found& found,
                                     const std::vector<std::string>& near);

/// Why a catalogue file is refused, as the JSON object of a refused description.
[[nodiscard]] std::string refused_json(const CatalogueReport& report);

/// RFC 4180: one row for each kind, or for each figure, word and forward point of each
/// type.
[[nodiscard]] std::string kinds_csv(const Catalogue& catalogue);
[[nodiscard]] std::string types_csv(const Found& found);

}  // namespace benchproof
