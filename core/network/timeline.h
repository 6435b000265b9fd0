#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/network.h"

namespace benchproof {

/// A point at which a value's course bends.
struct Corner {
  double seconds = 0.0;
  double value = 0.0;
};

/// The course of one element's value: through its corners, held before the first and
/// after the last. Corners are in strictly rising order of time; at least one.
struct Course {
  int element = 0;  ///< Index in its list of Structure.
  std::vector<Corner> corners;
};

/// A network whose values move with time: what both witnesses are given for a run.
struct Timeline {
  Network network;            ///< Structure, and the values just before time 0.
  std::vector<Course> volts;  ///< Of voltage sources. Straight between corners.
  std::vector<Course> amps;   ///< Of current sources. Straight between corners.
  /// Of resistors (switches and outputs): between corners the logarithm of the
  /// resistance is straight, so that a switch passes its decades evenly.
  std::vector<Course> ohms;
  double span = 0.0;  ///< From 0 to here. Second.
  /// How it begins: at rest with the values of `network`, or with these charges (and
  /// whatever follows from them).
  bool from_rest = true;
  std::vector<double> capacitor_volts;  ///< Per capacitor, a against b; unless at rest.
  /// Per inductor, through its inductance from a to b; unless at rest. Strays begin at
  /// what these make of the rest of the network.
  std::vector<double> inductor_amps;
};

/// The value of a course at a time; `by_ratio` for resistors.
[[nodiscard]] double value_at(const Course& course, double seconds, bool by_ratio);

/// Puts what moves to where it is at a time.
void set_values(Values& values, const Timeline& timeline, double seconds);

/// The times of all corners within (0, span), in order, each once.
[[nodiscard]] std::vector<double> corners_of(const Timeline& timeline);

/// What one witness testifies about a timeline. A row holds the voltages of all nodes
/// (ground first), then the currents that voltages alone do not determine: of
/// capacitors, through the inductances of inductors, of voltage sources (a to b through
/// the element), regulators (into `out`, so negative when it delivers) and strays.
struct Waveform {
  SolveStatus status = SolveStatus::no_convergence;
  std::string reason;           ///< Empty when solved.
  std::vector<double> seconds;  ///< Strictly rising, from 0 to the span.
  std::size_t width = 0;        ///< Doubles in a row; see row_width.
  std::vector<double> rows;     ///< seconds.size() * width. Volt, ampere.
  /// Ideal junctions had at least this emission coefficient (see softened).
  double least_emission = 0.0;

  [[nodiscard]] const double* row(std::size_t point) const {
    return rows.data() + point * width;
  }
};

/// Whether coils may ring with capacitances for many periods, so that errors add up.
[[nodiscard]] bool rings(const Structure& structure);

/// Doubles in a row of a structure's waveform.
[[nodiscard]] std::size_t row_width(const Structure& structure);

/// A witness in time. It returns rows for the times it stepped to and for those in
/// `also_at` (rising, within the span).
/// `closer` asks for so many powers of ten less error than usual; below 0 for more.
using SolveInTime = std::function<Waveform(
    const Timeline& timeline, const std::vector<double>& also_at, int closer)>;

/// A voltage between two nodes that passes a level.
struct Watch {
  int node = 0;
  int against = 0;
  double level = 0.0;  ///< Volt.
  bool rising = true;  ///< Upwards, else downwards.
};

/// A witness in time that need not go on once `watch` has passed its level for the
/// first time: the last row is that moment then. Of earlier rows that before it alone
/// need be there.
using SolveUntil =
    std::function<Waveform(const Timeline& timeline, const Watch& watch)>;

/// How one copy of a circuit differs from what is described.
struct Specimen {
  /// Sets a state's numbers to the copy's; null: they are as described.
  std::function<void(State& state)> put = {};
  /// Changes what no number of the description says, in a network lowered in a state
  /// that was put; null: nothing.
  std::function<void(const State& state, Network& network)> touch = {};
};

/// The course of a run: the states of its steps lowered, their outputs and switches
/// changed over kSwitchSeconds, their supplies over the step's rise, PWM played out. A
/// change that begins before an earlier one has ended goes on from the value reached.
///
/// A PWM output begins its periods, with their high part, at the step that enters its
/// state, and keeps to them through later steps that leave its duty and frequency
/// alone; before the first step it is high. kUnpowered is the nearest named state of
/// the run, its past before its future, with every source of power at 0.
/// The reader has seen to it that the run's states differ only in what may move.
/// @throws std::invalid_argument on states of different structure: impossible after
///         reading.
[[nodiscard]] Timeline make_timeline(const Circuit& circuit, const Run& run,
                                     const Specimen& specimen = {});

/// How long an output, a switch or a changed resistance takes from one state to the
/// next.
inline constexpr double kSwitchSeconds = 1e-6;

}  // namespace benchproof
