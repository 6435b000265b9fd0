#pragma once

#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "core/nodal/nodal_solver.h"
#include "core/tolerance/states/copied_state.h"
#include "tests/known_types.h"

namespace benchproof::test {

inline Circuit described(const std::string& text) {
  ReadResult result = read_circuit(text, "copied.toml", known_types());
  std::string told;
  for (const Diagnostic& d : result.diagnostics)
    told += to_text(d, "copied.toml", text);
  INFO(told);
  REQUIRE(result.circuit);
  return std::move(*result.circuit);
}

/// Of as many templates and checks one is looked at. Sanitizers are after memory, and
/// no rare figure.
inline constexpr std::size_t kOneOf = BENCHPROOF_SANITIZED ? 8 : 1;

/// Every template that takes no blocks from elsewhere, read, in the order of their
/// names; of these one of kOneOf.
inline std::vector<Circuit> templates() {
  namespace fs = std::filesystem;
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(BENCHPROOF_SOURCE_DIR "/circuits"))
    if (entry.path().extension() == ".toml" &&
        entry.path().string().find(".recorded.") == std::string::npos)
      files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  REQUIRE(files.size() > 35);
  std::vector<Circuit> circuits;
  for (std::size_t k = 0; k < files.size(); k += kOneOf) {
    const fs::path& path = files[k];
    std::ifstream file(path);
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    ReadResult read = read_circuit(text, path.string(), known_types());
    if (read.circuit) circuits.push_back(std::move(*read.circuit));
  }
  REQUIRE(circuits.size() > 35 / kOneOf);
  return circuits;
}

/// The places at which all is as described.
inline std::vector<double> as_described(const std::vector<Spread>& spreads) {
  std::vector<double> places;
  for (const Spread& spread : spreads) places.push_back(nominal_place(spread));
  return places;
}

/// A state of which copies can be measured, with all that it refers to.
struct Copied {
  PosedState posed;
  CopiedState state;

  Copied(const Circuit& circuit, const State& of, const std::vector<Spread>& spreads)
      : posed(circuit, of), state(posed, spreads, seen(posed)) {}
  Copied(const Copied&) = delete;
  Copied& operator=(const Copied&) = delete;

  static SeenState seen(const PosedState& posed) {
    const Solve witness = [](const Network& n) { return solve_nodal(n); };
    const Sight sight = sight_of(posed, witness, PinsRead::weak);
    REQUIRE(sight.seen);
    return *sight.seen;
  }
};

/// Calls `look(circuit, copied)` for each steady state of a circuit.
template <typename Look>
void for_states(const Circuit& circuit, const std::vector<Spread>& spreads,
                Look&& look) {
  for (const State& state : circuit.states) {
    if (!state.steady) continue;
    CAPTURE(circuit.title, state.name);
    const Copied copied(circuit, state, spreads);
    look(copied.state);
  }
}

inline std::size_t index_of(const std::vector<Spread>& spreads,
                            const std::string& target) {
  for (std::size_t k = 0; k < spreads.size(); ++k)
    if (spreads[k].target == target) return k;
  FAIL("no spread of " << target);
  return 0;
}

inline std::size_t gauge_of(const CopiedState& state, Gauge::Of of,
                            std::string_view quantity) {
  for (std::size_t g = 0; g < state.gauges().size(); ++g)
    if (state.gauges()[g].of == of && state.gauges()[g].quantity == quantity) return g;
  FAIL("no gauge of " << quantity);
  return 0;
}

}  // namespace benchproof::test
