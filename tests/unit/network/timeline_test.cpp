#include "core/network/timeline.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <memory>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

#include "core/network/edits.h"
#include "core/network/equations.h"
#include "core/network/lower.h"
#include "core/network/record.h"
#include "tests/unit/network/lowered.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using test::Lowered;
using test::lowered;
using Level = OutputSetting::Level;

/// Three operations on doubles between a description's figure and a course's.
constexpr double kRounding = 4 * std::numeric_limits<double>::epsilon();

/// A supply, a chip with two outputs, a switch, and one of each thing that holds
/// charge.
const std::string kPier = R"(
[parts]
jack = { kind = "dc-supply", voltage = "12 V" }
cell = { kind = "battery", chemistry = "alkaline", size = "AA" }
push = { kind = "current-source", current = "1 mA" }
soft = { kind = "diode", drop = "0.7 V" }
chip = { kind = "controller", outputs = ["quay", "buoy"], resistance_high = "100R", resistance_low = "50R" }
door = { kind = "switch", resistance = "10 mohm" }
load = { kind = "resistor", value = "1k" }
hold = { kind = "capacitor", value = "10uF", esr = "1R", initial = "3 V", polarised = true }
bulk = { kind = "capacitor", value = "1uF" }
coil = { kind = "inductor", value = "1 mH", initial = "-20 mA" }

[nets]
rail   = ["jack.plus", "chip.vdd", "door.a", "coil.a", "soft.anode"]
side   = ["door.b", "load.a", "push.plus", "coil.b"]
low    = ["soft.cathode", "hold.plus", "bulk.a", "cell.plus"]
ground = ["jack.minus", "chip.vss", "load.b", "push.minus", "hold.minus", "bulk.b", "cell.minus"]
open   = ["chip.quay", "chip.buoy"]

[states.rest]

[states.busy]
"chip.quay" = "high"
"jack.voltage" = "9 V"
"push.current" = "3 mA"
"load.value" = "470R"
door = "closed"

[states.pulse]
"chip.quay" = { pwm = "25%", frequency = "500 Hz" }
"chip.buoy" = { pwm = "30%", frequency = "1 kHz" }

[states.pulse-closed]
"chip.quay" = { pwm = "25%", frequency = "500 Hz" }
"chip.buoy" = { pwm = "30%", frequency = "2 kHz" }
door = "closed"
)";

constexpr int kRest = 0;
constexpr int kBusy = 1;
constexpr int kPulse = 2;
constexpr int kPulseClosed = 3;

Run one_step(int from, int state, double seconds = 0.1, double rise = 2e-3) {
  Run run;
  run.from = from;
  run.steps = {{0.0, state, rise, {}}};
  run.seconds = seconds;
  return run;
}

Run steps(int from, const std::vector<RunStep>& list, double seconds = 0.1) {
  Run run;
  run.from = from;
  run.steps = list;
  run.seconds = seconds;
  return run;
}

/// The index of a part's element in one of the structure's lists; `pin` names one of
/// several by a pin that it touches.
template <class Elements>
int element_of(const Lowered& l, const Elements& elements, const std::string& part,
               const std::string& pin = "") {
  const int index = l.part(part);
  const int pin_number = pin.empty() ? -1 : pin_index(l.circuit.parts[index], pin);
  int found = -1;
  for (std::size_t k = 0; k < elements.size(); ++k) {
    const Origin& origin = elements[k].origin;
    const bool is_at_pin =
        pin.empty() || origin.pins[0] == pin_number || origin.pins[1] == pin_number;
    if (origin.part == index && is_at_pin && found < 0) found = static_cast<int>(k);
  }
  REQUIRE(found >= 0);
  return found;
}

/// The course of an element; fails where it has none.
const Course& course_of(const std::vector<Course>& courses, int element) {
  const auto found = std::find_if(courses.begin(), courses.end(), [&](const Course& c) {
    return c.element == element;
  });
  REQUIRE(found != courses.end());
  return *found;
}

bool has_course(const std::vector<Course>& courses, int element) {
  return std::any_of(courses.begin(), courses.end(),
                     [&](const Course& c) { return c.element == element; });
}

