#include <fmt/format.h>

#include <cmath>
#include <utility>

#include "core/check/hand/switched.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// What a silicon transistor takes from base to emitter. Kuphaldt, Lessons In Electric
/// Circuits vol. III ch. 4.
constexpr double kBaseVolts = 0.7;
/// Where the witnesses have less or more there, it is another junction (germanium, an
/// ideal one) or driven beyond measure. Common practice, no source.
constexpr double kLeastBaseVolts = 0.5, kMostBaseVolts = 1.0;
/// A resistor from base to emitter that takes more than this share of the drive leaves
/// a difference of two currents, in which the doubt about VBE weighs too much. Common
/// practice, no source.
constexpr double kMostAside = 0.1;
/// Above and below these a transistor counts as saturated and as active. Common
/// practice, no source.
constexpr double kSaturatedVolts = 0.5;
constexpr double kActiveVolts = 0.7;
constexpr const char* kTransistors =
    "Kuphaldt, Lessons In Electric Circuits vol. III ch. 4";

/// What drives a base whose emitter stands on an end: a resistor from an end or an
/// output, and perhaps one from base to emitter.
struct Drive {
  double volts = 0.0;  ///< Against the emitter. Volt.
  std::vector<double> ohms;
  double total = 0.0;
  double aside = 0.0;  ///< From base to emitter; 0 where there is none. Ohm.
  bool has_output = false;
};

std::optional<Drive> drive_of(const HandInput& input, int index, double sign) {
  const Part& part = input.parts[index];
  const int base = part.nets[kControl];
  const int emitter = part.nets[kLow];
  if (base < 0 || emitter < 0 || is_end(input.circuit, base) ||
      !is_end(input.circuit, emitter))
    return std::nullopt;
  Drive drive;
  for (const PinRef pin : resting_pins(input.circuit, base)) {
    if (pin.part == index) continue;
    const auto ohms = ohms_of(input, pin.part);
    if (!is_resistor(input.parts[pin.part]) || !ohms) return std::nullopt;
    const int far = other_net(input.parts[pin.part], base);
    if (far == emitter) {
      if (drive.aside > 0.0) return std::nullopt;
      drive.aside = *ohms;
      continue;
    }
    const auto way = walk(input, {pin.part, 1 - pin.pin});
    if (!drive.ohms.empty() || !way) return std::nullopt;
    const auto chain = load_of(input, *way, true);
    if (!chain || !chain->diodes.empty()) return std::nullopt;
    drive.ohms = {*ohms};
    drive.ohms.insert(drive.ohms.end(), chain->ohms.begin(), chain->ohms.end());
    if (chain->has_output) drive.ohms.push_back(chain->output_ohms);
    drive.has_output = chain->has_output;
    drive.total = *ohms + chain->total_ohms();
    drive.volts =
        sign * (input.nodal.net_volts[way->end] - input.nodal.net_volts[emitter]);
  }
  if (drive.ohms.empty()) return std::nullopt;
  const double taken =
      sign * (input.nodal.net_volts[base] - input.nodal.net_volts[emitter]);
  if (taken < kLeastBaseVolts || taken > kMostBaseVolts) return std::nullopt;
  const double fed = (drive.volts - kBaseVolts) / drive.total;
  if (drive.aside > 0.0 && kBaseVolts / drive.aside > kMostAside * fed)
    return std::nullopt;
  // As with an LED: where hardly more than the junction's voltage is left, a constant
  // one says nothing.
  const double open = drive.aside > 0.0
                          ? drive.volts * drive.aside / (drive.aside + drive.total)
                          : drive.volts;
  if (open < (1.0 + kLeastRoom) * kBaseVolts) return std::nullopt;
  return drive;
}

HandResult about_transistor(const Part& part, std::string_view rule,
                            std::string_view title, std::string_view quantity,
                            Unit unit) {
  HandResult result;
  result.rule = rule;
  result.title = title;
  result.part = part.name;
  result.quantity = quantity;
  result.unit = unit;
  result.source = kTransistors;
  result.mark = Mark::verified;
  return result;
}

