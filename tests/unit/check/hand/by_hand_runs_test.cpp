#include <cmath>
#include <string>
#include <vector>

#include "tests/unit/check/hand/hand_bench.h"

// Rules about capacitors, at rest and in runs, and what they are silent about.

using benchproof::HandResult;
using benchproof::bench::find_rule;
using benchproof::bench::fires;
using benchproof::bench::of_run;
using benchproof::bench::verified;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

const HandResult* find(const std::vector<HandResult>& results, std::string_view rule) {
  for (const HandResult& result : results)
    if (result.rule == rule) return &result;
  return nullptr;
}

bool fires_in_run(std::string_view rule, const std::string& text) {
  const std::vector<HandResult> results = of_run(text);
  return find(results, rule) != nullptr;
}

/// 10 kohm and 1 uF, 10 ms, behind a supply that comes up.
std::string charging(const std::string& parts, const std::string& pins,
                     const std::string& ground, const std::string& run) {
  return R"([parts]
v = { kind = "voltage-source", voltage = "10 V" }
r = { kind = "resistor", value = "10k" }
c = { kind = "capacitor", value = "1uF", rated = "25 V" }
)" + parts +
         "[nets]\ntop = [\"v.plus\", \"r.a\"]\nmid = [\"r.b\", \"c.a\"" + pins +
         "]\nground = [\"v.minus\", \"c.b\"" + ground +
         "]\n[states.on]\n[[runs]]\nname = \"up\"\nstate = \"on\"\n" + run;
}

const std::string kUp = "rise = \"10 us\"\nspan = \"60 ms\"\n";

}  // namespace

TEST_CASE("the time constant of a charging capacitor by hand", "[check][by-hand]") {
  const auto results = of_run(charging("", "", "", kUp + R"([[expect]]
run = "up"
net = "mid"
reaches = { level = "5 V", before = "10 ms" }
)"));
  const HandResult* tau = find(results, "rc-time-constant");
  REQUIRE(tau != nullptr);
  CHECK_THAT(tau->hand, WithinRel(10e-3, 1e-12));
  // Each of the solver's steps keeps 1e-7 (some tens of them), and the straight line
  // between points 60 us apart (6e-3)^2 / 8 of the swing: together below 1e-5, which is
  // 2.7e-5 of tau at the slope of 1 / e. The flank's middle: (1e-3)^2 / 24.
  CHECK_THAT(*tau->nodal, WithinRel(10e-3, 3e-5));
  CHECK(tau->net == "mid");
  const HandResult* delay = find(results, "rc-delay");
  REQUIRE(delay != nullptr);
  CHECK_THAT(delay->hand, WithinRel(10e-3 * std::log(2.0), 1e-9));
  // 1e-5 at the slope of 1 / 2, over ln 2.
  CHECK_THAT(*delay->nodal, WithinRel(delay->hand, 3e-5));

  const auto bench = verified(charging("", "", "", kUp));
  const HandResult* at_rest = find_rule(bench, "rc-time-constant");
  REQUIRE(at_rest != nullptr);
  CHECK_THAT(at_rest->hand, WithinRel(10e-3, 1e-12));
  CHECK_FALSE(at_rest->nodal.has_value());
  CHECK_FALSE(deviation(*at_rest).has_value());
}

TEST_CASE("discharging through an output by hand", "[check][by-hand]") {
  const auto results = of_run(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
chip = { kind = "controller", outputs = ["a"], inputs = ["b"], resistance_high = "50 ohm", resistance_low = "30 ohm" }
r = { kind = "resistor", value = "970R" }
c = { kind = "capacitor", value = "10uF", rated = "25 V" }
[nets]
vdd = ["v.plus", "chip.vdd"]
a = ["chip.a", "r.a"]
mid = ["r.b", "c.a", "chip.b"]
ground = ["v.minus", "chip.vss", "c.b"]
[states.on]
"chip.a" = "high"
[states.off]
[[runs]]
name = "down"
from = "on"
state = "off"
span = "60 ms"
)");
  const HandResult* tau = find(results, "rc-time-constant");
  REQUIRE(tau != nullptr);
  CHECK_THAT(tau->hand, WithinRel(10e-3, 1e-9));
  // The leaks of 5 Mohm of input and open switches: 1 kohm / 5 Mohm each.
  CHECK_THAT(*tau->nodal, WithinRel(10e-3, 3e-5 + 3 * 2e-4));
  CHECK_THAT(tau->formula, Catch::Contains("Rout"));
}

TEST_CASE("the rules of charging are silent about other circuits", "[check][by-hand]") {
  const auto rest = [](const std::string& parts, const std::string& pins,
                       const std::string& ground) {
    return fires("rc-time-constant", charging(parts, pins, ground, kUp));
  };
  const auto run = [](const std::string& parts, const std::string& pins,
                      const std::string& ground, const std::string& how = kUp) {
    return fires_in_run("rc-time-constant", charging(parts, pins, ground, how));
  };
  CHECK(rest("", "", ""));
  CHECK(run("", "", ""));
  struct Other {
    const char* part;
    const char* pin;
    const char* ground;
  };
  for (const Other& o :
       {Other{"y = { kind = \"resistor\", value = \"1M\" }\n", ", \"y.a\"",
              ", \"y.b\""},  // A leak.
        Other{"y = { kind = \"capacitor\", value = \"1nF\", rated = \"25 V\" }\n",
              ", \"y.a\"", ", \"y.b\""},
        Other{"y = { kind = \"diode\", type = \"1N4148\" }\n", ", \"y.cathode\"",
              ", \"y.anode\""},
        Other{"y = { kind = \"transistor\", type = \"2N3904\" }\n", ", \"y.base\"",
              R"(, "y.emitter", "y.collector")"},
        Other{"y = { kind = \"switch\" }\n", ", \"y.a\"", ", \"y.b\""}}) {
    CAPTURE(o.part);
    CHECK_FALSE(rest(o.part, o.pin, o.ground));
    CHECK_FALSE(run(o.part, o.pin, o.ground));
  }
  // A gate only listens.
  CHECK(run("y = { kind = \"mosfet\", type = \"2N7000\" }\n", ", \"y.gate\"",
            ", \"y.source\", \"y.drain\""));
  // A slow supply is no step; a run too short for one tau has nothing to show.
  CHECK_FALSE(run("", "", "", "rise = \"5 ms\"\nspan = \"60 ms\"\n"));
  CHECK_FALSE(run("", "", "", "rise = \"10 us\"\nspan = \"5 ms\"\n"));
  // A capacitor with much resistance of its own; a ladder of two.
  std::string lossy = charging("", "", "", kUp);
  lossy.replace(lossy.find("rated = \"25 V\""), 14, R"(rated = "25 V", esr = "1k")");
  CHECK_FALSE(fires("rc-time-constant", lossy));
  CHECK_FALSE(fires_in_run("rc-time-constant", lossy));
  const std::string ladder = R"([parts]
v = { kind = "voltage-source", voltage = "10 V" }
r = { kind = "resistor", value = "10k" }
c = { kind = "capacitor", value = "1uF", rated = "25 V" }
s = { kind = "resistor", value = "10k" }
d = { kind = "capacitor", value = "1uF", rated = "25 V" }
[nets]
top = ["v.plus", "r.a"]
mid = ["r.b", "c.a", "s.a"]
far = ["s.b", "d.a"]
ground = ["v.minus", "c.b", "d.b"]
[states.on]
[[runs]]
name = "up"
state = "on"
)" + kUp;
  CHECK_FALSE(fires("rc-time-constant", ladder));
  CHECK_FALSE(fires_in_run("rc-time-constant", ladder));
}