void check_corners(const Course& course, const std::vector<Corner>& wanted,
                   double rounding = kRounding) {
  REQUIRE(course.corners.size() == wanted.size());
  for (std::size_t k = 0; k < wanted.size(); ++k) {
    CAPTURE(k);
    CHECK_THAT(course.corners[k].seconds, WithinAbs(wanted[k].seconds, rounding));
    CHECK_THAT(course.corners[k].value, WithinRel(wanted[k].value, rounding));
  }
}

}  // namespace

TEST_CASE("a course is held outside its corners and straight between", "[timeline]") {
  const Course course{0, {{1.0, 2.0}, {3.0, 6.0}, {4.0, 6.0}, {5.0, 1.0}}};
  for (const bool by_ratio : {false, true}) {
    CHECK(value_at(course, 0.0, by_ratio) == 2.0);
    CHECK(value_at(course, 1.0, by_ratio) == 2.0);
    CHECK(value_at(course, 3.0, by_ratio) == 6.0);
    CHECK(value_at(course, 3.5, by_ratio) == 6.0);
    CHECK(value_at(course, 5.0, by_ratio) == 1.0);
    CHECK(value_at(course, 9.0, by_ratio) == 1.0);
  }
  CHECK_THAT(value_at(course, 1.5, false), WithinRel(3.0, kRounding));
  CHECK_THAT(value_at(course, 4.8, false), WithinRel(2.0, kRounding));
}

TEST_CASE("a resistance passes its decades evenly", "[timeline]") {
  const Course course{0, {{0.0, 1e9}, {1e-6, 1e-1}}};
  for (int decade = 0; decade <= 10; ++decade) {
    // The logarithm is taken of a ratio of ten decades: its rounding counts 23 times.
    CHECK_THAT(value_at(course, 1e-7 * decade, true),
               WithinRel(std::pow(10.0, 9 - decade), 25 * kRounding));
  }
}

TEST_CASE("corners are told in order, once, and within the run", "[timeline]") {
  Timeline timeline;
  timeline.span = 2.0;
  timeline.volts = {{0, {{0.0, 1.0}, {1.0, 2.0}, {2.0, 3.0}, {3.0, 1.0}}}};
  timeline.amps = {{0, {{0.5, 1.0}, {1.0, 2.0}}}};
  timeline.ohms = {{0, {{-1.0, 1.0}, {0.25, 2.0}, {1.5, 2.0}}}};
  CHECK(corners_of(timeline) == std::vector<double>{0.25, 0.5, 1.0, 1.5});
}

