// What `verify` calls a fault at rest never passes in `range`: both go one way.
#include <catch2/catch.hpp>
#include <filesystem>
#include <string>
#include <variant>

#include "core/range/supply_range.h"
#include "core/verify/ends/ends.h"
#include "tests/files.h"
#include "tests/nodal_witness.h"
#include "tests/unit/check/bench.h"
#include "tests/unit/range/witnesses.h"

using namespace benchproof;
using benchproof::test::witnesses;

namespace {

namespace fs = std::filesystem;

/// The steady state's faults by `verify`, but for expectations, at which `range` looks
/// only if asked, and for what the charge of a battery brings whose voltage is moved.
bool has_fault(const Circuit& circuit, const StateResult& state, bool moves_battery,
               const Solve& nodal) {
  // Of settings it asks each alone at its ends; of what lies between, of two together,
  // and of switches in positions that no state has, it says that it does not.
  const auto is_of_one_end = [&](const Finding& finding) {
    std::vector<Finding> as_described = state.findings;
    std::erase_if(as_described,
                  [](const Finding& f) { return f.check == "setting-end"; });
    const std::vector<Finding> alone =
        faults_at_ends(circuit, state_of(circuit, state), as_described, nodal);
    return std::any_of(alone.begin(), alone.end(),
                       [&finding](const Finding& f) { return f.part == finding.part; });
  };
  return std::any_of(
      state.findings.begin(), state.findings.end(), [&](const Finding& f) {
        const bool is_of_charge = f.check == "setting-end" || f.check == "battery-low";
        // Of copies, and of switching on, `range` says that it does not ask.
        const bool is_left_out = f.check == "spread-rating" ||
                                 f.check == "switching-on" ||
                                 f.check == "switched-otherwise" ||
                                 (f.check == "setting-end" && !is_of_one_end(f));
        return f.severity == Severity::fault && f.check != "expectation" &&
               !is_left_out && !(moves_battery && is_of_charge);
      });
}

}  // namespace

TEST_CASE("no present voltage passes of which verify reports a fault", "[range]") {
  const Catalogue catalogue = built_in_catalogue();
  const Solve nodal = by_nodal;
  // Sanitizers are after memory, and no rare circuit: they get one file in six.
  constexpr int kOneOf = BENCHPROOF_SANITIZED ? 6 : 1;
  int files = 0;
  int judged = 0;
  int failing = 0;
  for (const char* folder : {"/tests/mistakes", "/circuits"}) {
    for (const auto& entry :
         fs::directory_iterator(std::string(BENCHPROOF_SOURCE_DIR) + folder)) {
      if (entry.path().extension() != ".toml" || files++ % kOneOf != 0) continue;
      const ReadResult read = read_circuit(text_of(entry.path()), "it", catalogue);
      if (!read.circuit) continue;
      const auto supply = choose_supply(*read.circuit, "");
      if (!std::holds_alternative<int>(supply)) continue;
      CAPTURE(entry.path().string());
      const bool moves_battery =
          read.circuit->parts[std::get<int>(supply)].kind == KindId::battery;
      const Verification verification = verify(*read.circuit, nodal, nodal);
      const auto ranges = find_supply_range(*read.circuit, std::get<int>(supply), {},
                                            witnesses(nodal, nodal));
      REQUIRE(ranges.size() == verification.states.size());
      for (std::size_t k = 0; k < ranges.size(); ++k) {
        CAPTURE(ranges[k].name);
        ++judged;
        if (!has_fault(*read.circuit, verification.states[k], moves_battery, nodal))
          continue;
        ++failing;
        CHECK_FALSE(ranges[k].passes);
      }
    }
  }
  // Half of what is to be expected, where the order of the files decides.
  constexpr int kLeastOf = kOneOf == 1 ? 1 : 2 * kOneOf;
  CHECK(judged > 150 / kLeastOf);
  CHECK(failing > 60 / kLeastOf);
}

TEST_CASE("what only all states tell is asked at each voltage", "[range]") {
  const Catalogue catalogue = built_in_catalogue();
  const Solve nodal = by_nodal;
  const auto range = [&](const char* name) {
    const ReadResult read = read_circuit(
        text_of(std::string(BENCHPROOF_SOURCE_DIR) + "/tests/mistakes/" + name), name,
        catalogue);
    REQUIRE(read.circuit);
    const auto supply = choose_supply(*read.circuit, "");
    return find_supply_range(*read.circuit, std::get<int>(supply), {},
                             witnesses(nodal, nodal))
        .front();
  };
  // At 2.5 V its supply delivers nothing; from 2.86 V on, where its LED lights, it
  // does.
  const StateRange low = range("blue-led-on-2v5.toml");
  CHECK_FALSE(low.passes);
  CHECK(low.always.empty());
  REQUIRE(low.range);
  CHECK(low.range->lower.volts > 2.5);
  // Behind a guard diode that is the wrong way round no voltage arrives.
  const StateRange turned = range("guard-diode-backwards.toml");
  REQUIRE(turned.always.size() == 1);
  CHECK(turned.always[0].check == "supply-idle");
  // Which of two states is blamed, and which part, is no matter: at twice the present
  // voltage the diode is as much the wrong way round.
  const std::string blocked = R"([parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
r = { kind = "resistor", value = "1k" }
d = { kind = "diode", type = "1N4148" }
[nets]
rail = ["jack.plus", "d.cathode"]
m = ["d.anode", "r.a"]
ground = ["jack.minus", "r.b"]
[states.a]
[states.b]
)";
  const ReadResult read = read_circuit(blocked, "blocked", catalogue);
  REQUIRE(read.circuit);
  const auto both = find_supply_range(*read.circuit, 0, {}, witnesses(nodal, nodal));
  REQUIRE(both.size() == 2);
  REQUIRE(both[0].always.size() == 1);
  CHECK(both[0].always[0].check == "supply-idle");
}
