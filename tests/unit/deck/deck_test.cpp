#include "spice/deck/deck.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <limits>
#include <map>
#include <memory>
#include <numeric>
#include <sstream>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "core/device/constants.h"
#include "spice/session/detail/deck_guard.h"
#include "tests/truth/hand_network.h"
#include "tests/truth/random_network.h"
#include "tests/unit/deck/words.h"

namespace benchproof {
namespace {

using Catch::Contains;
using Catch::StartsWith;
using Catch::WithinAbs;
using test::HandNetwork;
using test::random_network;
using test::words_of;

constexpr std::uint64_t kSeed = 11;

/// The whole text is one number.
double number_of(const std::string& text) {
  char* end = nullptr;
  const double value = std::strtod(text.c_str(), &end);
  CAPTURE(text);
  REQUIRE((!text.empty() && *end == '\0'));
  return value;
}

/// The words of a deck by their line's first one, in lower case as the engine takes
/// them; models by name as well.
std::map<std::string, std::vector<std::string>> by_name(const Deck& deck) {
  std::map<std::string, std::vector<std::string>> lines;
  for (std::size_t k = 1; k < deck.lines.size(); ++k) {
    const std::vector<std::string> words = words_of(deck.lines[k]);
    const bool is_model = words[0] == ".model";
    const bool is_new = lines.emplace(is_model ? words.at(1) : words[0], words).second;
    CAPTURE(deck.lines[k]);
    REQUIRE((is_new || words[0] == ".nodeset"));
  }
  return lines;
}

/// key=value words.
std::map<std::string, double> figures(const std::vector<std::string>& words) {
  std::map<std::string, double> found;
  for (const std::string& word : words) {
    const std::size_t sign = word.find('=');
    if (sign == std::string::npos) continue;
    found[word.substr(0, sign)] = number_of(word.substr(sign + 1));
  }
  return found;
}

std::string node(int k) { return k == 0 ? "0" : "n" + std::to_string(k); }

/// One of each element, on nodes of their own where they can be.
HandNetwork each() {
  HandNetwork h(6);
  h.celsius = 31.5;
  h.resistor(1, 2, 4700.0);
  h.structure.capacitors.push_back({1, 0, {}});
  h.values.farads.push_back(2.2e-6);
  h.structure.inductors.push_back({2, 3, {}});
  h.values.coils.push_back({1e-3});
  h.voltage_source(1, 0, 9.1);
  h.current_source(3, 0, 1.25e-3);
  DiodeModel d;
  d.bv = 5.1;
  h.diode(3, 4, d);
  BipolarModel q;
  q.is_pnp = true;
  h.bipolar(4, 3, 1, q);
  MosModel m;
  m.is_p_channel = true;
  m.vto = -2.0;
  m.rd = 0.25;
  h.mosfet(4, 2, 1, m);
  h.regulator(1, 4, 5, RegulatorModel{});
  return h;
}

}  // namespace

TEST_CASE("each element has its line", "[deck]") {
  const Deck deck = make_deck(each().network());
  const auto lines = by_name(deck);
  using Words = std::vector<std::string>;
  CHECK(lines.at("r1") == Words{"r1", "n1", "n2", "4700"});
  CHECK(lines.at("c1") == Words{"c1", "n1", "0", "2.2e-06"});
  CHECK(lines.at("l1") == Words{"l1", "n2", "n3", "0.001"});
  CHECK(lines.at("v1") == Words{"v1", "n1", "0", "9.1"});
  // Ours leaves at the first node into the circuit, the engine's runs through the
  // source from its first node to its second.
  CHECK(lines.at("i1") == Words{"i1", "0", "n3", "0.00125"});
  CHECK(lines.at("d1") == Words{"d1", "n3", "n4", "md1"});
  CHECK(lines.at("q1") == Words{"q1", "n4", "n3", "n1", "mq1"});
  // Bulk at the source; one metre by one metre: kp is that of the whole device. Its
  // drain lies behind a resistance.
  CHECK(lines.at("rd1") == Words{"rd1", "n4", "d1", "0.25"});
  CHECK(lines.at("m1") == Words{"m1", "d1", "n2", "n1", "n1", "mm1", "w=1", "l=1"});
  CHECK(lines.at("md1").at(2) == "d");
  CHECK(lines.at("mq1").at(2) == "pnp");
  CHECK(lines.at("mm1").at(2) == "pmos");
  CHECK(figures(lines.at("mm1")).at("is") == 0.0);
  CHECK(lines.at("b1").at(1) == "n1");
  CHECK(lines.at("vp1") == Words{"vp1", "p1", "n5", "0"});
  CHECK(lines.at("iq1").at(1) == "n1");
  CHECK(lines.at("vq1") == Words{"vq1", "q1", "n4", "0"});

  const auto options = figures(lines.at(".options"));
  CHECK(options.at("gmin") == kJunctionLeak);
  CHECK(options.at("temp") == 31.5);
  CHECK(options.at("reltol") == kTightDeck.reltol);
  CHECK_THAT(deck.lines.front(), StartsWith("*"));
  CHECK(deck.lines.back() == ".end");
  CHECK(std::count(deck.lines.begin(), deck.lines.end(), ".end") == 1);
  CHECK(deck.vectors == Words{"n1", "n2", "n3", "n4", "n5", "l1#branch", "v1#branch",
                              "@d1[id]", "@q1[ic]", "@q1[ib]", "@q1[ie]", "@m1[id]",
                              "vp1#branch", "vq1#branch"});
}

TEST_CASE("every number reads back as the same double", "[deck]") {
  for (std::uint64_t k = 0; k < 40; ++k) {
    const Network network = random_network(kSeed, k);
    const Structure& s = *network.structure;
    const Values& v = network.values;
    const Deck deck = make_deck(network);
    const auto lines = by_name(deck);
    CAPTURE(kSeed, k);
    const auto two = [&](const std::string& letter, const std::vector<TwoEnds>& all,
                         const std::vector<double>& values, bool turned) {
      for (std::size_t e = 0; e < all.size(); ++e) {
        const auto& words = lines.at(letter + std::to_string(e + 1));
        REQUIRE(words.size() == 4);
        CHECK(words[turned ? 2 : 1] == node(all[e].a));
        CHECK(words[turned ? 1 : 2] == node(all[e].b));
        CHECK(number_of(words[3]) == values[e]);
      }
    };
    two("r", s.resistors, v.ohms, false);
    two("c", s.capacitors, v.farads, false);
    std::vector<double> henries;
    for (const CoilModel& coil : v.coils) henries.push_back(coil.henries);
    two("l", s.inductors, henries, false);
    two("v", s.voltage_sources, v.volts, false);
    two("i", s.current_sources, v.amps, true);
    for (std::size_t e = 0; e < s.diodes.size(); ++e) {
      const auto& words = lines.at("d" + std::to_string(e + 1));
      const DiodeModel& m = v.diodes[e];
      auto found = figures(lines.at(words.at(3)));
      CHECK(found.at("is") == m.is);
      CHECK(found.at("n") == m.n);
      CHECK(found.at("rs") == m.rs);
      CHECK(found.at("eg") == m.eg);
      CHECK(found.at("xti") == m.xti);
      CHECK(found.at("tnom") == m.tnom);
      CHECK(found.contains("bv") == std::isfinite(m.bv));
      if (!std::isfinite(m.bv)) continue;
      CHECK(found.at("bv") == m.bv);
      CHECK(found.at("ibv") == m.ibv);
      CHECK(found.at("nbv") == m.nbv);
    }
    for (std::size_t e = 0; e < s.bipolars.size(); ++e) {
      const auto& words = lines.at("q" + std::to_string(e + 1));
      const BipolarModel& m = v.bipolars[e];
      auto found = figures(lines.at(words.at(4)));
      CHECK(lines.at(words.at(4)).at(2) == (m.is_pnp ? "pnp" : "npn"));
      CHECK(found.at("is") == m.is);
      CHECK(found.at("bf") == m.bf);
      CHECK(found.at("br") == m.br);
      CHECK(found.at("nf") == m.nf);
      CHECK(found.at("nr") == m.nr);
      CHECK(found.at("tnom") == m.tnom);
      CHECK(found.contains("vaf") == std::isfinite(m.vaf));
      if (std::isfinite(m.vaf)) CHECK(found.at("vaf") == m.vaf);
      CHECK(found.contains("ikf") == std::isfinite(m.ikf));
      if (std::isfinite(m.ikf)) CHECK(found.at("ikf") == m.ikf);
    }
    for (std::size_t e = 0; e < s.mosfets.size(); ++e) {
      const auto& words = lines.at("m" + std::to_string(e + 1));
      const MosModel& m = v.mosfets[e];
      auto found = figures(lines.at(words.at(5)));
      CHECK(lines.at(words.at(5)).at(2) == (m.is_p_channel ? "pmos" : "nmos"));
      CHECK(found.at("vto") == m.vto);
      CHECK(found.at("kp") == m.kp);
      CHECK(found.at("lambda") == m.lambda);
      CHECK(found.at("tnom") == m.tnom);
      const auto behind = [&](const char* name, double ohms) {
        const auto line = lines.find(name + std::to_string(e + 1));
        CHECK((line != lines.end()) == (ohms > 0.0));
        if (ohms > 0.0) CHECK(number_of(line->second.at(3)) == ohms);
      };
      behind("rd", m.rd);
      behind("rs", m.rs);
    }
    CHECK(figures(lines.at(".options")).at("temp") == network.celsius);
  }
}

TEST_CASE("no text of a description gets into a deck", "[deck]") {
  const HandNetwork plain = each();
  const std::string plain_text =
      annotate(plain.network(), make_deck(plain.network()), {});
  HandNetwork hostile = each();
  for (std::string& name : hostile.structure.nodes)
    name = "x\n.control\nshell touch y\n.endc";
  const Deck a = make_deck(plain.network());
  const Deck b = make_deck(hostile.network());
  CHECK(a.lines == b.lines);
  CHECK(a.vectors == b.vectors);
  for (const std::string& line : b.lines) {
    CHECK(line.find('\n') == std::string::npos);
    CHECK(line.find("control") == std::string::npos);
  }
  CHECK_THAT(plain_text, Contains("node_1"));
}

TEST_CASE("a deck passes the guard whole", "[deck]") {
  for (std::uint64_t k = 0; k < 40; ++k) {
    const Network network = k == 0 ? each().network() : random_network(kSeed, k);
    const Deck deck = make_deck(network);
    const GuardedDeck guarded = guard_deck(deck.lines);
    CAPTURE(k);
    CHECK(guarded.complaint.empty());
    // All but the title, which is replaced.
    REQUIRE(guarded.lines.size() == deck.lines.size());
    CHECK(std::equal(deck.lines.begin() + 1, deck.lines.end(),
                     guarded.lines.begin() + 1));
    for (const std::string& vector : deck.vectors)
      CHECK(vector_complaint(vector).empty());
  }
  SECTION("a network without elements is refused by it: the engine would crash") {
    CHECK(guard_deck(make_deck(HandNetwork(2).network()).lines).complaint ==
          "the deck holds no element");
  }
}

TEST_CASE("the start of an iteration is written for every node that is free",
          "[deck]") {
  DeckOptions options = kClosestDeck;
  options.start = {0.0, 9.1, 1.0 / 3.0, -2e-9, 0.0, 5.0};
  const Deck deck = make_deck(each().network(), options);
  std::vector<int> set;
  for (const std::string& line : deck.lines) {
    const std::string prefix = ".nodeset v(n";
    if (!line.starts_with(prefix)) continue;
    const int k = std::atoi(line.substr(prefix.size()).c_str());
    set.push_back(k);
    CHECK(number_of(line.substr(line.find('=') + 1)) == options.start.at(k));
  }
  // A source ties 1 to ground, an inductor 3 to 2.
  CHECK(set == std::vector<int>{2, 4, 5});
  CHECK(figures(by_name(deck).at(".options")).at("reltol") == kClosestDeck.reltol);
}

TEST_CASE("a saturation current too small for the engine is a share of a larger one",
          "[deck]") {
  HandNetwork h(2);
  DiodeModel m;
  m.is = 1e-40;
  m.rs = 3.0;
  h.diode(1, 0, m);
  const auto lines = by_name(make_deck(h.network()));
  const double area = figures(lines.at("d1")).at("area");
  const auto model = figures(lines.at(lines.at("d1").at(3)));
  // Two roundings each.
  CHECK(model.at("is") >= 1e-28);
  CHECK_THAT(model.at("is") * area, Catch::WithinRel(1e-40, 1e-15));
  CHECK_THAT(model.at("rs") / area, Catch::WithinRel(3.0, 1e-15));
}

TEST_CASE("parts of one model share it, others do not", "[deck]") {
  HandNetwork h(3);
  DiodeModel a;
  DiodeModel b;
  b.is = std::nextafter(a.is, 1.0);
  for (const DiodeModel& m : {a, b, a, b}) h.diode(1, 2, m);
  h.resistor(1, 0, 1.0);
  const auto lines = by_name(make_deck(h.network()));
  CHECK(lines.at("d1").at(3) == lines.at("d3").at(3));
  CHECK(lines.at("d2").at(3) == lines.at("d4").at(3));
  CHECK(lines.at("d1").at(3) != lines.at("d2").at(3));
}

TEST_CASE("the engine's values go back where they belong", "[deck]") {
  const Network network = each().network();
  const Deck deck = make_deck(network);
  std::vector<double> values(deck.vectors.size());
  std::iota(values.begin(), values.end(), 1.0);
  const Solution s = from_vectors(network, deck, values);
  CHECK(s.status == SolveStatus::solved);
  CHECK(s.volts == std::vector{0.0, 1.0, 2.0, 3.0, 4.0, 5.0});
  // By Ohm's law from the engine's voltages.
  CHECK(s.currents.resistors == std::vector{(1.0 - 2.0) / 4700.0});
  CHECK(s.currents.capacitors == std::vector{0.0});
  CHECK(s.currents.inductors == std::vector{6.0});
  CHECK(s.currents.voltage_sources == std::vector{7.0});
  CHECK(s.currents.current_sources == std::vector{-1.25e-3});
  CHECK(s.currents.diodes == std::vector{8.0});
  using Three = std::array<double, 3>;
  CHECK(s.currents.bipolars == std::vector{Three{9.0, 10.0, 11.0}});
  // Told in the n-channel sense; this one is a p-channel.
  CHECK(s.currents.mosfets == std::vector{Three{-12.0, 0.0, 12.0}});
  CHECK(s.currents.regulators == std::vector{Three{27.0, -14.0, -13.0}});

  values.pop_back();
  CHECK_THROWS_AS(from_vectors(network, deck, values), std::invalid_argument);
  CHECK_THROWS_AS(from_vectors(network, deck, {}), std::invalid_argument);
}

TEST_CASE("an ideal junction's current is its source's, if that alone feeds it",
          "[deck]") {
  // Node 2 is inside a part: source 1 -> 2, junction 2 -> 0.
  HandNetwork h(3);
  h.structure.nets = 2;
  h.voltage_source(1, 2, 0.7);
  DiodeModel m;
  m.n = 1e-5;
  h.diode(2, 0, m);
  h.resistor(1, 0, 1e3);
  const auto told = [](const HandNetwork& hand) {
    const Network network = hand.network();
    const Deck deck = make_deck(network);
    std::vector<double> values(deck.vectors.size(), 0.0);
    for (std::size_t k = 0; k < values.size(); ++k) {
      if (deck.vectors[k] == "v1#branch") values[k] = 5e-3;
      if (deck.vectors[k] == "@d1[id]") values[k] = 4.99e-3;
    }
    return from_vectors(network, deck, values).currents.diodes.front();
  };
  CHECK(told(h) == 5e-3);
  SECTION("a real junction's is its own") {
    h.values.diodes[0].n = 1.0;
    CHECK(told(h) == 4.99e-3);
  }
  SECTION("nor may anything else stand at the node between") {
    h.resistor(2, 0, 1e3);
    CHECK(told(h) == 4.99e-3);
  }
  SECTION("the other way round it is not the same current") {
    h.structure.voltage_sources[0] = {2, 1, {}};
    CHECK(told(h) == 4.99e-3);
  }
  SECTION("a net of the circuit is no inside") {
    h.structure.nets = 3;
    CHECK(told(h) == 4.99e-3);
  }
}

TEST_CASE("a deck for people explains each generated name", "[deck]") {
  HandNetwork h(4);
  h.structure.nodes = {"ground", "inlet", "rail", "jack:source"};
  h.structure.nets = 3;
  h.resistor(1, 2, 100.0);
  h.structure.resistors[0].origin = {1, {0, 1, -1}};
  h.voltage_source(3, 0, 9.0);
  h.structure.voltage_sources[0].origin = {0, {-1, 1, -1}};
  h.regulator(1, 0, 2, RegulatorModel{});
  h.structure.regulators[0].origin = {2, {0, 1, 2}};
  h.resistor(2, 0, 5.0);  // of no part: not explained
  const Network network = h.network();
  const Deck deck = make_deck(network);
  const std::string text = annotate(network, deck, {"jack", "quay_r", "reg"});
  std::istringstream stream(text);
  std::vector<std::vector<std::string>> comments;
  std::vector<std::string> rest;
  bool is_first = true;
  for (std::string line; std::getline(stream, line);) {
    if (!is_first && line.starts_with("*")) {
      comments.push_back(words_of(line.substr(1)));
    } else if (!is_first) {
      rest.push_back(line);
    }
    is_first = false;
  }
  const auto has = [&](const std::vector<std::string>& words) {
    return std::find(comments.begin(), comments.end(), words) != comments.end();
  };
  CHECK(has({"0", "net", "ground"}));
  CHECK(has({"n1", "net", "inlet"}));
  CHECK(has({"n3", "inside", "jack:source"}));
  CHECK(has({"r1", "part", "quay_r"}));
  CHECK(has({"v1", "part", "jack"}));
  CHECK(has({"b1", "part", "reg"}));
  CHECK_FALSE(has({"r2", "part", "quay_r"}));
  // What the engine reads is the deck, unchanged.
  CHECK(rest == std::vector<std::string>(deck.lines.begin() + 1, deck.lines.end()));
  // A part that has no name is the caller's mistake.
  CHECK_THROWS_AS(annotate(network, deck, {"jack"}), std::out_of_range);
}

TEST_CASE("an ideal transistor is two diodes and two sources", "[deck]") {
  const bool is_pnp = GENERATE(false, true);
  BipolarModel m;
  m.is_pnp = is_pnp;
  m.is = 1e-12;
  m.bf = 80.0;
  m.br = 2.0;
  m.nf = 1e-5;
  m.nr = 1e-5;
  HandNetwork h(4);
  h.bipolar(1, 2, 3, m);
  const Network network = h.network();
  const Deck deck = make_deck(network);
  const auto lines = by_name(deck);
  using Words = std::vector<std::string>;
  CHECK(lines.count("q1") == 0);
  CHECK(lines.at("df1") ==
        (is_pnp ? Words{"df1", "n3", "f1", "mf1"} : Words{"df1", "f1", "n3", "mf1"}));
  CHECK(lines.at("ff1") == (is_pnp ? Words{"ff1", "n3", "n1", "vf1", "80"}
                                   : Words{"ff1", "n1", "n3", "vf1", "80"}));
  CHECK(figures(lines.at("mf1")).at("is") == 1e-12 / 80.0);
  CHECK(figures(lines.at("mr1")).at("is") == 1e-12 / 2.0);
  // 3 mA through the forward and 1 mA through the reverse diode: base 4 mA, collector
  // 80 * 3 - (2 + 1) * 1 mA.
  const Solution s = from_vectors(network, deck, {0.0, 0.0, 0.0, 3e-3, 1e-3});
  const double sense = is_pnp ? -1.0 : 1.0;
  CHECK_THAT(s.currents.bipolars[0][1], WithinAbs(sense * 4e-3, 1e-18));
  CHECK_THAT(s.currents.bipolars[0][0], WithinAbs(sense * 237e-3, 1e-15));
  CHECK_THAT(s.currents.bipolars[0][2], WithinAbs(-sense * 241e-3, 1e-15));
}

}  // namespace benchproof
