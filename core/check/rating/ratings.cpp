#include "core/check/rating/ratings.h"

#include <algorithm>
#include <array>
#include <map>
#include <stdexcept>
#include <string>

#include "core/catalogue/pins.h"
#include "core/check/rating/derived.h"
#include "core/check/rating/overload.h"
#include "core/circuit/topology.h"

// How to add a rating: write a row into the group of its kind, or a group for kinds
// that have none. Say what is measured, the figure that limits it, and how it is judged
// at rest, in a run, or both. A new id wants an explanation: that of a state beside the
// checks of its kind (core/check/parts), that of a run in core/check/time. The
// finding, its margin, its place in `shopping` (`bought`) and the note of derating
// (`careful`) follow. Only a finding that says more than how far a limit is passed
// needs code: a function in `kSpecials` of its check, which is given the row.

namespace benchproof {
namespace {

// What the table of ratings names: a curve, where cautions begin, where it comes from.

constexpr double kHalf = 0.5;          // Common practice, no source.
constexpr double kCarefulLoad = 0.85;  // 1.1 of 1.3: where those at rest begin.
constexpr Endurance kSmallJunction{
    kSmallJunctionCurve, kHalf,           1.0,         false,
    kShortestStrain,     kJunctionSource, Mark::memory};
constexpr Endurance kCasedJunction{
    kCasedJunctionCurve, kHalf,           1.0,         false,
    kShortestStrain,     kJunctionSource, Mark::memory};
constexpr Endurance kResistor{
    kResistorCurve,
    kHalf,
    1.0,
    false,
    kShortestStrain,
    "IEC 60115-1, short-time overload, and makers' pulse curves, from memory",
    Mark::memory};
constexpr Endurance kFuse{kFuseCurve,      kFuseHolds,
                          kFuseHoldsFrom,  true,
                          kShortestStrain, "IEC 60127-2 sheet 2, from memory",
                          Mark::memory};
constexpr Endurance kWire{kWireCurve,  kHalf,           1.0,
                          true,        kShortestStrain, "IEC 60364-4-43, from memory",
                          Mark::memory};
constexpr Endurance kContact{kContactCurve, kHalf, 1.0, true};
constexpr Endurance kWinding{kWindingCurve, kHalf, 1.0, true};
constexpr Endurance kFilamentVolts{kFilamentVoltsCurve, kCarefulLoad, 1.1};
constexpr Endurance kWindingVolts{kWindingVoltsCurve, kCarefulLoad, 1.1};
constexpr Endurance kBuzzerVolts{kBuzzerVoltsCurve, kCarefulLoad, 1.1};

/// The endurance of one curve, whatever the part.
template <const Endurance& kOne>
Endurance always(const Part&) {
  return kOne;
}

bool is_cased(const Part& part) {
  return figure(part, "thermal_resistance_case").has_value();
}

Endurance of_case(const Part& part) {
  return is_cased(part) ? kCasedJunction : kSmallJunction;
}

/// On a heat sink the figures are those of case and sink together. What heats a diode
/// for less than a second is its surge rating's business.
Endurance of_heat(const Part& part) {
  if (part.kind == KindId::diode) return lasting_endurance(part);
  return is_cased(part) && !figure(part, "heatsink") ? kCasedJunction : kSmallJunction;
}

bool is_regulating(const Part& regulator, double volts) {
  const auto set = number_of(regulator, "output");
  return set && volts >= kRegulatorOffShare * *set;
}

bool is_chip_on(const Part&, double volts) { return volts >= kControllerOffVolts; }

// The ratings that parts are sold with. Common practice, no source, but for fuses: the
// values of IEC 60127 as remembered (R10 series).
constexpr std::array kTrackPowers = {0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0};
constexpr std::array kElectrolyticVolts = {6.3,  10.0, 16.0, 25.0,
                                           35.0, 50.0, 63.0, 100.0};
constexpr std::array kFoilVolts = {16.0, 25.0, 50.0, 63.0, 100.0, 250.0, 400.0, 630.0};
constexpr std::array kSupplyAmps = {0.1, 0.2, 0.3, 0.5, 1.0, 1.5,
                                    2.0, 3.0, 4.0, 5.0, 6.0, 10.0};
constexpr std::array kFuseAmps = {
    0.032, 0.04, 0.05, 0.063, 0.08, 0.1, 0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5,
    0.63,  0.8,  1.0,  1.25,  1.6,  2.0, 2.5,   3.15, 4.0, 5.0,  6.3,   8.0, 10.0};

/// Shares of a rating that careful use keeps to, and times it that make a fault. Common
/// practice, no source.
constexpr Grade kUsualSupply{.caution = 0.8};
constexpr Grade kUsualCapacitor{.caution = 0.8};
constexpr Grade kUsualOperating{.fault = 1.05};
constexpr Grade kUsualPin{.caution = 0.8};
constexpr Grade kUsualFuse{.caution = 0.75, .fault_figure = "holds_times"};
constexpr Grade kUsualResistor{.caution_figure = "usual_share"};
/// Near its end a trimmer's track is heated in one spot, by less than is compared:
/// twice the current.
constexpr Grade kUsualTrack{.fault = 4.0, .caution_figure = "usual_share"};
constexpr Grade kUsualLoad{.caution = 1.1, .fault = 1.3};
constexpr Grade kUsualWire{.fault = 2.0};  // Four times the heat.
constexpr Grade kUsualReverse{.caution = 0.05};
constexpr Grade kCautionOnly{.fault = kNever};

/// Shorter overloads of a chip's pin than this heat nothing. Common practice, no
/// source. Second.
constexpr double kMoment = 1e-3;

// --- measures, and rows that many kinds have

constexpr Measure kWatts{.what = Measured::watts, .over = Over::heating};

constexpr Measure amps(int pin, Sense sense, Over over = Over::highest) {
  return {.what = Measured::amps, .pin = pin, .sense = sense, .over = over};
}

constexpr Measure volts(int pin, int other, Sense sense = Sense::forward,
                        Over over = Over::highest) {
  return {Measured::volts, pin, other, sense, over};
}

constexpr Rating power_row(std::string_view check, std::string_view advice,
                           Bought bought = {}, Careful careful = {}) {
  return {.measure = kWatts,
          .quantity = "power",
          .key = "power",
          .rest = {check, "power rating", advice, {}, Stress::power},
          .bought = bought,
          .careful = careful};
}

constexpr Rating junction_row(std::string_view check, std::string_view advice) {
  return {.measure = {.what = Measured::junction, .over = Over::heating},
          .quantity = "temperature",
          .key = "junction_max",
          .rest = {check, "junction limit", advice, {}, Stress::heat}};
}

/// The heat of a semiconductor in a run, against what it bears for ever.
constexpr Rating run_heat_row(std::string_view advice) {
  return {.measure = kWatts,
          .quantity = "power",
          .run = {"run-heat", "takes", advice, of_heat, Stress::power},
          .limit = lasting_watts,
          .limit_number = lasting_watts_number};
}

constexpr Rating resistor_power_row(Measure measure, Grade grade,
                                    std::span<const double> grades) {
  return {
      .measure = measure,
      .quantity = "power",
      .key = "power",
      .rest = {"resistor-power", "power rating", "", grade, Stress::power},
      .run = {"run-heat", "takes", "use one of a higher power rating, made for pulses",
              always<kResistor>, Stress::power},
      .limit = resistor_rating,
      .limit_number = resistor_rating_number,
      .bought = {"power", grades, {}, Derated::power}};
}

constexpr Rating kWorkingVoltage{.measure = volts(0, 1, Sense::either),
                                 .quantity = "voltage",
                                 .key = "working_voltage",
                                 .rest = {"resistor-voltage",
                                          "working voltage",
                                          "use two in series",
                                          {},
                                          Stress::load},
                                 .run = {.check = "run-resistor-voltage",
                                         .words = "working voltage",
                                         .advice = "use two in series",
                                         .fault = 2.0}};

constexpr Rating load_row(Endurance (*endurance)(const Part&),
                          bool by_current = false) {
  return {.measure = volts(0, 1, Sense::either, Over::mean),
          .quantity = "voltage",
          .key = "voltage",
          .rest = {"load-voltage", "usual excess", "", kUsualLoad, Stress::load},
          .run = {.check = "run-load-voltage",
                  .words = "gets",
                  .advice = "keep such a voltage off it",
                  .endurance = endurance,
                  .by_current = by_current}};
}

constexpr Rating contact_row(std::string_view check, InRun run) {
  return {
      .measure = amps(0, Sense::either),
      .quantity = "current",
      .key = "rated",
      .rest = {check, "current rating", "use one for more current", {}, Stress::load},
      .run = run,
      .bought = {"current"}};
}

// --- supplies

constexpr KindId kSupply[] = {KindId::dc_supply};
constexpr Rating kSupplyRatings[] = {
    {.measure = amps(0, Sense::out),
     .quantity = "current",
     .key = "current",
     .rest = {"supply-current", "current rating",
              "draw less, or use a supply for more current", kUsualSupply,
              Stress::load},
     .run = {.check = "run-inrush"},
     .bought = {"current", kSupplyAmps}}};

constexpr KindId kBattery[] = {KindId::battery};
constexpr Rating kBatteryRatings[] = {
    {.measure = amps(0, Sense::out),
     .quantity = "current",
     .key = "pulse",
     .rest = {"battery-current",
              "pulse rating",
              "draw less, or use a larger one",
              {},
              Stress::load}},
    {.measure = amps(0, Sense::out, Over::mean),
     .quantity = "current",
     .key = "current",
     .rest = {"battery-current", "continuous rating",
              "it is soon empty and its voltage sags: draw less, or use a larger one",
              kCautionOnly, Stress::load, "battery-current"},
     .run = {.check = "run-inrush"}},
    {.measure = amps(0, Sense::out, Over::mean),
     .quantity = "current",
     .key = "capacity",
     .rest = {.check = "battery-current",
              .grade = kCautionOnly,
              .stress = Stress::load},
     .limit = battery_rate}};

// --- regulators

constexpr KindId kRegulator[] = {KindId::regulator};
constexpr Rating kRegulatorRatings[] = {
    {.measure = volts(kIn, kCommon, Sense::by_polarity),
     .quantity = "voltage",
     .key = "input_max",
     .rest = {"regulator-input", "input voltage rating", "lower the supply"},
     .run = {"run-regulator-input", "input limit",
             "clamp its input, or feed it from less"},
     .bought = {.quantity = "input voltage", .where_not = "difference_max"},
     .careful = {0.8, "input voltage rating"}},
    {.measure = volts(kIn, kOut, Sense::by_polarity),
     .quantity = "voltage",
     .key = "difference_max",
     .rest = {"regulator-input", "input-output voltage rating", "lower the supply"},
     .run = {"run-regulator-input", "input-output limit",
             "clamp its input, or feed it from less"}},
    {.measure = volts(kCommon, kIn, Sense::by_polarity),
     .quantity = "voltage",
     .rest = {.check = "regulator-reverse", .is_guard = true},
     .run = {"run-regulator-reverse", "bearable reverse input",
             "guard it with a diode"},
     .limit = reversed_input_limit},
    {.measure = volts(kIn, kCommon, Sense::by_polarity, Over::lowest),
     .quantity = "voltage",
     .key = "dropout",
     .rest = {"regulator-dropout", "least input"},
     .limit = least_input,
     .limit_number = least_input_number,
     .bound = Bound::lower,
     .is_on = is_regulating},
    {.measure = amps(kOut, Sense::out_by_polarity),
     .quantity = "current",
     .key = "current",
     .rest = {"regulator-current",
              "output current rating",
              "draw less, or use one for more current",
              {},
              Stress::load,
              "regulator-limit"},
     .run = {"run-current", "carries", "draw less, or use one for more current",
             of_case, Stress::load},
     .bought = {.quantity = "output current", .is_first = true},
     .careful = {0.8, "current rating", Over::mean}},
    power_row("regulator-power", "lower its input voltage or its load"),
    junction_row("regulator-junction",
                 "it shuts down or fails: lower its input or its load"),
    run_heat_row("lower its input or its load")};

// --- controllers

constexpr KindId kController[] = {KindId::controller};
constexpr Rating kControllerRatings[] = {
    {.measure = volts(kVss, kVdd),
     .quantity = "voltage",
     .rest = {.check = "controller-reversed", .is_guard = true},
     .run = {"run-reversed", "bearable reversed supply",
             "look at what pulls its rail below its common"},
     .limit = reversed_chip_limit},
    {.measure = volts(kVdd, kVss),
     .quantity = "voltage",
     .key = "supply_max",
     .rest = {"controller-supply", "supply voltage limit", "lower its supply"},
     .run = {"run-supply", "supply voltage limit", "damp or clamp its rail"},
     .bought = {"supply voltage"}},
    {.measure = volts(kVdd, kVss),
     .quantity = "voltage",
     .key = "operating_max",
     .rest = {.check = "controller-operating",
              .words = "top of the operating range",
              .advice = "lower its supply",
              .grade = kUsualOperating,
              .unless_told = "controller-supply"},
     .limit = operating_limit},
    {.measure = volts(kVdd, kVss, Sense::forward, Over::lowest),
     .quantity = "voltage",
     .key = "brownout",
     .rest = {"controller-brownout", "least supply", "raise its supply"},
     .run = {.check = "run-brownout", .is_first = true},
     .bound = Bound::lower,
     .is_on = is_chip_on},
    {.measure = {.what = Measured::amps, .sense = Sense::either, .pins = Pins::outputs},
     .quantity = "current",
     .key = "pin_limit",
     .rest = {"controller-pin", "pin limit",
              "draw less from it, or let it switch a transistor", kUsualPin},
     .run = {.check = "run-pin",
             .words = "pin limit",
             .advice = "put a resistor between the pin and what it charges",
             .moment = kMoment},
     .bought = {.quantity = "current of a pin", .is_first = true}},
    {.measure = {.what = Measured::clamp_amps, .pins = Pins::all},
     .quantity = "current",
     .key = "clamp_limit",
     .rest = {.check = "controller-clamp",
              .words = "clamp diode limit",
              .advice = "put a larger resistor before the pin",
              .is_guard = true},
     .run = {"run-clamp", "clamp diode limit",
             "put a resistor between the pin and what drives it"}},
    {.measure = {.what = Measured::total_amps},
     .quantity = "current",
     .key = "total_limit",
     .rest = {"controller-total", "limit for all pins together",
              "let transistors switch some of its loads"},
     .run = {.check = "run-total",
             .words = "limit for all pins together",
             .advice = "let transistors switch some of its loads",
             .moment = kMoment},
     .bought = {.quantity = "current of all pins", .is_first = true}},
    power_row("controller-power", "draw less from its pins"),
    run_heat_row("draw less from its pins")};

// --- LEDs, diodes, zeners

constexpr std::string_view kDiodeReverseAdvice =
    "put a diode the other way round across it, or use one that bears more";
constexpr std::string_view kSurgeAdvice =
    "less capacitance behind it, or a resistor in series, eases it";

constexpr KindId kLed[] = {KindId::led};
constexpr Rating kLedRatings[] = {
    {.measure = {.what = Measured::amps, .mean_where = "pulse"},
     .quantity = "current",
     .key = "current",
     .rest = {"led-current", "continuous rating", "", {}, Stress::load},
     .run = {"run-current", "carries", "raise its resistor", lasting_endurance,
             Stress::load},
     .bought = {.quantity = "current", .over = Over::highest}},
    {.measure = amps(0, Sense::forward),
     .quantity = "current",
     .key = "pulse",
     .rest = {"led-current", "pulse rating", "", {}, Stress::load},
     .run = {"run-surge", "pulse limit", "raise its resistor", pulse_endurance,
             Stress::load}},
    {.measure = volts(1, 0),
     .quantity = "voltage",
     .key = "reverse",
     .rest = {"led-reverse", "reverse voltage rating",
              "put a diode in parallel the other way round"},
     .run = {.check = "run-reverse",
             .words = "reverse voltage limit",
             .advice = kDiodeReverseAdvice,
             .is_first = true},
     .bought = {"reverse voltage"}},
    power_row("led-power", "lower its current"),
    junction_row("led-junction", "lower its current"),
    run_heat_row("lower its current")};

constexpr KindId kDiode[] = {KindId::diode};
constexpr Rating kDiodeRatings[] = {
    {.measure = amps(0, Sense::forward, Over::mean),
     .quantity = "current",
     .key = "current",
     .rest = {"diode-current",
              "continuous rating",
              "use a diode for more current",
              {},
              Stress::load},
     .run = {"run-current", "carries", kSurgeAdvice, lasting_endurance, Stress::load},
     .bought = {"current"},
     .careful = {0.5, "current rating"}},
    {.measure = amps(0, Sense::forward),
     .quantity = "current",
     .key = "surge",
     .rest = {.check = "diode-surge",
              .words = "surge rating",
              .advice = "use a diode for more current",
              .unless_told = "diode-current"},
     .run = {"run-surge", "surge limit", kSurgeAdvice, surge_endurance, Stress::load}},
    {.measure = volts(1, 0),
     .quantity = "voltage",
     .key = "reverse",
     .rest = {"diode-reverse", "reverse voltage rating",
              "use a diode for more reverse voltage"},
     .run = {.check = "run-reverse",
             .words = "reverse voltage limit",
             .advice = kDiodeReverseAdvice,
             .is_first = true},
     .bought = {"reverse voltage"},
     .careful = {0.7, "reverse voltage rating"}},
    power_row("diode-power", "lower its current"),
    junction_row("diode-junction", "lower its current"),
    run_heat_row("lower its current")};

constexpr KindId kZener[] = {KindId::zener};
constexpr Rating kZenerRatings[] = {
    {.measure = amps(0, Sense::either, Over::mean),
     .quantity = "current",
     .key = "current",
     .rest = {"zener-current",
              "continuous rating",
              "raise the resistor that feeds it",
              {},
              Stress::load},
     .run = {"run-current", "carries", "raise the resistor that feeds it",
             always<kSmallJunction>, Stress::load}},
    power_row("zener-power", "lower its current", {"power"}, {0.5, "power rating"}),
    junction_row("zener-junction", "lower its current"),
    run_heat_row("raise the resistor that feeds it")};

// --- transistors

constexpr std::string_view kCooler = "lower its current or voltage";
constexpr std::string_view kSwitchLess = "limit what it switches, or use a larger one";

/// A transistor's short currents in runs, unless it has a figure of that name.
constexpr InRun current_limit(std::string_view where_not = {}) {
  return {.check = "run-transistor-current",
          .words = "current limit",
          .advice = kSwitchLess,
          .stress = Stress::load,
          .shortest = kShortestStrain,
          .where_not = where_not};
}

/// Its lasting current in runs, where it has a rating for short ones.
constexpr Rating lasting_of_pulsed(int pin) {
  return {.measure = amps(pin, Sense::either),
          .quantity = "current",
          .key = "current",
          .run = {.check = "run-current",
                  .words = "carries",
                  .advice = kSwitchLess,
                  .endurance = always<kSmallJunction>,
                  .stress = Stress::load,
                  .where = "pulse",
                  .unless_told = "run-transistor-current"}};
}

constexpr KindId kTransistor[] = {KindId::transistor};
constexpr Rating kTransistorRatings[] = {
    {.measure = amps(kCollector, Sense::either),
     .quantity = "current",
     .key = "current",
     .rest = {"transistor-current",
              "collector current rating",
              "use one for more current",
              {},
              Stress::load},
     .run = current_limit("pulse"),
     .bought = {"collector current"},
     .careful = {0.75, "current rating", Over::mean}},
    {.measure = amps(kCollector, Sense::either),
     .quantity = "current",
     .key = "pulse",
     .run = current_limit()},
    lasting_of_pulsed(kCollector),
    {.measure = volts(kCollector, kEmitter, Sense::either),
     .quantity = "voltage",
     .key = "voltage",
     .rest = {"transistor-voltage",
              "collector-emitter voltage rating",
              "use one for more voltage",
              {},
              Stress::load},
     .run = {.check = "run-transistor-voltage",
             .words = "collector-emitter limit",
             .advice = "clamp it with a diode",
             .is_first = true},
     .bought = {"collector voltage"},
     .careful = {0.75, "voltage rating"}},
    {.measure = volts(kEmitter, kBase, Sense::by_polarity),
     .quantity = "voltage",
     .key = "base_reverse",
     .rest = {"transistor-base", "reverse base-emitter voltage rating",
              "clamp it with a diode from emitter to base"},
     .run = {"run-base", "reverse base-emitter limit",
             "clamp it with a diode from emitter to base"}},
    power_row("transistor-power", kCooler, {"power"}, {0.6, "power rating"}),
    junction_row("transistor-junction", kCooler),
    run_heat_row(kCooler)};

constexpr KindId kMosfet[] = {KindId::mosfet};
constexpr Rating kMosfetRatings[] = {
    {.measure = {.what = Measured::amps,
                 .pin = kDrain,
                 .sense = Sense::either,
                 .mean_where = "pulse"},
     .quantity = "current",
     .key = "current",
     .rest = {"mosfet-current",
              "drain current rating",
              "use one for more current",
              {},
              Stress::load},
     .run = current_limit("pulse"),
     .bought = {"drain current"},
     .careful = {0.75, "current rating", Over::mean}},
    {.measure = amps(kDrain, Sense::either),
     .quantity = "current",
     .key = "pulse",
     .rest = {"mosfet-current",
              "pulsed drain current rating",
              "use one for more current",
              {},
              Stress::load,
              "mosfet-current"},
     .run = current_limit()},
    lasting_of_pulsed(kDrain),
    {.measure = volts(kDrain, kSource, Sense::either),
     .quantity = "voltage",
     .key = "voltage",
     .rest = {"mosfet-voltage",
              "drain-source voltage rating",
              "use one for more voltage",
              {},
              Stress::load},
     .run = {.check = "run-transistor-voltage",
             .words = "drain-source limit",
             .advice = "clamp it with a diode",
             .is_first = true},
     .bought = {"drain voltage"},
     .careful = {0.75, "voltage rating"}},
    {.measure = volts(kGate, kSource, Sense::either),
     .quantity = "voltage",
     .key = "gate",
     .rest = {"mosfet-gate", "gate-source voltage rating", "limit the gate's voltage"},
     .run = {"run-gate", "gate-source limit", "clamp the gate with a zener"},
     .bought = {"gate voltage"},
     .careful = {0.6, "gate voltage rating"}},
    power_row("mosfet-power", kCooler, {"power"}, {0.6, "power rating"}),
    junction_row("mosfet-junction", kCooler),
    run_heat_row(kCooler)};

// --- resistors, capacitors

constexpr KindId kFixedResistor[] = {KindId::resistor};
constexpr Rating kFixedResistorRatings[] = {
    resistor_power_row(kWatts, kUsualResistor, kResistorPowers), kWorkingVoltage};

/// A trimmer's rating is for its whole track: what a part of the track carries counts
/// as if all of it did.
constexpr KindId kTrimmer[] = {KindId::trimmer};
constexpr Rating kTrimmerRatings[] = {
    resistor_power_row({.what = Measured::track_watts, .over = Over::heating},
                       kUsualTrack, kTrackPowers),
    kWorkingVoltage};

constexpr KindId kSensing[] = {KindId::light_resistor, KindId::heat_resistor};
constexpr Rating kSensingRatings[] = {
    resistor_power_row(kWatts, kUsualResistor, kTrackPowers), kWorkingVoltage};

constexpr KindId kCapacitor[] = {KindId::capacitor};
constexpr Rating kCapacitorRatings[] = {
    {.measure = volts(0, 1, Sense::by_polarised),
     .quantity = "voltage",
     .key = "rated",
     .rest = {"capacitor-voltage", "rated voltage", "use one of a higher rating",
              kUsualCapacitor, Stress::load},
     .run = {"run-capacitor-voltage", "rated voltage", "use one of a higher rating"},
     .bought = {"voltage", kFoilVolts, kElectrolyticVolts, Derated::voltage}},
    {.measure = volts(1, 0),
     .quantity = "voltage",
     .rest = {.check = "capacitor-polarity", .grade = kUsualReverse, .is_guard = true},
     .run = {.check = "run-capacitor-polarity"},
     .limit = reverse_limit}};

// --- fuses, contacts, windings, loads, wires

constexpr KindId kFuses[] = {KindId::fuse};
constexpr Rating kFuseRatings[] = {
    {.measure = amps(0, Sense::either, Over::rms),
     .quantity = "current",
     .key = "rated",
     .rest = {"fuse-current", "rated current", "", kUsualFuse, Stress::load},
     .run = {"run-fuse", "carries",
             "a time-lag one bears more, and less inrush is easier on it",
             always<kFuse>},
     .bought = {"current", kFuseAmps}}};

constexpr KindId kSwitch[] = {KindId::switch_};
constexpr Rating kSwitchRatings[] = {contact_row(
    "switch-current", {"run-current", "carries",
                       "its contacts weld: less inrush, or one for more current",
                       always<kContact>, Stress::load})};

constexpr KindId kInductor[] = {KindId::inductor};
constexpr Rating kInductorRatings[] = {
    contact_row("inductor-current",
                {"run-current", "carries", "use one for more current", always<kWinding>,
                 Stress::load}),
    {.measure = amps(0, Sense::either),
     .quantity = "current",
     .key = "rated",
     .run = {.check = "run-current",
             .words = "current rating",
             .advice =
                 "its core may saturate, and then it carries far more than shown here",
             .stress = Stress::load,
             .fault = kNever,
             .unless_told = "run-current"}}};

constexpr KindId kLamp[] = {KindId::lamp};
constexpr Rating kLampRatings[] = {load_row(always<kFilamentVolts>)};
constexpr KindId kWound[] = {KindId::motor, KindId::relay_coil};
constexpr Rating kWoundRatings[] = {load_row(always<kWindingVolts>, true)};
constexpr KindId kBuzzer[] = {KindId::buzzer};
constexpr Rating kBuzzerRatings[] = {load_row(always<kBuzzerVolts>)};

constexpr KindId kWires[] = {KindId::wire};
constexpr Rating kWireRatings[] = {
    {.measure = amps(0, Sense::either, Over::rms),
     .quantity = "current",
     .rest = {.check = "wire-current", .grade = kUsualWire, .stress = Stress::load},
     .run = {"run-current", "carries", "use a thicker one", always<kWire>,
             Stress::load},
     .limit = wire_rating}};

// --- what a person touches

constexpr KindId kWarm[] = {KindId::regulator, KindId::transistor, KindId::mosfet,
                            KindId::diode, KindId::zener};
constexpr Rating kWarmRatings[] = {
    {.measure = {.what = Measured::outside, .over = Over::heating},
     .quantity = "temperature",
     .rest = {"touch", "what skin bears", "", kCautionOnly, Stress::surface},
     .limit = burn_limit}};

constexpr RatingGroup kGroups[] = {
    {kSupply, kSupplyRatings},
    {kBattery, kBatteryRatings},
    {kRegulator, kRegulatorRatings},
    {kController, kControllerRatings},
    {kLed, kLedRatings},
    {kTransistor, kTransistorRatings},
    {kMosfet, kMosfetRatings},
    {kDiode, kDiodeRatings},
    {kZener, kZenerRatings},
    {kFixedResistor, kFixedResistorRatings},
    {kTrimmer, kTrimmerRatings},
    {kSensing, kSensingRatings},
    {kCapacitor, kCapacitorRatings},
    {kFuses, kFuseRatings},
    {kSwitch, kSwitchRatings},
    {kInductor, kInductorRatings},
    {kLamp, kLampRatings},
    {kWound, kWoundRatings},
    {kBuzzer, kBuzzerRatings},
    {kWires, kWireRatings},
    {kWarm, kWarmRatings},
};

/// A figure of the part, or where it has none, or none is named, a number.
double figure_or(const Part& part, std::string_view key, double number) {
  return key.empty() ? number : number_of(part, key).value_or(number);
}

const Rating& first_with(KindId kind, std::string_view key, std::string_view check,
                         std::string_view (*id)(const Rating&)) {
  for (const Rating* rating : ratings_of(kind))
    if (id(*rating) == check && (key.empty() || rating->key == key)) return *rating;
  throw std::invalid_argument("no rating has the finding '" + std::string(check) + "'");
}

}  // namespace

std::span<const RatingGroup> rating_groups() { return kGroups; }

std::span<const Rating* const> ratings_of(KindId kind) {
  // Sorted by kind once: every part of every solution asks.
  static const auto kByKind = [] {
    std::map<KindId, std::vector<const Rating*>> by_kind;
    for (const RatingGroup& group : kGroups) {
      for (const KindId each : group.kinds)
        for (const Rating& rating : group.ratings) by_kind[each].push_back(&rating);
    }
    return by_kind;
  }();
  const auto found = kByKind.find(kind);
  if (found == kByKind.end()) return {};
  return found->second;
}

const Rating& rating_at_rest(KindId kind, std::string_view check,
                             std::string_view key) {
  return first_with(kind, key, check, [](const Rating& r) { return r.rest.check; });
}

const Rating& rating_in_run(KindId kind, std::string_view check, std::string_view key) {
  return first_with(kind, key, check, [](const Rating& r) { return r.run.check; });
}

Stress stress_of(std::string_view check) {
  for (const RatingGroup& group : kGroups)
    for (const Rating& rating : group.ratings)
      if (rating.rest.check == check) return rating.rest.stress;
  return Stress::none;
}

Stress stress_in_run(std::string_view check) {
  for (const RatingGroup& group : kGroups)
    for (const Rating& rating : group.ratings)
      if (rating.run.check == check) return rating.run.stress;
  return Stress::none;
}

Unit unit_of(const Rating& rating) {
  switch (rating.measure.what) {
    case Measured::amps:
    case Measured::clamp_amps:
    case Measured::total_amps:
      return Unit::ampere;
    case Measured::volts:
      return Unit::volt;
    case Measured::watts:
    case Measured::track_watts:
      return Unit::watt;
    case Measured::junction:
    case Measured::outside:
      return Unit::celsius;
  }
  return Unit::none;
}

std::optional<Figure> limit_of(const Rating& rating, const Part& part, double ambient) {
  return rating.limit != nullptr ? rating.limit(part, ambient)
                                 : figure(part, rating.key);
}

std::optional<double> limit_number_of(const Rating& rating, const Part& part,
                                      double ambient) {
  if (rating.limit == nullptr) return number_of(part, rating.key);
  if (rating.limit_number != nullptr) return rating.limit_number(part, ambient);
  const auto limit = rating.limit(part, ambient);
  return limit ? std::optional(limit->value) : std::nullopt;
}

double caution_share(const Rating& rating, const Part& part) {
  const Grade& grade = rating.rest.grade;
  return figure_or(part, grade.caution_figure, grade.caution);
}

double fault_times(const Rating& rating, const Part& part) {
  const Grade& grade = rating.rest.grade;
  return figure_or(part, grade.fault_figure, grade.fault);
}

}  // namespace benchproof
