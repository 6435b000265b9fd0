#include "core/check/time/run_watch.h"

#include <fmt/format.h>

#include <cmath>
#include <utility>

namespace benchproof {
namespace {

/// Whether the run ends in a state that is only passed through: how long it goes on
/// there nobody says.
bool ends_in_passing(const RunInput& input) {
  const int state = input.run.steps.back().state;
  return state >= 0 && !input.circuit.states[state].steady;
}

}  // namespace

std::string for_time(double seconds) { return short_text(seconds, Unit::second); }

Finding about(const Part& part, Severity severity, CheckId check) {
  Finding finding;
  finding.severity = severity;
  finding.check = check;
  finding.part = part.name;
  finding.span = part.span;
  return finding;
}

double total_length(const std::vector<Stretch>& stretches) {
  double seconds = 0.0;
  for (const Stretch& s : stretches) seconds += s.length();
  return seconds;
}

Trace sized(Trace trace) {
  for (double& value : trace.values) value = std::abs(value);
  return trace;
}

Trace turned(Trace trace) {
  for (double& value : trace.values) value = -value;
  return trace;
}

bool watch(const RunInput& input, int index, const Trace& trace, const Figure& limit,
           const Watched& w, std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  const Extremes e = extremes(trace, input.seen.whole());
  if (!exceeds(e.highest, limit.value)) return false;
  std::vector<Stretch> stretches = beyond(trace, limit.value, true, input.seen.whole());
  std::erase_if(stretches, [&w](const Stretch& s) { return s.length() < w.shortest; });
  if (stretches.empty()) return false;
  const double seconds = total_length(stretches);
  Finding finding = about(part, Severity::fault, w.check);
  set_limit(finding, w.quantity, e.highest, limit);
  finding.message = fmt::format("{}, at {} for {}; {}",
                                past_text(e.highest, limit, w.words, part.name),
                                for_time(e.highest_at), for_time(seconds), w.advice);
  findings.push_back(std::move(finding));
  return true;
}

bool watch(const RunInput& input, int index, const Trace& trace, const Watched& w,
           std::vector<Finding>& findings) {
  const auto limit = figure(input.parts[index], w.key);
  return limit && watch(input, index, trace, *limit, w, findings);
}

bool hold_lasting(const RunInput& input, int index, const Trace& trace,
                  const Figure& limit, const Lasting& lasting,
                  std::vector<Finding>& findings) {
  const double from = lasting.endurance.from * limit.value;
  const Extremes e = extremes(trace, input.seen.whole());
  if (!(limit.value > 0.0) || !exceeds(e.highest, from)) return false;
  // What a run that starts at rest was like before it.
  const double before = input.run.from == kFromInitial ? 0.0 : trace.values.front();
  const auto strain = worst_strain(trace, limit.value, lasting.endurance, before);
  const bool goes_on = ends_in_passing(input) && exceeds(trace.values.back(), from);
  const bool is_over = strain && exceeds(strain->mean, strain->borne);
  if (!strain || (strain->share() <= lasting.endurance.careful && !goes_on))
    return false;
  const Part& part = input.parts[index];
  Finding finding =
      about(part, is_over ? Severity::fault : Severity::caution, lasting.check);
  Figure borne = limit;
  borne.value = strain->borne;
  set_limit(finding, lasting.quantity, strain->mean, borne);
  finding.source = fmt::format("{} for ever: {}; for {}: {}",
                               short_text(limit.value, limit.unit), source_of(limit),
                               for_time(strain->seconds), lasting.endurance.source);
  finding.mark = lasting.endurance.mark;
  const double seconds =
      total_length(beyond(trace, limit.value, true, input.seen.whole()));
  const auto [is, may] = two_texts(strain->mean, strain->borne, limit.unit);
  std::string rest;
  if (!is_over && goes_on) {
    rest = "the run ends so, in a state that is not judged at rest: do not stay there";
  } else {
    rest =
        fmt::format("{}{}", is_over ? "" : "that leaves little room: ", lasting.advice);
  }
  finding.message = fmt::format(
      "'{}' {} up to {} at {}, and for {} more than its lasting {}; over {} it is "
      "{}{}, "
      "and for so long it bears about {}; {}",
      part.name, lasting.does, short_text(e.highest, limit.unit),
      for_time(e.highest_at), for_time(seconds), short_text(limit.value, limit.unit),
      for_time(strain->seconds), is, lasting.endurance.by_rms ? " RMS" : "", may, rest);
  findings.push_back(std::move(finding));
  return is_over;
}

}  // namespace benchproof
