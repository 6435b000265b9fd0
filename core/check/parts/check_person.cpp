#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutPerson[] = {
    {"touch", "how hot a part is outside",
     "T = ambient + P ('thermal_resistance' - 'thermal_resistance_case') at most 60 C; "
     "with a heat sink ambient + P 'heatsink'; a resistor's from 'power', at which it "
     "rises from 'full_power_to' to 'no_power_at', of 0.25 W and more: note, above 100 "
     "C "
     "caution; a lamp of 1 W and more: note",
     "60 C: emc-pstc list post quoting burn data (Shriners Burn Institute), metal, "
     "under 5 s (verified); the watts, and that a lamp gets as hot: common practice, "
     "no "
     "source (practice)",
     "metal of 60 C burns skin within seconds",
     "keep fingers and plastics away, lower the heat, or use a larger heat sink"},
    {"flicker", "light that PWM switches so slowly that it is seen, or does harm",
     "frequency of an output that changes a light's current by half or more: below 3 "
     "Hz, "
     "or above 80 Hz",
     "3 flashes in any one second: W3C, Understanding SC 2.3.1 (verified); 3 Hz to 70 "
     "Hz: AZoM article 14729 on IEEE PAR1789 (verified); 80 Hz: DIAL, IEEE 1789: A new "
     "standard (verified)",
     "flashing light of 3 Hz to 70 Hz can bring on seizures in people with "
     "photosensitive epilepsy; some people see flicker up to 80 Hz",
     "use 1.25 kHz or more, at least 200 Hz; let what is meant to blink do so less "
     "than "
     "three times a second"},
    {"flicker-risk", "how deeply PWM modulates an LED's light",
     "m = (I on - I off) / (I on + I off), at most 0.025 % f below 90 Hz and 0.08 % f "
     "up to 1250 Hz; above that anything is of low risk. No observable effect: 0.01 % "
     "f "
     "below 90 Hz, 0.0333 % f up to 3000 Hz",
     "IEEE Std 1789-2015 as remembered (memory); 8 % at 100 Hz: public text citing it "
     "(verified)",
     "flicker that is not seen can still tire the eyes and give headaches where such "
     "light is worked by; beside a brighter lamp it matters little",
     "raise the PWM frequency: PWM at full depth needs 1.25 kHz"},
};

/// Flicker of 3 to 70 Hz is where seizures are provoked (AZoM article 14729 on IEEE
/// PAR1789).
constexpr double kSeizureLeast = 3.0;
Figure seizure_limit() {
  return {70.0, Unit::hertz, Mark::verified, "AZoM article 14729 on IEEE PAR1789",
          "3 Hz to 70 Hz"};
}

/// Some see flicker up to 80 Hz (DIAL, "IEEE 1789: A new standard").
Figure flicker_limit() {
  return {80.0, Unit::hertz, Mark::verified, "DIAL, IEEE 1789: A new standard",
          "extreme cases"};
}

std::optional<Finding> check_touch(const CheckInput& input, int index,
                                   const Rating& rating) {
  const auto found = told_standing(input, index, rating);
  if (!found) return std::nullopt;
  const auto path = thermal_path(input.parts[index]);
  Finding finding = about_rating(input, index, rating, *found);
  finding.message = fmt::format(
      "'{}' reaches about {} outside at {} {} a heat sink; above {} it burns skin "
      "within seconds: keep fingers and plastics away",
      finding.part, found_text(found->value.value, Unit::celsius),
      short_text(heating_watts(input, index).value, Unit::watt),
      path->on_heatsink ? "on" : "without",
      short_text(found->limit.value, Unit::celsius));
  return finding;
}

/// What is hot but small burns less: nothing is said of less heat. Watt. Common
/// practice, no source.
constexpr double kWarmResistorWatts = 0.25;
constexpr double kWarmLampWatts = 1.0;
/// At the heat of boiling water a touch burns at once, and plastics soften. Celsius.
/// Common practice, no source.
constexpr double kScaldsCelsius = 100.0;

