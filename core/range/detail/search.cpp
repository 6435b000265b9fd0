#include "core/range/detail/search.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"
#include "core/check/rest/unlimited_amps.h"
#include "core/verify/ends/ends.h"
#include "core/verify/seen/expected_findings.h"
#include "core/verify/spread/lamp_spread.h"
#include "core/verify/verify.h"

namespace benchproof {
namespace {

constexpr double kPerVolt = 1000.0;
constexpr double kMost = kMostRangeVolts * kPerVolt;
constexpr double kStep = kRangeStepVolts * kPerVolt;
constexpr double kResolution = kRangeResolutionVolts * kPerVolt;

}  // namespace

double millivolts_of(double volts) {
  constexpr double kRounding = 1e-6;
  const double millivolts = volts * kPerVolt;
  const double whole = std::round(millivolts);
  return std::abs(millivolts - whole) < kRounding ? whole : millivolts;
}

FindingKey key_of(const Finding& finding) {
  const std::string check =
      finding.check == "regulator-output" ? "regulator-dropout" : finding.check;
  // That nothing is delivered is one finding, whichever part is blamed.
  if (check == "supply-idle") return {"", check, 0};
  return {finding.part.empty() ? finding.net : finding.part, check,
          is_expectation(finding) ? finding.span.begin.line : 0};
}

bool is_alone(const Finding& finding) { return finding.check == "current-unlimited"; }

bool is_left_out(const Finding& finding, const LeftOut& left_out) {
  return !is_alone(finding) && left_out.contains(key_of(finding));
}

std::vector<Finding> AtVoltage::without(const LeftOut& left_out) const {
  std::vector<Finding> rest;
  for (const Finding& finding : findings)
    if (!is_left_out(finding, left_out)) rest.push_back(finding);
  return rest;
}

bool AtVoltage::passes(const LeftOut& left_out) const {
  return is_solved &&
         std::all_of(findings.begin(), findings.end(), [&](const Finding& finding) {
           return is_left_out(finding, left_out);
         });
}

namespace {

Severity least_severity(const RangeRules& rules) {
  return rules.cautions ? Severity::caution : Severity::fault;
}

/// Whether a finding, if only a caution, says that something may not work there: a
/// range is told as one over which everything works.
bool tells_of_no_work(const Finding& finding) {
  return finding.check == "relay-pull-in";
}

/// Whether a finding fails a voltage by the rules. One that the description expects
/// counts as nothing, as in its verdict.
bool fails(const Finding& finding, const RangeSubject& subject) {
  if (is_expectation(finding) && !subject.rules.expectations) return false;
  if (is_expected(subject.circuit, subject.state.name, -1, finding)) return false;
  if (tells_of_no_work(finding)) return true;
  return finding.severity >= least_severity(subject.rules);
}

/// What holds of the description, and what is still true of the states together with
/// this one as it is seen now: a supply that delivers nothing may do so at 3 V.
std::vector<Finding> standing_faults(const RangeSubject& subject,
                                     const CheckInput& input) {
  std::vector<Finding> standing = subject.always;
  if (subject.together.empty()) return standing;
  if (supply_volts(subject.circuit, input.state, subject.part) == 0.0) {
    // Without a supply nothing can be told, and nothing is any better.
    standing.insert(standing.end(), subject.together.begin(), subject.together.end());
    return standing;
  }
  AllSeen all = subject.all_seen;
  all[subject.index].clear();
  for (const SeenPhase& phase : input.phases) all[subject.index].push_back(&phase.seen);
  // What it counts as switched off goes by the voltage that it is to have.
  Circuit moved = subject.circuit;
  moved.parts[subject.part] = input.parts[subject.part];
  for (auto& [state, finding] : check_over_states(moved, all)) {
    const bool is_known = std::any_of(
        subject.together.begin(), subject.together.end(),
        [&f = finding](const Finding& known) { return key_of(known) == key_of(f); });
    if (is_known && finding.severity == Severity::fault)
      standing.push_back(std::move(finding));
  }
  return standing;
}

}  // namespace

AtVoltage failures(const RangeSubject& subject, const CheckInput& engine,
                   const CheckInput& nodal) {
  AtVoltage here;
  here.is_solved = true;
  std::vector<Finding> others = idle_findings(nodal, subject.duty);
  here.is_idle = !others.empty();
  for (Finding& finding : standing_faults(subject, nodal))
    others.push_back(std::move(finding));
  here.findings = judge_at_rest(engine, nodal, std::move(others)).findings;
  std::erase_if(here.findings, [&](const Finding& f) { return !fails(f, subject); });
  return here;
}

void add_faults_beyond(const RangeSubject& subject, const CheckInput& now,
                       const PosedState& at_most, const Solve& witness,
                       AtVoltage& here) {
  std::vector<Finding> all =
      faults_at_ends(subject.circuit, now.state, here.findings, witness);
  for (Finding& f : lamp_spread_at(at_most, now, here.findings, witness))
    all.push_back(std::move(f));
  for (Finding& finding : all)
    if (fails(finding, subject)) here.findings.push_back(std::move(finding));
  sort_by_severity(here.findings);
}

MovedState::MovedState(const RangeSubject& subject)
    : part_(subject.part),
      supply_(part_in(subject.circuit, subject.state, subject.part)),
      posed_(subject.circuit, subject.state, subject.structure),
      most_(with_most_supply(subject.circuit, subject.state)),
      posed_at_most_(subject.circuit, most_, subject.structure) {}

void MovedState::move(PosedState& posed, double volts) const {
  for (const auto& [key, value] : supply_settings(supply_, volts))
    posed.put(part_, key, value);
}

const PosedState& MovedState::at(double volts) {
  move(posed_, volts);
  return posed_;
}

const PosedState& MovedState::at_most(double volts) {
  const bool is_spread =
      supply_.kind == KindId::dc_supply && flag(supply_, "regulated", true);
  move(posed_at_most_, is_spread ? (1.0 + kSupplySpread) * volts : volts);
  return posed_at_most_;
}

VoltageSearch::VoltageSearch(const RangeSubject& subject, double present,
                             const Solve& solve)
    : subject_(subject), present_(present), solve_(solve), moved_(subject) {}

const AtVoltage& VoltageSearch::at(double millivolts) {
  std::optional<AtVoltage>& all = known_[millivolts].all;
  if (!all) all = ask(millivolts);
  return *all;
}

bool VoltageSearch::passes(double millivolts, const LeftOut& left_out) {
  Known& known = known_[millivolts];
  const auto is_found_out = [&] {
    if (known.failing && !is_left_out(*known.failing, left_out)) return true;
    return known.passes_by &&
           std::includes(left_out.begin(), left_out.end(), known.passes_by->begin(),
                         known.passes_by->end());
  };
  if (!known.all && !is_found_out()) look_for_failure(millivolts, left_out, known);
  if (known.all) return known.all->passes(left_out);
  return !known.failing || is_left_out(*known.failing, left_out);
}

void VoltageSearch::look_for_failure(double millivolts, const LeftOut& left_out,
                                     Known& known) {
  const auto counts = [&](const Finding& f) {
    return fails(f, subject_) && !is_left_out(f, left_out);
  };
  const auto is_told = [&](const std::vector<Finding>& findings) {
    const auto found = std::find_if(findings.begin(), findings.end(), counts);
    if (found != findings.end()) known.failing = *found;
    return found != findings.end();
  };
  known.failing.reset();
  if (is_told(subject_.always)) return;
  const PosedState& posed = moved_.at(millivolts / kPerVolt);
  Sight sight = sight_of(posed, solve_, PinsRead::weak);
  if (!sight.seen) {
    known.all = ask(millivolts);
    return;
  }
  const CheckInput weak = check_input(posed, *sight.seen);
  if (is_told(idle_findings(weak, subject_.duty))) return;
  if (is_told(standing_faults(subject_, weak))) return;
  if (subject_.rules.expectations &&
      is_told(failed_expectations(subject_.circuit, hold_expectations(weak, weak))))
    return;
  known.failing =
      first_finding(weak, PinsRead::weak, least_severity(subject_.rules), counts);
  if (known.failing) return;
  see_strong(posed, solve_, *sight.seen);
  known.failing = first_finding(check_input(posed, *sight.seen), PinsRead::strong,
                                least_severity(subject_.rules), counts);
  if (known.failing) return;
  // What ends and spread bring is told by all that is found without them.
  if (has_ends(subject_.circuit) ||
      !lamp_spread_at(moved_.at_most(millivolts / kPerVolt), weak, {}, solve_)
           .empty()) {
    known.all = ask(millivolts);
    return;
  }
  known.passes_by = left_out;
}

AtVoltage VoltageSearch::ask(double millivolts) {
  const PosedState& posed = moved_.at(millivolts / kPerVolt);
  const Sight sight = sight_of(posed, solve_, PinsRead::strong);
  AtVoltage here;
  if (!sight.loop.empty()) {
    here.is_solved = true;
    here.findings = {unlimited_finding(subject_.circuit, sight.phase, sight.loop)};
    return here;
  }
  here.reason = sight.reason;
  if (!sight.seen) return here;
  const CheckInput input = check_input(posed, *sight.seen);
  here = failures(subject_, input, input);
  add_faults_beyond(subject_, input, moved_.at_most(millivolts / kPerVolt), solve_,
                    here);
  return here;
}

PassingRange VoltageSearch::range_around(double inside, const LeftOut& left_out) {
  PassingRange range;
  range.lower = end_of(inside, -1, left_out);
  range.upper = end_of(inside, 1, left_out);
  range.lower_without = end_without(range.lower, -1, left_out);
  range.upper_without = end_without(range.upper, 1, left_out);
  return range;
}

std::optional<double> VoltageSearch::nearest_passing(const LeftOut& left_out) {
  std::optional<double> nearest;
  for (double step = 0.0; step <= kMost; step += kStep) {
    if (!passes(step, left_out)) continue;
    if (!nearest || std::abs(step - present_) < std::abs(*nearest - present_))
      nearest = step;
  }
  return nearest;
}

std::vector<VoltageStretch> VoltageSearch::elsewhere(const PassingRange& known,
                                                     const LeftOut& left_out) {
  std::vector<VoltageStretch> stretches;
  for (double step = 0.0; step <= kMost; step += kStep) {
    const double volts = step / kPerVolt;
    const bool is_known = volts >= known.lower.volts && volts <= known.upper.volts;
    const bool is_told = !stretches.empty() && volts <= stretches.back().most;
    if (is_known || is_told || !passes(step, left_out)) continue;
    stretches.push_back(
        {end_of(step, -1, left_out).volts, end_of(step, 1, left_out).volts});
  }
  return stretches;
}

std::vector<Finding> VoltageSearch::always_failing() {
  std::vector<const AtVoltage*> solved;
  for (const auto& [millivolts, known] : known_) {
    const AtVoltage& here = at(millivolts);
    if (here.is_solved) solved.push_back(&here);
  }
  const bool is_working = std::any_of(solved.begin(), solved.end(),
                                      [](const AtVoltage* v) { return !v->is_idle; });
  if (is_working) std::erase_if(solved, [](const AtVoltage* v) { return v->is_idle; });
  if (solved.empty()) return {};
  std::vector<Finding> always = solved.front()->findings;
  for (const AtVoltage* here : solved) {
    LeftOut keys;
    for (const Finding& finding : here->findings) keys.insert(key_of(finding));
    std::erase_if(always, [&](const Finding& f) { return !keys.contains(key_of(f)); });
  }
  return always;
}

/// The end of the stretch that `from`, which passes, lies in.
RangeEnd VoltageSearch::end_of(double from, int direction, const LeftOut& left_out) {
  double pass = from;
  while (pass != (direction > 0 ? kMost : 0.0)) {
    const double next = next_step(pass, direction);
    if (!passes(next, left_out)) return between(pass, next, left_out);
    pass = next;
  }
  return {RangeEnd::Kind::search, pass / kPerVolt, pass / kPerVolt, {}, {}};
}

/// The end that would follow if what sets `end` were out of the way, in every part
/// in which that check fails there.
std::optional<RangeEnd> VoltageSearch::end_without(const RangeEnd& end, int direction,
                                                   LeftOut left_out) {
  if (end.kind != RangeEnd::Kind::check || is_alone(end.findings.front()))
    return std::nullopt;
  for (const Finding& finding : end.findings)
    if (finding.check == end.findings.front().check) left_out.insert(key_of(finding));
  return end_of(millivolts_of(end.volts), direction, left_out);
}

/// The next voltage to look at: a whole number of steps, or the present one.
double VoltageSearch::next_step(double from, int direction) const {
  const double next = direction > 0
                          ? std::min((std::floor(from / kStep) + 1.0) * kStep, kMost)
                          : std::max((std::ceil(from / kStep) - 1.0) * kStep, 0.0);
  const bool is_before = direction > 0 ? present_ > from && present_ < next
                                       : present_ < from && present_ > next;
  return is_before ? present_ : next;
}

/// Halves what lies between a voltage that passes and one that does not.
RangeEnd VoltageSearch::between(double pass, double fail, const LeftOut& left_out) {
  while (std::abs(fail - pass) > kResolution) {
    const double middle = std::floor(0.5 * (pass + fail));
    (passes(middle, left_out) ? pass : fail) = middle;
  }
  const AtVoltage& beyond = at(fail);
  const auto kind =
      beyond.is_solved ? RangeEnd::Kind::check : RangeEnd::Kind::no_answer;
  return {kind, pass / kPerVolt, fail / kPerVolt, beyond.without(left_out),
          beyond.reason};
}

}  // namespace benchproof
