#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/point.h"
#include "core/circuit/circuit.h"

namespace benchproof {

// A circuit diagram as data: where each part stands and which way its wires run. x
// grows to the right, y downwards; a unit is a CSS pixel where the diagram is shown
// unscaled.

struct Box {
  double left = 0.0;
  double top = 0.0;
  double right = 0.0;
  double bottom = 0.0;
};

/// A part's symbol. Symbols stand upright, with their leads above and below; only a
/// controller is a block with pins at its sides.
struct Symbol {
  int part = -1;
  Point at;  ///< The middle.
  /// The first of its two main pins (see main_pins) is below.
  bool is_flipped = false;
  bool is_mirrored = false;  ///< Its side pin is at the right.
  std::vector<Point> pins;   ///< Where wires meet its leads; per pin of the part.
  Box body;                  ///< What is drawn lies within, but for the leads.
  Box words;                 ///< Room for its name, value and current.
  Point mark;                ///< Where the number of a finding stands: the middle.
  Box marks;                 ///< Room for all that may stand there; empty: none do.
};

/// A stretch of wire, level or upright.
struct Wire {
  int net = -1;
  Point from;
  Point to;
};

/// Where wires of a net meet.
struct Dot {
  int net = -1;
  Point at;
};

/// Room for a net's name and voltage. Nets that a chain of parts runs through have one
/// beside the wire.
struct NetLabel {
  int net = -1;
  Box words;
};

/// Every pin of every part stands at one of its net's wires, or is open.
struct Diagram {
  double width = 0.0;
  double height = 0.0;
  std::vector<Symbol> symbols;  ///< One for each part, in their order.
  std::vector<Wire> wires;
  std::vector<Dot> dots;
  std::vector<NetLabel> labels;  ///< One for each net with a pin, in their order.
};

/// What a diagram is made of besides the circuit. Widths as text_width gives them.
struct DiagramNeeds {
  std::vector<double> levels;       ///< Per net: its voltage, for the order. Volt.
  std::vector<double> part_widths;  ///< Per part: of the widest line beside it.
  std::vector<double> net_widths;   ///< Per net: of its name with its voltage.
  /// Per part: how many findings are marked there at once at most.
  std::vector<std::size_t> part_marks;
};

/// The pins between which the main current of a part flows, for the kinds that are no
/// blocks: anode and cathode, collector and emitter, in and out.
struct MainPins {
  int first = 0;
  int second = 1;
  int side = -1;  ///< Base, gate, wiper, common or adjust; -1: there is none.
};
[[nodiscard]] MainPins main_pins(const Part& part);

/// Lays a circuit out by its voltages: nets of many pins as level bars from the highest
/// to the lowest, parts upright between them, chains of parts in one column, supplies
/// at the left and what they feed to the right of them. Columns are ordered for short
/// bars and few crossings by exchanging them as long as that helps. The same input
/// gives the same diagram.
[[nodiscard]] Diagram lay_out(const Circuit& circuit, const DiagramNeeds& needs);

/// Sizes of text. Unit as in diagrams.
inline constexpr double kTextSize = 12.0;
inline constexpr double kLineHeight = 14.0;

/// Findings are marked at a part by numbers in rings, one below the other.
inline constexpr double kMarkSize = 17.0;
inline constexpr std::size_t kMostMarks = 3;  ///< Further ones stand in the list only.

/// Where the mark of that number, counted from 0, stands below the first.
[[nodiscard]] inline Point mark_at(Point first, std::size_t number) {
  if (number > 0) first.y += kMarkSize * static_cast<double>(number) + 5.0;
  return first;
}

/// How wide a text may be at most in a usual font without serifs, at kTextSize. UTF-8;
/// wide letters count as squares.
[[nodiscard]] double text_width(std::string_view text);

/// What is to be known of a diagram's quality.
struct DiagramFlaws {
  std::size_t crossings = 0;  ///< Of wires of different nets.
  /// Pairs of which none may be: symbols on each other or under a wire, words on words,
  /// symbols or wires, wires of different nets along each other.
  std::size_t overlaps = 0;
  std::string first_overlap;  ///< In words, for a test; empty where there is none.
};
[[nodiscard]] DiagramFlaws flaws_of(const Circuit& circuit, const Diagram& diagram);

}  // namespace benchproof
