// Copies in runs, by the nodal witness in place of both.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <string>

#include "core/nodal/transient.h"
#include "core/tolerance/runs/run_search.h"
#include "core/tolerance/tolerance.h"
#include "tests/unit/tolerance/copied.h"

using namespace benchproof;
using namespace benchproof::test;
using Catch::WithinAbs;
using Catch::WithinRel;

namespace {

constexpr double kOhms = 10e3, kOhmsOff = 0.1;
constexpr double kFarads = 10e-6, kFaradsOff = 0.2;
constexpr double kVolts = 5.0, kLevel = 3.0;

/// A capacitor that fills through a resistor from an ideal source, with bounds of time.
Circuit filling(const std::string& bounds, const std::string& more = "") {
  return described(R"(
[parts]
v = { kind = "voltage-source", voltage = "5 V" }
r = { kind = "resistor", value = "10k", tolerance = "10%" }
c = { kind = "capacitor", value = "10uF", tolerance = "20%" }
[nets]
top = ["v.plus", "r.a"]
mid = ["r.b", "c.a"]
ground = ["v.minus", "c.b"]
[states.on]
[[runs]]
name = "fill"
from = "initial"
state = "on"
span = "300 ms"
[[expect]]
run = "fill"
net = "mid"
reaches = { level = "3 V", )" +
                   bounds + " }\n" + more);
}

/// [closed form] t = -R C ln(1 - v / V).
double filled_at(double ohms, double farads) {
  return -ohms * farads * std::log1p(-kLevel / kVolts);
}

RunsTolerance runs_of(const Circuit& circuit, std::size_t copies,
                      const SideBySide& side_by_side = in_turn) {
  const std::vector<RunResult> nominal =
      verify_runs(circuit, nodal_in_time, nodal_in_time);
  const RunWitnesses by{nodal_in_time, nodal_in_time,
                        {side_by_side, [] { return SolveInTime(nodal_in_time); }}};
  return tolerance_of_runs(circuit, nominal, std::vector<char>(copies, 0), {copies, 1},
                           by);
}

/// [a method's order] Some thirty steps, each off by 1e-7 of 5 V at most, while the
/// voltage rises by 20 V/s: 0.8 us of 0.1 s. Lines between the 1,000 rows of the span
/// are off by 0.1 us.
constexpr double kTimely = 1e-5;
/// Copies are looked at a power of ten less exactly.
constexpr double kTimelyInCopies = 1e-4;

}  // namespace

TEST_CASE("the worst charging times are those of the closed form",
          "[tolerance][runs][closed-form]") {
  const Circuit circuit = filling("not-before = \"50 ms\", before = \"110 ms\"");
  const RunsTolerance result = runs_of(circuit, 0);
  REQUIRE(result.runs.size() == 1);
  REQUIRE(result.runs.front().gauges.size() >= 1);
  const GaugeTolerance& time = result.runs.front().gauges.front();
  CHECK(time.gauge.quantity == "time");
  CHECK_THAT(time.nominal, WithinRel(filled_at(kOhms, kFarads), kTimelyInCopies));
  const double most =
      filled_at(kOhms * (1.0 + kOhmsOff), kFarads * (1.0 + kFaradsOff));
  const double least =
      filled_at(kOhms * (1.0 - kOhmsOff), kFarads * (1.0 - kFaradsOff));
  CHECK_THAT(time.worst.most.value, WithinRel(most, kTimely));
  CHECK_THAT(time.worst.least.value, WithinRel(least, kTimely));
  CHECK(time.worst.most.fails);        // 120.9 ms
  CHECK_FALSE(time.worst.least.fails);  // 66.0 ms
  CHECK(time.worst.most.agrees);
  REQUIRE(time.worst.most.engine);
  CHECK_THAT(*time.worst.most.engine, WithinRel(most, kTimely));
  // Of the variance of t = R C: 0.1 and 0.2 of the value, so 1 to 4.
  REQUIRE(time.drivers.size() == 2);
  CHECK_THAT(time.drivers.front().share, WithinAbs(0.8, 1e-3));
}

TEST_CASE("a copy is late in a run where the closed form says so",
          "[tolerance][runs][closed-form]") {
  const std::size_t copies = BENCHPROOF_SANITIZED ? 40 : 400;
  constexpr double kBefore = 100e-3;
  const Circuit circuit = filling("before = \"100 ms\"");
  const RunsTolerance result = runs_of(circuit, copies);
  const std::vector<Spread> spreads = spreads_of(circuit);
  const std::size_t r = index_of(spreads, "r.value");
  const std::size_t c = index_of(spreads, "c.value");
  std::size_t late = 0;
  std::size_t at_the_bound = 0;  // Which may be late or not.
  Draw draw(spreads, 1);
  std::vector<double> places(spreads.size());
  for (std::size_t k = 0; k < copies; ++k) {
    draw.places(k, places.data());
    const double seconds =
        filled_at(value_at(spreads[r], circuit.parts, places[r]),
                  value_at(spreads[c], circuit.parts, places[c]));
    if (std::abs(seconds - kBefore) < kTimelyInCopies * kBefore)
      ++at_the_bound;
    else
      late += seconds > kBefore ? 1 : 0;
  }
  CHECK(result.copies == copies);
  const std::size_t failed = result.runs.front().gauges.front().copies.failed;
  CHECK(failed >= late);
  CHECK(failed <= late + at_the_bound);
  CHECK(result.works == copies - failed);
  CHECK(result.runs.front().unsolved == 0);
  CHECK(result.asked_both == 4);
  CHECK(result.fail_both == 4);
  // [quadrature] P(R C > b) of two uniform numbers: over R, the share of C above b / R.
  const double product = kBefore / -std::log1p(-kLevel / kVolts);
  constexpr int kParts = 10'000;
  double share = 0.0;
  for (int k = 0; k < kParts; ++k) {
    const double ohms =
        kOhms * (1.0 + kOhmsOff * ((2.0 * k + 1.0) / kParts - 1.0));
    const double above = (1.0 + kFaradsOff) - product / ohms / kFarads;
    share += std::clamp(above / (2.0 * kFaradsOff), 0.0, 1.0) / kParts;
  }
  // By a binomial distribution further off in one of 10,000 series.
  const double deviation =
      std::sqrt(share * (1.0 - share) / static_cast<double>(copies));
  CHECK_THAT(static_cast<double>(late) / static_cast<double>(copies),
             WithinAbs(share, 3.9 * deviation));
}

