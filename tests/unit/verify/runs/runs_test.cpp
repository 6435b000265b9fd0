#include <algorithm>
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include "core/check/agree/run_agreement.h"
#include "core/check/expect/run_expectations.h"
#include "core/check/time/run_checks.h"
#include "core/verify/runs/verify_runs.h"
#include "tests/unit/check/bench.h"

// What the checks make of waveforms that are written down here: the solvers have tests
// of their own.

namespace benchproof {
namespace {

using bench::filled;
using bench::read;
using Catch::Contains;
using Catch::WithinAbs;

const std::string kChip = R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "100 mA" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["a"] }
r = { kind = "resistor", value = "1k" }
[nets]
rail = ["v.plus", "chip.vdd"]
a = ["chip.a", "r.a"]
ground = ["v.minus", "chip.vss", "r.b"]
[states.on]
"chip.a" = "high"
[states.fade]
"chip.a" = { pwm = "25%", frequency = "500 Hz" }
[[runs]]
name = "up"
state = "@"
span = "11 ms"
)";

/// The rail's course given, everything else at 0.
Waveform with_rail(const Timeline& timeline, const std::vector<double>& seconds,
                   const std::vector<double>& volts, double source_amps = 0.0) {
  const Structure& s = *timeline.network.structure;
  Waveform w;
  w.status = SolveStatus::solved;
  w.seconds = seconds;
  w.width = row_width(s);
  w.rows.assign(w.width * seconds.size(), 0.0);
  for (std::size_t k = 0; k < seconds.size(); ++k) {
    w.rows[k * w.width + 1] = volts[k];
    // Into the supply's limiter, the last before the strays.
    w.rows[(k + 1) * w.width - s.strays.size() - 1] = source_amps;
  }
  return w;
}

struct Case {
  Catalogue catalogue = built_in_catalogue();
  Circuit circuit;
  Timeline timeline;
  explicit Case(const std::string& text)
      : circuit(read(catalogue, text)),
        timeline(make_timeline(circuit, circuit.runs[0])) {}

  /// Both witnesses tell the same.
  RunResult judged(const Waveform& w) const {
    Hearing heard{w, w, agree(timeline, w, w), {}, {}};
    if (heard.agreement.agrees) {
      heard.by_engine = std::make_shared<Record>(circuit, timeline, w);
      heard.by_nodal = heard.by_engine;
    }
    return judge_run(circuit, 0, timeline, std::move(heard));
  }
};

const Finding* find(const RunResult& run, std::string_view check) {
  for (const Finding& f : run.findings)
    if (f.check == check) return &f;
  return nullptr;
}

}  // namespace

TEST_CASE("waveforms agree within a millivolt and a thousandth of the swing",
          "[runs][agreement]") {
  const Case c(filled(kChip, "on"));
  const std::vector<double> seconds = {0.0, 5e-3, 11e-3};
  const Waveform nodal = with_rail(c.timeline, seconds, {0.0, 5.0, 5.0});
  const double allowed = 1e-3 + 1e-3 * 5.0;  // DESIGN section 8
  const double off = GENERATE(0.99, 1.01) * allowed;
  const Waveform engine = with_rail(c.timeline, seconds, {0.0, 5.0 + off, 5.0});
  const RunAgreement a = agree(c.timeline, engine, nodal);
  CHECK(a.agrees == (off < allowed));
  CHECK(a.net == "rail");
  CHECK(a.seconds == 5e-3);
  CHECK_THAT(a.difference, WithinAbs(off, 1e-12));
  CHECK_THAT(a.allowed, WithinAbs(allowed, 1e-12));
  CHECK_THAT(share_of(a), WithinAbs(off / allowed, 1e-12 / allowed));
}

TEST_CASE("what happens between two points of the engine is seen",
          "[runs][agreement]") {
  const Case c(filled(kChip, "on"));
  const Waveform engine = with_rail(c.timeline, {0.0, 11e-3}, {5.0, 5.0});
  const double pulse = GENERATE(5.0, 4.0);
  const Waveform nodal = with_rail(c.timeline, {0.0, 5e-3, 11e-3}, {5.0, pulse, 5.0});
  CHECK(agree(c.timeline, engine, nodal).agrees == (pulse == 5.0));
}