HandResult base_result(const HandInput& input, int index, double sign,
                       const Drive& drive) {
  HandResult result =
      about_transistor(input.parts[index], "transistor-base",
                       "base current of a transistor", "current", Unit::ampere);
  result.hand = (drive.volts - kBaseVolts) / drive.total;
  result.formula =
      drive.has_output ? "IB = (V - VBE) / (RB + Rout)" : "IB = (V - VBE) / RB";
  result.numbers =
      fmt::format("({} - {}) / {}", hand_text(drive.volts, Unit::volt),
                  hand_text(kBaseVolts, Unit::volt), bracketed(drive.ohms, Unit::ohm));
  if (drive.aside > 0.0) {
    result.hand -= kBaseVolts / drive.aside;
    result.formula += " - VBE / RBE";
    result.numbers += fmt::format(" - {} / {}", hand_text(kBaseVolts, Unit::volt),
                                  hand_text(drive.aside, Unit::ohm));
  }
  result.numbers += " = " + hand_text(result.hand, Unit::ampere);
  result.neglects =
      "that VBE is not 0.7 V at every current; V is that of the drive as solved";
  put_witnesses(result, input, [&](const Observation& seen) {
    return sign * seen.pin_amps[index][kControl];
  });
  return result;
}

/// The gain that the model has, as written or the type's, and where it bends.
struct Gain {
  Figure beta;
  double knee = HUGE_VAL;  ///< Ampere.
};

std::optional<Gain> gain_of(const Part& part) {
  if (const auto given = part.settings.find("model"); given != part.settings.end()) {
    const auto* device = std::get_if<DeviceModel>(&given->second.value);
    const auto* bipolar = device ? std::get_if<BipolarModel>(device) : nullptr;
    if (bipolar == nullptr) return std::nullopt;
    return Gain{{bipolar->bf, Unit::none, Mark::given, "description", ""},
                bipolar->ikf};
  }
  const auto published = figure(part, "gain");
  if (!published) return std::nullopt;
  const auto* fitted =
      part.type != nullptr ? std::get_if<BipolarModel>(&part.type->model) : nullptr;
  return Gain{*published, fitted != nullptr ? fitted->ikf : HUGE_VAL};
}

/// IC = beta IB / (1 + IC / IKF), solved for IC.
double bent(double straight, double knee) {
  return 2.0 * straight / (1.0 + std::sqrt(1.0 + 4.0 * straight / knee));
}

/// A transistor that is a closed switch: what it switches, from which voltage.
struct Switched {
  int part = -1;
  double sign = 1.0;  ///< -1 for PNP.
  const Chain& load;
  double volts = 0.0;  ///< Of the load's supply.
  double drop = 0.0;   ///< Of the diodes in the load.
};

/// IC = (V - VF) / RC.
HandResult collector_result(const HandInput& input, const Switched& it) {
  HandResult result = about_transistor(
      input.parts[it.part], "transistor-collector",
      "collector current of a transistor that is switched on", "current", Unit::ampere);
  result.hand = (it.volts - it.drop) / it.load.total_ohms();
  result.formula = it.load.diodes.empty() ? "IC = V / RC" : "IC = (V - VF) / RC";
  std::vector<double> drops;
  if (const auto figures = drops_of(input, it.load))
    for (const Figure& figure : *figures) drops.push_back(figure.value);
  std::vector<double> ohms = it.load.ohms;
  if (it.load.has_output) ohms.push_back(it.load.output_ohms);
  result.numbers =
      fmt::format("{} / {} = {}", over_text(it.volts, drops),
                  bracketed(ohms, Unit::ohm), hand_text(result.hand, Unit::ampere));
  result.neglects =
      "what the saturated transistor keeps for itself, 0.1 V to 1 V; V is the load's "
      "supply as solved";
  put_witnesses(result, input, [&](const Observation& seen) {
    return it.sign * seen.pin_amps[it.part][kHigh];
  });
  return result;
}