TEST_CASE("a record has every element's current at every point", "[timeline]") {
  // Each element is a part of its own, with a pin at each end.
  Circuit circuit;
  circuit.nets.resize(3);
  const auto part = [&circuit](std::vector<int> nets) {
    Part& made = circuit.parts.emplace_back();
    made.pins.resize(nets.size());
    made.nets = std::move(nets);
    return Origin{static_cast<int>(circuit.parts.size()) - 1, {0, 1, 2}};
  };
  auto structure = std::make_shared<Structure>();
  structure->nodes = {"ground", "in", "out"};
  structure->nets = 3;
  structure->resistors = {{1, 2, part({1, 2})}};
  structure->capacitors = {{2, 0, part({2, 0})}};
  structure->inductors = {{1, 2, part({1, 2})}};
  structure->voltage_sources = {{1, 0, part({1, 0})}};
  structure->current_sources = {{2, 0, part({2, 0})}};
  structure->regulators = {{{1, 0, 2}, part({1, 0, 2})}};
  structure->strays = {{1, 2, structure->resistors[0].origin}};
  Timeline timeline;
  timeline.network.structure = structure;
  timeline.network.values.ohms = {100.0};
  timeline.network.values.farads = {1e-6};
  timeline.network.values.coils = {{1e-3}};
  timeline.network.values.volts = {0.0};
  timeline.network.values.amps = {0.0};
  timeline.network.values.stray_farads = {1e-12};
  timeline.network.values.regulators = {RegulatorModel{}};
  timeline.network.values.regulators[0].quiescent = 0.0;
  timeline.span = 1.0;
  timeline.volts = {{0, {{0.0, 0.0}, {1.0, 10.0}}}};
  timeline.amps = {{0, {{0.0, 0.0}, {1.0, 0.5}}}};
  timeline.ohms = {{0, {{0.0, 100.0}, {1.0, 400.0}}}};

  REQUIRE(row_width(*structure) == 8);
  // More points than are looked at together; the one looked at is among the last.
  constexpr int kPoints = 201;
  constexpr int kLooked = 150;
  Waveform waveform;
  waveform.status = SolveStatus::solved;
  waveform.width = 8;
  for (int k = 0; k < kPoints; ++k)
    waveform.seconds.push_back(k <= kLooked ? 0.5 * k / kLooked
                                            : 0.5 + 0.01 * (k - kLooked));
  waveform.rows.assign(8 * kPoints, 0.0);
  // Nodes, then capacitor, inductor, voltage source, regulator, stray.
  const std::vector<double> row = {0.0, 5.0, 3.0, 0.01, 0.02, -0.03, -0.04, 0.003};
  std::copy(row.begin(), row.end(), waveform.rows.begin() + 8 * kLooked);

  const Record record(circuit, timeline, waveform);
  CHECK(record.seconds() == waveform.seconds);
  CHECK(record.volts(0).values.at(kLooked) == 0.0);
  CHECK(record.volts(1).values.at(kLooked) == 5.0);
  CHECK(record.volts(2).values.at(kLooked) == 3.0);
  CHECK(record.volts(2).values.at(kLooked - 1) == 0.0);
  const auto amps = [&record](int of, int pin) {
    return record.amps(of, pin).values.at(kLooked);
  };
  // Halfway in the logarithm from 100 to 400 ohm lie 200 ohm.
  CHECK_THAT(amps(0, 0), WithinRel(2.0 / 200.0 + 0.003, 4 * kRounding));
  CHECK_THAT(amps(0, 1), WithinRel(-2.0 / 200.0 - 0.003, 4 * kRounding));
  CHECK_THAT(record.conducted(0, 0).values.at(kLooked),
             WithinRel(2.0 / 200.0, 8 * kRounding));
  CHECK(amps(1, 0) == 0.01);
  CHECK(record.conducted(1, 0).values.at(kLooked) == 0.01);
  CHECK(amps(2, 0) == 0.02);
  CHECK(amps(3, 0) == -0.03);
  // What leaves at plus into the circuit runs against the element.
  CHECK_THAT(amps(4, 0), WithinRel(-0.25, kRounding));
  CHECK_THAT(amps(5, 0), WithinAbs(0.04, kRounding));
  CHECK_THAT(amps(5, 2), WithinAbs(-0.04, kRounding));
  CHECK_THAT(record.watts(5).values.at(kLooked), WithinRel(0.04 * 2.0, 4 * kRounding));

  const Network halfway = network_at(timeline, 0.5);
  CHECK_THAT(halfway.values.volts.at(0), WithinRel(5.0, kRounding));
  CHECK(halfway.structure == timeline.network.structure);
}

TEST_CASE("power-up: supplies rise from nothing, everything else is there",
          "[timeline]") {
  const Lowered l = lowered(kPier);
  const Timeline t = make_timeline(l.circuit, one_step(kUnpowered, kBusy));
  const Structure& s = *t.network.structure;
  CHECK(t.from_rest);
  CHECK(t.span == 0.1);
  const int jack = element_of(l, s.voltage_sources, "jack");
  const int cell = element_of(l, s.voltage_sources, "cell");
  const int drop = element_of(l, s.voltage_sources, "soft");
  const int push = element_of(l, s.current_sources, "push");
  CHECK(t.network.values.volts[jack] == 0.0);
  CHECK(t.network.values.volts[cell] == 0.0);
  CHECK(t.network.values.amps[push] == 0.0);
  // The source inside a textbook diode powers nothing.
  CHECK(t.network.values.volts[drop] == l.network.values.volts[drop]);
  CHECK(t.network.values.volts[drop] > 0.0);
  check_corners(course_of(t.volts, jack), {{0.0, 0.0}, {2e-3, 9.0}});
  check_corners(course_of(t.volts, cell),
                {{0.0, 0.0}, {2e-3, l.network.values.volts[cell]}});
  check_corners(course_of(t.amps, push), {{0.0, 0.0}, {2e-3, 3e-3}});
  CHECK(t.volts.size() == 2);
  // Switch, output and resistor are as the state that comes has them.
  CHECK(t.ohms.empty());
  CHECK(t.network.values.ohms[element_of(l, s.resistors, "door")] == 0.01);
}

