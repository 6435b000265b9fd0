#pragma once

#include <memory>

#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/plan.h"

namespace benchproof {

/// Lowers the circuit, in one state without PWM (see `phases`), to nodes and elements.
/// `structure`, where given, is that of another state of the same circuit: it is shared
/// if the elements come out the same, so that solvers keep their symbolic work.
[[nodiscard]] Network lower(const Circuit& circuit, const State& state,
                            std::shared_ptr<const Structure> structure = nullptr,
                            Purpose purpose = Purpose::rest);

}  // namespace benchproof
