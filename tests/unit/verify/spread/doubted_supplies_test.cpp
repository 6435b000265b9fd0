// Supplies that do not say whether they are regulated.
#include "core/verify/spread/doubted_supplies.h"

#include <algorithm>
#include <string>
#include <vector>

#include "tests/nodal_witness.h"
#include "tests/unit/check/bench.h"

using namespace benchproof;
using benchproof::bench::Bench;
using benchproof::bench::filled;
using benchproof::bench::find;
using benchproof::bench::verified;
using Catch::Contains;
using Catch::Matchers::WithinRel;

namespace {

constexpr std::string_view kDoubt = "supply-unregulated";

/// An LED that gets 18 mA from 12 V, and 26 mA from an unregulated supply.
const std::string kJackLamp = R"([parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "500 mA"@ }
r = { kind = "resistor", value = "560R", power = "5 W" }
x = { kind = "led", colour = "red" }
[nets]
rail = ["jack.plus", "r.a"]
m = ["r.b", "x.anode"]
ground = ["jack.minus", "x.cathode"]
)";

/// How many findings of all states are of the check.
int count(const Verification& verification, std::string_view check) {
  int found = 0;
  for (const StateResult& state : verification.states)
    found += static_cast<int>(
        std::count_if(state.findings.begin(), state.findings.end(),
                      [check](const Finding& f) { return f.check == check; }));
  return found;
}

}  // namespace

TEST_CASE("a supply that does not say whether it is regulated is asked about",
          "[check][verify]") {
  const Bench told = verified(filled(kJackLamp, ""));
  CHECK(told.verification.verdict == Verdict::caution);
  const Finding* doubt = find(told.verification.states[0], kDoubt, "jack");
  REQUIRE(doubt != nullptr);
  CHECK(doubt->severity == Severity::caution);
  CHECK(doubt->mark == Mark::practice);
  CHECK(doubt->span.begin.line == 2);
  CHECK_THAT(doubt->message, Contains("'jack' does not say") && Contains("17 V") &&
                                 Contains("12 V") && Contains("a fault") &&
                                 Contains("in state 'steady'") &&
                                 Contains("regulated = true"));
}

TEST_CASE("a supply that says what it is, is not asked about", "[check][verify]") {
  CHECK(verified(filled(kJackLamp, ", regulated = true")).verification.verdict ==
        Verdict::good);
  const Bench unregulated =
      verified(filled(kJackLamp, R"(, regulated = false, no_load = "17 V")"));
  CHECK(find(unregulated.verification.states[0], "led-current") != nullptr);
  CHECK(count(unregulated.verification, kDoubt) == 0);
  const std::string raw = R"([parts]
s = { kind = "voltage-source", voltage = "12 V" }
r = { kind = "resistor", value = "560R", power = "1 W" }
x = { kind = "led", colour = "red" }
[nets]
rail = ["s.plus", "r.a"]
m = ["r.b", "x.anode"]
ground = ["s.minus", "x.cathode"]
)";
  CHECK(verified(raw).verification.verdict == Verdict::good);
}

TEST_CASE("what is found is what the description says with regulated = false",
          "[check][verify]") {
  const Bench doubted = verified(filled(kJackLamp, ""));
  const Bench unregulated =
      verified(filled(kJackLamp, R"(, regulated = false, no_load = "17 V")"));
  const Finding* doubt = find(doubted.verification.states[0], kDoubt);
  const Finding* led = find(unregulated.verification.states[0], "led-current", "x");
  REQUIRE(doubt != nullptr);
  REQUIRE(led != nullptr);
  CHECK_THAT(doubt->message, Contains(led->message));
  const double volts = unregulated.verification.states[0].nodal.net_volts[1];
  // The same arithmetic, but for the rounding of 17/12 of 12 V.
  CHECK_THAT(*doubt->value, WithinRel(volts, 1e-12));
}

TEST_CASE("only what is new is told of a doubted supply", "[check][verify]") {
  const auto with_resistor = [](std::string_view ohms) {
    std::string text = filled(kJackLamp, "");
    text.replace(text.find("560R"), 4, ohms);
    return verified(text);
  };
  // 10 mA and 15 mA.
  CHECK(with_resistor("1k").verification.verdict == Verdict::good);
  // 22 mA, a caution, and 31 mA, a fault.
  const Bench worse = with_resistor("470R");
  CHECK(find(worse.verification.states[0], "led-current")->severity ==
        Severity::caution);
  CHECK(count(worse.verification, kDoubt) == 1);
  // 36 mA and 47 mA: a fault whichever supply it is.
  const Bench burnt = with_resistor("270R");
  CHECK(find(burnt.verification.states[0], "led-current")->severity == Severity::fault);
  CHECK(count(burnt.verification, kDoubt) == 0);
}

