#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "descriptions.h"
#include "golden.h"
#include "program.h"
#include "screen.h"
#include "tests/bollard.h"

using namespace benchproof;
using Catch::Contains;
using Json = nlohmann::json;

namespace {

/// The names of all parts, as the table of `verify` has them.
std::set<std::string> parts_of(const std::string& path) {
  std::set<std::string> names;
  const Json judged = json_of({"verify", path});
  for (const auto& [name, part] : judged["states"][0]["parts"].items())
    names.insert(name);
  return names;
}

}  // namespace

TEST_CASE("the bare board is cut and marked first", "[program][assemble][board]") {
  const Ran ran = run_program({"assemble", kDemo, "--board", "strips", "--sheet"});
  CHECK(ran.status == 0);
  // What the description says: 15 by 15 holes of 2.54 mm.
  const std::size_t bare = ran.out.find("cut it to 15 by 15 holes (38 by 38 mm)");
  CHECK(bare < ran.out.find("Stage 1"));
  const Json board = json_of({"board", kDemo, "--board", "strips"});
  REQUIRE_FALSE(board["cuts"].empty());
  const std::size_t cuts = ran.out.find("take the copper away all round the hole at");
  REQUIRE(cuts < ran.out.find("Stage 1"));
  const std::string told = ran.out.substr(cuts, ran.out.find("ohms across") - cuts);
  for (const Json& hole : board["cuts"])
    CHECK_THAT(told, Contains(hole.get<std::string>()));
  // JSON says the same, and nothing of a circuit that is not for a board.
  CHECK(json_of({"assemble", kDemo, "--board", "strips"})["cuts"] == board["cuts"]);
  CHECK(json_of({"assemble", kDemo, "--by-nets"})["cuts"] == Json::array());
  // On pads there is nothing to cut but the board.
  CHECK_THAT(run_program({"assemble", kDemo, "--board", "pads", "--sheet"}).out,
             !Contains("take the copper away"));
}

TEST_CASE("the demo's build sheet fits the screen", "[program][assemble][golden]") {
  const Ran ran = run_program({"assemble", kDemo, "--by-nets", "--sheet"});
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  check_width(ran.out);
  CHECK(golden_difference("harbour-light-assemble.txt", ran.out) == "");
}

TEST_CASE("every template and textbook problem has a build sheet",
          "[program][assemble]") {
  std::size_t readings = 0;
  std::size_t number = 0;
  const std::size_t spacing = one_in(is_sanitized() ? 8 : 2);
  for (const std::string folder : {"circuits", "reference/worked"}) {
    for (const std::filesystem::path& file : descriptions_in({folder})) {
      const std::string path = file.string();
      if (number++ % spacing != 0) continue;
      CAPTURE(path);
      // By nets: joins of a board go from hole to hole.
      const Ran ran = run_program({"assemble", path, "--by-nets", "--json"});
      CAPTURE(ran.err);
      REQUIRE(ran.status == 0);
      const Json sheet = Json::parse(ran.out);
      std::multiset<std::string> placed;
      for (const Json& step : sheet["steps"]) {
        placed.insert(step["part"].get<std::string>());
        // Nothing is joined to a pin of a part that is not there.
        for (const Json& join : step["joins"]) {
          if (join["to"].is_null()) continue;
          const auto to = join["to"].get<std::string>();
          CHECK(placed.contains(to.substr(0, to.rfind('.'))));
        }
        for (const Json& check : step["checks"]) {
          ++readings;
          if (!check["engine"].is_number()) continue;
          // Both witnesses, and the band lies about them.
          CHECK(check["least"].get<double>() <= check["engine"].get<double>());
          CHECK(check["least"].get<double>() <= check["nodal"].get<double>());
          if (check["most"].is_number())
            CHECK(check["most"].get<double>() >= check["nodal"].get<double>());
        }
      }
      const std::set<std::string> wanted = parts_of(path);
      CHECK(std::multiset<std::string>(wanted.begin(), wanted.end()) == placed);
    }
  }
  CHECK(readings > 300U / spacing / 2U);
}

TEST_CASE("the wires of the demo as CSV", "[program][assemble]") {
  const Ran ran = run_program({"assemble", kDemo, "--by-nets", "--csv"});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out,
             Catch::StartsWith("step,part,pin,net,to,as,colour,length [m]\r\n"));
  CHECK_THAT(ran.out, Contains("1,jack,plus,inlet,,,red,\r\n"));
  CHECK_THAT(ran.out, Contains(",guard,anode,inlet,jack.plus,wire,red,\r\n"));
  // A row for each pin on a net: 2 of each of 17 parts, 3 of 2, 7 of the chip.
  CHECK(std::count(ran.out.begin(), ran.out.end(), '\n') == 1 + 17 * 2 + 2 * 3 + 7);
}

TEST_CASE("a circuit with a fault is not to be built", "[program][assemble]") {
  const Ran ran = run_program({"assemble", kDemo, "--set", "quay1_r.value=1R"});
  CHECK(ran.status == 1);
  CHECK_THAT(ran.out, Contains("do not build it"));
}

TEST_CASE("a sheet is for people", "[program][assemble]") {
  const Ran ran = run_program({"assemble", kDemo, "--sheet", "--json"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("--sheet"));
}

TEST_CASE("a board's holes and joins stand on the sheet", "[program][assemble]") {
  const std::string text = kBollard + bollard_board();
  const Ran ran = run_program({"assemble", "-"}, {.input = text});
  CAPTURE(ran.err);
  CHECK(ran.status == 0);
  check_width(ran.out);
  CHECK_THAT(ran.out, Contains("a in B3; b in B7") && Contains("B2 to B3") &&
                          Contains("anode in B8"));
  // Six holes of 2.54 mm.
  CHECK_THAT(ran.out, Contains("D2 to D8, 15.2 mm from hole to hole; black"));
  const Json sheet = json_of({"assemble", "-"}, {.input = text});
  for (const Json& step : sheet["steps"])
    if (step["part"] == "load") CHECK(step["pins"]["b"] == "B7");

  // The bridge is one hole too short: the board is not proved.
  std::string wrong = text;
  wrong.replace(wrong.find("to = \"B3\""), 9, "to = \"A2\"");
  const Ran spoilt = run_program({"assemble", "-"}, {.input = wrong});
  CHECK(spoilt.status == 1);
  CHECK_THAT(spoilt.out, Contains("mend the board first"));
  CHECK(run_program({"assemble", "-", "--by-nets"}, {.input = wrong}).status == 0);
  CHECK(run_program({"assemble", "-", "--board", "small"}, {.input = text}).status ==
        2);
}
