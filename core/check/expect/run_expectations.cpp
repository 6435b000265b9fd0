#include "core/check/expect/run_expectations.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/check/agree/run_agreement.h"
#include "core/check/expect/expectations.h"
#include "core/check/rest/limits.h"

namespace benchproof {
namespace {

RunMeasure measure_reaches(const Trace& trace, const Reaches& asked) {
  RunMeasure m;
  const std::vector<double> times = crossings(trace, asked.level, asked.rising);
  if (times.empty()) {
    const double first = trace.values.front();
    m.is_there_already = asked.rising ? first >= asked.level : first <= asked.level;
    return m;
  }
  m.value = m.seconds = times.front();
  m.holds = (!asked.before || m.value <= *asked.before) &&
            (!asked.not_before || m.value >= *asked.not_before);
  return m;
}

RunMeasure measure_stays(const Extremes& e, const Stays& asked) {
  RunMeasure m;
  m.holds = (!asked.above || e.lowest >= *asked.above) &&
            (!asked.below || e.highest <= *asked.below);
  // Of the two sides the one that is broken, or has less room.
  const bool is_low = asked.above && (!asked.below || e.lowest - *asked.above <=
                                                          *asked.below - e.highest);
  m.value = is_low ? e.lowest : e.highest;
  m.seconds = is_low ? e.lowest_at : e.highest_at;
  return m;
}

RunMeasure measure_figure(const Trace& trace, const Expectation& asked,
                          const Stretch& stretch) {
  RunMeasure m;
  if (asked.figure == RunFigure::at) {
    m.value = value_at(trace, asked.at);
    m.seconds = asked.at;
  } else {
    const Extremes e = extremes(trace, stretch);
    switch (asked.figure) {
      case RunFigure::at:
      case RunFigure::average:
        m.value = e.mean;
        break;
      case RunFigure::ripple:
        m.value = e.highest - e.lowest;
        break;
      case RunFigure::peak:
        m.value = e.highest;
        m.seconds = e.highest_at;
        break;
      case RunFigure::least:
        m.value = e.lowest;
        m.seconds = e.lowest_at;
        break;
    }
  }
  m.holds = std::isfinite(m.value) && (!asked.least || m.value >= *asked.least) &&
            (!asked.most || m.value <= *asked.most);
  return m;
}

/// As many digits as tell a value and its bounds apart: four to nine.
int digits_to_tell(const Expectation& e, std::optional<double> value) {
  constexpr int kLeast = 4, kMost = 9;
  const Unit unit = words_of(e.quantity).unit;
  std::vector<double> different;
  for (const auto& number : {e.least, e.most, value}) {
    if (number &&
        std::find(different.begin(), different.end(), *number) == different.end())
      different.push_back(*number);
  }
  for (int digits = kLeast; digits < kMost; ++digits) {
    std::set<std::string> texts;
    for (const double number : different)
      texts.insert(short_text(number, unit, digits));
    if (texts.size() == different.size()) return digits;
  }
  return kMost;
}

std::string seconds_text(double seconds) { return short_text(seconds, Unit::second); }

}  // namespace

std::string_view word_of(RunFigure figure) {
  switch (figure) {
    case RunFigure::at:
      return "value";
    case RunFigure::average:
      return "average";
    case RunFigure::ripple:
      return "ripple";
    case RunFigure::peak:
      return "peak";
    case RunFigure::least:
      return "least value";
  }
  return "value";
}

Trace trace_of(const Circuit& circuit, const Record& record, const Expectation& e) {
  if (e.net >= 0) {
    Trace trace = record.volts(e.net);
    if (e.to >= 0) {
      const Trace to = record.volts(e.to);
      for (std::size_t k = 0; k < trace.values.size(); ++k)
        trace.values[k] -= to.values[k];
    }
    return trace;
  }
  const Part& part = circuit.parts[e.part];
  switch (e.quantity) {
    case Quantity::voltage:
      return record.volts(part, 0, 1);
    case Quantity::power:
    case Quantity::temperature:  // The reader lets no temperature through in a run.
      return record.watts(e.part);
    case Quantity::current:
      break;
  }
  Trace trace = record.amps(e.part, std::max(e.pin, 0));
  if (e.pin < 0 && is_source(part.kind)) {
    for (double& value : trace.values) value = -value;
  }
  return trace;
}

Extremes extremes_of_stay(const Trace& trace, const Expectation& e, const Run& run) {
  const double end = run.seconds;
  return extremes(trace, {e.stays->after, std::min(e.stays->until.value_or(end), end)});
}

RunMeasure measured(const Circuit& circuit, const Record& record,
                    const Expectation& e) {
  const Trace trace = trace_of(circuit, record, e);
  const Run& run = circuit.runs[e.run];
  if (e.reaches) return measure_reaches(trace, *e.reaches);
  if (e.stays) return measure_stays(extremes_of_stay(trace, e, run), *e.stays);
  return measure_figure(trace, e, figure_stretch(circuit, run, e.after));
}

std::vector<RunExpectationResult> hold_run_expectations(const Circuit& circuit, int run,
                                                        const Record& engine,
                                                        const Record& nodal) {
  std::vector<RunExpectationResult> results;
  for (const Expectation& e : circuit.expectations) {
    if (e.run != run) continue;
    RunExpectationResult r{&e, measured(circuit, engine, e),
                           measured(circuit, nodal, e), false};
    r.holds = r.engine.holds && r.nodal.holds;
    if (r.holds && e.reaches) {
      r.holds = std::abs(r.engine.value - r.nodal.value) <=
                kWaveTimeShare * circuit.runs[run].seconds;
    }
    results.push_back(r);
  }
  return results;
}

namespace {

/// What was asked for is told with its digits: "before 1.005 s", not "before 1 s".
constexpr int kAskedDigits = 6;

std::string asked_seconds(double seconds) {
  return short_text(seconds, Unit::second, kAskedDigits);
}

/// When a level was reached, with the digits that tell it from both bounds.
std::string reached_text(const Expectation& e, double seconds) {
  constexpr int kFewest = 4;
  constexpr int kMost = 9;
  std::string text;
  for (int digits = kFewest; digits <= kMost; ++digits) {
    text = short_text(seconds, Unit::second, digits);
    const auto is_told_as = [&text](const std::optional<double>& bound) {
      return bound && asked_seconds(*bound) == text;
    };
    if (!is_told_as(e.reaches->before) && !is_told_as(e.reaches->not_before)) break;
  }
  return text;
}

}  // namespace

std::string demand_text(const Expectation& e) {
  const Unit unit = words_of(e.quantity).unit;
  if (e.reaches) {
    std::string text = fmt::format("{} {}", e.reaches->rising ? "reaches" : "falls to",
                                   short_text(e.reaches->level, unit, kAskedDigits));
    if (e.reaches->not_before)
      text += fmt::format(", not before {}", asked_seconds(*e.reaches->not_before));
    if (e.reaches->before)
      text += fmt::format(", before {}", asked_seconds(*e.reaches->before));
    return text;
  }
  if (e.stays) {
    std::string text = "stays";
    if (e.stays->above)
      text += fmt::format(" above {}", short_text(*e.stays->above, unit, kAskedDigits));
    if (e.stays->above && e.stays->below) text += " and";
    if (e.stays->below)
      text += fmt::format(" below {}", short_text(*e.stays->below, unit, kAskedDigits));
    if (e.stays->after > 0.0)
      text += fmt::format(" after {}", asked_seconds(e.stays->after));
    if (e.stays->until)
      text += fmt::format(" until {}", asked_seconds(*e.stays->until));
    return text;
  }
  std::string text = e.figure == RunFigure::at
                         ? fmt::format("at {}", asked_seconds(e.at))
                         : std::string(word_of(e.figure));
  if (e.figure != RunFigure::at && e.after > 0.0)
    text += fmt::format(" after {}", asked_seconds(e.after));
  const int digits = digits_to_tell(e, std::nullopt);
  if (e.least) text += fmt::format(", at least {}", short_text(*e.least, unit, digits));
  if (e.most) text += fmt::format(", at most {}", short_text(*e.most, unit, digits));
  return text;
}

std::string measure_text(const Expectation& e, const RunMeasure& measure) {
  if (!std::isfinite(measure.value)) return "never";
  if (e.reaches) return reached_text(e, measure.value);
  const Unit unit = words_of(e.quantity).unit;
  const bool is_timed =
      e.stays || e.figure == RunFigure::peak || e.figure == RunFigure::least;
  const std::string value =
      short_text(measure.value, unit, digits_to_tell(e, measure.value));
  return is_timed ? fmt::format("{} at {}", value, seconds_text(measure.seconds))
                  : value;
}

std::vector<Finding> failed_run_expectations(
    const Circuit& circuit, const std::vector<RunExpectationResult>& results) {
  std::vector<Finding> findings;
  for (const RunExpectationResult& r : results) {
    if (r.holds) continue;
    const Expectation& e = *r.expectation;
    const RunMeasure& worse = r.engine.holds ? r.nodal : r.engine;
    Finding finding = expectation_finding(circuit, e);
    const auto [quantity, unit] = words_of(e.quantity);
    const std::string subject = subject_of(circuit, e);
    std::string found;
    if (e.reaches) {
      finding.quantity = "time";
      finding.unit = Unit::second;
      if (std::isfinite(worse.value)) finding.value = worse.value;
      const bool is_early =
          e.reaches->not_before && worse.value < *e.reaches->not_before;
      finding.limit = is_early ? e.reaches->not_before : e.reaches->before;
      finding.bound = is_early ? Bound::lower : Bound::upper;
      if (r.engine.holds && r.nodal.holds) {
        found =
            fmt::format("does so at {} for the engine and at {} for the nodal witness",
                        short_text(r.engine.value, Unit::second, 5),
                        short_text(r.nodal.value, Unit::second, 5));
      } else {
        const std::string level =
            fmt::format("{} {}", e.reaches->rising ? "reaches" : "falls to",
                        short_text(e.reaches->level, unit, kAskedDigits));
        found = std::isfinite(worse.value)
                    ? fmt::format("{} at {}", level, reached_text(e, worse.value))
                : worse.is_there_already
                    ? "is past that level from the beginning and never crosses it"
                    : fmt::format("never {}", level);
      }
    } else {
      finding.value = worse.value;
      const auto low = e.stays ? e.stays->above : e.least;
      const auto high = e.stays ? e.stays->below : e.most;
      const bool is_low = low && worse.value < *low;
      finding.limit = is_low ? low : high;
      finding.bound = is_low ? Bound::lower : Bound::upper;
      found = fmt::format("is {}", measure_text(e, worse));
    }
    finding.message = fmt::format("the {} of {} {}; expected: {}", quantity, subject,
                                  found, demand_text(e));
    if (!e.why.empty()) finding.message += fmt::format(" ({})", e.why);
    findings.push_back(std::move(finding));
  }
  return findings;
}

}  // namespace benchproof
