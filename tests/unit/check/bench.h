#pragma once

#include <algorithm>
#include <catch2/catch.hpp>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/check/finding/explanation.h"
#include "core/circuit/read/reader.h"
#include "core/nodal/nodal_solver.h"
#include "core/verify/explanations.h"
#include "core/verify/hand_rules.h"
#include "core/verify/verify.h"
#include "tests/nodal_witness.h"

namespace benchproof::bench {

/// A description, read and verified. The nodal solver serves as both witnesses: what
/// the checks make of a solution is tested here, not the solution.
struct Bench {
  std::unique_ptr<Catalogue> catalogue;
  Circuit circuit;
  Verification verification;
};

inline Circuit read(const Catalogue& catalogue, const std::string& text) {
  ReadResult result = read_circuit(text, "bench.toml", catalogue);
  std::string complaints;
  for (const Diagnostic& d : result.diagnostics)
    complaints += to_text(d, "bench.toml", text);
  CAPTURE(text, complaints);
  REQUIRE(result.circuit.has_value());
  return std::move(*result.circuit);
}

inline Bench verified(const std::string& text,
                      const std::vector<std::string>& only = {}) {
  Bench bench;
  bench.catalogue = std::make_unique<Catalogue>(built_in_catalogue());
  bench.circuit = read(*bench.catalogue, text);
  const Solve nodal = by_nodal;
  bench.verification = verify(bench.circuit, nodal, nodal, only);
  put_by_hand(bench.circuit, bench.verification);
  for (const StateResult& state : bench.verification.states) {
    for (const PhaseResult& phase : state.phases) {
      CAPTURE(text, state.name, phase.agreement.reason);
      REQUIRE(phase.agreement.agrees);
    }
    for (const Finding& finding : state.findings) {
      CAPTURE(text, finding.check);
      REQUIRE(find_explanation(finding.check) != nullptr);
    }
  }
  return bench;
}

/// The finding of a check, at a part or net if one is named, or null.
inline const Finding* find(const StateResult& state, std::string_view check,
                           std::string_view name = {}) {
  const auto found =
      std::find_if(state.findings.begin(), state.findings.end(), [&](const Finding& f) {
        return f.check == check && (name.empty() || f.part == name || f.net == name);
      });
  return found == state.findings.end() ? nullptr : &*found;
}

/// The text with every "@" replaced.
inline std::string filled(std::string_view text, std::string_view value) {
  std::string result;
  for (const char c : text) {
    if (c == '@') {
      result += value;
    } else {
      result += c;
    }
  }
  return result;
}

}  // namespace benchproof::bench
