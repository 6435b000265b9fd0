#include "core/circuit/board.h"

#include <catch2/catch.hpp>
#include <string>

using namespace benchproof;

// Rows are lettered as the columns of a table are: A to Z, then AA (common practice, no
// source).
TEST_CASE("holes are named by row and column, and read back", "[board]") {
  Board board;
  board.kind = BoardKind::pads;
  for (const Hole hole : {Hole{0, 0}, Hole{25, 9}, Hole{26, 0}, Hole{701, 8998}})
    CHECK(parse_hole(board, hole_name(board, hole)) == hole);
  CHECK(hole_name(board, {26, 0}) == "AA1");
  CHECK(parse_hole(board, "ZZ1") == Hole{701, 0});
}

TEST_CASE("what is no hole's name is none, however long", "[board]") {
  Board board;
  board.kind = BoardKind::pads;
  for (const std::string& name :
       {std::string("AAA1"), std::string("A"), std::string("1"), std::string("A0"),
        std::string("A12345"), std::string("a1"), std::string("A1x"),
        std::string("+W1"), std::string(""), std::string(9, 'Z') + "1",
        std::string(10000, 'Z'), "A" + std::string(10000, '9')}) {
    CAPTURE(name.substr(0, 20));
    CHECK_FALSE(parse_hole(board, name));
  }
}
