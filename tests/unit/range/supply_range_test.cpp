#include "core/range/supply_range.h"

#include <cmath>
#include <stdexcept>
#include <string>
#include <variant>

#include "tests/known_types.h"
#include "tests/unit/check/bench.h"
#include "tests/unit/range/witnesses.h"

using namespace benchproof;
using benchproof::bench::filled;
using benchproof::bench::read;
using benchproof::test::witnesses;
using Catch::Contains;
using Catch::Matchers::WithinAbs;

namespace {

// An end is found to a whole millivolt inwards. A limit itself counts as kept up to
// 1e-5 beyond it (limits.h), 0.6 mV at 60 V; a constant drop holds within 10 uV.
constexpr double kEnd = kRangeResolutionVolts + 0.7e-3;

struct Found {
  Circuit circuit;
  std::vector<StateRange> states;
};

/// The ranges of a description, with the nodal solver as both witnesses.
Found found(const std::string& text, const RangeRules& rules = {},
            const std::string& over = {}, const Solve& engine = solve_nodal) {
  Found result{read(known_types(), text), {}};
  const auto part = choose_supply(result.circuit, over);
  REQUIRE(std::holds_alternative<int>(part));
  result.states = find_supply_range(result.circuit, std::get<int>(part), rules,
                                    witnesses(solve_nodal, engine));
  return result;
}

StateRange found_one(const std::string& text, const RangeRules& rules = {},
                     const std::string& over = {}) {
  Found result = found(text, rules, over);
  REQUIRE(result.states.size() == 1);
  for (const RangeTestimony& testimony : result.states[0].testimonies) {
    CAPTURE(testimony.volts, testimony.reason);
    CHECK(testimony.verdict == Verdict::good);
  }
  return result.states[0];
}

/// Whether a check at a part (or net) is what sets an end.
bool is_set_by(const RangeEnd& end, const std::string& part, const std::string& check) {
  if (end.kind != RangeEnd::Kind::check || end.findings.empty()) return false;
  const Finding& first = end.findings.front();
  CAPTURE(first.part, first.net, first.check);
  CHECK(std::abs(end.beyond - end.volts) <= kRangeResolutionVolts * (1 + 1e-9));
  return (first.part == part || first.net == part) && first.check == check;
}

const std::string kLed = R"([parts]
jack = { kind = "dc-supply", voltage = "@", current = "1 A" }
r = { kind = "resistor", value = "330R", power = "0.5 W" }
x = { kind = "led", drop = "2 V", current = "20 mA", reverse = "5 V" }
[nets]
top = ["jack.plus", "r.a"]
mid = ["r.b", "x.anode"]
ground = ["jack.minus", "x.cathode"]
)";

// 7805 with capacitors before (of that rating) and behind it, and a load.

std::string regulated(const std::string& rated, const std::string& load,
                      const std::string& volts = "12 V") {
  return R"([parts]
jack = { kind = "dc-supply", voltage = ")" +
         volts + R"(", current = "1 A" }
bulk = { kind = "capacitor", value = "220uF", rated = ")" +
         rated + R"(", polarised = true }
reg = { kind = "regulator", type = "7805" }
hold = { kind = "capacitor", value = "22uF", rated = "16 V", polarised = true }
load = { kind = "resistor", value = ")" +
         load + R"(", power = "2 W" }
[nets]
raw = ["jack.plus", "bulk.plus", "reg.in"]
rail = ["reg.out", "hold.plus", "load.a"]
ground = ["jack.minus", "bulk.minus", "reg.common", "hold.minus", "load.b"]
)";
}

/// The state with another voltage of a supply.
State with_supply_volts(const Circuit& circuit, const State& state, int part,
                        double volts) {
  State moved = state;
  for (const auto& [key, value] : supply_settings(part_in(circuit, state, part), volts))
    moved.settings[{part, key}] = Setting{value, {}};
  return moved;
}

}  // namespace

TEST_CASE("a finding that is expected ends no range", "[range]") {
  const std::string expected = R"([[expect]]
finding = "led-current"
part = "x"
)";
  const StateRange told = found_one(filled(kLed, "12 V"));
  CHECK_FALSE(told.passes);
  const StateRange state = found_one(filled(kLed, "12 V") + expected);
  CHECK(state.passes);
  REQUIRE(state.range);
  // Next is the resistor: 0.5 W in 330 ohm, and 2 V of the LED.
  CHECK(is_set_by(state.range->upper, "r", "resistor-power"));
  CHECK_THAT(state.range->upper.volts, WithinAbs(std::sqrt(0.5 * 330.0) + 2.0, kEnd));
  // Of one that is expected elsewhere nothing changes.
  CHECK_FALSE(found_one(filled(kLed, "12 V") + R"([[expect]]
finding = "led-current"
part = "r"
)")
                  .passes);
}