TEST_CASE("a load step: resistances change within a microsecond", "[timeline]") {
  const Lowered l = lowered(kPier);
  const Timeline t = make_timeline(l.circuit, steps(kRest, {{0.02, kBusy, 5e-3, {}}}));
  const Structure& s = *t.network.structure;
  const int door = element_of(l, s.resistors, "door");
  const int load = element_of(l, s.resistors, "load");
  const double open = l.network.values.ohms[door];
  CHECK(open >= 1e8);
  CHECK(t.network.values.ohms == l.network.values.ohms);
  check_corners(course_of(t.ohms, door), {{0.02, open}, {0.02 + kSwitchSeconds, 0.01}});
  check_corners(course_of(t.ohms, load),
                {{0.02, 1000.0}, {0.02 + kSwitchSeconds, 470.0}});
  check_corners(course_of(t.volts, element_of(l, s.voltage_sources, "jack")),
                {{0.02, 12.0}, {0.025, 9.0}});
  CHECK_FALSE(has_course(t.volts, element_of(l, s.voltage_sources, "cell")));
  // The output that goes high leaves ground and is tied to the supply.
  const auto quay_ohms = [&](double seconds) {
    const Network n = network_at(t, seconds);
    const PinRef pin{l.part("chip"),
                     pin_index(l.circuit.parts[l.part("chip")], "quay")};
    std::vector<double> list;
    for (std::size_t k = 0; k < s.resistors.size(); ++k) {
      const Origin& origin = s.resistors[k].origin;
      if (origin.part == pin.part &&
          (origin.pins[0] == pin.pin || origin.pins[1] == pin.pin))
        list.push_back(n.values.ohms[k]);
    }
    return list;
  };
  CHECK(quay_ohms(0.01).at(1) == 50.0);
  CHECK(quay_ohms(0.03).at(0) == 100.0);
  CHECK(quay_ohms(0.03).at(1) == quay_ohms(0.01).at(0));
}

TEST_CASE("a change goes on from what an earlier one has reached", "[timeline]") {
  const Lowered l = lowered(kPier);
  const int jack = element_of(l, l.network.structure->voltage_sources, "jack");
  // From 0 towards 12 V in 10 ms, turned at 4 ms towards 0, and at 6 ms to 9 V.
  const Timeline t =
      make_timeline(l.circuit, steps(kUnpowered, {{0.0, kRest, 10e-3, {}},
                                                  {4e-3, kUnpowered, 8e-3, {}},
                                                  {6e-3, kBusy, 1e-3, {}}}));
  check_corners(course_of(t.volts, jack),
                {{0.0, 0.0}, {4e-3, 4.8}, {6e-3, 3.6}, {7e-3, 9.0}});
  // A switch that bounces half a microsecond after it began to close is halfway in the
  // logarithm, and opens from there.
  const int door = element_of(l, l.network.structure->resistors, "door");
  const double open = l.network.values.ohms[door];
  const Timeline bounce = make_timeline(
      l.circuit,
      steps(kRest, {{1e-3, kBusy, 1e-3, {}}, {1e-3 + 0.5e-6, kRest, 1e-3, {}}}));
  const Course& course = course_of(bounce.ohms, door);
  REQUIRE(course.corners.size() == 3);
  // Both times are differences near 1 ms, so the half is one to 1e-3 * eps / 0.5e-6.
  CHECK_THAT(std::log(course.corners[1].value),
             WithinRel(0.5 * std::log(open * 0.01), 1e-11));
  CHECK(course.corners[2].value == open);
}

TEST_CASE("a line that goes on to the same end is not broken", "[timeline]") {
  const Lowered l = lowered(kPier);
  const int jack = element_of(l, l.network.structure->voltage_sources, "jack");
  const Timeline t = make_timeline(
      l.circuit,
      steps(kUnpowered, {{0.0, kRest, 10e-3, {}}, {4e-3, kPulse, 1e-3, {}}}));
  check_corners(course_of(t.volts, jack), {{0.0, 0.0}, {10e-3, 12.0}});
}

