#include "core/compare/compare.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <memory>
#include <string>
#include <vector>

#include "core/circuit/reader.h"
#include "core/nodal/nodal_solver.h"

using namespace benchproof;
using Catch::Contains;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

// LU with pivoting is backward stable: a few roundings on so small a linear circuit,
// times what a leakage conductance of 1e-12 S beside 1e3 ohm adds (1e-9).
constexpr double kLinear = 1e-8;

const Catalogue& catalogue() {
  static const Catalogue built_in = built_in_catalogue();
  return built_in;
}

/// A circuit in several versions, judged; the nodal solver stands for both witnesses.
struct Versions {
  std::vector<std::unique_ptr<Circuit>> circuits;
  std::vector<std::unique_ptr<Verification>> verifications;
  std::vector<Candidate> candidates;

  void add(const std::string& text, const std::string& head, const Asked& asked = {},
           const Solve& engine = solve_nodal) {
    ReadResult read = read_circuit(text, "pier.toml", catalogue(), asked);
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
  more.replace(more.find("\"side.a\""), 8, "\"side.a\", \"tail.a\"");
  more.replace(more.find("\"side.b\""), 8, "\"side.b\", \"tail.b\"");
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