TEST_CASE("an LED behind a resistor: from first light to its current limit",
          "[range][closed-form]") {
  const StateRange state = found_one(filled(kLed, "5 V"));
  REQUIRE(state.passes);
  REQUIRE(state.range);
  // V = I R + Vf, at 20 mA and at the 0.1 mA of a visible LED (over_states.h).
  CHECK_THAT(state.range->upper.volts, WithinAbs(0.020 * 330 + 2, kEnd));
  CHECK(is_set_by(state.range->upper, "x", "led-current"));
  CHECK_THAT(state.range->lower.volts, WithinAbs(0.0001 * 330 + 2, kEnd));
  CHECK(is_set_by(state.range->lower, "x", "led-dark"));
  // Without the LED's limit the resistor's: V = sqrt(P R) + Vf.
  REQUIRE(state.range->upper_without);
  CHECK_THAT(state.range->upper_without->volts,
             WithinAbs(std::sqrt(0.5 * 330) + 2, kEnd));
  CHECK(is_set_by(*state.range->upper_without, "r", "resistor-power"));
  CHECK(state.elsewhere.empty());
  CHECK(state.testimonies.size() == 5);
}

TEST_CASE("a capacitor's rating, and the drop before it", "[range][closed-form]") {
  const StateRange state = found_one(R"([parts]
jack = { kind = "dc-supply", voltage = "9 V", current = "1 A" }
guard = { kind = "diode", drop = "0.7 V", current = "1 A", reverse = "40 V" }
bulk = { kind = "capacitor", value = "10uF", rated = "16 V", polarised = true }
r = { kind = "resistor", value = "10k", power = "0.25 W" }
[nets]
top = ["jack.plus", "guard.anode"]
raw = ["guard.cathode", "bulk.plus", "r.a"]
ground = ["jack.minus", "bulk.minus", "r.b"]
)");
  REQUIRE(state.range);
  CHECK_THAT(state.range->upper.volts, WithinAbs(16.7, kEnd));
  CHECK(is_set_by(state.range->upper, "bulk", "capacitor-voltage"));
  // sqrt(0.25 W * 10 kohm) + 0.7 V
  REQUIRE(state.range->upper_without);
  CHECK_THAT(state.range->upper_without->volts, WithinAbs(50.7, kEnd));
  CHECK(is_set_by(*state.range->upper_without, "r", "resistor-power"));
  // Nothing there must work, so nothing ends it below.
  CHECK(state.range->lower.kind == RangeEnd::Kind::search);
  CHECK(state.range->lower.volts == 0.0);
  CHECK_FALSE(state.range->lower_without);
}

TEST_CASE("a plain 5 V regulator takes 7 V to 35 V, to 25 V with such capacitors",
          "[range][practice]") {
  // Both: common practice, no source.
  const StateRange plain = found_one(regulated("50 V", "1k"));
  REQUIRE(plain.range);
  CHECK_THAT(plain.range->lower.volts, WithinAbs(7.0, kEnd));
  CHECK(is_set_by(plain.range->lower, "reg", "regulator-dropout"));
  CHECK_THAT(plain.range->upper.volts, WithinAbs(35.0, kEnd));
  CHECK(is_set_by(plain.range->upper, "reg", "regulator-input"));

  const StateRange small = found_one(regulated("25 V", "1k"));
  REQUIRE(small.range);
  CHECK(small.range->lower.volts == plain.range->lower.volts);
  CHECK_THAT(small.range->upper.volts, WithinAbs(25.0, kEnd));
  CHECK(is_set_by(small.range->upper, "bulk", "capacitor-voltage"));
  REQUIRE(small.range->upper_without);
  CHECK(small.range->upper_without->volts == plain.range->upper.volts);
  CHECK(is_set_by(*small.range->upper_without, "reg", "regulator-input"));
  // A regulator that is off does not count as passing.
  CHECK(small.elsewhere.empty());
}

