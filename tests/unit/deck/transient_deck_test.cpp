#include "spice/deck/transient_deck.h"

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <stdexcept>
#include <string>
#include <vector>

#include "spice/session/detail/deck_guard.h"
#include "tests/truth/hand_network.h"
#include "tests/unit/deck/words.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using test::HandNetwork;

Timeline timeline(const HandNetwork& h, double span) {
  Timeline t;
  t.network = h.network();
  t.span = span;
  return t;
}

/// Something of everything that a timeline can move, and a capacitor and an inductor.
Timeline moving() {
  HandNetwork h(4);
  h.voltage_source(1, 0, 0.5);
  h.current_source(3, 0, 0.0);
  h.resistor(1, 2, 100.0);
  h.resistor(2, 0, 1.0);
  h.resistor(3, 0, 50.0);
  h.capacitor(2, 0, 1e-6);
  h.inductor(2, 3, 0.002);
  Timeline t = timeline(h, 0.5);
  t.volts = {{0, {{0.0, 0.5}, {0.125, 5.0}}}};
  t.amps = {{0, {{0.25, 0.0}, {0.375, 0.25}}}};
  t.ohms = {{1, {{0.25, 1.0}, {0.375, std::exp2(20.0)}}}};
  return t;
}

/// All words of the lines from the one that begins with `name` on, continuations
/// joined.
std::vector<std::string> words_from(const Deck& deck, const std::string& name) {
  auto line = std::find_if(
      deck.lines.begin(), deck.lines.end(),
      [&name](const std::string& text) { return text.starts_with(name + " "); });
  CAPTURE(name);
  REQUIRE(line != deck.lines.end());
  std::string text = *line;
  for (++line; line->starts_with("+"); ++line) text += line->substr(1);
  std::replace(text.begin(), text.end(), '(', ' ');
  std::replace(text.begin(), text.end(), ')', ' ');
  return test::words_of(text);
}

bool has(const Deck& deck, const std::string& name) {
  return std::any_of(
      deck.lines.begin(), deck.lines.end(),
      [&name](const std::string& text) { return text.starts_with(name + " "); });
}

/// A deck's lines, of each line of corners the first and the last one.
std::vector<std::string> shortened(const std::vector<std::string>& lines) {
  std::vector<std::string> text;
  for (const std::string& line : lines) {
    const std::vector<std::string> words = test::words_of(line);
    const std::size_t n = words.size();
    text.push_back(line.front() != '+' || n <= 5
                       ? line
                       : "+ " + words[1] + " " + words[2] + " ... " + words[n - 2] +
                             " " + words[n - 1]);
  }
  return text;
}

/// The numbers after the first `skip` words.
std::vector<double> numbers(const std::vector<std::string>& words, std::size_t skip) {
  std::vector<double> values;
  for (std::size_t k = skip; k < words.size(); ++k)
    values.push_back(std::strtod(words[k].c_str(), nullptr));
  return values;
}

/// What a source of the deck gives at a time: a number, a PWL or a PULSE, by the
/// engine's manual (chapter 4.1 of the Debian package ngspice-doc).
double source_at(const Deck& deck, const std::string& name, double seconds) {
  const std::vector<std::string> words = words_from(deck, name);
  if (words.at(3) == "pwl") {
    const std::vector<double> n = numbers(words, 4);
    Course course;
    for (std::size_t k = 0; k < n.size(); k += 2)
      course.corners.push_back({n[k], n[k + 1]});
    return value_at(course, seconds, false);
  }
  if (words.at(3) != "pulse") return numbers(words, 3).at(0);
  const std::vector<double> n = numbers(words, 4);
  REQUIRE(n.size() == 7);
  const auto [low, high, delay, rise, fall, width, period] =
      std::array{n[0], n[1], n[2], n[3], n[4], n[5], n[6]};
  if (seconds < delay) return low;
  const double t = std::fmod(seconds - delay, period);
  if (t < rise) return low + (high - low) * t / rise;
  if (t < rise + width) return high;
  if (t < rise + width + fall) return high + (low - high) * (t - rise - width) / fall;
  return low;
}

/// A resistor that is low ohmic for the first `duty` of each period.
Course pwm(double period, double duty, int periods, double from = 0.0) {
  Course course{0, {}};
  for (int k = 0; k < periods; ++k) {
    const double on = from + period * k;
    const double off = from + period * (k + duty);
    if (k > 0)
      course.corners.insert(course.corners.end(), {{on, 1e9}, {on + 1e-6, 40}});
    course.corners.insert(course.corners.end(), {{off, 40}, {off + 1e-6, 1e9}});
  }
  return course;
}