/// How hot a resistor is outside, from what it bears: its 'power' takes it from
/// 'full_power_to' to 'no_power_at'. Nothing where that is not known. Celsius.
std::optional<double> resistor_celsius(const CheckInput& input, const Part& part,
                                       double watts) {
  const auto power = number_of(part, "power");
  const auto full = number_of(part, "full_power_to");
  const auto none = number_of(part, "no_power_at");
  if (!power || !full || !none || !(*power > 0.0)) return std::nullopt;
  return input.circuit.ambient + watts * (*none - *full) / *power;
}

/// A resistor or lamp that is too hot to touch.
std::optional<Finding> check_hot(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const bool is_lamp = part.kind == KindId::lamp;
  const double watts = heating_watts(input, index).value;
  if (watts < (is_lamp ? kWarmLampWatts : kWarmResistorWatts)) return std::nullopt;
  const Figure limit = *burn_limit(part, input.circuit.ambient);
  const auto celsius = is_lamp ? std::nullopt : resistor_celsius(input, part, watts);
  if (!is_lamp && !(celsius && exceeds(*celsius, limit.value))) return std::nullopt;
  const bool is_hot = celsius && exceeds(*celsius, kScaldsCelsius);
  Finding finding =
      about_part(input, index, is_hot ? Severity::caution : Severity::note,
                 CheckId(kAboutPerson, "touch"));
  if (celsius) {
    set_limit(finding, "temperature", *celsius, limit);
    finding.message =
        fmt::format("'{}' reaches about {} outside at {}", part.name,
                    found_text(*celsius, Unit::celsius), short_text(watts, Unit::watt));
  } else {
    finding.source = source_of(limit);
    finding.message = fmt::format("the glass of '{}' gets hot at {}", part.name,
                                  short_text(watts, Unit::watt));
  }
  finding.message += fmt::format(
      "; above {} it burns skin within seconds: keep fingers and plastics away",
      short_text(limit.value, Unit::celsius));
  return finding;
}

/// The mean of a part's current over the phases in which an output is high, or low.
double mean_amps(const CheckInput& input, int part, const std::vector<bool>& is_high,
                 bool high) {
  double sum = 0.0;
  double share = 0.0;
  for (std::size_t i = 0; i < input.phases.size(); ++i) {
    if (is_high[i] != high) continue;
    sum += input.phases[i].phase.share * pin_amps(input.phases[i].seen, part, 0);
    share += input.phases[i].phase.share;
  }
  return share > 0.0 ? sum / share : 0.0;
}

/// What an output's PWM does to a light's current.
struct Modulation {
  int light = -1;
  double high = 0.0;  ///< Ampere, while the output is high; at least 0.
  double low = 0.0;
  [[nodiscard]] double depth() const { return std::abs(high - low) / (high + low); }
  /// By half and more: it goes on and off for the eye.
  [[nodiscard]] bool is_flashing() const {
    return std::abs(high - low) > std::max(kLitAmps, 0.5 * std::max(high, low));
  }
};

/// The lights that are lit while an output is high, or low.
std::vector<Modulation> lights_of(const CheckInput& input, PinRef pin) {
  std::vector<bool> is_high;
  for (const SeenPhase& phase : input.phases)
    is_high.push_back(output(phase.phase.state, pin).level ==
                      OutputSetting::Level::high);
  std::vector<Modulation> lights;
  for (const KindId kind : {KindId::led, KindId::lamp}) {
    for_parts(input, kind, [&](int index, const Part&) {
      const double high = std::abs(mean_amps(input, index, is_high, true));
      const double low = std::abs(mean_amps(input, index, is_high, false));
      if (std::max(high, low) >= kLitAmps) lights.push_back({index, high, low});
    });
  }
  return lights;
}

