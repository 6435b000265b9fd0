#include "core/verify/at_rest.h"

#include <cassert>
#include <cstddef>
#include <string>
#include <utility>

#include "core/check/agree/agreement.h"
#include "core/network/edits.h"
#include "core/network/unlimited.h"

namespace benchproof {

PosedState::PosedState(const Circuit& circuit, State state,
                       std::shared_ptr<const Structure> known)
    : circuit_(circuit),
      state_(std::move(state)),
      parts_(parts_in(circuit, state_)),
      plan_(make_plan(circuit, parts_, std::move(known))) {
  for (Phase& phase : benchproof::phases(circuit, state_))
    phases_.push_back({std::move(phase), {}});
  fill_all();
}

void PosedState::fill_all() {
  for (PosedPhase& posed : phases_) {
    Network& network = posed.network;
    network.structure = plan_.structure;
    network.celsius = circuit_.ambient;
    [[maybe_unused]] const bool is_filled =
        fill(plan_, circuit_, parts_, posed.phase.state, network.values);
    assert(is_filled && "a plan holds for the parts that it was made of");
  }
}

void PosedState::put(int part, std::string_view key, double value) {
  const std::pair target(part, std::string(key));
  const Setting setting = {value, circuit_.parts[part].span};
  state_.settings[target] = setting;
  for (PosedPhase& posed : phases_) posed.phase.state.settings[target] = setting;
  refresh(part);
}

void PosedState::refresh(int part) {
  parts_[part] = part_in(circuit_, state_, part);
  for (PosedPhase& posed : phases_) {
    if (fill_part(plan_, circuit_, parts_, posed.phase.state, part,
                  posed.network.values))
      continue;
    plan_ = make_plan(circuit_, parts_, plan_.structure);
    return fill_all();
  }
}

Testimony testimony_of(const PosedState& posed, const Solve& witness, Pins pins) {
  Testimony testimony;
  std::vector<Observation> seen;
  std::vector<std::optional<Observation>> strong;
  const auto observed = [&](const Network& network) -> std::optional<Observation> {
    const Solution solution = witness(network);
    if (is_complete(network, solution))
      return observe(posed.circuit(), network, solution);
    testimony.reason = solution.reason;
    return std::nullopt;
  };
  for (const PosedPhase& phase : posed.phases()) {
    testimony.loop = unlimited_loop(phase.network);
    testimony.phase = phase.phase.name;
    if (!testimony.loop.empty()) return testimony;
    std::optional<Observation> here = observed(phase.network);
    if (!here) return testimony;
    seen.push_back(std::move(*here));
    strong.emplace_back();
    if (pins == Pins::as_described) continue;
    const auto network =
        with_strong_pins(posed.circuit(), phase.phase.state, phase.network);
    if (network) strong.back() = observed(*network);
  }
  testimony.reason.clear();
  testimony.seen = seen_state(posed.phases(), std::move(seen), std::move(strong));
  return testimony;
}

SeenState seen_state(const std::vector<PosedPhase>& phases,
                     std::vector<Observation> seen,
                     std::vector<std::optional<Observation>> strong) {
  SeenState state;
  std::vector<double> shares;
  for (const PosedPhase& phase : phases) shares.push_back(phase.phase.share);
  state.average = average(seen, shares);
  state.phases = std::move(seen);
  state.strong = std::move(strong);
  return state;
}

CheckInput check_input(const PosedState& posed, const SeenState& seen) {
  CheckInput input{posed.circuit(), posed.state(), posed.parts(), {}, seen.average};
  for (std::size_t k = 0; k < seen.phases.size(); ++k) {
    input.phases.push_back({posed.phases()[k].phase, seen.phases[k],
                            seen.strong[k] ? &*seen.strong[k] : nullptr});
  }
  return input;
}

}  // namespace benchproof
