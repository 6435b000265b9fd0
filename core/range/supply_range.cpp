#include "core/range/supply_range.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <memory>
#include <set>
#include <stdexcept>
#include <utility>

#include "core/check/agree/agreement.h"
#include "core/check/expect/expectations.h"
#include "core/check/rest/check.h"
#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"
#include "core/circuit/topology.h"
#include "core/network/lower.h"
#include "core/network/observation.h"
#include "core/network/unlimited.h"
#include "core/verify/explanations.h"

namespace benchproof {
namespace {

/// The search counts in millivolts, so that its ends are whole ones.
constexpr double kPerVolt = 1000.0;
constexpr double kMost = kMostRangeVolts * kPerVolt;
constexpr double kStep = kRangeStepVolts * kPerVolt;
constexpr double kResolution = kRangeResolutionVolts * kPerVolt;

/// Volts as millivolts; what is a whole number but for rounding is one.
double millivolts_of(double volts) {
  constexpr double kRounding = 1e-6;
  const double millivolts = volts * kPerVolt;
  const double whole = std::round(millivolts);
  return std::abs(millivolts - whole) < kRounding ? whole : millivolts;
}

/// What is looked at in one state; everything in it outlives the search.
struct Subject {
  const Circuit& circuit;
  const State& state;
  int part;  ///< Whose voltage is moved.
  const RangeRules& rules;
};

/// What must go on working: indices of parts.
struct Duty {
  std::vector<int> leds;
  std::vector<int> loads;
  std::vector<int> regulators;
  std::vector<int> controllers;
};

/// What makes a finding the same one at another voltage: the part or net, and which of
/// its limits. Falling short of regulation has two checks, of which one is told.
struct FindingKey {
  std::string subject;
  std::string check;
  int line = 0;  ///< Of an expectation, for one net may have several.
  // NOLINTNEXTLINE(modernize-use-nullptr): the 0 is that of the comparison itself.
  friend auto operator<=>(const FindingKey&, const FindingKey&) = default;
};

FindingKey key_of(const Finding& finding) {
  const std::string check =
      finding.check == "regulator-output" ? "regulator-dropout" : finding.check;
  return {finding.part.empty() ? finding.net : finding.part, check,
          finding.check == "expectation" ? finding.span.begin.line : 0};
}

using LeftOut = std::set<FindingKey>;

/// What stands in place of all others: nothing is known of what would be without it.
bool is_alone(const Finding& finding) { return finding.check == "current-unlimited"; }

bool is_left_out(const Finding& finding, const LeftOut& left_out) {
  return !is_alone(finding) && left_out.contains(key_of(finding));
}

// --- what works -------------------------------------------------------------------

Peak led_amps(const CheckInput& input, int part) {
  return highest(input,
                 [part](const Observation& seen) { return pin_amps(seen, part, 0); });
}

Peak load_volts(const CheckInput& input, int part) {
  return highest(input, [&](const Observation& seen) {
    return std::abs(volts_between(input, seen, part, 0, 1));
  });
}

/// The lowest voltage between a regulator's or controller's first two pins, with the
/// sign turned.
Peak starved_volts(const CheckInput& input, int part) {
  return highest(input, [&](const Observation& seen) {
    return -polarity(input.parts[part]) * volts_between(input, seen, part, 0, 1);
  });
}

/// Below this a regulator counts as switched off, and its own check says nothing. Volt.
double regulator_off_volts(const Part& regulator) {
  const auto output = figure(regulator, "output");
  return output ? kRegulatorOffShare * output->value : 0.0;
}

/// What works, of all parts.
Duty working_parts(const CheckInput& input) {
  Duty duty;
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    const Part& part = input.parts[k];
    const int index = static_cast<int>(k);
    if (part.kind == KindId::led && led_amps(input, index).value >= kLitAmps)
      duty.leds.push_back(index);
    if (is_load(part.kind)) {
      const auto rated = figure(part, "voltage");
      if (rated && load_volts(input, index).value >= kIdleShare * rated->value)
        duty.loads.push_back(index);
    }
    if (part.kind == KindId::regulator &&
        -starved_volts(input, index).value >= regulator_off_volts(part))
      duty.regulators.push_back(index);
    if (part.kind == KindId::controller &&
        -starved_volts(input, index).value >= kControllerOffVolts)
      duty.controllers.push_back(index);
  }
  return duty;
}

Finding lower_bound(const CheckInput& input, int part, std::string_view check,
                    std::string_view quantity, const Peak& value, const Figure& limit) {
  Finding finding = about_part(input, part, Severity::fault, check_id(check));
  set_limit(finding, quantity, value.value, limit);
  finding.bound = Bound::lower;
  finding.phase = value.phase;
  return finding;
}

/// A fault for each part that ought to work and does not, where its own check takes
/// it for one that is switched off.
std::vector<Finding> idle_findings(const CheckInput& input, const Duty& duty) {
  std::vector<Finding> findings;
  for (const int led : duty.leds) {
    const Peak amps = led_amps(input, led);
    if (amps.value >= kLitAmps) continue;
    findings.push_back(lower_bound(
        input, led, "led-dark", "current", amps,
        practice(kLitAmps, Unit::ampere, "least current of a visible LED")));
    findings.back().message = fmt::format(
        "'{}' is dark: it gets {}, and needs {} to be seen", input.parts[led].name,
        short_text(amps.value, Unit::ampere), short_text(kLitAmps, Unit::ampere));
  }
  for (const int load : duty.loads) {
    const Peak volts = load_volts(input, load);
    const double rated = figure(input.parts[load], "voltage")->value;
    if (volts.value >= kIdleShare * rated) continue;
    findings.push_back(lower_bound(
        input, load, "load-idle", "voltage", volts,
        practice(kIdleShare * rated, Unit::volt, "half of a load's rated voltage")));
    findings.back().message =
        fmt::format("'{}' does nothing: it gets {}, less than half of its {}",
                    input.parts[load].name, short_text(volts.value, Unit::volt),
                    short_text(rated, Unit::volt));
  }
  for (const int regulator : duty.regulators) {
    const Part& part = input.parts[regulator];
    const Peak starved = starved_volts(input, regulator);
    if (-starved.value >= regulator_off_volts(part)) continue;
    findings.push_back(
        lower_bound(input, regulator, "regulator-dropout", "voltage",
                    {-starved.value, starved.phase},
                    practice(regulator_off_volts(part), Unit::volt,
                             "below a tenth of its output a regulator counts as off")));
    findings.back().message = fmt::format("'{}' is off: it gets {}", part.name,
                                          short_text(-starved.value, Unit::volt));
  }
  for (const int chip : duty.controllers) {
    const Peak starved = starved_volts(input, chip);
    if (-starved.value >= kControllerOffVolts) continue;
    findings.push_back(lower_bound(
        input, chip, "controller-brownout", "voltage", {-starved.value, starved.phase},
        practice(kControllerOffVolts, Unit::volt, "below it a chip counts as off")));
    findings.back().message =
        fmt::format("'{}' is off: it gets {}", input.parts[chip].name,
                    short_text(-starved.value, Unit::volt));
  }
  return findings;
}

// --- one voltage --------------------------------------------------------------------

/// A state at one voltage, ready to be solved.
struct Posed {
  State state;
  std::vector<Part> parts;
  std::vector<Phase> phases;
};

Posed pose(const Subject& subject, double volts) {
  Posed posed;
  posed.state = with_supply_volts(subject.circuit, subject.state, subject.part, volts);
  posed.parts = parts_in(subject.circuit, posed.state);
  posed.phases = phases(subject.circuit, posed.state);
  return posed;
}

/// Calls `see(input)` with what was observed in each phase.
template <typename Function>
auto with_input(const Subject& subject, const Posed& posed,
                const std::vector<Observation>& seen, Function&& see) {
  std::vector<double> shares;
  for (const Phase& phase : posed.phases) shares.push_back(phase.share);
  const Observation mean = average(seen, shares);
  CheckInput input{subject.circuit, posed.state, posed.parts, {}, mean};
  for (std::size_t k = 0; k < seen.size(); ++k)
    input.phases.push_back({posed.phases[k], seen[k]});
  return see(input);
}

/// What fails by the rules, sorted; `idle`, what does not work that should, included.
std::vector<Finding> failing(const Subject& subject, const CheckInput& input,
                             std::vector<Finding> idle) {
  std::vector<Finding> others = std::move(idle);
  if (subject.rules.expectations) {
    for (Finding& finding :
         failed_expectations(subject.circuit, hold_expectations(input, input)))
      others.push_back(std::move(finding));
  }
  std::vector<Finding> findings = run_checks(input, std::move(others));
  const Severity least = subject.rules.cautions ? Severity::caution : Severity::fault;
  std::erase_if(findings, [least](const Finding& f) { return f.severity < least; });
  return findings;
}

/// What the search knows of one voltage.
struct Look {
  bool is_solved = false;
  std::string reason;    ///< Of a witness without an answer.
  bool is_idle = false;  ///< Something that should work does not.
  std::vector<Finding> findings;

