#include "core/verify/runs/verify_runs.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>

#include "core/base/quantity.h"
#include "core/check/always/apart.h"
#include "core/check/rest/unlimited_amps.h"
#include "core/check/time/run_checks.h"
#include "core/network/edits.h"
#include "core/network/unlimited.h"
#include "core/verify/seen/expected_findings.h"

namespace benchproof {
namespace {

/// A loop in which nothing limits the current, at the start or wherever a source bends.
std::vector<int> unlimited_in(const Timeline& timeline) {
  if (!timeline.from_rest) {
    std::vector<int> loop = unlimited_loop(charged_at_start(timeline));
    if (!loop.empty()) return loop;
  }
  std::vector<double> times = {0.0, timeline.span};
  for (const Course& course : timeline.volts) {
    for (const Corner& corner : course.corners) times.push_back(corner.seconds);
  }
  for (const double seconds : times) {
    std::vector<int> loop = unlimited_loop(network_at(timeline, seconds));
    if (!loop.empty()) return loop;
  }
  return {};
}

/// Where the nodal witness is asked besides its own steps and the engine's times: where
/// expectations look.
std::vector<double> times_for(const Circuit& circuit, int index) {
  std::vector<double> times;
  for (const Expectation& e : circuit.expectations) {
    if (e.run != index) continue;
    times.insert(times.end(), {e.at, e.after});
    if (e.stays)
      times.insert(times.end(), {e.stays->after, e.stays->until.value_or(0)});
  }
  std::sort(times.begin(), times.end());
  times.erase(std::unique(times.begin(), times.end()), times.end());
  return times;
}

/// Why the witnesses do not tell one time of a crossing; empty if they do.
std::string untimely(const Circuit& circuit, const RunResult& run) {
  for (const RunExpectationResult& r : run.expectations) {
    if (!r.expectation->reaches) continue;
    const double apart = std::abs(r.engine.value - r.nodal.value);
    const bool is_by_both =
        std::isfinite(r.engine.value) && std::isfinite(r.nodal.value);
    const bool is_by_one =
        std::isfinite(r.engine.value) != std::isfinite(r.nodal.value);
    if (!is_by_one && !(is_by_both && apart > kWaveTimeShare * run.timeline.span))
      continue;
    const auto when = [](const RunMeasure& m) {
      return std::isfinite(m.value) ? format_quantity(m.value, Unit::second, 5)
                                    : std::string("never");
    };
    return fmt::format("the witnesses differ in when {} {}: engine {}, nodal {}",
                       subject_of(circuit, *r.expectation), demand_text(*r.expectation),
                       when(r.engine), when(r.nodal));
  }
  return {};
}

/// @pre The waveform has two points at least; its first nodes are the nets.
NetCourse course_of(const Waveform& waveform, std::size_t net) {
  const std::vector<double>& t = waveform.seconds;
  const auto volts = [&](std::size_t point) { return waveform.row(point)[net]; };
  NetCourse course{volts(0), volts(0), volts(0), 0.0, volts(t.size() - 1)};
  double area = 0.0;
  for (std::size_t k = 1; k < t.size(); ++k) {
    course.least = std::min(course.least, volts(k));
    course.most = std::max(course.most, volts(k));
    area += (t[k] - t[k - 1]) * (volts(k) + volts(k - 1)) / 2;
  }
  course.mean = area / (t.back() - t.front());
  return course;
}

/// [part][pin]
std::vector<std::vector<PinCourse>> pins_of(const Circuit& circuit,
                                            const Record& record) {
  std::vector<std::vector<PinCourse>> pins;
  for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k) {
    pins.emplace_back();
    for (int pin = 0; pin < static_cast<int>(circuit.parts[k].pins.size()); ++pin) {
      const Trace amps = record.conducted(k, pin);
      const auto [least, most] =
          std::minmax_element(amps.values.begin(), amps.values.end());
      pins.back().push_back({*least, *most});
    }
  }
  return pins;
}

}  // namespace

std::vector<Part> last_parts(const Circuit& circuit, const Run& run) {
  for (auto step = run.steps.rbegin(); step != run.steps.rend(); ++step) {
    if (step->state >= 0) return parts_in(circuit, circuit.states[step->state]);
  }
  return circuit.parts;
}

std::vector<Finding> unanswerable_in(const Circuit& circuit, const Timeline& timeline) {
  if (const std::vector<int> loop = unlimited_in(timeline); !loop.empty())
    return {unlimited_finding(circuit, "", loop)};
  return check_apart(circuit);
}

Hearing hear_both(const Circuit& circuit, int run, const Timeline& timeline,
                  const SolveInTime& engine, const SolveInTime& nodal) {
  return hear(circuit, timeline, engine, nodal, times_for(circuit, run));
}

