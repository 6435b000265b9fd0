#pragma once

#include <cstddef>
#include <cstdint>
#include <random>
#include <string>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/diagnose/diagnosis.h"
#include "core/fault/fault.h"

namespace benchproof::test {

/// How one simulated repair went.
struct Repair {
  bool can_be_shown = false;  ///< Some reading parts it from "as meant".
  bool is_right = false;      ///< The leading group holds what was built in.
  std::size_t readings = 0;   ///< Taken by the meter, looks not counted.
  std::size_t by_eye = 0;     ///< Halving the path to what looks wrong would take.
  double probability = 0.0;   ///< Of the leading group at the end.
  std::string truth;          ///< The ids of what was built in.
  std::string found;          ///< Of the leading group's first cause.
  /// The readings in words, and what the truth and what was found should show there.
  std::string course;
};

/// A circuit with its faults and all that they show.
struct Bench {
  Circuit circuit;
  std::vector<Fault> faults;
  Meter meter;
  Predictions known;
};

[[nodiscard]] Bench bench_of(Circuit circuit, const Catalogue& catalogue);

/// A copy of the circuit, each of its numbers drawn from its spread.
[[nodiscard]] Circuit drawn_copy(const Circuit& circuit, std::mt19937_64& random);

/// Builds a suspect into a drawn copy, looks at every lamp in every state, and takes
/// the reading that `diagnose` asks for next, each with a drawn error of the meter,
/// until the leading group holds 98 % or nothing is asked for, `most` readings at most.
[[nodiscard]] Repair repair(const Bench& bench, const Suspect& truth, std::size_t most,
                            std::mt19937_64& random);

}  // namespace benchproof::test
