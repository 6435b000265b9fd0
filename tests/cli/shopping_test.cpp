#include <algorithm>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "program.h"
#include "screen.h"

using namespace benchproof;
using Catch::Contains;
using Catch::Matchers::WithinRel;
using Json = nlohmann::json;

namespace {

/// 12 V over a resistor and an LED; the resistor's value stands for @.
std::string lamp(const std::string& ohms) {
  return R"(title = "Lamp"
[parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
r    = { kind = "resistor", value = ")" +
         ohms + R"(", tolerance = "5%", power = "0.25 W" }
lamp = { kind = "led", colour = "red" }
[nets]
hot    = ["jack.plus", "r.a"]
lit    = ["r.b", "lamp.anode"]
ground = ["jack.minus", "lamp.cathode"]
)";
}

/// The records of a text by RFC 4180, read by its grammar.
std::vector<std::vector<std::string>> read_csv(const std::string& text) {
  std::vector<std::vector<std::string>> rows(1, {""});
  bool is_quoted = false;
  for (std::size_t k = 0; k < text.size(); ++k) {
    std::string& field = rows.back().back();
    const char c = text[k];
    if (is_quoted && c == '"' && k + 1 < text.size() && text[k + 1] == '"') {
      field += '"';
      ++k;
    } else if (c == '"') {
      is_quoted = !is_quoted;
    } else if (!is_quoted && c == ',') {
      rows.back().emplace_back();
    } else if (!is_quoted && c == '\r' && text.compare(k, 2, "\r\n") == 0) {
      rows.push_back({""});
      ++k;
    } else {
      field += c;
    }
  }
  rows.pop_back();  // Behind the last line's end.
  return rows;
}

const Json& line_of(const Json& list, const std::string& part) {
  for (const Json& line : list["lines"])
    for (const Json& name : line["parts"])
      if (name == part) return line;
  FAIL("no line has " << part);
  return list;
}

}  // namespace

TEST_CASE("the demo's shopping list fits the screen", "[program][shopping]") {
  const Ran ran = run_program({"shopping", kDemo});
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  CHECK_THAT(ran.out, Contains("3  resistor: 150 ohm, 5 %, 0.25 W") &&
                          Contains("quay1_r, quay2_r, sector_r") &&
                          Contains("brown green brown gold, or 150R") &&
                          Contains("runs were not looked at") &&
                          Contains("a painted band at the cathode") &&
                          Contains("polarised") && Contains("licensed practice"));
  std::istringstream lines(ran.out);
  for (std::string line; std::getline(lines, line);) {
    INFO(line);
    CHECK(line.size() <= 80);
    CHECK(std::all_of(line.begin(), line.end(),
                      [](char c) { return c >= ' ' && c <= '~'; }));
  }
}

TEST_CASE("the demo's shopping list as data", "[program][shopping]") {
  const Ran ran = run_program({"shopping", kDemo, "--json"});
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  const Json list = Json::parse(ran.out);
  CHECK(list["benchproof"] == 1);
  CHECK(list["verdict"] == "caution");
  CHECK(list["rated"] == true);
  CHECK(list["reason"].is_null());
  CHECK(list["faults"].empty());

  // The supply's greatest current, as verify has it of the same circuit.
  const Json proof = Json::parse(run_program({"verify", kDemo, "--json"}).out);
  double most = 0.0;
  for (const Json& state : proof["states"]) {
    const auto look = [&most](const Json& seen) {
      const double amps = seen["parts"]["jack"]["pins"]["plus"]["nodal"];
      most = std::max(most, -amps);
    };
    look(state);
    for (const Json& phase : state["phases"]) look(phase);
  }
  const Json& rating = line_of(list, "jack")["ratings"][0];
  CHECK_THAT(rating["load"].get<double>(), WithinRel(most, 1e-9));
  CHECK_THAT(rating["least"].get<double>(), WithinRel(most / 0.8, 1e-9));
  CHECK(rating["own"] == 0.1);
  CHECK(rating["enough"] == false);

  const Json& r = line_of(list, "cabin_r");
  CHECK(r["value"]["value"] == 2200.0);
  CHECK(r["value"]["series"] == "E12");
  CHECK(r["value"]["code"] == "2k2");
  CHECK(r["value"]["bands"] == Json({"red", "red", "red", "gold"}));
  int pieces = 0;
  std::size_t parts = 0;
  for (const Json& line : list["lines"]) {
    pieces += line["pieces"].get<int>();
    parts += line["parts"].size();
  }
  CHECK(list["pieces"] == pieces);
  CHECK(parts == proof["states"][0]["parts"].size());
}

