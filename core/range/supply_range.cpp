#include "core/range/supply_range.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <memory>
#include <stdexcept>
#include <utility>

#include "core/base/desk.h"
#include "core/check/always/always.h"
#include "core/check/finding/wording.h"
#include "core/check/rest/over_states.h"
#include "core/circuit/topology.h"
#include "core/network/unlimited.h"
#include "core/range/detail/search.h"
#include "core/verify/seen/at_rest.h"

namespace benchproof {
namespace {

// --- both witnesses ------------------------------------------------------------------

/// Why there is nothing to judge: the first phase that a witness has no answer to, or
/// in which the two differ.
std::string reason_of(const StateResult& result) {
  for (const PhaseResult& phase : result.phases) {
    if (phase.agreement.agrees) continue;
    if (phase.engine.status != SolveStatus::solved)
      return "the engine witness has no answer: " + phase.engine.reason;
    if (phase.nodal.status != SolveStatus::solved)
      return "the nodal witness has no answer: " + phase.nodal.reason;
    return phase.agreement.reason;
  }
  return {};
}

/// Where both witnesses are asked, and what is expected of them: what fails first by
/// the search, or nothing where it passes.
struct Question {
  double volts = 0.0;
  const Finding* expected = nullptr;
  const LeftOut& left_out;
};

/// What a witness says by itself where that is not what the search says; else empty.
std::string surprise(const RangeSubject& subject, const Question& question,
                     std::string_view name, const Solve& witness,
                     const CheckInput& input, const PosedState& at_most) {
  AtVoltage here = failures(subject, input, input);
  add_faults_beyond(subject, input, at_most, witness, here);
  const std::vector<Finding> findings = here.without(question.left_out);
  const bool is_as_expected =
      question.expected == nullptr
          ? findings.empty()
          : std::any_of(findings.begin(), findings.end(), [&](const Finding& f) {
              return key_of(f) == key_of(*question.expected);
            });
  if (is_as_expected) return {};
  return fmt::format("the {} witness by itself says: {}", name,
                     findings.empty() ? "everything passes" : findings.front().message);
}

/// Asks both witnesses about one voltage.
RangeTestimony ask_both(const RangeSubject& subject, MovedState& moved,
                        const Question& question, const Witnesses& witnesses) {
  const PosedState& posed = moved.at(question.volts);
  const StateResult result = see_by_both(posed, witnesses.engine, witnesses.nodal);
  const bool is_unlimited = std::any_of(
      result.phases.begin(), result.phases.end(), [](const PhaseResult& phase) {
        return phase.unanswerable && phase.unanswerable->check == "current-unlimited";
      });
  if (is_unlimited) return {question.volts, Verdict::good, {}};
  if (!result.agrees) return {question.volts, result.verdict, reason_of(result)};
  const PosedState& at_most = moved.at_most(question.volts);
  std::string reason =
      surprise(subject, question, "engine", witnesses.engine,
               engine_input(posed.circuit(), posed.state(), result), at_most);
  if (reason.empty())
    reason = surprise(subject, question, "nodal", witnesses.nodal,
                      check_input(posed.circuit(), posed.state(), result), at_most);
  const Verdict verdict = reason.empty() ? Verdict::good : Verdict::disagreement;
  return {question.volts, verdict, std::move(reason)};
}

// --- one state -----------------------------------------------------------------------

void append_new(std::vector<int>& list, const std::vector<int>& more) {
  for (const int index : more)
    if (std::find(list.begin(), list.end(), index) == list.end()) list.push_back(index);
}

/// What only all states together tell of one of them.
struct Owed {
  Duty duty;  ///< Parts that work in no state, but should come nearest to it in this.
  std::vector<Finding> together;  ///< Faults of other kinds.
};

/// A steady state at the present voltage, as the nodal witness sees it.
struct Present {
  PosedState posed;
  Sight sight;
};

std::vector<Present> see_present(const Circuit& circuit, const Solve& solve) {
  std::vector<Present> all;
  std::shared_ptr<const Structure> structure;
  for (const State& state : circuit.states) {
    if (!state.steady) continue;
    PosedState posed(circuit, state, structure);
    structure = posed.structure();
    Sight sight = sight_of(posed, solve, PinsRead::weak);
    all.push_back({std::move(posed), std::move(sight)});
  }
  return all;
}

/// What works at the present voltage. Where nothing limits a current, the LEDs that it
/// flows through; nothing where there is no answer.
Duty duty_at_present(const Present& present) {
  const auto& [posed, sight] = present;
  if (sight.seen) return working_parts(check_input(posed, *sight.seen));
  Duty duty;
  for (const PosedPhase& phase : posed.phases()) {
    for (const int part : unlimited_loop(phase.network))
      if (posed.parts()[part].kind == KindId::led) append_new(duty.leds, {part});
  }
  return duty;
}

/// The phases of all states; nothing where there is no answer to one of them.
AllSeen views_of(const std::vector<Present>& present) {
  AllSeen views;
  for (const Present& state : present) {
    if (!state.sight.seen) return {};
    views.emplace_back();
    for (const Observation& o : state.sight.seen->phases) views.back().push_back(&o);
  }
  return views;
}

/// What each of the steady states owes.
std::vector<Owed> owed_by_states(const Circuit& circuit, const AllSeen& views) {
  std::vector<Owed> owed(views.size());
  for (const auto& [index, finding] : check_over_states(circuit, views)) {
    if (finding.severity != Severity::fault) continue;
    const auto part = std::find_if(
        circuit.parts.begin(), circuit.parts.end(),
        [&named = finding.part](const Part& p) { return p.name == named; });
    const int number = static_cast<int>(part - circuit.parts.begin());
    Owed& due = owed[index];
    if (part == circuit.parts.end())
      due.together.push_back(finding);
    else if (part->kind == KindId::led)
      due.duty.leds.push_back(number);
    else if (is_load(part->kind) && figure(*part, "voltage"))
      due.duty.loads.push_back(number);
    else
      due.together.push_back(finding);
  }
  return owed;
}

/// Faults that hold whatever the state.
std::vector<Finding> faults_of_description(const Circuit& circuit) {
  std::vector<Finding> faults;
  for (const CircuitCheck& check : circuit_checks()) {
    for (Finding& finding : check.run(circuit))
      if (finding.severity == Severity::fault) faults.push_back(std::move(finding));
  }
  return faults;
}

/// What the nodal witness finds of a state, and what was left out to find it.
struct Searched {
  StateRange result;
  LeftOut left_out;
};

Searched search_state(const RangeSubject& subject, const Solve& solve) {
  Searched searched;
  auto& [result, left_out] = searched;
  result.name = subject.state.name;
  result.present = supply_volts(subject.circuit, subject.state, subject.part);
  const double present = millivolts_of(result.present);
  VoltageSearch search(subject, present, solve);
  const AtVoltage& now = search.at(present);
  if (!now.is_solved) {
    result.verdict = Verdict::nodal_failed;
    result.testimonies.push_back(
        {result.present, Verdict::nodal_failed,
         fmt::format("the nodal witness has no answer: {}", now.reason)});
    return searched;
  }
  result.present_findings = now.findings;
  result.passes = now.passes({});
  result.verdict = result.passes ? Verdict::good : Verdict::fault;

  std::optional<double> inside =
      result.passes ? present : search.nearest_passing(left_out);
  if (!inside) {
    result.always = search.always_failing();
    for (const Finding& finding : result.always) left_out.insert(key_of(finding));
    if (std::none_of(result.always.begin(), result.always.end(), is_alone))
      inside = now.passes(left_out) ? present : search.nearest_passing(left_out);
  }
  if (inside) {
    result.range = search.range_around(*inside, left_out);
    result.elsewhere = search.elsewhere(*result.range, left_out);
  }
  return searched;
}

/// Asks both witnesses at the present voltage and on both sides of both ends, unless
/// the search has no answer.
StateRange confirmed(const RangeSubject& subject, Searched searched,
                     const Witnesses& witnesses) {
  StateRange result = std::move(searched.result);
  if (!result.testimonies.empty()) return result;
  MovedState moved(subject);
  const auto ask = [&](const Question& question) {
    result.testimonies.push_back(ask_both(subject, moved, question, witnesses));
    result.verdict = std::max(result.verdict, result.testimonies.back().verdict);
  };
  ask({result.present, result.passes ? nullptr : &result.present_findings.front(), {}});
  if (!result.range) return result;
  for (const RangeEnd* end : {&result.range->lower, &result.range->upper}) {
    ask({end->volts, nullptr, searched.left_out});
    if (end->kind == RangeEnd::Kind::check)
      ask({end->beyond, &end->findings.front(), searched.left_out});
    if (end->kind != RangeEnd::Kind::no_answer) continue;
    result.verdict = std::max(result.verdict, Verdict::nodal_failed);
  }
  return result;
}

bool is_movable(KindId kind) {
  return kind == KindId::dc_supply || kind == KindId::battery ||
         kind == KindId::voltage_source;
}

constexpr std::string_view kRangeOver = "range-over";

/// "jack.voltage, cell.voltage": all that can be moved.
std::string movable_list(const Circuit& circuit) {
  std::vector<std::string> names;
  for (const Part& part : circuit.parts)
    if (is_movable(part.kind)) names.push_back(part.name + ".voltage");
  return names.empty() ? "the circuit has no supply, battery or voltage source"
                       : fmt::format("it can be {}", fmt::join(names, ", "));
}

/// The part that `over` names, or the only one there is.
std::variant<int, Diagnostic> named_supply(const Circuit& circuit,
                                           std::string_view over) {
  if (over.empty()) {
    for (const KindId kind :
         {KindId::dc_supply, KindId::battery, KindId::voltage_source}) {
      const auto is_one = [kind](const Part& part) { return part.kind == kind; };
      const auto count =
          std::count_if(circuit.parts.begin(), circuit.parts.end(), is_one);
      if (count == 0) continue;
      if (count > 1) break;
      const auto found =
          std::find_if(circuit.parts.begin(), circuit.parts.end(), is_one);
      return static_cast<int>(found - circuit.parts.begin());
    }
    return Diagnostic{std::string(kRangeOver),
                      {},
                      "which supply's voltage to move is not said",
                      "--over says it; " + movable_list(circuit)};
  }
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    if (is_movable(part.kind) && over == part.name + ".voltage")
      return static_cast<int>(k);
  }
  return Diagnostic{std::string(kRangeOver),
                    {},
                    fmt::format("'{}' is no supply's voltage", over),
                    movable_list(circuit)};
}

}  // namespace

