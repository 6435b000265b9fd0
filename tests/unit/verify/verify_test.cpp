#include "core/verify/verify.h"

#include <string>

#include "tests/nodal_witness.h"
#include "tests/unit/check/bench.h"

using benchproof::built_in_catalogue;
using benchproof::by_nodal;
using benchproof::Circuit;
using benchproof::Finding;
using benchproof::Network;
using benchproof::Severity;
using benchproof::Solution;
using benchproof::SolveStatus;
using benchproof::Verdict;
using benchproof::Verification;
using benchproof::verify;
using benchproof::bench::find;
using benchproof::bench::read;
using benchproof::bench::verified;
using Catch::Matchers::WithinRel;

namespace {

const std::string kLamp = R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
chip = { kind = "controller", type = "cmos-5v", outputs = ["a", "b"] }
r = { kind = "resistor", value = "150R" }
x = { kind = "led", colour = "red" }
bypass = { kind = "capacitor", value = "100nF", rated = "50 V" }
[nets]
vdd = ["v.plus", "chip.vdd", "bypass.a"]
a = ["chip.a", "r.a"]
m = ["r.b", "x.anode"]
ground = ["v.minus", "chip.vss", "x.cathode", "bypass.b"]
open = ["chip.b"]
)";

Solution failing(SolveStatus status) {
  Solution solution;
  solution.status = status;
  solution.reason = "asked to fail";
  return solution;
}

}  // namespace

TEST_CASE("phases are solved, shared in structure, and averaged", "[check][verify]") {
  const auto bench = verified(kLamp + R"([states.fade]
"chip.a" = { pwm = "25%", frequency = "500 Hz" }
[states.on]
"chip.a" = "high"
)");
  const auto& states = bench.verification.states;
  REQUIRE(states.size() == 2);
  REQUIRE(states[0].phases.size() == 2);
  REQUIRE(states[1].phases.size() == 1);
  const auto& structure = states[0].phases[0].network.structure;
  CHECK(states[0].phases[1].network.structure == structure);
  CHECK(states[1].phases[0].network.structure == structure);
  // The LED's current in the on phase is that of the state in which it is on.
  const double on = states[1].nodal.pin_amps[3][0];
  CHECK(on > 5e-3);
  CHECK_THAT(states[0].phases[0].nodal_seen.pin_amps[3][0], WithinRel(on, 1e-6));
  const double off = states[0].phases[1].nodal_seen.pin_amps[3][0];
  CHECK_THAT(states[0].nodal.pin_amps[3][0], WithinRel(0.25 * on + 0.75 * off, 1e-6));
  CHECK(states[0].by_hand.size() == 1);
  CHECK(bench.verification.verdict == Verdict::good);
}

TEST_CASE("only the states asked for are solved", "[check][verify]") {
  const std::string text = kLamp + R"([states.off]
[states.on]
"chip.a" = "high"
)";
  const auto bench = verified(text, {"off"});
  REQUIRE(bench.verification.states.size() == 1);
  CHECK(bench.verification.states[0].name == "off");
  // Whether the LED lights in the other state was not looked at.
  CHECK(find(bench.verification.states[0], "led-dark") == nullptr);
  CHECK(verified(text, {"nowhere"}).verification.states.empty());
}

TEST_CASE("an LED that no state lights is a fault", "[check][verify]") {
  const auto dark = verified(kLamp + R"([states.off]
[states.also_off]
"chip.b" = "high"
)");
  int told = 0;
  for (const auto& state : dark.verification.states) {
    if (const Finding* f = find(state, "led-dark", "x")) {
      ++told;
      CHECK(f->severity == Severity::fault);
      CHECK_FALSE(f->source.empty());
    }
  }
  CHECK(told == 1);
  CHECK(dark.verification.verdict == Verdict::fault);

  const auto lit = verified(kLamp + R"([states.off]
[states.on]
"chip.a" = "high"
)");
  CHECK(lit.verification.verdict == Verdict::good);

  // The wrong way round: says so.
  std::string turned = kLamp;
  turned.replace(turned.find("\"x.anode\""), 9, "\"x.CATHODE\"");
  turned.replace(turned.find("\"x.cathode\""), 11, "\"x.anode\"");
  turned.replace(turned.find("\"x.CATHODE\""), 11, "\"x.cathode\"");
  const auto reversed = verified(turned + "[states.on]\n\"chip.a\" = \"high\"\n");
  const Finding* finding = find(reversed.verification.states[0], "led-dark", "x");
  REQUIRE(finding != nullptr);
  CHECK_THAT(finding->message, Catch::Contains("right way round"));
}