Timeline chopped(Course course, double span) {
  HandNetwork h(3);
  h.voltage_source(1, 0, 5.0);
  h.resistor(1, 2, 40.0);
  h.resistor(2, 0, 1e3);
  h.capacitor(2, 0, 1e-6);
  Timeline t = timeline(h, span);
  t.ohms = {std::move(course)};
  return t;
}

/// The logarithm of the conductance, as the deck has it against as the timeline has
/// it. 21 decades' worth of it in a microsecond's edge, whose time carries some
/// roundings of the span (kOneTime, 1e-13 of it, at most): 21 * 1e-13 * span / 1 us.
void check_follows(const Deck& deck, const Timeline& t) {
  const double bound = 1e-9 + 21.0 * 1e-13 * t.span / 1e-6;
  for (const Corner& corner : t.ohms[0].corners) {
    for (const double shift : {-3e-7, 0.0, 5e-7, 3e-6}) {
      const double seconds = std::min(std::max(corner.seconds + shift, 0.0), t.span);
      CAPTURE(seconds);
      double told = source_at(deck, "vk1", seconds);
      if (has(deck, "vx1")) told += source_at(deck, "vx1", seconds);
      REQUIRE_THAT(told,
                   WithinAbs(-std::log(value_at(t.ohms[0], seconds, true)), bound));
    }
  }
}

}  // namespace

TEST_CASE("a timeline has its deck", "[deck][transient]") {
  const Deck deck = make_deck(moving());
  CHECK(shortened(deck.lines) ==
        std::vector<std::string>{
            "* a network of benchproof",
            "r1 n1 n2 100",
            "br2 n2 0 i=v(n2)*exp(v(k2))",
            "vk2 k2 0 pwl(",
            "+ 0.25 -0 ... 0.375 -13.862943611198906)",  // ln 2^20 [from memory]
            "r3 n3 0 50",
            "c1 n2 0 1e-06",
            "l1 n2 n3 0.002",
            "v1 n1 0 pwl(",
            "+ 0 0.5 ... 0.125 5)",
            // Ours leaves at the first node into the circuit.
            "i1 0 n3 pwl(",
            "+ 0.25 0 ... 0.375 0.25)",
            (".options reltol=1e-07 vntol=1e-09 abstol=1e-10 gmin=1e-15 pivrel=0.3 "
             "itl1=200 temp=27 tnom=27"),
            // The flux of 2 mH at 100 uA is above the charge of 1 uF at 1 V.
            (".options method=trap maxord=2 trtol=1 chgtol=2.0000000000000002e-07 "
             "itl4=50 "
             "minbreak=5e-14 xmu=0.5"),
            ".tran 4.9999999999999996e-06 0.5 0 0.00125",
            ".end",
        });
  CHECK(deck.vectors ==
        std::vector<std::string>{"n1", "n2", "n3", "@c1[i]", "l1#branch", "v1#branch"});
}

TEST_CASE("a timeline with charges starts with them", "[deck][transient]") {
  Timeline t = moving();
  t.from_rest = false;
  t.capacitor_volts = {-2.5};
  t.inductor_amps = {0.1};
  TransientDeckOptions options;
  options.start = {0.0, 1.0, 2.0, 3.0};
  const Deck charged = make_deck(t, options);
  CHECK(words_from(charged, "c1").back() == "ic=-2.5");
  CHECK(words_from(charged, "l1").back() == "ic=0.1");
  CHECK(words_from(charged, ".tran").back() == "uic");
  CHECK_FALSE(has(charged, ".nodeset"));

  t.from_rest = true;
  const Deck rested = make_deck(t, options);
  CHECK(words_from(rested, ".tran").back() == "0.00125");
  CHECK(words_from(rested, "c1").back() == "1e-06");
  CHECK(has(rested, ".nodeset"));
}

TEST_CASE("ideal junctions are softened in time, real ones are not",
          "[deck][transient]") {
  HandNetwork h(3);
  h.voltage_source(1, 0, 5.0);
  DiodeModel ideal;
  ideal.n = 1e-5;
  h.diode(1, 2, ideal);
  DiodeModel real;
  real.n = 1.7;
  h.diode(2, 0, real);
  const Deck deck = make_deck(timeline(h, 1.0));
  CHECK(words_from(deck, ".model md1").at(4) == "n=1e-04");
  CHECK(words_from(deck, ".model md2").at(4) == "n=1.7");
}

TEST_CASE("corners read back as the same doubles", "[deck][transient]") {
  Timeline t = moving();
  Course course{0, {}};
  for (int k = 0; k < 777; ++k)
    course.corners.push_back({k * (0.5 / 777.0), std::sin(k / 3.0)});
  t.volts = {course};
  const std::vector<double> read = numbers(words_from(make_deck(t), "v1"), 4);
  REQUIRE(read.size() == 2 * course.corners.size());
  for (std::size_t k = 0; k < course.corners.size(); ++k) {
    REQUIRE(read[2 * k] == course.corners[k].seconds);
    REQUIRE(read[2 * k + 1] == course.corners[k].value);
  }
}

