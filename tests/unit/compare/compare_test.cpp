#include "core/compare/compare.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <memory>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "core/compare/summary.h"
#include "core/nodal/nodal_solver.h"
#include "tests/known_types.h"

using namespace benchproof;
using Catch::Contains;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

// LU with pivoting is backward stable: a few roundings on so small a linear circuit,
// times what a leakage conductance of 1e-12 S beside 1e3 ohm adds (1e-9).
constexpr double kLinear = 1e-8;

/// A circuit in several versions, judged; the nodal solver stands for both witnesses.
struct Versions {
  std::vector<std::unique_ptr<Circuit>> circuits;
  std::vector<std::unique_ptr<Verification>> verifications;
  std::vector<Candidate> candidates;

  void add(const std::string& text, const std::string& head, const Wishes& asked = {},
           const Solve& engine = solve_nodal) {
    ReadResult read = read_circuit(text, "pier.toml", known_types(), asked);
    std::string told;
    for (const Diagnostic& d : read.diagnostics) told += to_text(d, "pier.toml", text);
    INFO(told);
    REQUIRE(read.circuit);
    circuits.push_back(std::make_unique<Circuit>(*std::move(read.circuit)));
    verifications.push_back(
        std::make_unique<Verification>(verify(*circuits.back(), engine, solve_nodal)));
    candidates.push_back(
        {"pier " + head, head, circuits.back().get(), verifications.back().get()});
  }
};

Versions with_values(const std::string& text, const std::string& target,
                     const std::vector<std::string>& values) {
  Versions versions;
  for (const std::string& value : values)
    versions.add(text, value, {.changes = {{target, value}}});
  return versions;
}

const ComparedRow* find_row(const ComparedState& state, Topic topic,
                            const std::string& subject, const std::string& check = {}) {
  for (const ComparedRow& row : state.rows) {
    const bool is_there = std::find(row.subjects.begin(), row.subjects.end(),
                                    subject) != row.subjects.end();
    if (row.topic == topic && is_there && (check.empty() || row.check == check))
      return &row;
  }
  return nullptr;
}

const ComparedRow& row(const ComparedState& state, Topic topic,
                       const std::string& subject, const std::string& check = {}) {
  const ComparedRow* found = find_row(state, topic, subject, check);
  CAPTURE(static_cast<int>(topic), subject, check);
  REQUIRE(found != nullptr);
  return *found;
}

const std::string kDivider = R"(
[parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "100 mA" }
high = { kind = "resistor", value = "1k", power = "0.25 W" }
low  = { kind = "resistor", value = "1k", power = "0.25 W" }
side = { kind = "resistor", value = "10k", power = "0.25 W" }
[nets]
inlet  = ["jack.plus", "high.a", "side.a"]
tap    = ["high.b", "low.a"]
ground = ["jack.minus", "low.b", "side.b"]
)";

const std::string kLamp = R"(
[parts]
cell = { kind = "battery", chemistry = "alkaline", size = "9V", capacity = "500 mAh" }
lamp_r = { kind = "resistor", value = "330R", power = "0.25 W" }
lamp   = { kind = "led", colour = "red" }
[nets]
inlet  = ["cell.plus", "lamp_r.a"]
lit    = ["lamp_r.b", "lamp.anode"]
ground = ["cell.minus", "lamp.cathode"]
)";

}  // namespace