  [[nodiscard]] std::vector<Finding> without(const LeftOut& left_out) const {
    std::vector<Finding> rest;
    for (const Finding& finding : findings)
      if (!is_left_out(finding, left_out)) rest.push_back(finding);
    return rest;
  }
  [[nodiscard]] bool passes(const LeftOut& left_out) const {
    return is_solved &&
           std::all_of(findings.begin(), findings.end(), [&](const Finding& finding) {
             return is_left_out(finding, left_out);
           });
  }
};

/// The phases of a state at one voltage as the witness of the search sees them; empty
/// where something stands in `look` already.
std::vector<Observation> observe_phases(const Subject& subject, const Posed& posed,
                                        const Solve& solve,
                                        std::shared_ptr<const Structure>& structure,
                                        Look& look) {
  std::vector<Observation> seen;
  for (const Phase& phase : posed.phases) {
    const Network network = lower(subject.circuit, phase.state, structure);
    structure = network.structure;
    if (const std::vector<int> loop = unlimited_loop(network); !loop.empty()) {
      look.is_solved = true;
      look.findings = {unlimited_finding(subject.circuit, phase.name, loop)};
      return {};
    }
    const Solution solution = solve(network);
    if (!is_complete(network, solution)) {
      look.reason = solution.reason;
      return {};
    }
    seen.push_back(observe(subject.circuit, network, solution));
  }
  return seen;
}

// --- the search ----------------------------------------------------------------------

/// Looks at voltages, each once.
class Search {
 public:
  Search(const Subject& subject, double present, Duty duty, const Solve& solve)
      : subject_(subject), present_(present), duty_(std::move(duty)), solve_(solve) {}