/// What gain that asks for.
HandResult forced_result(const HandInput& input, int index, double collector,
                         double base_amps) {
  HandResult forced = about_transistor(
      input.parts[index], "transistor-forced-gain",
      "gain that a transistor that is switched on is asked for", "gain", Unit::none);
  forced.hand = collector / base_amps;
  forced.formula = "IC / IB";
  forced.numbers = fmt::format("{} / {} = {}", hand_text(collector, Unit::ampere),
                               hand_text(base_amps, Unit::ampere),
                               hand_text(forced.hand, Unit::none));
  forced.neglects = "what the rules for IC and IB neglect";
  forced.source = "Malvino & Bates, Electronic Principles, ch. 7";
  put_witnesses(forced, input, [&](const Observation& seen) {
    return seen.pin_amps[index][kHigh] / seen.pin_amps[index][kControl];
  });
  return forced;
}

/// IC = beta IB of a transistor that is neither off nor saturated, with a smaller beta
/// where the current is no longer small against the knee's.
HandResult active_result(const HandInput& input, int index, double sign,
                         double base_amps, const Gain& gain) {
  constexpr double kSmallShare = 0.02;
  HandResult result = about_transistor(input.parts[index], "transistor-gain",
                                       "collector current of a transistor by its gain",
                                       "current", Unit::ampere);
  result.hand = bent(gain.beta.value * base_amps, gain.knee);
  result.formula = "IC = beta IB";
  result.numbers = fmt::format("{} {}", hand_text(gain.beta.value, Unit::none),
                               hand_text(base_amps, Unit::ampere));
  if (result.hand > kSmallShare * gain.knee) {
    result.formula += " / (1 + IC / IKF)";
    result.numbers +=
        fmt::format(" / (1 + {} / {})", hand_text(result.hand, Unit::ampere),
                    hand_text(gain.knee, Unit::ampere));
  }
  result.numbers += " = " + hand_text(result.hand, Unit::ampere);
  result.neglects =
      "that the gain rises with the collector's voltage, and what the rule for IB "
      "neglects";
  put_witnesses(result, input, [&](const Observation& seen) {
    return sign * seen.pin_amps[index][kHigh];
  });
  cite(result, "beta", gain.beta);
  return result;
}

}  // namespace

/// IB = (V - VBE) / RB; then IC = beta IB, or of a switch IC = V / RC.
std::vector<HandResult> hand_transistor(const HandInput& input) {
  std::vector<HandResult> results;
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    const int index = static_cast<int>(k);
    const Part& part = input.parts[k];
    if (part.kind != KindId::transistor || part.nets[kHigh] < 0) continue;
    const double sign = polarity(part);
    const auto drive = drive_of(input, index, sign);
    if (!drive) continue;
    const std::vector<double>& volts = input.nodal.net_volts;
    const double kept = sign * (volts[part.nets[kHigh]] - volts[part.nets[kLow]]);
    // An end or a load: what hangs there otherwise is no handbook's circuit.
    const auto load = switched_load(input, index, sign);
    if (!load && !is_end(input.circuit, part.nets[kHigh])) continue;
    if (kept <= 0.0) continue;
    HandResult base = base_result(input, index, sign, *drive);
    const double base_amps = base.hand;
    if (base_amps <= 0.0) continue;
    results.push_back(std::move(base));
    const auto gain = gain_of(part);
    if (!gain) continue;
    if (kept > kActiveVolts) {
      results.push_back(active_result(input, index, sign, base_amps, *gain));
      continue;
    }
    if (!load || load->total_ohms() <= 0.0 || kept > kSaturatedVolts) continue;
    const double feed = sign * (volts[load->from] - volts[part.nets[kLow]]);
    const auto drop = drop_sum(input, *load);
    if (!drop || feed < (1.0 + kLeastRoom) * *drop) continue;
    HandResult collector = collector_result(input, {index, sign, *load, feed, *drop});
    if (collector.hand > bent(gain->beta.value * base_amps, gain->knee)) continue;
    HandResult forced = forced_result(input, index, collector.hand, base_amps);
    results.push_back(std::move(collector));
    results.push_back(std::move(forced));
  }
  return results;
}

}  // namespace benchproof
