#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/check/limits.h"
#include "core/check/topology.h"

namespace benchproof {
namespace {

constexpr int kBase = 0, kCollector = 1, kEmitter = 2;
constexpr int kGate = 0, kDrain = 1, kSource = 2;

/// A polarity word's sign: forward voltages and currents of the type times this are
/// positive.
double sign_of(const Part& part) {
  if (part.settings.contains("model")) {
    const auto& value = part.settings.at("model").value;
    const auto* device = std::get_if<DeviceModel>(&value);
    const auto* bipolar = device ? std::get_if<BipolarModel>(device) : nullptr;
    if (bipolar != nullptr) return bipolar->is_pnp ? -1.0 : 1.0;
  }
  return word(part, "polarity") == "pnp" ? -1.0 : 1.0;
}

/// Whether a resistor alone joins the base to a controller's output: then the
/// transistor is meant as a switch.
bool is_driven_as_switch(const CheckInput& input, const Part& transistor) {
  const int base = transistor.nets[kBase];
  if (base < 0) return false;
  for (const PinRef pin : resting_pins(input.circuit, base)) {
    const Part& resistor = input.parts[pin.part];
    if (resistor.kind != KindId::resistor) continue;
    const int net = other_net(resistor, base);
    if (net < 0) continue;
    const auto pins = resting_pins(input.circuit, net);
    const bool is_output = std::any_of(pins.begin(), pins.end(), [&](PinRef p) {
      return input.parts[p.part].kind == KindId::controller && p.pin >= 2;
    });
    if (is_output) return true;
  }
  return false;
}

/// A switch that is on has no more than its saturation voltage; with more it is short
/// of base current and heats.
std::optional<Finding> check_switching(const CheckInput& input, int index) {
  constexpr double kOnAmps = 1e-3;  // Common practice, no source.
  const Part& part = input.parts[index];
  const auto limit = figure(part, "saturation_max");
  if (!limit || !is_driven_as_switch(input, part)) return std::nullopt;
  const double sign = sign_of(part);
  const Peak volts = highest(input, [&](const Observation& seen) {
    const bool is_on = sign * pin_amps(seen, index, kCollector) > kOnAmps &&
                       sign * pin_amps(seen, index, kBase) > 0.0;
    return is_on ? sign * volts_between(input, seen, index, kCollector, kEmitter) : 0.0;
  });
  if (!exceeds(volts.value, limit->value)) return std::nullopt;
  Finding finding =
      about_part(input, index, Severity::caution, "transistor-saturation");
  set_limit(finding, "voltage", volts.value, *limit);
  finding.phase = volts.phase;
  finding.message = fmt::format(
      "'{}' is switched on and keeps {} from collector to emitter, above the {} of "
      "saturation; give its base more current",
      part.name, short_text(volts.value, Unit::volt),
      short_text(limit->value, Unit::volt));
  return finding;
}

void check_heat(const CheckInput& input, int index, const std::string& kind,
                std::vector<Finding>& findings) {
  add(findings,
      over_rating(input, index, {kind + "-power", "power", "power", "power rating"},
                  heating_watts(input, index), "lower its current or voltage"));
  add(findings, over_junction(input, index, kind + "-junction",
                              "lower its current or voltage, or give it a heat sink"));
}

void check_bipolar(const CheckInput& input, int index, std::vector<Finding>& findings) {
  const double sign = sign_of(input.parts[index]);
  const Peak current = highest(input, [&](const Observation& seen) {
    return std::abs(pin_amps(seen, index, kCollector));
  });
  add(findings, over_rating(input, index,
                            {"transistor-current", "current", "current",
                             "collector current rating"},
                            current, "use one for more current"));
  const Peak volts = highest(input, [&](const Observation& seen) {
    return std::abs(volts_between(input, seen, index, kCollector, kEmitter));
  });
  add(findings, over_rating(input, index,
                            {"transistor-voltage", "voltage", "voltage",
                             "collector-emitter voltage rating"},
                            volts, "use one for more voltage"));
  const Peak reverse = highest(input, [&](const Observation& seen) {
    return sign * volts_between(input, seen, index, kEmitter, kBase);
  });
  add(findings, over_rating(input, index,
                            {"transistor-base", "voltage", "base_reverse",
                             "reverse base-emitter voltage rating"},
                            reverse, "clamp it with a diode from emitter to base"));
  check_heat(input, index, "transistor", findings);
  add(findings, check_switching(input, index));
}

void check_mos(const CheckInput& input, int index, std::vector<Finding>& findings) {
  const Peak mean{std::abs(pin_amps(input.average, index, kDrain)), ""};
  const Peak peak = highest(input, [&](const Observation& seen) {
    return std::abs(pin_amps(seen, index, kDrain));
  });
  const bool has_pulse = figure(input.parts[index], "pulse").has_value();
  const Rating lasting{"mosfet-current", "current", "current", "drain current rating"};
  auto finding = over_rating(input, index, lasting, has_pulse ? mean : peak,
                             "use one for more current");
  const bool is_told = finding.has_value();
  add(findings, std::move(finding));
  if (!is_told) {
    add(findings, over_rating(input, index,
                              {"mosfet-current", "current", "pulse",
                               "pulsed drain current rating"},
                              peak, "use one for more current"));
  }
  const auto volts = [&](int pin) {
    return highest(input, [&input, index, pin](const Observation& seen) {
      return std::abs(volts_between(input, seen, index, pin, kSource));
    });
  };
  add(findings, over_rating(input, index,
                            {"mosfet-voltage", "voltage", "voltage",
                             "drain-source voltage rating"},
                            volts(kDrain), "use one for more voltage"));
  add(findings,
      over_rating(input, index,
                  {"mosfet-gate", "voltage", "gate", "gate-source voltage rating"},
                  volts(kGate), "limit the gate's voltage"));
  check_heat(input, index, "mosfet", findings);
}

}  // namespace

std::vector<Finding> check_transistor(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::transistor,
            [&](int index, const Part&) { check_bipolar(input, index, findings); });
  for_parts(input, KindId::mosfet,
            [&](int index, const Part&) { check_mos(input, index, findings); });
  return findings;
}

}  // namespace benchproof