// Common practice, no source: an LED shows from 0.1 mA on, and in a lit room from 0.5
// mA.
TEST_CASE("an LED's least currents", "[check][verify]") {
  const auto at = [](const char* amps) {
    return verified(
        std::string("[parts]\ni = { kind = \"current-source\", current = \"") + amps +
        "\" }\nx = { kind = \"led\", colour = \"red\" }\n[nets]\n"
        "hot = [\"i.plus\", \"x.anode\"]\n"
        "ground = [\"i.minus\", \"x.cathode\"]\n");
  };
  CHECK(find(at("99 uA").verification.states[0], "led-dark") != nullptr);
  const auto faint = at("101 uA");
  CHECK(find(faint.verification.states[0], "led-dark") == nullptr);
  CHECK(find(faint.verification.states[0], "led-faint") != nullptr);
  CHECK(faint.verification.verdict == Verdict::caution);
  CHECK(find(at("501 uA").verification.states[0], "led-faint") == nullptr);
}

TEST_CASE("without agreement there is no verdict and no finding", "[check][verify]") {
  const auto catalogue = built_in_catalogue();
  // The supply is over its rating, which must not be told on disputed numbers.
  const Circuit circuit = read(catalogue, R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 mA" }
r = { kind = "resistor", value = "1k" }
[nets]
hot = ["v.plus", "r.a"]
ground = ["v.minus", "r.b"]
)");
  CHECK(verify(circuit, by_nodal, by_nodal).verdict == Verdict::fault);

  const auto skewed = [](const Network& network) {
    Solution solution = by_nodal(network);
    solution.volts[1] *= 1 + 1e-5;
    return solution;
  };
  Verification disputed = verify(circuit, skewed, by_nodal);
  put_by_hand(circuit, disputed);
  REQUIRE(disputed.states.size() == 1);
  CHECK(disputed.verdict == Verdict::disagreement);
  CHECK_FALSE(disputed.states[0].agrees);
  CHECK(disputed.states[0].findings.empty());
  CHECK(disputed.states[0].expectations.empty());
  CHECK(disputed.states[0].by_hand.empty());
  CHECK(disputed.states[0].phases[0].agreement.net == "hot");
  // Both witnesses' numbers are still there to be shown.
  CHECK(disputed.states[0].phases[0].engine_seen.net_volts.size() == 2);
  CHECK(disputed.states[0].phases[0].nodal_seen.net_volts.size() == 2);

  const auto failing_as = [](SolveStatus status) {
    return [status](const Network&) { return failing(status); };
  };
  for (const SolveStatus status : {SolveStatus::engine_failed, SolveStatus::engine_lost,
                                   SolveStatus::no_convergence}) {
    const Verification lost = verify(circuit, failing_as(status), by_nodal);
    CHECK(lost.verdict == Verdict::engine_failed);
    CHECK(lost.states[0].phases[0].engine_seen.net_volts.empty());
  }
  CHECK(verify(circuit, by_nodal, failing_as(SolveStatus::no_convergence)).verdict ==
        Verdict::nodal_failed);
}

TEST_CASE("the worst state gives the verdict", "[check][verify]") {
  const auto bench = verified(R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "10 mA" }
r = { kind = "resistor", value = "1k" }
[nets]
hot = ["v.plus", "r.a"]
ground = ["v.minus", "r.b"]
[states.good]
[states.near]
"r.value" = "550R"
[states.far]
"r.value" = "400R"
)");
  const auto& states = bench.verification.states;
  CHECK(states[0].verdict == Verdict::good);
  CHECK(states[1].verdict == Verdict::caution);
  CHECK(states[2].verdict == Verdict::fault);
  CHECK(bench.verification.verdict == Verdict::fault);
}