TEST_CASE("a heavier load ends the range by heat", "[range][closed-form]") {
  const StateRange state = found_one(regulated("50 V", "68R"));
  REQUIRE(state.range);
  CHECK(is_set_by(state.range->upper, "reg", "regulator-junction"));
  // The 7805's figures of reference/parts/regulators.toml: 150 C and 65 K/W at 25 C,
  // 8 mA of its own, an output that moves with input and load.
  const double most_watts = (150.0 - 25.0) / 65.0;
  const auto watts = [](double volts) {
    const double output = (5.0 + 0.0056 * (volts - 10.0)) / (1.0 + 0.0669 / 68.0);
    return (volts - output) * output / 68.0 + volts * 8e-3;
  };
  const double end = state.range->upper.volts;
  CHECK(end < 35.0);
  CHECK(watts(end) < most_watts * (1 + 2e-5));  // 1e-5 of 150 C, 1.5 mK, is 0.12e-5 W.
  CHECK(watts(end + 3e-3) > most_watts);
  REQUIRE(state.range->upper_without);
  CHECK(is_set_by(*state.range->upper_without, "reg", "regulator-input"));
}

TEST_CASE("where the present value fails, the nearest range is told", "[range]") {
  const StateRange high = found_one(regulated("25 V", "1k", "30 V"));
  CHECK_FALSE(high.passes);
  CHECK(high.verdict == Verdict::fault);
  REQUIRE(high.present_findings.size() == 1);
  CHECK(high.present_findings[0].part == "bulk");
  REQUIRE(high.range);
  CHECK_THAT(high.range->upper.volts, WithinAbs(25.0, kEnd));
  CHECK_THAT(high.range->lower.volts, WithinAbs(7.0, kEnd));
  CHECK(high.always.empty());

  const StateRange low = found_one(regulated("25 V", "1k", "6 V"));
  CHECK_FALSE(low.passes);
  REQUIRE(low.range);
  CHECK(low.range->lower.volts == high.range->lower.volts);
  CHECK(low.range->upper.volts == high.range->upper.volts);

  // An LED that no state lights is owed its light.
  const StateRange dark = found_one(filled(kLed, "1.5 V"));
  CHECK_FALSE(dark.passes);
  REQUIRE(dark.range);
  CHECK_THAT(dark.range->lower.volts, WithinAbs(2.033, kEnd));
  CHECK_THAT(dark.range->upper.volts, WithinAbs(8.6, kEnd));
}

TEST_CASE("what no supply voltage cures is set apart", "[range]") {
  // A second LED the wrong way round, whose reverse rating is out of reach.
  const StateRange state = found_one(R"([parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
r = { kind = "resistor", value = "330R", power = "0.5 W" }
x = { kind = "led", drop = "2 V", current = "20 mA", reverse = "5 V" }
r2 = { kind = "resistor", value = "330R" }
y = { kind = "led", drop = "2 V", current = "20 mA", reverse = "100 V" }
[nets]
top = ["jack.plus", "r.a", "r2.a"]
mid = ["r.b", "x.anode"]
mid2 = ["r2.b", "y.cathode"]
ground = ["jack.minus", "x.cathode", "y.anode"]
)");
  CHECK_FALSE(state.passes);
  REQUIRE(state.always.size() == 1);
  CHECK(state.always[0].part == "y");
  CHECK(state.always[0].check == "led-dark");
  REQUIRE(state.range);
  CHECK_THAT(state.range->upper.volts, WithinAbs(8.6, kEnd));
  CHECK(is_set_by(state.range->upper, "x", "led-current"));
  CHECK_FALSE(common_range({state}));
}

TEST_CASE("an LED without a resistor has no range", "[range]") {
  const StateRange state = found_one(R"([parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
x = { kind = "led", drop = "2.1 V", current = "20 mA", reverse = "5 V" }
[nets]
top = ["jack.plus", "x.anode"]
ground = ["jack.minus", "x.cathode"]
)");
  // Below its drop it is dark, which is no way to pass; above, nothing limits it.
  CHECK_FALSE(state.passes);
  CHECK_FALSE(state.range);
  REQUIRE(state.always.size() == 1);
  CHECK(state.always[0].check == "current-unlimited");
}

