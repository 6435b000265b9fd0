#include <cmath>
#include <string>

#include "tests/unit/check/hand/hand_bench.h"

// Rules about zeners, transistors and MOS transistors, and what they are silent about.

using benchproof::HandResult;
using benchproof::bench::find_rule;
using benchproof::bench::fires;
using benchproof::bench::verified;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

/// A zener at "held", behind rs from 18 V.
std::string shunt(const std::string& held, const std::string& ground,
                  const std::string& parts = "",
                  const std::string& zener = "voltage = \"10 V\"") {
  return "[parts]\nv = { kind = \"voltage-source\", voltage = \"18 V\" }\n"
         "rs = { kind = \"resistor\", value = \"270R\", power = \"1 W\" }\n"
         "z = { kind = \"zener\", " +
         zener + " }\n" + parts + "[nets]\ntop = [\"v.plus\", \"rs.a\"]\nheld = [" +
         held + "]\nground = [\"v.minus\", " + ground + "]\n";
}

const std::string kLoad =
    "rl = { kind = \"resistor\", value = \"@\", power = \"5 W\" }\n";

std::string load_of(const std::string& ohms) {
  return benchproof::bench::filled(kLoad, ohms);
}

/// A switch: the base on 5 V or an output through rb, the load from 12 V.
std::string switch_with(const std::string& parts, const std::string& nets) {
  return R"([parts]
v = { kind = "voltage-source", voltage = "12 V" }
w = { kind = "voltage-source", voltage = "5 V" }
rb = { kind = "resistor", value = "1k" }
rc = { kind = "resistor", value = "300R", power = "2 W" }
)" + parts +
         "[nets]\n" + nets;
}

const std::string kQ = "q = { kind = \"transistor\", type = \"2N3904\" }\n";
const std::string kOn = R"(supply = ["v.plus", "rc.a"]
drive = ["w.plus", "rb.a"]
base = ["rb.b", "q.base"]
out = ["rc.b", "q.collector"]
ground = ["v.minus", "w.minus", "q.emitter"]
)";

}  // namespace

TEST_CASE("a zener shunt by hand", "[check][by-hand]") {
  // Malvino & Bates, Electronic Principles, examples 5-2 and 5-3: 10 V, 19.63 mA.
  const auto bench = verified(
      shunt(R"("rs.b", "z.cathode", "rl.a")", R"("z.anode", "rl.b")", load_of("1k")));
  const HandResult* volts = find_rule(bench, "zener-voltage");
  const HandResult* amps = find_rule(bench, "zener-current");
  const HandResult* watts = find_rule(bench, "zener-power");
  REQUIRE(volts != nullptr);
  REQUIRE(amps != nullptr);
  REQUIRE(watts != nullptr);
  CHECK_THAT(amps->hand, WithinAbs(19.63e-3, 5.005e-6));
  // The drop holds within 10 uV: that over the 213 ohm of both resistors in parallel.
  CHECK_THAT(*volts->nodal, WithinAbs(10.0, 1e-5));
  CHECK_THAT(*amps->nodal, WithinAbs(amps->hand, 1e-5 / 212.0));
  CHECK_THAT(*watts->nodal, WithinRel(watts->hand, 5e-6));
  CHECK(volts->net == "held");
}

TEST_CASE("a catalogue zener is off by its slope", "[check][by-hand]") {
  // BZX55C10: 10 V at 5 mA, at most 15 ohm there (Vishay). At 29.6 mA it stands higher
  // by at most 15 ohm 24.6 mA, 0.37 V, the slope falling with the current.
  const auto bench = verified(
      shunt(R"("rs.b", "z.cathode")", R"("z.anode")", "", "type = \"BZX55C10\""));
  const HandResult* volts = find_rule(bench, "zener-voltage");
  REQUIRE(volts != nullptr);
  CHECK(*volts->nodal > volts->hand);
  CHECK(*volts->nodal < volts->hand + 0.37);
  const HandResult* amps = find_rule(bench, "zener-current");
  REQUIRE(amps != nullptr);
  CHECK(*amps->nodal < amps->hand);
  CHECK(*amps->nodal > amps->hand - 0.37 / 270.0);
  CHECK_THAT(volts->source, Catch::Contains("BZX55"));
}

