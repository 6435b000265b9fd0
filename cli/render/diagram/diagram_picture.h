#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "cli/render/verify/report.h"
#include "core/draw/diagram.h"

namespace benchproof {

/// What stands beside a part whatever the state.
struct PartWords {
  std::string name;
  std::string value;  ///< "150 ohm", "warm white"; empty where nothing is told.
};

/// What a state puts beside a part.
struct PartInState {
  std::string current;  ///< "12.3 mA"; of a block what it takes in.
  int direction = 0;    ///< Of the current: 1 downwards, -1 upwards, 0 is not told.
  /// Of lamps: whether they give light to be seen.
  std::optional<bool> is_lit;
  bool is_closed = false;  ///< Of a switch.
};

/// A finding with the number by which a diagram marks it.
struct NumberedFinding {
  std::size_t number = 0;
  Severity severity = Severity::note;
  std::string check;
  std::string words;       ///< What it says.
  std::vector<int> parts;  ///< Where its marks stand ...
  std::vector<int> nets;
};

/// What a diagram shows of a state.
struct StateWords {
  std::string name;
  bool is_known = false;  ///< The witnesses agree; else there are no figures.
  std::vector<PartInState> parts;
  std::vector<std::string> volts;         ///< Per net.
  std::vector<NumberedFinding> findings;  ///< Faults and cautions.
};

/// A circuit's diagram with all that can be shown in it.
struct DiagramPicture {
  Diagram diagram;
  std::vector<PartWords> parts;
  std::vector<StateWords> states;
};

/// The diagram of a circuit that was judged, with room for the figures of all its
/// states. Findings are numbered through all states: one that several have keeps its
/// number.
[[nodiscard]] DiagramPicture picture_of(const FileReport& report);

/// What is beside a part: its value, type or rating, as one would write it.
[[nodiscard]] std::string value_words(const Part& part);

}  // namespace benchproof