TEST_CASE("expectations and cautions end a range only when asked to", "[range]") {
  const std::string text = filled(kLed, "5 V") + R"([[expect]]
part = "x"
current = { min = "5 mA", max = "15 mA" }
)";
  const StateRange plain = found_one(text);
  REQUIRE(plain.range);
  CHECK_THAT(plain.range->upper.volts, WithinAbs(8.6, kEnd));
  const StateRange expecting = found_one(text, {.expectations = true});
  REQUIRE(expecting.range);
  CHECK_THAT(expecting.range->lower.volts, WithinAbs(0.005 * 330 + 2, kEnd));
  CHECK_THAT(expecting.range->upper.volts, WithinAbs(0.015 * 330 + 2, kEnd));
  CHECK(is_set_by(expecting.range->upper, "x", "expectation"));
  REQUIRE(expecting.range->upper_without);
  CHECK_THAT(expecting.range->upper_without->volts, WithinAbs(8.6, kEnd));

  // A capacitor above 80 % of its rating is a caution (check_capacitor.cpp).
  const StateRange cautious = found_one(regulated("25 V", "1k"), {.cautions = true});
  REQUIRE(cautious.range);
  CHECK_THAT(cautious.range->upper.volts, WithinAbs(20.0, kEnd));
  CHECK(is_set_by(cautious.range->upper, "bulk", "capacitor-voltage"));
}

TEST_CASE("another stretch that passes is told", "[range]") {
  // Below 3 V the drain's net is low because the supply is; above, the zener turns the
  // transistor on.
  const StateRange state = found_one(R"([parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
z = { kind = "zener", voltage = "5 V", power = "0.5 W" }
down = { kind = "resistor", value = "10k" }
q = { kind = "mosfet", model = { vto = 1, kp = 1 }, channel = "n" }
r = { kind = "resistor", value = "1k", power = "5 W" }
[nets]
top = ["jack.plus", "z.cathode", "r.a"]
gate = ["z.anode", "down.a", "q.gate"]
drain = ["r.b", "q.drain"]
ground = ["jack.minus", "down.b", "q.source"]
[[expect]]
net = "drain"
voltage = { max = "3 V" }
)",
                                     {.expectations = true});
  REQUIRE(state.range);
  CHECK(state.passes);
  // The gate begins to conduct at 5 V + 1 V.
  CHECK(state.range->lower.volts > 6.0);
  CHECK(state.range->lower.volts < 6.2);
  CHECK(is_set_by(state.range->lower, "drain", "expectation"));
  REQUIRE(state.elsewhere.size() == 1);
  CHECK(state.elsewhere[0].least == 0.0);
  CHECK_THAT(state.elsewhere[0].most, WithinAbs(3.0, kEnd));
}

TEST_CASE("a chip is starved at its brown-out, and off is no way to pass", "[range]") {
  const StateRange state = found_one(R"([parts]
cell = { kind = "voltage-source", voltage = "5 V" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["a"] }
r = { kind = "resistor", value = "1k" }
[nets]
vdd = ["cell.plus", "chip.vdd"]
a = ["chip.a", "r.a"]
ground = ["cell.minus", "chip.vss", "r.b"]
)");
  REQUIRE(state.range);
  // reference/parts/controllers.toml, class cmos-5v.
  CHECK_THAT(state.range->lower.volts, WithinAbs(4.3, kEnd));
  CHECK(is_set_by(state.range->lower, "chip", "controller-brownout"));
  CHECK_THAT(state.range->upper.volts, WithinAbs(1.05 * 5.5, kEnd));
  CHECK(is_set_by(state.range->upper, "chip", "controller-operating"));
  CHECK(state.elsewhere.empty());
  REQUIRE(state.range->lower_without);
  CHECK(state.range->lower_without->kind == RangeEnd::Kind::search);
  CHECK(state.range->lower_without->volts == 0.0);
}

TEST_CASE("a relay ends its range where it no longer pulls in for certain",
          "[range][closed-form]") {
  const std::string relay = R"([parts]
jack = { kind = "dc-supply", voltage = "@", current = "1 A", regulated = true }
relay = { kind = "relay-coil", voltage = "12 V", current = "40 mA" }
[nets]
hot = ["jack.plus", "relay.a"]
ground = ["jack.minus", "relay.b"]
)";
  const StateRange state = found_one(filled(relay, "12 V"));
  REQUIRE(state.passes);
  REQUIRE(state.range);
  // Three quarters of 12 V, and nothing stands before the coil.
  CHECK_THAT(state.range->lower.volts, WithinAbs(9.0, kEnd));
  CHECK(is_set_by(state.range->lower, "relay", "relay-pull-in"));
  // What `verify` warns of at 8 V is not told as good.
  const StateRange weak = found_one(filled(relay, "8 V"));
  CHECK_FALSE(weak.passes);
  REQUIRE(weak.range);
  CHECK_THAT(weak.range->lower.volts, WithinAbs(9.0, kEnd));
}

