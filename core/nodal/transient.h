#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "core/network/timeline.h"
#include "core/nodal/tableau.h"

namespace benchproof {

/// How exactly a timeline is followed, and how far. SI units.
struct TransientOptions {
  /// A step's error in a capacitor's voltage or an inductor's current is kept below
  /// volts (or amps) + relative * its size. All > 0.
  double relative = 1e-7;
  double volts = 1e-7;
  double amps = 1e-12;
  /// A step's error in a stray's voltage is kept below so many volts + as much times
  /// its size.
  double stray = 1e-6;
  /// How far a net's voltage may be off what the step's earlier stages foretold, as
  /// volts and as a share of itself: keeps steps from passing over bends of nets that
  /// no capacitor holds. > 0.
  double bend = 1e-3;
  /// Steps below this share of the span, and below a hundredth of the way from corner
  /// to corner, are not judged by it. > 0.
  double unjudged = 1.0 / 2000.0;
  double longest = 0.02;  ///< Longest step, as a share of the span. > 0, <= 1.
  /// Rows besides, at so many even parts of the span (0: none), but for steps in which
  /// a straight line from end to end tells every net: then straight lines between rows
  /// are as good as rows.
  std::size_t grid = 0;
  std::size_t points = 2'000'000;  ///< Rows at most.
  /// Work at most: steps of Newton's method times unknowns (and a little for the step
  /// itself). About ten seconds' worth. > 0.
  double work = 1e9;
  Tableau method = esdirk4();
  /// Ends where this first passes its level, with a row there: one that begins on the
  /// far side has to come back before. Its nodes must be nodes. Of all rows the last
  /// two are kept.
  std::optional<Watch> until = {};
};

/// Solves a network in time: the nodal witness of DESIGN's runs.
///
/// Unknowns as at rest (see NodalSolver). Capacitor voltages and inductor currents are
/// carried by a stiffly accurate, L-stable Runge-Kutta method (see Tableau) with the
/// local error of its embedded formula under control; all other unknowns belong to the
/// system of every stage, so that each row obeys every equation. Steps end at every
/// corner of the timeline, and a short backward Euler step after it finds the
/// derivatives of what comes.
///
/// Diodes and transistors hold no charge, here as in the deck: where a state is left by
/// a jump (two transistors that switch each other), it happens within one step.
///
/// A row at a time of `also_at` that is no step's end is as exact as a step's end:
/// capacitors and inductors by cubic interpolation of their values and derivatives at
/// both ends, the rest solved for.
///
/// A timeline that cannot be followed is a result, not an exception: `reason` names the
/// net, the time and what was tried. Rows up to there are kept.
/// @throws std::invalid_argument on options out of range, on a network that breaks the
///         rules of check_network, or on a timeline that breaks those of its
///         declaration; on times in `also_at` that do not rise or lie outside the span.
[[nodiscard]] Waveform solve_nodal(const Timeline& timeline,
                                   const std::vector<double>& also_at = {},
                                   const TransientOptions& options = {});

/// The nodal witness in time; `closer` powers of ten more exact than by default (below
/// 0 less), bends too, and strays where they cannot ring, which are followed less
/// exactly than what rings.
[[nodiscard]] Waveform nodal_in_time(const Timeline& timeline,
                                     const std::vector<double>& also_at, int closer);

/// The nodal witness in time, up to where `watch` passes its level, the last two rows;
/// less exact (3e-7, strays as above where a capacitor holds the voltage), for looking
/// a value up.
[[nodiscard]] Waveform nodal_until(const Timeline& timeline, const Watch& watch);

}  // namespace benchproof
