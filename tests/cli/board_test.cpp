// Boards as a user meets them: the demo's, what is proposed, drawn and written, and
// what is refused.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <string>
#include <vector>

#include "folder.h"
#include "golden.h"
#include "program.h"
#include "screen.h"
#include "tests/bollard.h"
#include "tests/files.h"

using namespace benchproof;
using Catch::Contains;
using Json = nlohmann::json;

namespace {

const std::string kBoard = bollard_board();

struct At {
  double x;
  double y;
};

/// Where the circles of a radius stand, in the order of the drawing. Millimetre.
std::vector<At> circles(const std::string& svg, const std::string& radius) {
  std::vector<At> found;
  const std::regex one("<circle cx=\"([0-9.]+)\" cy=\"([0-9.]+)\" r=\"" + radius +
                       "\"");
  for (std::sregex_iterator it(svg.begin(), svg.end(), one), end; it != end; ++it)
    found.push_back({std::stod((*it)[1]), std::stod((*it)[2])});
  return found;
}

/// A hole of pads from its column and row, as a name.
std::string hole_at(double column, double row) {
  return std::string(1, static_cast<char>('A' + std::lround(row))) +
         std::to_string(std::lround(column) + 1);
}

}  // namespace

TEST_CASE("the demo's board of pads is proved and drawn", "[program][board][golden]") {
  const Ran ran = run_program({"board", kDemo, "--board", "pads"});
  CAPTURE(ran.err);
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  check_width(ran.out);
  CHECK(golden_difference("harbour-light-board.txt", ran.out) == "");
  CHECK_THAT(ran.out, Contains("proved: this board joins what the nets say"));
}

TEST_CASE("the demo's board of pads as SVG", "[program][board][golden]") {
  const Folder folder;
  const std::string path = folder.path() + "/board.svg";
  REQUIRE(run_program({"board", kDemo, "--board", "pads", "--svg", path}).status == 0);
  CHECK(golden_difference("harbour-light-board.svg", text_of(path)) == "");
}

TEST_CASE("all three boards of the demo are proved", "[program][board]") {
  for (const std::string kind : {"pads", "strips", "groups"}) {
    CAPTURE(kind);
    const Json json = json_of({"board", kDemo, "--board", kind});
    CHECK(json["verdict"] == "good");
    CHECK(json["board"]["kind"] == kind);
    CHECK(json["proposed"] == false);
    // At most the fewest joins and 30 %, a whole one begun counted; at most one and a
    // half of the shortest trees.
    CHECK(static_cast<double>(json["joins"].size()) <=
          std::ceil(json["joins_bound"].get<double>() * 1.3));
    CHECK(json["joined_length"].get<double>() <=
          json["trees_length"].get<double>() * 1.5);
  }
}

TEST_CASE("a board as JSON has its places, joins and islands", "[program][board]") {
  const Ran ran = run_program({"board", "-", "--json"}, {.input = kBollard + kBoard});
  CAPTURE(ran.out, ran.err);
  REQUIRE(ran.status == 0);
  const Json json = Json::parse(ran.out);
  for (const char* key :
       {"verdict", "findings", "islands", "places", "joins", "board", "joins_bound"})
    CHECK(json.contains(key));
  // What is written above, and no more.
  const Json expected = {{"feed", {{"plus", "B2"}, {"minus", "D2"}}},
                         {"load", {{"a", "B3"}, {"b", "B7"}}},
                         {"lamp", {{"anode", "B8"}, {"cathode", "D8"}}}};
  Json places = Json::object();
  for (const Json& place : json["places"]) places[place["part"]] = place["pins"];
  CHECK(places == expected);
  std::map<std::string, std::set<std::string>> islands;
  for (const Json& island : json["islands"])
    for (const Json& hole : island["holes"])
      islands[island["net"]].insert(hole.get<std::string>());
  CHECK(islands ==
        std::map<std::string, std::set<std::string>>{
            {"rail", {"B2", "B3"}}, {"mid", {"B7", "B8"}}, {"ground", {"D2", "D8"}}});
  // One hole is a tenth of an inch.
  CHECK(json["joins"][0]["as"] == "bridge");
  CHECK(json["joins"][0]["millimetres"].get<double>() == Approx(2.54));
  CHECK(json["joins"][2]["as"] == "wire");
  CHECK(json["joins"][2]["millimetres"].get<double>() == Approx(6 * 2.54));
  CHECK(json["board"]["columns"] == 12);
  CHECK(json["board"]["width"].get<double>() == Approx(12 * 0.00254));
  // Three nets of two leads each: one join a net at the fewest.
  CHECK(json["joins_bound"] == 3);
}

