#pragma once

#include <catch2/catch.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/circuit/read/reader.h"
#include "core/nodal/transient.h"
#include "core/verify/explanations.h"
#include "core/verify/runs/verify_runs.h"

namespace benchproof::test {

using Findings = std::vector<Finding>;

/// The findings of the only run, the nodal solver standing for both witnesses. Each has
/// its explanation.
inline Findings judged(const std::string& text) {
  const Catalogue catalogue = built_in_catalogue();
  const ReadResult read = read_circuit(text, "run.toml", catalogue);
  std::string complaints;
  for (const Diagnostic& d : read.diagnostics) complaints += d.message + "\n";
  CAPTURE(text, complaints);
  REQUIRE(read.circuit.has_value());
  const RunResult result = verify_run(*read.circuit, 0, nodal_in_time, nodal_in_time);
  CAPTURE(result.agreement.reason);
  REQUIRE(result.agreement.agrees);
  for (const Finding& f : result.findings) {
    CAPTURE(f.check);
    REQUIRE(find_explanation(f.check) != nullptr);
  }
  return result.findings;
}

inline const Finding* find(const Findings& findings, std::string_view check) {
  for (const Finding& f : findings)
    if (f.check == check) return &f;
  return nullptr;
}

}  // namespace benchproof::test
