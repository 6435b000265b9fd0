#include "cli/render/regress/report_pieces.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <string>
#include <vector>

using namespace benchproof;

namespace {

/// A report taken apart.
struct ReadPieces {
  std::vector<std::string> circuits;
  std::string rest;
  bool is_broken = false;
};

/// Takes a text apart that comes so many bytes at a time.
ReadPieces pieces_of(const std::string& text, std::size_t step) {
  std::size_t at = 0;
  ReportPieces reader([&](char* place, std::size_t most) {
    const std::size_t size = std::min({step, most, text.size() - at});
    std::copy_n(text.data() + at, size, place);
    at += size;
    return size;
  });
  ReadPieces found;
  while (auto circuit = reader.next()) found.circuits.push_back(*circuit);
  found.rest = reader.rest();
  found.is_broken = reader.is_broken();
  return found;
}

}  // namespace

TEST_CASE("a report is taken apart wherever its pieces break", "[regress]") {
  const std::size_t step = GENERATE(1U, 2U, 3U, 7U, 1000U);
  CAPTURE(step);
  // Brackets within strings, lists within circuits, another key of that name below.
  const std::string text =
      R"({"a": {"circuits": [1]}, "b\"circuits": ["]"], "circuits": [ {"x": "}]\\\""},
         {"y": [{"circuits": [2]}]} ], "z": "circuits", "w": [3]})";
  const ReadPieces found = pieces_of(text, step);
  CHECK(found.circuits == std::vector<std::string>{R"({"x": "}]\\\""})",
                                                   R"({"y": [{"circuits": [2]}]})"});
  CHECK(found.rest ==
        R"({"a": {"circuits": [1]}, "b\"circuits": ["]"], "circuits": [], )"
        R"("z": "circuits", "w": [3]})");
  CHECK_FALSE(found.is_broken);
}

TEST_CASE("a report without circuits is its rest", "[regress]") {
  CHECK(pieces_of(R"({"circuits": []})", 5).rest == R"({"circuits": []})");
  CHECK(pieces_of("", 5).rest.empty());
  CHECK(pieces_of("no JSON", 5).rest == "no JSON");
}

TEST_CASE("what is no report breaks", "[regress]") {
  CHECK(pieces_of(R"({"circuits": [ 3 ]})", 5).is_broken);
  CHECK(pieces_of(R"({"circuits": [ {"x": 1)", 5).is_broken);
  CHECK(pieces_of(R"({"circuits": [ {"x": 1}, )", 5).is_broken);
  CHECK(pieces_of("]]", 5).is_broken);
}
