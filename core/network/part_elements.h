#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/plan.h"

namespace benchproof {

/// What one part by itself becomes.
struct PartElements {
  /// Its elements, and of the nodes only those inside it: they are counted on from the
  /// circuit's nets, as if there were no other part.
  Structure structure;
  std::vector<Values> values;  ///< One for each phase.
  std::uint32_t shape = 0;     ///< As in PartPlan.
};

/// The elements of a part that stands in the circuit as the one of that index, in each
/// of some phases: those of all parts one after the other are what `make_plan` and
/// `fill` make.
[[nodiscard]] PartElements elements_of(const Circuit& circuit, const Part& part,
                                       int index, std::span<const State> phases,
                                       Purpose purpose = Purpose::rest);

}  // namespace benchproof
