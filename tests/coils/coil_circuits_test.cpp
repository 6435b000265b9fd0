#include "tests/coils/coil_circuits.h"

#include <catch2/catch.hpp>
#include <set>
#include <string>

#include "core/circuit/read/reader.h"

// What tests/long scans: every combination is a description that is understood.

namespace benchproof {

TEST_CASE("the coils' circuits are read without a complaint", "[coils]") {
  const Catalogue catalogue = built_in_catalogue();
  std::set<std::string> texts;
  const auto circuits = test::coil_circuits();
  for (const test::CoilCircuit& c : circuits) {
    CAPTURE(c.name, c.text);
    const ReadResult read = read_circuit(c.text, c.name + ".toml", catalogue);
    CHECK(read.diagnostics.empty());
    REQUIRE(read.circuit);
    CHECK(read.circuit->runs.size() == 1);
    CHECK(texts.insert(c.text).second);
  }
  CHECK(circuits.size() >= 200);
}

}  // namespace benchproof