TEST_CASE("unpowered, everything but power is as in the nearest named state",
          "[timeline]") {
  const Lowered l = lowered(kPier);
  const Structure& s = *l.network.structure;
  const int jack = element_of(l, s.voltage_sources, "jack");
  const int door = element_of(l, s.resistors, "door");
  // Pulled and put back: the door stays closed throughout.
  const Timeline t = make_timeline(
      l.circuit, steps(kBusy, {{0.01, kUnpowered, 1e-3, {}}, {0.05, kRest, 1e-3, {}}}));
  CHECK(t.network.values.ohms[door] == 0.01);
  check_corners(course_of(t.volts, jack),
                {{0.01, 9.0}, {0.011, 0.0}, {0.05, 0.0}, {0.051, 12.0}});
  check_corners(course_of(t.ohms, door),
                {{0.05, 0.01}, {0.05 + kSwitchSeconds, l.network.values.ohms[door]}});

  Run run = steps(kUnpowered, {{0.0, kUnpowered, 1e-3, {}},
                               {1e-3, kBusy, 1e-3, {}},
                               {2e-3, kUnpowered, 1e-3, {}},
                               {3e-3, kRest, 1e-3, {}}});
  CHECK(named_state(run, -1) == kBusy);
  CHECK(named_state(run, 0) == kBusy);
  CHECK(named_state(run, 1) == kBusy);
  CHECK(named_state(run, 2) == kBusy);
  CHECK(named_state(run, 3) == kRest);
  run.from = kPulse;
  CHECK(named_state(run, 0) == kPulse);
  CHECK(named_state(one_step(kUnpowered, kUnpowered), 0) == -1);

  // Where no state is named, switches are open and outputs low.
  const Timeline none = make_timeline(l.circuit, one_step(kFromInitial, kUnpowered));
  CHECK(none.network.values.ohms == l.network.values.ohms);
  CHECK(none.network.values.volts[jack] == 0.0);
  CHECK(none.volts.empty());
  CHECK(none.ohms.empty());
}

TEST_CASE("from the parts' own charges, the first state's values hold at once",
          "[timeline]") {
  const Lowered l = lowered(kPier);
  const Structure& s = *l.network.structure;
  const Timeline t = make_timeline(
      l.circuit,
      steps(kFromInitial, {{0.0, kBusy, 1e-3, {}}, {0.05, kRest, 1e-3, {}}}));
  CHECK_FALSE(t.from_rest);
  CHECK(t.network.values.volts[element_of(l, s.voltage_sources, "jack")] == 9.0);
  CHECK(t.network.values.ohms[element_of(l, s.resistors, "door")] == 0.01);
  for (const auto* courses : {&t.volts, &t.amps, &t.ohms}) {
    for (const Course& course : *courses) CHECK(course.corners.front().seconds == 0.05);
  }
  REQUIRE(t.capacitor_volts.size() == 2);
  CHECK(t.capacitor_volts[element_of(l, s.capacitors, "hold")] == 3.0);
  CHECK(t.capacitor_volts[element_of(l, s.capacitors, "bulk")] == 0.0);
  CHECK(t.inductor_amps == std::vector<double>{-0.02});
  // The capacitor's plate towards plus is the one behind its series resistance.
  const TwoEnds& hold = s.capacitors[element_of(l, s.capacitors, "hold")];
  CHECK(s.nodes[hold.a] == "hold:plate");
  CHECK(s.nodes[hold.b] == "ground");
}