std::variant<int, Diagnostic> choose_supply(const Circuit& circuit,
                                            std::string_view over) {
  std::variant<int, Diagnostic> chosen = named_supply(circuit, over);
  if (std::holds_alternative<Diagnostic>(chosen)) return chosen;
  const int part = std::get<int>(chosen);
  for (const State& state : circuit.states) {
    const double volts = supply_volts(circuit, state, part);
    if (!state.steady || (volts >= 0.0 && volts <= kMostRangeVolts)) continue;
    return Diagnostic{
        std::string(kRangeOver),
        {},
        fmt::format("'{}.voltage' is {} in state '{}'", circuit.parts[part].name,
                    short_text(volts, Unit::volt, 4), state.name),
        fmt::format("only 0 V to {} can be looked at",
                    short_text(kMostRangeVolts, Unit::volt))};
  }
  return chosen;
}

double supply_volts(const Circuit& circuit, const State& state, int part) {
  const Part supply = part_in(circuit, state, part);
  if (supply.kind != KindId::battery) return figure(supply, "voltage")->value;
  const auto cells = figure(supply, "cells");
  const auto open_circuit = figure(supply, "open_circuit");
  return (cells ? cells->value : 1.0) * (open_circuit ? open_circuit->value : 0.0);
}

std::vector<std::pair<std::string, double>> supply_settings(const Part& supply,
                                                            double volts) {
  const auto number = [&supply](std::string_view key, double otherwise) {
    return number_of(supply, key).value_or(otherwise);
  };
  if (supply.kind == KindId::battery)
    return {{"open_circuit", volts / number("cells", 1.0)}};
  std::vector<std::pair<std::string, double>> settings{{"voltage", volts}};
  if (const auto no_load = number_of(supply, "no_load"))
    settings.emplace_back("no_load", *no_load * volts / number("voltage", volts));
  return settings;
}

