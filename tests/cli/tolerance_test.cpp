// The program's `tolerance`: its screen, data, one copy, and status.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "golden.h"
#include "program.h"

using namespace benchproof;
using Catch::Contains;
using Catch::WithinRel;

namespace {

const std::string kCopiedDemo = "circuits/harbour-light.toml";

/// A lamp of which some copies get too little.
const std::string kDimmed = R"(
[parts]
feed = { kind = "dc-supply", voltage = "5 V", current = "500 mA", regulated = true }
r = { kind = "resistor", value = "330R", tolerance = "10%" }
lamp = { kind = "led", colour = "red" }
[nets]
rail = ["feed.plus", "r.a"]
top = ["r.b", "lamp.anode"]
ground = ["feed.minus", "lamp.cathode"]
[[expect]]
part = "lamp"
current = { min = "8.5 mA" }
)";

nlohmann::json tolerances_of(const std::vector<std::string>& arguments) {
  const Ran ran = run_program(arguments, {.input = kDimmed});
  INFO(ran.err);
  return nlohmann::json::parse(ran.out);
}

}  // namespace

TEST_CASE("the tolerances of the demo are told in lines of 80 columns",
          "[tolerance][golden]") {
  std::vector<std::string> arguments = {"tolerance", kCopiedDemo, "--copies", "5000",
                                        "--spreads"};
  if (is_sanitized()) arguments.insert(arguments.end(), {"--state", "day"});
  const Ran ran = run_program(arguments);
  CHECK(ran.status == 0);
  if (!is_sanitized())
    CHECK(golden_difference("harbour-light-tolerance.txt", ran.out) == "");
  std::istringstream lines(ran.out);
  for (std::string line; std::getline(lines, line);) {
    CAPTURE(line);
    CHECK(line.size() <= 80);
  }
}

TEST_CASE("what spoils copies and what helps is told, and sets the status",
          "[tolerance][program]") {
  const Ran ran =
      run_program({"tolerance", "-", "--copies", "4000"}, {.input = kDimmed});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains(" in 100 copies work ("));
  CHECK_THAT(ran.out, Contains("what spoils copies") && Contains("[expectation]"));
  CHECK_THAT(ran.out, Contains("r.tolerance=1%"));
  CHECK(run_program({"tolerance", "-", "--copies", "4000", "--fail-under", "99%"},
                    {.input = kDimmed})
            .status == 1);
  CHECK(run_program({"tolerance", "-", "--copies", "4000", "--fail-under", "50%"},
                    {.input = kDimmed})
            .status == 0);
}

TEST_CASE("the data of tolerance has all that the page tells", "[tolerance][json]") {
  const auto json = tolerances_of({"tolerance", "-", "--copies", "3000", "--json"});
  CHECK(json["copies"] == 3000);
  CHECK(json["seed"] == 1);
  const double share = json["yield"]["share"];
  CHECK(json["yield"]["least"] < share);
  CHECK(json["yield"]["most"] > share);
  CHECK(json["spreads"].size() == 3);
  const auto& figure = json["states"][0]["figures"][0];
  CHECK(figure["of"] == "expectation");
  CHECK(figure["part"] == "lamp");
  CHECK_THAT(figure["fails"].get<double>(), WithinRel(1.0 - share, 1e-9));
  CHECK(figure["least"]["agrees"] == true);
  CHECK(figure["least"]["fails"] == true);
  // The corner: least voltage, most resistance, most forward voltage.
  CHECK_THAT(figure["least"]["values"]["r.value"].get<double>(),
             WithinRel(363.0, 1e-9));
  CHECK_THAT(figure["least"]["values"]["feed.voltage"].get<double>(),
             WithinRel(4.75, 1e-9));
  CHECK(figure["p01"] > figure["least"]["value"]);
  CHECK(figure["p99"] < figure["most"]["value"]);
  CHECK(json["helps"][0]["change"] == "r.tolerance=1%");
}

TEST_CASE("one copy is shown with its values and as verify sees it",
          "[tolerance][program]") {
  // Copies of which it is known whether they fail, by the expectation's own figure.
  int failing = 0;
  for (int copy = 0; copy < 8; ++copy) {
    CAPTURE(copy);
    const std::string number = std::to_string(copy);
    const auto json = tolerances_of({"tolerance", "-", "--copy", number, "--json"});
    CHECK(json["copy"] == copy);
    const double ohms = json["values"]["r.value"];
    const double volts = json["values"]["feed.voltage"];
    CHECK(ohms >= 297.0);
    CHECK(ohms <= 363.0);
    const auto& state = json["states"][0];
    const double amps = state["expectations"][0]["nodal"];
    CHECK_THAT(state["nets"]["rail"]["nodal"].get<double>(), WithinRel(volts, 1e-2));
    CHECK((json["verdict"] == "fault") == (amps < 8.5e-3));
    failing += amps < 8.5e-3 ? 1 : 0;
    const Ran text =
        run_program({"tolerance", "-", "--copy", number}, {.input = kDimmed});
    CHECK(text.status == (amps < 8.5e-3 ? 1 : 0));
    CHECK_THAT(text.out, Contains("copy " + number + " of series 1") &&
                             Contains("r.value") && Contains("verdict: "));
  }
  CHECK(failing > 0);
  CHECK(failing < 8);
  CHECK(run_program({"tolerance", "-", "--copy", "1", "--csv"}, {.input = kDimmed})
            .status == 2);
}

