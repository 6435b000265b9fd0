// How many copies of a circuit are solved in a second, one after the other and side by
// side, on one core: six lamps on five outputs of a controller behind a regulator
// (lamps.toml), one lamp with its resistor on a supply, and harbours (harbour.h). Of
// each copy the resistors are within 5 %, by a counter. Every copy's voltages are
// checked against the scalar solver before anything is timed.

#include <benchmark/benchmark.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "core/circuit/read/reader.h"
#include "core/network/lower.h"
#include "core/nodal/batch.h"
#include "core/nodal/nodal_solver.h"
#include "tests/bench/harbour.h"
#include "tests/files.h"

namespace benchproof::bench {
namespace {

Network read(const std::string& text, const std::string& name) {
  static const Catalogue catalogue = built_in_catalogue();
  ReadResult read = read_circuit(text, name, catalogue);
  if (!read.circuit) throw std::runtime_error(name + " is not a circuit");
  return lower(*read.circuit,
               phases(*read.circuit, read.circuit->states.front()).front().state);
}

/// Resistances between 50 ohm and 5 kohm, within 5 % of the nominal ones.
void fill(const Network& nominal, std::size_t copy, Network& network) {
  std::uint64_t state = copy * 0x9e3779b97f4a7c15U + 1;
  for (std::size_t k = 0; k < nominal.values.ohms.size(); ++k) {
    const double ohms = nominal.values.ohms[k];
    if (ohms < 50.0 || ohms > 5e3) continue;
    state = state * 6364136223846793005U + 1442695040888963407U;
    network.values.ohms[k] =
        ohms * (0.95 + 0.1 * static_cast<double>(state >> 11) / 9007199254740992.0);
  }
}

void check(const Network& nominal) {
  BatchSolver batch(nominal);
  NodalSolver scalar(nominal.structure);
  const Solution start = scalar.operating_point(nominal);
  constexpr std::size_t kCopies = 2000;
  batch.solve(
      0, kCopies, [&](std::size_t k, Network& network) { fill(nominal, k, network); },
      [&](std::size_t k, const Network& network, const Solution& found) {
        const Solution alone = scalar.operating_point(network, &start);
        for (std::size_t node = 0; node < alone.volts.size(); ++node) {
          if (std::abs(found.volts[node] - alone.volts[node]) <= 1e-9) continue;
          std::cerr << "copy " << k << " differs\n";
          std::exit(1);
        }
      });
  std::cerr << batch.lanes() << " lanes, " << batch.counts().handed_on << " of "
            << kCopies << " copies handed on\n";
}

void one_by_one(benchmark::State& state, const Network& nominal) {
  NodalSolver solver(nominal.structure);
  const Solution start = solver.operating_point(nominal);
  Network network = nominal;
  std::size_t copy = 0;
  for (auto _ : state) {
    fill(nominal, copy++, network);
    benchmark::DoNotOptimize(solver.operating_point(network, &start).volts.data());
  }
  state.SetItemsProcessed(state.iterations());
}

void side_by_side(benchmark::State& state, const Network& nominal) {
  BatchSolver batch(nominal);
  constexpr std::size_t kCopies = 1000;
  std::size_t copy = 0;
  double sum = 0.0;
  for (auto _ : state) {
    batch.solve(
        copy, kCopies,
        [&](std::size_t k, Network& network) { fill(nominal, k, network); },
        [&](std::size_t, const Network&, const Solution& found) {
          sum += found.volts.back();
        });
    copy += kCopies;
  }
  benchmark::DoNotOptimize(sum);
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(kCopies));
}

constexpr const char* kLamp = R"([parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
r = { kind = "resistor", value = "150R" }
l = { kind = "led", colour = "white" }
[nets]
rail = ["jack.plus", "r.a"]
lamp = ["r.b", "l.anode"]
ground = ["jack.minus", "l.cathode"]
[states.lit]
)";

}  // namespace
}  // namespace benchproof::bench

int main(int argc, char** argv) {
  using namespace benchproof;
  using namespace benchproof::bench;
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
  const std::string path = BENCHPROOF_SOURCE_DIR "/tests/bench/lamps.toml";
  const Network six = read(text_of(path), path);
  const Network one = read(kLamp, "lamp");
  std::vector<std::pair<std::string, Network>> cases{{"six_lamps", six},
                                                     {"one_lamp", one}};
  for (const int nets : kSizes) cases.emplace_back(std::to_string(nets), harbour(nets));
  for (const auto& [name, network] : cases) {
    std::cerr << name << ": ";
    check(network);
    benchmark::RegisterBenchmark(
        ("one_by_one/" + name).c_str(),
        [&network](benchmark::State& state) { one_by_one(state, network); });
    benchmark::RegisterBenchmark(
        ("side_by_side/" + name).c_str(),
        [&network](benchmark::State& state) { side_by_side(state, network); });
  }
  benchmark::RunSpecifiedBenchmarks();
}
