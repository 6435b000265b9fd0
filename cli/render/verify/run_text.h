#pragma once

#include <string>

#include "cli/render/verify/report.h"

namespace benchproof {

/// What is known of one run, for people: agreement, expectations with what was
/// measured, findings; with `by_hand` also the handbook rules that fit.
[[nodiscard]] std::string run_section(const FileReport& report, const RunResult& run,
                                      bool colour, bool by_hand);

}  // namespace benchproof
