#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "core/network/network.h"
#include "spice/deck/detail/deck_lines.h"

namespace benchproof::deck_lines {

/// Adds the k-th regulator (from 0): the equation of core/device/regulator.h.
///
/// At rest its pass element is one behavioural source (b) from in to an inner node p,
/// followed by a 0 V source (vp) that tells its current; what it needs for itself (bq
/// or iq) flows through another (vq). What the output is set to comes from nodes e and
/// m (below): in one expression the engine would read, and derive, each part of it
/// several times, which took it a seventh of a small circuit's time.
///
/// In time, where a source is evaluated ten thousand times, all that is linear is said
/// by the engine's own elements, and each smooth corner is a source of one voltage, at
/// which it is evaluated only near the corner. The parts of the equation are currents
/// into nodes with 1 ohm:
///
///   e   how far the input is above what is needed to hold the output: head - set
///   m   low(set, head), which may be below 0 V
///   t   out - common
///   l   in uA, by how much the current is below its limit; 1 Mohm
///
/// Source e holds the output at v(t), fi takes its current from the input. One that
/// follows its input needs only l, and is a source (b) from in to out.
void add_regulator(std::vector<std::string>& lines, std::size_t k, const ThreeEnds& e,
                   const RegulatorModel& m, Analysis analysis);

/// The vector that tells in time what flows from in to out.
[[nodiscard]] std::string passed_in_time(std::size_t k, const RegulatorModel& m);

}  // namespace benchproof::deck_lines
