// Published worked examples: every description under reference/worked/ through both
// witnesses. The bounds stand in the descriptions, each with the reason and the source
// it was read in; here they are only held against the solutions.

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <iostream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/circuit/read/reader.h"
#include "core/network/equations.h"
#include "core/network/lower.h"
#include "core/network/observation.h"
#include "core/nodal/nodal_solver.h"
#include "core/nodal/transient.h"
#include "core/verify/runs/verify_runs.h"
#include "spice/session/engine_session.h"
#include "spice/session/witness.h"
#include "tests/files.h"

namespace benchproof {
namespace {

namespace fs = std::filesystem;

const fs::path kFolder = fs::path(BENCHPROOF_SOURCE_DIR) / "reference/worked";

/// File name -> how many figures it checks, as the manifest has it.
std::map<std::string, std::size_t> manifest() {
  std::map<std::string, std::size_t> rows;
  std::istringstream lines(text_of(kFolder / "manifest.txt"));
  for (std::string line; std::getline(lines, line);) {
    if (line.empty() || line.front() == '#') continue;
    std::istringstream fields(line);
    std::string name;
    std::size_t figures = 0;
    REQUIRE((fields >> name >> figures));
    rows[name] = figures;
  }
  return rows;
}

Circuit circuit_of(const std::string& file, const Catalogue& catalogue,
                   const std::vector<Change>& changes = {}) {
  ReadResult read =
      read_circuit(text_of(kFolder / file), file, catalogue, {.changes = changes});
  for (const Diagnostic& d : read.diagnostics)
    UNSCOPED_INFO(file << ":" << d.span.begin.line << ": " << d.message);
  REQUIRE(read.circuit);
  return *std::move(read.circuit);
}

/// One state as both witnesses see it.
struct Testimony {
  Network network;
  Solution engine;
  Solution nodal;
  Observation engine_seen;
  Observation nodal_seen;
};

Testimony hear(const Circuit& circuit, const State& state, EngineSession& session) {
  Testimony t;
  t.network = lower(circuit, state);
  t.engine = solve_with_engine(session, t.network);
  t.nodal = solve_nodal(t.network);
  UNSCOPED_INFO("engine: " << t.engine.reason << "; nodal: " << t.nodal.reason);
  REQUIRE(t.engine.status == SolveStatus::solved);
  REQUIRE(t.nodal.status == SolveStatus::solved);
  t.engine_seen = observe(circuit, t.network, t.engine);
  t.nodal_seen = observe(circuit, t.network, t.nodal);
  return t;
}

/// What the two may differ by is the design's own bound: 1 uV, or 1 nA, and 1e-6.
bool is_close(double a, double b, double floor) {
  return std::abs(a - b) <= floor + 1e-6 * std::max(std::abs(a), std::abs(b));
}

void check_agreement(const Circuit& circuit, const Testimony& t) {
  for (std::size_t n = 0; n < t.network.structure->nodes.size(); ++n) {
    CAPTURE(t.network.structure->nodes[n], t.engine.volts[n], t.nodal.volts[n]);
    CHECK(is_close(t.engine.volts[n], t.nodal.volts[n], 1e-6));
  }
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    for (std::size_t p = 0; p < circuit.parts[k].pins.size(); ++p) {
      const double engine = t.engine_seen.pin_amps[k][p];
      const double nodal = t.nodal_seen.pin_amps[k][p];
      CAPTURE(circuit.parts[k].name, circuit.parts[k].pins[p], engine, nodal);
      CHECK(is_close(engine, nodal, 1e-9));
    }
  }
  for (const Solution* s : {&t.engine, &t.nodal}) {
    const Residual r = residual(t.network, *s);
    CAPTURE(r.worst, r.volts, r.amps);
    CHECK(r.worst <= 1.0);
    CHECK(r.volts <= kResidualVolts);
  }
}

/// A source's current is what it delivers at plus; any other part's flows into its
/// first pin unless a pin is named.
double current(const Part& part, const std::vector<double>& pin_amps, int pin) {
  if (pin >= 0) return pin_amps[pin];
  const bool delivers = part.kind == KindId::voltage_source ||
                        part.kind == KindId::current_source ||
                        part.kind == KindId::dc_supply || part.kind == KindId::battery;
  return delivers ? -pin_amps[0] : pin_amps[0];
}

double value_of(const Circuit& circuit, const Expectation& e, const Observation& seen) {
  if (e.net >= 0)
    return seen.net_volts[e.net] - (e.to >= 0 ? seen.net_volts[e.to] : 0.0);
  const Part& part = circuit.parts[e.part];
  switch (e.quantity) {
    case Quantity::voltage:
      return seen.net_volts[part.nets[0]] - seen.net_volts[part.nets[1]];
    case Quantity::current:
      return current(part, seen.pin_amps[e.part], e.pin);
    case Quantity::power:
      return seen.part_watts[e.part];
    case Quantity::temperature:
      break;
  }
  FAIL("no worked example asks for a temperature");
  return 0.0;
}

bool holds(const Expectation& e, double value) {
  return value >= *e.least && value <= *e.most;
}

bool applies(const Expectation& e, const State& state) {
  return e.run < 0 && (e.state.empty() || e.state == state.name);
}

/// Holds a run's figures by both witnesses; returns how many there are.
std::size_t check_run_figures(const Circuit& circuit, int run, EngineSession& session) {
  const RunResult r = verify_run(circuit, run, engine_in_time(session), nodal_in_time);
  CAPTURE(r.name, r.agreement.reason);
  CHECK(r.agreement.agrees);
  for (const RunExpectationResult& e : r.expectations) {
    CHECK_FALSE(e.expectation->source.empty());
    CHECK(e.expectation->mark == "verified");
    CAPTURE(e.expectation->span.begin.line, e.engine.value, e.nodal.value);
    CHECK(e.holds);
  }
  return r.expectations.size();
}

}  // namespace