  const Look& at(double millivolts) {
    const auto known = looks_.find(millivolts);
    if (known != looks_.end()) return known->second;
    return looks_.emplace(millivolts, look(millivolts)).first->second;
  }

  /// The end of the stretch that `from`, which passes, lies in.
  RangeEnd end_of(double from, int direction, const LeftOut& left_out) {
    double pass = from;
    while (pass != (direction > 0 ? kMost : 0.0)) {
      const double next = next_step(pass, direction);
      if (!at(next).passes(left_out)) return between(pass, next, left_out);
      pass = next;
    }
    return {RangeEnd::Kind::search, pass / kPerVolt, pass / kPerVolt, {}, {}};
  }

  /// The end that would follow if what sets `end` were out of the way, in every part
  /// in which that check fails there.
  std::optional<RangeEnd> end_without(const RangeEnd& end, int direction,
                                      LeftOut left_out) {
    if (end.kind != RangeEnd::Kind::check || is_alone(end.findings.front()))
      return std::nullopt;
    for (const Finding& finding : end.findings)
      if (finding.check == end.findings.front().check) left_out.insert(key_of(finding));
    return end_of(millivolts_of(end.volts), direction, left_out);
  }

  PassingRange range_around(double inside, const LeftOut& left_out) {
    PassingRange range;
    range.lower = end_of(inside, -1, left_out);
    range.upper = end_of(inside, 1, left_out);
    range.lower_without = end_without(range.lower, -1, left_out);
    range.upper_without = end_without(range.upper, 1, left_out);
    return range;
  }

  /// The voltage looked at first that passes nearest to `present`.
  std::optional<double> nearest_passing(double present, const LeftOut& left_out) {
    std::optional<double> nearest;
    for (double step = 0.0; step <= kMost; step += kStep) {
      if (!at(step).passes(left_out)) continue;
      if (!nearest || std::abs(step - present) < std::abs(*nearest - present))
        nearest = step;
    }
    return nearest;
  }