TEST_CASE("a flank may come a moment later, not a lasting while", "[runs][agreement]") {
  const Case c(filled(kChip, "on"));
  const double span = c.timeline.span;
  const double late = GENERATE(0.9, 1.1) * kWaveShift * span;  // flank: 1e-7 * span
  const auto flank = [&](double from) {
    return std::vector<double>{0.0, from, from + 1e-7 * span, span};
  };
  const double at = 0.4 * span;
  const Waveform engine = with_rail(c.timeline, flank(at + late), {0.0, 0.0, 5.0, 5.0});
  const Waveform nodal = with_rail(
      c.timeline, {0.0, at, at + 1e-7 * span, at + late, at + late + 1e-7 * span, span},
      {0.0, 0.0, 5.0, 5.0, 5.0, 5.0});
  const RunAgreement a = agree(c.timeline, engine, nodal);
  CHECK(a.agrees == (late < kWaveShift * span));
  // What is only late counts for nothing, neither as a difference that is allowed.
  CHECK((share_of(a) < kLittleShare) == a.agrees);
}

TEST_CASE("a pulse that only one witness has is seen however short",
          "[runs][agreement]") {
  const Case c(filled(kChip, "on"));
  const double span = c.timeline.span;
  const double at = 0.4 * span;
  const double width = 1e-6 * span;
  const std::vector<double> seconds = {0.0, at, at + width, at + 2 * width, span};
  const Waveform with = with_rail(c.timeline, seconds, {5.0, 5.0, 4.0, 5.0, 5.0});
  const Waveform without = with_rail(c.timeline, seconds, {5.0, 5.0, 5.0, 5.0, 5.0});
  CHECK_FALSE(agree(c.timeline, with, without).agrees);
  CHECK_FALSE(agree(c.timeline, without, with).agrees);
}

namespace {

/// A source that rises by 5 V in 50 ms, or stands still, and a net that flips.
const std::string kRamp = R"([parts]
v = { kind = "voltage-source", voltage = "0 V" }
r = { kind = "resistor", value = "1k" }
low = { kind = "resistor", value = "1k" }
[nets]
in = ["v.plus", "r.a"]
out = ["r.b", "low.a"]
ground = ["v.minus", "low.b"]
[states.low]
[states.high]
"v.voltage" = "@"
[[runs]]
name = "up"
from = "low"
steps = [{ at = "10 ms", state = "high", rise = "50 ms" }]
span = "100 ms"
)";

/// 'in' follows the ramp to `top` volts, 'out' rises to 5 V at each odd time of `flips`
/// and falls at each even one, in a microsecond.
Waveform flipping(const Timeline& timeline, double top,
                  const std::vector<double>& flips,
                  const std::vector<double>& also_at) {
  constexpr double kFlipSeconds = 1e-6;
  std::vector<double> seconds = {0.0, 10e-3, 60e-3, 100e-3};
  seconds.insert(seconds.end(), also_at.begin(), also_at.end());
  for (const double at : flips) {
    seconds.push_back(at);
    seconds.push_back(at + kFlipSeconds);
  }
  std::sort(seconds.begin(), seconds.end());
  seconds.erase(std::unique(seconds.begin(), seconds.end()), seconds.end());
  Waveform w;
  w.status = SolveStatus::solved;
  w.seconds = seconds;
  w.width = row_width(*timeline.network.structure);
  w.rows.assign(w.width * seconds.size(), 0.0);
  for (std::size_t k = 0; k < seconds.size(); ++k) {
    const double t = seconds[k];
    w.rows[k * w.width + 1] = top * std::clamp((t - 10e-3) / 50e-3, 0.0, 1.0);
    double out = 0.0;
    for (std::size_t j = 0; j < flips.size(); ++j)
      out += (j % 2 == 0 ? 5.0 : -5.0) *
             std::clamp((t - flips[j]) / kFlipSeconds, 0.0, 1.0);
    w.rows[k * w.width + 2] = out;
  }
  return w;
}

}  // namespace

