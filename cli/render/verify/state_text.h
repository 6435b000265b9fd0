#pragma once

#include <string>

#include "cli/render/verify/report.h"

namespace benchproof {

/// Whether leakage alone sets a net's level.
[[nodiscard]] bool floats(const StateResult& state, std::size_t net);

/// What is known of one state, for people: agreement, nets, parts, PWM, findings,
/// expectations, and with `by_hand` the handbook rules that fit.
[[nodiscard]] std::string state_section(const FileReport& report,
                                        const StateResult& state, bool colour,
                                        bool by_hand);

}  // namespace benchproof
