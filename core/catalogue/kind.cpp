#include "core/catalogue/kind.h"

#include <algorithm>
#include <array>
#include <cassert>

namespace benchproof {
namespace {

/// The values a key allows. The ends are not physics: they keep nonsense ("1e-300 ohm")
/// away from the arithmetic and are far outside anything one can buy.
struct Range {
  double least;
  bool least_allowed;
  double most;
};

constexpr Range kOhms{1e-6, true, 1e12};
constexpr Range kOhmsOrNone{0, true, 1e12};
constexpr Range kFarads{1e-15, true, 1e4};
constexpr Range kFaradsOrNone{0, true, 1e-3};
constexpr Range kHenries{1e-12, true, 1e4};
constexpr Range kPositiveVolts{0, false, 1e4};
constexpr Range kVoltsOrNone{0, true, 1e4};
constexpr Range kSourceVolts{-1e6, true, 1e6};
constexpr Range kPositiveAmps{1e-12, true, 1e6};
constexpr Range kAmpsOrNone{0, true, 1e6};
constexpr Range kSourceAmps{-1e6, true, 1e6};
constexpr Range kWatts{1e-6, true, 1e6};
constexpr Range kShare{0, true, 1};
constexpr Range kSeconds{1e-6, true, 3600};
constexpr Range kDuty{1e-6, true, 1};
constexpr Range kKelvinPerWatt{1e-3, true, 1e5};
constexpr Range kJunctionCelsius{0, true, 500};
constexpr Range kMoments{1e-6, true, 1};  // Longer than a second is no moment.

constexpr Key quantity(std::string_view name, Unit unit, Range range,
                       std::string_view about) {
  return {.name = name,
          .shape = Shape::quantity,
          .unit = unit,
          .least = range.least,
          .least_allowed = range.least_allowed,
          .most = range.most,
          .about = about};
}

constexpr Key number(std::string_view name, Range range, std::string_view about) {
  return {.name = name,
          .shape = Shape::number,
          .least = range.least,
          .least_allowed = range.least_allowed,
          .most = range.most,
          .about = about};
}

constexpr Key flag(std::string_view name, std::string_view about) {
  return {.name = name, .shape = Shape::flag, .about = about};
}

constexpr Key choice(std::string_view name, std::string_view choices,
                     std::string_view about) {
  return {.name = name, .shape = Shape::word, .choices = choices, .about = about};
}

constexpr Key text(std::string_view name, std::string_view about) {
  return {.name = name, .shape = Shape::text, .about = about, .is_fixed = true};
}

constexpr Key names(std::string_view name, std::string_view about) {
  return {.name = name, .shape = Shape::names, .about = about, .is_fixed = true};
}

constexpr Key model(std::string_view about) {
  return {.name = "model", .shape = Shape::model, .about = about, .is_fixed = true};
}

constexpr Key only_with(std::string_view others, Key key) {
  key.only_with = others;
  return key;
}

constexpr Key needed_with(std::string_view others, Key key) {
  key.only_with = others;
  key.needed_with = others;
  return key;
}

constexpr Key whole(Key key) {
  key.is_whole = true;
  return key;
}

constexpr Key fixed(Key key) {
  key.is_fixed = true;
  return key;
}

constexpr Key kType = text("type", "a type of the catalogue");
constexpr Key kTolerance =
    quantity("tolerance", Unit::fraction, kShare, "how far the value may be off");
constexpr Key kPower =
    quantity("power", Unit::watt, kWatts, "greatest power it may turn into heat");
constexpr Key kThermal = quantity("thermal_resistance", Unit::kelvin_per_watt,
                                  kKelvinPerWatt, "from junction to the air around");
constexpr Key kThermalCase =
    quantity("thermal_resistance_case", Unit::kelvin_per_watt, kKelvinPerWatt,
             "from junction to case; needed with a heat sink");
constexpr Key kHeatsink = quantity("heatsink", Unit::kelvin_per_watt, kKelvinPerWatt,
                                   "from the case to the air, by way of a heat sink");
constexpr Key kJunctionMax = quantity("junction_max", Unit::celsius, kJunctionCelsius,
                                      "greatest temperature of the junction");
constexpr Key kMostCurrent =
    quantity("current", Unit::ampere, kPositiveAmps, "greatest lasting current");

constexpr Key kJunctionCapacitance =
    quantity("junction_capacitance", Unit::farad, kFaradsOrNone,
             "of the junction at zero bias; in runs");
constexpr Key kCoilInductance =
    quantity("inductance", Unit::henry, kHenries, "of the winding; in runs");
constexpr Key kCoreLoss =
    quantity("loss", Unit::ohm, kOhms,
             "loss of the core as a resistance beside the inductance; in runs");
constexpr Key kLoadVoltage =
    quantity("voltage", Unit::volt, kPositiveVolts, "rated voltage");
constexpr Key kLoadCurrent = needed_with(
    "voltage",
    quantity("current", Unit::ampere, kPositiveAmps, "at the rated voltage"));

constexpr std::array kResistor = {
    quantity("value", Unit::ohm, kOhms, "resistance"),
    kTolerance,
    kPower,
};
constexpr std::array kTrimmer = {
    quantity("value", Unit::ohm, kOhms, "resistance from end to end"),
    number("turn", kShare, "where the wiper stands, 0 at a and 1 at b"),
    kTolerance,
    kPower,
};
constexpr std::array kSensor = {
    kType,
    quantity("value", Unit::ohm, kOhms, "resistance as it is in the state"),
    kPower,
};
constexpr std::array kCapacitor = {
    quantity("value", Unit::farad, kFarads, "capacitance"),
    kTolerance,
    quantity("rated", Unit::volt, kPositiveVolts, "greatest voltage"),
    fixed(flag("polarised", "pins are plus and minus, and plus must not be below")),
    quantity("esr", Unit::ohm, kOhmsOrNone, "resistance in series"),
    quantity("initial", Unit::volt, kSourceVolts, "voltage when a run begins"),
    quantity("ripple", Unit::ampere, kPositiveAmps, "greatest lasting RMS current"),
    number("endurance", {1, true, 1e7}, "hours that it lasts at endurance_at"),
    needed_with("endurance",
                quantity("endurance_at", Unit::celsius, {-100, true, 300},
                         "temperature of `endurance`, the greatest allowed")),
};
constexpr std::array kInductor = {
    quantity("value", Unit::henry, kHenries, "inductance"),
    quantity("dcr", Unit::ohm, kOhmsOrNone, "resistance of the winding"),
    quantity("rated", Unit::ampere, kPositiveAmps, "greatest current"),
    quantity("initial", Unit::ampere, kSourceAmps, "current when a run begins"),
    kCoreLoss,
};
constexpr std::array kDiode = {
    kType,
    model("diode parameters by the trade's names"),
    quantity("drop", Unit::volt, kVoltsOrNone, "constant forward voltage"),
    only_with("drop",
              quantity("slope", Unit::ohm, kOhmsOrNone, "resistance beside the drop")),
    kMostCurrent,
    quantity("surge", Unit::ampere, kPositiveAmps, "greatest short current"),
    quantity("surge_time", Unit::second, kMoments, "how long `surge` may last"),
    choice("surge_shape", "half-sine rectangle",
           "what `surge` and its time are told of; half-sine if not told"),
    quantity("reverse", Unit::volt, kPositiveVolts, "greatest reverse voltage"),
    kPower,
    kThermal,
    kJunctionMax,
    kJunctionCapacitance,
};
constexpr std::array kZener = {
    kType,
    quantity("voltage", Unit::volt, kPositiveVolts, "breakdown voltage"),
    only_with("voltage", quantity("slope", Unit::ohm, kOhmsOrNone,
                                  "resistance beside the breakdown voltage")),
    model("diode parameters by the trade's names"),
    kPower,
    kMostCurrent,
    kThermal,
    kJunctionMax,
    kJunctionCapacitance,
};
constexpr std::array kLed = {
    kType,
    text("colour", "any LED of this colour"),
    only_with("colour", text("size", "3 mm, 5 mm ...")),
    model("diode parameters by the trade's names"),
    quantity("drop", Unit::volt, kVoltsOrNone, "constant forward voltage"),
    only_with("drop",
              quantity("slope", Unit::ohm, kOhmsOrNone, "resistance beside the drop")),
    kMostCurrent,
    quantity("pulse", Unit::ampere, kPositiveAmps, "greatest short current"),
    quantity("pulse_time", Unit::second, kMoments, "longest pulse for which it holds"),
    quantity("pulse_duty", Unit::fraction, kDuty, "largest duty for which it holds"),
    quantity("reverse", Unit::volt, kPositiveVolts, "greatest reverse voltage"),
    fixed(flag("dark", "meant to be dark in all states: it tells of a fault")),
    kPower,
    kThermal,
    kJunctionMax,
    kJunctionCapacitance,
};
constexpr std::array kTransistor = {
    kType,
    model("bipolar parameters by the trade's names"),
    fixed(needed_with("model", choice("polarity", "npn pnp", "npn or pnp"))),
    quantity("current", Unit::ampere, kPositiveAmps, "greatest collector current"),
    quantity("voltage", Unit::volt, kPositiveVolts,
             "greatest voltage from collector to emitter"),
    kPower,
    quantity("base_reverse", Unit::volt, kPositiveVolts,
             "greatest reverse voltage from emitter to base"),
    quantity("emitter_capacitance", Unit::farad, kFaradsOrNone,
             "from base to emitter (Cib, Ceb); in runs"),
    quantity("collector_capacitance", Unit::farad, kFaradsOrNone,
             "from base to collector (Cob, Ccb); in runs"),
    kThermal,
    kThermalCase,
    kHeatsink,
    kJunctionMax,
};
constexpr std::array kMosfet = {
    kType,
    model("MOS parameters by the trade's names"),
    fixed(needed_with("model", choice("channel", "n p", "n or p"))),
    fixed(only_with("model", flag("body", "a diode lies across the channel"))),
    quantity("current", Unit::ampere, kPositiveAmps, "greatest drain current"),
    quantity("voltage", Unit::volt, kPositiveVolts,
             "greatest voltage from drain to source"),
    quantity("gate", Unit::volt, kPositiveVolts,
             "greatest voltage from gate to source, either way"),
    quantity("input_capacitance", Unit::farad, kFaradsOrNone,
             "Ciss, from the gate to source and drain; in runs"),
    quantity("output_capacitance", Unit::farad, kFaradsOrNone,
             "Coss, from the drain to source and gate; in runs"),
    quantity("reverse_capacitance", Unit::farad, kFaradsOrNone,
             "Crss, from drain to gate, a part of the two others; in runs"),
    kPower,
    kThermal,
    kThermalCase,
    kHeatsink,
    kJunctionMax,
};
constexpr std::array kRegulator = {
    kType,
    quantity("output", Unit::volt, kPositiveVolts,
             "set voltage; held between out and adjust where adjustable"),
    fixed(only_with("output", flag("adjustable", "the common pin is an adjust pin"))),
    fixed(only_with("output", choice("polarity", "positive negative",
                                     "negative: in and out lie below common; all "
                                     "figures are sizes"))),
    only_with("output", quantity("resistance", Unit::ohm, kOhmsOrNone,
                                 "how the output falls with the current")),
    quantity("dropout", Unit::volt, kVoltsOrNone, "least difference from in to out"),
    quantity("limit", Unit::ampere, kPositiveAmps, "current at which it limits"),
    quantity("quiescent", Unit::ampere, kAmpsOrNone, "current that it draws itself"),
    quantity("input_max", Unit::volt, kPositiveVolts, "greatest input voltage"),
    quantity("input_min", Unit::volt, kPositiveVolts, "least input voltage"),
    kMostCurrent,
    quantity("tolerance", Unit::fraction, kShare, "how far the output may be off"),
    kThermal,
    kThermalCase,
    kHeatsink,
    kJunctionMax,
    kPower,
};
constexpr std::array kSwitch = {
    quantity("resistance", Unit::ohm, kOhms, "when closed"),
    quantity("rated", Unit::ampere, kPositiveAmps, "greatest current"),
};
constexpr std::array kController = {
    kType,
    names("outputs", "pins that can be high, low, open or PWM"),
    names("inputs", "pins that only listen"),
    names("analogue", "inputs that measure a voltage"),
    quantity("pin_limit", Unit::ampere, kPositiveAmps, "greatest current of one pin"),
    quantity("total_limit", Unit::ampere, kPositiveAmps,
             "greatest current of all pins"),
    quantity("resistance_high", Unit::ohm, kOhms, "from an output to vdd when high"),
    quantity("resistance_low", Unit::ohm, kOhms, "from an output to vss when low"),
    quantity("brownout", Unit::volt, kPositiveVolts, "least supply voltage"),
    quantity("draw", Unit::ampere, kAmpsOrNone, "supply current of the chip itself"),
    quantity("supply_max", Unit::volt, kPositiveVolts,
             "supply voltage beyond which it can be destroyed"),
    quantity("operating_max", Unit::volt, kPositiveVolts,
             "greatest supply voltage at which it is made to work"),
    quantity("pin_capacitance", Unit::farad, kFaradsOrNone,
             "from each output or input to vss; in runs"),
};
constexpr std::array kDcSupply = {
    quantity("voltage", Unit::volt, kPositiveVolts,
             "output, at full load if unregulated"),
    quantity("current", Unit::ampere, kPositiveAmps, "greatest current"),
    flag("regulated", "holds its voltage; if not told, taken as true and asked about"),
    quantity("no_load", Unit::volt, kPositiveVolts, "output without load"),
    fixed(flag("isolated", "separated from the mains; true if not told")),
    fixed(choice("limit", "current none",
                 "in runs it gives no more than `current`, or whatever is drawn; "
                 "current if not told")),
};
constexpr std::array kBattery = {
    text("chemistry", "alkaline, lithium ..."),
    text("size", "AA, 9V, CR2032 ..."),
    whole(number("cells", {1, true, 100}, "cells or blocks in series")),
    choice("charge", "fresh half spent", "fresh if not told"),
    quantity("capacity", Unit::ampere_hour, {1e-6, true, 1e6}, "charge when fresh"),
};
constexpr std::array kFuse = {
    quantity("rated", Unit::ampere, kPositiveAmps, "rated current"),
    quantity("resistance", Unit::ohm, kOhms, "cold resistance"),
};
constexpr std::array kLamp = {kType, kLoadVoltage, kLoadCurrent};
constexpr std::array kRelayCoil = {
    kType, kLoadVoltage, kLoadCurrent, kCoilInductance, kCoreLoss,
};
constexpr std::array kMotor = {
    kType,
    kLoadVoltage,
    kLoadCurrent,
    quantity("start_current", Unit::ampere, kPositiveAmps,
             "at the rated voltage, standing still; in runs"),
    quantity("start_time", Unit::second, kSeconds,
             "until it runs at full speed; in runs"),
    kCoilInductance,
    kCoreLoss,
};
constexpr std::array kBuzzer = {
    kType,
    kLoadVoltage,
    kLoadCurrent,
    choice("drive", "magnetic piezo", "a coil or a crystal; not known if not told"),
};
constexpr std::array kWire = {
    quantity("gauge", Unit::square_metre, {1e-10, true, 1e-2}, "cross-section"),
    quantity("length", Unit::metre, {1e-6, true, 1e5}, "length of the one conductor"),
};
constexpr std::array kVoltageSource = {
    quantity("voltage", Unit::volt, kSourceVolts, "from minus to plus"),
};
constexpr std::array kCurrentSource = {
    quantity("current", Unit::ampere, kSourceAmps, "leaving at plus into the circuit"),
};

// In the order of KindId.
constexpr std::array kKinds = {
    Kind{KindId::resistor, "resistor", "a b", kResistor, "", "value"},
    Kind{KindId::trimmer, "trimmer", "a wiper b", kTrimmer, "", "value turn"},
    Kind{KindId::light_resistor, "light-resistor", "a b", kSensor, "type value", ""},
    Kind{KindId::heat_resistor, "heat-resistor", "a b", kSensor, "type value", ""},
    Kind{KindId::capacitor, "capacitor", "a b", kCapacitor, "", "value"},
    Kind{KindId::inductor, "inductor", "a b", kInductor, "", "value"},
    Kind{KindId::diode, "diode", "anode cathode", kDiode, "type model drop", ""},
    Kind{KindId::zener, "zener", "anode cathode", kZener, "type voltage model", ""},
    Kind{KindId::led, "led", "anode cathode", kLed, "type colour model drop", ""},
    Kind{KindId::transistor, "transistor", "base collector emitter", kTransistor,
         "type model", ""},
    Kind{KindId::mosfet, "mosfet", "gate drain source", kMosfet, "type model", ""},
    Kind{KindId::regulator, "regulator", "in common out", kRegulator, "type output",
         ""},
    Kind{KindId::switch_, "switch", "a b", kSwitch, "", ""},
    Kind{KindId::controller, "controller", "vdd vss", kController, "", ""},
    Kind{KindId::dc_supply, "dc-supply", "plus minus", kDcSupply, "", "voltage"},
    Kind{KindId::battery, "battery", "plus minus", kBattery, "", "chemistry size"},
    Kind{KindId::fuse, "fuse", "a b", kFuse, "", "rated"},
    Kind{KindId::lamp, "lamp", "a b", kLamp, "type voltage", ""},
    Kind{KindId::motor, "motor", "a b", kMotor, "type voltage", ""},
    Kind{KindId::relay_coil, "relay-coil", "a b", kRelayCoil, "type voltage", ""},
    Kind{KindId::buzzer, "buzzer", "a b", kBuzzer, "type voltage", ""},
    Kind{KindId::wire, "wire", "a b", kWire, "", "gauge length"},
    Kind{KindId::voltage_source, "voltage-source", "plus minus", kVoltageSource, "",
         "voltage"},
    Kind{KindId::current_source, "current-source", "plus minus", kCurrentSource, "",
         "current"},
};

constexpr ModelParameter kTnom = {"tnom", -100, true, 200,
                                  "temperature at which they hold, degrees Celsius"};
constexpr ModelParameter kEg = {"eg", 0.1, true, 10, "activation energy, electronvolt"};
constexpr ModelParameter kXti = {
    "xti", 0, true, 50, "exponent of the saturation current's temperature rule"};

/// A capacitance that a model may tell; runs alone use it.
constexpr ModelParameter capacitance(std::string_view name, std::string_view about) {
  return {name, kFaradsOrNone.least, kFaradsOrNone.least_allowed, kFaradsOrNone.most,
          about};
}

/// Textbooks give it; it is read and left aside.
constexpr ModelParameter transit_time(std::string_view name) {
  return {name, 0, true, 1,
          "transit time, second; without effect, for the charge that a conducting "
          "junction stores is not modelled"};
}

constexpr std::array kDiodeParameters = {
    ModelParameter{"is", 1e-60, true, 1, "saturation current, ampere"},
    ModelParameter{"n", 1e-6, true, 100, "emission coefficient"},
    ModelParameter{"rs", 0, true, 1e9, "series resistance, ohm"},
    ModelParameter{"bv", 0, false, 1e6, "breakdown voltage, volt"},
    ModelParameter{"ibv", 0, false, 1e3, "current at breakdown, ampere"},
    ModelParameter{"nbv", 1e-6, true, 1e3, "emission coefficient in breakdown"},
    kEg,
    kXti,
    kTnom,
    capacitance("cjo", "junction capacitance at zero bias, farad"),
    transit_time("tt"),
};
constexpr std::array kBipolarParameters = {
    ModelParameter{"is", 1e-60, true, 1, "transport saturation current, ampere"},
    ModelParameter{"bf", 1e-3, true, 1e6, "forward current gain"},
    ModelParameter{"br", 1e-3, true, 1e6, "reverse current gain"},
    ModelParameter{"nf", 1e-6, true, 100, "forward emission coefficient"},
    ModelParameter{"nr", 1e-6, true, 100, "reverse emission coefficient"},
    ModelParameter{"vaf", 0.1, true, 1e9, "Early voltage, volt"},
    ModelParameter{"ikf", 1e-6, true, 1e9, "knee of the gain at high current, ampere"},
    ModelParameter{"rc", 0, true, 1e9, "collector resistance, ohm"},
    kEg,
    kXti,
    kTnom,
    capacitance("cje", "base-emitter capacitance at zero bias, farad"),
    capacitance("cjc", "base-collector capacitance at zero bias, farad"),
    transit_time("tf"),
    transit_time("tr"),
};
constexpr std::array kMosParameters = {
    ModelParameter{"vto", -1e3, true, 1e3, "threshold, volt"},
    ModelParameter{"kp", 1e-12, true, 1e6,
                   "transconductance of the whole device, A/V^2"},
    ModelParameter{"lambda", 0, true, 10, "channel-length modulation, 1/V"},
    ModelParameter{"rd", 0, true, 1e9, "drain resistance, ohm"},
    ModelParameter{"rs", 0, true, 1e9, "source resistance, ohm"},
    kTnom,
    capacitance("cgs", "gate-source capacitance, farad"),
    capacitance("cgd", "gate-drain capacitance, farad"),
    capacitance("cds", "drain-source capacitance, farad"),
};

}  // namespace

const Kind& kind(KindId id) {
  const Kind& row = kKinds[static_cast<std::size_t>(id)];
  assert(row.id == id && "the table of kinds is in the order of KindId");
  return row;
}

const Kind* find_kind(std::string_view name) {
  const auto found = std::find_if(kKinds.begin(), kKinds.end(),
                                  [name](const Kind& k) { return k.name == name; });
  return found == kKinds.end() ? nullptr : &*found;
}

std::span<const Kind> kinds() { return kKinds; }

const Key* find_key(const Kind& kind, std::string_view name) {
  const auto found = std::find_if(kind.keys.begin(), kind.keys.end(),
                                  [name](const Key& key) { return key.name == name; });
  return found == kind.keys.end() ? nullptr : &*found;
}

std::span<const ModelParameter> model_parameters(KindId id) {
  switch (id) {
    case KindId::diode:
    case KindId::zener:
    case KindId::led:
      return kDiodeParameters;
    case KindId::transistor:
      return kBipolarParameters;
    case KindId::mosfet:
      return kMosParameters;
    default:
      return {};
  }
}

std::vector<std::string> split_words(std::string_view text) {
  std::vector<std::string> words;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    if (end > 0) words.emplace_back(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return words;
}

}  // namespace benchproof