// The ramp may differ by 1 mV + 1e-3 * 5 V, for which it takes 60 us; kWaveShift of the
// span are 10 us.
TEST_CASE("a flip on a ramp may come as much later as the ramp may differ",
          "[runs][agreement]") {
  const Case c(filled(kRamp, "5 V"));
  const double late = GENERATE(30e-6, 58e-6, 62e-6, 200e-6);
  const double sign = GENERATE(1.0, -1.0);
  const double at = 30e-3;
  const Waveform engine = flipping(c.timeline, 5.0, {at + sign * late}, {});
  const Waveform nodal = flipping(c.timeline, 5.0, {at}, engine.seconds);
  CAPTURE(late, sign);
  CHECK(agree(c.timeline, engine, nodal).agrees == (late < 60e-6));
}

TEST_CASE("what flips in one witness alone is seen however short",
          "[runs][agreement]") {
  const Case c(filled(kRamp, "5 V"));
  const double at = 30e-3;
  const Waveform pulse = flipping(c.timeline, 5.0, {at, at + 20e-6}, {});
  const Waveform still = flipping(c.timeline, 5.0, {}, pulse.seconds);
  CHECK_FALSE(agree(c.timeline, pulse, still).agrees);
  const Waveform once = flipping(c.timeline, 5.0, {at}, pulse.seconds);
  CHECK_FALSE(agree(c.timeline, pulse, once).agrees);
}

TEST_CASE("a flip that nothing moves towards is no later than usual",
          "[runs][agreement]") {
  const Case c(filled(kRamp, "1 nV"));
  const Waveform engine = flipping(c.timeline, 0.0, {30e-3 + 30e-6}, {});
  const Waveform nodal = flipping(c.timeline, 0.0, {30e-3}, engine.seconds);
  CHECK_FALSE(agree(c.timeline, engine, nodal).agrees);
}

// Nor the ramp itself, twice as far off as it may be, beside a flip of another net.
TEST_CASE("what moves slowly is compared as ever beside a flip", "[runs][agreement]") {
  const Case c(filled(kRamp, "5 V"));
  const double off = GENERATE(0.0, 12e-3);
  Waveform engine = flipping(c.timeline, 5.0, {30e-3}, {30e-3 + 40e-6});
  const Waveform nodal = flipping(c.timeline, 5.0, {30e-3}, engine.seconds);
  for (std::size_t k = 0; k < engine.seconds.size(); ++k)
    if (engine.seconds[k] == 30e-3 + 40e-6) engine.rows[k * engine.width + 1] += off;
  CHECK(agree(c.timeline, engine, nodal).agrees == (off == 0.0));
}

TEST_CASE("where a net bends between its points the engine is asked again",
          "[runs][agreement]") {
  const Case c(filled(kChip, "on"));
  const double bend = GENERATE(5e-3, 6e-3);  // the engine's is at 5 ms
  const auto course = [&](double top) {
    return [&, top](const Timeline& t, const std::vector<double>& also_at, int) {
      std::vector<double> seconds = {0.0};
      std::vector<double> volts = {4.0};
      for (const double when : also_at) {
        if (when <= 0.0 || when >= t.span) continue;
        seconds.push_back(when);
        volts.push_back(when < top ? std::lerp(4.0, 5.0, when / top)
                                   : std::lerp(5.0, 4.0, (when - top) / (11e-3 - top)));
      }
      seconds.push_back(t.span);
      volts.push_back(4.0);
      return with_rail(t, seconds, volts);
    };
  };
  int asked = 0;
  const SolveInTime engine = [&](const Timeline& t, const std::vector<double>& also,
                                 int closer) {
    ++asked;
    return course(5e-3)(t, also, closer);
  };
  const Hearing h =
      hear(c.circuit, c.timeline, engine, course(bend), {2e-3, 5e-3, 7e-3});
  // The currents are made up and add up to nothing anyhow.
  CHECK_THAT(h.agreement.reason, Contains(bend == 5e-3 ? "leave" : "differ at 'rail'"));
  CHECK(asked >= 2);
}

