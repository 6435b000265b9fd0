// Over all descriptions: `size` recommends no present value that `verify` finds at
// fault.

#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <string>
#include <vector>

#include "core/verify/verify.h"
#include "tests/files.h"
#include "tests/unit/sizing/sized.h"

namespace benchproof {
namespace {

std::vector<std::filesystem::path> descriptions() {
  std::vector<std::filesystem::path> files;
  for (const char* folder : {"circuits", "tests/mistakes"}) {
    for (const auto& entry : std::filesystem::directory_iterator(
             std::filesystem::path(BENCHPROOF_SOURCE_DIR) / folder)) {
      const std::string name = entry.path().filename().string();
      if (entry.path().extension() == ".toml" &&
          name.find(".recorded.") == std::string::npos)
        files.push_back(entry.path());
    }
  }
  std::sort(files.begin(), files.end());
  return files;
}

/// The first resistor; null where there is none.
const Part* first_resistor(const Circuit& circuit) {
  const auto found =
      std::find_if(circuit.parts.begin(), circuit.parts.end(),
                   [](const Part& p) { return p.kind == KindId::resistor; });
  return found == circuit.parts.end() ? nullptr : &*found;
}

/// Whether verify has a fault at rest that does not follow from another one.
bool has_fault(const Verification& verification) {
  return std::any_of(verification.states.begin(), verification.states.end(),
                     [](const StateResult& state) {
                       return std::any_of(state.findings.begin(), state.findings.end(),
                                          [](const Finding& f) {
                                            return f.severity == Severity::fault &&
                                                   f.follows.empty();
                                          });
                     });
}

/// What is asked of `size` about a resistor: a goal to which its present value keeps,
/// in the first state in which there is one. No state: nothing to ask.
SizeRequest kept_bound(const Circuit& circuit, const Part& part,
                       NodalWitness& witness) {
  SizeRequest request;
  request.keys = {test::key_of(circuit, part.name)};
  request.series = Series::e24;
  const Verification now = verify(
      circuit, [&](const Network& n) { return witness.solve(n); },
      [&](const Network& n) { return witness.solve(n); });
  for (std::size_t k = 0; k < circuit.states.size(); ++k) {
    const State& state = circuit.states[k];
    const auto result =
        std::find_if(now.states.begin(), now.states.end(),
                     [&state](const StateResult& r) { return r.name == state.name; });
    if (result == now.states.end() || !result->agrees) continue;
    if (says(state, request.keys)) continue;
    const double amps = result->nodal.pin_amps[request.keys[0].part][0];
    // At most twice as far from 0, on the side where it is.
    request.goal = test::goal_of(
        circuit, part.name + " current " + (amps < 0.0 ? ">= " : "<= ") + "1 A");
    request.goal.want = 2.0 * amps;
    request.state = static_cast<int>(k);
    return request;
  }
  return request;
}

}  // namespace

// The property, for the first resistor of every description in circuits/ and
// tests/mistakes, and a goal that its present value keeps: where the present value is a
// candidate of `size`,
//   1. that candidate has a fault if and only if verify has one at rest of the
//      description as it stands (those that follow from others aside; a run's faults
//      may come on top);
//   2. it is not recommended with a fault while another candidate, on which the
//      witnesses agree and which keeps to the bound, has none.
TEST_CASE("size recommends no present value that verify finds at fault at rest",
          "[sizing][sweep]") {
  int asked = 0;
  int at_fault = 0;
  for (const std::filesystem::path& file : descriptions()) {
    const Catalogue catalogue = built_in_catalogue();
    const ReadResult read =
        read_circuit(text_of(file), file.filename().string(), catalogue);
    if (!read.circuit) continue;
    const Circuit& circuit = *read.circuit;
    const Part* part = first_resistor(circuit);
    if (part == nullptr) continue;
    CAPTURE(file.filename(), part->name);
    NodalWitness witness;
    const SizeRequest request = kept_bound(circuit, *part, witness);
    if (request.state < 0) continue;
    const Sizing sizing = test::sized_near(circuit, request, witness);
    const auto present = std::find_if(
        sizing.candidates.begin(), sizing.candidates.end(), [&](const SizeChoice& c) {
          return c.values.front() == request.keys.front().present;
        });
    if (present == sizing.candidates.end()) continue;
    ++asked;
    const Solve cold = [&witness](const Network& n) { return witness.solve(n); };
    const bool is_at_fault = has_fault(verify(circuit, cold, cold));
    if (is_at_fault) {
      ++at_fault;
      CHECK_FALSE(present->faults.empty());
    } else if (!present->has_all_runs) {
      CHECK(present->faults.empty());
    }
    const bool is_recommended =
        sizing.recommended == present - sizing.candidates.begin();
    const bool has_sound = std::any_of(
        sizing.candidates.begin(), sizing.candidates.end(),
        [](const SizeChoice& c) { return c.agrees && c.keeps && c.faults.empty(); });
    if (is_recommended && has_sound) CHECK(present->faults.empty());
  }
  // So that the sweep cannot come to ask nothing.
  CAPTURE(asked, at_fault);
  CHECK(asked > 80);
  CHECK(at_fault > 30);
}

}  // namespace benchproof
