#include "core/check/time/run_watch.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

namespace benchproof {
namespace {

/// Whether the run ends in a state that is only passed through: how long it goes on
/// there nobody says.
bool ends_in_passing(const RunInput& input) {
  const int state = input.run.steps.back().state;
  return state >= 0 && !input.circuit.states[state].steady;
}

/// A part at one point of a run after the other.
class RunMoment : public Moment {
 public:
  RunMoment(const RunInput& input, int part) : input_(input), part_(part) {}
  void go_to(std::size_t point) { point_ = point; }

  [[nodiscard]] double amps(int pin) const override {
    return at(amps_, pin, [&] { return input_.seen.amps(part_, pin); });
  }
  [[nodiscard]] double volts(int pin, int other) const override {
    return at(volts_, std::pair(pin, other),
              [&] { return input_.seen.volts(input_.parts[part_], pin, other); });
  }
  [[nodiscard]] double watts() const override {
    return at(watts_, 0, [&] { return input_.seen.watts(part_); });
  }

 private:
  /// The value here of a trace that is read from the record when first asked for.
  template <typename Key, typename Read>
  double at(std::map<Key, Trace>& traces, const Key& key, Read&& read) const {
    auto found = traces.find(key);
    if (found == traces.end()) found = traces.emplace(key, read()).first;
    return found->second.values[point_];
  }

