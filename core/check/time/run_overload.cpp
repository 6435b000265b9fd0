#include "core/check/time/run_overload.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <string>
#include <utility>

#include "core/check/rating/overload.h"
#include "core/check/rest/limits.h"
#include "core/check/time/run_watch.h"

namespace benchproof {
namespace {

/// Shorter overloads than this are not worth a word where a rating allows them, or
/// none says anything. Common practice, no source. Second.
constexpr double kMoment = 1e-3;
/// Shorter pulses are made up by models that switch in no time. Second.
constexpr double kSpike = 1e-6;

/// A diode's or LED's forward current, its ratings, and what their limits are.
struct Forward {
  const RunInput& input;
  int index = -1;
  const Part& part;
  const Rating& lasting;
  const Rating& brief;
  Trace amps;  ///< What flows backwards counts as nothing: it does not cool.
  Extremes extremes;
  std::optional<Figure> for_ever;
  std::optional<Figure> for_a_while;
};

Forward forward(const RunInput& input, int index, const Rating& lasting,
                const Rating& brief) {
  const Part& part = input.parts[index];
  Trace amps = trace_of(input, index, brief, brief.measure.pin);
  for (double& value : amps.values) value = std::max(value, 0.0);
  const Extremes e = extremes(amps, input.seen.whole());
  return {input,
          index,
          part,
          lasting,
          brief,
          std::move(amps),
          e,
          limit_of(lasting, part, input.circuit.ambient),
          limit_of(brief, part, input.circuit.ambient)};
}

/// The stretches above the lasting current.
std::vector<Stretch> above_lasting(const Forward& f) {
  if (!f.for_ever || !exceeds(f.extremes.highest, f.for_ever->value)) return {};
  return beyond(f.amps, f.for_ever->value * (1.0 + kLimitShare), true,
                f.input.seen.whole());
}

// --- a diode's surges

/// What a stretch of time takes, and what it may: energy where that is what counts.
std::string surge_text(const Forward& f, const Strain& strain) {
  const std::string rating = short_text(f.for_a_while->value, Unit::ampere);
  const std::string time = for_time(strain.seconds);
  if (!by_energy(f.part, strain.seconds)) {
    const auto [is, may] = two_texts(strain.mean, strain.borne, Unit::ampere);
    return fmt::format(
        "over {} it is {} RMS, and for so long its surge rating of {} allows {}", time,
        is, rating, may);
  }
  const auto squared = [&](double amps) { return amps * amps * strain.seconds; };
  return fmt::format(
      "over {} its I^2 t comes to {:.3g} A^2 s, and its surge rating of {} allows "
      "{:.3g} A^2 s",
      time, squared(strain.mean), rating, squared(strain.borne));
}

/// A fault beyond the surge rating, a caution near it, a note where it is needed for
/// more than a moment.
std::optional<Finding> judge_surge(const Forward& f) {
  const Endurance endurance = surge_endurance(f.part);
  const auto strain = strain_of(f.input, {f.amps, *f.for_a_while}, endurance);
  const double seconds = total_length(above_lasting(f));
  if (!strain) return std::nullopt;
  const bool is_near = strain->share() > endurance.careful;
  if (!is_near && seconds <= kMoment) return std::nullopt;
  Figure borne = *f.for_a_while;
  borne.value = strain->borne;
  const Severity severity = exceeds(strain->mean, strain->borne) ? Severity::fault
                            : is_near                            ? Severity::caution
                                                                 : Severity::note;
  Finding finding = about_run_rating(f.part, f.brief, severity, strain->mean, borne);
  finding.source = source_for_while(*f.for_a_while, " surge", *strain, endurance);
  finding.mark = endurance.mark;
  finding.message = fmt::format(
      "'{}' carries up to {} at {}{}; {}", f.part.name,
      short_text(f.extremes.highest, Unit::ampere), for_time(f.extremes.highest_at),
      f.for_ever
          ? fmt::format(", above its lasting {} for {}",
                        short_text(f.for_ever->value, Unit::ampere), for_time(seconds))
          : "",
      surge_text(f, *strain));
  if (severity == Severity::caution) finding.message += ", which leaves little room";
  if (severity != Severity::note)
    finding.message += fmt::format("; {}", f.brief.run.advice);
  return finding;
}

// --- an LED's pulses

/// One stretch above the lasting current.
struct Pulse {
  double from = 0.0;     ///< Second.
  double seconds = 0.0;  ///< How long it is.
  double charge = 0.0;   ///< Coulomb.
};

std::vector<Pulse> pulses_in(const Forward& f) {
  std::vector<Pulse> pulses;
  for (const Stretch& s : above_lasting(f)) {
    if (s.length() < kSpike) continue;
    pulses.push_back({s.from, s.length(), s.length() * extremes(f.amps, s).mean});
  }
  return pulses;
}

/// Adds the largest share of the time that pulses take: from the beginning of each to
/// that of the first that comes at least `least` seconds later; where none does, to the
/// run's end, which may come before a last period is over: as long as the one before.
void add_duty(const std::vector<Pulse>& all, double least, double end, Pulses& pulses) {
  for (std::size_t first = 0; first < all.size(); ++first) {
    const double from = all[first].from;
    double on = 0.0;
    double charge = 0.0;
    std::size_t next = first;
    do {
      on += all[next].seconds;
      charge += all[next].charge;
      ++next;
    } while (next < all.size() && all[next].from < from + least);
    double period = (next < all.size() ? all[next].from : end) - from;
    if (next == all.size() && first > 0)
      period = std::max(period, from - all[first - 1].from);
    const double duty = std::min(on / std::max(period, least), 1.0);
    if (duty <= pulses.duty) continue;
    pulses.duty = duty;
    pulses.duty_amps = charge / on;
  }
}

/// @pre The LED has a lasting current and a pulse rating.
std::optional<Finding> judge_pulses(const Forward& f) {
  const std::vector<Pulse> all = pulses_in(f);
  if (all.empty()) return std::nullopt;
  const auto time = number_of(f.part, "pulse_time");
  const auto duty = number_of(f.part, "pulse_duty");
  Pulses pulses;
  pulses.amps = f.extremes.highest;
  for (const Pulse& pulse : all)
    pulses.seconds = std::max(pulses.seconds, pulse.seconds);
  add_duty(all, time && duty ? *time / *duty : 0.0, f.input.seen.whole().to, pulses);
  if (time) {
    const auto strain =
        strain_of(f.input, {f.amps, *f.for_a_while}, pulse_endurance(f.part));
    if (strain) pulses.strain = strain->share();
  }
  const PulseExcess excess = excess_of(f.part, pulses);
  if (!excess.severity) return std::nullopt;
  Finding finding =
      about_run_rating(f.part, f.brief, *excess.severity, pulses.amps, *f.for_a_while);
  tell_excess(f.part, pulses, excess, finding);
  finding.message += fmt::format("; {}", f.brief.run.advice);
  return finding;
}

// --- both

/// Above the lasting current for more than a moment, and no rating says for how long it
/// may be.
std::optional<Finding> judge_moment(const Forward& f) {
  const double seconds = total_length(above_lasting(f));
  if (seconds <= kMoment) return std::nullopt;
  Finding finding = about_run_rating(f.part, f.brief, Severity::caution,
                                     f.extremes.highest, *f.for_ever);
  finding.message = fmt::format(
      "{}, for {}; see whether it bears such pulses",
      past_text(f.extremes.highest, *f.for_ever, f.lasting.rest.words, f.part.name),
      for_time(seconds));
  return finding;
}

/// What an LED's pulses are told, where its lasting current is not known.
std::optional<Finding> judge_height(const Forward& f) {
  std::vector<Finding> findings;
  watch(f.input, f.index, f.brief, {f.amps, *f.for_a_while}, "", findings);
  if (findings.empty()) return std::nullopt;
  return std::move(findings.front());
}

/// What is to be said of the rating for a while.
std::optional<Finding> judge_while(const Forward& f) {
  if (!f.for_a_while) return judge_moment(f);
  if (f.part.kind != KindId::led) return judge_surge(f);
  if (!f.for_ever) return judge_height(f);
  auto pulsed = judge_pulses(f);
  return pulsed || number_of(f.part, "pulse_time") ? pulsed : judge_moment(f);
}

}  // namespace

void check_forward(const RunInput& input, int index, const Rating& lasting,
                   const Rating& brief, std::vector<Finding>& findings) {
  const Forward f = forward(input, index, lasting, brief);
  std::vector<Finding> held;
  const bool is_over =
      f.for_ever && hold_lasting(input, index, lasting, {f.amps, *f.for_ever}, held);
  std::optional<Finding> brief_one;
  if (!is_over) brief_one = judge_while(f);
  const bool is_brief =
      held.empty() || (brief_one && brief_one->severity == Severity::fault);
  append(findings, is_brief ? std::move(brief_one) : std::move(held.front()));
}

}  // namespace benchproof