TEST_CASE("two dividers are compared by Ohm's law", "[compare]") {
  // 12 V over 1k + 1k: 6 mA, 6 V; over 1k + 3k: 3 mA, 9 V.
  const Versions versions = with_values(kDivider, "low.value", {"1k", "3k"});
  const Comparison comparison = compare(versions.candidates);
  REQUIRE(comparison.states.size() == 1);
  const ComparedState& state = comparison.states[0];
  CHECK(state.withheld.empty());

  const ComparedRow& tap = row(state, Topic::voltage, "tap");
  CHECK_THAT(*tap.values[0], WithinRel(6.0, kLinear));
  CHECK_THAT(*tap.values[1], WithinRel(9.0, kLinear));
  CHECK_THAT(*tap.difference, WithinRel(3.0, kLinear));
  CHECK_THAT(*tap.relative, WithinRel(0.5, kLinear));
  CHECK(tap.extent == Extent::real);

  const ComparedRow& low = row(state, Topic::current, "low");
  CHECK(low.subjects == std::vector<std::string>{"high", "low"});
  CHECK_THAT(*low.values[0], WithinRel(6e-3, kLinear));
  CHECK_THAT(*low.relative, WithinRel(-0.5, kLinear));
  CHECK_THAT(*row(state, Topic::supply, "jack").difference, WithinRel(-3e-3, kLinear));
  CHECK_THAT(*row(state, Topic::power, "jack").values[0],
             WithinRel(12.0 * 7.2e-3, kLinear));
  CHECK_THAT(*row(state, Topic::power, "high").values[1], WithinRel(9e-3, kLinear));

  // 36 mW of 250 mW, then 9 mW; 7.2 mA of 100 mA, then 4.2 mA.
  const ComparedRow& heat = row(state, Topic::margin, "high", "resistor-power");
  CHECK_THAT(*heat.values[0], WithinRel(1.0 - 36.0 / 250.0, kLinear));
  CHECK_THAT(*heat.values[1], WithinRel(1.0 - 9.0 / 250.0, kLinear));
  CHECK(heat.extent == Extent::slight);  // Both have plenty.
  const ComparedRow& supply = row(state, Topic::margin, "jack", "supply-current");
  CHECK_THAT(*supply.values[1], WithinRel(1.0 - 0.042, kLinear));

  CHECK(row(state, Topic::current, "side").extent == Extent::none);
  CHECK(row(state, Topic::voltage, "inlet").extent == Extent::none);
}

TEST_CASE("less than a hundredth is hardly a change", "[compare]") {
  const auto extent = [](const std::string& value) {
    const Versions versions = with_values(kDivider, "side.value", {"10k", value});
    return row(compare(versions.candidates).states[0], Topic::current, "side").extent;
  };
  CHECK(extent("10k") == Extent::none);
  CHECK(extent("10.09 kohm") == Extent::slight);
  CHECK(extent("10.11 kohm") == Extent::real);
}

TEST_CASE("findings that appear and go are told with who has them", "[compare]") {
  // 12 V on 1k: 144 mW of 250 mW; on 470R: 306 mW; on 100k: next to nothing.
  const Versions versions = with_values(kDivider, "side.value", {"1k", "470R", "100k"});
  const Comparison comparison = compare(versions.candidates);
  const auto& findings = comparison.states[0].findings;
  REQUIRE_FALSE(findings.empty());
  CHECK(findings[0].finding.severity == Severity::fault);
  CHECK(findings[0].finding.check == "resistor-power");
  CHECK(findings[0].in == std::vector<bool>{false, true, false});
  CHECK(comparison.verdict == Verdict::fault);
  CHECK(row(comparison.states[0], Topic::margin, "side", "resistor-power").extent ==
        Extent::real);
  CHECK_FALSE(row(comparison.states[0], Topic::current, "side").difference.has_value());
  CHECK_THAT(comparison.summary, Contains("470R has 1 fault") && Contains("'side'"));
}

TEST_CASE("each version tells of a finding with its own figures", "[compare]") {
  // 12 V on 470R: 306 mW of 250 mW; on 330R: 436 mW; on 220R: 655 mW.
  const Versions versions =
      with_values(kDivider, "side.value", {"1k", "470R", "330R", "220R"});
  const Comparison comparison = compare(versions.candidates);
  const auto& findings = comparison.states[0].findings;
  REQUIRE_FALSE(findings.empty());
  const ComparedFinding& hot = findings[0];
  CHECK(hot.in == std::vector<bool>{false, true, true, true});
  REQUIRE(hot.messages.size() == 4);
  CHECK(hot.messages[0].empty());
  CHECK_THAT(hot.messages[1], Contains("306 mW"));
  CHECK_THAT(hot.messages[2], Contains("436 mW"));
  CHECK_THAT(hot.messages[3], Contains("655 mW"));
  CHECK(hot.finding.message == hot.messages[1]);
}