TEST_CASE("the zener rule is silent where it does not hold", "[check][by-hand]") {
  const auto fires_on = [](const std::string& text) {
    return fires("zener-voltage", text) || fires("zener-current", text);
  };
  const std::string held = R"("rs.b", "z.cathode", "rl.a")";
  const std::string ground = R"("z.anode", "rl.b")";
  CHECK(fires_on(shunt(held, ground, load_of("1k"))));
  // Too heavy a load: 18 V 330 / 600 = 9.9 V; hardly enough: 10.8 V.
  CHECK_FALSE(fires_on(shunt(held, ground, load_of("330R"))));
  CHECK_FALSE(fires_on(shunt(held, ground, load_of("405R"))));
  // The wrong way round.
  CHECK_FALSE(fires_on(
      shunt(R"("rs.b", "z.anode", "rl.a")", R"("z.cathode", "rl.b")", load_of("1k"))));
  // A load that is no resistor: a lamp, an LED.
  CHECK_FALSE(fires_on(
      shunt(R"("rs.b", "z.cathode", "y.a")", R"("z.anode", "y.b")",
            "y = { kind = \"lamp\", voltage = \"12 V\", current = \"10 mA\" }\n")));
  CHECK_FALSE(
      fires_on(shunt(R"("rs.b", "z.cathode", "y.anode")", R"("z.anode", "y.cathode")",
                     "y = { kind = \"led\", drop = \"11 V\" }\n")));
  // Two zeners on one resistor; one that stands on another.
  CHECK_FALSE(
      fires_on(shunt(R"("rs.b", "z.cathode", "y.cathode")", R"("z.anode", "y.anode")",
                     "y = { kind = \"zener\", voltage = \"11 V\" }\n")));
  CHECK_FALSE(fires_on(shunt(R"("rs.b", "z.cathode")", R"("y.anode"]
low = ["z.anode", "y.cathode")",
                             "y = { kind = \"zener\", voltage = \"5 V\" }\n")));
  // A model states no zener voltage.
  CHECK_FALSE(
      fires_on(shunt(R"("rs.b", "z.cathode")", R"("z.anode")", "",
                     "model = { is = 1e-14, n = 1.0, bv = 10.0, ibv = 1e-3 }")));
  // A capacitor beside it carries nothing at rest.
  CHECK(fires_on(
      shunt(R"("rs.b", "z.cathode", "y.a")", R"("z.anode", "y.b")",
            "y = { kind = \"capacitor\", value = \"1uF\", rated = \"25 V\" }\n")));
}

TEST_CASE("a transistor that switches, by hand", "[check][by-hand]") {
  const auto bench = verified(switch_with(kQ, kOn));
  const HandResult* base = find_rule(bench, "transistor-base");
  REQUIRE(base != nullptr);
  CHECK_THAT(base->hand, WithinRel(4.3e-3, 1e-9));
  // The type's base-emitter voltage lies within 0.65 V to 0.85 V (Multicomp 2N3904,
  // IC = 10 mA) and 60 mV per decade higher at 40 mA: 0.2 V of the 4.3 V.
  CHECK_THAT(*base->nodal, WithinAbs(4.3e-3, 0.2e-3));
  const HandResult* collector = find_rule(bench, "transistor-collector");
  REQUIRE(collector != nullptr);
  CHECK_THAT(collector->hand, WithinRel(40e-3, 1e-9));
  // Saturation keeps at most 0.3 V (the same sheet), of 12 V.
  CHECK(*collector->nodal < collector->hand);
  CHECK(*collector->nodal > (12.0 - 0.3) / 300.0);
  const HandResult* forced = find_rule(bench, "transistor-forced-gain");
  REQUIRE(forced != nullptr);
  CHECK_THAT(forced->hand, WithinRel(40.0 / 4.3, 1e-9));
  // Both errors together: 0.2 / 4.3 and 0.3 / 12.
  CHECK_THAT(*forced->nodal, WithinRel(forced->hand, 0.2 / 4.3 + 0.3 / 12.0));
  CHECK(find_rule(bench, "transistor-gain") == nullptr);
}