TEST_CASE("two pins of a chip are two findings", "[check][verify]") {
  // The first input is above the chip's supply as described, the second would be.
  const std::string text = R"([parts]
logic = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A"@ }
chip = { kind = "controller", type = "cmos-5v", inputs = ["a", "b"] }
bypass = { kind = "capacitor", value = "100nF", rated = "50 V" }
top_a = { kind = "resistor", value = "10k" }
foot_a = { kind = "resistor", value = "15k" }
top_b = { kind = "resistor", value = "10k" }
foot_b = { kind = "resistor", value = "6k2" }
load = { kind = "resistor", value = "1k" }
[nets]
vdd = ["logic.plus", "chip.vdd", "bypass.a", "load.a"]
raw = ["jack.plus", "top_a.a", "top_b.a"]
a = ["top_a.b", "foot_a.a", "chip.a"]
b = ["top_b.b", "foot_b.a", "chip.b"]
ground = ["logic.minus", "jack.minus", "chip.vss", "bypass.b", "foot_a.b", "foot_b.b",
          "load.b"]
)";
  const Bench regulated = verified(filled(text, ", regulated = true"));
  CHECK(count(regulated.verification, "controller-clamp") == 1);
  const Bench doubted = verified(filled(text, ""));
  CHECK(count(doubted.verification, "controller-clamp") == 1);
  const Finding* doubt = find(doubted.verification.states[0], kDoubt, "jack");
  REQUIRE(doubt != nullptr);
  CHECK_THAT(doubt->message, Contains("a caution") && Contains("'chip.b'"));
}

TEST_CASE("each supply is told once, where it would be worst", "[check][verify]") {
  // In state `dim` the second LED would get 22 mA, in `bright` the first 27 mA.
  const std::string text = R"([parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
other = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
s = { kind = "switch" }
r1 = { kind = "resistor", value = "560R", power = "1 W" }
r2 = { kind = "resistor", value = "680R", power = "1 W" }
r3 = { kind = "resistor", value = "560R", power = "1 W" }
x1 = { kind = "led", colour = "red" }
x2 = { kind = "led", colour = "red" }
x3 = { kind = "led", colour = "red" }
[nets]
rail = ["jack.plus", "s.a", "r2.a"]
on = ["s.b", "r1.a"]
m1 = ["r1.b", "x1.anode"]
m2 = ["r2.b", "x2.anode"]
third = ["other.plus", "r3.a"]
m3 = ["r3.b", "x3.anode"]
ground = ["jack.minus", "other.minus", "x1.cathode", "x2.cathode", "x3.cathode"]
[states.dim]
[states.bright]
s = "closed"
)";
  const Bench bench = verified(text);
  CHECK(count(bench.verification, kDoubt) == 2);
  const Finding* jack = find(bench.verification.states[1], kDoubt, "jack");
  REQUIRE(jack != nullptr);
  CHECK_THAT(jack->message, Contains("in state 'bright'") && Contains("'x1'"));
  // Of the same in both states the first is told.
  const Finding* other = find(bench.verification.states[0], kDoubt, "other");
  REQUIRE(other != nullptr);
  CHECK_THAT(other->message, Contains("in state 'dim'") && Contains("'x3'"));
  // Where the worst state is not asked about, the other one is told.
  const Bench dim = verified(text, {"dim"});
  CHECK_THAT(find(dim.verification.states[0], kDoubt, "jack")->message,
             Contains("a caution in state 'dim'") && Contains("'x2'"));
}

TEST_CASE("a state's voltage moves that of an unregulated supply", "[check][verify]") {
  const Bench bench = verified(filled(kJackLamp, "") + R"([states.low]
"jack.voltage" = "9 V"
"r.value" = "390R"
)");
  const Finding* doubt = find(bench.verification.states[0], kDoubt);
  REQUIRE(doubt != nullptr);
  CHECK_THAT(doubt->message, Contains("12.8 V") && Contains("9 V"));
}

TEST_CASE("a supply of an untold current does not sag below its print",
          "[check][verify]") {
  // A lamp of 2 A would get 7 V behind the slope of a supply of 1 A.
  const std::string text = R"([parts]
jack = { kind = "dc-supply", voltage = "12 V"@ }
x = { kind = "lamp", voltage = "12 V", current = "2 A" }
[nets]
rail = ["jack.plus", "x.a"]
ground = ["jack.minus", "x.b"]
)";
  CHECK(verified(filled(text, "")).verification.verdict == Verdict::good);
  // One of 10 A, told, gives the lamp nearly 16 V.
  const Bench strong = verified(filled(text, R"(, current = "10 A")"));
  CHECK(count(strong.verification, kDoubt) == 1);
  // 1 A is taken where less is drawn: 12 ohm and 5 ohm of 17 V are 12 V.
  std::string small = filled(text, "");
  small.replace(small.find("2 A"), 3, "1 A");
  CHECK(verified(small).verification.verdict == Verdict::good);
  small.replace(small.find("1 A"), 3, "0.5 A");
  const Bench light = verified(small);
  REQUIRE(count(light.verification, kDoubt) == 1);
  // 24 ohm behind 5 ohm.
  CHECK_THAT(*find(light.verification.states[0], kDoubt)->value,
             WithinRel(17.0 * 24 / 29, 1e-12));
}

