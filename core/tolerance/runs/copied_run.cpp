#include "core/tolerance/runs/copied_run.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <string_view>
#include <utility>

#include "core/check/expect/expectations.h"
#include "core/check/finding/wording.h"
#include "core/check/time/run_ratings.h"
#include "core/check/time/run_watch.h"

namespace benchproof {
namespace {

constexpr double kNotKnown = std::numeric_limits<double>::quiet_NaN();
/// What stays below this share of its limit as described is no gauge.
constexpr double kLeastShare = 0.25;

/// Whether a rating's value alone says whether it is a fault in a run: no condition, no
/// shortest time, nothing that the run has to do besides.
bool is_by_value(const Rating& rating, KindId kind) {
  constexpr std::array<std::string_view, 4> kConditional = {
      "run-brownout", "run-inrush", "run-capacitor-polarity", "run-regulator-reverse"};
  constexpr std::array<std::string_view, 2> kOfLeds = {"run-reverse", "run-surge"};
  const InRun& run = rating.run;
  const auto is_one_of = [&run](const auto& list) {
    return std::find(list.begin(), list.end(), run.check) != list.end();
  };
  return rating.bound == Bound::upper && run.shortest == 0.0 && run.moment == 0.0 &&
         !is_one_of(kConditional) && !(kind == KindId::led && is_one_of(kOfLeds));
}

/// What a rating comes to: the highest value, or the worst strain.
double reading_of(const RunInput& input, int part, const Rating& rating, int pin,
                  const Figure& limit) {
  Trace trace = trace_of(input, part, rating, pin);
  if (rating.run.endurance == nullptr)
    return *std::max_element(trace.values.begin(), trace.values.end());
  if (rating.measure.what == Measured::amps)  // What flows back does not cool.
    for (double& value : trace.values) value = std::max(value, 0.0);
  Endurance endurance =
      rating.run.endurance(input.parts[static_cast<std::size_t>(part)]);
  endurance.from = 0.0;
  if (!(limit.value > 0.0)) return kNotKnown;
  const auto strain = strain_of(input, {trace, limit}, endurance);
  return strain ? strain->share() : 0.0;
}

bool is_fault(const Finding& finding) { return counts_as(finding, Severity::fault); }

}  // namespace

CopiedRun::CopiedRun(const Circuit& circuit, int run,
                     const std::vector<Spread>& spreads, const SolveInTime& nodal)
    : circuit_(circuit),
      run_(run),
      spreads_(spreads),
      parts_(last_parts(circuit, circuit.runs[static_cast<std::size_t>(run)])) {
  add_expectations();
  Timeline timeline = make_timeline(circuit, this->run());
  if (!unanswerable_in(circuit, timeline).empty()) {
    nominal_.reason = "no witness can answer";
    return;
  }
  Hearing heard = hear_one(circuit, run_, timeline, nodal);
  points_ = heard.nodal.seconds.size();
  if (heard.by_nodal) add_ratings(*heard.by_nodal);
  const auto record = heard.by_nodal;
  nominal_ = judged(circuit, timeline, std::move(heard), record);
}

const Run& CopiedRun::run() const {
  return circuit_.runs[static_cast<std::size_t>(run_)];
}

void CopiedRun::add_expectations() {
  for (const Expectation& e : circuit_.expectations) {
    if (e.run != run_) continue;
    Gauge gauge = expectation_gauge(e);
    if (e.reaches) {
      gauge.quantity = "time";
      gauge.unit = Unit::second;
    }
    if (!e.stays) {
      gauge.lower = e.reaches ? e.reaches->not_before : e.least;
      gauge.upper = e.reaches ? e.reaches->before : e.most;
      gauges_.push_back(std::move(gauge));
      continue;
    }
    if (e.stays->above) {
      gauges_.push_back(gauge);
      gauges_.back().lower = e.stays->above;
    }
    if (e.stays->below) {
      gauges_.push_back(gauge);
      gauges_.back().upper = e.stays->below;
    }
  }
}

void CopiedRun::add_ratings(const Record& record) {
  for (std::size_t k = 0; k < parts_.size(); ++k) {
    const Part& part = parts_[k];
    for (const Rating* rating : run_ratings_of(part)) {
      const auto limit = limit_of(*rating, part, circuit_.ambient);
      if (!limit || !is_by_value(*rating, part.kind)) continue;
      const bool is_strain = rating->run.endurance != nullptr;
      for (const int pin : pins_of(rating->measure, part)) {
        Gauge gauge = rating_gauge(*rating, static_cast<int>(k), pin);
        gauge.check = rating->run.check;
        if (is_strain) gauge.quantity = "strain by " + gauge.quantity;
        gauge.unit = is_strain ? Unit::fraction : limit->unit;
        gauge.upper = is_strain ? 1.0 : rating->run.fault * limit->value;
        if (value(gauge, circuit_, record) > kLeastShare * *gauge.upper)
          gauges_.push_back(std::move(gauge));
      }
    }
  }
}

double CopiedRun::value(const Gauge& gauge, const Circuit& there,
                        const Record& record) const {
  if (gauge.rating != nullptr) {
    const Part& part = parts_[static_cast<std::size_t>(gauge.part)];
    const auto limit = limit_of(*gauge.rating, part, there.ambient);
    const int pin = gauge.pin < 0 ? gauge.rating->measure.pin : gauge.pin;
    return limit ? reading_of({there, run(), parts_, record}, gauge.part, *gauge.rating,
                              pin, *limit)
                 : kNotKnown;
  }
  const Expectation& e = *gauge.expectation;
  if (e.stays) {
    const Extremes all = extremes_of_stay(trace_of(there, record, e), e, run());
    return gauge.lower ? all.lowest : all.highest;
  }
  const double value = measured(there, record, e).value;
  return e.reaches && !std::isfinite(value) ? HUGE_VAL : value;
}

SeenRun CopiedRun::judged(const Circuit& there, const Timeline& timeline, Hearing heard,
                          const std::shared_ptr<const Record>& record) const {
  SeenRun seen;
  seen.is_solved = record != nullptr;
  seen.reason = heard.agreement.reason;
  if (!seen.is_solved) return seen;
  for (const Gauge& gauge : gauges_)
    seen.values.push_back(value(gauge, there, *record));
  // One witness's record is judged in place of both.
  heard.by_engine = heard.by_nodal = record;
  heard.agreement.agrees = true;
  const RunResult result = judge_run(there, run_, timeline, std::move(heard));
  std::vector<bool> is_told(result.findings.size(), false);
  for (std::size_t g = 0; g < gauges_.size(); ++g) {
    const Gauge& gauge = gauges_[g];
    bool failed = false;
    for (std::size_t k = 0; gauge.rating != nullptr && k < result.findings.size();
         ++k) {
      const Finding& finding = result.findings[k];
      const Part& part = parts_[static_cast<std::size_t>(gauge.part)];
      if (!is_fault(finding) || finding.check != gauge.check ||
          finding.part != part.name || !fails(gauge, seen.values[g]))
        continue;
      is_told[k] = failed = true;
    }
    if (gauge.expectation != nullptr)
      failed = !std::isfinite(seen.values[g]) || fails(gauge, seen.values[g]);
    seen.failed.push_back(failed);
  }
  for (std::size_t k = 0; k < result.findings.size(); ++k) {
    const Finding& finding = result.findings[k];
    if (is_fault(finding) && !is_told[k] && finding.check != "expectation")
      seen.faults.push_back({finding.check, finding.part, finding.net});
  }
  std::sort(seen.faults.begin(), seen.faults.end());
  seen.faults.erase(std::unique(seen.faults.begin(), seen.faults.end()),
                    seen.faults.end());
  seen.works = result.verdict == Verdict::good || result.verdict == Verdict::caution;
  return seen;
}

SeenRun CopiedRun::seen(const double* places, const SolveInTime& nodal) const {
  const Circuit there = circuit_at(spreads_, places, circuit_);
  const Timeline timeline = timeline_at(spreads_, places, circuit_, run());
  if (!unanswerable_in(there, timeline).empty())
    return {false, "nothing limits a current", {}, {}, {}, false};
  Hearing heard = hear_one(there, run_, timeline, nodal);
  const auto record = heard.by_nodal;
  return judged(there, timeline, std::move(heard), record);
}

ConfirmedRun CopiedRun::confirmed(const double* places, const SolveInTime& engine,
                                  const SolveInTime& nodal) const {
  const Circuit there = circuit_at(spreads_, places, circuit_);
  const Timeline timeline = timeline_at(spreads_, places, circuit_, run());
  ConfirmedRun both;
  if (!unanswerable_in(there, timeline).empty()) return both;
  const Hearing heard = hear_both(there, run_, timeline, engine, nodal);
  both.agrees = heard.agreement.agrees;
  Hearing by_engine = heard;
  by_engine.nodal = heard.engine;
  both.engine = judged(there, timeline, std::move(by_engine), heard.by_engine);
  both.nodal = judged(there, timeline, heard, heard.by_nodal);
  for (std::size_t g = 0; g < both.engine.values.size(); ++g) {
    const Expectation* e = gauges_[g].expectation;
    if (e == nullptr || !e->reaches || both.nodal.values.empty()) continue;
    const double apart = std::abs(both.engine.values[g] - both.nodal.values[g]);
    both.agrees = both.agrees && !(apart > kWaveTimeShare * run().seconds);
  }
  return both;
}

}  // namespace benchproof
