#include "core/check/rating/overload.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>
#include <vector>

#include "core/check/finding/wording.h"

namespace benchproof {
namespace {

/// From here on only the lasting current is borne. Second.
constexpr double kLasting = 10.0;
/// Half of the I2t, or of the pulse, is no reason to say anything: makers' ratings hold
/// for a junction that is hot already. Common practice, no source.
constexpr double kCarefulSurge = 0.7;
/// Pulses that are too long or too frequent by no more than this are a caution. Common
/// practice, no source.
constexpr double kPulseRoom = 1.25;
constexpr std::string_view kLastingSource =
    "common practice, no source (from a surge or pulse rating straight to the lasting "
    "one at 10 s)";

/// LEDs without a pulse rating: what those that have one bear at least. Common
/// practice, no source.
constexpr double kUsualPulse = 5.0;
constexpr double kUsualPulseTime = 0.1e-3;  // second

/// The lasting current that makes a fault of all above it; 0 where it is not known.
double lasting_amps(const Part& part) {
  const auto current = figure(part, "current");
  if (!current) return 0.0;
  return current->value * (current->is_typical ? kTypicalRoom : 1.0);
}

/// A curve in amperes that never falls below the lasting current.
class AmpsCurve {
 public:
  explicit AmpsCurve(double lasting) : lasting_(lasting) {}
  void add(double seconds, double amps) {
    curve_.add({seconds, std::max(amps, lasting_)});
  }
  /// Ends it, and gives it in times of a rating.
  [[nodiscard]] BorneCurve over(double rating) {
    if (lasting_ > 0.0) curve_.add({kLasting, lasting_});
    BorneCurve times;
    for (const Borne& point : curve_) times.add({point.seconds, point.times / rating});
    return times;
  }

