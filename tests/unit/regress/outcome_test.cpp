#include "core/regress/outcome.h"

#include <catch2/catch.hpp>
#include <string>

#include "core/circuit/read/reader.h"
#include "tests/known_types.h"
#include "tests/nodal_witness.h"

using namespace benchproof;
using Catch::Contains;

namespace {

const std::string kQuay = R"(
[parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "500 mA" }
r    = { kind = "resistor", value = "330R", power = "0.25 W" }
quay = { kind = "led", colour = "red" }
[nets]
inlet  = ["jack.plus", "r.a"]
lamp   = ["r.b", "quay.anode"]
ground = ["jack.minus", "quay.cathode"]
[[expect]]
part = "quay"
current = { min = "8 mA", max = "11 mA" }
source = "a handbook"
[[expect]]
net = "inlet"
voltage = { nominal = "5 V", within = "1%" }
source = "a sheet as remembered"
mark = "memory"
[[expect]]
net = "lamp"
voltage = { min = "1.5 V" }
)";

std::vector<CaseOutcome> outcomes(const std::string& text, const Solve& engine) {
  const ReadResult read = read_circuit(text, "quay.toml", known_types());
  REQUIRE(read.circuit);
  const Verification verification = verify(*read.circuit, engine, by_nodal);
  const std::vector<RunResult> runs;
  return case_outcomes({&*read.circuit, &verification, &runs});
}

std::string with(std::string text, const std::string& from, const std::string& to) {
  return text.replace(text.find(from), from.size(), to);
}

}  // namespace

TEST_CASE("an outcome counts expectations and what they rest on", "[regress]") {
  const auto list = outcomes(kQuay, by_nodal);
  REQUIRE(list.size() == 1);
  CHECK(passes(list[0]));
  CHECK(list[0].expectations == 3);
  CHECK(list[0].published == 1);  // One has no source, one a recalled one.
  REQUIRE(list[0].nearest);
  CHECK(list[0].nearest->share > 0.0);
  CHECK(list[0].nearest->share < 1.0);
}

TEST_CASE("a fault is told in words, with its id", "[regress]") {
  const auto list = outcomes(with(kQuay, "330R", "33R"), by_nodal);
  REQUIRE(list.size() == 1);
  CHECK_FALSE(passes(list[0]));
  CHECK(list[0].verdict == Verdict::fault);
  std::string all;
  for (const std::string& line : list[0].problems) all += line + "\n";
  CHECK_THAT(all, Contains("[led-current]") && Contains("[expectation]"));
}

TEST_CASE("a withheld verdict is told with its reason", "[regress]") {
  const Solve off = [](const Network& network) {
    Solution solution = solve_nodal(network);
    solution.volts[1] += 1e-3;
    return solution;
  };
  const auto list = outcomes(kQuay, off);
  REQUIRE(list.size() == 1);
  CHECK(list[0].verdict == Verdict::disagreement);
  REQUIRE(list[0].problems.size() == 1);
  CHECK_FALSE(list[0].problems[0].empty());
}

TEST_CASE("cases are held against records by name", "[regress]") {
  CircuitOutcome outcome;
  outcome.cases.resize(3);
  outcome.cases[0].name = {"", false, "night"};
  outcome.cases[1].name = {"", true, "night"};
  outcome.cases[2].name = {"", false, "new"};
  const auto record = [](const CaseName& name, double volts) {
    return CaseRecord{name, {}, {{FigureSort::volts, "rail", volts}}};
  };
  const std::vector<CaseRecord> now = {record({"", false, "night"}, 5.0),
                                       record({"", true, "night"}, 5.0),
                                       record({"", false, "new"}, 5.0)};
  Recorded recorded;
  recorded.cases = {record({"", false, "night"}, 5.0), record({"", true, "night"}, 4.0),
                    record({"dim", false, "night"}, 5.0)};
  hold_against(recorded, now, outcome);
  CHECK(outcome.cases[0].moved.empty());
  CHECK(outcome.cases[1].moved.size() == 1);
  REQUIRE(outcome.cases[2].moved.size() == 1);
  CHECK_THAT(outcome.cases[2].moved[0].what, Contains("not recorded yet"));
  REQUIRE(outcome.gone.size() == 1);
  CHECK(outcome.gone[0] == CaseName{"dim", false, "night"});
  CHECK_FALSE(passes(outcome));
}