TEST_CASE("tolerance has a row of data for each figure", "[tolerance][program]") {
  const Ran ran =
      run_program({"tolerance", "-", "--copies", "1000", "--csv"}, {.input = kDimmed});
  std::istringstream lines(ran.out);
  std::string line;
  std::getline(lines, line);
  const auto columns = std::count(line.begin(), line.end(), ',');
  CHECK(columns == 15);
  int rows = 0;
  for (; std::getline(lines, line); ++rows)
    CHECK(std::count(line.begin(), line.end(), ',') >= columns);
  CHECK(rows > 5);
}

namespace {

/// A delay of which some copies come late, with a state that all copies keep to.
const std::string kDelay = R"(
[parts]
feed = { kind = "dc-supply", voltage = "5 V", current = "500 mA", regulated = true }
r = { kind = "resistor", value = "10k", tolerance = "10%" }
c = { kind = "capacitor", value = "10uF", tolerance = "20%" }
[nets]
rail = ["feed.plus", "r.a"]
mid = ["r.b", "c.a"]
ground = ["feed.minus", "c.b"]
[states.on]
[tolerances]
"feed.voltage" = "1%"
[[runs]]
name = "switched on"
state = "on"
span = "400 ms"
[[expect]]
run = "switched on"
net = "mid"
reaches = { level = "3 V", before = "100 ms" }
[[expect]]
run = "switched on"
net = "mid"
stays = { below = "5.2 V" }
)";

}  // namespace

TEST_CASE("copies that come late in a run are told, with both solvers' word",
          "[tolerance][program][runs]") {
  const Ran ran = run_program(
      {"tolerance", "-", "--copies", "500", "--runs", "--run-copies", "20", "--json"},
      {.input = kDelay});
  INFO(ran.err);
  const auto json = nlohmann::json::parse(ran.out);
  CHECK(json["works"] == 500);
  const auto& both = json["in_runs"];
  CHECK(both["copies"] == 20);
  CHECK(both["works"] == both["works_in_all"]);
  CHECK(both["works"] > 0);
  CHECK(both["works"] < 20);
  CHECK(both["by_both"] == both["by_both_fail"]);
  const auto& time = json["runs"][0]["figures"][0];
  CHECK(time["demand"] == "reaches 3 V, before 100 ms");
  CHECK(time["most"]["agrees"] == true);
  CHECK(time["most"]["fails"] == true);
  // [closed form] R C ln(V / (V - v)) with all three at their ends; the supply rises
  // over 1 ms, and what it has behind half of that counts.
  const double worst = 11e3 * 12e-6 * std::log(4.95 / 1.95) + 0.5e-3;
  CHECK_THAT(time["most"]["engine"].get<double>(), WithinRel(worst, 1e-3));
  CHECK_THAT(time["most"]["nodal"].get<double>(), WithinRel(worst, 1e-3));
}

TEST_CASE("the screen says how many copies work in runs, and what was left out",
          "[tolerance][program][runs]") {
  const auto told = [](std::vector<std::string> more) {
    more.insert(more.begin(), {"tolerance", "-", "--copies", "100"});
    return run_program(more, {.input = kDelay}).out;
  };
  const std::string with = told({"--runs", "--run-copies", "20"});
  CHECK_THAT(with, Contains("every copy works at rest, but not in every run") &&
                       Contains("of the first 20 copies") &&
                       Contains("time until 'mid' reaches 3.00 V") &&
                       Contains("run switched on"));
  CHECK_THAT(told({}), Contains("1 run not looked at: --runs does that") &&
                           !Contains("run switched on"));
  CHECK_THAT(told({"--runs", "--run-copies", "20", "--csv"}),
             Contains(",switched on\r\n"));
  CHECK(
      run_program({"tolerance", "-", "--run-copies", "20"}, {.input = kDelay}).status ==
      2);
  const auto status_under = [](const std::string& share) {
    return run_program({"tolerance", "-", "--copies", "100", "--runs", "--run-copies",
                        "20", "--fail-under", share},
                       {.input = kDelay})
        .status;
  };
  CHECK(status_under("99%") == 1);
  CHECK(status_under("10%") == 0);
}
