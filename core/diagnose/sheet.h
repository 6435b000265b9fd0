#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/diagnose/foreseen/meter.h"
#include "core/diagnose/foreseen/predictions.h"
#include "core/fault/fault.h"

namespace benchproof {

/// One line of the sheet to measure by.
struct SheetLine {
  Question question;
  bool is_open = false;         ///< The meter must show "open".
  std::optional<double> least;  ///< The band of a figure that a sound copy shows.
  std::optional<double> most;
  Looks looks = Looks::as_meant;       ///< Of looks: what it must look like.
  std::vector<std::string> parts;      ///< That stand there.
  std::vector<std::size_t> points_to;  ///< Faults that show something else here.
  bool is_worth_taking = false;        ///< One of the fewest that tell all apart.
};

/// What a circuit must show, and which faults each reading points to.
struct Sheet {
  std::vector<Fault> faults;
  /// In the order in which one measures: with the power off, then state by state; along
  /// the current's path.
  std::vector<SheetLine> lines;
  /// What no reading parts from the first of a list; by their indices, -1 is "as
  /// meant". Those that something parts from all others are left out.
  std::vector<std::vector<int>> alike;
  std::size_t classes = 0;  ///< That readings tell apart, "as meant" among them.
};

/// The sheet of a circuit. Lines worth taking: the reading that parts most pairs of
/// classes for its trouble, again and again, until none parts any more (a greedy cover:
/// at most ln n + 1 times as many as the fewest [Johnson 1974]).
[[nodiscard]] Sheet sheet_of(const Circuit& circuit, std::vector<Fault> faults,
                             const Meter& meter, const PredictOptions& options = {});

/// The few readings that together exclude most of what is usually wrong.
struct ShortSheet {
  std::vector<std::size_t> lines;  ///< Of the sheet, in its order.
  double excluded = 0.0;           ///< The share of all faults' weight.
};
[[nodiscard]] ShortSheet after_build(const Sheet& sheet, std::size_t most = 5);

/// The nets of a circuit in the order in which the current comes to them from its
/// sources' plus, ground last: the place of each net.
[[nodiscard]] std::vector<std::size_t> path_order(const Circuit& circuit);

}  // namespace benchproof