/// The greatest modulation of low risk at a frequency; nothing where any is.
std::optional<Figure> low_risk(double hertz) {
  constexpr double kSlow = 90.0, kFree = 1250.0;  // hertz
  constexpr double kPerHertzSlow = 0.025e-2, kPerHertz = 0.08e-2;
  if (hertz > kFree) return std::nullopt;
  const bool is_slow = hertz < kSlow;
  return Figure{(is_slow ? kPerHertzSlow : kPerHertz) * hertz, Unit::fraction,
                Mark::memory, "IEEE Std 1789-2015 as remembered",
                is_slow ? "low risk, 0.025 % per Hz below 90 Hz"
                        : "low risk, 0.08 % per Hz from 90 Hz to 1250 Hz"};
}

Finding flashing(const CheckInput& input, int light, double hertz) {
  const bool is_harmful = hertz <= seizure_limit().value;
  Finding finding =
      about_part(input, light, Severity::caution, CheckId(kAboutPerson, "flicker"));
  set_limit(finding, "frequency", hertz,
            is_harmful ? seizure_limit() : flicker_limit());
  finding.bound = Bound::lower;
  finding.message = fmt::format(
      "'{}' flashes at {}; {}: use 200 Hz or more, or, for a flicker that is "
      "meant, a run of slow and uneven steps ('words flicker')",
      input.parts[light].name, short_text(hertz, Unit::hertz),
      is_harmful ? "3 Hz to 70 Hz can bring on a seizure in people with "
                   "photosensitive epilepsy"
                 : "some people see that flicker");
  return finding;
}

/// A filament evens out what PWM does: LEDs only.
std::optional<Finding> modulated(const CheckInput& input, const Modulation& light,
                                 double hertz) {
  const auto limit = low_risk(hertz);
  if (!limit || input.parts[light.light].kind != KindId::led || hertz < kSeizureLeast ||
      !exceeds(light.depth(), limit->value))
    return std::nullopt;
  Finding finding = about_part(input, light.light, Severity::note,
                               CheckId(kAboutPerson, "flicker-risk"));
  set_limit(finding, "modulation", light.depth(), *limit);
  finding.message = fmt::format(
      "'{}' is modulated by {} at {}, above the {} of low risk: nothing for a model, "
      "but eyes tire where one works by it; from 1.25 kHz on there is no limit",
      input.parts[light.light].name, short_text(light.depth(), Unit::fraction),
      short_text(hertz, Unit::hertz), short_text(limit->value, Unit::fraction));
  return finding;
}

void check_flicker(const CheckInput& input, std::vector<Finding>& findings) {
  std::set<int> told;
  for (const auto& [pin, setting] : input.state.outputs) {
    if (setting.level != OutputSetting::Level::pwm) continue;
    for (const Modulation& light : lights_of(input, pin)) {
      if (told.contains(light.light)) continue;
      const bool is_seen =
          setting.hertz >= kSeizureLeast && setting.hertz <= flicker_limit().value;
      std::optional<Finding> finding = is_seen && light.is_flashing()
                                           ? flashing(input, light.light, setting.hertz)
                                           : modulated(input, light, setting.hertz);
      if (!finding) continue;
      told.insert(light.light);
      findings.push_back(std::move(*finding));
    }
  }
}

}  // namespace

std::vector<Finding> check_person(const CheckInput& input) {
  std::vector<Finding> findings;
  for (const RatingGroup& group : rating_groups()) {
    for (const Rating& rating : group.ratings) {
      if (rating.rest.check != CheckId(kAboutPerson, "touch")) continue;
      for (const KindId kind : group.kinds) {
        for_parts(input, kind, [&](int index, const Part&) {
          append(findings, check_touch(input, index, rating));
        });
      }
    }
  }
  for (const KindId kind : {KindId::resistor, KindId::lamp}) {
    for_parts(input, kind, [&](int index, const Part&) {
      append(findings, check_hot(input, index));
    });
  }
  check_flicker(input, findings);
  return findings;
}

std::span<const Explanation> explain_person() { return kAboutPerson; }

}  // namespace benchproof
