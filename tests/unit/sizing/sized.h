#pragma once

#include <catch2/catch.hpp>
#include <string>
#include <variant>

#include "core/circuit/read/reader.h"
#include "core/nodal/nodal_solver.h"
#include "core/nodal/nodal_witness.h"
#include "core/nodal/transient.h"
#include "core/sizing/size.h"

namespace benchproof::test {

/// A description, read.
struct Description {
  Catalogue catalogue = built_in_catalogue();
  Circuit circuit;
  explicit Description(const std::string& text) {
    ReadResult result = read_circuit(text, "sized.toml", catalogue);
    REQUIRE(result.circuit);
    circuit = std::move(*result.circuit);
  }
};

inline Goal goal_of(const Circuit& circuit, const std::string& text,
                    const std::string& run = {}) {
  auto goal = read_goal(circuit, text, run);
  if (const auto* wrong = std::get_if<std::string>(&goal)) FAIL(*wrong);
  return std::get<Goal>(goal);
}

inline SizedKey key_of(const Circuit& circuit, const std::string& text) {
  auto key = read_sized_key(circuit, text);
  if (const auto* wrong = std::get_if<std::string>(&key)) FAIL(*wrong);
  return std::get<SizedKey>(key);
}

/// The nodal solver stands for every witness.
inline Sizing sized(const Circuit& circuit, const SizeRequest& request) {
  const Solve solve = [](const Network& n) { return solve_nodal(n); };
  return find_size(
      circuit, request,
      {solve, {}, solve, solve, nodal_until, nodal_in_time, {}, nodal_in_time});
}

/// The nodal solver stands for every witness, and values are looked for by near starts.
inline Sizing sized_near(const Circuit& circuit, const SizeRequest& request,
                         NodalWitness& witness) {
  const Solve cold = [&witness](const Network& n) { return witness.solve(n); };
  const Solve near = [&witness](const Network& n) { return witness.solve_near(n); };
  return find_size(
      circuit, request,
      {near, {}, cold, cold, nodal_until, nodal_in_time, {}, nodal_in_time});
}

}  // namespace benchproof::test
