// The explanation above a deck: it names what the deck has, all of it and nothing else.

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "core/network/lower.h"
#include "spice/deck/transient_deck.h"
#include "tests/truth/hand_network.h"
#include "tests/unit/deck/words.h"

namespace benchproof {
namespace {

namespace fs = std::filesystem;

using Names = std::set<std::string>;
using test::words_of;

/// A name with <k> in place of its number.
std::string kind_of(const std::string& name) {
  return name.substr(0, name.find_first_of("0123456789")) + "<k>";
}

/// What the lines of a deck call its elements and nodes.
struct Called {
  Names elements;
  Names nodes;
};

Called called(const Deck& deck) {
  Called names;
  for (const std::string& line : deck.lines) {
    if (line.find_first_of("*.+") == 0) continue;
    const std::vector<std::string> words = words_of(line);
    CAPTURE(line);
    REQUIRE(names.elements.insert(words.at(0)).second);
    const std::size_t nodes = line[0] == 'q' ? 3 : line[0] == 'm' ? 4 : 2;
    for (std::size_t k = 1; k <= nodes; ++k) names.nodes.insert(words.at(k));
  }
  return names;
}

/// What an explanation names, one by one ("r1") or all of a kind ("bl<k>").
Called told(const std::string& explanation) {
  Called names;
  Names* section = nullptr;
  std::istringstream stream(explanation);
  for (std::string line; std::getline(stream, line) && line.starts_with("*");) {
    if (line == "* nodes") section = &names.nodes;
    if (line == "* elements") section = &names.elements;
    if (section == nullptr || !line.starts_with("*   ")) continue;
    CAPTURE(line);
    REQUIRE(section->insert(words_of(line).at(1)).second);
  }
  return names;
}

void check_named(const Names& there, const Names& explained) {
  Names known;
  for (const std::string& name : there) {
    CAPTURE(name);
    CHECK((explained.contains(name) || explained.contains(kind_of(name))));
    known.insert({name, kind_of(name)});
  }
  for (const std::string& name : explained) {
    CAPTURE(name);
    CHECK(known.contains(name));
  }
}

template <class Question>  // A Network or a Timeline.
void check_explained(const Question& question, const Deck& deck,
                     const std::vector<std::string>& part_names) {
  const Called there = called(deck);
  const Called explained = told(annotate(question, deck, part_names));
  check_named(there.elements, explained.elements);
  check_named(there.nodes, explained.nodes);
}

void check_decks(const Circuit& circuit) {
  std::vector<std::string> names;
  for (const Part& part : circuit.parts) names.push_back(part.name);
  for (const State& state : circuit.states) {
    CAPTURE(state.name);
    const Network network = lower(circuit, phases(circuit, state).front().state);
    check_explained(network, make_deck(network), names);
  }
  for (const Run& run : circuit.runs) {
    CAPTURE(run.name);
    const Timeline timeline = make_timeline(circuit, run);
    TransientDeckOptions options = options_for(*timeline.network.structure);
    options.also_at = {timeline.span / 2.0};
    check_explained(timeline, make_deck(timeline, options), names);
  }
}

/// One of each element that takes names or nodes besides its own, all of number 1.
test::HandNetwork helped() {
  test::HandNetwork h(7);
  h.voltage_source(1, 0, 9.0);
  h.resistor(1, 2, 100.0);
  h.inductor(2, 3, 1e-3);
  h.values.coils[0].ohms = 3.0;
  h.values.coils[0].siemens = 1e-4;
  h.capacitor(3, 0, 1e-6);
  h.structure.strays.push_back({3, 0, {}});
  h.values.stray_farads.push_back(1e-12);
  BipolarModel ideal;
  ideal.nf = 1e-5;
  ideal.nr = 1e-5;
  h.bipolar(1, 3, 4, ideal);
  h.regulator(1, 5, 6, RegulatorModel{});
  for (const int node : {3, 4, 5, 6}) h.resistor(node, 0, 1e3);
  for (const auto& list : kTwoEnded)
    for (TwoEnds& e : h.structure.*list.elements) e.origin.part = 0;
  for (const auto& list : kThreeEnded)
    for (ThreeEnds& e : h.structure.*list.elements) e.origin.part = 0;
  return h;
}

}  // namespace

TEST_CASE("every name of a template's decks is explained, and no other", "[deck]") {
  const Catalogue catalogue = built_in_catalogue();
  std::size_t circuits = 0;
  for (const char* folder : {"/circuits", "/tests/mistakes"}) {
    for (const auto& entry :
         fs::directory_iterator(std::string(BENCHPROOF_SOURCE_DIR) + folder)) {
      if (entry.path().extension() != ".toml") continue;
      std::ifstream file(entry.path());
      const std::string text{std::istreambuf_iterator<char>(file), {}};
      CAPTURE(entry.path());
      const ReadResult read = read_circuit(text, entry.path().string(), catalogue);
      if (!read.circuit) continue;  // What is recorded, or a mistake that is refused.
      check_decks(*read.circuit);
      ++circuits;
    }
  }
  CHECK(circuits > 100);
}

TEST_CASE("a node that a deck makes is one element's own", "[deck]") {
  Timeline t;
  t.network = helped().network();
  t.span = 1e-3;
  t.ohms = {{0, {{0.0, 100.0}, {1e-6, 1e6}}}};
  check_explained(t.network, make_deck(t.network), {"all"});
  check_explained(t, make_deck(t), {"all"});
  std::map<std::string, Names> at;
  for (const std::string& line : make_deck(t).lines) {
    if (line.find_first_of("*.+") == 0) continue;
    const std::vector<std::string> words = words_of(line);
    for (const std::string& node : {words.at(1), words.at(2)})
      if (node != "0" && node[0] != 'n') at[node].insert(words[0]);
  }
  CHECK(at == std::map<std::string, Names>{{"f1", {"vf1", "df1"}},
                                           {"k1", {"vk1"}},
                                           {"e1", {"ge1", "ie1", "rne1"}},
                                           {"l1", {"fl1", "il1", "rnl1"}},
                                           {"m1", {"gm1", "im1", "bm1", "rnm1"}},
                                           {"t1", {"bt1", "bo1", "bb1", "rnt1"}},
                                           {"r1", {"vr1", "dr1"}},
                                           {"w1", {"rm1", "l1", "rl1"}}});
}

}  // namespace benchproof
