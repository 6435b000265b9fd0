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
using Catch::Matchers::WithinAbs;
using Json = nlohmann::json;

namespace {

/// The demo's range in one state, with a value changed.
Json state_of(const std::string& state, const std::string& change = {}) {
  std::vector<std::string> arguments = {"range", kDemo, "--json", "--state", state};
  if (!change.empty()) arguments.insert(arguments.end(), {"--set", change});
  const Ran ran = run_program(arguments);
  CAPTURE(state, change, ran.err);
  const Json json = Json::parse(ran.out);
  REQUIRE(json["states"].size() == 1);
  for (const Json& testimony : json["states"][0]["testimonies"])
    CHECK(testimony["verdict"] == "good");
  return json["states"][0];
}

double volts(const Json& state, const char* end) {
  return state["range"][end]["voltage"].get<double>();
}

/// "bulk capacitor-voltage": what sets an end first.
std::string cause(const Json& end) {
  REQUIRE(end["ended_by"] == "check");
  const Json& first = end["findings"][0];
  return first["part"].get<std::string>() + " " + first["check"].get<std::string>();
}

}  // namespace

TEST_CASE("the demo's range names the limiting parts", "[program][range]") {
  const Ran ran = run_program({"range", kDemo});
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  check_width(ran.out);
  CHECK_THAT(ran.out, Contains("state night, at 12 V now: passes from") &&
                          Contains("set by 'reg' (regulator-dropout), limit 6.70 V") &&
                          Contains("set by 'bulk' (capacitor-voltage), limit 25.0 V") &&
                          Contains("both witnesses confirm it") &&
                          Contains("verdict: good - every state passes from"));
  const Json day = state_of("day");
  CHECK(day["passes"] == true);
  CHECK(day["present"] == 12.0);
  CHECK(day["testimonies"].size() == 5);
  CHECK(cause(day["range"]["lower"]) == "reg regulator-dropout");
  CHECK(cause(day["range"]["upper"]) == "bulk capacitor-voltage");
  // The 25 V of the capacitor and the drop of a Schottky diode before it: between 0.2 V
  // and 0.45 V at some 10 mA (common practice, no source).
  CHECK_THAT(volts(day, "upper"), WithinAbs(25.325, 0.125));
  // With another capacitor the regulator's 30 V are next (HTC LM78LXX, in
  // reference/parts/regulators.toml), behind the same drop.
  CHECK(cause(day["range"]["upper"]["without"]) == "reg regulator-input");
  CHECK_THAT(day["range"]["upper"]["without"]["voltage"].get<double>(),
             WithinAbs(volts(day, "upper") + 5.0, 0.01));
}

TEST_CASE("a change of the demo moves the end that it should", "[program][range]") {
  const Json day = state_of("day");
  // The drop before the capacitor hardly depends on the voltage.
  const Json lower_rating = state_of("day", "bulk.rated=16 V");
  CHECK(cause(lower_rating["range"]["upper"]) == "bulk capacitor-voltage");
  CHECK_THAT(volts(lower_rating, "upper"), WithinAbs(volts(day, "upper") - 9.0, 0.01));
  CHECK(volts(lower_rating, "lower") == volts(day, "lower"));
  const Json higher_rating = state_of("day", "bulk.rated=35 V");
  CHECK(cause(higher_rating["range"]["upper"]) == "reg regulator-input");
  CHECK(higher_rating["range"]["upper"]["voltage"] ==
        day["range"]["upper"]["without"]["voltage"]);
  CHECK(volts(higher_rating, "lower") == volts(day, "lower"));

  // Less load lets the supply of 100 mA go higher until the lamp itself is the limit;
  // in the state in which the lamp is off nothing changes.
  const Json night = state_of("night");
  CHECK(cause(night["range"]["upper"]) == "jack supply-current");
  const Json lighter = state_of("night", "lantern.current=20 mA");
  CHECK(cause(lighter["range"]["upper"]) == "lantern load-voltage");
  CHECK(volts(lighter, "upper") > volts(night, "upper") + 0.2);
  const Json dark = state_of("day", "lantern.current=20 mA");
  CHECK_THAT(volts(dark, "upper"), WithinAbs(volts(day, "upper"), 0.0015));
}

