#pragma once

#include <optional>

#include "core/circuit/circuit.h"
#include "core/circuit/question.h"

namespace benchproof {

/// What the looks of a part hang on in a state: on average over phases of PWM.
struct Works {
  double amps = 0.0;   ///< Into its first pin.
  double watts = 0.0;  ///< What it takes up.
  double volts = 0.0;  ///< From its first pin to its second.
  /// One standard deviation of its light, as a share of it, over copies.
  double scatter = 0.0;
};

/// How a part looks, and how sure an eye says so. `meant` is how it works as meant.
///
/// A lamp's light is held against what it is as meant: an eye tells apart what differs
/// by more than half or twice. One that is meant to be dark is dark, not as meant; one
/// that glows all the same is too bright. Motors, relays and buzzers go by the share of
/// their rated current. Every other part is hot or as meant, by what it takes up.
[[nodiscard]] Shown looks_of(const Part& part, const Works& works, const Works& meant);

}  // namespace benchproof