Hearing hear_one(const Circuit& circuit, int run, const Timeline& timeline,
                 const SolveInTime& witness) {
  Hearing heard;
  heard.nodal = witness(timeline, times_for(circuit, run), -1);
  heard.engine.status = heard.nodal.status;
  heard.engine.reason = heard.nodal.reason;
  heard.agreement.agrees = heard.nodal.status == SolveStatus::solved;
  heard.agreement.reason = heard.nodal.reason;
  if (heard.agreement.agrees) {
    heard.by_nodal = std::make_shared<Record>(circuit, timeline, heard.nodal);
    heard.by_engine = heard.by_nodal;
  }
  return heard;
}

RunResult verify_run(const Circuit& circuit, int run, const SolveInTime& engine,
                     const SolveInTime& nodal) {
  RunResult result;
  result.run = &circuit.runs[run];
  result.name = result.run->name;
  result.timeline = make_timeline(circuit, *result.run);
  result.findings = unanswerable_in(circuit, result.timeline);
  if (!result.findings.empty()) {
    result.engine.status = result.nodal.status = SolveStatus::not_asked;
    result.agreement.reason = result.findings.front().message;
    result.engine.reason = result.nodal.reason = result.agreement.reason;
    mark_expected(circuit, "", run, result.findings);
    result.verdict = verdict_of(result.findings);
    return result;
  }
  Hearing heard = hear_both(circuit, run, result.timeline, engine, nodal);
  return judge_run(circuit, run, std::move(result.timeline), std::move(heard));
}

RunResult judge_run_by_one(const Circuit& circuit, int run,
                           const SolveInTime& witness) {
  Timeline timeline = make_timeline(circuit, circuit.runs[run]);
  if (!unanswerable_in(circuit, timeline).empty())
    return verify_run(circuit, run, witness, witness);  // Which asks nobody.
  Hearing heard = hear_one(circuit, run, timeline, witness);
  return judge_run(circuit, run, std::move(timeline), std::move(heard));
}

RunResult judge_run(const Circuit& circuit, int run, Timeline timeline, Hearing heard) {
  RunResult result;
  result.run = &circuit.runs[run];
  result.name = result.run->name;
  result.timeline = std::move(timeline);
  result.engine = std::move(heard.engine);
  result.nodal = std::move(heard.nodal);
  result.engine_points = result.engine.seconds.size();
  result.nodal_points = result.nodal.seconds.size();
  result.agreement = std::move(heard.agreement);
  if (!result.agreement.agrees) {
    const auto last = [](SolveStatus told, SolveStatus asked_last) {
      return told != SolveStatus::solved ? told : asked_last;
    };
    result.verdict = failure_of(last(result.engine.status, heard.engine_last),
                                last(result.nodal.status, heard.nodal_last));
    return result;
  }
  for (std::size_t net = 0; net < circuit.nets.size(); ++net)
    result.courses.push_back(course_of(result.nodal, net));
  const Record& by_nodal = *heard.by_nodal;
  result.pins = pins_of(circuit, by_nodal);
  result.expectations = hold_run_expectations(circuit, run, *heard.by_engine, by_nodal);
  result.agreement.reason = untimely(circuit, result);
  if (!result.agreement.reason.empty()) {
    result.agreement.agrees = false;
    result.verdict = Verdict::disagreement;
    return result;
  }
  const std::vector<Part> parts = last_parts(circuit, *result.run);
  result.findings = check_run({circuit, *result.run, parts, by_nodal});
  for (Finding& finding : failed_run_expectations(circuit, result.expectations))
    result.findings.push_back(std::move(finding));
  sort_by_severity(result.findings);
  result.by_hand = by_hand(circuit, run, *heard.by_engine, by_nodal);
  mark_expected(circuit, "", run, result.findings);
  result.verdict = verdict_of(result.findings);
  return result;
}

void let_go_of_waveforms(RunResult& run) {
  for (Waveform* waveform : {&run.engine, &run.nodal}) {
    waveform->seconds = std::vector<double>();
    waveform->rows = std::vector<double>();
  }
}

std::vector<RunResult> verify_runs(const Circuit& circuit, const SolveInTime& engine,
                                   const SolveInTime& nodal,
                                   const std::vector<std::string>& only,
                                   const std::optional<RunsAtOnce>& at_once) {
  std::vector<int> asked;
  for (std::size_t k = 0; k < circuit.runs.size(); ++k)
    if (is_named(only, circuit.runs[k].name)) asked.push_back(static_cast<int>(k));
  std::vector<RunResult> results(asked.size());
  std::atomic<std::size_t> next = 0;
  const auto judge_by = [&](const SolveInTime& own_engine) {
    for (std::size_t k = next++; k < asked.size(); k = next++) {
      results[k] = verify_run(circuit, asked[k], own_engine, nodal);
      let_go_of_waveforms(results[k]);
    }
  };
  // One run is not worth another engine's start.
  if (!at_once || asked.size() < 2) {
    if (at_once && at_once->first) at_once->first();
    judge_by(engine);
    return results;
  }
  at_once->side_by_side(std::min(asked.size(), kMostEngines), [&](std::size_t job) {
    if (job == 0 && at_once->first) at_once->first();
    if (next < asked.size()) judge_by(job == 0 ? engine : at_once->another_engine());
  });
  return results;
}

}  // namespace benchproof