TEST_CASE("leads are drawn in their holes, and mirrored on the copper side",
          "[program][board]") {
  const Folder folder;
  const std::string path = folder.path() + "/board.svg";
  REQUIRE(
      run_program({"board", "-", "--svg", path}, {.input = kBollard + kBoard}).status ==
      0);
  const std::string svg = text_of(path);
  CHECK_THAT(svg, Contains("width=\"80mm\"") && Contains("viewBox=\"0 0 80 "));
  const std::vector<At> leads = circles(svg, "0.5");
  REQUIRE(leads.size() == 12);
  // The numbers of a hole in the rows and columns of 2.54 mm that its side begins at.
  const std::regex frame(
      "<rect x=\"([0-9.]+)\" y=\"([0-9.]+)\" width=\"30.48\" height=\"20.32\"");
  std::vector<At> corners;
  for (std::sregex_iterator it(svg.begin(), svg.end(), frame), end; it != end; ++it)
    corners.push_back({std::stod((*it)[1]), std::stod((*it)[2])});
  REQUIRE(corners.size() == 2);
  const std::set<std::string> holes = {"B2", "D2", "B3", "B7", "B8", "D8"};
  std::set<std::string> above;
  std::set<std::string> below;
  for (std::size_t n = 0; n < 6; ++n) {
    above.insert(hole_at((leads[n].x - corners[0].x) / 2.54 - 0.5,
                         (leads[n].y - corners[0].y) / 2.54 - 0.5));
    const At turned = leads[n + 6];
    below.insert(hole_at(11.5 - (turned.x - corners[1].x) / 2.54,
                         (turned.y - corners[1].y) / 2.54 - 0.5));
  }
  CHECK(above == holes);
  CHECK(below == holes);
  // Names of parts on their side, each net's on the copper.
  for (const char* name : {">load<", ">feed.plus<", ">lamp.cathode<"})
    CHECK_THAT(svg.substr(0, svg.find("Copper side")), Contains(name));
  for (const char* name : {">rail<", ">mid<", ">ground<"})
    CHECK_THAT(svg.substr(svg.find("Copper side")), Contains(name));
}

TEST_CASE("what is wrong with a board is told by hole, all at once",
          "[program][board]") {
  // One bridge ends a hole short, and the wire at another net.
  std::string text = kBollard + kBoard;
  text = with(text, "to = \"B3\"", "to = \"A2\"");
  text = with(text, "to = \"D8\"", "to = \"B8\"");
  const Ran ran = run_program({"board", "-"}, {.input = text});
  CHECK(ran.status == 1);
  check_width(ran.out);
  CHECK_THAT(ran.out, Contains("not proved"));
  const Json json = json_of({"board", "-"}, {.input = text});
  CHECK(json["verdict"] == "fault");
  std::set<std::string> checks;
  for (const Json& finding : json["findings"])
    if (finding["severity"] == "fault") {
      checks.insert(finding["check"]);
      CHECK(finding["hole"].is_string());
    }
  CHECK(checks.contains("board-open"));
  CHECK(checks.contains("board-short"));
}

