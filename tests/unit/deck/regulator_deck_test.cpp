// What decks say of a regulator, against the device's equation.
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <map>
#include <string>
#include <vector>

#include "core/device/regulator.h"
#include "spice/deck/transient_deck.h"
#include "tests/truth/hand_network.h"
#include "tests/unit/deck/expression.h"
#include "tests/unit/deck/words.h"

namespace benchproof {
namespace {

using Catch::StartsWith;
using Catch::WithinAbs;
using Known = std::map<std::string, double>;
using Words = std::vector<std::string>;

/// Each combination once.
RegulatorModel drawn_model() {
  RegulatorModel m;
  m.output = 3.3;
  m.dropout = 1.1;
  m.limit = 0.8;
  m.quiescent = 4.7e-3;
  m.resistance = GENERATE(0.0, 0.03);
  m.line = GENERATE(0.0, 2e-3, -1e-3);
  m.line_reference = 8.3;
  m.is_negative = GENERATE(false, true);
  m.follows = GENERATE(false, true);
  return m;
}

constexpr int kIn = 1;
constexpr int kOut = 3;

test::HandNetwork with_regulator(const RegulatorModel& m, int common) {
  test::HandNetwork h(4);
  h.regulator(kIn, common, kOut, m);
  return h;
}

/// The lines of elements, by name.
std::map<std::string, Words> elements_of(const Deck& deck) {
  std::map<std::string, Words> lines;
  for (const std::string& line : deck.lines) {
    if (line.find_first_of("*.+") == 0) continue;
    const Words words = test::words_of(line);
    CAPTURE(line);
    REQUIRE(lines.emplace(words.at(0), words).second);
  }
  return lines;
}

/// What a source's expression comes to.
double told_by(const Words& source, const std::string& prefix, const Known& known) {
  REQUIRE(source.size() == 4);
  REQUIRE_THAT(source[3], StartsWith(prefix));
  const auto ask = [&known](const std::string& what) { return known.at(what); };
  return test::Expression(source[3].substr(prefix.size()), ask).value();
}

/// The points at which to look: input against common, and current, both in the mirror
/// of a negative regulator.
template <class Look>
void look_around(const Look& look) {
  for (const double in : {-3.0, 0.0, 0.5, 1.1, 2.0, 4.3, 4.4, 4.5, 6.3, 6.5, 9.0, 20.0})
    for (const double amps : {-2e-6, -1e-6, -1e-9, 0.0, 1e-9, 0.1, 0.79, 0.8 - 3e-7,
                              0.8 - 1e-7, 0.8, 0.8 + 1e-6, 1.0})
      look(in, amps);
}

/// A smooth corner x + sqrt(x x + w w) cancels to eps |x| where the device's does not:
/// in the stiff branch that is 1 Mohm times eps A, elsewhere eps times the voltages.
double rounding_of(const RegulatorEquation& e) {
  return 16.0 * std::numeric_limits<double>::epsilon() *
         (30.0 + kRegulatorStiff * (1.0 + std::abs(e.by_amps) / kRegulatorStiff));
}

/// The voltage of a node that has a resistor to ground and is fed by sources of
/// currents.
double volts_of(const std::string& node, const std::map<std::string, Words>& lines,
                const Known& known) {
  double amps = 0.0;
  double ohms = 0.0;
  const auto volts = [&known](const std::string& n) {
    return n == "0" ? 0.0 : known.at("v(" + n + ")");
  };
  for (const auto& [name, words] : lines) {
    if (words[1] != node && words[2] != node) continue;
    REQUIRE((words[1] == "0" || words[2] == "0"));
    const double into = words[2] == node ? 1.0 : -1.0;
    if (name[0] == 'r') {
      REQUIRE(ohms == 0.0);
      ohms = std::stod(words.at(3));
    } else if (name[0] == 'b') {
      amps += into * told_by(words, "i=", known);
    } else if (name[0] == 'i') {
      amps += into * std::stod(words.at(3));
    } else if (name[0] == 'f') {
      amps += into * std::stod(words.at(4)) * known.at("i(" + words.at(3) + ")");
    } else if (name[0] == 'g') {
      amps += into * std::stod(words.at(5)) * (volts(words.at(3)) - volts(words.at(4)));
    } else {
      FAIL(name);
    }
  }
  REQUIRE(ohms > 0.0);
  return amps * ohms;
}

}  // namespace

TEST_CASE("a regulator's elements at rest are the device's equation", "[deck]") {
  const RegulatorModel m = drawn_model();
  const int common = GENERATE(0, 2);
  const double sign = m.is_negative ? -1.0 : 1.0;
  const double vc = common == 0 ? 0.0 : 0.7;
  const auto lines = elements_of(make_deck(with_regulator(m, common).network()));
  look_around([&](double size, double flow) {
    const double in = sign * size;
    const double amps = sign * flow;
    Known known{{"v(n1)", in + vc}, {"v(n2)", vc}, {"i(vp1)", amps}};
    CAPTURE(in, amps, vc, m.line);
    for (const char* node : {"e1", "m1"})
      if (!m.follows)
        known["v(" + std::string(node) + ")"] = volts_of(node, lines, known);
    // The source holds in - out at this; out - common is what is left of in.
    const double fall = told_by(lines.at("b1"), "v=", known);
    const RegulatorEquation e = pass(m, in, in - fall, amps);
    CHECK_THAT(e.error, WithinAbs(0.0, rounding_of(e)));
    CHECK_THAT(told_by(lines.at("bq1"), "i=", known),
               WithinAbs(quiescent(m, in).amps, 1e-15));
  });
}

TEST_CASE("a regulator's elements in time are the device's equation", "[deck]") {
  const RegulatorModel m = drawn_model();
  const int common = GENERATE(0, 2);
  const double sign = m.is_negative ? -1.0 : 1.0;
  const double vc = common == 0 ? 0.0 : 0.7;
  Timeline timeline;
  timeline.network = with_regulator(m, common).network();
  timeline.span = 1.0;
  const Deck deck = make_deck(timeline);
  const auto lines = elements_of(deck);
  const std::string ground = common == 0 ? "0" : "n2";
  const std::string carrier = m.follows ? "b1" : "e1";
  CHECK(deck.vectors.back() == carrier + "#branch");
  look_around([&](double size, double flow) {
    const double in = sign * size;
    const double amps = sign * flow;
    Known known{{"v(n1)", in + vc}, {"v(n2)", vc}, {"i(" + carrier + ")", amps}};
    CAPTURE(in, amps, vc, m.line);
    known["v(l1)"] = volts_of("l1", lines, known);
    double out = 0.0;
    if (m.follows) {
      REQUIRE(lines.at("b1").at(1) == "n1");
      REQUIRE(lines.at("b1").at(2) == "n3");
      out = in - told_by(lines.at("b1"), "v=", known);
    } else {
      for (const char* node : {"e1", "m1", "t1"})
        known["v(" + std::string(node) + ")"] = volts_of(node, lines, known);
      // From common to out, so that its current is the one that is passed.
      const Words& held = lines.at("e1");
      REQUIRE(Words(held.begin() + 1, held.end() - 1) ==
              Words{ground, "n3", "0", "t1"});
      out = std::stod(held.back()) * known.at("v(t1)");
      CHECK(lines.at("fi1") == Words{"fi1", "n1", ground, "e1", "1"});
    }
    const RegulatorEquation e = pass(m, in, out, amps);
    // Far from its corners each is taken for a straight line: two of voltages, at an
    // eight-thousandth of a bend each, and two of currents.
    const double straight = 3.0 * kRegulatorVoltageBend / 8000.0;
    CHECK_THAT(e.error, WithinAbs(0.0, straight + rounding_of(e)));
    CHECK_THAT(told_by(lines.at("bq1"), "i=", known),
               WithinAbs(quiescent(m, in).amps, 1e-10 * m.quiescent));
  });
}

}  // namespace benchproof
