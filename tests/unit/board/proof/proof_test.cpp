#include "core/board/proof/proof.h"

#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "tests/bollard.h"
#include "tests/unit/board/built.h"

using namespace benchproof;

namespace {

using Texts = std::vector<std::string>;

BoardProof proof_of(const std::string& text, std::vector<double> watts = {}) {
  const Circuit circuit = read_board_circuit(text);
  return prove_board(circuit, circuit.boards.front(), watts);
}

/// The lamp on pads.
std::string pads(const std::string& places, const std::string& joins,
                 const std::string& keys = "") {
  return kBollard + bollard_board(places, joins, keys);
}

}  // namespace

TEST_CASE("a sound board has no findings", "[board]") {
  const BoardProof proof = proof_of(pads(kBollardPlaces, kBollardJoins));
  CHECK(told(proof, Severity::note) == Texts{});
  CHECK(proof.islands.size() == 3);
}

TEST_CASE("pads: one mistake, one finding, by its hole", "[board]") {
  const auto with = [](const std::string& places, const std::string& joins,
                       const std::string& keys = "") {
    return told(proof_of(pads(places, joins, keys)));
  };
  // The wire of ground is forgotten.
  CHECK(with(kBollardPlaces,
             join_text("B2", "B3", "bridge") + join_text("B7", "B8", "bridge")) ==
        Texts{"board-open D8"});
  // A bridge too much: it joins 'mid' to 'ground'.
  CHECK(with(kBollardPlaces, kBollardJoins + join_text("B8", "D8", "bridge")) ==
        Texts{"board-short B8"});
  // A bridge around a corner.
  CHECK(with(kBollardPlaces,
             join_text("B2", "B3", "bridge") + join_text("B7", "B8", "bridge") +
                 join_text("D2", "C8", "bridge") + join_text("C8", "D8", "bridge")) ==
        Texts{"board-bridge D2"});
  CHECK(with("load = { a = \"B3\", b = \"B7\" }\nlamp = { anode = \"B8\", cathode = "
             "\"D8\" }\n",
             join_text("B7", "B8", "bridge")) == Texts{"board-missing "});
  CHECK(with("feed = { plus = \"B2\", minus = \"D2\" }\nload = { a = \"B3\", b = "
             "\"B10\" }\nlamp = { anode = \"B11\", cathode = \"D8\" }\n",
             join_text("B2", "B3", "bridge") + join_text("B10", "B11", "bridge") +
                 join_text("D2", "D8", "wire")) == Texts{"board-reach B10"});
  CHECK(with("feed = { plus = \"B3\", minus = \"D2\" }\nload = { a = \"B3\", b = "
             "\"B7\" }\nlamp = { anode = \"B8\", cathode = \"D8\" }\n",
             join_text("B7", "B8", "bridge") + join_text("D2", "D8", "wire")) ==
        Texts{"board-hole-twice B3"});
  // The lead of the supply's wire under the resistor's body.
  CHECK(with("feed = { plus = \"B5\", minus = \"D2\" }\nload = { a = \"B3\", b = "
             "\"B7\" }\nlamp = { anode = \"B8\", cathode = \"D8\" }\n",
             join_text("B5", "B3", "wire") + join_text("B7", "B8", "bridge") +
                 join_text("D2", "D8", "wire")) == Texts{"board-overlap B5"});
  CHECK(with(kBollardPlaces, kBollardJoins, "space = { width = \"30 mm\" }\n") ==
        Texts{"board-size H12"});
  CHECK(with(kBollardPlaces, kBollardJoins, "space = { height = \"2 mm\" }\n") ==
        Texts{"board-height B3"});
  // A bare jumper over the resistor.
  CHECK(with(kBollardPlaces, kBollardJoins + join_text("A5", "C5", "jumper")) ==
        Texts{"board-jumper A5"});
}

TEST_CASE("strips: a strip runs on, and a cut helps", "[board]") {
  const auto strips = [](const std::string& cuts) {
    return kBollard + "[board]\nkind = \"strips\"\ncolumns = 12\nrows = 4\ncuts = [" +
           cuts +
           "]\n[board.places]\nfeed = { plus = \"B2\", minus = \"C2\" }\nload = { a = "
           "\"B3\", b = \"B7\" }\nlamp = { anode = \"B8\", cathode = \"C8\" }\n";
  };
  CHECK(told(proof_of(strips("\"B5\"")), Severity::note) == Texts{});
  CHECK(told(proof_of(strips(""))) == Texts{"board-strip B4"});
  // Cut at the wrong hole: between the supply and the resistor's first lead there is
  // none; at the lead itself the copper is gone; on the other strip a net is parted.
  CHECK(told(proof_of(strips("\"C5\""))) == Texts{"board-strip B4", "board-open C2"});
  const Texts at_lead = told(proof_of(strips("\"B7\"")));
  CHECK(std::count(at_lead.begin(), at_lead.end(), "board-cut B7") == 1);
  CHECK(told(proof_of(strips("\"B5\", \"A4\"")), Severity::note) ==
        Texts{"board-cut-idle A4"});
}

