#include "core/verify/ends.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "core/check/finding/explanation.h"
#include "core/check/finding/wording.h"
#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"
#include "core/verify/at_rest.h"
#include "core/verify/brought.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
    {"setting-end",
     "what becomes of the circuit at the ends of what a person can set or wear out",
     "each state is solved and judged again, by both witnesses, with each trimmer at "
     "either end, each battery fresh, each light-resistor at 200 ohm, each "
     "heat-resistor at a tenth of its value: a fault where a rating is passed then "
     "that is not passed as described. So it is with each motor at its "
     "'start_current', "
     "for the transistors and pins that drive it",
     "the limit of the rating that is passed; 200 ohm in the sun and a tenth at 85 C: "
     "common practice, no source (practice)",
     "someone will turn it there, or the sun will; a motor stands still at each start "
     "and whenever something holds it",
     "put a resistor in series that keeps the rating at the end, or choose values that "
     "bear it"},
    {"battery-low", "what still works with a half spent battery",
     "each state is solved again, by both witnesses, with a fresh and with a half "
     "spent "
     "battery: a fault where an LED has less than a tenth of its current with the "
     "fresh "
     "one and less than 0.5 mA; a caution where a relay, a controller, a regulator or "
     "a transistor that switches no longer has what it needs",
     "half of the life; least current in a lit room: common practice, no source "
     "(practice)",
     "cells lose a fifth of their voltage by half of their life: what needs nearly all "
     "of it works for a short time only",
     "one more cell, LEDs of less forward voltage, or a chemistry that holds its "
     "voltage"},
};
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

/// An LED with less than this share of its current is dark beside what it was. Common
/// practice, no source.
constexpr double kDarkShare = 0.1;

/// One of the ends that a part can come to.
struct End {
  std::string words;  ///< "with 'trim' turned all the way to 'a'"
  std::function<void(State&)> put;
};

std::function<void(State&)> setting(const Part& part, int index, const char* key,
                                    double value) {
  return [index, key = std::string(key), value, span = part.span](State& state) {
    state.settings[{index, key}] = {value, span};
  };
}

std::function<void(State&)> charge(const Circuit& circuit, int index,
                                   const std::string& charge) {
  const Type* type = circuit.charges.at(index).at(charge);
  return [index, charge, type, span = circuit.parts[index].span](State& state) {
    state.settings[{index, "charge"}] = {charge, span};
    state.types[index] = type;
  };
}

/// Whether the catalogue knows a battery fresh and half spent.
bool wears_out(const Circuit& circuit, int index) {
  const auto found = circuit.charges.find(index);
  return found != circuit.charges.end() && found->second.at("fresh") != nullptr &&
         found->second.at("half") != nullptr;
}

std::vector<End> ends_of(const Circuit& circuit, int index) {
  const Part& part = circuit.parts[index];
  const auto at_value = [&](const char* what, double ohms) -> std::vector<End> {
    const auto value = number_of(part, "value");
    if (!value || *value <= ohms) return {};
    return {{fmt::format("with '{}' {}, at {}", part.name, what,
                         short_text(ohms, Unit::ohm)),
             setting(part, index, "value", ohms)}};
  };
  switch (part.kind) {
    case KindId::trimmer: {
      std::vector<End> ends;
      for (const int end : {0, 2})
        ends.push_back({fmt::format("with '{}' turned all the way to '{}'", part.name,
                                    part.pins[end]),
                        setting(part, index, "turn", end == 0 ? 0.0 : 1.0)});
      return ends;
    }
    case KindId::battery:
      if (!wears_out(circuit, index)) return {};
      return {
          {fmt::format("with '{}' fresh", part.name), charge(circuit, index, "fresh")}};
    case KindId::light_resistor:
      return at_value("in bright light", kBrightOhms);
    case KindId::motor: {
      const auto start = number_of(part, "start_current");
      if (!start || *start <= number_of(part, "current").value_or(HUGE_VAL)) return {};
      return {{fmt::format("with '{}' standing still, as it does when it starts",
                           part.name),
               setting(part, index, "current", *start)}};
    }
    case KindId::heat_resistor:
      return at_value("hot", kHotShare * number_of(part, "value").value_or(0.0));
    default:
      return {};
  }
}

/// Whether a finding says that a rating is passed, and not that something does not
/// work: at an end of its travel a dimmer may well make a lamp dark.
bool is_overload(const Finding& finding) {
  return finding.severity == Severity::fault && finding.check != "expectation" &&
         finding.follows.empty() &&
         (finding.check == "current-unlimited" ||
          (finding.bound == Bound::upper && finding.value && finding.limit));
}

/// Whether an overload is one that a part's end is asked about: a motor that starts, of
/// what switches it; a supply limits itself, a fuse is there for one that is stuck.
bool is_asked(const Circuit& circuit, int part, const Finding& finding) {
  if (circuit.parts[part].kind != KindId::motor) return true;
  const auto of = std::find_if(circuit.parts.begin(), circuit.parts.end(),
                               [&](const Part& p) { return p.name == finding.part; });
  return of != circuit.parts.end() &&
         (of->kind == KindId::transistor || of->kind == KindId::mosfet ||
          of->kind == KindId::controller);
}