TEST_CASE("a PNP transistor, an output and a coil by hand", "[check][by-hand]") {
  const auto text = [](const char* level, const char* guard) {
    return std::string(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
chip = { kind = "controller", outputs = ["a"], resistance_high = "50 ohm", resistance_low = "30 ohm" }
rb = { kind = "resistor", value = "970R" }
rbe = { kind = "resistor", value = "10k" }
q = { kind = "transistor", type = "2N3906" }
coil = { kind = "relay-coil", voltage = "5 V", current = "25 mA" }
guard = { kind = "diode", type = "1N4148" }
[nets]
supply = ["v.plus", "chip.vdd", "q.emitter", "rbe.a"]
a = ["chip.a", "rb.a"]
base = ["rb.b", "rbe.b", "q.base"]
out = ["q.collector", "coil.a", ")") +
           guard + R"("]
ground = ["v.minus", "chip.vss", "coil.b", ")" +
           (std::string(guard) == "guard.cathode" ? "guard.anode" : "guard.cathode") +
           "\"]\n[states.one]\n\"chip.a\" = \"" + level + "\"\n";
  };
  const auto bench = verified(text("low", "guard.cathode"));
  const HandResult* base = find_rule(bench, "transistor-base");
  REQUIRE(base != nullptr);
  // 4.3 V over 1000 ohm, less 0.7 V over 10 kohm.
  CHECK_THAT(base->hand, WithinRel(4.23e-3, 1e-9));
  // 0.2 V of doubt about VBE, as above, in both.
  CHECK_THAT(*base->nodal, WithinAbs(4.23e-3, 0.22e-3));
  const HandResult* collector = find_rule(bench, "transistor-collector");
  REQUIRE(collector != nullptr);
  CHECK_THAT(collector->hand, WithinRel(25e-3, 1e-9));
  CHECK(*collector->nodal < collector->hand);
  CHECK(*collector->nodal > (5.0 - 0.4) / 200.0);  // 0.4 V from memory (2N3906).
  // Off; a diode that conducts beside the load.
  CHECK_FALSE(fires("transistor-base", text("high", "guard.cathode")));
  CHECK_FALSE(fires("transistor-base", text("open", "guard.cathode")));
  CHECK_FALSE(fires("transistor-collector", text("low", "guard.anode")));
}

TEST_CASE("a transistor that switches an LED, by hand", "[check][by-hand]") {
  const auto text = [](const char* top, const char* bottom) {
    return switch_with(kQ + "x = { kind = \"led\", drop = \"2 V\" }\n",
                       std::string("supply = [\"v.plus\", \"rc.a\"]\n"
                                   "drive = [\"w.plus\", \"rb.a\"]\n"
                                   "base = [\"rb.b\", \"q.base\"]\n"
                                   "mid = [\"rc.b\", \"") +
                           top + "\"]\nout = [\"" + bottom +
                           "\", \"q.collector\"]\n"
                           "ground = [\"v.minus\", \"w.minus\", \"q.emitter\"]\n");
  };
  const auto bench = verified(text("x.anode", "x.cathode"));
  const HandResult* hand = find_rule(bench, "transistor-collector");
  REQUIRE(hand != nullptr);
  // (12 V - 2 V) / 300 ohm; saturation keeps at most 0.3 V of the 10 V.
  CHECK_THAT(hand->hand, WithinRel(10.0 / 300.0, 1e-9));
  CHECK(*hand->nodal < hand->hand);
  CHECK(*hand->nodal > 9.7 / 300.0);
  // The LED the wrong way round; the LED's own rule knows no transistor.
  CHECK_FALSE(fires("transistor-collector", text("x.cathode", "x.anode")));
  CHECK(find_rule(bench, "led-resistor") == nullptr);
}

TEST_CASE("base bias by hand", "[check][by-hand]") {
  // Kuphaldt vol. III ch. 4: 10 V, 910 kohm, beta 100: 1.02 mA; Malvino & Bates,
  // example 6-5: 10 V, 1 Mohm, beta 300: 9.3 uA and 2.79 mA.
  struct Example {
    const char* ohms;
    const char* gain;
    double amps;
    double tolerance;
  };
  for (const Example& e : {Example{"910k", "100", 1.02e-3, 5.005e-6},
                           Example{"1M", "300", 2.79e-3, 5.58e-9}}) {
    CAPTURE(e.ohms);
    const auto bench = verified(
        std::string("[parts]\nv = { kind = \"voltage-source\", voltage = \"10 V\" }\n"
                    "rb = { kind = \"resistor\", value = \"") +
        e.ohms + R"(" }
rc = { kind = "resistor", value = "2k" }
q = { kind = "transistor", polarity = "npn", model = { is = 1e-15, bf = )" +
        e.gain + R"( } }
[nets]
supply = ["v.plus", "rb.a", "rc.a"]
base = ["rb.b", "q.base"]
out = ["rc.b", "q.collector"]
ground = ["v.minus", "q.emitter"]
)");
    const HandResult* hand = find_rule(bench, "transistor-gain");
    REQUIRE(hand != nullptr);
    CHECK_THAT(hand->hand, WithinAbs(e.amps, e.tolerance));
    // VBE = kT/q ln(IC / is) is up to 0.741 V at the model's 27 C and 1.5 mV/K more at
    // 25 C: at most 0.045 V of 9.3 V.
    CHECK_THAT(*hand->nodal, WithinRel(hand->hand, 0.045 / 9.3));
    CHECK(find_rule(bench, "transistor-collector") == nullptr);
  }
}

TEST_CASE("the transistor rules are silent about other circuits", "[check][by-hand]") {
  const auto base = [](const std::string& parts, const std::string& nets) {
    return fires("transistor-base", switch_with(parts, nets));
  };
  const auto collector = [](const std::string& parts, const std::string& nets) {
    return fires("transistor-collector", switch_with(parts, nets));
  };
  CHECK(base(kQ, kOn));
  CHECK(collector(kQ, kOn));
  // An emitter follower: the load under the emitter.
  const std::string follower = R"(supply = ["v.plus", "q.collector"]
drive = ["w.plus", "rb.a"]
base = ["rb.b", "q.base"]
out = ["rc.a", "q.emitter"]
ground = ["v.minus", "w.minus", "rc.b"]
)";
  CHECK_FALSE(base(kQ, follower));
  CHECK_FALSE(collector(kQ, follower));
  // A resistor under the emitter of a switch.
  const std::string degenerated = R"(supply = ["v.plus", "rc.a"]
drive = ["w.plus", "rb.a"]
base = ["rb.b", "q.base"]
out = ["rc.b", "q.collector"]
low = ["q.emitter", "re.a"]
ground = ["v.minus", "w.minus", "re.b"]
)";
  const std::string re = "re = { kind = \"resistor\", value = \"10R\" }\n";
  CHECK_FALSE(base(kQ + re, degenerated));
  CHECK_FALSE(collector(kQ + re, degenerated));
  // Collector and emitter exchanged: what is on is no switch of this rule's.
  CHECK_FALSE(collector(kQ, R"(supply = ["v.plus", "rc.a"]
drive = ["w.plus", "rb.a"]
base = ["rb.b", "q.base"]
out = ["rc.b", "q.emitter"]
ground = ["v.minus", "w.minus", "q.collector"]
)"));
  // A second load at the collector; a second transistor behind it (a pair).
  CHECK_FALSE(collector(kQ + re, R"(supply = ["v.plus", "rc.a"]
drive = ["w.plus", "rb.a"]
base = ["rb.b", "q.base"]
out = ["rc.b", "q.collector", "re.a"]
ground = ["v.minus", "w.minus", "q.emitter", "re.b"]
)"));
  CHECK_FALSE(base(kQ + "p = { kind = \"transistor\", type = \"2N3904\" }\n",
                   R"(supply = ["v.plus", "rc.a"]
drive = ["w.plus", "rb.a"]
base = ["rb.b", "q.base"]
mid = ["q.emitter", "p.base"]
out = ["rc.b", "q.collector", "p.collector"]
ground = ["v.minus", "w.minus", "p.emitter"]
)"));
  // A diode in the base's lead; the base resistor from the collector.
  CHECK_FALSE(base(kQ + "d = { kind = \"diode\", drop = \"0.7 V\" }\n",
                   R"(supply = ["v.plus", "rc.a"]
drive = ["w.plus", "rb.a"]
mid = ["rb.b", "d.anode"]
base = ["d.cathode", "q.base"]
out = ["rc.b", "q.collector"]
ground = ["v.minus", "w.minus", "q.emitter"]
)"));
  CHECK_FALSE(base(kQ + "x = { kind = \"resistor\", value = \"1k\" }\n",
                   R"(supply = ["v.plus", "rc.a"]
drive = ["w.plus", "x.a"]
base = ["rb.b", "q.base"]
out = ["rc.b", "q.collector", "rb.a"]
ground = ["v.minus", "w.minus", "q.emitter", "x.b"]
)"));
  // Too little for the base; a junction that is none (ideal).
  std::string weak = switch_with(kQ, kOn);
  weak.replace(weak.find("\"5 V\""), 5, "\"0.6 V\"");
  CHECK_FALSE(fires("transistor-base", weak));
  CHECK_FALSE(
      base("q = { kind = \"transistor\", polarity = \"npn\", model = { is = "
           "1e-12, bf = 50, br = 100, nf = 1e-5, nr = 1e-5 } }\n",
           kOn));
  // Wishes for more than the gain gives (15 kohm: 0.29 mA and 30): it is half on, and
  // the gain's rule holds.
  std::string half = switch_with(kQ, kOn);
  half.replace(half.find("\"1k\""), 4, "\"15k\"");
  CHECK_FALSE(fires("transistor-collector", half));
  CHECK(fires("transistor-gain", half));
}

TEST_CASE("a MOS transistor that switches, by hand", "[check][by-hand]") {
  const auto text = [](const char* gate, const char* source) {
    return std::string(
               "[parts]\nv = { kind = \"voltage-source\", voltage = \"12 V\" }\n"
               "w = { kind = \"voltage-source\", voltage = \"") +
           gate + R"(" }
rg = { kind = "resistor", value = "1k" }
rd = { kind = "resistor", value = "200R", power = "2 W" }
re = { kind = "resistor", value = "1R" }
q = { kind = "mosfet", type = "2N7000" }
[nets]
supply = ["v.plus", "rd.a"]
drive = ["w.plus", "rg.a"]
gate = ["rg.b", "q.gate"]
out = ["rd.b", "q.drain"]
)" +
           (std::string(source) == "ground"
                ? "open = [\"re.a\"]\nground = [\"v.minus\", \"w.minus\", "
                  "\"q.source\", \"re.b\"]\n"
                : "low = [\"q.source\", \"re.a\"]\n"
                  "ground = [\"v.minus\", \"w.minus\", \"re.b\"]\n");
  };
  // 6 ohm at 4.5 V on the gate (ON Semiconductor 2N7000, most): 12 V / 206 ohm.
  const auto bench = verified(text("4.5 V", "ground"));
  const HandResult* amps = find_rule(bench, "mosfet-current");
  REQUIRE(amps != nullptr);
  CHECK_THAT(amps->hand, WithinRel(12.0 / 206.0, 1e-9));
  // The model's 6 ohm hold at 75 mA; at less it has less, down to the slope at 0 A. Of
  // VGS - VT = 1.5 V the 0.45 V at 75 mA take half out of the mean: 1 - 0.45 / 3 =
  // 0.85.
  CHECK(*amps->nodal > amps->hand);
  CHECK(*amps->nodal < 12.0 / (200.0 + 0.85 * 6.0));
  const HandResult* watts = find_rule(bench, "mosfet-heat");
  REQUIRE(watts != nullptr);
  CHECK_THAT(watts->hand, WithinRel(6.0 * std::pow(12.0 / 206.0, 2), 1e-9));
  CHECK(*watts->nodal < watts->hand);
  CHECK(*watts->nodal > 0.85 * watts->hand);
  // Too little at the gate; something under the source.
  CHECK_FALSE(fires("mosfet-current", text("4 V", "ground")));
  CHECK_FALSE(fires("mosfet-current", text("10 V", "resistor")));
  // More current than the resistance is stated for (75 mA).
  std::string much = text("4.5 V", "ground");
  much.replace(much.find("\"200R\""), 6, "\"100R\"");
  CHECK_FALSE(fires("mosfet-current", much));
}
