#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "core/check/limits.h"
#include "core/check/over_states.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
    {"touch", "how hot a part is outside",
     "T = ambient + P ('thermal_resistance' - 'thermal_resistance_case') at most 60 C; "
     "with a heat sink ambient + P 'heatsink'",
     "60 C: emc-pstc list post quoting burn data (Shriners Burn Institute), metal, "
     "under 5 s (verified)",
     "metal of 60 C burns skin within seconds",
     "keep fingers and plastics away, lower the heat, or use a larger heat sink"},
    {"flicker", "light that PWM switches so slowly that it is seen",
     "frequency not between 3 Hz and 70 Hz, and above 80 Hz",
     "70 Hz: AZoM article 14729 on IEEE PAR1789 (verified); 80 Hz: DIAL, IEEE 1789: A "
     "new standard (verified)",
     "flashing light of 3 Hz to 70 Hz can bring on seizures in people with "
     "photosensitive epilepsy",
     "use 200 Hz or more"},
};
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

/// Metal at 60 C burns within 5 s (emc-pstc list post quoting burn data, Shriners Burn
/// Institute).
Figure burn_limit() {
  return {60.0, Unit::celsius, Mark::verified,
          "emc-pstc list post quoting burn data (Shriners Burn Institute)",
          "metal, under 5 s"};
}

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

/// The outside of a part, or of its heat sink: the junction less what lies between it
/// and the case, where that is known.
std::optional<Finding> check_touch(const CheckInput& input, int index) {
  const Peak heat = heating_watts(input, index);
  const auto hot = junction(input, index, heat.value);
  if (!hot) return std::nullopt;
  const auto to_case = figure(input.parts[index], "thermal_resistance_case");
  const double outside = hot->celsius - (to_case ? to_case->value * heat.value : 0.0);
  const Figure limit = burn_limit();
  if (!exceeds(outside, limit.value)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::caution, id("touch"));
  set_limit(finding, "temperature", outside, limit);
  finding.phase = heat.phase;
  finding.message = fmt::format(
      "'{}' reaches about {} outside at {} {} a heat sink; above {} it burns skin "
      "within seconds: keep fingers and plastics away",
      input.parts[index].name, short_text(outside, Unit::celsius),
      short_text(heat.value, Unit::watt), hot->on_heatsink ? "on" : "without",
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

/// The lights that go on and off with an output: theirs changes by half and more.
std::vector<int> lights_of(const CheckInput& input, PinRef pin) {
  std::vector<bool> is_high;
  for (const SeenPhase& phase : input.phases)
    is_high.push_back(output(phase.phase.state, pin).level ==
                      OutputSetting::Level::high);
  std::vector<int> lights;
  for (const KindId kind : {KindId::led, KindId::lamp}) {
    for_parts(input, kind, [&](int index, const Part&) {
      const double high = std::abs(mean_amps(input, index, is_high, true));
      const double low = std::abs(mean_amps(input, index, is_high, false));
      if (std::abs(high - low) > std::max(kLitAmps, 0.5 * std::max(high, low)))
        lights.push_back(index);
    });
  }
  return lights;
}

void check_flicker(const CheckInput& input, std::vector<Finding>& findings) {
  std::set<int> told;
  for (const auto& [pin, setting] : input.state.outputs) {
    if (setting.level != OutputSetting::Level::pwm) continue;
    if (setting.hertz < kSeizureLeast || setting.hertz > flicker_limit().value)
      continue;
    const bool is_harmful = setting.hertz <= seizure_limit().value;
    for (const int light : lights_of(input, pin)) {
      if (!told.insert(light).second) continue;
      Finding finding = about_part(input, light, Severity::caution, id("flicker"));
      set_limit(finding, "frequency", setting.hertz,
                is_harmful ? seizure_limit() : flicker_limit());
      finding.bound = Bound::lower;
      finding.message = fmt::format(
          "'{}' flashes at {}; {}: use 200 Hz or more", input.parts[light].name,
          short_text(setting.hertz, Unit::hertz),
          is_harmful ? "3 Hz to 70 Hz can bring on a seizure in people with "
                       "photosensitive epilepsy"
                     : "some people see that flicker");
      findings.push_back(std::move(finding));
    }
  }
}

}  // namespace

std::vector<Finding> check_person(const CheckInput& input) {
  std::vector<Finding> findings;
  constexpr std::array kWarm = {KindId::regulator, KindId::transistor, KindId::mosfet,
                                KindId::diode, KindId::zener};
  for (const KindId kind : kWarm) {
    for_parts(input, kind, [&](int index, const Part&) {
      add(findings, check_touch(input, index));
    });
  }
  check_flicker(input, findings);
  return findings;
}

std::span<const Explanation> explain_person() { return kExplained; }

}  // namespace benchproof