TEST_CASE("the summary tells of the worst version with its own figures", "[compare]") {
  // 25.5 mA on 470R, 54.5 mA on 220R: there the expectation fails as well.
  std::string text = kDivider;
  text += "\n[[expect]]\npart = \"side\"\ncurrent = { max = \"40 mA\" }\n";
  const Versions versions = with_values(text, "side.value", {"1k", "470R", "220R"});
  const Comparison comparison = compare(versions.candidates);
  CHECK_THAT(comparison.summary, Contains("220R has 2 faults") && Contains("655 mW"));
  CHECK_THAT(comparison.summary, !Contains("306 mW"));
}

TEST_CASE("too much in one version is not too little in another", "[compare]") {
  std::string text = kDivider;
  text +=
      "\n[[expect]]\npart = \"side\"\n"
      "current = { min = \"5 mA\", max = \"15 mA\" }\n";
  const Versions versions = with_values(text, "side.value", {"680R", "1k", "10k"});
  const Comparison comparison = compare(versions.candidates);
  std::vector<std::vector<bool>> in;
  for (const ComparedFinding& f : comparison.states[0].findings)
    if (f.finding.check == "expectation") in.push_back(f.in);
  CHECK(in ==
        std::vector<std::vector<bool>>{{true, false, false}, {false, false, true}});
}

TEST_CASE("a margin is that of the finding that a check would give", "[compare]") {
  const Versions versions = with_values(kDivider, "side.value", {"470R", "1k"});
  const Comparison comparison = compare(versions.candidates);
  const ComparedState& state = comparison.states[0];
  const auto fault = std::find_if(
      state.findings.begin(), state.findings.end(), [](const ComparedFinding& f) {
        return f.finding.check == "resistor-power" && f.finding.part == "side";
      });
  REQUIRE(fault != state.findings.end());
  const ComparedRow& heat = row(state, Topic::margin, "side", "resistor-power");
  CHECK_THAT(*heat.values[0], WithinAbs(*margin(fault->finding), 1e-15));
}

TEST_CASE("an LED's light goes with its current, a battery's life against it",
          "[compare]") {
  const Versions versions = with_values(kLamp, "lamp_r.value", {"330R", "470R"});
  const Comparison comparison = compare(versions.candidates);
  const ComparedState& state = comparison.states[0];
  const ComparedRow& light = row(state, Topic::light, "lamp");
  const ComparedRow& current = row(state, Topic::current, "lamp");
  const ComparedRow& supply = row(state, Topic::supply, "cell");
  const ComparedRow& life = row(state, Topic::life, "cell");
  const double rated = figure(versions.circuits[0]->parts[2], "current")->value;
  for (const std::size_t k : {0U, 1U}) {
    CHECK_THAT(*light.values[k], WithinRel(*current.values[k] / rated, 1e-12));
    CHECK_THAT(*life.values[k] * *supply.values[k], WithinRel(0.5 * 3600.0, 1e-12));
  }
  CHECK(*light.difference < 0.0);
  CHECK(*life.difference > 0.0);
  CHECK_THAT(comparison.summary, Contains("With 470R 'lamp'") && Contains("dimmer"));
}