/// What an end brings.
struct Overload {
  Finding finding;
  std::string words;  ///< Of the end.
};

Finding told(const Circuit& circuit, int part, const State& state,
             const Overload& overload) {
  Finding finding = overload.finding;
  finding.check = id("setting-end");
  finding.message = fmt::format("{} in state '{}': {}", overload.words, state.name,
                                overload.finding.message);
  finding.span = circuit.parts[part].span;
  return finding;
}

/// Asks one witness about a state at its ends.
class EndsOfState {
 public:
  EndsOfState(const Circuit& circuit, const State& state,
              const std::vector<Finding>& now, const Solve& witness,
              std::shared_ptr<const Structure>& structure)
      : circuit_(circuit),
        state_(state),
        now_(now),
        witness_(witness),
        structure_(structure) {}

  /// The worst that a part's ends bring. What `counts` says no to of the state at an
  /// end is left out.
  [[nodiscard]] std::optional<Overload> worst(
      int part, const std::function<bool(const PosedState&)>& counts) const {
    std::optional<Overload> worst;
    for (const End& end : ends_of(circuit_, part)) {
      State state = state_;
      end.put(state);
      const PosedState posed(circuit_, std::move(state), structure_);
      structure_ = posed.structure();
      for (Finding& finding : overloads(posed)) {
        const bool is_next = !worst || is_worse({0, finding}, {0, worst->finding});
        if (is_next && is_asked(circuit_, part, finding) && counts(posed))
          worst = {std::move(finding), end.words};
      }
    }
    return worst;
  }

 private:
  [[nodiscard]] std::vector<Finding> overloads(const PosedState& posed) const {
    const Sight sight = sight_of(posed, witness_, PinsRead::strong);
    if (!sight.loop.empty())
      return {unlimited_finding(circuit_, sight.phase, sight.loop)};
    if (!sight.seen) return {};
    const CheckInput input = check_input(posed, *sight.seen);
    std::vector<Finding> found = brought(judge_at_rest(input, input).findings, now_);
    std::erase_if(found, [](const Finding& f) { return !is_overload(f); });
    return found;
  }

  const Circuit& circuit_;
  const State& state_;
  const std::vector<Finding>& now_;
  const Solve& witness_;
  std::shared_ptr<const Structure>& structure_;
};

/// Asks the witnesses about states at their ends.
class Ends {
 public:
  Ends(const Circuit& circuit, const std::vector<StateResult>& states,
       const Solve& engine, const Solve& nodal)
      : circuit_(circuit), states_(states), engine_(engine), nodal_(nodal) {}

  /// That there are more ends than can be asked about, in the first state with
  /// findings.
  [[nodiscard]] std::optional<std::pair<std::size_t, Finding>> too_many() const {
    std::size_t count = 0;
    int first = -1;
    for (int k = 0; k < static_cast<int>(circuit_.parts.size()); ++k) {
      const std::size_t here = ends_of(circuit_, k).size();
      if (here > 0 && first < 0) first = k;
      count += here;
    }
    const auto state =
        std::find_if(states_.begin(), states_.end(),
                     [](const StateResult& result) { return result.agrees; });
    if (count * figure_count(circuit_) <= kMostEndFigures || state == states_.end())
      return std::nullopt;
    Finding finding =
        benchproof::about(circuit_.parts[first], Severity::caution, id("setting-end"));
    finding.message = fmt::format(
        "'{}' and others have {} ends in all, too many to ask what each would bring; "
        "look at them in descriptions of their own",
        finding.part, count);
    return std::pair{static_cast<std::size_t>(state - states_.begin()),
                     std::move(finding)};
  }

  /// The worst that a part's ends bring in any state.
  [[nodiscard]] std::optional<std::pair<std::size_t, Finding>> setting_end(int part) {
    std::optional<Brought> worst;
    std::optional<Overload> overload;
    // What is told rests on both witnesses.
    const auto is_confirmed = [this](const PosedState& posed) {
      return see_by_both(posed, engine_, nodal_).agrees;
    };
    for (std::size_t k = 0; k < states_.size(); ++k) {
      if (!states_[k].agrees) continue;
      const EndsOfState ends(circuit_, state_of(circuit_, states_[k]),
                             states_[k].findings, nodal_, structure_);
      auto here = ends.worst(part, is_confirmed);
      if (!here) continue;
      Brought change{k, here->finding};
      if (worst && !is_worse(change, *worst)) continue;
      worst = std::move(change);
      overload = std::move(here);
    }
    if (!worst) return std::nullopt;
    const State& state = state_of(circuit_, states_[worst->state]);
    return std::pair{worst->state, told(circuit_, part, state, *overload)};
  }