TEST_CASE("the demo's shopping list as rows", "[program][shopping]") {
  const Ran ran = run_program({"shopping", kDemo, "--csv"});
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  const auto rows = read_csv(ran.out);
  const Json list = Json::parse(run_program({"shopping", kDemo, "--json"}).out);
  REQUIRE(rows.size() == list["lines"].size() + 1);
  for (const auto& row : rows) CHECK(row.size() == rows.front().size());
  CHECK(rows.front().front() == "pieces");
  for (std::size_t k = 1; k < rows.size(); ++k) {
    const Json& line = list["lines"][k - 1];
    CHECK(rows[k][0] == std::to_string(line["pieces"].get<int>()));
    CHECK(rows[k][2] == line["kind"]);
    CHECK(rows[k][4] == line["what"]);
  }
  // Every line feed ends a row, with a carriage return before it.
  for (std::size_t at = ran.out.find('\n'); at != std::string::npos;
       at = ran.out.find('\n', at + 1))
    CHECK(ran.out[at - 1] == '\r');
}

// Closed form: about 10 V over 47 ohm are 2 W, and 0.2 A through a lamp for 20 mA.
TEST_CASE("a fault comes first", "[program][shopping]") {
  const Ran ran = run_program({"shopping", "-"}, {.input = lamp("47R")});
  CHECK(ran.status == 1);
  const std::size_t fault = ran.out.find("buy nothing before");
  REQUIRE(fault != std::string::npos);
  CHECK(fault < ran.out.find("1  dc-supply"));
  CHECK_THAT(ran.out, Contains("usual operating current of 'lamp'") &&
                          Contains("its 0.25 W is"));

  const Ran rows = run_program({"shopping", "-", "--csv"}, {.input = lamp("47R")});
  CHECK(rows.status == 1);
  CHECK_THAT(rows.err, Contains("fault"));
  const Ran data = run_program({"shopping", "-", "--json"}, {.input = lamp("47R")});
  CHECK(data.status == 1);
  const Json list = Json::parse(data.out);
  CHECK(list["verdict"] == "fault");
  CHECK(!list["faults"].empty());
  CHECK(list["faults"][0]["state"] == "steady");
}

TEST_CASE("where nothing limits a current there are no ratings",
          "[program][shopping]") {
  const std::string text = R"([parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
lamp = { kind = "led", drop = "2 V" }
[nets]
hot    = ["jack.plus", "lamp.anode"]
ground = ["jack.minus", "lamp.cathode"]
)";
  const Ran ran = run_program({"shopping", "-"}, {.input = text});
  CHECK(ran.status == 1);
  CHECK_THAT(ran.out, Contains("Without least ratings") && !Contains("needs") &&
                          Contains("1  led: drop 2 V") &&
                          Contains("described by figures"));
  const Json list =
      Json::parse(run_program({"shopping", "-", "--json"}, {.input = text}).out);
  CHECK(list["rated"] == false);
  CHECK(list["lines"][0]["ratings"].empty());
}

TEST_CASE("the derating asked for counts", "[program][shopping]") {
  // About 10 V over 1 kohm are 0.1 W.
  const auto sold = [](const std::vector<std::string>& options) {
    std::vector<std::string> arguments = {"shopping", "-", "--json"};
    arguments.insert(arguments.end(), options.begin(), options.end());
    const Ran ran = run_program(arguments, {.input = lamp("1k")});
    return line_of(Json::parse(ran.out), "r")["ratings"][0]["sold"].get<double>();
  };
  CHECK(sold({}) == 0.25);
  CHECK(sold({"--derate", "100%"}) == 0.125);
  CHECK(sold({"--derate=20%"}) == 1.0);
  CHECK(sold({"--set", "r.value=2k2"}) == 0.125);
}

TEST_CASE("nonsense is refused", "[program][shopping]") {
  for (const char* share : {"0%", "-5%", "101%", "0.6", "lots", "60 V", "nan%", ""}) {
    CAPTURE(share);
    for (const char* option : {"--derate", "--derate-voltage"}) {
      const Ran ran =
          run_program({"shopping", kDemo, std::string(option) + "=" + share});
      CHECK(ran.status == 2);
      CHECK(ran.out.empty());
      CHECK_THAT(ran.err, Contains(option));
    }
  }
  CHECK(run_program({"shopping"}).status == 2);
  CHECK(run_program({"shopping", kDemo, "--csv", "--json"}).status == 2);
  CHECK(run_program({"shopping", "no-such-file.toml"}).status == 2);
  const Ran refused = run_program({"shopping", "-", "--json"}, {.input = "[parts"});
  CHECK(refused.status == 2);
  CHECK(Json::parse(refused.out)["verdict"] == "refused");
  CHECK(run_program({"shopping", "-"}, {.input = ""}).status == 2);
  const Ran set = run_program({"shopping", kDemo, "--set", "nobody.value=1k"});
  CHECK(set.status == 2);
  CHECK_THAT(set.err, Contains("nobody"));
}

TEST_CASE("the help of shopping fits", "[program][shopping]") {
  const Ran ran = run_program({"shopping", "--help"});
  CHECK(ran.status == 0);
  std::istringstream lines(ran.out);
  for (std::string line; std::getline(lines, line);) {
    INFO(line);
    CHECK(line.size() <= 80);
  }
}
