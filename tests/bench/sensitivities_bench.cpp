// How long all slopes of ten figures take beside the operating point itself. Every
// answer is checked before anything is timed.
//
//   operating_point   solver made before, started without a guess
//   near              solver made before, started at the solution of the network with
//                     one resistor 5 % smaller
//   slopes            of ten figures by all values, at a solution that is there
//
// The figure behind the slash is the number of nets besides ground. Counters: how many
// values there are, and how many operating points all slopes take.

#include <benchmark/benchmark.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <iostream>
#include <stdexcept>
#include <string>
#include <vector>

#include "core/network/differential.h"
#include "core/nodal/nodal_solver.h"
#include "core/nodal/sensitivities.h"
#include "tests/bench/harbour.h"

namespace benchproof::bench {
namespace {

constexpr std::size_t kFigures = 10;

struct Case {
  Network network;
  Network changed;
  Solution solution;
  std::vector<Differential> figures;  ///< Voltages and diodes' currents in turn.
};

Case make_case(int nets) {
  Case c{harbour(nets), {}, {}, {}};
  c.changed = with_one_change(c.network, 0);
  c.solution = solve_nodal(c.network);
  const Structure& s = *c.network.structure;
  for (std::size_t k = 0; k < kFigures; ++k) {
    if (k % 2 == 0) {
      const std::size_t node = 1 + k * (s.nodes.size() - 1) / kFigures;
      c.figures.push_back(differential_of_volts(s, static_cast<int>(node)));
    } else {
      c.figures.push_back(no_differential(s));
      c.figures.back().by_amps.diodes[k * s.diodes.size() / kFigures] = 1.0;
    }
  }
  return c;
}

/// The slope of the figures by one slot, from two solutions.
std::vector<double> differences(const Case& c, const Slot& slot) {
  const auto seen = [&](double share) {
    Network moved = c.network;
    value_at(moved.values, slot) *= share;
    const Solution there = NodalSolver(moved.structure).operating_point(moved);
    std::vector<double> figures;
    for (const Differential& figure : c.figures) {
      double sum = 0.0;
      for (std::size_t k = 0; k < there.volts.size(); ++k)
        sum += figure.by_volts[k] * there.volts[k];
      for (std::size_t k = 0; k < there.currents.diodes.size(); ++k)
        sum += figure.by_amps.diodes[k] * there.currents.diodes[k];
      figures.push_back(sum);
    }
    return figures;
  };
  constexpr double kShare = 1e-4;
  std::vector<double> slopes = seen(1.0 + kShare);
  const std::vector<double> below = seen(1.0 - kShare);
  for (std::size_t f = 0; f < slopes.size(); ++f)
    slopes[f] =
        (slopes[f] - below[f]) / (2.0 * kShare * value_at(c.network.values, slot));
  return slopes;
}

/// Throws unless the slopes by every resistor are those of differences. The difference
/// leaves out the square of its step, 1e-8, and what rounding does to 20 V and 1 A at
/// it: 1e-10 of a value's own size.
void check(const Case& c, const Slopes& slopes) {
  for (std::size_t k = 0; k < c.network.values.ohms.size(); ++k) {
    const Slot slot{ValueList::ohms, k, 0};
    const std::vector<double> by_differences = differences(c, slot);
    const double rounding = 1e-10 / c.network.values.ohms[k];
    for (std::size_t f = 0; f < kFigures; ++f) {
      const double slope = slopes.by(f, slot);
      if (!(std::abs(slope - by_differences[f]) <= 1e-6 * std::abs(slope) + rounding))
        throw std::runtime_error("a wrong slope of " + name_of(slot));
    }
  }
}

void add_benchmarks(const Case& c, int nets) {
  const auto add = [nets](const char* what, auto run) {
    benchmark::RegisterBenchmark(
        (std::string(what) + "/" + std::to_string(nets)).c_str(), run)
        ->Unit(benchmark::kMicrosecond);
  };
  add("operating_point", [&c](benchmark::State& state) {
    NodalSolver solver(c.network.structure);
    for (auto _ : state) benchmark::DoNotOptimize(solver.operating_point(c.network));
  });
  add("near", [&c](benchmark::State& state) {
    NodalSolver solver(c.network.structure);
    for (auto _ : state)
      benchmark::DoNotOptimize(solver.operating_point(c.changed, &c.solution));
  });
  add("slopes", [&c](benchmark::State& state) {
    Sensitivities sensitivities(c.network.structure);
    for (auto _ : state)
      benchmark::DoNotOptimize(sensitivities.at(c.network, c.solution, c.figures));
    state.counters["values"] =
        static_cast<double>(SlotOrder(*c.network.structure).size());
  });
}

int run(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
  std::vector<std::pair<int, Case>> cases;
  for (const int nets : kSizes) cases.emplace_back(nets, make_case(nets));
  for (const auto& [nets, c] : cases) {
    const auto slopes =
        Sensitivities(c.network.structure).at(c.network, c.solution, c.figures);
    if (!slopes) throw std::runtime_error("a network without slopes");
    check(c, *slopes);
    add_benchmarks(c, nets);
  }
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}

}  // namespace
}  // namespace benchproof::bench

int main(int argc, char** argv) {
  try {
    return benchproof::bench::run(argc, argv);
  } catch (const std::exception& error) {
    std::cerr << "no timing without right answers: " << error.what() << '\n';
    return 1;
  }
}