  /// The stretches that pass, but for the one given, upwards.
  std::vector<VoltageStretch> elsewhere(const PassingRange& known,
                                        const LeftOut& left_out) {
    std::vector<VoltageStretch> stretches;
    for (double step = 0.0; step <= kMost; step += kStep) {
      const double volts = step / kPerVolt;
      const bool is_known = volts >= known.lower.volts && volts <= known.upper.volts;
      const bool is_told = !stretches.empty() && volts <= stretches.back().most;
      if (is_known || is_told || !at(step).passes(left_out)) continue;
      stretches.push_back(
          {end_of(step, -1, left_out).volts, end_of(step, 1, left_out).volts});
    }
    return stretches;
  }

  /// What fails at every voltage looked at so far at which all works that should, or
  /// at every one where there is no such.
  [[nodiscard]] std::vector<Finding> always_failing() const {
    const bool is_working =
        std::any_of(looks_.begin(), looks_.end(), [](const auto& entry) {
          return entry.second.is_solved && !entry.second.is_idle;
        });
    std::optional<std::vector<Finding>> always;
    for (const auto& [millivolts, look] : looks_) {
      if (!look.is_solved || (is_working && look.is_idle)) continue;
      if (!always) always = look.findings;
      LeftOut here;
      for (const Finding& finding : look.findings) here.insert(key_of(finding));
      std::erase_if(*always,
                    [&](const Finding& f) { return !here.contains(key_of(f)); });
    }
    return always.value_or(std::vector<Finding>{});
  }

 private:
  Look look(double millivolts) {
    const Posed posed = pose(subject_, millivolts / kPerVolt);
    Look look;
    const std::vector<Observation> seen =
        observe_phases(subject_, posed, solve_, structure_, look);
    if (seen.empty()) return look;
    look.is_solved = true;
    with_input(subject_, posed, seen, [&](const CheckInput& input) {
      std::vector<Finding> idle = idle_findings(input, duty_);
      look.is_idle = !idle.empty();
      look.findings = failing(subject_, input, std::move(idle));
    });
    return look;
  }

  /// The next voltage to look at: a whole number of steps, or the present one.
  [[nodiscard]] double next_step(double from, int direction) const {
    const double next = direction > 0
                            ? std::min((std::floor(from / kStep) + 1.0) * kStep, kMost)
                            : std::max((std::ceil(from / kStep) - 1.0) * kStep, 0.0);
    const bool is_before = direction > 0 ? present_ > from && present_ < next
                                         : present_ < from && present_ > next;
    return is_before ? present_ : next;
  }

  /// Halves what lies between a voltage that passes and one that does not.
  RangeEnd between(double pass, double fail, const LeftOut& left_out) {
    while (std::abs(fail - pass) > kResolution) {
      const double middle = std::floor(0.5 * (pass + fail));
      (at(middle).passes(left_out) ? pass : fail) = middle;
    }
    const Look& beyond = at(fail);
    const auto kind =
        beyond.is_solved ? RangeEnd::Kind::check : RangeEnd::Kind::no_answer;
    return {kind, pass / kPerVolt, fail / kPerVolt, beyond.without(left_out),
            beyond.reason};
  }