TEST_CASE("a line between two corners has corners of its own", "[deck][transient]") {
  Timeline t = moving();
  const std::vector<double> read = numbers(words_from(make_deck(t), "v1"), 4);
  REQUIRE(read.size() / 2 > 10);
  CHECK(read[0] == 0.0);
  CHECK(read[read.size() - 2] == 0.125);
  CHECK(read.back() == 5.0);
  for (std::size_t k = 0; k < read.size(); k += 2) {
    if (k > 0) CHECK(read[k] > read[k - 2]);
    CHECK_THAT(read[k + 1], WithinAbs(value_at(t.volts[0], read[k], false), 1e-14));
  }
  // Where a value is held there are none; nor where there are many already.
  t.volts = {{0, {{0.0, 1.0}, {0.1, 1.0}, {0.2, 1.0}}}};
  CHECK(numbers(words_from(make_deck(t), "v1"), 4).size() == 6);
}

TEST_CASE("equal periods up to the span are one pulse", "[deck][transient][pwm]") {
  const double hertz = GENERATE(500.0, 490.2, 1e3 / 3.0);
  const double duty = GENERATE(0.02, 1.0 / 3.0, 0.9);
  const int periods = GENERATE(9, 250);
  const double from = GENERATE(0.0, 1.7e-3);
  CAPTURE(hertz, duty, periods, from);
  const Timeline t = chopped(pwm(1.0 / hertz, duty, periods, from),
                             from + (periods - 0.5 * (1.0 - duty)) / hertz);
  const Deck deck = make_deck(t);
  REQUIRE(has(deck, "vx1"));
  CHECK(words_from(deck, "vk1").size() == 4);  // held; all that moves is the pulse
  check_follows(deck, t);
  CHECK(guard_deck(deck.lines, wire::Analysis::transient).complaint.empty());
}

TEST_CASE("what does not repeat up to the span keeps its corners",
          "[deck][transient][pwm]") {
  SECTION("too few periods") {
    const Timeline t = chopped(pwm(2e-3, 0.3, 7), 14e-3);
    const Deck deck = make_deck(t);
    CHECK_FALSE(has(deck, "vx1"));
    check_follows(deck, t);
  }
  SECTION("the last period is held for longer") {
    const Timeline t = chopped(pwm(2e-3, 0.3, 20), 45e-3);
    const Deck deck = make_deck(t);
    CHECK_FALSE(has(deck, "vx1"));
    check_follows(deck, t);
  }
  SECTION("another duty, then a train") {
    Course course = pwm(2e-3, 0.3, 20);
    const Course later = pwm(2e-3, 0.6, 30, 40e-3);
    course.corners.insert(course.corners.end(), {{40e-3, 1e9}, {40e-3 + 1e-6, 40.0}});
    course.corners.insert(course.corners.end(), later.corners.begin(),
                          later.corners.end());
    const Timeline t = chopped(course, 100e-3);
    const Deck deck = make_deck(t);
    CHECK(has(deck, "vx1"));
    CHECK(words_from(deck, "vk1").size() / 2 > 80);
    check_follows(deck, t);
  }
  SECTION("levels that differ") {
    Course course = pwm(2e-3, 0.3, 20);
    for (std::size_t k = 0; k + 1 < course.corners.size(); k += 8)
      course.corners[k].value = course.corners[k + 1].value * 1.5;
    const Timeline t = chopped(course, 40e-3);
    const Deck deck = make_deck(t);
    CHECK_FALSE(has(deck, "vx1"));
    check_follows(deck, t);
  }
}

TEST_CASE("a resistance that moves is told by no more voltages than it has",
          "[deck][transient]") {
  HandNetwork h(3);
  h.voltage_source(1, 0, 9.0);
  h.resistor(1, 2, 100.0);
  h.resistor(2, 0, 100.0);
  h.resistor(0, 2, 100.0);
  Timeline t = timeline(h, 0.1);
  for (const int k : {0, 1, 2}) t.ohms.push_back({k, {{0.01, 100.0}, {0.02, 1e6}}});
  const std::vector<std::string> lines = make_deck(t).lines;
  for (const char* line :
       {"br1 n1 n2 i=v(n1,n2)*exp(v(k1))", "br2 n2 0 i=v(n2)*exp(v(k2))",
        "br3 0 n2 i=(0-v(n2))*exp(v(k3))"}) {
    CAPTURE(line);
    CHECK(std::count(lines.begin(), lines.end(), line) == 1);
  }
}