TEST_CASE("where the witnesses do not agree there are no figures", "[compare]") {
  Versions versions;
  versions.add(kDivider, "good");
  versions.add(kDivider, "odd", {}, [](const Network& network) {
    Solution solution = solve_nodal(network);
    for (double& volts : solution.volts) volts *= 1.01;
    return solution;
  });
  const Comparison comparison = compare(versions.candidates);
  CHECK(comparison.states[0].rows.empty());
  CHECK_THAT(comparison.states[0].withheld, Contains("odd"));
  CHECK(comparison.verdict == Verdict::disagreement);
  CHECK_THAT(comparison.summary, Contains("No verdict on odd"));
}

TEST_CASE("what only one has is a change", "[compare]") {
  std::string more = kDivider;
  more.replace(more.find("[nets]"), 6,
               "tail = { kind = \"resistor\", value = \"10k\" }\n[nets]");
  more.replace(more.find("\"side.a\""), 8, R"("side.a", "tail.a")");
  more.replace(more.find("\"side.b\""), 8, R"("side.b", "tail.b")");
  Versions versions;
  versions.add(kDivider, "one");
  versions.add(more, "two");
  const ComparedState state = compare(versions.candidates).states[0];
  const ComparedRow& tail = row(state, Topic::current, "tail");
  CHECK_FALSE(tail.values[0].has_value());
  CHECK(tail.values[1].has_value());
  CHECK(tail.extent == Extent::real);
  CHECK_FALSE(tail.difference.has_value());
}

TEST_CASE("a part that only one has is named, and no change of a current",
          "[compare]") {
  std::string more = kDivider;
  more.replace(
      more.find("[nets]"), 6,
      "c1 = { kind = \"capacitor\", value = \"1uF\", rated = \"25 V\" }\n[nets]");
  more.replace(more.find("\"low.a\""), 7, R"("low.a", "c1.a")");
  more.replace(more.find("\"low.b\""), 7, R"("low.b", "c1.b")");
  Versions versions;
  versions.add(more, "old");
  versions.add(kDivider, "new");
  const std::string summary = compare(versions.candidates).summary;
  CHECK_THAT(summary,
             Contains("Only old has 'c1'. Nothing else that matters changes."));
  CHECK_THAT(summary, !Contains("in place of") && !Contains("Tightest"));
  // What each has is told beside it.
  Versions both;
  both.add(more, "old");
  both.add(kDivider, "new", {.changes = {{"low.value", "3k"}}});
  both.add(kDivider, "newest");
  CHECK_THAT(compare(both.candidates).summary,
             Contains("Only old has 'c1'. What changes most: "));
}

TEST_CASE("where no state is in each nothing is said to stay", "[compare]") {
  Versions versions;
  versions.add(kDivider + "[states.on]\n", "old");
  versions.add(kDivider + "[states.lit]\n", "new");
  CHECK_THAT(compare(versions.candidates).summary,
             Contains("No state could be compared.") && !Contains("Nothing"));
  Versions some;
  some.add(kDivider + "[states.on]\n[states.lit]\n", "old");
  some.add(kDivider + "[states.lit]\n", "new");
  CHECK_THAT(compare(some.candidates).summary,
             Contains("Nothing that matters changes where there are figures to compare "
                      "(1 of 2 states)."));
}

TEST_CASE("a summary with a fault does not say that nothing matters", "[compare]") {
  // 7.2 mA of 100 mA, then of 1 mA: all figures but the margin stay.
  const Versions versions = with_values(kDivider, "jack.current", {"100 mA", "1 mA"});
  const std::string summary = compare(versions.candidates).summary;
  CHECK_THAT(summary, Contains("1 mA has 1 fault"));
  CHECK_THAT(summary, Contains("Voltages and currents stay as they are."));
  CHECK_THAT(summary, !Contains("Nothing"));
  // A margin alone: with 10 mA there is neither fault nor caution. A finding alone: of
  // a limit of 0 V there is no share that could be left.
  const Versions roomy = with_values(kDivider, "jack.current", {"100 mA", "10 mA"});
  CHECK_THAT(
      compare(roomy.candidates).summary,
      Contains("Both pass every check. Voltages and currents stay as they are."));
  Versions expecting;
  expecting.add(kDivider, "old");
  expecting.add(kDivider + "[[expect]]\nnet = \"tap\"\nvoltage = { max = \"0 V\" }\n",
                "new");
  const Comparison asked = compare(expecting.candidates);
  CHECK(find_row(asked.states[0], Topic::margin, "'tap'") == nullptr);
  CHECK_THAT(asked.summary, Contains("new has 1 fault") &&
                                Contains("Voltages and currents stay as they are.") &&
                                !Contains("Nothing"));
}