TEST_CASE("a supply that is too high, and where it would pass", "[program][range]") {
  const Ran ran =
      run_program({"range", kDemo, "--state", "day", "--set", "jack.voltage=40 V"});
  CHECK(ran.status == 1);
  CHECK(ran.err.empty());
  check_width(ran.out);
  CHECK_THAT(ran.out, Contains("state day, at 40 V now: fails; passes from 6.92") &&
                          Contains("verdict: fault - 'day' fails now"));
  const Json state = state_of("day", "jack.voltage=40 V");
  CHECK(state["passes"] == false);
  CHECK_FALSE(state["present_findings"].empty());
  CHECK(volts(state, "upper") == volts(state_of("day"), "upper"));
}

TEST_CASE("a range by expectations and cautions", "[program][range]") {
  const Json strict =
      Json::parse(run_program({"range", kDemo, "--json", "--state", "day",
                               "--with-expectations", "--cautious"})
                      .out);
  CHECK(strict["with_expectations"] == true);
  CHECK(strict["cautious"] == true);
  CHECK(cause(strict["states"][0]["range"]["upper"]) == "bulk capacitor-voltage");
  // At 80 % of the rating instead of all of it.
  CHECK_THAT(volts(strict["states"][0], "upper"),
             WithinAbs(volts(state_of("day"), "upper") - 5.0, 0.01));
}

TEST_CASE("the range of all states", "[program][range]") {
  const Json json = Json::parse(run_program({"range", kDemo, "--json"}).out);
  CHECK(json["benchproof"] == 1);
  CHECK(json["over"] == "jack.voltage");
  REQUIRE(json["states"].size() == 3);
  double least = 0.0;
  double most = 60.0;
  for (const Json& state : json["states"]) {
    least = std::max(least, volts(state, "lower"));
    most = std::min(most, volts(state, "upper"));
  }
  CHECK(json["in_every_state"]["least"] == least);
  CHECK(json["in_every_state"]["most"] == most);
}

TEST_CASE("which voltage is moved has to be clear", "[program][range]") {
  const std::string string = "circuits/lantern-string.toml";
  const Ran several = run_program({"range", string});
  CHECK(several.status == 2);
  CHECK(several.out.empty());
  CHECK_THAT(several.err,
             Contains("[range-over]") && Contains("jack.voltage, pin.voltage"));
  const Ran data = run_program({"range", string, "--json"});
  CHECK(data.status == 2);
  CHECK(Json::parse(data.out)["verdict"] == "refused");
  CHECK(run_program({"range", string, "--over", "lamp1.voltage"}).status == 2);
  const Ran chosen = run_program({"range", string, "--over", "jack.voltage"});
  CHECK(chosen.status == 0);
  // Three equal lamps set the upper end together.
  CHECK_THAT(chosen.out, Contains("with 'lamp1', 'lamp2', 'lamp3' changed: up to"));
  check_width(chosen.out);
}

TEST_CASE("nonsense is refused, and a lost engine told", "[program][range]") {
  for (const std::vector<std::string>& arguments :
       {std::vector<std::string>{"range"},
        {"range", kDemo, kDemo},
        {"range", kDemo, "--over"},
        {"range", kDemo, "--state", "nigth"},
        {"range", kDemo, "--set", "jack.voltage=90 V"},
        {"range", "tests/diagnostics/syntax.toml"},
        {"range", "/nonexistent"}}) {
    const Ran ran = run_program(arguments);
    CAPTURE(ran.out, ran.err);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    CHECK_FALSE(ran.err.empty());
  }
  RunOptions options;
  options.filters_refused = true;
  const Ran unsealed = run_program({"range", kDemo}, options);
  CHECK(unsealed.status == 3);
  CHECK_THAT(unsealed.err, Contains("--allow-unsealed"));
  CHECK_THAT(unsealed.out,
             Contains("verdict: withheld - the engine witness has no answer"));
}