  const RunInput& input_;
  int part_;
  std::size_t point_ = 0;
  mutable std::map<int, Trace> amps_;
  mutable std::map<std::pair<int, int>, Trace> volts_;
  mutable std::map<int, Trace> watts_;
};

}  // namespace

std::string for_time(double seconds) { return short_text(seconds, Unit::second); }

double total_length(const std::vector<Stretch>& stretches) {
  double seconds = 0.0;
  for (const Stretch& s : stretches) seconds += s.length();
  return seconds;
}

Trace sized(Trace trace) {
  for (double& value : trace.values) value = std::abs(value);
  return trace;
}

Finding about_run_rating(const Part& part, const Rating& rating, Severity severity,
                         double value, const Figure& limit) {
  Finding finding;
  finding.severity = severity;
  finding.check = rating.run.check;
  finding.part = part.name;
  finding.span = part.span;
  finding.bound = rating.bound;
  set_limit(finding, rating.quantity, value, limit);
  return finding;
}

namespace {

/// See InRun::by_current.
Trace winding_volts(const RunInput& input, int index) {
  const Part& part = input.parts[index];
  const double amps = number_of(part, "start_current")
                          .value_or(number_of(part, "current").value_or(1.0));
  const double ohms = number_of(part, "voltage").value_or(1.0) / amps;
  Trace trace = sized(input.seen.amps(index, 0));
  for (double& value : trace.values) value *= ohms;
  return trace;
}

}  // namespace

namespace {

/// Of a trace that has points.
double highest_of(const Trace& trace) {
  return *std::max_element(trace.values.begin(), trace.values.end());
}

}  // namespace

Trace trace_of(const RunInput& input, int part, const Rating& rating, int pin) {
  if (rating.run.by_current) return winding_volts(input, part);
  const Measure& measure = rating.measure;
  const MeasureReader meter(measure, input.parts[part]);
  // What most ratings are of, the record has as a whole.
  const auto turned = [&meter](Trace whole) {
    for (double& value : whole.values) value = meter.turned(value);
    return whole;
  };
  if (measure.what == Measured::amps) return turned(input.seen.amps(part, pin));
  if (measure.what == Measured::volts)
    return turned(input.seen.volts(input.parts[part], pin, measure.other));
  if (measure.what == Measured::watts) return input.seen.watts(part);
  RunMoment moment(input, part);
  Trace trace{&input.seen.seconds(), {}};
  trace.values.reserve(trace.seconds->size());
  for (std::size_t point = 0; point < trace.seconds->size(); ++point) {
    moment.go_to(point);
    trace.values.push_back(meter.at(pin, moment));
  }
  return trace;
}

bool watch(const RunInput& input, int part, const Rating& rating, const Held& held,
           std::string_view words, std::vector<Finding>& findings) {
  const InRun& run = rating.run;
  const double limit = held.limit.value;
  if (!exceeds(highest_of(held.trace), limit)) return false;
  const Extremes e = extremes(held.trace, input.seen.whole());
  std::vector<Stretch> stretches = beyond(held.trace, limit, true, input.seen.whole());
  std::erase_if(stretches,
                [&run](const Stretch& s) { return s.length() < run.shortest; });
  if (stretches.empty()) return false;
  const double seconds = total_length(stretches);
  const bool is_fault = exceeds(e.highest, run.fault * limit) &&
                        (run.moment == 0.0 || seconds > run.moment);
  Finding finding = about_run_rating(input.parts[part], rating,
                                     is_fault ? Severity::fault : Severity::caution,
                                     e.highest, held.limit);
  finding.message = fmt::format(
      "{}, at {} for {}; {}",
      past_text(e.highest, held.limit, words.empty() ? run.words : words, finding.part),
      for_time(e.highest_at), for_time(seconds), run.advice);
  findings.push_back(std::move(finding));
  return true;
}

std::optional<Strain> strain_of(const RunInput& input, const Held& held,
                                const Endurance& endurance) {
  const double before =
      input.run.from == kFromInitial ? 0.0 : held.trace.values.front();
  return worst_strain(held.trace, held.limit.value, endurance, before);
}

std::string source_for_while(const Figure& limit, std::string_view until,
                             const Strain& strain, const Endurance& endurance) {
  return fmt::format("{}{}: {}; for {}: {}", short_text(limit.value, limit.unit), until,
                     source_of(limit), for_time(strain.seconds), endurance.source);
}

bool hold_lasting(const RunInput& input, int part, const Rating& rating,
                  const Held& held, std::vector<Finding>& findings) {
  const auto& [trace, limit] = held;
  const Endurance endurance = rating.run.endurance(input.parts[part]);
  const double from = endurance.from * limit.value;
  if (!(limit.value > 0.0) || !exceeds(highest_of(trace), from)) return false;
  const Extremes e = extremes(trace, input.seen.whole());
  const auto strain = strain_of(input, held, endurance);
  const bool goes_on = ends_in_passing(input) && exceeds(trace.values.back(), from);
  const bool is_over = strain && exceeds(strain->mean, strain->borne);
  if (!strain || (strain->share() <= endurance.careful && !goes_on)) return false;
  Figure borne = limit;
  borne.value = strain->borne;
  Finding finding = about_run_rating(input.parts[part], rating,
                                     is_over ? Severity::fault : Severity::caution,
                                     strain->mean, borne);
  finding.source = source_for_while(limit, " for ever", *strain, endurance);
  finding.mark = endurance.mark;
  const double seconds =
      total_length(beyond(trace, limit.value, true, input.seen.whole()));
  const auto [is, may] = two_texts(strain->mean, strain->borne, limit.unit);
  std::string rest;
  if (!is_over && goes_on) {
    rest = "the run ends so, in a state that is not judged at rest: do not stay there";
  } else {
    rest = fmt::format("{}{}",
                       is_over ? "" : "that leaves little room: ", rating.run.advice);
  }
  finding.message = fmt::format(
      "'{}' {} up to {} at {}, and for {} more than its lasting {}; over {} it is "
      "{}{}, "
      "and for so long it bears about {}; {}",
      finding.part, rating.run.words, short_text(e.highest, limit.unit),
      for_time(e.highest_at), for_time(seconds), short_text(limit.value, limit.unit),
      for_time(strain->seconds), is, endurance.by_rms ? " RMS" : "", may, rest);
  findings.push_back(std::move(finding));
  return is_over;
}

}  // namespace benchproof