TEST_CASE("copies in runs do not hang on who does what", "[tolerance][runs]") {
  const Circuit circuit = filling("before = \"90 ms\"");
  const SideBySide backwards = [](std::size_t jobs, const auto& job) {
    for (std::size_t k = jobs; k-- > 0;) job(k);
  };
  const RunsTolerance a = runs_of(circuit, 30);
  const RunsTolerance b = runs_of(circuit, 30, backwards);
  CHECK(a.works == b.works);
  const GaugeTolerance& of_a = a.runs.front().gauges.front();
  const GaugeTolerance& of_b = b.runs.front().gauges.front();
  CHECK(of_a.copies.mean == of_b.copies.mean);
  CHECK(of_a.worst.most.value == of_b.worst.most.value);
}

TEST_CASE("a level that a copy never reaches fails it", "[tolerance][runs]") {
  // With 20 % less voltage 4.2 V are out of reach.
  const Circuit circuit = filling(
      "before = \"250 ms\"",
      "[[expect]]\nrun = \"fill\"\nnet = \"mid\"\nreaches = { level = \"4.2 V\", before "
      "= \"290 ms\" }\n[tolerances]\n\"v.voltage\" = { min = \"4 V\", max = \"6 V\" }\n");
  const RunsTolerance result = runs_of(circuit, 40);
  const GaugeTolerance& time = result.runs.front().gauges[1];
  CHECK(std::isinf(time.worst.most.value));
  CHECK(time.worst.most.fails);
  CHECK(time.copies.failed > 0);
  CHECK(time.copies.failed < 40);
  CHECK(result.works == 40 - time.copies.failed);
}

TEST_CASE("a witness without an answer makes a failing copy with a cause",
          "[tolerance][runs]") {
  const Circuit circuit = filling("before = \"200 ms\"");
  const std::vector<RunResult> nominal =
      verify_runs(circuit, nodal_in_time, nodal_in_time);
  // What is above its described resistance has none.
  const SolveInTime weak = [](const Timeline& timeline, const std::vector<double>& at,
                              int closer) {
    if (timeline.network.values.ohms.front() <= kOhms * (1.0 + 1e-9))
      return nodal_in_time(timeline, at, closer);
    Waveform lost;
    lost.reason = "it gave up";
    return lost;
  };
  const RunWitnesses by{weak, weak, {in_turn, [weak] { return weak; }}};
  const RunsTolerance result =
      tolerance_of_runs(circuit, nominal, std::vector<char>(20, 0), {20, 1}, by);
  const RunTolerance& run = result.runs.front();
  CHECK(run.unsolved > 0);
  CHECK(run.unsolved < 20);
  CHECK(run.reason.find("it gave up") != std::string::npos);
  CHECK(result.works == 20 - run.unsolved);
}

TEST_CASE("a run ends where the same copy of its state is at rest",
          "[tolerance][runs]") {
  const Circuit circuit = described(R"(
ambient = "20 C"
[parts]
jack = { kind = "dc-supply", voltage = "9 V", current = "500 mA", regulated = true }
reg = { kind = "regulator", type = "7805" }
hold = { kind = "capacitor", value = "1uF", tolerance = "20%" }
r = { kind = "resistor", value = "330R", tolerance = "10%" }
lamp = { kind = "led", colour = "red" }
base = { kind = "resistor", value = "10k", tolerance = "5%" }
q = { kind = "transistor", type = "BC547" }
[nets]
raw = ["jack.plus", "reg.in"]
rail = ["reg.out", "hold.a", "r.a", "base.a"]
top = ["r.b", "lamp.anode"]
low = ["lamp.cathode", "q.collector"]
drive = ["base.b", "q.base"]
ground = ["jack.minus", "reg.common", "hold.b", "q.emitter"]
[states.on]
"jack.voltage" = "12 V"
[tolerances]
ambient = { min = "0 C", max = "40 C" }
[[runs]]
name = "up"
state = "on"
span = "50 ms"
)");
  const std::vector<Spread> spreads = spreads_of(circuit);
  const Copied at_rest(circuit, circuit.states.front(), spreads);
  Draw draw(spreads, 7);
  std::vector<double> places(spreads.size());
  for (std::size_t copy = 0; copy < 3; ++copy) {
    draw.places(copy, places.data());
    const auto seen = seen_at(at_rest.state, places.data(),
                              [](const Network& n) { return solve_nodal(n); });
    REQUIRE(seen);
    const Timeline timeline =
        timeline_at(spreads, places.data(), circuit, circuit.runs.front());
    const Waveform wave = nodal_in_time(timeline, {}, 0);
    REQUIRE(wave.status == SolveStatus::solved);
    const double* last = wave.row(wave.seconds.size() - 1);
    for (std::size_t net = 1; net < circuit.nets.size(); ++net) {
      CAPTURE(copy, circuit.nets[net].name);
      // Steps are kept to 1e-7 of a voltage; strays move on by that.
      CHECK_THAT(last[net], WithinAbs(seen->average.net_volts[net], 1e-5));
    }
  }
}