TEST_CASE("groups: columns of five join, ends need holes of their own", "[board]") {
  const auto groups = [](const std::string& places, const std::string& joins) {
    return kBollard +
           "[board]\nkind = \"groups\"\ncolumns = 20\nrails = 2\n[board.places]\n" +
           places + joins;
  };
  const std::string places =
      "feed = { plus = \"+T1\", minus = \"-T1\" }\nload = { a = \"A3\", b = \"A7\" }\n"
      "lamp = { anode = \"B7\", cathode = \"-T9\" }\n";
  CHECK(told(proof_of(groups(places, join_text("+T3", "B3", "wire"))),
             Severity::note) == Texts{});
  CHECK(told(proof_of(groups(places, join_text("+T3", "A3", "wire")))) ==
        Texts{"board-hole-twice A3"});
  CHECK(told(proof_of(groups(places, join_text("+T3", "F3", "wire")))) ==
        Texts{"board-open A3"});
  CHECK(told(proof_of(groups(places, join_text("+T3", "B3", "wire") +
                                         join_text("E3", "F3", "bridge")))) ==
        Texts{"board-bridge E3"});
}

TEST_CASE("bodies, heat and marks", "[board]") {
  const std::string parts = R"([parts]
feed = { kind = "dc-supply", voltage = "5 V" }
bulk = { kind = "capacitor", value = "220uF", rated = "25 V", polarised = true }
hold = { kind = "capacitor", value = "220uF", rated = "25 V", polarised = true }
load = { kind = "resistor", value = "47R", power = "1 W" }
[nets]
rail = ["feed.plus", "load.a", "bulk.plus", "hold.plus"]
ground = ["feed.minus", "load.b", "bulk.minus", "hold.minus"]
[board]
kind = "pads"
columns = 30
rows = 12
[board.places]
feed = { plus = "A1", minus = "A2" }
)";
  const auto with = [&parts](const std::string& places, const std::string& joins) {
    return proof_of(parts + places + joins, {0.0, 0.0, 0.0, 0.5});
  };
  // Cans of 8 mm, 3 pitches apart, meet: 7.62 mm. Row F is far from the resistor.
  const std::string wires =
      join_text("A1", "C4", "wire") + join_text("C4", "G4", "wire") +
      join_text("G4", "G20", "wire") + join_text("A2", "C10", "wire") +
      join_text("C10", "G6", "wire") + join_text("G6", "G22", "wire");
  const std::string load = "load = { a = \"C4\", b = \"C10\" }\n";
  CHECK(told(with(load + "bulk = { plus = \"G4\", minus = \"G6\" }\nhold = { plus = "
                         "\"G20\", minus = \"G22\" }\n",
                  wires),
             Severity::caution) == Texts{"board-heat G4"});
  const std::string near =
      join_text("A1", "C4", "wire") + join_text("C4", "J4", "wire") +
      join_text("J4", "J7", "wire") + join_text("A2", "C10", "wire") +
      join_text("C10", "J6", "wire") + join_text("J6", "J9", "wire");
  CHECK(told(with(load + "bulk = { plus = \"J4\", minus = \"J6\" }\nhold = { plus = "
                         "\"J7\", minus = \"J9\" }\n",
                  near)) == Texts{"board-overlap J7"});
  const std::string turned =
      join_text("A1", "C4", "wire") + join_text("C4", "J4", "wire") +
      join_text("J4", "J10", "wire") + join_text("A2", "C10", "wire") +
      join_text("C10", "J6", "wire") + join_text("J6", "J8", "wire");
  CHECK(told(with(load + "bulk = { plus = \"J4\", minus = \"J6\" }\nhold = { plus = "
                         "\"J10\", minus = \"J8\" }\n",
                  turned),
             Severity::note) == Texts{"board-marks J10"});
}

TEST_CASE("what follows from a wrong wire is told as following", "[board]") {
  // The wire of ground goes to B8 instead of D8.
  const BoardProof proof =
      proof_of(pads(kBollardPlaces, join_text("B2", "B3", "bridge") +
                                        join_text("B7", "B8", "bridge") +
                                        join_text("D2", "B8", "wire")));
  CHECK(told(proof) == Texts{"board-short B8", "board-open D8"});
  CHECK(proof.findings[1].follows == "board-short");
}

TEST_CASE("every finding of a board is explained", "[board]") {
  for (const Explanation& e : explain_board()) {
    CAPTURE(e.check);
    for (const std::string_view text : {e.what, e.formula, e.limit, e.why, e.change})
      CHECK_FALSE(text.empty());
  }
}
