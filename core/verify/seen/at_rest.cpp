#include "core/verify/seen/at_rest.h"

#include <cassert>
#include <cstddef>
#include <string>
#include <utility>

#include "core/check/agree/agreement.h"
#include "core/check/always/apart.h"
#include "core/network/edits.h"
#include "core/network/unlimited.h"

namespace benchproof {

PosedState::PosedState(const Circuit& circuit, State state,
                       std::shared_ptr<const Structure> known)
    : circuit_(circuit),
      state_(std::move(state)),
      parts_(parts_in(circuit, state_)),
      plan_(make_plan(circuit, parts_, std::move(known))),
      apart_(check_apart(circuit)) {
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

void PosedState::put_back(int part, std::string_view key, const PosedState& before) {
  const std::pair target(part, std::string(key));
  const auto restore = [&target](const State& from, State& to) {
    const auto found = from.settings.find(target);
    if (found == from.settings.end())
      to.settings.erase(target);
    else
      to.settings[target] = found->second;
  };
  restore(before.state_, state_);
  parts_[part] = before.parts_[part];
  for (std::size_t k = 0; k < phases_.size(); ++k) {
    restore(before.phases_[k].phase.state, phases_[k].phase.state);
    phases_[k].network = before.phases_[k].network;
  }
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

void PosedState::replace(const std::vector<Network>& networks) {
  assert(networks.size() == phases_.size() && "one network a phase");
  for (std::size_t k = 0; k < phases_.size(); ++k) phases_[k].network = networks[k];
}

std::deque<PosedState> pose_states(const Circuit& circuit,
                                   const std::vector<std::string>& only) {
  std::deque<PosedState> posed;
  for (const State& state : circuit.states)
    if (state.steady && is_named(only, state.name))
      posed.emplace_back(circuit, state,
                         posed.empty() ? nullptr : posed.back().structure());
  return posed;
}

Sight sight_of(const PosedState& posed, const Solve& witness, PinsRead pins) {
  Sight sight;
  std::vector<Observation> seen;
  for (const PosedPhase& phase : posed.phases()) {
    sight.loop = unlimited_loop(phase.network);
    sight.phase = phase.phase.name;
    if (!sight.loop.empty()) return sight;
    if (!posed.apart().empty()) {
      sight.reason = posed.apart().front().message;
      return sight;
    }
    const Solution solution = witness(phase.network);
    if (!is_complete(phase.network, solution)) {
      sight.reason = solution.reason;
      return sight;
    }
    seen.push_back(observe(posed.circuit(), phase.network, solution));
  }
  sight.phase.clear();
  SeenState& state = sight.seen.emplace();
  std::vector<double> shares;
  for (const PosedPhase& phase : posed.phases()) shares.push_back(phase.phase.share);
  state.average = average(seen, shares);
  state.phases = std::move(seen);
  state.strong.resize(state.phases.size());
  if (pins == PinsRead::strong) see_strong(posed, witness, state);
  return sight;
}

void see_strong(const PosedState& posed, const Solve& witness, SeenState& seen) {
  for (std::size_t k = 0; k < seen.phases.size(); ++k)
    seen.strong[k] = strong_seen(posed.circuit(), posed.phases()[k], witness);
}

std::optional<Observation> strong_seen(const Circuit& circuit, const PosedPhase& phase,
                                       const Solve& witness) {
  const auto strong = with_strong_pins(circuit, phase.phase.state, phase.network);
  if (!strong) return std::nullopt;
  const Solution solution = witness(*strong);
  if (!is_complete(*strong, solution)) return std::nullopt;
  return observe(circuit, *strong, solution);
}

CheckInput check_input(const PosedState& posed, const SeenState& seen) {
  std::vector<SeenPhase> phases;
  for (std::size_t k = 0; k < seen.phases.size(); ++k) {
    phases.push_back({posed.phases()[k].phase, seen.phases[k],
                      seen.strong[k] ? &*seen.strong[k] : nullptr});
  }
  return check_input(posed.circuit(), posed.state(), posed.parts(), std::move(phases),
                     seen.average);
}

CheckInput check_input(const Circuit& circuit, const State& state,
                       const std::vector<Part>& parts, std::vector<SeenPhase> phases,
                       const Observation& average) {
  return {circuit, state, parts, std::move(phases), average};
}

Judgement judge_at_rest(const CheckInput& engine, const CheckInput& nodal,
                        std::vector<Finding> others) {
  Judgement judgement;
  judgement.expectations = hold_expectations(engine, nodal);
  for (Finding& finding : failed_expectations(nodal.circuit, judgement.expectations))
    others.push_back(std::move(finding));
  judgement.findings = run_checks(nodal, std::move(others));
  return judgement;
}

}  // namespace benchproof
