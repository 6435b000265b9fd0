// How long a power-up takes either witness, by method and tolerance, and how far off it
// then is. Every answer is checked before anything is timed.
//
//   nodal_transient/METHOD/n       relative = 10^-n
//   engine_transient/METHOD/n/m    reltol = 10^-n, trtol * reltol = 10^-m
//
// The engine's time is that of a request: its deck made, sent, run, and the points read
// back, with the worker running already. Its error is that of its own points.
//
// Counters: points, and the largest error of what capacitors hold, in volt, against
// the same circuit solved a hundred times more exactly than the finest of them. The
// method that is faster at the same error is the default of TransientOptions.

#include <benchmark/benchmark.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <iostream>
#include <memory>
#include <stdexcept>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "core/network/timeline.h"
#include "core/nodal/tableau.h"
#include "core/nodal/transient.h"
#include "spice/session/engine_session.h"
#include "spice/session/witness.h"
#include "tests/bench/harbour.h"

namespace benchproof::bench {
namespace {

constexpr double kSpan = 0.2;

/// The harbour of `nets` nets with a capacitor of 220 uF behind its guard diode and one
/// of 22 uF on its rail (0.2 and 0.5 ohm in series), switched on within 2 ms.
Timeline power_up(int nets) {
  Timeline t;
  t.network = harbour(nets);
  Structure s = *t.network.structure;
  Values& v = t.network.values;
  const int raw = s.regulators.front().ends[0];
  const int rail = s.regulators.front().ends[2];
  for (const auto& [node, ohms, farads] :
       {std::tuple{raw, 0.2, 220e-6}, std::tuple{rail, 0.5, 22e-6}}) {
    const int inner = static_cast<int>(s.nodes.size());
    s.nodes.push_back("capacitor" + std::to_string(inner) + ":inner");
    s.resistors.push_back({node, inner, {}});
    v.ohms.push_back(ohms);
    s.capacitors.push_back({inner, 0, {}});
    v.farads.push_back(farads);
  }
  const double volts = std::exchange(v.volts.front(), 0.0);
  t.network.structure = std::make_shared<const Structure>(std::move(s));
  t.volts = {{0, {{0.0, 0.0}, {2e-3, volts}}}};
  t.span = kSpan;
  return t;
}

/// What the capacitors hold: the regulator's input and its output. Nets that only leak
/// (LEDs above a transistor that is off) are left out of the errors: there the engine's
/// `abstol`, which its steps do not depend on, leaves some millivolts.
std::vector<std::size_t> held_nodes(const Timeline& t) {
  const auto& ends = t.network.structure->regulators.front().ends;
  return {static_cast<std::size_t>(ends[0]), static_cast<std::size_t>(ends[2])};
}

TransientOptions options_of(const Tableau& method, double relative) {
  TransientOptions o;
  o.relative = relative;
  o.volts = relative;
  o.amps = 1e-3 * relative;
  o.method = method;
  return o;
}

/// Evenly over the span, and as many within its first fortieth.
std::vector<double> checked_times() {
  std::vector<double> times;
  for (int k = 0; k < 700; ++k) {
    times.push_back(kSpan * (k + 0.3) / 700);
    times.push_back(kSpan / 40 * (k + 0.7) / 700);
  }
  std::sort(times.begin(), times.end());
  return times;
}

/// Voltages of the held nodes at the checked times, one row after the other.
std::vector<double> voltages(const Timeline& t, const TransientOptions& options) {
  const std::vector<double> times = checked_times();
  const Waveform w = solve_nodal(t, times, options);
  if (w.status != SolveStatus::solved) throw std::runtime_error(w.reason);
  std::vector<double> rows;
  std::size_t at = 0;
  for (const double seconds : times) {
    while (w.seconds[at] < seconds) ++at;
    for (const std::size_t node : held_nodes(t)) rows.push_back(w.row(at)[node]);
  }
  return rows;
}

void time_transient(benchmark::State& state, const Timeline& t,
                    const TransientOptions& options, double error) {
  std::size_t points = 0;
  for (auto _ : state) {
    const Waveform w = solve_nodal(t, {}, options);
    points = w.seconds.size();
    benchmark::DoNotOptimize(w.rows.data());
  }
  state.counters["points"] = static_cast<double>(points);
  state.counters["error_volts"] = error;
}

/// The largest error of the engine at its own times, against the nodal reference there.
double error_of(const Timeline& t, const Waveform& engine) {
  if (engine.status != SolveStatus::solved) throw std::runtime_error(engine.reason);
  const Waveform fine = solve_nodal(t, engine.seconds, options_of(esdirk4(), 1e-10));
  if (fine.status != SolveStatus::solved) throw std::runtime_error(fine.reason);
  double error = 0.0;
  std::size_t at = 0;
  for (std::size_t k = 0; k < engine.seconds.size(); ++k) {
    while (fine.seconds[at] < engine.seconds[k]) ++at;
    for (const std::size_t node : held_nodes(t)) {
      error = std::max(error, std::abs(engine.row(k)[node] - fine.row(at)[node]));
    }
  }
  return error;
}

void add_engine_cases(EngineSession& session, const Timeline& t, int nets) {
  using Method = TransientDeckOptions::Method;
  for (const auto& [name, method] :
       {std::pair{"trap", Method::trapezoidal}, std::pair{"gear", Method::gear}}) {
    for (const auto& [newton, step] :
         {std::pair{4, 3}, std::pair{6, 5}, std::pair{8, 6}, std::pair{8, 7},
          std::pair{8, 8}}) {
      TransientDeckOptions options;
      options.method = method;
      options.reltol = std::pow(10.0, -newton);
      options.trtol = std::pow(10.0, newton - step);
      const Waveform once = solve_with_engine(session, t, options);
      const double error = error_of(t, once);
      benchmark::RegisterBenchmark(
          ("engine_transient/" + std::string(name) + "/" + std::to_string(newton) +
           "/" + std::to_string(step) + "/nets:" + std::to_string(nets))
              .c_str(),
          [&session, t, options, error,
           points = once.seconds.size()](benchmark::State& state) {
            for (auto _ : state) {
              const Waveform w = solve_with_engine(session, t, options);
              benchmark::DoNotOptimize(w.rows.data());
            }
            state.counters["points"] = static_cast<double>(points);
            state.counters["error_volts"] = error;
          })
          ->Unit(benchmark::kMillisecond)
          ->UseRealTime();
    }
  }
}

void add_cases(EngineSession& session, int nets) {
  const Timeline t = power_up(nets);
  add_engine_cases(session, t, nets);
  const std::vector<double> fine = voltages(t, options_of(esdirk4(), 1e-10));
  for (const auto& [name, method] :
       {std::pair{"esdirk4", esdirk4()}, std::pair{"tr_bdf2", tr_bdf2()}}) {
    for (int digits = 3; digits <= 8; ++digits) {
      const TransientOptions options = options_of(method, std::pow(10.0, -digits));
      const std::vector<double> rows = voltages(t, options);
      double error = 0.0;
      for (std::size_t k = 0; k < fine.size(); ++k) {
        error = std::max(error, std::abs(rows[k] - fine[k]));
      }
      // A hundredth of the swing is not to be called a solution.
      if (!(error < 0.12)) throw std::runtime_error("a power-up that is far off");
      benchmark::RegisterBenchmark(
          ("nodal_transient/" + std::string(name) + "/" + std::to_string(digits) +
           "/nets:" + std::to_string(nets))
              .c_str(),
          [t, options, error](benchmark::State& state) {
            time_transient(state, t, options, error);
          })
          ->Unit(benchmark::kMillisecond);
    }
  }
}

}  // namespace
}  // namespace benchproof::bench

int main(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
  benchproof::EngineSession session;
  try {
    benchproof::bench::add_cases(session, 13);
  } catch (const std::exception& failure) {
    std::cerr << failure.what() << "\n";
    return 1;
  }
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}
