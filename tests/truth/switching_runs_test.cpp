#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <string>

#include "core/circuit/read/reader.h"
#include "core/device/regulator.h"
#include "core/nodal/transient.h"
#include "core/verify/runs/verify_runs.h"
#include "spice/session/witness.h"

// Coils that are switched off and circuits that ring: where a current dies away a
// picoampere is millivolts, and what a period is off by adds up. Held against what
// calculus says of them.

namespace benchproof {
namespace {

using Catch::WithinAbs;

EngineSession& session() {
  static EngineSession kept = [] {
    EngineOptions options;
    options.worker_path = BENCHPROOF_BIN_DIR "/benchproof-worker";
    return EngineSession(options);
  }();
  return kept;
}

/// A circuit with one run, and what both witnesses make of it.
struct Judged {
  Catalogue catalogue = built_in_catalogue();
  Circuit circuit;
  RunResult result;

  explicit Judged(const std::string& text) {
    ReadResult read = read_circuit(text, "switching.toml", catalogue);
    REQUIRE(read.circuit);
    circuit = std::move(*read.circuit);
    result = verify_run(circuit, 0, engine_in_time(session()), nodal_in_time);
    CAPTURE(text, result.agreement.reason);
    CHECK(result.agreement.agrees);
  }

  [[nodiscard]] int net(const std::string& name) const {
    for (std::size_t k = 0; k < circuit.nets.size(); ++k)
      if (circuit.nets[k].name == name) return static_cast<int>(k);
    FAIL("no net " << name);
    return -1;
  }
};

const std::string kCoil = R"([parts]
s = { kind = "voltage-source", voltage = "12 V" }
sw = { kind = "switch" }
k = { kind = "inductor", value = "100 mH", dcr = "240 ohm" }
d = @
[nets]
p = ["s.plus", "k.a", "d.cathode"]
c = ["k.b", "d.anode", "sw.a"]
ground = ["s.minus", "sw.b"]
[states.on]
sw = "closed"
[states.off]
[[runs]]
name = "drop out"
from = "on"
state = "off"
span = "5 ms"
)";

std::string with(std::string text, const std::string& what) {
  return text.replace(text.find('@'), 1, what);
}

}  // namespace

TEST_CASE("a coil's current runs out through its diode without changing sign",
          "[runs][truth]") {
  const std::string diode =
      GENERATE(as<std::string>{}, R"({ kind = "diode", type = "1N4148" })",
               R"({ kind = "diode", type = "1N4007" })",
               R"({ kind = "diode", type = "1N5819" })",
               R"({ kind = "diode", model = { is = 1e-9, n = 2.0, rs = 0.5 } })");
  const Judged j(with(kCoil, diode));
  const Record nodal(j.circuit, j.result.timeline, j.result.nodal);
  const Extremes e = extremes(nodal.volts(j.net("c")), nodal.whole());
  // L di/dt = -(R i + v(i)), v > 0 where i > 0: i falls to 0 and the diode's voltage
  // with it, never below.
  CHECK(e.lowest >= -1e-3);
  // What its capacitance holds then rings with the coil, no deeper than the drop that
  // it starts from, and dies away.
  const Stretch late{4e-3, 5e-3};
  CHECK_THAT(extremes(nodal.volts(j.net("c")), late).lowest, WithinAbs(12.0, 1e-3));
  CHECK(extremes(nodal.volts(j.net("c")), {1e-5, 5e-3}).lowest >= 12.0 - 0.7);
}

TEST_CASE("a circuit that hardly loses rings as its closed form says",
          "[runs][truth]") {
  // v = V (1 - exp(-a t) (cos w t + a / w sin w t)), a = R / 2L, w^2 = 1 / LC - a^2.
  const double ohms = GENERATE(0.01, 0.1);
  const Judged j(with(R"([parts]
s = { kind = "voltage-source", voltage = "10 V" }
r = { kind = "resistor", value = "@ mohm", power = "100 W" }
l = { kind = "inductor", value = "10 uH" }
c = { kind = "capacitor", value = "10uF", rated = "63 V" }
[nets]
p = ["s.plus", "r.a"]
q = ["r.b", "l.a"]
i = ["l.b", "c.a"]
ground = ["s.minus", "c.b"]
[[runs]]
name = "ring"
from = "initial"
state = "steady"
span = "2 ms"
)",
                      std::to_string(ohms * 1e3)));
  const double a = ohms / 2e-5;
  const double w = std::sqrt(1e10 - a * a);
  const auto closed = [&](double t) {
    return 10.0 *
           (1.0 - std::exp(-a * t) * (std::cos(w * t) + a / w * std::sin(w * t)));
  };
  const auto node = static_cast<std::size_t>(j.net("i"));
  // DESIGN section 8: 1 mV + 1e-3 of a swing of 20 V; the nodal witness, the better one
  // here, a tenth of it. The engine may be late by kWaveShift of the span besides.
  const double allowed = 1e-3 + 20e-3;
  const double late = kWaveShift * 2e-3 * 10.0 * w;
  for (const Waveform* waveform : {&j.result.engine, &j.result.nodal}) {
    double worst = 0.0;
    for (std::size_t k = 0; k < waveform->seconds.size(); ++k)
      worst = std::max(worst,
                       std::abs(waveform->row(k)[node] - closed(waveform->seconds[k])));
    CAPTURE(waveform == &j.result.engine, ohms);
    CHECK(worst < (waveform == &j.result.nodal ? 0.1 * allowed : allowed + late));
  }
}