TEST_CASE("with strays a switch's own time has fewer corners, a ramp has not",
          "[deck][transient]") {
  HandNetwork h(3);
  h.voltage_source(1, 0, 9.0);
  h.resistor(1, 2, 100.0);
  h.resistor(2, 0, 100.0);
  const auto corners = [&h](double seconds) {
    Timeline t = timeline(h, 0.1);
    t.ohms = {{0, {{0.03, 100.0}, {0.03 + seconds, 1e6}}}};
    const Deck deck = make_deck(t, options_for(h.structure));
    return numbers(words_from(deck, "vk1"), 4).size() / 2;
  };
  CHECK(corners(kSwitchSeconds) == 21);
  CHECK(corners(2.0 * kSwitchSeconds) == 21);
  h.structure.strays.push_back({2, 0, {}});
  h.values.stray_farads.push_back(1e-12);
  CHECK(corners(kSwitchSeconds) == 6);
  CHECK(corners(2.0 * kSwitchSeconds) == 21);
}

TEST_CASE("with strays devices that have settled are not evaluated",
          "[deck][transient]") {
  HandNetwork h(3);
  h.voltage_source(1, 0, 9.0);
  h.resistor(1, 2, 100.0);
  h.diode(2, 0, DiodeModel{});
  const auto skips = [&h] {
    const Timeline t = timeline(h, 0.1);
    const auto lines = make_deck(t, options_for(h.structure)).lines;
    return std::any_of(lines.begin(), lines.end(), [](const std::string& line) {
      return line.starts_with(".options") && line.ends_with(" bypass=1");
    });
  };
  CHECK_FALSE(skips());
  h.structure.strays.push_back({2, 0, {}});
  h.values.stray_farads.push_back(1e-12);
  CHECK(skips());
}

TEST_CASE("points become the rows of a waveform", "[deck][transient]") {
  HandNetwork h(3);
  h.voltage_source(1, 0, 9.0);
  h.regulator(1, 0, 2, RegulatorModel{});
  h.capacitor(2, 0, 1e-6);
  const Timeline t = timeline(h, 0.1);
  const Deck deck = make_deck(t);
  CHECK(deck.vectors ==
        std::vector<std::string>{"n1", "n2", "@c1[i]", "v1#branch", "e1#branch"});
  // What flows through e1 leaves the regulator at its output.
  const Waveform w = waveform_from(
      t, deck, {0.0, 9, 5, 0.25, -0.5, 0.75, 0.1 * (1 - 1e-15), 8, 4, 1, -2, 3});
  CHECK(w.status == SolveStatus::solved);
  CHECK(w.width == row_width(h.structure));
  CHECK(w.seconds == std::vector<double>{0.0, 0.1});
  CHECK(w.rows ==
        std::vector<double>{0.0, 9, 5, 0.25, -0.5, -0.75, 0.0, 8, 4, 1, -2, -3});
  CHECK_THROWS_AS(waveform_from(t, deck, {0.0, 9, 5, 0.25, -0.5}),
                  std::invalid_argument);
}

TEST_CASE("what charges strays follows from the engine's voltages",
          "[deck][transient]") {
  HandNetwork h(3);
  h.voltage_source(1, 0, 9.0);
  h.resistor(1, 2, 1e3);
  h.structure.strays.push_back({1, 2, {}});
  h.structure.strays.push_back({2, 0, {}});
  h.values.stray_farads = {1e-12, 1e-11};
  const Timeline t = timeline(h, 4e-6);
  const Deck deck = make_deck(t);
  CHECK(deck.vectors == std::vector<std::string>{"n1", "n2", "v1#branch"});
  // 3 V in 1 us, then 2 V in 3 us, across 10 pF: 30 uA and 6.67 uA; the other one loses
  // as much of its 9 V across 1 pF.
  const Waveform w = waveform_from(t, deck, {0, 9, 0, 0, 1e-6, 9, 3, 0, 4e-6, 9, 5, 0});
  REQUIRE(w.width == 6);
  const auto stray = [&w](std::size_t point, std::size_t k) {
    return w.row(point)[4 + k];
  };
  CHECK(stray(0, 0) == 0.0);
  CHECK(stray(0, 1) == 0.0);
  CHECK_THAT(stray(1, 0), WithinRel(-3e-6, 1e-12));
  CHECK_THAT(stray(1, 1), WithinRel(30e-6, 1e-12));
  CHECK_THAT(stray(2, 0), WithinRel(-2e-6 / 3, 1e-12));
  CHECK_THAT(stray(2, 1), WithinRel(20e-6 / 3, 1e-12));
}

}  // namespace benchproof
