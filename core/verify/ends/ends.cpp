#include "core/verify/ends/ends.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <memory>
#include <optional>
#include <set>
#include <string>

#include "core/check/finding/explanation.h"
#include "core/check/finding/wording.h"
#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"
#include "core/verify/seen/at_rest.h"
#include "core/verify/seen/brought.h"
#include "core/verify/seen/overloads.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutEnds[] = {
    {"setting-end",
     "what becomes of the circuit at the ends of what a person can set or wear out",
     "each state is solved and judged again, by both witnesses, with each trimmer at "
     "either end, each battery fresh, each light-resistor at 200 ohm, each "
     "heat-resistor at a tenth of its value; and at places on the way there, also "
     "where "
     "a transistor keeps half of its voltage: a fault where a rating is passed then "
     "that is not passed as described. So it is with each motor at its "
     "'start_current', for the transistors and pins that drive it, and with any two of "
     "these together; of two batteries one fresh and one spent is a caution",
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

/// An LED with less than this share of its current is dark beside what it was. Common
/// practice, no source.
constexpr double kDarkShare = 0.1;

/// Another place that a part can come to.
struct End {
  std::string words;  ///< "'trim' turned all the way to 'a'"
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

/// Whether the catalogue knows a battery in both of these charges.
bool has_charges(const Circuit& circuit, int index, const char* one,
                 const char* other) {
  const auto found = circuit.charges.find(index);
  return found != circuit.charges.end() && found->second.at(one) != nullptr &&
         found->second.at(other) != nullptr;
}

bool wears_out(const Circuit& circuit, int index) {
  return has_charges(circuit, index, "fresh", "half");
}

End at_charge(const Circuit& circuit, int index, const char* word) {
  return {fmt::format("'{}' {}", circuit.parts[index].name, word),
          charge(circuit, index, word)};
}

std::vector<End> ends_of(const Circuit& circuit, int index) {
  const Part& part = circuit.parts[index];
  const auto at_value = [&](const char* what, double ohms) -> std::vector<End> {
    const auto value = number_of(part, "value");
    if (!value || *value <= ohms) return {};
    return {
        {fmt::format("'{}' {}, at {}", part.name, what, short_text(ohms, Unit::ohm)),
         setting(part, index, "value", ohms)}};
  };
  switch (part.kind) {
    case KindId::trimmer: {
      std::vector<End> ends;
      for (const int end : {0, 2})
        ends.push_back(
            {fmt::format("'{}' turned all the way to '{}'", part.name, part.pins[end]),
             setting(part, index, "turn", end == 0 ? 0.0 : 1.0)});
      return ends;
    }
    case KindId::battery:
      if (!wears_out(circuit, index)) return {};
      return {at_charge(circuit, index, "fresh")};
    case KindId::light_resistor:
      return at_value("in bright light", kBrightOhms);
    case KindId::motor: {
      const auto start = number_of(part, "start_current");
      if (!start || *start <= number_of(part, "current").value_or(HUGE_VAL)) return {};
      return {{fmt::format("'{}' standing still, as it does when it starts", part.name),
               setting(part, index, "current", *start)}};
    }
    case KindId::heat_resistor:
      return at_value("hot", kHotShare * number_of(part, "value").value_or(0.0));
    default:
      return {};
  }
}

/// The ends at which a part is tried beside another one: of two batteries one may be
/// fresh and the other spent, as nobody changes both.
std::vector<End> ends_beside(const Circuit& circuit, int index, int other) {
  std::vector<End> ends = ends_of(circuit, index);
  if (circuit.parts[index].kind == KindId::battery &&
      circuit.parts[other].kind == KindId::battery &&
      has_charges(circuit, index, "fresh", "spent"))
    ends.push_back(at_charge(circuit, index, "spent"));
  return ends;
}

/// One at its place, and another one at its own.
End together(const End& a, const End& b) {
  return {fmt::format("{} and {}", a.words, b.words), [a, b](State& state) {
            a.put(state);
            b.put(state);
          }};
}

/// How a part gets from where a state has it to an end: by equal steps, or by equal
/// factors.
struct Travel {
  const char* key = "";
  double from = 0.0;
  double to = 0.0;
  bool is_by_factors = false;
  [[nodiscard]] double at(double share) const {
    return is_by_factors ? from * std::pow(to / from, share)
                         : from + (to - from) * share;
  }
};

std::vector<Travel> travels_of(const Circuit& circuit, const State& state, int index) {
  const Part part = part_in(circuit, state, index);
  const double value = number_of(part, "value").value_or(0.0);
  switch (part.kind) {
    case KindId::trimmer: {
      const double turn = number_of(part, "turn").value_or(0.5);
      std::vector<Travel> both;
      for (const double end : {0.0, 1.0})
        if (turn != end) both.push_back({"turn", turn, end, false});
      return both;
    }
    case KindId::light_resistor:
      if (!(value > kBrightOhms)) return {};
      return {{"value", value, kBrightOhms, true}};
    case KindId::heat_resistor: {
      const double hot =
          kHotShare * number_of(circuit.parts[index], "value").value_or(0.0);
      if (!(hot > 0.0 && value > hot)) return {};
      return {{"value", value, hot, true}};
    }
    default:
      return {};
  }
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

Finding told_overload(const Circuit& circuit, int part, const State& state,
                      const Overload& overload) {
  Finding finding = overload.finding;
  finding.check = CheckId(kAboutEnds, "setting-end");
  finding.message = fmt::format("with {} in state '{}': {}", overload.words, state.name,
                                overload.finding.message);
  finding.span = circuit.parts[part].span;
  return finding;
}

/// What to ask of a finding at a place before it counts.
using Counts = std::function<bool(const PosedState&, const Finding&)>;

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

  /// The worst that these places bring, of what counts.
  [[nodiscard]] std::optional<Overload> worst(const std::vector<End>& places,
                                              const Counts& counts) const {
    std::optional<Overload> worst;
    for (const End& end : places) {
      State state = state_;
      end.put(state);
      const PosedState posed(circuit_, std::move(state), structure_);
      structure_ = posed.structure();
      for (Finding& finding : overloads_brought(posed, now_, witness_)) {
        const bool is_next = !worst || is_worse({0, finding}, {0, worst->finding});
        if (is_next && counts(posed, finding)) worst = {std::move(finding), end.words};
      }
    }
    return worst;
  }

  /// Places between a part's own and its ends: some of equal distance, and those at
  /// which a transistor keeps half of the most that it keeps on the way.
  [[nodiscard]] std::vector<End> between(int part) const {
    std::vector<End> places;
    for (const Travel& travel : travels_of(circuit_, state_, part))
      for (const double share : shares_of(part, travel))
        places.push_back(on_the_way(part, travel, share));
    return places;
  }

 private:
  [[nodiscard]] End on_the_way(int index, const Travel& travel, double share) const {
    const Part& part = circuit_.parts[index];
    const double value = travel.at(share);
    return {travel.is_by_factors
                ? fmt::format("'{}' between, at {}", part.name,
                              short_text(value, Unit::ohm))
                : fmt::format("'{}' between, at a turn of {:.2f}", part.name, value),
            setting(part, index, travel.key, value)};
  }

  /// What each transistor keeps for itself, at a share of the way. Volt.
  [[nodiscard]] std::vector<double> kept(PosedState& posed, int part,
                                         const Travel& travel, double share) const {
    posed.put(part, travel.key, travel.at(share));
    const Sight sight = sight_of(posed, witness_, PinsRead::weak);
    std::vector<double> volts;
    if (!sight.seen) return volts;
    for (const Part& p : circuit_.parts) {
      if (p.kind != KindId::transistor && p.kind != KindId::mosfet) continue;
      const bool is_joined = p.nets[1] >= 0 && p.nets[2] >= 0;
      const std::vector<double>& all = sight.seen->average.net_volts;
      volts.push_back(is_joined ? std::abs(all[p.nets[1]] - all[p.nets[2]]) : 0.0);
    }
    return volts;
  }

  [[nodiscard]] std::vector<double> shares_of(int part, const Travel& travel) const {
    constexpr int kSteps = 4;
    std::vector<double> shares;
    for (int k = 1; k < kSteps; ++k) shares.push_back(static_cast<double>(k) / kSteps);
    PosedState posed(circuit_, state_, structure_);
    structure_ = posed.structure();
    std::vector<std::vector<double>> seen;
    std::vector<double> most;
    for (int k = 0; k <= kSteps; ++k) {
      seen.push_back(kept(posed, part, travel, static_cast<double>(k) / kSteps));
      if (seen.back().empty()) return shares;
      most.resize(seen.back().size());
      for (std::size_t t = 0; t < most.size(); ++t)
        most[t] = std::max(most[t], seen.back()[t]);
    }
    for (int k = 0; k < kSteps; ++k)
      for (std::size_t t = 0; t < most.size(); ++t)
        if (most[t] >= kSwungVolts &&
            (seen[k][t] < most[t] / 2) != (seen[k + 1][t] < most[t] / 2))
          shares.push_back(half_way(
              posed, part, travel, t, most[t] / 2,
              {static_cast<double>(k) / kSteps, static_cast<double>(k + 1) / kSteps}));
    return shares;
  }

  /// Where a transistor keeps `volts`, to a sixteenth of the stretch: what is so for
  /// less of the way is passed quickly.
  [[nodiscard]] double half_way(PosedState& posed, int part, const Travel& travel,
                                std::size_t transistor, double volts,
                                std::pair<double, double> stretch) const {
    constexpr int kHalvings = 4;
    auto [low, high] = stretch;
    const auto is_below = [&](double share) {
      const std::vector<double> seen = kept(posed, part, travel, share);
      return !seen.empty() && seen[transistor] < volts;
    };
    const bool is_low_below = is_below(low);
    for (int k = 0; k < kHalvings; ++k) {
      const double middle = (low + high) / 2;
      (is_below(middle) == is_low_below ? low : high) = middle;
    }
    return (low + high) / 2;
  }

  static constexpr double kSwungVolts = 1.0;  // Below, nothing gets hot by it.

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
    const auto state = first_agreed(states_);
    if (count * figure_count(circuit_) <= kMostEndFigures || !state)
      return std::nullopt;
    Finding finding = benchproof::about(circuit_.parts[first], Severity::caution,
                                        CheckId(kAboutEnds, "setting-end"));
    finding.message = fmt::format(
        "'{}' and others have {} ends in all, too many to ask what each would bring; "
        "look at them in descriptions of their own",
        finding.part, count);
    return std::pair{*state, std::move(finding)};
  }

  /// The worst that a part's ends bring in any state, and what lies between them.
  [[nodiscard]] std::optional<std::pair<std::size_t, Finding>> setting_end(int part) {
    const Counts counts = [&](const PosedState& posed, const Finding& finding) {
      return is_asked(circuit_, part, finding) && is_confirmed(posed);
    };
    return worst(part, counts, [&](const EndsOfState& ends) {
      std::vector<End> places = ends_of(circuit_, part);
      for (End& end : ends.between(part)) places.push_back(std::move(end));
      return places;
    });
  }

  /// The worst that any two parts bring together at their ends, of parts that no end
  /// alone overloads (`told`, to which they are added).
  [[nodiscard]] std::vector<std::pair<std::size_t, Finding>> pairs(
      std::set<std::string>& told) {
    std::vector<std::pair<std::size_t, Finding>> findings;
    const auto count = static_cast<int>(circuit_.parts.size());
    for (int a = 0; a < count; ++a) {
      for (int b = a + 1; b < count; ++b) {
        if (ends_of(circuit_, a).empty() || ends_of(circuit_, b).empty()) continue;
        if (auto finding = pair(a, b, told)) {
          told.insert(finding->second.part);
          findings.push_back(*std::move(finding));
        }
      }
    }
    return findings;
  }

  /// Whether there are no more pairs of ends than can be asked about.
  [[nodiscard]] bool are_pairs_few() const {
    std::size_t all = 0;
    for (int k = 0; k < static_cast<int>(circuit_.parts.size()); ++k)
      all += ends_of(circuit_, k).size();
    return all * all * figure_count(circuit_) <= kMostPairFigures;
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
  /// What is told rests on both witnesses.
  [[nodiscard]] bool is_confirmed(const PosedState& posed) const {
    return see_by_both(posed, engine_, nodal_).agrees;
  }

  /// The worst that places bring in any state, told at a part.
  [[nodiscard]] std::optional<std::pair<std::size_t, Finding>> worst(
      int part, const Counts& counts,
      const std::function<std::vector<End>(const EndsOfState&)>& places) {
    std::optional<Brought> worst;
    std::optional<Overload> overload;
    for (std::size_t k = 0; k < states_.size(); ++k) {
      if (!states_[k].agrees) continue;
      const EndsOfState ends(circuit_, state_of(circuit_, states_[k]),
                             states_[k].findings, nodal_, structure_);
      auto here = ends.worst(places(ends), counts);
      if (!here) continue;
      Brought change{k, here->finding};
      if (worst && !is_worse(change, *worst)) continue;
      worst = std::move(change);
      overload = std::move(here);
    }
    if (!worst) return std::nullopt;
    const State& state = state_of(circuit_, states_[worst->state]);
    return std::pair{worst->state, told_overload(circuit_, part, state, *overload)};
  }

  [[nodiscard]] std::optional<std::pair<std::size_t, Finding>> pair(
      int a, int b, const std::set<std::string>& told) {
    std::vector<End> both;
    for (const End& one : ends_beside(circuit_, a, b))
      for (const End& other : ends_beside(circuit_, b, a))
        both.push_back(together(one, other));
    const Counts counts = [&](const PosedState& posed, const Finding& finding) {
      return !told.contains(finding.part) && is_asked(circuit_, a, finding) &&
             is_asked(circuit_, b, finding) && is_confirmed(posed);
    };
    auto found = worst(a, counts, [&](const EndsOfState&) { return both; });
    // Batteries that are changed one at a time are a habit, not a way to use a circuit.
    const bool is_of_batteries = circuit_.parts[a].kind == KindId::battery &&
                                 circuit_.parts[b].kind == KindId::battery;
    if (found && is_of_batteries) found->second.severity = Severity::caution;
    return found;
  }

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
      finding.check = CheckId(kAboutEnds, "battery-low");
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
    Finding finding = benchproof::about(circuit_.parts[battery], Severity::fault,
                                        CheckId(kAboutEnds, "battery-low"));
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
  std::set<std::string> told;
  for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k) {
    if (auto finding = ends.setting_end(k)) {
      told.insert(finding->second.part);
      findings.push_back(*std::move(finding));
    }
    if (auto finding = ends.battery_low(k)) findings.push_back(*std::move(finding));
  }
  if (ends.are_pairs_few())
    for (auto& finding : ends.pairs(told)) findings.push_back(std::move(finding));
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
    const Counts counts = [&](const PosedState&, const Finding& finding) {
      return is_asked(circuit, k, finding);
    };
    if (const auto overload = ends.worst(ends_of(circuit, k), counts))
      findings.push_back(told_overload(circuit, k, state, *overload));
  }
  return findings;
}

std::span<const Explanation> explain_ends() { return kAboutEnds; }

}  // namespace benchproof
