#pragma once

#include <vector>

#include "cli/render/verify/report.h"
#include "core/catalogue/catalogue.h"
#include "core/diagnose/foreseen/meter.h"
#include "core/diagnose/foreseen/predictions.h"
#include "core/diagnose/sheet.h"
#include "core/fault/fault.h"

namespace benchproof {

/// How faults are foreseen on this machine: by as many threads as it has processors, at
/// most four.
[[nodiscard]] PredictOptions usual_prediction();

/// All faults of a description's circuit, by its own types where it has some.
/// @pre file.circuit
[[nodiscard]] std::vector<Fault> faults_of(const FileReport& file,
                                           const Catalogue& built_in);

/// All that is to be measured of a description's circuit.
/// @pre file.circuit
[[nodiscard]] Sheet sheet_of(const FileReport& file, const Catalogue& built_in,
                             const Meter& meter);

}  // namespace benchproof