TEST_CASE("an engine that fails over the second question is not lost",
          "[runs][agreement]") {
  const Case c(filled(kChip, "on"));
  const SolveInTime engine = [](const Timeline& t, const std::vector<double>& also,
                                int) {
    Waveform w = with_rail(t, {0.0, t.span}, {4.0, 4.0});
    if (!also.empty()) w.status = SolveStatus::engine_failed;
    return w;
  };
  const SolveInTime nodal = [](const Timeline& t, const std::vector<double>&, int) {
    return with_rail(t, {0.0, 5e-3, t.span}, {4.0, 5.0, 4.0});
  };
  const Hearing h = hear(c.circuit, c.timeline, engine, nodal, {});
  CHECK(h.engine.status == SolveStatus::solved);
  CHECK_FALSE(h.agreement.agrees);
  CHECK_THAT(h.agreement.reason,
             Contains("differ at 'rail'") &&
                 Contains("asked again, the engine witness did not finish"));
  // Nobody knows whether they would have agreed: no disagreement is told.
  CHECK(judge_run(c.circuit, 0, c.timeline, h).verdict == Verdict::engine_failed);
}

TEST_CASE("a nodal witness that fails over the second question is not lost",
          "[runs][agreement]") {
  const Case c(filled(kChip, "on"));
  const SolveInTime engine = [](const Timeline& t, const std::vector<double>&, int) {
    return with_rail(t, {0.0, t.span}, {4.0, 5.0});
  };
  const SolveInTime nodal = [](const Timeline& t, const std::vector<double>&,
                               int closer) {
    Waveform w = with_rail(t, {0.0, t.span}, {4.0, 4.0});
    if (closer > 0) w.status = SolveStatus::no_convergence;
    return w;
  };
  const Hearing h = hear(c.circuit, c.timeline, engine, nodal, {});
  CHECK(h.nodal.status == SolveStatus::solved);
  CHECK_THAT(h.agreement.reason,
             Contains("differ at 'rail'") &&
                 Contains("asked again, the nodal witness did not finish"));
  CHECK(judge_run(c.circuit, 0, c.timeline, h).verdict == Verdict::nodal_failed);
}

TEST_CASE("witnesses that differ over very many points are not asked on and on",
          "[runs][agreement]") {
  const Case c(filled(kChip, "on"));
  const std::size_t width = row_width(*c.timeline.network.structure);
  // What both told and twice as much again are just allowed, or not.
  const std::size_t most = kMostTold / (std::size_t{6} * width);
  const std::size_t points = GENERATE_COPY(most - 1, most + 2);
  int questions = 0;
  const auto witness = [&](double volts) {
    return [&, volts](const Timeline& t, const std::vector<double>&, int) {
      ++questions;
      std::vector<double> seconds;
      for (std::size_t k = 0; k < points; ++k)
        seconds.push_back(t.span * static_cast<double>(k) /
                          static_cast<double>(points - 1));
      return with_rail(t, seconds, std::vector<double>(points, volts));
    };
  };
  const Hearing h = hear(c.circuit, c.timeline, witness(4.0), witness(5.0), {});
  CHECK_FALSE(h.agreement.agrees);
  CHECK(questions == (points < most ? 4 : 2));
  CHECK_THAT(h.agreement.reason,
             Contains("differ at 'rail'") && Contains("not asked again") &&
                 Contains("told " + std::to_string(points) + " and "));
}

TEST_CASE("of what an engine passed over no more is noted than may be asked for",
          "[runs][agreement]") {
  const Case c(filled(kChip, "on"));
  const std::size_t pulses = kMostPassedOver * GENERATE(1U, 3U);
  std::vector<double> seconds = {0.0};
  std::vector<double> volts = {5.0};
  for (std::size_t k = 1; k <= pulses; ++k) {
    seconds.push_back(c.timeline.span * static_cast<double>(k) /
                      static_cast<double>(pulses + 1));
    // Each a little lower than the one before, the last of all by far.
    volts.push_back(k < pulses ? 4.0 - 1e-4 * static_cast<double>(k) : 1.0);
  }
  seconds.push_back(c.timeline.span);
  volts.push_back(5.0);
  const Waveform engine = with_rail(c.timeline, {0.0, c.timeline.span}, {5.0, 5.0});
  const RunAgreement a =
      agree(c.timeline, engine, with_rail(c.timeline, seconds, volts));
  CHECK(a.passed_over.size() == std::min(pulses, kMostPassedOver + 1));
  CHECK(a.difference == 4.0);
  CHECK(a.seconds == seconds[pulses]);
}

