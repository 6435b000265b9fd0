#pragma once

#include <vector>

#include "core/network/timeline.h"

namespace benchproof::test {

/// A timeline that starts unpowered (every source at 0), solved by IDA (see
/// IdaIntegrator). It shares the element equations of core/network/equations.h with the
/// nodal witness and nothing else: no method, no matrix, no iteration, no step control.
///
/// Unknowns: voltages of all nodes but ground, currents of voltage sources and
/// inductors, what each regulator (which needs a resistance) drops, then each
/// capacitor's voltage and current. Every capacitor needs a resistance in series with
/// it (index 1).
///
/// `times` rise within the span. Returns the node voltages, ground first, at each.
/// @throws std::runtime_error if IDA gives up.
[[nodiscard]] std::vector<std::vector<double>> solve_by_ida(
    const Timeline& timeline, const std::vector<double>& times, double relative,
    double absolute);

}  // namespace benchproof::test
