#include "core/catalogue/figure_names.h"

#include <algorithm>
#include <array>
#include <utility>

namespace benchproof {
namespace {

constexpr std::array kNames{
    // Forward curves
    FigureName{"n", Unit::none, "emission coefficient of the forward curve", 0.1, true,
               10},
    FigureName{"rs", Unit::ohm, "series resistance of the forward curve", 0, true, 1e9},
    FigureName{"eg_electronvolts", Unit::none, "activation energy", 0.1, true, 10},
    FigureName{"xti", Unit::none, "exponent of the saturation current's rule", 0, true,
               50},
    FigureName{"drift_volts_per_kelvin", Unit::none, "forward voltage by temperature",
               -1, true, 1},
    FigureName{"drop_max", Unit::volt, "largest published forward voltage", 0, false,
               1e4},
    FigureName{"reverse_leak", Unit::ampere, "largest published reverse current"},
    // Zeners
    FigureName{"test_current", Unit::ampere, "current at which `voltage` holds", 1e-9,
               true, 1e6},
    FigureName{"voltage_drift_per_kelvin", Unit::none,
               "change of `voltage` with temperature, as a share of it", -0.002, true,
               0.002},
    FigureName{"knee_slope", Unit::ohm, "slope resistance at the knee current"},
    FigureName{"knee_current", Unit::ampere, "current at which `knee_slope` holds",
               1e-9, true, 1e6},
    // Transistors
    FigureName{"gain", Unit::none, "current gain of the model, the least published",
               1e-3, true, 1e6},
    FigureName{"gain_current", Unit::ampere, "collector current of `gain`"},
    FigureName{"reverse_gain", Unit::none, "current gain with the junctions exchanged",
               1e-3, true, 1e6},
    FigureName{"base_volts", Unit::volt, "base-emitter voltage", 0, false, 1e4},
    FigureName{"base_volts_current", Unit::ampere, "collector current of `base_volts`"},
    FigureName{"saturation_max", Unit::volt, "largest collector-emitter saturation", 0,
               false, 1e4},
    FigureName{"threshold", Unit::volt, "gate threshold of the model, the highest", 0,
               false, 1e4},
    FigureName{"on_resistance", Unit::ohm, "drain-source resistance when on"},
    FigureName{"on_gate", Unit::volt, "gate voltage of `on_resistance`", 0, false, 1e4},
    FigureName{"on_current", Unit::ampere, "drain current of `on_resistance`"},
    // Regulators
    FigureName{"line", Unit::none, "output change per volt of input, V/V", -1, true, 1},
    FigureName{"line_reference", Unit::volt, "input at which `output` holds", 0, true,
               1e4},
    FigureName{"difference_max", Unit::volt, "largest difference from in to out", 0,
               false, 1e4},
    FigureName{"load_min", Unit::ampere, "load needed to hold regulation", 0, true,
               1e6},
    FigureName{"adjust_max", Unit::ampere, "largest published adjust pin current"},
    FigureName{"input_capacitor", Unit::farad, "capacitor asked for at the input"},
    FigureName{"output_capacitor", Unit::farad, "capacitor asked for at the output"},
    FigureName{"output_esr", Unit::ohm,
               "series resistance that the output's capacitor has at least"},
    FigureName{"thermal_resistance_case", Unit::kelvin_per_watt, "junction to case"},
    // Controllers
    FigureName{"clamp_limit", Unit::ampere, "largest current through a pin's clamps"},
    FigureName{"leak", Unit::ampere, "largest current of an input or open output"},
    // Leaks of other kinds
    FigureName{"leak_resistance", Unit::ohm, "what an open path still conducts", 1,
               true, 1e15},
    // Resistors, fuses, wires
    FigureName{"full_power_to", Unit::celsius, "ambient up to which `power` holds",
               -100, true, 1000},
    FigureName{"no_power_at", Unit::celsius, "ambient at which no power is left", -100,
               true, 1000},
    FigureName{"working_voltage", Unit::volt, "largest continuous voltage", 0, false,
               1e4},
    FigureName{"usual_share", Unit::fraction,
               "share of `power` that careful use keeps to", 0, false, 1},
    FigureName{"holds_times", Unit::none, "share of `rated` that it carries for ever"},
    FigureName{"opens_times", Unit::none, "share of `rated` at which it opens"},
    FigureName{"resistivity_ohm_metres", Unit::none, "of the conductor at 20 C"},
    FigureName{"resistivity_drift_per_kelvin", Unit::none,
               "its temperature coefficient"},
    // Batteries, per unit of their size (a 9 V block is one)
    FigureName{"open_circuit", Unit::volt, "voltage without load", 0, false, 1e4},
    FigureName{"resistance", Unit::ohm, "internal resistance", 0, true, 1e9},
    FigureName{"current", Unit::ampere, "largest continuous current"},
    FigureName{"pulse", Unit::ampere, "largest pulse current"},
    FigureName{"end_voltage", Unit::volt, "voltage at which it counts as empty", 0,
               false, 1e4},
    // Loads
    FigureName{"start_current", Unit::ampere, "current when it is switched on"},
    // Ratings that a kind has no key for
    FigureName{"voltage", Unit::volt, "largest voltage"},
    FigureName{"power", Unit::watt, "largest dissipation"},
    FigureName{"thermal_resistance", Unit::kelvin_per_watt, "junction to ambient"},
    FigureName{"junction_max", Unit::celsius, "highest junction temperature", 0, true,
               500},
};

constexpr std::array kCurves{
    CurveName{"gains",
              {"IC", Unit::ampere},
              {"VCE", Unit::volt},
              {"hFE"},
              "least published current gain"},
    CurveName{"saturations",
              {"IC", Unit::ampere},
              {"IB", Unit::ampere},
              {"VCE", Unit::volt},
              "largest published saturation voltage"},
    CurveName{"on_resistances",
              {"VGS", Unit::volt},
              {"ID", Unit::ampere},
              {"RDS", Unit::ohm},
              "largest published resistance when on"},
    CurveName{"dropouts",
              {"IO", Unit::ampere},
              {},
              {"VI - VO", Unit::volt},
              "dropout by load"},
    CurveName{"quiescents",
              {"IO", Unit::ampere},
              {},
              {"IQ", Unit::ampere},
              "current that it draws itself by load"},
    CurveName{"capacities",
              {"I", Unit::ampere},
              {},
              {"C", Unit::ampere_hour},
              "capacity by load"},
    CurveName{"resistances",
              {"rated", Unit::ampere},
              {},
              {"R", Unit::ohm},
              "cold resistance by rated current"},
};

constexpr std::string_view kLeast = "_least";
constexpr std::string_view kMost = "_most";

}  // namespace

std::span<const FigureName> figure_names() { return kNames; }

const FigureName* find_figure_name(std::string_view name) {
  const auto found = std::find_if(kNames.begin(), kNames.end(),
                                  [&](const FigureName& f) { return f.name == name; });
  return found == kNames.end() ? nullptr : &*found;
}

std::span<const CurveName> curve_names() { return kCurves; }

const CurveName* find_curve_name(std::string_view name) {
  const auto found = std::find_if(kCurves.begin(), kCurves.end(),
                                  [&](const CurveName& c) { return c.name == name; });
  return found == kCurves.end() ? nullptr : &*found;
}

std::optional<FigureBound> figure_bound(std::string_view name) {
  for (const auto& [end, is_least] : {std::pair{kLeast, true}, std::pair{kMost, false}})
    if (name.size() > end.size() && name.ends_with(end))
      return FigureBound{name.substr(0, name.size() - end.size()), is_least};
  return std::nullopt;
}

}  // namespace benchproof