TEST_CASE("an expectation that an unregulated supply fails counts", "[check][verify]") {
  const Bench bench = verified(R"([parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
r = { kind = "resistor", value = "10k" }
[nets]
rail = ["jack.plus", "r.a"]
ground = ["jack.minus", "r.b"]
[[expect]]
part = "r"
current = { max = "1.3 mA" }
)");
  CHECK(bench.verification.verdict == Verdict::caution);
  const Finding* doubt = find(bench.verification.states[0], kDoubt);
  REQUIRE(doubt != nullptr);
  CHECK_THAT(doubt->message, Contains("above the expected 1.3 mA"));
}

TEST_CASE("what only all states tell counts for a doubted supply", "[check][verify]") {
  // The output's 5 V close the transistor at 5 V, and no longer at 7 V.
  const std::string text = R"([parts]
logic = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
jack = { kind = "dc-supply", voltage = "5 V", current = "1 A"@ }
chip = { kind = "controller", type = "cmos-5v", outputs = ["on"] }
bypass = { kind = "capacitor", value = "100nF", rated = "50 V" }
base_r = { kind = "resistor", value = "1k" }
t = { kind = "transistor", type = "BC327" }
load = { kind = "resistor", value = "1k", power = "1 W" }
[nets]
vdd = ["logic.plus", "chip.vdd", "bypass.a"]
rail = ["jack.plus", "t.emitter"]
out = ["chip.on", "base_r.a"]
base = ["base_r.b", "t.base"]
c = ["t.collector", "load.a"]
ground = ["logic.minus", "jack.minus", "chip.vss", "bypass.b", "load.b"]
[states.lit]
[states.dark]
"chip.on" = "high"
)";
  CHECK(verified(filled(text, ", regulated = true")).verification.verdict ==
        Verdict::good);
  const Bench bench = verified(filled(text, ""));
  const Finding* doubt = find(bench.verification.states[1], kDoubt, "jack");
  REQUIRE(doubt != nullptr);
  CHECK_THAT(doubt->message, Contains("conducts whatever 'chip.on' does"));
  // With one state alone nobody can tell.
  const Bench dark = verified(filled(text, ""), {"dark"});
  for (const Finding& finding : dark.verification.states[0].findings)
    CHECK_THAT(finding.message, !Contains("conducts whatever"));
}

TEST_CASE(
    "supplies are left as described where that is asked for, and where the "
    "nodal witness has no answer",
    "[check][verify]") {
  const Bench bench = verified(filled(kJackLamp, ""));
  const Solve nodal = by_nodal;
  CHECK(verify(bench.circuit, nodal, nodal, {}, Supplies::as_described).verdict ==
        Verdict::good);
  const std::size_t nodes =
      bench.verification.states[0].phases[0].network.structure->nodes.size();
  int refused = 0;
  const Solve reluctant = [&](const Network& network) {
    if (network.structure->nodes.size() == nodes) return solve_nodal(network);
    ++refused;
    Solution solution;
    solution.status = SolveStatus::no_convergence;
    return solution;
  };
  CHECK(verify(bench.circuit, nodal, reluctant).verdict == Verdict::good);
  CHECK(refused == 1);
}

TEST_CASE("of too many doubted supplies the first says so", "[check][verify]") {
  const auto with = [](std::size_t supplies, std::size_t states) {
    std::string parts = "[parts]\n", nets = "[nets]\n", ground = "ground = [";
    for (std::size_t k = 0; k < supplies; ++k) {
      const std::string n = std::to_string(k);
      parts += "s" + n + " = { kind = \"dc-supply\", voltage = \"12 V\" }\nr" + n +
               " = { kind = \"resistor\", value = \"1k\" }\n";
      nets += "n" + n + " = [\"s" + n + ".plus\", \"r" + n + ".a\"]\n";
      ground += "\"s" + n + ".minus\", \"r" + n + ".b\", ";
    }
    std::string text = parts + nets + ground + "]\n";
    for (std::size_t k = 0; k < states; ++k)
      text += "[states.z" + std::to_string(k) + "]\n";
    return verified(text);
  };
  // A resistor of 0.25 W on 17 V would burn: 289 mW.
  CHECK(count(with(3, 2).verification, kDoubt) == 3);
  const Bench many = with(100, 101);
  REQUIRE(100 * figure_count(many.circuit) > kMostDoubtedFigures);
  CHECK(count(many.verification, kDoubt) == 1);
  const Finding* told = find(many.verification.states[0], kDoubt, "s0");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::caution);
  CHECK_THAT(told->message, Contains("100 such supplies are too many"));
}