TEST_CASE("PWM is played out, high part first", "[timeline][pwm]") {
  const Lowered l = lowered(kPier);
  const Structure& s = *l.network.structure;
  const Timeline t =
      make_timeline(l.circuit, steps(kRest, {{1e-3, kPulse, 1e-3, {}}}, 6e-3));
  const int quay = element_of(l, s.resistors, "chip", "quay");
  const double leak = l.network.values.ohms[quay];
  const double edge = kSwitchSeconds;
  // 500 Hz and 25 %: high from 1 ms for 0.5 ms, from 3 ms, and from 5 ms.
  check_corners(course_of(t.ohms, quay), {{1e-3, leak},
                                          {1e-3 + edge, 100.0},
                                          {1.5e-3, 100.0},
                                          {1.5e-3 + edge, leak},
                                          {3e-3, leak},
                                          {3e-3 + edge, 100.0},
                                          {3.5e-3, 100.0},
                                          {3.5e-3 + edge, leak},
                                          {5e-3, leak},
                                          {5e-3 + edge, 100.0},
                                          {5.5e-3, 100.0},
                                          {5.5e-3 + edge, leak}});
  // Both resistors of both outputs move, and nothing else does.
  CHECK(t.ohms.size() == 4);
  CHECK(t.volts.empty());
  // Corners that both outputs share are shared to the bit: 3 rising edges of the first
  // coincide with rising edges of the second.
  const std::vector<double> corners = corners_of(t);
  CHECK(corners.size() == 26);  // 2 * (6 + 10 - 3)
  for (std::size_t k = 1; k < corners.size(); ++k) {
    CAPTURE(corners[k]);
    CHECK(corners[k] - corners[k - 1] > 0.9e-6);
  }
}

TEST_CASE("edges that coincide in different arithmetic are one corner",
          "[timeline][pwm]") {
  // 30 % of 1 kHz ends where 3 % of 100 Hz does, every tenth time; 0.1, 0.3 and their
  // multiples are not doubles.
  const Lowered l = lowered(R"(
[parts]
feed = { kind = "dc-supply", voltage = "5 V" }
chip = { kind = "controller", outputs = ["x", "y"] }
[nets]
rail   = ["feed.plus", "chip.vdd"]
ground = ["feed.minus", "chip.vss"]
open   = ["chip.x", "chip.y"]
[states.both]
"chip.x" = { pwm = "30%", frequency = "1 kHz" }
"chip.y" = { pwm = "3%", frequency = "100 Hz" }
)");
  const Timeline t =
      make_timeline(l.circuit, steps(kUnpowered, {{0.1, 0, 1e-3, {}}}, 0.6));
  const std::vector<double> corners = corners_of(t);
  // The output begins high, so nothing changes at 0.1 s. In the half second that
  // follows the first output falls 500 times and rises 499 times; the second one's
  // edges all coincide with those, and so does the end of the supply's rise, 1 ms after
  // its beginning.
  CHECK(corners.size() == 1 + 2 * (500 + 499));
  for (std::size_t k = 1; k < corners.size(); ++k) {
    CAPTURE(corners[k]);
    REQUIRE(corners[k] - corners[k - 1] > 0.9e-6);
  }
}

TEST_CASE("PWM goes on through a step that leaves it alone", "[timeline][pwm]") {
  const Lowered l = lowered(kPier);
  const Structure& s = *l.network.structure;
  const int quay = element_of(l, s.resistors, "chip", "quay");
  const int buoy = element_of(l, s.resistors, "chip", "buoy");
  const double leak = l.network.values.ohms[quay];
  // 500 Hz on quay stays; buoy changes from 1 kHz to 2 kHz and begins anew.
  const Timeline t = make_timeline(
      l.circuit,
      steps(kRest, {{0.0, kPulse, 1e-3, {}}, {2.75e-3, kPulseClosed, 1e-3, {}}}, 5e-3));
  const auto at = [&](int element, double seconds) {
    return network_at(t, seconds).values.ohms[element];
  };
  CHECK(at(quay, 2.4e-3) == 100.0);
  CHECK(at(quay, 2.6e-3) == leak);
  CHECK(at(quay, 2.9e-3) == leak);  // It would be high, had it begun anew.
  CHECK(at(quay, 4.4e-3) == 100.0);
  CHECK(at(buoy, 2.7e-3) == leak);
  CHECK(at(buoy, 2.8e-3) == 100.0);
  CHECK(at(buoy, 2.95e-3) == leak);  // 30 % of 0.5 ms have passed.
  // The plug pulled: the output pulses on.
  const Timeline pulled = make_timeline(
      l.circuit,
      steps(kRest, {{0.0, kPulse, 1e-3, {}}, {2.75e-3, kUnpowered, 1e-3, {}}}, 5e-3));
  const Network late = network_at(pulled, 4.4e-3);
  CHECK(late.values.ohms[quay] == 100.0);
  CHECK(late.values.volts[element_of(l, s.voltage_sources, "jack")] == 0.0);
  // Before the first step, at rest, a pulsing output is high.
  const Timeline from =
      make_timeline(l.circuit, steps(kPulse, {{1e-3, kRest, 1e-3, {}}}, 5e-3));
  CHECK(from.network.values.ohms[quay] == 100.0);
  check_corners(course_of(from.ohms, quay),
                {{1e-3, 100.0}, {1e-3 + kSwitchSeconds, leak}});
}

