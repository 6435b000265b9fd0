#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "core/nodal/nodal_solver.h"
#include "core/nodal/transient.h"
#include "core/verify/runs/verify_runs.h"
#include "core/verify/verify.h"
#include "spice/session/witness.h"
#include "tests/files.h"

// The usual ways of plugging in: a wall adapter, a toggle switch, a guard diode, an
// empty capacitor and a regulator with some lamps. All of them work, thousands of them
// do; what the adapter goes through meanwhile is worth telling.

namespace benchproof {
namespace {

namespace fs = std::filesystem;

constexpr const char* kSag = "run-inrush";  // the finding that tells of the sag

std::string told(const std::vector<Finding>& findings) {
  std::string all;
  for (const Finding& f : findings)
    all += f.check + " " + f.part + ": " + f.message + "\n";
  return all;
}

bool has_fault(const std::vector<Finding>& findings) {
  return std::any_of(findings.begin(), findings.end(),
                     [](const Finding& f) { return f.severity == Severity::fault; });
}

const Part& part(const Circuit& circuit, const std::string& name) {
  const auto found = std::find_if(circuit.parts.begin(), circuit.parts.end(),
                                  [&](const Part& p) { return p.name == name; });
  REQUIRE(found != circuit.parts.end());
  return *found;
}

/// The lowest voltage of the adapter while its capacitor fills. Volt.
double least_of_inlet(const Circuit& circuit, const RunResult& run) {
  const auto net = std::find_if(circuit.nets.begin(), circuit.nets.end(),
                                [](const Net& n) { return n.name == "inlet"; });
  REQUIRE(net != circuit.nets.end());
  return run.courses[static_cast<std::size_t>(net - circuit.nets.begin())].least;
}

}  // namespace

TEST_CASE("usual ways of plugging in have no fault, and the sag is told",
          "[runs][plugging]") {
  EngineOptions options;
  options.worker_path = BENCHPROOF_BIN_DIR "/benchproof-worker";
  EngineSession session(options);
  const Catalogue catalogue = built_in_catalogue();
  int count = 0;
  for (const auto& entry :
       fs::directory_iterator(BENCHPROOF_SOURCE_DIR "/tests/plugging")) {
    ++count;
    const std::string name = entry.path().filename();
    CAPTURE(name);
    const ReadResult read = read_circuit(text_of(entry.path()), name, catalogue);
    REQUIRE(read.circuit);
    const Verification states = verify(
        *read.circuit, [&](const Network& n) { return solve_with_engine(session, n); },
        [](const Network& n) { return solve_nodal(n); });
    for (const StateResult& state : states.states) {
      CAPTURE(state.name, told(state.findings));
      CHECK(state.agrees);
      CHECK_FALSE(has_fault(state.findings));
    }
    const RunResult run =
        verify_run(*read.circuit, 0, engine_in_time(session), nodal_in_time);
    CAPTURE(run.agreement.reason, told(run.findings));
    CHECK(run.agreement.agrees);
    if (!run.agreement.agrees) continue;
    CHECK_FALSE(has_fault(run.findings));
    CHECK(std::count_if(run.findings.begin(), run.findings.end(), [](const Finding& f) {
            return f.check == kSag && f.part == "jack";
          }) == 1);
    // An empty capacitor behind a diode: nothing but the adapter's limit holds it up.
    const double volts = number_of(part(*read.circuit, "jack"), "voltage").value();
    CHECK(least_of_inlet(*read.circuit, run) < 0.5 * volts);
  }
  CHECK(count == 6);
}

}  // namespace benchproof
