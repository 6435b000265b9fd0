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
/// A lamp glows and a motor turns with less: a fan of 12 V starts from some 4 V.
inline constexpr double kFaintShare = 1.0 / 3.0;
/// The share of a load's rated voltage below which it does nothing.
[[nodiscard]] constexpr double idle_share(KindId kind) {
  return kind == KindId::lamp || kind == KindId::motor ? kFaintShare : kIdleShare;
}
[[nodiscard]] constexpr const char* idle_share_words(KindId kind) {
  return idle_share(kind) == kFaintShare ? "a third of a load's rated voltage"
                                         : "half of a load's rated voltage";
}
inline constexpr double kWorkingShare = 0.8;

}  // namespace benchproof