TEST_CASE("a lamp on a supply that sags: from a third of its voltage to 1.3 times it",
          "[range][closed-form]") {
  // 12 V at the lamp's 100 mA; without load 15 V, so that 30 ohm lie before its 120.
  const StateRange state = found_one(R"([parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "100 mA", regulated = false, no_load = "15 V" }
lamp = { kind = "lamp", voltage = "12 V", current = "100 mA" }
[nets]
top = ["jack.plus", "lamp.a"]
ground = ["jack.minus", "lamp.b"]
)",
                                     {}, "jack.voltage");
  REQUIRE(state.range);
  // The no-load voltage, and with it the resistance before the lamp, moves with the
  // voltage: v = 1.25 V * 120 / (120 + 0.25 V / 0.1 A). A third of the lamp's 12 V, and
  // the 100 mA of the supply, which end it before 1.3 times 12 V do.
  const auto lamp = [](double volts) {
    return 1.25 * volts * 120 / (120 + 2.5 * volts);
  };
  CHECK(is_set_by(state.range->lower, "lamp", "load-idle"));
  CHECK_THAT(lamp(state.range->lower.volts), WithinAbs(4.0, kEnd));
  CHECK(is_set_by(state.range->upper, "jack", "supply-current"));
  CHECK_THAT(lamp(state.range->upper.volts), WithinAbs(12.0, kEnd));
  REQUIRE(state.range->upper_without);
  CHECK(is_set_by(*state.range->upper_without, "lamp", "load-voltage"));
  CHECK_THAT(lamp(state.range->upper_without->volts), WithinAbs(1.3 * 12, kEnd));
}

TEST_CASE("the search ends with extra-low voltage", "[range]") {
  const StateRange state = found_one(R"([parts]
jack = { kind = "dc-supply", voltage = "9 V", current = "1 A" }
glow = { kind = "resistor", value = "1M" }
[nets]
top = ["jack.plus", "glow.a"]
ground = ["jack.minus", "glow.b"]
)");
  REQUIRE(state.range);
  CHECK(state.range->upper.kind == RangeEnd::Kind::search);
  CHECK(state.range->upper.volts == 60.0);
}

TEST_CASE("a present value between two millivolts is kept", "[range]") {
  const StateRange state = found_one(filled(kLed, "5.00037 V"));
  REQUIRE(state.range);
  CHECK(state.present == 5.00037);
  CHECK_THAT(state.range->upper.volts, WithinAbs(8.6, kEnd));
  CHECK(state.range->upper.volts * 1000 == std::round(state.range->upper.volts * 1000));
}

TEST_CASE("which voltage is moved", "[range]") {
  const auto chosen = [](const std::string& parts, const std::string& over) {
    static Circuit circuit;
    circuit = read(known_types(), parts);
    return choose_supply(circuit, over);
  };
  const std::string two = R"([parts]
a = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
b = { kind = "voltage-source", voltage = "-3 V" }
c = { kind = "battery", chemistry = "alkaline", size = "AA", cells = 3 }
r = { kind = "resistor", value = "1k" }
s = { kind = "resistor", value = "1k" }
[nets]
x = ["a.plus", "r.a", "s.a"]
y = ["b.plus", "r.b"]
z = ["c.plus", "s.b"]
ground = ["a.minus", "b.minus", "c.minus"]
)";
  CHECK(std::get<int>(chosen(two, "")) == 0);
  CHECK(std::get<int>(chosen(two, "c.voltage")) == 2);
  for (const char* wrong : {"r.value", "a.current", "a", "d.voltage"}) {
    const auto complaint = chosen(two, wrong);
    REQUIRE(std::holds_alternative<Diagnostic>(complaint));
    CHECK_THAT(std::get<Diagnostic>(complaint).hint,
               Contains("a.voltage, b.voltage, c.voltage"));
  }
  // Below 0 V nothing is looked at.
  CHECK_THAT(std::get<Diagnostic>(chosen(two, "b.voltage")).message, Contains("-3 V"));

  Circuit circuit = read(known_types(), two);
  for (const int part : {-1, 3, 9})
    CHECK_THROWS_AS(
        find_supply_range(circuit, part, {}, witnesses(solve_nodal, solve_nodal)),
        std::invalid_argument);
  // A battery's voltage is that of all its cells, without load.
  const State& state = circuit.states.front();
  CHECK_THAT(supply_volts(circuit, state, 2), WithinAbs(3 * 1.6, 1e-12));
  const State moved = with_supply_volts(circuit, state, 2, 4.2);
  CHECK_THAT(supply_volts(circuit, moved, 2), WithinAbs(4.2, 1e-12));

  const std::string loose = R"([parts]