std::vector<StateRange> find_supply_range(const Circuit& circuit, int part,
                                          const RangeRules& rules,
                                          const Witnesses& witnesses,
                                          const std::vector<std::string>& only) {
  const bool is_known = part >= 0 && part < static_cast<int>(circuit.parts.size());
  if (!is_known || !is_movable(circuit.parts[part].kind))
    throw std::invalid_argument("a range needs a part whose voltage can be moved");
  const std::vector<Present> present = see_present(circuit, witnesses.nodal_near);
  const AllSeen views = views_of(present);
  std::vector<Owed> owed = owed_by_states(circuit, views);
  owed.resize(present.size());  // Nothing is owed where not all states have an answer.
  const std::vector<Finding> always = faults_of_description(circuit);
  std::vector<RangeSubject> subjects;
  for (std::size_t k = 0; k < present.size(); ++k) {
    const State& state = present[k].posed.state();
    if (!is_named(only, state.name)) continue;
    RangeSubject& subject = subjects.emplace_back(RangeSubject{
        circuit, state, part, rules, duty_at_present(present[k]), always,
        std::move(owed[k].together), views, k, present[k].posed.structure()});
    append_new(subject.duty.leds, owed[k].duty.leds);
    append_new(subject.duty.loads, owed[k].duty.loads);
  }
  std::vector<StateRange> ranges(subjects.size());
  Desk desk;
  desk.serve([&] {
    witnesses.side_by_side(subjects.size(), [&](std::size_t k) {
      Searched searched = search_state(subjects[k], witnesses.another_near());
      ranges[k] = desk.ask(
          [&] { return confirmed(subjects[k], std::move(searched), witnesses); });
    });
  });
  return ranges;
}

std::optional<VoltageStretch> common_range(const std::vector<StateRange>& states) {
  VoltageStretch common{0.0, kMostRangeVolts};
  for (const StateRange& state : states) {
    if (!state.range || !state.always.empty()) return std::nullopt;
    common.least = std::max(common.least, state.range->lower.volts);
    common.most = std::min(common.most, state.range->upper.volts);
  }
  if (states.empty() || common.least > common.most) return std::nullopt;
  return common;
}

}  // namespace benchproof
