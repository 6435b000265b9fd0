#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "flat.h"
#include "folder.h"
#include "golden.h"
#include "program.h"
#include "screen.h"
#include "tests/files.h"

using namespace benchproof;
using Catch::Contains;
using Json = nlohmann::json;

namespace {

/// Two resistors and a capacitor on a supply that does not differ from copy to copy.
const std::string kTwo = R"([parts]
u = { kind = "voltage-source", voltage = "10 V" }
a = { kind = "resistor", value = "1k", tolerance = "10%" }
b = { kind = "resistor", value = "1k2", tolerance = "10%" }
c = { kind = "capacitor", value = "100nF" }
[nets]
in = ["u.plus", "a.a", "b.a", "c.a"]
ground = ["u.minus", "a.b", "b.b", "c.b"]
)";

Ran sized(const std::string& text, const std::vector<std::string>& more) {
  std::vector<std::string> arguments{"size", "-"};
  arguments.insert(arguments.end(), more.begin(), more.end());
  return run_program(arguments, {.input = text});
}

Json sized_json(const std::string& text, std::vector<std::string> more,
                int status = 0) {
  more.emplace_back("--json");
  const Ran ran = sized(text, more);
  CAPTURE(ran.err);
  REQUIRE(ran.status == status);
  return Json::parse(ran.out);
}

}  // namespace

TEST_CASE("size --yield counts the copies that tolerance counts", "[program][size]") {
  const std::string text =
      kTwo +
      "[[expect]]\npart = \"a\"\ncurrent = { nominal = \"9.6 mA\", "
      "within = \"5%\" }\n[tolerances]\n\"u.voltage\" = \"2%\"\n";
  const Json json = sized_json(text, {"--part", "a", "--want", "a current = 9.6 mA",
                                      "--yield", "--copies", "900", "--seed", "7"});
  CHECK(json.at("yield") == Json{{"copies", 900}, {"seed", 7}});
  CHECK(json.at("goal").at("least").get<double>() < 9.2e-3);
  CHECK(json.at("goal").at("most").get<double>() > 10.0e-3);
  std::size_t most = 0;
  const Json& candidates = json.at("candidates");
  REQUIRE(candidates.size() > 2);
  for (const Json& c : candidates) {
    const std::string value =
        "a.value=" + std::to_string(c.at("values").at(0).get<int>()) + "R";
    const Ran copies = run_program(
        {"tolerance", "-", "--json", "--copies", "900", "--seed", "7", "--set", value},
        {.input = text});
    const Json told = Json::parse(copies.out);
    CAPTURE(value);
    CHECK(c.at("yield").at("works") == told.at("works"));
    CHECK(c.at("yield").at("share") == told.at("yield").at("share"));
    CHECK(c.at("yield").at("least") == told.at("yield").at("least"));
    CHECK(c.at("yield").at("copies") == 900);
    most = std::max(most, told.at("works").get<std::size_t>());
  }
  CHECK(candidates.at(json.at("recommended").get<std::size_t>())
            .at("yield")
            .at("works") == most);
}

TEST_CASE("size --yield shows values with their shares", "[program][size]") {
  const Ran ran =
      run_program({"size", "circuits/harbour-light.toml", "--part", "quay1_r", "--want",
                   "quay1 current = 4 mA", "--yield", "--copies", "2000"});
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  CHECK(golden_difference("harbour-light-size-yield.txt", ran.out) == "");
  std::istringstream lines(ran.out);
  for (std::string line; std::getline(lines, line);) CHECK(line.size() <= 80);
}

TEST_CASE("size --yield tells all that keeps it from counting", "[program][size]") {
  const std::string text =
      kTwo + "[tolerances]\n\"a.value\" = { min = \"900 ohm\", max = \"1.1 kohm\" }\n";
  const Ran absolute = sized(text, {"--part", "a", "--want", "c time-constant = 1 s",
                                    "--yield", "--series", "any"});
  CHECK(absolute.status == 2);
  CHECK_THAT(flat(absolute.err), Contains("would stay where another value is chosen") &&
                                     Contains("a time constant is not measured") &&
                                     Contains("name a series for 'a.value'"));
  const Ran open =
      sized(kTwo, {"--part", "a", "--want", "a current = 9 mA", "--yield"});
  CHECK(open.status == 2);
  CHECK_THAT(flat(open.err),
             Contains("what is near enough") && Contains("\"= 4 mA within 10%\""));
  const Ran without = sized(kTwo, {"--part", "a", "--want", "a current = 9 mA",
                                   "--copies", "9", "--seed", "1"});
  CHECK(without.status == 2);
  CHECK_THAT(flat(without.err), Contains("--copies goes with --yield") &&
                                    Contains("--seed goes with --yield"));
}

TEST_CASE("size --yield says so where no copy works", "[program][size]") {
  const std::string text =
      kTwo + "[[expect]]\npart = \"b\"\ncurrent = { max = \"1 mA\" }\n";
  const Ran ran = sized(text, {"--part", "a", "--want", "a current <= 10 mA", "--yield",
                               "--copies", "500"});
  CHECK(ran.status == 1);
  CHECK_THAT(flat(ran.out), Contains("with none of these a single copy"));
}

TEST_CASE("size --same writes one value to several parts", "[program][size]") {
  const Folder folder;
  const std::string path = folder.file("two.toml", kTwo);
  const Ran written = run_program({"size", path, "--part", "a,b", "--same", "--want",
                                   "a current = 2.1 mA", "--write"});
  CAPTURE(written.out, written.err);
  CHECK(written.status == 0);
  CHECK_THAT(flat(written.out), Contains("now: 1 kohm and 1.2 kohm give") &&
                                    Contains("take 4.7 kohm for each"));
  CHECK(text_of(path) == with(with(kTwo, "\"1k\"", "\"4k7\""), "\"1k2\"", "\"4k7\""));
}

TEST_CASE("size --same: JSON has a key for each part", "[program][size]") {
  const Json json =
      sized_json(kTwo, {"--part", "a", "--part", "b", "--same", "--want",
                        "a current = 2.1 mA within 10%", "--yield", "--copies", "500"});
  CHECK(json.at("same") == true);
  REQUIRE(json.at("keys").size() == 2);
  CHECK(json.at("keys").at(1).at("part") == "b");
  const Json& best =
      json.at("candidates").at(json.at("recommended").get<std::size_t>());
  CHECK(best.at("values") == Json{4700.0, 4700.0});
}

TEST_CASE("size --same tells all mistakes at once", "[program][size]") {
  const Ran ran =
      sized(kTwo, {"--part", "a,nope,c,a", "--same", "--want", "a current = 2 mA"});
  CHECK(ran.status == 2);
  CHECK_THAT(flat(ran.err),
             Contains("there is no part 'nope'") &&
                 Contains("--part names 'a.value' more than once") &&
                 Contains("'a.value' is of a resistor, 'c.value' of a capacitor"));
  const Ran alone =
      sized(kTwo, {"--part", "a", "--same", "--want", "a current = 2 mA"});
  CHECK(alone.status == 2);
  CHECK_THAT(flat(alone.err), Contains("--same gives several parts one value"));
  const Ran three = sized(kTwo, {"--part", "a,b,c", "--want", "a current = 2 mA"});
  CHECK(three.status == 2);
  CHECK_THAT(flat(three.err), Contains("at most two values") && Contains("--same"));
}
