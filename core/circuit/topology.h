#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/circuit/circuit.h"

namespace benchproof {

/// The net at the other pin of a two-pin part, -1 where that is open.
[[nodiscard]] int other_net(const Part& part, int net);

/// Pins on a net that are not a capacitor's: those that carry current at rest.
[[nodiscard]] std::vector<PinRef> resting_pins(const Circuit& circuit, int net);

/// A controller's pins: its supply, its common, and from where its outputs and inputs
/// stand.
inline constexpr int kVdd = 0;
inline constexpr int kVss = 1;
inline constexpr int kFirstPin = 2;

/// What a strong pin has between it and its rail. Common practice, no source: 25 to 40
/// ohm in many chips. The figures of the classes are those of the weakest published
/// pins, so that voltages come out low, and currents too: whether something bears a
/// pin's current is asked of a strong one as well. Ohm.
inline constexpr double kStrongOhms = 25.0;

/// Whether a controller's pin is one of its outputs.
[[nodiscard]] bool is_output_pin(const Part& chip, int pin);

/// Whether a controller's pin is an input that measures a voltage.
[[nodiscard]] bool is_analogue_pin(const Part& chip, int pin);

/// Whether a net is ground, or the zero of a group of nets of its own.
[[nodiscard]] bool is_zero(const Circuit& circuit, int net);

/// Whether a net's voltage is held by a source or regulator, whatever is drawn: ground,
/// a pin of a regulated supply or raw voltage source whose other pin is on ground, the
/// output of a fixed regulator whose common pin is.
[[nodiscard]] bool is_held(const Circuit& circuit, const std::vector<Part>& parts,
                           int net);

/// Whether a net belongs to the circuit's supply: ground, and any net with a pin of a
/// supply, battery, raw voltage source or regulator, or of a controller's vdd or vss.
[[nodiscard]] bool is_rail(const Circuit& circuit, int net);

/// Whether nothing stands on a net but polarised capacitors, two at least: they are in
/// series, and what they leak says where it lies.
[[nodiscard]] bool is_between_electrolytics(const Circuit& circuit, int net);

/// Whether a part is a polarised capacitor that stands on such a net.
[[nodiscard]] bool is_in_series_electrolytic(const Circuit& circuit, const Part& part);

/// Whether it meets the others there by the same pole, as one without polarity: one of
/// them is in reverse and conducts, and the other gets all of the voltage.
[[nodiscard]] bool is_back_to_back(const Circuit& circuit, const Part& part);

/// A part that passes current both ways between its two pins, and does not switch it: a
/// resistor of any kind, fuse, wire, inductor, lamp, motor, coil or buzzer.
[[nodiscard]] bool is_passage(KindId kind);

/// A lamp, motor, coil or buzzer: a part that works at a rated voltage.
[[nodiscard]] bool is_load(KindId kind);

/// The index of a net by its name, or by one that it has within a block; -1 where there
/// is none.
[[nodiscard]] int find_net(const Circuit& circuit, std::string_view name);

/// +1 for an NPN or N-channel transistor or a positive regulator, -1 for a PNP or
/// P-channel one or a negative one: forward voltages and currents times this are
/// positive.
[[nodiscard]] double polarity(const Part& part);

/// The model of a MOS transistor, as written or its type's; null where there is none.
[[nodiscard]] const MosModel* mos_model(const Part& part);

/// The largest resistance that a MOS transistor's sheet allows it when on, at a gate
/// voltage: that of the highest published one which its gate has. Nothing below all of
/// them, and of a model. `gate_volts` is a magnitude.
[[nodiscard]] std::optional<Figure> sheet_on_resistance(const Part& part,
                                                        double gate_volts);

/// Whether a switch is closed in a state.
[[nodiscard]] bool is_closed(const State& state, int part);

/// A resistor and an LED in series, and nothing else at the net between them, from a
/// held net to a held net; one of the two may be a controller's output instead.
struct SeriesLed {
  int led = -1;
  int resistor = -1;
  int from = -1;  ///< Net at the anode's end: that of the resistor or of the LED.
  int to = -1;    ///< Net at the cathode's end.
  PinRef output;  ///< The output pin that drives it, if one does.
  int output_rail = -1;    ///< The net (vdd or vss) that it is joined to, if one does.
  double output_ohms = 0;  ///< What lies between.
};

/// The chain that an LED stands in, in a state without PWM, or nothing.
[[nodiscard]] std::optional<SeriesLed> series_led(const Circuit& circuit,
                                                  const std::vector<Part>& parts,
                                                  const State& phase, int led);

/// What stands in one row with an LED, with nothing but LEDs and diodes across it at
/// the nets between.
struct LedRow {
  double ohms = 0.0;    ///< Of resistors, trimmers from end to end, and lamps.
  bool blocks = false;  ///< A diode of its direction keeps a reverse voltage off it.
};
[[nodiscard]] LedRow row_of_led(const Circuit& circuit, int led);

/// Whether an LED or diode stands across an LED the other way round, and conducts
/// before its reverse voltage gets high.
[[nodiscard]] bool is_antiparallel(const Circuit& circuit, int led);

/// The forward drop that a part's type publishes for its test current, or the drop that
/// it was given. Nothing for a model.
[[nodiscard]] std::optional<Figure> published_drop(const Part& part);

/// The diode model of a diode, zener or LED, as written or its type's. Nothing for a
/// constant drop.
[[nodiscard]] std::optional<DiodeModel> diode_model(const Part& part);

/// Whether a circuit has a raw source: a textbook's, without wires, to which nobody
/// solders a capacitor.
[[nodiscard]] bool is_textbook(const Circuit& circuit);

/// The capacitors from a net to a rail, those behind a fuse, wire or switch included.
[[nodiscard]] std::vector<int> rail_capacitors(const Circuit& circuit, int net);

/// What they come to. Farad.
[[nodiscard]] double rail_farads(const Circuit& circuit, int net);

}  // namespace benchproof
