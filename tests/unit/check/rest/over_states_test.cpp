#include "core/check/rest/over_states.h"

#include <fmt/format.h>

#include <algorithm>
#include <string>

#include "tests/unit/check/bench.h"

using benchproof::Finding;
using benchproof::Severity;
using benchproof::Verdict;
using benchproof::bench::Bench;
using benchproof::bench::find;
using benchproof::bench::verified;
using Catch::Matchers::WithinRel;

namespace {

/// A load of 12 V that gets `one` and `two` in its two states.
Bench loaded(const std::string& kind, const char* one, const char* two) {
  return verified(
      std::string("[parts]\nv = { kind = \"dc-supply\", voltage = \"1 V\", "
                  "current = \"1 A\", regulated = true }\nx = { kind = \"") +
      kind +
      "\", voltage = \"12 V\", current = \"50 mA\" }\n[nets]\n"
      "hot = [\"v.plus\", \"x.a\"]\nground = [\"v.minus\", \"x.b\"]\n"
      "[states.one]\n\"v.voltage\" = \"" +
      one + "\"\n[states.two]\n\"v.voltage\" = \"" + two + "\"\n");
}

}  // namespace

// Common practice, no source: half of the rated voltage, of a lamp or motor a third,
// and four fifths of it.
TEST_CASE("a load that no state drives is a fault, a weak one a caution",
          "[check][states]") {
  for (const std::string kind : {"lamp", "motor", "relay-coil", "buzzer"}) {
    CAPTURE(kind);
    const double least = kind == "lamp" || kind == "motor" ? 4.0 : 6.0;
    const std::string below = fmt::format("{} V", least - 0.01);
    const std::string above = fmt::format("{} V", least + 0.01);
    const auto idle = loaded(kind, "1 V", below.c_str());
    CHECK(find(idle.verification.states[0], "load-idle") == nullptr);
    const Finding* told = find(idle.verification.states[1], "load-idle", "x");
    REQUIRE(told != nullptr);
    CHECK(told->severity == Severity::fault);
    CHECK_THAT(*told->value, WithinRel(least - 0.01, 1e-9));
    CHECK_THAT(*told->limit, WithinRel(least, 1e-9));
    CHECK(idle.verification.verdict == Verdict::fault);
    for (const auto& state : loaded(kind, above.c_str(), "1 V").verification.states)
      CHECK(find(state, "load-idle") == nullptr);
  }
  for (const char* kind : {"lamp", "motor", "buzzer"}) {
    CAPTURE(kind);
    const auto weak = loaded(kind, "9.59 V", "1 V");
    const Finding* told = find(weak.verification.states[0], "load-weak", "x");
    REQUIRE(told != nullptr);
    CHECK(told->severity == Severity::caution);
    CHECK_THAT(*told->limit, WithinRel(9.6, 1e-9));
    // One state that drives it is enough.
    const auto good = loaded(kind, "9.61 V", "1 V");
    CHECK(good.verification.states[0].findings.empty());
    CHECK(good.verification.states[1].findings.empty());
  }
}

TEST_CASE("a switch that no state closes is named, and explains the dark lamp",
          "[check][states]") {
  const std::string lamp = R"([parts]
jack = { kind = "dc-supply", voltage = "9 V", current = "500 mA", regulated = true }
door = { kind = "switch" }
r = { kind = "resistor", value = "470R", power = "0.25 W" }
hut = { kind = "led", colour = "red" }
[paths]
hut = ["jack.plus", "door", "r", "hut", "ground", "jack.minus"]
)";
  const auto open = verified(lamp);
  const auto& findings = open.verification.states[0].findings;
  const Finding* idle = find(open.verification.states[0], "supply-idle");
  REQUIRE(idle != nullptr);
  CHECK(idle->message.find("'door' is open in all of them") != std::string::npos);
  CHECK(idle->message.find("door = \"closed\"") != std::string::npos);
  CHECK(std::count_if(findings.begin(), findings.end(), [](const Finding& f) {
          return f.severity == Severity::fault && f.follows.empty();
        }) == 1);
  // With the switch closed somewhere it is something else that keeps the lamp dark.
  std::string turned = lamp + "[states.on]\ndoor = \"closed\"\n";
  turned.replace(turned.find("\"hut\", \"ground\""), 15,
                 "\"hut.cathode\", \"hut.anode\", \"ground\"");
  const auto closed = verified(turned);
  idle = find(closed.verification.states[0], "supply-idle");
  REQUIRE(idle != nullptr);
  CHECK(idle->message.find("'door'") == std::string::npos);
  const Finding* dark = find(closed.verification.states[0], "led-dark");
  REQUIRE(dark != nullptr);
  CHECK(dark->follows == "led-reverse");
}

TEST_CASE("a supply that only charged a capacitor is not idle", "[check][states]") {
  const auto idle = [](const char* part, const char* into, const char* out,
                       const char* rest = "") {
    return verified(fmt::format(R"([parts]
v = {{ kind = "dc-supply", voltage = "5 V", current = "1 A" }}
x = {{ {} }}
r = {{ kind = "resistor", value = "10k", power = "0.25 W" }}
c = {{ kind = "capacitor", value = "10 uF", rated = "16 V" }}
bulk = {{ kind = "capacitor", value = "10 uF", rated = "16 V" }}
[nets]
top = ["v.plus", "x.{}", "bulk.a"]
mid = ["x.{}", "r.a"]
tap = ["r.b", "c.a"]
ground = ["v.minus", "c.b", "bulk.b"]
)",
                                part, into, out) +
                    rest);
  };
  const char* diode = R"(kind = "diode", type = "1N4007")";
  const auto has = [](const auto& bench) {
    return find(bench.verification.states[0], "supply-idle") != nullptr;
  };
  CHECK_FALSE(has(idle(R"(kind = "resistor", value = "1k", power = "1 W")", "a", "b")));
  CHECK_FALSE(has(idle(diode, "anode", "cathode")));
  const char* button = "kind = \"switch\"";
  CHECK_FALSE(
      has(idle(button, "a", "b", "[states.off]\n[states.on]\nx = \"closed\"\n")));
  // Nothing but leakage gets through to `c`; the one that stands at the supply itself
  // says nothing.
  CHECK(has(idle(diode, "cathode", "anode")));
  CHECK(has(idle(button, "a", "b")));
}
