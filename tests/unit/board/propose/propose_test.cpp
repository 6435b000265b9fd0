#include "core/board/propose/propose.h"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <iterator>
#include <string>

#include "core/board/proof/bounds.h"
#include "core/circuit/usually_off.h"
#include "tests/bollard.h"
#include "tests/unit/board/built.h"

using namespace benchproof;

namespace {

Circuit template_circuit(const std::string& name) {
  std::ifstream file(std::string(BENCHPROOF_SOURCE_DIR) + "/circuits/" + name);
  REQUIRE(file);
  return read_board_circuit({std::istreambuf_iterator<char>(file), {}});
}

Board empty_board(const Circuit& circuit, BoardKind kind) {
  Board board;
  board.kind = kind;
  for (const Part& part : circuit.parts)
    board.is_off.push_back(is_usually_off(part.kind));
  return board;
}

int joins_needed(const Circuit& circuit) {
  int joins = 0;
  for (const Net& net : circuit.nets) joins += static_cast<int>(net.pins.size()) - 1;
  return joins;
}

}  // namespace

TEST_CASE("templates get a proved board of every kind, short and with few joins",
          "[board][propose]") {
  // Joins: no more than the nets' pins need. Length: a tree through straight lines is
  // at most 2/sqrt(3) of the Steiner tree (Du and Hwang 1990), told bound 1.5.
  for (const char* name : {"led-single.toml", "button-debounced.toml",
                           "guard-diode.toml", "harbour-light.toml"})
    for (const BoardKind kind :
         {BoardKind::pads, BoardKind::strips, BoardKind::groups}) {
      CAPTURE(name, board_kind_word(kind));
      const Circuit circuit = template_circuit(name);
      const Proposal found =
          propose_board(circuit, empty_board(circuit, kind), {}, {1, 20});
      CHECK(found.is_proved);
      const BoardProof proof = prove_board(circuit, found.board);
      for (const Finding& finding : proof.findings) {
        CAPTURE(finding.check, finding.message);
        CHECK(finding.severity != Severity::fault);
      }
      const JoinBounds bounds = join_bounds(circuit, found.board, proof);
      CHECK(bounds.joins <= joins_needed(circuit));
      CHECK(bounds.joins >= bounds.fewest);
      CHECK(bounds.metres <= 1.5 * bounds.trees);
    }
}

TEST_CASE("a seed means one board", "[board][propose]") {
  const Circuit circuit = template_circuit("guard-diode.toml");
  const Board empty = empty_board(circuit, BoardKind::pads);
  const auto holes = [&](unsigned seed) {
    std::string text;
    const Board board = propose_board(circuit, empty, {}, {seed, 10}).board;
    for (const Placement& place : board.places)
      for (const PlacedPin& pin : place.pins)
        text += fmt::format("{} {} ", pin.pin, hole_name(board, pin.hole));
    return text;
  };
  CHECK(holes(1) == holes(1));
  CHECK(holes(1) != holes(2));
}

TEST_CASE("what is given stays, the rest is put around it", "[board][propose]") {
  const Circuit circuit = read_board_circuit(
      kBollard +
      "[board]\nkind = \"strips\"\ncolumns = 14\nrows = 6\ncuts = [\"C7\"]\n"
      "[board.places]\nload = { a = \"C3\", b = \"C11\" }\n"
      "[[board.joins]]\nfrom = \"C3\"\nto = \"A3\"\nas = \"wire\"\n");
  const Board& given = circuit.boards.front();
  // The resistor reaches five pitches: as it is placed the board has a fault, which no
  // proposal takes away.
  CHECK_FALSE(propose_board(circuit, given, {}, {1, 10}).is_proved);
  const Circuit better = read_board_circuit(
      kBollard +
      "[board]\nkind = \"strips\"\ncolumns = 14\nrows = 6\ncuts = [\"C5\"]\n"
      "[board.places]\nload = { a = \"C3\", b = \"C7\" }\n"
      "[[board.joins]]\nfrom = \"C3\"\nto = \"A3\"\nas = \"wire\"\n");
  const Proposal found = propose_board(better, better.boards.front(), {}, {1, 10});
  CHECK(found.is_proved);
  CHECK(found.board.columns == 14);
  CHECK(found.board.joins.front().kind == JoinKind::wire);
  for (const Placement& place : found.board.places)
    if (better.parts[static_cast<std::size_t>(place.part)].name == "load")
      CHECK(place.pins[1].hole == Hole{2, 6});
}

TEST_CASE("a board that is too small is told", "[board][propose]") {
  const Circuit circuit = template_circuit("harbour-light.toml");
  Board tiny = empty_board(circuit, BoardKind::pads);
  tiny.columns = 6;
  tiny.rows = 5;
  const Proposal found = propose_board(circuit, tiny, {}, {1, 5});
  CHECK_FALSE(found.is_proved);
  CHECK_FALSE(found.reason.empty());
}

TEST_CASE("low spaces lay parts flat", "[board][propose]") {
  const Circuit circuit = read_board_circuit(R"([parts]
feed = { kind = "dc-supply", voltage = "9 V" }
reg = { kind = "regulator", type = "7805" }
load = { kind = "resistor", value = "470R" }
bulk = { kind = "capacitor", value = "100uF", rated = "25 V", polarised = true }
[nets]
raw = ["feed.plus", "reg.in", "bulk.plus"]
rail = ["reg.out", "load.a"]
ground = ["feed.minus", "reg.common", "load.b", "bulk.minus"]
[board]
kind = "pads"
space = { height = "8 mm" }
)");
  const Proposal found = propose_board(circuit, circuit.boards.front(), {}, {1, 30});
  CHECK(found.is_proved);
  CHECK(prove_board(circuit, found.board).height <= 8e-3);
}

TEST_CASE("the shortest tree is that of geometry", "[board][propose]") {
  CHECK(std::abs(tree_length({{0, 0}, {3, 4}}) - 5.0) < 1e-12);
  CHECK(std::abs(tree_length({{0, 0}, {1, 0}, {1, 1}, {0, 1}}) - 3.0) < 1e-12);
}
