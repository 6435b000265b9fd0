#include "core/catalogue/figure_names.h"

#include <algorithm>
#include <array>

namespace benchproof {
namespace {

constexpr std::array kNames{
    // Forward curves
    FigureName{"n", Unit::none, "emission coefficient of the forward curve"},
    FigureName{"rs", Unit::ohm, "series resistance of the forward curve"},
    FigureName{"eg_electronvolts", Unit::none, "activation energy"},
    FigureName{"xti", Unit::none, "exponent of the saturation current's rule"},
    FigureName{"drift_volts_per_kelvin", Unit::none, "forward voltage by temperature"},
    FigureName{"drop_max", Unit::volt, "largest published forward voltage"},
    FigureName{"reverse_leak", Unit::ampere, "largest published reverse current"},
    FigureName{"pulse_time", Unit::second, "longest pulse for which `pulse` holds"},
    FigureName{"pulse_duty", Unit::fraction, "largest duty for which `pulse` holds"},
    // Zeners
    FigureName{"test_current", Unit::ampere, "current at which `voltage` holds"},
    FigureName{"voltage_least", Unit::volt, "lowest published zener voltage"},
    FigureName{"voltage_most", Unit::volt, "highest published zener voltage"},
    FigureName{"knee_slope", Unit::ohm, "slope resistance at the knee current"},
    FigureName{"knee_current", Unit::ampere, "current at which `knee_slope` holds"},
    // Transistors
    FigureName{"gain", Unit::none, "current gain of the model, the least published"},
    FigureName{"reverse_gain", Unit::none, "current gain with the junctions exchanged"},
    FigureName{"base_volts", Unit::volt, "base-emitter voltage"},
    FigureName{"base_volts_current", Unit::ampere, "collector current of `base_volts`"},
    FigureName{"saturation_max", Unit::volt, "largest collector-emitter saturation"},
    FigureName{"threshold", Unit::volt, "gate threshold of the model, the highest"},
    FigureName{"threshold_least", Unit::volt, "lowest published gate threshold"},
    FigureName{"on_resistance", Unit::ohm, "drain-source resistance when on"},
    FigureName{"on_gate", Unit::volt, "gate voltage of `on_resistance`"},
    FigureName{"on_current", Unit::ampere, "drain current of `on_resistance`"},
    // Regulators
    FigureName{"output_least", Unit::volt, "lowest published output"},
    FigureName{"output_most", Unit::volt, "highest published output"},
    FigureName{"line", Unit::none, "output change per volt of input, V/V"},
    FigureName{"line_reference", Unit::volt, "input at which `output` holds"},
    FigureName{"difference_max", Unit::volt, "largest difference from in to out"},
    FigureName{"load_min", Unit::ampere, "load needed to hold regulation"},
    FigureName{"adjust_max", Unit::ampere, "largest published adjust pin current"},
    FigureName{"thermal_resistance_case", Unit::kelvin_per_watt, "junction to case"},
    // Controllers
    FigureName{"clamp_limit", Unit::ampere, "largest current through a pin's clamps"},
    FigureName{"leak", Unit::ampere, "largest current of an input or open output"},
    // Leaks of other kinds
    FigureName{"leak_resistance", Unit::ohm, "what an open path still conducts"},
    // Resistors, fuses, wires
    FigureName{"full_power_to", Unit::celsius, "ambient up to which `power` holds"},
    FigureName{"no_power_at", Unit::celsius, "ambient at which no power is left"},
    FigureName{"working_voltage", Unit::volt, "largest continuous voltage"},
    FigureName{"usual_share", Unit::fraction,
               "share of `power` that careful use keeps to"},
    FigureName{"holds_times", Unit::none, "share of `rated` that it carries for ever"},
    FigureName{"opens_times", Unit::none, "share of `rated` at which it opens"},
    FigureName{"resistivity_ohm_metres", Unit::none, "of the conductor at 20 C"},
    FigureName{"resistivity_drift_per_kelvin", Unit::none,
               "its temperature coefficient"},
    // Batteries, per unit of their size (a 9 V block is one)
    FigureName{"open_circuit", Unit::volt, "voltage without load"},
    FigureName{"resistance", Unit::ohm, "internal resistance"},
    FigureName{"current", Unit::ampere, "largest continuous current"},
    FigureName{"pulse", Unit::ampere, "largest pulse current"},
    FigureName{"end_voltage", Unit::volt, "voltage at which it counts as empty"},
    // Ratings that a kind has no key for
    FigureName{"voltage", Unit::volt, "largest voltage"},
    FigureName{"power", Unit::watt, "largest dissipation"},
    FigureName{"thermal_resistance", Unit::kelvin_per_watt, "junction to ambient"},
    FigureName{"junction_max", Unit::celsius, "highest junction temperature"},
};

}  // namespace

std::span<const FigureName> figure_names() { return kNames; }

const FigureName* find_figure_name(std::string_view name) {
  const auto found = std::find_if(kNames.begin(), kNames.end(),
                                  [&](const FigureName& f) { return f.name == name; });
  return found == kNames.end() ? nullptr : &*found;
}

}  // namespace benchproof