TEST_CASE("states of different structure are the caller's mistake", "[timeline]") {
  const Lowered l = lowered(R"(
[parts]
feed = { kind = "dc-supply", voltage = "5 V" }
hold = { kind = "capacitor", value = "1uF", esr = "1R" }
[nets]
rail   = ["feed.plus", "hold.a"]
ground = ["feed.minus", "hold.b"]
[states.real]
[states.ideal]
"hold.esr" = "0 ohm"
)");
  CHECK_THROWS_AS(make_timeline(l.circuit, one_step(0, 1)), std::invalid_argument);
}

TEST_CASE("at any time the values are those of the state and its levels then",
          "[timeline][property]") {
  constexpr unsigned kSeed = 1729;
  CAPTURE(kSeed);
  std::mt19937 random(kSeed);
  const auto uniform = [&random](double least, double most) {
    return std::uniform_real_distribution<double>(least, most)(random);
  };
  Lowered l = lowered(kPier);
  const int chip = l.part("chip");
  const std::vector<PinRef> pins = {{chip, pin_index(l.circuit.parts[chip], "quay")},
                                    {chip, pin_index(l.circuit.parts[chip], "buoy")}};
  int compared = 0;
  for (int round = 0; round < 30; ++round) {
    for (const int state : {kPulse, kPulseClosed}) {
      for (const PinRef pin : pins) {
        OutputSetting& setting = l.circuit.states[state].outputs[pin];
        setting.level = Level::pwm;
        setting.duty = uniform(0.1, 0.9);
        setting.hertz = uniform(100.0, 3000.0);
      }
    }
    Run run;
    run.from = static_cast<int>(random() % 4);
    run.seconds = 0.02;
    for (double at = 0.0; at < run.seconds; at += uniform(1e-3, 8e-3))
      run.steps.push_back({at, static_cast<int>(random() % 4), 1e-4, {}});
    const Timeline t = make_timeline(l.circuit, run);
    for (const auto* courses : {&t.volts, &t.amps, &t.ohms}) {
      for (const Course& course : *courses) {
        for (std::size_t k = 1; k < course.corners.size(); ++k)
          REQUIRE(course.corners[k].seconds > course.corners[k - 1].seconds);
      }
    }
    for (int probe = 0; probe < 40; ++probe) {
      const double time = uniform(0.0, run.seconds);
      std::size_t step = 0;
      while (step + 1 < run.steps.size() && run.steps[step + 1].at <= time) ++step;
      // Within the ramps there is another value; they have tests of their own.
      bool is_settled = time > run.steps[step].at + 1e-4 || step == 0;
      is_settled = is_settled && time > 1e-4;
      State state = l.circuit.states[run.steps[step].state];
      for (auto& [pin, setting] : state.outputs) {
        if (setting.level != Level::pwm) continue;
        // Its periods count from the first of the steps in a row that enter this state.
        std::size_t first = step;
        while (first > 0 && run.steps[first - 1].state == run.steps[step].state)
          --first;
        const double period = 1.0 / setting.hertz;
        const double into = std::fmod(time - run.steps[first].at, period);
        const double end = setting.duty * period;
        for (const double edge : {0.0, end})
          is_settled = is_settled &&
                       !(into >= edge - 1e-9 && into <= edge + kSwitchSeconds + 1e-9);
        setting.level = into < end ? Level::high : Level::low;
      }
      if (!is_settled) continue;
      ++compared;
      CAPTURE(round, time, step);
      const Network now = network_at(t, time);
      const Network wanted = lower(l.circuit, state);
      CHECK(now.values.ohms == wanted.values.ohms);
      CHECK(now.values.volts == wanted.values.volts);
      CHECK(now.values.amps == wanted.values.amps);
    }
  }
  CHECK(compared > 900);
}

}  // namespace benchproof