a = { kind = "dc-supply", voltage = "9 V", current = "1 A", regulated = false, no_load = "12 V" }
b = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
r = { kind = "resistor", value = "1k" }
[nets]
x = ["a.plus", "r.a"]
y = ["b.plus", "r.b"]
ground = ["a.minus", "b.minus"]
)";
  CHECK(std::holds_alternative<Diagnostic>(chosen(loose, "")));
  circuit = read(known_types(), loose);
  const State raised = with_supply_volts(circuit, circuit.states.front(), 0, 18.0);
  CHECK_THAT(figure(parts_in(circuit, raised)[0], "no_load")->value,
             WithinAbs(24.0, 1e-12));
}

TEST_CASE("each state has its own range, and there is a common one", "[range]") {
  const Found result = found(R"([parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
s = { kind = "switch" }
t = { kind = "switch" }
r = { kind = "resistor", value = "330R", power = "0.5 W" }
r2 = { kind = "resistor", value = "680R", power = "1 W" }
x = { kind = "led", drop = "2 V", current = "20 mA", reverse = "5 V" }
[nets]
top = ["jack.plus", "s.a", "t.a"]
a = ["s.b", "r.a"]
b = ["t.b", "r2.a"]
mid = ["r.b", "r2.b", "x.anode"]
ground = ["jack.minus", "x.cathode"]
[states.bright]
s = "closed"
[states.dim]
t = "closed"
"jack.voltage" = "9 V"
[states.off]
)");
  REQUIRE(result.states.size() == 3);
  CHECK(result.states[0].present == 5.0);
  CHECK(result.states[1].present == 9.0);
  REQUIRE(result.states[0].range);
  REQUIRE(result.states[1].range);
  CHECK_THAT(result.states[0].range->upper.volts, WithinAbs(8.6, kEnd));
  CHECK_THAT(result.states[1].range->upper.volts, WithinAbs(0.020 * 680 + 2, kEnd));
  const auto common = common_range(result.states);
  REQUIRE(common);
  CHECK_THAT(common->least, WithinAbs(0.0001 * 680 + 2, kEnd));
  CHECK_THAT(common->most, WithinAbs(8.6, kEnd));
}

TEST_CASE("what the witnesses lack or differ in is told", "[range][failure]") {
  // An engine that is off by a millivolt beyond 8 V.
  const Solve off = [](const Network& network) {
    Solution solution = solve_nodal(network);
    if (solution.volts.at(1) > 8.0) solution.volts[2] += 1e-3;
    return solution;
  };
  const StateRange differing = found(filled(kLed, "5 V"), {}, {}, off).states.at(0);
  CHECK(differing.passes);
  CHECK(differing.verdict == Verdict::disagreement);
  CHECK(std::count_if(differing.testimonies.begin(), differing.testimonies.end(),
                      [](const RangeTestimony& t) { return !t.reason.empty(); }) == 2);

  const Solve lost = [](const Network&) {
    Solution solution;
    solution.status = SolveStatus::engine_lost;
    solution.reason = "asked to fail";
    return solution;
  };
  const StateRange failed = found(filled(kLed, "5 V"), {}, {}, lost).states.at(0);
  CHECK(failed.verdict == Verdict::engine_failed);
  CHECK_THAT(failed.testimonies.front().reason, Contains("asked to fail"));

  // A search without an answer above 7 V.
  const Circuit circuit = read(known_types(), filled(kLed, "5 V"));
  const Solve halting = [](const Network& network) {
    if (network.values.volts.at(0) <= 7.0) return solve_nodal(network);
    Solution solution;
    solution.reason = "would not settle";
    return solution;
  };
  const auto states =
      find_supply_range(circuit, 0, {}, witnesses(halting, solve_nodal));
  REQUIRE(states.at(0).range);
  CHECK(states[0].range->upper.kind == RangeEnd::Kind::no_answer);
  CHECK(states[0].range->upper.volts == 7.0);
  CHECK(states[0].range->upper.reason == "would not settle");
  CHECK(states[0].verdict == Verdict::nodal_failed);
}
