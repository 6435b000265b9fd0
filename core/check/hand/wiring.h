#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/check/hand/by_hand.h"

namespace benchproof {

/// Whether a net is one from which handbooks count: ground, and what a supply, battery,
/// raw source, a regulator's in or out or a chip's supply pins stand on. A rule takes
/// its voltage as the witnesses have it, with what a weak supply loses inside.
[[nodiscard]] bool is_end(const Circuit& circuit, int net);

/// Whether a pin only listens: a MOS transistor's gate, a controller's input.
[[nodiscard]] bool is_listener(const Wiring& wiring, PinRef pin);

/// Whether what listens on a net takes nothing to speak of from a source of that
/// resistance: each leaks through at least a hundred times as much, and a chip's clamps
/// stay out of it between these voltages of the net (nodal volts per net given).
[[nodiscard]] bool are_listeners_idle(const Wiring& wiring, int net, double ohms,
                                      double least, double most,
                                      const std::vector<double>& net_volts);

/// The pins of a net that carry current at rest: no capacitors, no listeners.
[[nodiscard]] std::vector<PinRef> working_pins(const Wiring& wiring, int net);

/// A part that is nothing but a fixed resistance: a resistor of any kind.
[[nodiscard]] bool is_resistor(const Part& part);

/// The resistance of a part of two pins that a handbook takes for one: a resistor, a
/// fuse, a wire (at 20 C), a closed switch, a winding, a load at its rated voltage.
/// Nothing for others. Ohm.
[[nodiscard]] std::optional<double> ohms_of(const Wiring& wiring, int part);

/// Part by part from a pin outward, through nets on which nothing else carries current,
/// to an end or to a controller's output that drives nothing else.
struct Walk {
  struct Step {
    int part = -1;
    int entered = -1;  ///< The pin at which the walk comes into it.
  };
  std::vector<Step> steps;
  std::vector<int> between;  ///< The nets passed, without the end.
  int end = -1;              ///< With an output: the rail that it is joined to.
  double output_ohms = 0.0;  ///< What an output adds.
  bool has_output = false;
};

/// Nothing where a net branches, a pin is open, a part is neither a resistance nor a
/// diode, or after a hundred parts. `except` is a part that counts for nothing (-1 for
/// none).
[[nodiscard]] std::optional<Walk> walk(const Wiring& wiring, PinRef from,
                                       int except = -1);

/// A series connection from one end to another.
struct Chain {
  std::vector<int> parts;    ///< In order, from `from` to `to`.
  std::vector<double> ohms;  ///< Of the resistances among them, in order.
  std::vector<int> diodes;   ///< LEDs and diodes; all conduct from `from` to `to`.
  int resistors = 0;         ///< How many are resistors.
  int from = -1;
  int to = -1;
  double output_ohms = 0.0;  ///< What outputs at its ends add.
  bool has_output = false;
  [[nodiscard]] double total_ohms() const;  ///< With outputs.
};

/// The chain that a part of two pins stands in, in the direction from its first pin to
/// its second; nothing where one of its diodes stands the other way round.
[[nodiscard]] std::optional<Chain> chain_of(const Wiring& wiring, int part);

/// What a walk from a transistor's pin leads through; `outward` where the current flows
/// away from that pin. Nothing where a diode blocks it.
[[nodiscard]] std::optional<Chain> load_of(const Wiring& wiring, const Walk& walk,
                                           bool outward);

/// The constant drops of a chain's diodes, of which every one has one and no slope.
[[nodiscard]] std::optional<std::vector<Figure>> drops_of(const Wiring& wiring,
                                                          const Chain& chain);

// --- texts ---------------------------------------------------------------------------

/// Four digits, without needless zeros.
[[nodiscard]] std::string hand_text(double value, Unit unit);
/// Those of a sum that are a millionth of it at least; no digit of a result shows the
/// others (a closed switch, an ideal winding).
[[nodiscard]] std::vector<double> telling(std::vector<double> values);
/// "220 ohm + 47 ohm"; "3 x 2 V" where all are the same. Those that are telling.
[[nodiscard]] std::string sum_text(const std::vector<double>& values, Unit unit);
/// What sum_text says, in brackets where it is a sum.
[[nodiscard]] std::string bracketed(const std::vector<double>& values, Unit unit);

/// "(12 V - 2 V)", with the drops left out where there are none: "12 V".
[[nodiscard]] std::string over_text(double volts, const std::vector<double>& drops);

/// Below this share of the drops nothing certain is left for the resistor: there a
/// drop that is taken as constant decides over everything. Common practice, no source.
inline constexpr double kLeastRoom = 0.1;

/// Puts into a result what both witnesses have.
template <typename Function>
void put_witnesses(HandResult& result, const HandInput& input, Function&& see) {
  result.engine = see(input.engine);
  result.nodal = see(input.nodal);
}

/// What a figure adds to a handbook's source and mark: the weaker mark holds.
void cite(HandResult& result, std::string_view symbol, const Figure& figure);

}  // namespace benchproof
