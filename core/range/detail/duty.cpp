#include "core/range/detail/duty.h"

#include <fmt/format.h>

#include <cmath>
#include <string>

#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"
#include "core/circuit/topology.h"
#include "core/verify/explanations.h"

namespace benchproof {
namespace {

Peak led_amps(const CheckInput& input, int part) {
  return highest(input,
                 [part](const Observation& seen) { return pin_amps(seen, part, 0); });
}

Peak load_volts(const CheckInput& input, int part) {
  return highest(input, [&](const Observation& seen) {
    return std::abs(volts_between(input, seen, part, 0, 1));
  });
}

/// The lowest voltage between a regulator's or controller's first two pins, with the
/// sign turned.
Peak starved_volts(const CheckInput& input, int part) {
  return highest(input, [&](const Observation& seen) {
    return -polarity(input.parts[part]) * volts_between(input, seen, part, 0, 1);
  });
}

/// Below this a regulator counts as switched off, and its own check says nothing. Volt.
double regulator_off_volts(const Part& regulator) {
  const auto output = figure(regulator, "output");
  return output ? kRegulatorOffShare * output->value : 0.0;
}

Finding lower_bound(const CheckInput& input, int part, std::string_view check,
                    std::string_view quantity, const Peak& value, const Figure& limit) {
  Finding finding = about_part(input, part, Severity::fault, check_id(check));
  set_limit(finding, quantity, value.value, limit);
  finding.bound = Bound::lower;
  finding.phase = value.phase;
  return finding;
}

void add_dark(const CheckInput& input, int led, std::vector<Finding>& findings) {
  const Peak amps = led_amps(input, led);
  if (amps.value >= kLitAmps) return;
  findings.push_back(
      lower_bound(input, led, "led-dark", "current", amps,
                  practice(kLitAmps, Unit::ampere, "least current of a visible LED")));
  findings.back().message = fmt::format(
      "'{}' is dark: it gets {}, and needs {} to be seen", input.parts[led].name,
      short_text(amps.value, Unit::ampere), short_text(kLitAmps, Unit::ampere));
}

void add_idle(const CheckInput& input, int load, std::vector<Finding>& findings) {
  const Peak volts = load_volts(input, load);
  const double rated = figure(input.parts[load], "voltage")->value;
  const KindId kind = input.parts[load].kind;
  const double least = idle_share(kind) * rated;
  if (volts.value >= least) return;
  findings.push_back(lower_bound(input, load, "load-idle", "voltage", volts,
                                 practice(least, Unit::volt, idle_share_words(kind))));
  findings.back().message =
      fmt::format("'{}' does nothing: it gets {} of its {}, and needs {}",
                  input.parts[load].name, short_text(volts.value, Unit::volt),
                  short_text(rated, Unit::volt), short_text(least, Unit::volt));
}

/// A regulator or chip whose supply is below `least`.
void add_off(const CheckInput& input, int part, std::string_view check,
             const Figure& least, std::vector<Finding>& findings) {
  const Peak starved = starved_volts(input, part);
  if (-starved.value >= least.value) return;
  findings.push_back(lower_bound(input, part, check, "voltage",
                                 {-starved.value, starved.phase}, least));
  findings.back().message =
      fmt::format("'{}' is off: it gets {}", input.parts[part].name,
                  short_text(-starved.value, Unit::volt));
}

}  // namespace

Duty working_parts(const CheckInput& input) {
  Duty duty;
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    const Part& part = input.parts[k];
    const int index = static_cast<int>(k);
    if (part.kind == KindId::led && led_amps(input, index).value >= kLitAmps)
      duty.leds.push_back(index);
    if (is_load(part.kind)) {
      const auto rated = figure(part, "voltage");
      if (rated &&
          load_volts(input, index).value >= idle_share(part.kind) * rated->value)
        duty.loads.push_back(index);
    }
    if (part.kind == KindId::regulator &&
        -starved_volts(input, index).value >= regulator_off_volts(part))
      duty.regulators.push_back(index);
    if (part.kind == KindId::controller &&
        -starved_volts(input, index).value >= kControllerOffVolts)
      duty.controllers.push_back(index);
  }
  return duty;
}

std::vector<Finding> idle_findings(const CheckInput& input, const Duty& duty) {
  std::vector<Finding> findings;
  for (const int led : duty.leds) add_dark(input, led, findings);
  for (const int load : duty.loads) add_idle(input, load, findings);
  for (const int regulator : duty.regulators)
    add_off(input, regulator, "regulator-dropout",
            practice(regulator_off_volts(input.parts[regulator]), Unit::volt,
                     "below a tenth of its output a regulator counts as off"),
            findings);
  for (const int chip : duty.controllers)
    add_off(input, chip, "controller-brownout",
            practice(kControllerOffVolts, Unit::volt, "below it a chip counts as off"),
            findings);
  return findings;
}

}  // namespace benchproof
