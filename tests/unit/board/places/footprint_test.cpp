#include "core/board/places/footprint.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <string>

#include "tests/unit/board/built.h"

using namespace benchproof;

namespace {

/// The one part of a board of pads, as it is placed.
Footprint placed(const std::string& part, const std::string& nets,
                 const std::string& place) {
  const Circuit circuit = read_board_circuit(
      "[parts]\nfeed = { kind = \"dc-supply\", voltage = \"5 V\" }\nit = " + part +
      "\n[nets]\n" + nets +
      "\n[board]\nkind = \"pads\"\ncolumns = 20\nrows = 14\n[board.places]\nit = " +
      place + "\n");
  return footprint_of(circuit, circuit.boards.front(),
                      circuit.boards.front().places.front());
}
Footprint resistor(const std::string& place) {
  return placed(R"({ kind = "resistor", value = "1k" })",
                "rail = [\"feed.plus\", \"it.a\"]\nground = [\"feed.minus\", \"it.b\"]",
                place);
}
Footprint chip(const std::string& place) {
  return placed(
      R"({ kind = "controller", type = "cmos-5v", outputs = ["q"], legs = { vdd = 1, vss = 8, q = 7 } })",
      "rail = [\"feed.plus\", \"it.vdd\"]\nground = [\"feed.minus\", "
      "\"it.vss\"]\nopen = [\"it.q\"]",
      place);
}
Footprint regulator(const std::string& place) {
  return placed(R"({ kind = "regulator", type = "78L05" })",
                "rail = [\"feed.plus\", \"it.in\"]\nground = [\"feed.minus\", "
                "\"it.common\"]\nopen = [\"it.out\"]",
                place);
}
Board pads_of_20_by_14() {
  Board board;
  board.columns = 20;
  board.rows = 14;
  return board;
}
const Board kPads = pads_of_20_by_14();

}  // namespace

TEST_CASE("an axial part lies from four holes, stands below, reaches twice its body",
          "[board]") {
  // Body of 7 mm at most: 4 pitches lie, 5 (12.7 mm) reach, 6 (15.24 mm) do not.
  const Footprint lies = resistor(R"({ a = "B2", b = "B6" })");
  CHECK(lies.misplaced == Misplaced::no);
  CHECK_FALSE(lies.is_standing);
  CHECK(std::abs(lies.height - 2.5e-3) < 1e-9);
  CHECK(resistor(R"({ a = "B2", b = "B7" })").misplaced == Misplaced::no);
  const Footprint far = resistor(R"({ a = "B2", b = "B8" })");
  CHECK(far.misplaced == Misplaced::reach);
  CHECK(hole_name(kPads, *far.at) == "B8");
  const Footprint stands = resistor(R"({ a = "B2", b = "C2" })");
  CHECK(stands.is_standing);
  CHECK(stands.height > 7e-3);
  CHECK(resistor(R"({ a = "B2", faces = "south" })").lead_holes[1] == Hole{5, 1});
}

TEST_CASE("a chip's legs run down from the left of the notch", "[board]") {
  // Seen from above with the notch up, leg 1 is at its left, 8 opposite (web pin
  // tables). Faced east it is turned clockwise: leg 1 at the top, right.
  const Footprint up = chip(R"({ vdd = "B2", faces = "north" })");
  REQUIRE(up.misplaced == Misplaced::no);
  CHECK(up.lead_holes[3] == Hole{4, 1});  // leg 4
  CHECK(up.lead_holes[4] == Hole{4, 4});  // leg 5
  CHECK(up.lead_holes[7] == Hole{1, 4});  // leg 8
  const Footprint east = chip(R"({ vdd = "B8", faces = "east" })");
  CHECK(east.lead_holes[3] == Hole{1, 4});
  CHECK(east.lead_holes[7] == Hole{4, 7});
  // By holes alone the turn is found; legs in no row of eight are not.
  CHECK(chip(R"({ vdd = "B2", vss = "B5", q = "C5" })").faces == Side::north);
  CHECK(chip(R"({ vdd = "B2", vss = "B6" })").misplaced == Misplaced::pattern);
  CHECK(chip(R"({ vdd = "B2", vss = "B5", faces = "south" })").misplaced ==
        Misplaced::faces);
  CHECK(chip(R"({ vdd = "B2" })").misplaced == Misplaced::few);
  CHECK(chip(R"({ vdd = "M2", faces = "north" })").misplaced == Misplaced::edge);
}

TEST_CASE("leads in a row stand in the order of the sheet", "[board]") {
  // 78L05: out, common, in from the left with the flat side towards one, which is the
  // south where out is in the west.
  CHECK(regulator(R"({ out = "B2", common = "B3", in = "B4" })").faces == Side::south);
  CHECK(regulator(R"({ in = "B2", common = "B3", out = "B4" })").faces == Side::north);
  CHECK(regulator(R"({ common = "B2", in = "B3", out = "B4" })").misplaced ==
        Misplaced::pattern);
  // Spread by one pitch each, no more.
  CHECK(regulator(R"({ out = "B2", common = "B4", in = "B6" })").misplaced ==
        Misplaced::no);
  CHECK(regulator(R"({ out = "B2", common = "B6", in = "B10" })").misplaced ==
        Misplaced::pattern);
  const Footprint faced = regulator(R"({ in = "C5", faces = "west" })");
  REQUIRE(faced.misplaced == Misplaced::no);
  CHECK(faced.lead_holes[0] == Hole{0, 4});  // out, north of in: turned clockwise
}

TEST_CASE("a tab laid flat takes room behind it and less height", "[board]") {
  const std::string part = R"({ kind = "regulator", type = "7805" })";
  const std::string nets =
      "rail = [\"feed.plus\", \"it.in\"]\nground = [\"feed.minus\", "
      "\"it.common\"]\nopen = [\"it.out\"]";
  const Footprint up = placed(part, nets, R"({ in = "J5", faces = "south" })");
  const Footprint flat =
      placed(part, nets, R"({ in = "J5", faces = "south", flat = true })");
  // mbedded.ninja: 18.8 mm standing; Vishay 95222: 4.65 mm thick, 15.25 mm long.
  CHECK(std::abs(up.height - 18.8e-3) < 1e-9);
  CHECK(flat.height < 5e-3);
  const Bounds around = bounds(*flat.body);
  CHECK(around.most.y - around.least.y > 15e-3);
  CHECK(around.most.y < point_of(kPads, flat.lead_holes[0]).y);
}