TEST_CASE("what is proposed is written into the file and proved there",
          "[program][board]") {
  const Folder folder;
  const std::string text = "# By the slipway.\n" + kBollard + "# Last words.\n";
  for (const std::string kind : {"pads", "strips", "groups"}) {
    CAPTURE(kind);
    const std::string path = folder.file(kind + ".toml", text);
    const Ran ran =
        run_program({"board", path, "--propose", "--kind", kind, "--write"});
    CAPTURE(ran.out, ran.err);
    REQUIRE(ran.status == 0);
    CHECK_THAT(ran.out, Contains("proved: what is proposed"));
    const std::string written = text_of(path);
    // All that was there stays, byte by byte, with the comments.
    CHECK_THAT(written, Catch::StartsWith(text));
    CHECK_THAT(written, Contains("kind = \"" + kind + "\""));
    const Ran again = run_program({"board", path});
    CAPTURE(again.out, again.err);
    CHECK(again.status == 0);
    CHECK_THAT(again.out, Contains("proved: this board"));
    // The circuit is the same one.
    CHECK(json_of({"verify", path})["states"] ==
          json_of({"verify", "-"}, {.input = text})["states"]);
    // Another time nothing is left to place, and nothing changes.
    REQUIRE(run_program({"board", path, "--propose", "--write"}).status == 0);
    CHECK(text_of(path) == written);
  }
}

TEST_CASE("the same seed proposes the same board", "[program][board]") {
  const std::vector<std::string> asked = {"board", "-", "--propose", "--seed", "7"};
  const Ran once = run_program(asked, {.input = kBollard});
  CHECK(once.status == 0);
  CHECK(once.out == run_program(asked, {.input = kBollard}).out);
}

TEST_CASE("a board of a circuit with a fault says so", "[program][board]") {
  // The lamp has no resistor worth the name: 3 V across one ohm.
  const Ran ran =
      run_program({"board", "-", "--propose"}, {.input = with(kBollard, "470R", "1R")});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains("The circuit itself has a fault"));
  CHECK(json_of({"board", "-", "--propose"},
                {.input = with(kBollard, "470R", "1R")})["circuit"] == "fault");
  CHECK(json_of({"board", "-", "--propose"}, {.input = kBollard})["circuit"] == "good");
  CHECK_THAT(run_program({"board", "-", "--propose"}, {.input = kBollard}).out,
             !Contains("The circuit itself has a fault"));
}

TEST_CASE("boards that cannot be are refused with what is near", "[program][board]") {
  struct Refused {
    std::vector<std::string> arguments;
    std::string input;
    std::string says;
  };
  const std::string board = kBollard + kBoard;
  const std::vector<Refused> all = {
      {{"board", "-"}, kBollard, "--propose finds one"},
      {{"board", kDemo, "--board", "stripes"}, "", "did you mean 'strips'?"},
      {{"board", "-", "--propose", "--kind", "strips"}, board, "--kind is for a board"},
      {{"board", "-", "--write"}, board, "it needs --propose"},
      {{"board", "-", "--propose", "--write"}, kBollard, "it needs a file"},
      {{"board", "-", "--propose", "--kind", "slab"}, kBollard, "slab"},
      {{"board", "-"}, with(board, "b = \"B7\"", "b = \"B77\""), "B77"},
      {{"board", "-"}, with(board, "load = { a = ", "laod = { a = "), "load"},
      {{"board", "-", "--svg", "/nowhere/at/all.svg"}, board, "not written"}};
  for (const Refused& refused : all) {
    CAPTURE(refused.arguments, refused.says);
    const Ran ran = run_program(refused.arguments, {.input = refused.input});
    CAPTURE(ran.out, ran.err);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, Contains(refused.says));
  }
}

TEST_CASE("every board of a template is proved", "[program][board]") {
  namespace fs = std::filesystem;
  std::size_t boards = 0;
  for (const auto& entry :
       fs::directory_iterator(fs::path(BENCHPROOF_SOURCE_DIR) / "circuits")) {
    if (entry.path().extension() != ".toml") continue;
    if (text_of(entry.path().string()).find("\n[board]\n") == std::string::npos)
      continue;
    ++boards;
    CAPTURE(entry.path().string());
    const Ran ran = run_program({"board", entry.path().string()});
    CAPTURE(ran.out, ran.err);
    CHECK(ran.status == 0);
    check_width(ran.out);
  }
  CHECK(boards >= 12);
}