  /// What a half spent battery no longer does.
  [[nodiscard]] std::optional<std::pair<std::size_t, Finding>> battery_low(int part) {
    if (!wears_out(circuit_, part)) return std::nullopt;
    for (std::size_t k = 0; k < states_.size(); ++k) {
      if (!states_[k].agrees) continue;
      const auto fresh = seen_with(k, charge(circuit_, part, "fresh"));
      const auto half = seen_with(k, charge(circuit_, part, "half"));
      if (!fresh || !half) continue;
      auto finding = lost(part, *fresh, *half);
      if (!finding) finding = starved(part, states_[k], *fresh, *half);
      if (finding) {
        finding->message =
            fmt::format("with '{}' half spent in state '{}' {}",
                        circuit_.parts[part].name, states_[k].name, finding->message);
        return std::pair{k, *std::move(finding)};
      }
    }
    return std::nullopt;
  }

 private:
  [[nodiscard]] State changed(std::size_t k,
                              const std::function<void(State&)>& put) const {
    State state = state_of(circuit_, states_[k]);
    put(state);
    return state;
  }

  [[nodiscard]] std::optional<StateResult> seen_with(
      std::size_t k, const std::function<void(State&)>& put) {
    const PosedState posed(circuit_, changed(k, put), structure_);
    structure_ = posed.structure();
    StateResult result = see_by_both(posed, engine_, nodal_);
    if (!result.agrees) return std::nullopt;
    result.findings = run_checks(check_input(circuit_, posed.state(), result));
    return result;
  }

  /// What has too little with a half spent battery, and not with a fresh one.
  [[nodiscard]] std::optional<Finding> starved(int battery, const StateResult& now,
                                               const StateResult& fresh,
                                               const StateResult& half) const {
    for (const Finding& found :
         brought(brought(half.findings, fresh.findings), now.findings)) {
      if (!tells_of_function(found)) continue;
      Finding finding = found;
      finding.severity = Severity::caution;
      finding.check = id("battery-low");
      finding.part = circuit_.parts[battery].name;
      finding.span = circuit_.parts[battery].span;
      return finding;
    }
    return std::nullopt;
  }

  /// The LED that loses most.
  [[nodiscard]] std::optional<Finding> lost(int battery, const StateResult& fresh,
                                            const StateResult& half) const {
    for (std::size_t k = 0; k < circuit_.parts.size(); ++k) {
      const Part& part = circuit_.parts[k];
      if (part.kind != KindId::led) continue;
      const double before = pin_amps(fresh.nodal, static_cast<int>(k), 0);
      const double after = pin_amps(half.nodal, static_cast<int>(k), 0);
      if (before < kFaintAmps || after >= std::min(kFaintAmps, kDarkShare * before))
        continue;
      Finding finding = about(battery);
      set_limit(finding, "current", after,
                practice(kFaintAmps, Unit::ampere, "least current in a lit room"));
      finding.bound = Bound::lower;
      finding.message = fmt::format(
          "'{}' is dark: {} in place of the {} of a fresh one; so it lights for less "
          "than half of the battery's life; take one more cell, or an LED of less "
          "forward voltage",
          part.name, short_text(after, Unit::ampere), short_text(before, Unit::ampere));
      return finding;
    }
    return std::nullopt;
  }

  [[nodiscard]] Finding about(int battery) const {
    Finding finding =
        benchproof::about(circuit_.parts[battery], Severity::fault, id("battery-low"));
    return finding;
  }

  const Circuit& circuit_;
  const std::vector<StateResult>& states_;
  const Solve& engine_;
  const Solve& nodal_;
  std::shared_ptr<const Structure> structure_;
};

}  // namespace

std::vector<std::pair<std::size_t, Finding>> check_ends(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& engine,
    const Solve& nodal) {
  Ends ends(circuit, states, engine, nodal);
  if (auto finding = ends.too_many()) return {*std::move(finding)};
  std::vector<std::pair<std::size_t, Finding>> findings;
  for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k) {
    if (auto finding = ends.setting_end(k)) findings.push_back(*std::move(finding));
    if (auto finding = ends.battery_low(k)) findings.push_back(*std::move(finding));
  }
  return findings;
}

bool has_ends(const Circuit& circuit) {
  for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k)
    if (!ends_of(circuit, k).empty()) return true;
  return false;
}

std::vector<Finding> faults_at_ends(const Circuit& circuit, const State& state,
                                    const std::vector<Finding>& now,
                                    const Solve& witness) {
  std::shared_ptr<const Structure> structure;
  const EndsOfState ends(circuit, state, now, witness, structure);
  std::vector<Finding> findings;
  for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k) {
    if (const auto overload = ends.worst(k, [](const PosedState&) { return true; }))
      findings.push_back(told(circuit, k, state, *overload));
  }
  return findings;
}

std::span<const Explanation> explain_ends() { return kExplained; }

}  // namespace benchproof
