// What a mover makes of a network, held against lowering the circuit anew with all
// values put in.
#include "core/tolerance/copy/mover.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>
#include <random>

#include "tests/unit/tolerance/copied.h"

using namespace benchproof;
using namespace benchproof::test;

namespace {

constexpr int kTrials = 50;
// A law is held against five places to 1e-9 of the value when it is found.
constexpr double kExact = 1e-9;

/// How far two networks are apart at most, as a share of the number.
double apart(const Network& a, const Network& b, std::string& where) {
  double most = std::abs(a.celsius - b.celsius) / std::max(1.0, std::abs(a.celsius));
  for_slots(a.values, b.values, [&](const Slot& slot, double x, double y) {
    const double size = std::max(std::abs(x), std::abs(y));
    const double off = size > 0.0 ? std::abs(x - y) / size : 0.0;
    if (off <= most) return;
    most = off;
    where = name_of(slot);
  });
  return most;
}

/// Holds all phases of a state against the circuit lowered anew at many places; counts
/// the spreads that have to be lowered each time.
std::size_t hold_state(const Circuit& circuit, const State& of,
                       const std::vector<Spread>& spreads) {
  const PosedState posed(circuit, of);
  const std::vector<Mover> movers = Mover::of(spreads, posed);
  std::vector<std::size_t> all(spreads.size());
  std::iota(all.begin(), all.end(), 0U);
  std::mt19937_64 random(1);
  std::vector<double> places(spreads.size());
  std::vector<Network> moved;
  for (const PosedPhase& phase : posed.phases()) moved.push_back(phase.network);
  for (int trial = 0; trial < kTrials; ++trial) {
    for (double& place : places)
      place = std::uniform_real_distribution<double>(0.0, 1.0)(random);
    const std::vector<Network> wanted = networks_at(spreads, all, places.data(), posed);
    REQUIRE(wanted.size() == movers.size());
    for (std::size_t k = 0; k < movers.size(); ++k) {
      movers[k].move(places.data(), moved[k]);
      std::string where;
      const double off = apart(moved[k], wanted[k], where);
      CAPTURE(trial, k, where);
      CHECK(off <= kExact);
    }
  }
  return movers.front().lowered().size();
}

/// Every number of every part by 10 %, and the ambient temperature.
void spread_everything(Circuit& circuit) {
  circuit.spreadings.clear();
  circuit.spreadings.push_back({-1,
                                "ambient",
                                false,
                                circuit.ambient - 12.0,
                                circuit.ambient + 15.0,
                                false,
                                {}});
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    for (const Key& key : kind(part.kind).keys) {
      const bool is_number = key.shape == Shape::quantity || key.shape == Shape::number;
      const auto value = number_of(part, key.name);
      if (!is_number || key.is_fixed || key.name == "tolerance" || !value ||
          *value == 0.0)
        continue;
      circuit.spreadings.push_back({static_cast<int>(k),
                                    std::string(key.name),
                                    true,
                                    -0.1,
                                    0.08,
                                    k % 2 == 0,
                                    {}});
    }
  }
}

}  // namespace

TEST_CASE("what copies differ by moves each template as if it were lowered anew",
          "[tolerance][mover]") {
  std::size_t states = 0;
  for (const Circuit& circuit : templates()) {
    const std::vector<Spread> spreads = spreads_of(circuit);
    for (const State& state : circuit.states) {
      if (!state.steady) continue;
      CAPTURE(circuit.title, state.name);
      hold_state(circuit, state, spreads);
      ++states;
    }
  }
  CHECK(states > 60 / kOneOf);
}

TEST_CASE("any numbers of a template's parts move it as if it were lowered anew",
          "[tolerance][mover]") {
  std::size_t most_lowered = 0;
  for (Circuit& circuit : templates()) {
    spread_everything(circuit);
    const std::vector<Spread> spreads = spreads_of(circuit);
    for (const State& state : circuit.states) {
      if (!state.steady) continue;
      CAPTURE(circuit.title, state.name);
      most_lowered = std::max(most_lowered, hold_state(circuit, state, spreads));
    }
  }
  // Some have no law (a battery's figures, a resistance of a voltage over a current):
  // else what lowers them would not be tested here.
  CHECK(most_lowered > 0);
}

TEST_CASE("numbers of a part that do not move apart are lowered together",
          "[tolerance][mover]") {
  // Its resistance is (no_load - voltage) / current: each alone would have a law or be
  // lowered, and together they are not the product.
  const Circuit circuit = described(R"(
[parts]
raw = { kind = "dc-supply", voltage = "9 V", current = "500 mA", no_load = "12 V", regulated = false }
r = { kind = "resistor", value = "1k" }
[nets]
rail = ["raw.plus", "r.a"]
ground = ["raw.minus", "r.b"]
[tolerances]
"raw.voltage" = "10%"
"raw.no_load" = "5%"
"raw.current" = "20%"
)");
  const std::vector<Spread> spreads = spreads_of(circuit);
  CHECK(hold_state(circuit, circuit.states.front(), spreads) >= 2);
  // By hand: all three at their least.
  const PosedState posed(circuit, circuit.states.front());
  const std::vector<Mover> movers = Mover::of(spreads, posed);
  std::vector<double> places = as_described(spreads);
  for (const char* key : {"raw.voltage", "raw.no_load", "raw.current"})
    places[index_of(spreads, key)] = 0.0;
  Network network = posed.phases().front().network;
  movers.front().move(places.data(), network);
  CHECK_THAT(network.values.ohms.front(),
             Catch::WithinRel((12.0 * 0.95 - 9.0 * 0.9) / (0.5 * 0.8), 1e-12));
}