TEST_CASE("runs are not looked at, and then not every check was made", "[compare]") {
  const std::string run = R"([states.on]
[[runs]]
name = "up"
state = "on"
span = "1 ms"
rise = "1 us"
[[runs]]
name = "again"
state = "on"
span = "1 ms"
rise = "1 us"
)";
  const Comparison plain =
      compare(with_values(kDivider, "low.value", {"1k", "1k"}).candidates);
  CHECK(plain.runs == 0);
  CHECK_THAT(plain.summary, Contains("Both pass every check.") && !Contains("at rest"));
  const Versions versions = with_values(kDivider + run, "low.value", {"1k", "1k"});
  const Comparison comparison = compare(versions.candidates);
  CHECK(comparison.runs == 2);
  CHECK_THAT(comparison.summary, Contains("Both pass the checks at rest.") &&
                                     Contains("changes at rest.") &&
                                     !Contains("every check"));
  const Versions faulty = with_values(kDivider + run, "side.value", {"1k", "470R"});
  CHECK_THAT(compare(faulty.candidates).summary, Contains("1k is sounder at rest ("));
}

TEST_CASE("an LED without current is dark", "[compare]") {
  // Over 10 Mohm it gets less than a microampere.
  const Versions off = with_values(kLamp, "lamp_r.value", {"330R", "10Mohm"});
  CHECK_THAT(compare(off.candidates).summary,
             Contains("With 10Mohm 'lamp' goes dark, from ") &&
                 Contains(" of the usual current.") && !Contains("dimmer"));
  const Versions on = with_values(kLamp, "lamp_r.value", {"10Mohm", "330R"});
  CHECK_THAT(compare(on.candidates).summary,
             Contains("of the usual current; with 10Mohm it is dark.") &&
                 !Contains("brighter"));
  const Versions three = with_values(kLamp, "lamp_r.value", {"330R", "470R", "10Mohm"});
  CHECK_THAT(compare(three.candidates).summary,
             Contains("What changes most: 'lamp' is dark with 10Mohm, runs at "));
  // From dark to dark is no change that matters.
  const Versions never = with_values(kLamp, "lamp_r.value", {"5Mohm", "10Mohm"});
  CHECK(row(compare(never.candidates).states[0], Topic::light, "lamp").extent ==
        Extent::slight);
}

TEST_CASE("the tightest margin is of a fault's or a caution's limit", "[compare]") {
  // At 500 Hz a lamp is modulated by all of it, above the 40 % of low risk: a note.
  const std::string blinking = R"(
[parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "100 mA" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["a"] }
lamp_r = { kind = "resistor", value = "330R", power = "0.25 W" }
lamp   = { kind = "led", colour = "red" }
[nets]
rail   = ["jack.plus", "chip.vdd"]
out    = ["chip.a", "lamp_r.a"]
lit    = ["lamp_r.b", "lamp.anode"]
ground = ["jack.minus", "chip.vss", "lamp.cathode"]
[states.night]
"chip.a" = { pwm = "50%", frequency = "500 Hz" }
)";
  Versions versions;
  versions.add(blinking, "base");
  versions.add(blinking, "high", {.changes = {{"night.chip.a", "high"}}});
  const Comparison comparison = compare(versions.candidates);
  // It is a row, but not the tightest.
  CHECK(*row(comparison.states[0], Topic::margin, "lamp", "flicker-risk").values[0] <
        -1.0);
  CHECK_THAT(comparison.summary,
             Contains("Tightest margin that moves: ") && !Contains("flicker-risk"));
}

