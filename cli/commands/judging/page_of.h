#pragma once

#include <cstddef>

#include "cli/render/page/page_report.h"
#include "core/catalogue/catalogue.h"
#include "spice/session/engine_session.h"

namespace benchproof {

/// How many copies a page has where nobody asks for a number: 100,000, as `tolerance`,
/// but for circuits in which parts times states are more than sixty: so many that the
/// work is no more than theirs, and 2,000 at least.
[[nodiscard]] std::size_t usual_copies(const Circuit& circuit);

/// All that a page shows of a description that was judged in all its states and runs.
/// `copies` is at least 1. Asks both witnesses; `file` must have a circuit.
[[nodiscard]] PageReport page_of(FileReport file, const Catalogue& built_in,
                                 EngineSession& session, std::size_t copies);

}  // namespace benchproof
