#pragma once

#include <string>

// A lamp at a bollard and its board, for all tests that need a small one. Invented.

namespace benchproof {

inline const std::string kBollard = R"(title = "Bollard"
[parts]
feed = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
load = { kind = "resistor", value = "470R", power = "0.25 W" }
lamp = { kind = "led", colour = "red" }
[nets]
rail = ["feed.plus", "load.a"]
mid  = ["load.b", "lamp.anode"]
ground = ["feed.minus", "lamp.cathode"]
)";

/// The holes of its parts on pads: the supply's wires start beside the resistor.
inline const std::string kBollardPlaces = R"(feed = { plus = "B2", minus = "D2" }
load = { a = "B3", b = "B7" }
lamp = { anode = "B8", cathode = "D8" }
)";

/// One join of a board.
inline std::string join_text(const std::string& from, const std::string& to,
                             const std::string& as) {
  return "[[board.joins]]\nfrom = \"" + from + "\"\nto = \"" + to + "\"\nas = \"" + as +
         "\"\n";
}

/// Two bridges and a wire.
inline const std::string kBollardJoins = join_text("B2", "B3", "bridge") +
                                         join_text("B7", "B8", "bridge") +
                                         join_text("D2", "D8", "wire");

/// Twelve columns by eight rows of pads, with these places and joins, and further keys.
inline std::string bollard_board(const std::string& places = kBollardPlaces,
                                 const std::string& joins = kBollardJoins,
                                 const std::string& keys = "") {
  return "[board]\nkind = \"pads\"\ncolumns = 12\nrows = 8\n" + keys +
         "[board.places]\n" + places + joins;
}

}  // namespace benchproof