TEST_CASE("a regulator at its limit charges a capacitor in a straight line",
          "[runs][truth]") {
  // The input rises by 1.2 V a millisecond. From where it exceeds the dropout on the
  // regulator's target u rises with it, through its resistance R: R C v' + v = u, hence
  // i = C u' (1 - exp(-t / R C)), until that is the limit I. Then C v' = I, a straight
  // line, until 5 V less R I; the rest is an exponential again. Beyond its limit the
  // regulator is a resistance of kRegulatorStiff, through which flows q by and by. The
  // output that switches half a microampere makes witnesses take short steps, in which
  // a corner of the current is easily missed.
  const double farads = GENERATE(330e-6, 470e-6, 820e-6, 1e-3, 1.5e-3, 2.2e-3, 2.7e-3,
                                 4.7e-3, 10e-3, 22e-3);
  const Judged j(with(R"([parts]
s = { kind = "voltage-source", voltage = "12 V" }
reg = { kind = "regulator", output = "5 V", dropout = "1.7 V", limit = "140 mA", quiescent = "0 A", resistance = "0.606 ohm" }
c = { kind = "capacitor", value = "@ uF", rated = "16 V" }
chip = { kind = "controller", type = "cmos-5v", draw = "1 nA", outputs = ["a"] }
r = { kind = "resistor", value = "10M" }
[nets]
p = ["s.plus", "reg.in"]
q = ["reg.out", "c.a", "chip.vdd"]
a = ["chip.a", "r.a"]
ground = ["s.minus", "reg.common", "c.b", "chip.vss", "r.b"]
[states.on]
"chip.a" = { pwm = "30%", frequency = "500 Hz" }
[[runs]]
name = "charge"
state = "on"
rise = "10 ms"
span = "60 ms"
)",
                      std::to_string(farads * 1e6)));
  constexpr double kOutput = 5.0;
  constexpr double kLimit = 0.14;
  constexpr double kOhms = 0.606;
  constexpr double kSlope = 1200.0;
  constexpr double kWakes = 1.7 / kSlope;
  constexpr double kFull = kOutput - kOhms * kLimit;
  const double tau = kOhms * farads;
  const double limited = kWakes - tau * std::log1p(-kLimit / (farads * kSlope));
  const double volts_then = kSlope * (limited - kWakes) - kOhms * kLimit;
  const double rises = kWakes + kOutput / kSlope - limited;  // the target, from then on
  REQUIRE(rises > 0.0);
  const auto straight = [&](double t) {
    return volts_then + kLimit / farads * (t - limited);
  };
  const auto target = [&](double t) {
    return std::min(kSlope * (t - kWakes), kOutput) - kOhms * kLimit;
  };
  const auto q = [&](double t) {
    const double a = t - limited;
    const double b = std::min(a, rises);
    return (b * volts_then + 0.5 * b * b * kSlope + (a - b) * kFull - a * volts_then -
            0.5 * a * a * kLimit / farads) /
           kRegulatorStiff;
  };
  const double soon = limited + (kFull - volts_then) * farads / kLimit;
  const double full = soon - q(soon) / kLimit;
  const auto amps = [&](double t) {
    if (t <= kWakes) return 0.0;
    if (t <= limited) return -farads * kSlope * std::expm1(-(t - kWakes) / tau);
    if (t <= full) return kLimit + (target(t) - straight(t)) / kRegulatorStiff;
    return kLimit * std::exp(-(t - full) / tau);
  };
  const auto volts = [&](double t) {
    if (t <= kWakes) return 0.0;
    if (t <= limited) return kSlope * (t - kWakes) - kOhms * amps(t);
    if (t <= full) return straight(t) + q(t) / farads;
    return kOutput - kOhms * amps(t);
  };
  // The target's corners are round: by w^2 / 4x at x from them, w = kVoltageBend.
  const auto round = [](double x) {
    return 0.25 * kRegulatorVoltageBend * kRegulatorVoltageBend /
           std::max(std::abs(x), 0.5 * kRegulatorVoltageBend);
  };
  const auto node = static_cast<std::size_t>(j.net("q"));
  const Structure& structure = *j.result.timeline.network.structure;
  const std::size_t regulator = row_width(structure) - structure.strays.size() - 1;
  for (const Waveform* waveform : {&j.result.engine, &j.result.nodal}) {
    CAPTURE(waveform == &j.result.engine, farads, limited, full);
    double worst_volts = 0.0;
    double worst_amps = 0.0;
    for (std::size_t k = 0; k < waveform->seconds.size(); ++k) {
      const double t = waveform->seconds[k];
      // What is promised of waveforms: 1e-4 of their swing.
      const double allowed = 1e-4 * kOutput;
      worst_volts =
          std::max(worst_volts, std::abs(waveform->row(k)[node] - volts(t)) / allowed);
      // Half of what two witnesses' currents may be apart.
      const double rounded = round(kSlope * std::min(t, 10e-3) - 1.7) / kOhms;
      const double flow = -waveform->row(k)[regulator];
      // A corner may come a moment earlier or later.
      const double moment = kWaveShift * 60e-3;
      const auto [low, high] =
          std::minmax({amps(t - moment), amps(t), amps(t + moment)});
      const double off = std::max({low - flow, flow - high, 0.0});
      worst_amps = std::max(worst_amps, (off - rounded) / (0.5 * kWaveShare * kLimit));
    }
    CHECK(worst_volts < 1.0);
    CHECK(worst_amps < 1.0);
  }
}

}  // namespace benchproof