TEST_CASE("currents are compared as well", "[runs][agreement]") {
  const Case c(filled(kChip, "on"));
  const auto told = [&](double amps) {
    const Waveform w = with_rail(c.timeline, {0.0, 5e-3, 11e-3}, {0.0, 5.0, 5.0}, amps);
    return Record(c.circuit, c.timeline, w);
  };
  const double off = GENERATE(0.9e-6, 1.1e-6);  // 1 uA + 1e-3 of no swing
  const std::string reason =
      differing_current(c.circuit, c.timeline, told(20e-3), told(20e-3 + off));
  CHECK(reason.empty() == (off < 1e-6));
  if (!reason.empty()) CHECK_THAT(reason, Contains("the current into 'v."));
}

TEST_CASE("where the witnesses tell two times of a crossing there is no verdict",
          "[runs][agreement]") {
  // So flat that 6 mV, which is allowed, moves the crossing by more than 0.1 % of 11
  // ms.
  const Case c(filled(kChip, "on") +
               "[[expect]]\nrun = \"up\"\nnet = \"rail\"\n"
               "reaches = { level = \"4.95 V\", before = \"11 ms\" }\n");
  const double slow = GENERATE(0.0, 5e-3);
  const Waveform engine =
      with_rail(c.timeline, {0.0, 1e-3, 11e-3}, {0.0, 4.9 - slow, 5.0 - slow});
  const Waveform nodal = with_rail(c.timeline, {0.0, 1e-3, 11e-3}, {0.0, 4.9, 5.0});
  Hearing heard{engine, nodal, agree(c.timeline, engine, nodal), {}, {}};
  REQUIRE(heard.agreement.agrees);
  heard.by_engine = std::make_shared<Record>(c.circuit, c.timeline, engine);
  heard.by_nodal = std::make_shared<Record>(c.circuit, c.timeline, nodal);
  const RunResult r = judge_run(c.circuit, 0, c.timeline, std::move(heard));
  CHECK((r.verdict == Verdict::disagreement) == (slow > 0.0));
  if (slow > 0.0) CHECK_THAT(r.agreement.reason, Contains("differ in when 'rail'"));
}

