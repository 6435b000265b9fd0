#include "core/network/lower.h"

#include <cassert>
#include <utility>
#include <vector>

#include "core/network/plan.h"

namespace benchproof {

Network lower(const Circuit& circuit, const State& state,
              std::shared_ptr<const Structure> structure, Purpose purpose) {
  const std::vector<Part> parts = parts_in(circuit, state);
  const Plan plan = make_plan(circuit, parts, std::move(structure), purpose);
  Network network;
  [[maybe_unused]] const bool is_filled =
      fill(plan, circuit, parts, state, network.values);
  assert(is_filled && "a plan holds for the parts that it was made of");
  network.structure = plan.structure;
  network.celsius = circuit.ambient;
  return network;
}

}  // namespace benchproof
