#include "core/sizing/detail/measure.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>
#include <vector>

#include "core/check/expect/expectations.h"
#include "core/network/edits.h"
#include "core/network/record.h"
#include "core/network/unlimited.h"

namespace benchproof {
namespace {

constexpr double kNoAnswer = std::numeric_limits<double>::quiet_NaN();
constexpr double kNotReached = std::numeric_limits<double>::infinity();

/// The resistance between two nodes at the operating point of a network, the last
/// current source of which is a probe there: a milliampere at most is sent through, one
/// way and the other. Ohm.
double resistance_across(Network& probed, int a, int b, const Solve& witness) {
  const auto volts = [&](double amps) {
    probed.values.amps.back() = amps;
    const Solution solution = witness(probed);
    if (solution.status != SolveStatus::solved) return kNoAnswer;
    return solution.volts[a] - solution.volts[b];
  };
  // So little that no junction bends, so much that no rounding shows.
  constexpr double kFirstAmps = 1e-9;
  constexpr double kProbeVolts = 1e-4;
  const double first =
      std::abs(volts(kFirstAmps) - volts(-kFirstAmps)) / (2.0 * kFirstAmps);
  if (!(first > 0.0)) return first;
  const double amps = std::min(kProbeVolts / first, 1e-3);
  return std::abs(volts(amps) - volts(-amps)) / (2.0 * amps);
}

/// What a goal in a run waits for; the first nodes are the nets.
Watch watch_of(const Goal& goal) {
  const Reaches& reaches = *goal.subject.reaches;
  return {goal.subject.net, std::max(goal.subject.to, 0), reaches.level,
          reaches.rising};
}

}  // namespace

std::optional<double> figure_seen(const Goal& goal, const CheckInput& input) {
  if (goal.measure == Goal::Measure::time_constant) return std::nullopt;
  const double value = quantity_of(input, goal.subject);
  if (is_delivered(input.circuit, goal)) return -value;
  if (goal.measure != Goal::Measure::brightness) return value;
  return value / *number_of(input.parts[goal.subject.part], "current");
}

bool RestFigure::has_one_solution() const {
  const Structure& s = *posed_.structure();
  return s.bipolars.empty() && s.mosfets.empty() && s.regulators.empty();
}

double RestFigure::by(const Solve& witness) {
  if (goal_.measure == Goal::Measure::time_constant) return time_constant(witness);
  const Sight sight = sight_of(posed_, witness, PinsRead::weak);
  if (!sight.seen) return kNoAnswer;
  return *figure_seen(goal_, check_input(posed_, *sight.seen));
}

/// In the first phase of the state.
double RestFigure::time_constant(const Solve& witness) {
  const Network& network = posed_.phases().front().network;
  const Part& part = posed_.parts()[goal_.subject.part];
  const auto farads = number_of(part, "value");
  const int a = part.nets[0];
  const int b = part.nets[1];
  if (!unlimited_loop(network).empty() || !farads || a < 0 || b < 0) return kNoAnswer;
  Network probed = with_probe(network, a, b);
  // One structure for all values, so that solvers keep their work.
  if (unprobed_ != network.structure)
    probed_ = probed.structure;
  else
    probed.structure = probed_;
  unprobed_ = network.structure;
  return *farads * resistance_across(probed, a, b, witness);
}

double time_reached(const Goal& goal, const Waveform& waveform) {
  if (waveform.status != SolveStatus::solved) return kNoAnswer;
  const Watch watch = watch_of(goal);
  Trace trace{&waveform.seconds, {}};
  for (std::size_t k = 0; k < waveform.seconds.size(); ++k) {
    const double* row = waveform.row(k);
    trace.values.push_back(row[watch.node] - row[watch.against]);
  }
  const std::vector<double> times = crossings(trace, watch.level, watch.rising);
  return times.empty() ? kNotReached : times.front();
}

double time_reached(const Goal& goal, const Circuit& circuit, const SolveUntil& witness,
                    double within) {
  Timeline timeline = make_timeline(circuit, circuit.runs[goal.subject.run]);
  timeline.span = std::min(timeline.span, within);
  return time_reached(goal, witness(timeline, watch_of(goal)));
}

}  // namespace benchproof