TEST_CASE("a level beyond the end has no delay", "[check][by-hand]") {
  const auto delay = [](const char* reaches) {
    return fires_in_run("rc-delay", charging("", "", "", kUp + R"([[expect]]
run = "up"
net = "mid"
reaches = { level = ")" + reaches + " }\n"));
  };
  CHECK(delay("9 V\", before = \"50 ms\""));
  CHECK_FALSE(delay("9.95 V\", before = \"60 ms\""));  // Five tau and more.
  CHECK_FALSE(delay("11 V\", before = \"60 ms\""));
  CHECK_FALSE(delay("5 V\", direction = \"falling\", before = \"60 ms\""));
}

TEST_CASE("how long a capacitor holds up by hand", "[check][by-hand]") {
  const auto dip = [](const std::string& guard, const std::string& pins,
                      const std::string& steps) {
    return R"([parts]
v = { kind = "voltage-source", voltage = "12 V" }
guard = { )" +
           guard + R"( }
c = { kind = "capacitor", value = "1000uF", rated = "25 V" }
reg = { kind = "regulator", output = "5 V", quiescent = "0 A" }
load = { kind = "resistor", value = "50R", power = "1 W" }
[nets]
)" + pins + R"(
rail = ["reg.out", "load.a"]
ground = ["v.minus", "c.b", "reg.common", "load.b"]
[states.on]
[[runs]]
name = "dip"
from = "on"
steps = )" +
           steps + "\nspan = \"45 ms\"\n";
  };
  const std::string diode = R"(kind = "diode", drop = "0.7 V")";
  const std::string right = R"(top = ["v.plus", "guard.anode"]
raw = ["guard.cathode", "c.a", "reg.in"])";
  const std::string away = R"([{ at = "5 ms", state = "unpowered", rise = "10 us" }])";
  const auto results = of_run(dip(diode, right, away));
  const HandResult* hand = find(results, "hold-up");
  REQUIRE(hand != nullptr);
  // 100 mA out of 1000 uF: 100 V/s. Nine tenths of the 4 V of 40 ms.
  CHECK_THAT(hand->hand, WithinRel(0.9 * 40e-3, 1e-3));
  // The constant drop leaks at most 0.1 nA; a straight fall is exact but for the steps.
  CHECK_THAT(*hand->nodal, WithinRel(hand->hand, 1e-4));
  CHECK(hand->net == "raw");
  CHECK(hand->part == "c");

  const auto fires_on = [&](const std::string& guard, const std::string& pins,
                            const std::string& steps) {
    return fires_in_run("hold-up", dip(guard, pins, steps));
  };
  // Nothing goes away; a resistor in place of the diode feeds back.
  CHECK_FALSE(fires_on(diode, right, R"([{ at = "5 ms", state = "on" }])"));
  CHECK_FALSE(fires_on(R"(kind = "resistor", value = "1R")",
                       R"(top = ["v.plus", "guard.a"]
raw = ["guard.b", "c.a", "reg.in"])",
                       away));
}