TEST_CASE("a run cannot begin from charges that a source contradicts",
          "[runs][agreement]") {
  const std::string volts = GENERATE(as<std::string>{}, "5 V", "0 V");
  const std::string between = GENERATE(as<std::string>{}, "source", "coil");
  const std::string wiring =
      between == "source"
          ? "a = [\"v.plus\", \"c.a\", \"l.a\"]\nb = [\"l.b\", \"r.a\"]\n"
          : "a = [\"v.plus\", \"l.a\"]\nb = [\"l.b\", \"c.a\", \"r.a\"]\n";
  const Case c(R"([parts]
v = { kind = "dc-supply", voltage = "5 V" }
l = { kind = "inductor", value = "1 mH" }
r = { kind = "resistor", value = "1k" }
c = { kind = "capacitor", value = "10uF", initial = ")" +
               volts + "\" }\n[nets]\n" + wiring + R"(
ground = ["v.minus", "c.b", "r.b"]
[[runs]]
name = "up"
from = "initial"
state = "steady"
span = "1 ms"
)");
  const SolveInTime silent = [](const Timeline&, const std::vector<double>&, int) {
    return Waveform{};
  };
  const RunResult r = verify_run(c.circuit, 0, silent, silent);
  const bool is_contradicted = volts == "0 V" && between == "source";
  CHECK((find(r, "current-unlimited") != nullptr) == is_contradicted);
}

TEST_CASE("a waveform that is not whole does not agree", "[runs][agreement]") {
  const Case c(filled(kChip, "on"));
  const Waveform whole = with_rail(c.timeline, {0.0, 5e-3, 11e-3}, {0.0, 5.0, 5.0});
  REQUIRE(agree(c.timeline, whole, whole).agrees);
  SECTION("it stops early") {
    const Waveform part = with_rail(c.timeline, {0.0, 5e-3}, {0.0, 5.0});
    CHECK_THAT(agree(c.timeline, part, whole).reason, Contains("left out"));
  }
  SECTION("the nodal one lacks a time of the engine's") {
    const Waveform sparse = with_rail(c.timeline, {0.0, 11e-3}, {0.0, 5.0});
    CHECK_THAT(agree(c.timeline, whole, sparse).reason, Contains("told nothing at 1"));
  }
  SECTION("not a number") {
    Waveform bad = whole;
    bad.rows[1] = std::nan("");
    CHECK_FALSE(agree(c.timeline, bad, whole).agrees);
    CHECK_FALSE(agree(c.timeline, whole, bad).agrees);
  }
  SECTION("a witness that gave up") {
    Waveform lost;
    lost.status = SolveStatus::engine_lost;
    lost.reason = "it crashed";
    CHECK_THAT(agree(c.timeline, lost, whole).reason, Contains("it crashed"));
    CHECK(c.judged(lost).verdict == Verdict::engine_failed);
  }
}

TEST_CASE("reaches asks for the first crossing, within bounds of time",
          "[runs][expect]") {
  const std::string before = GENERATE("\"3.9 ms\"", "\"4.1 ms\"");
  const Case c(filled(kChip, "on") + R"([[expect]]
run = "up"
net = "rail"
reaches = { level = "4 V", before = )" +
               before + " }\n");
  // 0 to 5 V in 5 ms: 4 V after 4 ms.
  const RunResult r =
      c.judged(with_rail(c.timeline, {0.0, 5e-3, 11e-3}, {0.0, 5.0, 5.0}));
  REQUIRE(r.expectations.size() == 1);
  CHECK_THAT(r.expectations[0].nodal.value, WithinAbs(4e-3, 1e-15));
  CHECK(r.expectations[0].holds == (before == "\"4.1 ms\""));
  if (!r.expectations[0].holds) {
    REQUIRE(find(r, "expectation") != nullptr);
    CHECK_THAT(find(r, "expectation")->message, Contains("reaches 4 V at 4 ms"));
    CHECK(r.verdict == Verdict::fault);
  }
}

TEST_CASE("what a run is asked for is told with its digits", "[runs][expect]") {
  const auto told = [](const char* asked) {
    const Case c(filled(kChip, "on") + "[[expect]]\nrun = \"up\"\nnet = \"rail\"\n" +
                 asked);
    const RunResult r =
        c.judged(with_rail(c.timeline, {0.0, 5e-3, 11e-3}, {0.0, 5.0, 5.0}));
    REQUIRE(r.expectations.size() == 1);
    const RunExpectationResult& only = r.expectations[0];
    return demand_text(*only.expectation) + "; " +
           measure_text(*only.expectation, only.nodal);
  };
  // 0 to 5 V in 5 ms: 4.001 V after 4.001 ms.
  CHECK(told("reaches = { level = \"4.001 V\", before = \"4.005 ms\" }\n") ==
        "reaches 4.001 V, before 4.005 ms; 4.001 ms");
  CHECK(told("reaches = { level = \"4.001 V\", not-before = \"4.001 ms\" }\n") ==
        "reaches 4.001 V, not before 4.001 ms; 4.001 ms");
  // A ten thousandth late is not told as in time.
  CHECK(told("reaches = { level = \"4.0012 V\", before = \"4.001 ms\" }\n") ==
        "reaches 4.0012 V, before 4.001 ms; 4.0012 ms");
  CHECK(told("stays = { below = \"5.005 V\", after = \"1.002 ms\" }\n") ==
        "stays below 5.005 V after 1.002 ms; 5 V at 5 ms");
}

TEST_CASE("a level that is never reached fails", "[runs][expect]") {
  const Case c(filled(kChip, "on") + R"([[expect]]
run = "up"
net = "rail"
reaches = { level = "6 V", before = "5 ms" }
)");
  const RunResult r =
      c.judged(with_rail(c.timeline, {0.0, 5e-3, 11e-3}, {0.0, 5.0, 5.0}));
  REQUIRE(find(r, "expectation") != nullptr);
  CHECK_THAT(find(r, "expectation")->message, Contains("never reaches 6 V"));
}

TEST_CASE("what is past its level from the beginning does not reach it",
          "[runs][expect]") {
  const Case c(filled(kChip, "on") + R"([[expect]]
run = "up"
net = "rail"
reaches = { level = "1 V", direction = "falling", before = "11 ms" }
)");
  SECTION("it rises and never falls") {
    const RunResult r =
        c.judged(with_rail(c.timeline, {0.0, 5e-3, 11e-3}, {0.0, 5.0, 5.0}));
    REQUIRE(find(r, "expectation") != nullptr);
    CHECK_THAT(find(r, "expectation")->message, Contains("from the beginning"));
  }
  SECTION("it falls after all") {
    const RunResult r = c.judged(
        with_rail(c.timeline, {0.0, 5e-3, 10e-3, 11e-3}, {0.0, 5.0, 0.0, 0.0}));
    CHECK_THAT(r.expectations[0].nodal.value, WithinAbs(9e-3, 1e-15));
  }
}

TEST_CASE("stays holds both bounds from a time on", "[runs][expect]") {
  const std::string after = GENERATE("3 ms", "5 ms");
  const Case c(filled(kChip, "on") + R"([[expect]]
run = "up"
net = "rail"
stays = { above = "4.5 V", below = "5.5 V", after = ")" +
               after + "\" }\n");
  const RunResult r =
      c.judged(with_rail(c.timeline, {0.0, 5e-3, 11e-3}, {0.0, 5.0, 5.2}));
  CHECK(r.expectations[0].holds == (after == "5 ms"));
  CHECK_THAT(r.expectations[0].nodal.value,
             WithinAbs(after == "5 ms" ? 5.2 : 3.0, 1e-12));
}

TEST_CASE("figures of a run", "[runs][expect]") {
  const auto [asked, value] = GENERATE(
      table<std::string, double>({{"at = \"2.5 ms\"", 2.5},
                                  // 5 ms of a rise to 5 V, 6 ms at 5 V.
                                  {"figure = \"average\"", (5 * 2.5 + 6 * 5.0) / 11},
                                  {"figure = \"average\"\nafter = \"5 ms\"", 5.0},
                                  {"figure = \"ripple\"", 5.0},
                                  {"figure = \"peak\"", 5.0},
                                  {"figure = \"least\"\nafter = \"4 ms\"", 4.0}}));
  CAPTURE(asked);
  const Case c(filled(kChip, "on") + "[[expect]]\nrun = \"up\"\nnet = \"rail\"\n" +
               asked + "\nvoltage = { min = \"0 V\", max = \"9 V\" }\n");
  const RunResult r =
      c.judged(with_rail(c.timeline, {0.0, 5e-3, 11e-3}, {0.0, 5.0, 5.0}));
  REQUIRE(r.expectations.size() == 1);
  CHECK(r.expectations[0].holds);
  CHECK_THAT(r.expectations[0].nodal.value, WithinAbs(value, 1e-12));
}

TEST_CASE("with PWM figures are taken over whole periods", "[runs][expect]") {
  const Case c(filled(kChip, "fade"));
  const Stretch whole = figure_stretch(c.circuit, c.circuit.runs[0], 0.0);
  CHECK_THAT(whole.length(), WithinAbs(10e-3, 1e-15));  // five of 2 ms in 11 ms
  CHECK(whole.to == 11e-3);
  const Stretch late = figure_stretch(c.circuit, c.circuit.runs[0], 7.5e-3);
  CHECK_THAT(late.length(), WithinAbs(2e-3, 1e-15));
  const Case still(filled(kChip, "on"));
  CHECK(figure_stretch(still.circuit, still.circuit.runs[0], 0.0).length() == 11e-3);
}

TEST_CASE("a dip below what a controller needs is a fault, with how long",
          "[runs][findings]") {
  const Case c(filled(kChip, "on"));
  const auto brownout = figure(c.circuit.parts[1], "brownout");
  REQUIRE(brownout);
  const double low = brownout->value + GENERATE(0.1, -0.1);
  const RunResult r =
      c.judged(with_rail(c.timeline, {0.0, 1e-3, 4e-3, 5e-3, 6e-3, 11e-3},
                         {0.0, 5.0, 5.0, low, 5.0, 5.0}));
  const Finding* dip = find(r, "run-brownout");
  CHECK((dip != nullptr) == (low < brownout->value));
  if (dip != nullptr) {
    CHECK(dip->severity == Severity::fault);
    CHECK_THAT(*dip->value, WithinAbs(low, 1e-12));
  }
  const Finding* ready = find(r, "run-ready");
  REQUIRE(ready != nullptr);
  CHECK_THAT(*ready->value, WithinAbs(1e-3 * brownout->value / 5.0, 1e-12));
}

TEST_CASE("where the rail crosses what a controller needs is not taken for a dip",
          "[runs][findings]") {
  // The crossing's moment is rounded, so that the rail there may lie a last digit
  // below.
  const Case c(filled(kChip, "on"));
  for (int k = 1; k <= 400; ++k) {
    CAPTURE(k);
    const double from = 7e-6 * k, to = from + 1e-3 / k;
    const RunResult r =
        c.judged(with_rail(c.timeline, {0.0, from, to, 11e-3},
                           {0.0, 4.0 + 7e-4 * k, 4.31 + 1e-3 * k, 5.0}));
    CHECK(find(r, "run-brownout") == nullptr);
    CHECK(find(r, "run-ready") != nullptr);
  }
}

TEST_CASE("a rail that never comes up is a fault", "[runs][findings]") {
  const Case c(filled(kChip, "on"));
  const RunResult r = c.judged(with_rail(c.timeline, {0.0, 11e-3}, {0.0, 1.0}));
  REQUIRE(find(r, "run-brownout") != nullptr);
  CHECK_THAT(find(r, "run-brownout")->message, Contains("never gets"));
}

TEST_CASE("after the supply is cut, running on is told and stopping is no fault",
          "[runs][findings]") {
  std::string text = filled(kChip, "unpowered");
  text += "from = \"on\"\n";
  const Case c(text);
  const double brownout = figure(c.circuit.parts[1], "brownout")->value;
  // From 5 V down to 0 in 10 ms.
  const RunResult r =
      c.judged(with_rail(c.timeline, {0.0, 10e-3, 11e-3}, {5.0, 0.0, 0.0}));
  CHECK(find(r, "run-brownout") == nullptr);
  const Finding* hold = find(r, "run-holdup");
  REQUIRE(hold != nullptr);
  CHECK(hold->severity == Severity::note);
  CHECK_THAT(*hold->value, WithinAbs(10e-3 * (5.0 - brownout) / 5.0, 1e-12));
}

TEST_CASE("a supply's rating is held against the inrush", "[runs][findings]") {
  const Case c(filled(kChip, "on"));
  const double amps = GENERATE(0.099, 0.101);
  const RunResult r = c.judged(with_rail(c.timeline, {0.0, 11e-3}, {5.0, 5.0}, -amps));
  CHECK((find(r, "run-inrush") != nullptr) == (amps > 0.1));
}

TEST_CASE("a voltage above extra-low between any nets is a fault", "[runs][findings]") {
  const Case c(filled(kChip, "on"));
  const double volts = GENERATE(59.0, 61.0);
  const RunResult r =
      c.judged(with_rail(c.timeline, {0.0, 5e-3, 11e-3}, {5.0, volts, 5.0}));
  CHECK((find(r, "run-voltage") != nullptr) == (volts > 60.0));
}

}  // namespace benchproof
