#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/circuit/readings/readings.h"
#include "core/diagnose/foreseen/meter.h"
#include "core/diagnose/foreseen/predictions.h"
#include "core/diagnose/ranking.h"
#include "core/fault/fault.h"
#include "core/network/network.h"

namespace benchproof {

/// One thing that explains the readings: no fault ("as meant"), one, or two.
struct Cause {
  Suspect suspect;
  double probability = 0.0;
};

/// Causes that the readings so far cannot part.
struct LikelyGroup {
  std::vector<Cause> causes;  ///< The most probable first.
  double probability = 0.0;
  std::vector<std::size_t> misfits;  ///< Readings that only a slip explains.
  /// Whether both witnesses say so of the first cause; nothing where nobody asked them.
  std::optional<bool> confirmed;
};

/// What a group would make a reading show.
struct WouldShow {
  std::size_t group = 0;
  bool is_open = false;
  std::optional<double> least;  ///< Nothing where the meter shows "open", or of looks.
  std::optional<double> most;
  std::optional<Looks> looks;
};

/// The reading that is expected to tell most for its trouble.
struct NextReading {
  Question question;
  double bits = 0.0;      ///< That it is expected to tell.
  bool is_again = false;  ///< It was taken already, and is to be looked at once more.
  std::vector<WouldShow> would_show;  ///< Of the leading groups.
};

/// What the readings say.
struct Diagnosis {
  std::vector<Fault> faults;  ///< All single faults that were looked at.
  std::size_t readings = 0;   ///< That tell something.
  /// The first group explains all readings, or, of three or more, all but one; and says
  /// something of half of them at least.
  bool explained = false;
  bool looked_at_pairs = false;     ///< No single fault explains all readings.
  std::vector<LikelyGroup> groups;  ///< The most probable first.
  /// What to do at once, before any further reading, which then is one without power: a
  /// part is hot, or a voltage is there that no source has.
  std::vector<std::string> dangers;
  std::optional<NextReading> next;  ///< Nothing where none is worth its trouble.
};

struct DiagnoseOptions {
  PredictOptions predict = {};
  std::size_t most_pairs = 2000;  ///< Of the pairs that may explain, the likeliest.
  bool wants_next = true;
  /// What all single faults show at all questions, where that is known already (see
  /// foreseen); else what is needed is predicted.
  const Predictions* known = nullptr;
};

/// How probable it is, before any reading, that nothing is wrong; and of two faults at
/// once, where there is one. Common practice, no source.
inline constexpr double kAsMeant = 0.05;
inline constexpr double kTwoFaults = 0.05;

/// Ranks what may be wrong with a circuit by readings of it: the usual weight of each
/// single fault times the likelihood of the readings; pairs too, where a single fault
/// leaves a reading that only a slip explains, or is nearly sure: another one may hide
/// behind it. `faults` are those of `faults_of`.
[[nodiscard]] Diagnosis diagnose(const Circuit& circuit, std::vector<Fault> faults,
                                 const Meter& meter,
                                 std::span<const TakenReading> readings,
                                 const DiagnoseOptions& options = {});

/// Has the engine, too, predict the readings with the first cause of each leading group
/// built in (three groups at most, of 5 % or more), and notes whether it comes to the
/// same as the nodal witness: volts to 10 uV, amperes to 10 nA, ohms to 1 mohm, each
/// and 1e-5; looks and "open" alike. Where neither has a solution they are of one mind,
/// too.
void confirm(const Circuit& circuit, const Meter& meter,
             std::span<const TakenReading> readings, const Solve& engine,
             Diagnosis& diagnosis);

/// What "as meant" and each fault alone show at every question there is.
[[nodiscard]] Predictions foreseen(const Circuit& circuit,
                                   std::span<const Fault> faults, const Meter& meter,
                                   const PredictOptions& options = {});

/// The faults of a cause, none to two.
[[nodiscard]] std::vector<const Fault*> faults_in(const Diagnosis& diagnosis,
                                                  const Suspect& suspect);

}  // namespace benchproof
