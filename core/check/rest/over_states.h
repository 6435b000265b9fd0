#pragma once

#include <utility>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/observation.h"

namespace benchproof {

/// What only all steady states together can tell: an LED that never lights (below
/// kLitAmps in every phase of every state) is a fault, one that is never more than
/// faint (below kFaintAmps) a note; a lamp, motor, coil or buzzer that never gets half
/// its rated voltage is a fault, one that never gets four fifths a caution (but for
/// relay coils, whose own share is looked at in every state).
///
/// So is that no supply delivers anything, and a transistor that conducts whatever the
/// output that drives it does.
///
/// `seen` holds each steady state's phases. Each finding comes with the index of the
/// state that it belongs to: the one in which the LED has most current.
[[nodiscard]] std::vector<std::pair<std::size_t, Finding>> check_over_states(
    const Circuit& circuit, const std::vector<std::vector<const Observation*>>& seen);

/// Common practice, no source: what a usual LED needs to be seen at all, and to be seen
/// in a lit room. Ampere.
inline constexpr double kLitAmps = 0.1e-3;
inline constexpr double kFaintAmps = 0.5e-3;

/// Common practice, no source: the share of its rated voltage below which a lamp,
/// motor, coil or buzzer is as good as off, and below which it does its work badly.
inline constexpr double kIdleShare = 0.5;
inline constexpr double kWorkingShare = 0.8;

}  // namespace benchproof