  const Subject& subject_;
  double present_;  ///< Millivolt.
  Duty duty_;
  const Solve& solve_;
  std::shared_ptr<const Structure> structure_;
  std::map<double, Look> looks_;
};

// --- both witnesses ------------------------------------------------------------------

/// The verdict where a witness has no answer.
RangeTestimony silent(double volts, Verdict verdict, std::string_view witness,
                      const Solution& solution) {
  return {volts, verdict,
          fmt::format("the {} witness has no answer: {}", witness, solution.reason)};
}

/// Asks both witnesses about one voltage. `expected`: what fails first by the search,
/// or nothing where it passes.
RangeTestimony ask_both(const Subject& subject, const Duty& duty, double volts,
                        const Finding* expected, const LeftOut& left_out,
                        const Solve& engine, const Solve& nodal) {
  const Posed posed = pose(subject, volts);
  std::shared_ptr<const Structure> structure;
  std::array<std::vector<Observation>, 2> seen;
  for (const Phase& phase : posed.phases) {
    const Network network = lower(subject.circuit, phase.state, structure);
    structure = network.structure;
    if (!unlimited_loop(network).empty()) return {volts, Verdict::good, {}};
    const Solution by_engine = engine(network);
    const Solution by_nodal = nodal(network);
    if (!is_complete(network, by_engine))
      return silent(volts, Verdict::engine_failed, "engine", by_engine);
    if (!is_complete(network, by_nodal))
      return silent(volts, Verdict::nodal_failed, "nodal", by_nodal);
    const Agreement agreement = agree(subject.circuit, network, by_engine, by_nodal);
    if (!agreement.agrees) return {volts, Verdict::disagreement, agreement.reason};
    seen[0].push_back(observe(subject.circuit, network, by_engine));
    seen[1].push_back(observe(subject.circuit, network, by_nodal));
  }
  constexpr std::array<std::string_view, 2> kNames = {"engine", "nodal"};
  for (std::size_t k = 0; k < seen.size(); ++k) {
    std::vector<Finding> findings =
        with_input(subject, posed, seen[k], [&](const CheckInput& input) {
          return failing(subject, input, idle_findings(input, duty));
        });
    std::erase_if(findings, [&](const Finding& f) { return is_left_out(f, left_out); });
    const bool is_as_expected =
        expected == nullptr
            ? findings.empty()
            : std::any_of(findings.begin(), findings.end(), [&](const Finding& f) {
                return key_of(f) == key_of(*expected);
              });
    if (is_as_expected) continue;
    const std::string_view what = findings.empty()
                                      ? "everything passes"
                                      : std::string_view(findings.front().message);
    return {volts, Verdict::disagreement,
            fmt::format("the {} witness by itself says: {}", kNames[k], what)};
  }
  return {volts, Verdict::good, {}};
}

// --- one state
// ------------------------------------------------------------------------

void append(std::vector<int>& list, const std::vector<int>& more) {
  for (const int index : more)
    if (std::find(list.begin(), list.end(), index) == list.end()) list.push_back(index);
}

/// What works at the present voltage. Where nothing limits a current, the LEDs that it
/// flows through; nothing where there is no answer.
Duty duty_at_present(const Subject& subject, const Solve& solve) {
  const Posed posed =
      pose(subject, supply_volts(subject.circuit, subject.state, subject.part));
  std::shared_ptr<const Structure> structure;
  Look look;
  const std::vector<Observation> seen =
      observe_phases(subject, posed, solve, structure, look);
  if (!seen.empty()) return with_input(subject, posed, seen, working_parts);
  Duty duty;
  for (const Phase& phase : posed.phases) {
    for (const int part : unlimited_loop(lower(subject.circuit, phase.state)))
      if (posed.parts[part].kind == KindId::led) append(duty.leds, {part});
  }
  return duty;
}

/// Parts that work in no state, by the state in which they come nearest to it.
std::map<std::string, Duty> owed_parts(const Circuit& circuit, const Solve& solve) {
  std::vector<std::vector<Observation>> seen;
  std::vector<const State*> states;
  std::shared_ptr<const Structure> structure;
  for (const State& state : circuit.states) {
    if (!state.steady) continue;
    states.push_back(&state);
    seen.emplace_back();
    for (const Phase& phase : phases(circuit, state)) {
      const Network network = lower(circuit, phase.state, structure);
      structure = network.structure;
      if (!unlimited_loop(network).empty()) return {};
      const Solution solution = solve(network);
      if (!is_complete(network, solution)) return {};
      seen.back().push_back(observe(circuit, network, solution));
    }
  }
  std::vector<std::vector<const Observation*>> views;
  for (const auto& observations : seen) {
    views.emplace_back();
    for (const Observation& o : observations) views.back().push_back(&o);
  }
  std::map<std::string, Duty> owed;
  for (const auto& [index, finding] : check_over_states(circuit, views)) {
    if (finding.severity != Severity::fault) continue;
    const auto part = std::find_if(
        circuit.parts.begin(), circuit.parts.end(),
        [&named = finding.part](const Part& p) { return p.name == named; });
    Duty& duty = owed[states[index]->name];
    (part->kind == KindId::led ? duty.leds : duty.loads)
        .push_back(static_cast<int>(part - circuit.parts.begin()));
  }
  return owed;
}

/// Asks both witnesses at the present voltage and on both sides of both ends.
void confirm(const Subject& subject, const Duty& duty, const LeftOut& left_out,
             const Solve& engine, const Solve& nodal, StateRange& result) {
  const auto ask = [&](double volts, const Finding* expected, const LeftOut& without) {
    result.testimonies.push_back(
        ask_both(subject, duty, volts, expected, without, engine, nodal));
    result.verdict = std::max(result.verdict, result.testimonies.back().verdict);
  };
  ask(result.present, result.passes ? nullptr : &result.present_findings.front(), {});
  if (!result.range) return;
  for (const RangeEnd* end : {&result.range->lower, &result.range->upper}) {
    ask(end->volts, nullptr, left_out);
    if (end->kind == RangeEnd::Kind::check)
      ask(end->beyond, &end->findings.front(), left_out);
    if (end->kind != RangeEnd::Kind::no_answer) continue;
    result.verdict = std::max(result.verdict, Verdict::nodal_failed);
  }
}

StateRange range_of_state(const Subject& subject, const Duty& duty,
                          const Solve& search_solve, const Solve& engine,
                          const Solve& nodal) {
  StateRange result;
  result.name = subject.state.name;
  result.present = supply_volts(subject.circuit, subject.state, subject.part);
  const double present = millivolts_of(result.present);
  Search search(subject, present, duty, search_solve);
  const Look& now = search.at(present);
  if (!now.is_solved) {
    result.verdict = Verdict::nodal_failed;
    result.testimonies.push_back(
        {result.present, Verdict::nodal_failed,
         fmt::format("the nodal witness has no answer: {}", now.reason)});
    return result;
  }
  result.present_findings = now.findings;
  result.passes = now.passes({});
  result.verdict = result.passes ? Verdict::good : Verdict::fault;

  LeftOut left_out;
  std::optional<double> inside =
      result.passes ? present : search.nearest_passing(present, left_out);
  if (!inside) {
    result.always = search.always_failing();
    for (const Finding& finding : result.always) left_out.insert(key_of(finding));
    if (std::none_of(result.always.begin(), result.always.end(), is_alone))
      inside =
          now.passes(left_out) ? present : search.nearest_passing(present, left_out);
  }
  if (inside) {
    result.range = search.range_around(*inside, left_out);
    result.elsewhere = search.elsewhere(*result.range, left_out);
  }
  confirm(subject, duty, left_out, engine, nodal, result);
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
  const Part supply = parts_in(circuit, state).at(static_cast<std::size_t>(part));
  if (supply.kind != KindId::battery) return figure(supply, "voltage")->value;
  const auto cells = figure(supply, "cells");
  const auto open_circuit = figure(supply, "open_circuit");
  return (cells ? cells->value : 1.0) * (open_circuit ? open_circuit->value : 0.0);
}

State with_supply_volts(const Circuit& circuit, const State& state, int part,
                        double volts) {
  State moved = state;
  const Part supply = parts_in(circuit, state).at(static_cast<std::size_t>(part));
  const auto set = [&](std::string key, double value) {
    // cppcheck-suppress ignoredReturnValue ; the braces are a subscript, no statement.
    moved.settings[{part, std::move(key)}] = Setting{value, supply.span};
  };
  if (supply.kind == KindId::battery) {
    const auto cells = figure(supply, "cells");
    set("open_circuit", volts / (cells ? cells->value : 1.0));
    return moved;
  }
  set("voltage", volts);
  const auto no_load = figure(supply, "no_load");
  if (no_load)
    set("no_load", no_load->value * volts / figure(supply, "voltage")->value);
  return moved;
}

std::vector<StateRange> find_supply_range(const Circuit& circuit, int part,
                                          const RangeRules& rules, const Solve& search,
                                          const Solve& engine, const Solve& nodal,
                                          const std::vector<std::string>& only) {
  const bool is_known = part >= 0 && part < static_cast<int>(circuit.parts.size());
  if (!is_known || !is_movable(circuit.parts[part].kind))
    throw std::invalid_argument("a range needs a part whose voltage can be moved");
  std::map<std::string, Duty> owed = owed_parts(circuit, search);
  std::vector<StateRange> ranges;
  for (const State& state : circuit.states) {
    const bool is_asked =
        only.empty() || std::find(only.begin(), only.end(), state.name) != only.end();
    if (!state.steady || !is_asked) continue;
    const Subject subject{circuit, state, part, rules};
    Duty duty = duty_at_present(subject, search);
    append(duty.leds, owed[state.name].leds);
    append(duty.loads, owed[state.name].loads);
    ranges.push_back(range_of_state(subject, duty, search, engine, nodal));
  }
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