 private:
  double lasting_;
  BorneCurve curve_;
};

constexpr double kRms = std::numbers::sqrt2 / 2.0;  // Of a half sine.
/// The share of a half sine's time for which kMostSurges have its I2t.
constexpr double kLeastShare = kRms * kRms / (kMostSurges * kMostSurges);

bool is_rectangle(const Part& diode) {
  return word_of(diode, "surge_shape") == "rectangle";
}

/// By I2t, then by a rectifier's number of cycles.
void add_half_sine(AmpsCurve& curve, double surge, double seconds) {
  constexpr double kCycles = 1.0 / 6.0;  // Over a second of them.
  curve.add(kLeastShare * seconds, kMostSurges * surge);
  curve.add(seconds, kRms * surge);
  if (seconds < kShortOverload) curve.add(kShortOverload, kCycles * surge);
}

/// By the slopes of small signal diodes: a factor of four from 1 us to 1 ms, and of two
/// from there to 1 s.
void add_rectangle(AmpsCurve& curve, double surge, double seconds) {
  constexpr double kKnee = 1e-3;
  const auto times = [](double least, double most, double factor) {
    return std::pow(factor, std::log10(most / least) / 3.0);
  };
  double amps = surge;
  if (seconds > kKnee) amps *= times(kKnee, seconds, 2.0);
  const double knee = std::min(seconds, kKnee);
  if (knee > kShortestStrain)
    curve.add(kShortestStrain, amps * times(kShortestStrain, knee, 4.0));
  if (seconds > kKnee) curve.add(kKnee, amps);
  curve.add(seconds, surge);
}

/// A diode's curve in times of a rating.
BorneCurve surge_curve(const Part& diode, double rating) {
  const double surge = *number_of(diode, "surge");
  const double seconds = *number_of(diode, "surge_time");
  AmpsCurve curve(lasting_amps(diode));
  (is_rectangle(diode) ? add_rectangle : add_half_sine)(curve, surge, seconds);
  return curve.over(rating);
}

bool has_pulse_time(const Part& led) {
  return number_of(led, "pulse") && number_of(led, "pulse_time");
}

/// An LED's curve in times of a rating.
/// @pre It has a pulse rating with its time, or a lasting current.
BorneCurve pulse_curve(const Part& led, double rating) {
  AmpsCurve curve(lasting_amps(led));
  if (has_pulse_time(led)) {
    curve.add(*number_of(led, "pulse_time"), *number_of(led, "pulse"));
  } else {
    curve.add(kUsualPulseTime, kUsualPulse * *number_of(led, "current"));
  }
  return curve.over(rating);
}

/// What pulses may carry that take a share of the time: all of the pulse rating up to
/// its duty, the lasting current all of the time.
double borne_at(const Part& led, double duty) {
  const double pulse = *number_of(led, "pulse");
  const double from = *number_of(led, "pulse_duty");
  const double lasting = std::min(lasting_amps(led), pulse);
  if (duty <= from || from >= 1.0) return pulse;
  return pulse * std::pow(lasting / pulse, std::log(duty / from) / std::log(1 / from));
}

std::string times_text(double value, double limit) {
  return fmt::format("{:.3g} times", value / limit);
}

}  // namespace

Endurance surge_endurance(const Part& diode) {
  const double surge = *number_of(diode, "surge");
  Endurance e{surge_curve(diode, surge), kCarefulSurge,
              number_of(diode, "current").value_or(0.0) / surge, true, kShortestStrain};
  e.source =
      "common practice, no source (I2t of the rated half sine, up to ten times "
      "its peak; makers' curves over the number of cycles)";
  if (is_rectangle(diode)) {
    e.source = "sheets of small signal diodes, from memory";
    e.mark = Mark::memory;
  }
  e.most_seconds = kShortOverload;
  return e;
}

bool by_energy(const Part& diode, double seconds) {
  const double rated = *number_of(diode, "surge_time");
  return !is_rectangle(diode) && seconds <= rated && seconds >= kLeastShare * rated;
}

Endurance pulse_endurance(const Part& led) {
  const double pulse = *number_of(led, "pulse");
  Endurance e{pulse_curve(led, pulse),
              1.0,
              number_of(led, "current").value_or(0.0) / pulse,
              false,
              kPulseRoom * *number_of(led, "pulse_time"),
              kLastingSource};
  e.most_seconds = kShortOverload;
  return e;
}

Endurance lasting_endurance(const Part& part) {
  const bool is_led = part.kind == KindId::led;
  const auto current = number_of(part, "current");
  const bool is_surged = number_of(part, is_led ? "pulse" : "surge").has_value();
  Endurance e;
  e.source = kLastingSource;
  e.least_seconds = is_surged ? kShortOverload : kShortestStrain;
  if (current && is_led) {
    e.curve = pulse_curve(part, *current);
  } else if (current && is_surged) {
    e.curve = surge_curve(part, *current);
  } else {
    e.curve = kSmallJunctionCurve;
    e.source = kJunctionSource;
    e.mark = Mark::memory;
  }
  return e;
}

double pulse_strain(const Part& led, double amps, double seconds) {
  if (!has_pulse_time(led)) return 0.0;
  const Endurance e = pulse_endurance(led);
  if (seconds < e.least_seconds) return 0.0;
  return amps / (*number_of(led, "pulse") * e.curve.at(seconds));
}

PulseExcess excess_of(const Part& led, const Pulses& pulses) {
  const auto time = number_of(led, "pulse_time");
  const auto duty = number_of(led, "pulse_duty");
  PulseExcess excess;
  excess.is_high = exceeds(pulses.amps, *number_of(led, "pulse"));
  excess.is_long = time && exceeds(pulses.seconds, *time);
  excess.is_frequent = duty && exceeds(pulses.duty, *duty);
  const bool is_far = (excess.is_long && exceeds(pulses.strain, 1.0)) ||
                      (excess.is_frequent && exceeds(pulses.duty, kPulseRoom * *duty) &&
                       exceeds(pulses.duty_amps, borne_at(led, pulses.duty)));
  if (excess.is_high || is_far) {
    excess.severity = Severity::fault;
  } else if (excess.is_long || excess.is_frequent) {
    excess.severity = Severity::caution;
  }
  return excess;
}

void tell_excess(const Part& led, const Pulses& pulses, const PulseExcess& excess,
                 Finding& finding) {
  const Figure pulse = *figure(led, "pulse");
  const auto time = figure(led, "pulse_time");
  const auto duty = figure(led, "pulse_duty");
  std::vector<std::string> past;
  double furthest = 0.0;
  const auto tell = [&](bool is_past, std::string_view words, std::string_view quantity,
                        double value, const std::optional<Figure>& limit) {
    if (!is_past) return;
    past.push_back(fmt::format("{} ({})", words, times_text(value, limit->value)));
    if (value / limit->value <= furthest) return;
    furthest = value / limit->value;
    set_limit(finding, quantity, value, *limit);
  };
  tell(excess.is_high, "too high", "current", pulses.amps, pulse);
  tell(excess.is_long, "too long", "pulse length", pulses.seconds, time);
  tell(excess.is_frequent, "too frequent", "duty", pulses.duty, duty);
  std::string rating = short_text(pulse.value, Unit::ampere);
  if (time) rating += fmt::format(" for {}", short_text(time->value, Unit::second));
  if (duty)
    rating += fmt::format(", {} of the time", short_text(duty->value, Unit::fraction));
  std::string course;
  if (pulses.seconds > 0.0)
    course = fmt::format(", up to {} long and {} of the time",
                         short_text(pulses.seconds, Unit::second),
                         short_text(pulses.duty, Unit::fraction));
  finding.message = fmt::format(
      "'{}' carries pulses of up to {}{}: {} for its pulse rating of {}", led.name,
      short_text(pulses.amps, Unit::ampere), course, fmt::join(past, " and "), rating);
}

}  // namespace benchproof