TEST_CASE("the worked examples are the ones of the manifest", "[truth][worked]") {
  const Catalogue catalogue = built_in_catalogue();
  const auto rows = manifest();
  std::size_t files = 0;
  std::size_t figures = 0;
  for (const auto& entry : fs::directory_iterator(kFolder)) {
    if (entry.path().extension() != ".toml") continue;
    const std::string file = entry.path().filename().string();
    CAPTURE(file);
    REQUIRE(rows.count(file) == 1);
    const Circuit circuit = circuit_of(file, catalogue);
    CHECK(circuit.expectations.size() == rows.at(file));
    ++files;
    figures += circuit.expectations.size();
  }
  CHECK(files == rows.size());
  std::cout << "reference/worked: " << files << " files, " << figures << " figures\n";
}

TEST_CASE("both witnesses find the published figures", "[truth][worked][engine]") {
  const Catalogue catalogue = built_in_catalogue();
  EngineSession session;
  std::size_t files = 0;
  std::size_t figures = 0;
  for (const auto& [file, expected] : manifest()) {
    CAPTURE(file);
    const Circuit circuit = circuit_of(file, catalogue);
    std::size_t checked = 0;
    for (const State& state : circuit.states) {
      CAPTURE(state.name);
      const Testimony t = hear(circuit, state, session);
      check_agreement(circuit, t);
      for (const Expectation& e : circuit.expectations) {
        if (!applies(e, state)) continue;
        REQUIRE((e.nominal && e.least && e.most));
        CHECK_FALSE(e.source.empty());
        CHECK(e.mark == "verified");
        const double engine = value_of(circuit, e, t.engine_seen);
        const double nodal = value_of(circuit, e, t.nodal_seen);
        CAPTURE(e.span.begin.line, *e.nominal, engine - *e.nominal, nodal - *e.nominal,
                *e.most - *e.nominal);
        CHECK(holds(e, engine));
        CHECK(holds(e, nodal));
        ++checked;
      }
    }
    for (std::size_t k = 0; k < circuit.runs.size(); ++k)
      checked += check_run_figures(circuit, static_cast<int>(k), session);
    CHECK(checked == expected);
    ++files;
    figures += checked;
  }
  std::cout << "worked examples: " << figures << " figures in " << files
            << " files, each by two witnesses\n";
}

// An expectation is about one net or part; these printed figures are sums over
// resistors that several sources feed. Sources: the files named.
TEST_CASE("powers of several parts add up to the published figures",
          "[truth][worked][engine]") {
  struct Sum {
    std::string file;
    std::vector<std::string> parts;
    double watts;
    double within;
  };
  const auto sum = GENERATE(
      // printed "130 W", exact: 2 ppm
      Sum{"o05-two-sources-two-loops.toml", {"r1", "r2", "r3", "r4"}, 130.0, 2.6e-4},
      // printed "4.50 mW": half a unit of the last digit
      Sum{"o10-two-cells-opposing.toml", {"r1", "r2", "r3"}, 4.5e-3, 5e-6},
      // printed "34 W", exact: 2 ppm
      Sum{"o11-two-sources-four-branches.toml", {"r1", "r2", "r3", "r4"}, 34, 6.8e-5});
  CAPTURE(sum.file);
  const Catalogue catalogue = built_in_catalogue();
  const Circuit circuit = circuit_of(sum.file, catalogue);
  EngineSession session;
  const Testimony t = hear(circuit, circuit.states.front(), session);
  for (const Observation* seen : {&t.engine_seen, &t.nodal_seen}) {
    double watts = 0.0;
    std::size_t found = 0;
    for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
      const bool is_meant = std::find(sum.parts.begin(), sum.parts.end(),
                                      circuit.parts[k].name) != sum.parts.end();
      if (!is_meant) continue;
      watts += seen->part_watts[k];
      ++found;
    }
    CHECK(found == sum.parts.size());
    CHECK_THAT(watts, Catch::WithinAbs(sum.watts, sum.within));
  }
}

TEST_CASE("a figure that is off by four parts in a million is noticed",
          "[truth][worked][engine]") {
  const Catalogue catalogue = built_in_catalogue();
  // R1 is 20 of 90 ohm: 18 ppm more of it lower the current by 4 ppm; 2 are allowed.
  const Circuit circuit =
      circuit_of("o01-five-in-series.toml", catalogue, {{"r1.value", "20.00036 ohm"}});
  EngineSession session;
  const Testimony t = hear(circuit, circuit.states.front(), session);
  const Expectation& current_of_r1 = circuit.expectations.front();
  REQUIRE(current_of_r1.quantity == Quantity::current);
  CHECK_FALSE(holds(current_of_r1, value_of(circuit, current_of_r1, t.engine_seen)));
  CHECK_FALSE(holds(current_of_r1, value_of(circuit, current_of_r1, t.nodal_seen)));
}

}  // namespace benchproof
