#include "core/assemble/on_board.h"

#include <map>
#include <set>

#include "core/assemble/assembly.h"
#include "tests/nodal_witness.h"
#include "tests/unit/check/bench.h"

using namespace benchproof;
using benchproof::bench::Bench;
using benchproof::bench::verified;

namespace {

/// Two lamps on pads; the supply stands off the board.
const std::string kBoardLamps = R"(
[parts]
feed  = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
load1 = { kind = "resistor", value = "470R" }
lamp1 = { kind = "led", colour = "red" }
load2 = { kind = "resistor", value = "470R" }
lamp2 = { kind = "led", colour = "green" }
[nets]
rail = ["feed.plus", "load1.a", "load2.a"]
one  = ["load1.b", "lamp1.anode"]
two  = ["load2.b", "lamp2.anode"]
ground = ["feed.minus", "lamp1.cathode", "lamp2.cathode"]
[board]
kind = "pads"
columns = 14
rows = 10
[board.places]
feed  = { plus = "B2", minus = "H2" }
load1 = { a = "B3", b = "B7" }
lamp1 = { anode = "B8", cathode = "D8" }
load2 = { a = "F3", b = "F7" }
lamp2 = { anode = "F8", cathode = "H8" }
[[board.joins]]
from = "H2"
to = "H8"
as = "wire"
[[board.joins]]
from = "B3"
to = "F3"
as = "wire"
colour = "violet"
[[board.joins]]
from = "B2"
to = "B3"
as = "bridge"
[[board.joins]]
from = "B7"
to = "B8"
as = "bridge"
[[board.joins]]
from = "F7"
to = "F8"
as = "bridge"
[[board.joins]]
from = "D8"
to = "H8"
as = "wire"
)";

/// All holes that what is made joins with one, found by flooding: on pads nothing else
/// does.
std::set<Hole> flooded(const Board& board, const std::vector<int>& made, Hole from) {
  std::set<Hole> there{from};
  for (bool grows = true; grows;) {
    grows = false;
    for (const int k : made) {
      const Join& join = board.joins[k];
      if (there.contains(join.from) != there.contains(join.to)) {
        there.insert({join.from, join.to});
        grows = true;
      }
    }
  }
  return there;
}

}  // namespace

TEST_CASE("a board's joins come when both their ends are there", "[assemble]") {
  const Bench bench = verified(kBoardLamps);
  REQUIRE(bench.circuit.boards.size() == 1);
  const Board& board = bench.circuit.boards.front();
  const Assembly assembly =
      assemble(bench.circuit, &board, bench.verification, by_nodal, by_nodal);
  REQUIRE(assembly.steps.size() == 5);
  std::vector<int> made;
  std::map<int, std::vector<Hole>> leads;  // Of each net, so far.
  for (const BuildStep& step : assembly.steps) {
    const Part& part = bench.circuit.parts[step.part];
    CAPTURE(part.name);
    CHECK(step.board.is_off == (part.kind != KindId::resistor));
    for (const int join : step.board.joins) {
      CHECK(std::find(made.begin(), made.end(), join) == made.end());
      made.push_back(join);
    }
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
      REQUIRE(step.board.holes[pin]);
      leads[part.nets[pin]].push_back(*step.board.holes[pin]);
    }
    // What is there of a net is one piece.
    for (const auto& [net, holes] : leads)
      for (const Hole hole : holes)
        CHECK(flooded(board, made, holes.front()).contains(hole));
  }
  CHECK(made.size() == board.joins.size());
}

TEST_CASE("where a pin is told by its side alone its hole is found", "[assemble]") {
  std::string text = kBoardLamps;
  const std::string by_side = "load1 = { a = \"B3\", faces = \"east\" }";
  const std::string by_holes = "load1 = { a = \"B3\", b = \"B7\" }";
  text.replace(text.find(by_holes), by_holes.size(), by_side);
  const Bench bench = verified(text);
  const Assembly assembly = assemble(bench.circuit, &bench.circuit.boards.front(),
                                     bench.verification, by_nodal, by_nodal);
  for (const BuildStep& step : assembly.steps)
    if (bench.circuit.parts[step.part].name == "load1")
      CHECK(step.board.holes[1].has_value());
}

TEST_CASE("flat parts come before tall ones beside them on the board", "[assemble]") {
  // The regulator's capacitor, a can, stands one hole from the ceramic one.
  const Bench bench = verified(R"(
[parts]
feed = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
tall = { kind = "capacitor", value = "100uF", rated = "16 V", polarised = true }
low  = { kind = "resistor", value = "1k" }
[nets]
rail = ["feed.plus", "tall.plus", "low.a"]
ground = ["feed.minus", "tall.minus", "low.b"]
[board]
kind = "pads"
columns = 14
rows = 10
[board.places]
feed = { plus = "B2", minus = "H2" }
tall = { plus = "D4", minus = "D5" }
low  = { a = "F3", b = "F7" }
)");
  BuildOrder order;
  order.stages.push_back({StageSort::supply, 0, {}, {0, 1, 2}, {}});
  put_flat_first(bench.circuit, bench.circuit.boards.front(), order);
  CHECK(order.stages.front().parts == std::vector{0, 2, 1});
}
