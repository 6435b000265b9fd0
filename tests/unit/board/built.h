#pragma once

#include <algorithm>
#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "core/board/proof/proof.h"
#include "core/catalogue/catalogue.h"
#include "core/circuit/read/reader.h"
#include "tests/known_types.h"

namespace benchproof {

/// A description that must be read.
inline Circuit read_board_circuit(const std::string& text) {
  ReadResult read = read_circuit(text, "test.toml", known_types());
  for (const Diagnostic& d : read.diagnostics) UNSCOPED_INFO(d.message);
  REQUIRE(read.circuit.has_value());
  return std::move(*read.circuit);
}

/// "check hole" of each finding, in the order told.
inline std::vector<std::string> told(const BoardProof& proof,
                                     Severity least = Severity::caution) {
  std::vector<std::string> all;
  for (const Finding& finding : proof.findings)
    if (finding.severity >= least) all.push_back(finding.check + " " + finding.hole);
  return all;
}

}  // namespace benchproof