TEST_CASE("what the witnesses may differ by is neither size nor change", "[compare]") {
  // A battery that nothing loads, and what changes from nothing or to nothing.
  const std::string idle = R"(
[parts]
cell = { kind = "battery", chemistry = "alkaline", size = "9V", capacity = "500 mAh" }
door = { kind = "switch" }
r    = { kind = "resistor", value = "1k", power = "0.25 W" }
[nets]
plus   = ["cell.plus", "door.a"]
live   = ["door.b", "r.a"]
ground = ["cell.minus", "r.b"]
[states.shut]
door = "closed"
[states.ajar]
)";
  const Versions versions = with_values(idle, "r.value", {"1k", "2k"});
  const Comparison comparison = compare(versions.candidates);
  REQUIRE(comparison.states.size() == 2);
  const ComparedRow& life = row(comparison.states[1], Topic::life, "cell");
  CHECK(*life.values[0] == kLongestLife);
  CHECK(*life.values[1] == kLongestLife);
  CHECK(life.extent == Extent::none);
  CHECK(*row(comparison.states[0], Topic::life, "cell").values[0] < kLongestLife);

  // Nothing at all is drawn by a capacitor.
  const std::string filled = R"(
[parts]
cell = { kind = "battery", chemistry = "alkaline", size = "9V", capacity = "500 mAh" }
hold = { kind = "capacitor", value = "1uF", rated = "25 V" }
[nets]
plus   = ["cell.plus", "hold.a"]
ground = ["cell.minus", "hold.b"]
)";
  const Comparison full =
      compare(with_values(filled, "hold.value", {"1uF", "2uF"}).candidates);
  CHECK(row(full.states[0], Topic::life, "cell").values[0] == kLongestLife);

  // From nothing to something has no share; from something to nothing all of it. A
  // nanovolt over a kilohm drives a picoampere.
  const std::string source = R"(
[parts]
v = { kind = "voltage-source", voltage = "1 V" }
r = { kind = "resistor", value = "1k", power = "0.25 W" }
[nets]
top    = ["v.plus", "r.a"]
ground = ["v.minus", "r.b"]
)";
  const Comparison up =
      compare(with_values(source, "v.voltage", {"1 nV", "1 V"}).candidates);
  const ComparedRow& grown = row(up.states[0], Topic::current, "r");
  CHECK(grown.extent == Extent::real);
  CHECK_FALSE(grown.relative.has_value());
  CHECK_THAT(up.summary, Contains("carries 1 mA in place of 0 A."));
  const Comparison down =
      compare(with_values(source, "v.voltage", {"1 V", "1 nV"}).candidates);
  const ComparedRow& gone = row(down.states[0], Topic::current, "r");
  REQUIRE(gone.relative.has_value());
  CHECK(*gone.relative == -1.0);
  CHECK_THAT(down.summary, Contains("carries 0 A in place of 1 mA."));
}

TEST_CASE("a battery's life is told in nine columns", "[compare]") {
  constexpr double kDay = 24.0 * 3600.0, kYear = 365.25 * kDay;
  CHECK(life_text(12.34) == "12.3 s");
  CHECK(life_text(600.0) == "10 min");
  CHECK(life_text(13.4 * 3600.0) == "13.4 h");
  CHECK(life_text(3.44 * kDay) == "3.44 days");
  CHECK(life_text(98.4 * kYear) == "98 years");
  CHECK(life_text(kLongestLife) == ">99 years");
  CHECK(life_text(1e300) == ">99 years");
  for (double seconds = 1e-3; seconds < 1e11; seconds *= 1.017)
    CHECK(life_text(seconds).size() <= 9);
}
