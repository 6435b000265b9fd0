#include <fmt/format.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "flat.h"
#include "program.h"
#include "screen.h"

using namespace benchproof;
using Catch::Contains;
using Json = nlohmann::json;

namespace {

const std::string kPorch = R"(
[parts]
jack    = { kind = "dc-supply", voltage = "5 V", current = "500 mA" }
porch_r = { kind = "resistor", value = "330R", power = "0.25 W" }
porch   = { kind = "led", colour = "warm white" }
[nets]
inlet  = ["jack.plus", "porch_r.a"]
lamp   = ["porch_r.b", "porch.anode"]
ground = ["jack.minus", "porch.cathode"]
)";

}  // namespace

TEST_CASE("330 ohm or 470 ohm is answered on one screen", "[program][compare]") {
  const Ran ran = run_program(
      {"compare", "-", "--set", "porch_r.value=330R", "--set", "porch_r.value=470R"},
      {.input = kPorch});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  check_width(ran.out);
  CHECK(std::count(ran.out.begin(), ran.out.end(), '\n') <= 24);
  CHECK_THAT(ran.out, Contains("330R") && Contains("470R") && Contains("dimmer") &&
                          Contains("pass every check") && !Contains("not looked at"));
}

TEST_CASE("330 ohm or 470 ohm fits one screen for the demo as well",
          "[program][compare]") {
  const std::vector<std::string> arguments{
      "compare", kDemo, "--set", "quay1_r.value=330R", "--set", "quay1_r.value=470R"};
  const Ran ran = run_program(arguments);
  CAPTURE(ran.out);
  check_width(ran.out);
  CHECK(std::count(ran.out.begin(), ran.out.end(), '\n') <= 30);
  CHECK_THAT(ran.out, Contains("state day: nothing changes") &&
                          Contains("changes as in state night; 16 rows (--all"));
  std::vector<std::string> all = arguments;
  all.emplace_back("--all");
  const Ran whole = run_program(all);
  CHECK_THAT(whole.out, Contains("state mooring, where both witnesses agree") &&
                            !Contains("folded away"));
}

TEST_CASE("a finding of several versions says whose figures it tells",
          "[program][compare]") {
  const std::vector<std::string> arguments{"compare", "-",
                                           "--set",   "porch_r.value=330R",
                                           "--set",   "porch_r.value=47R",
                                           "--set",   "porch_r.value=22R"};
  const Ran ran = run_program(arguments, {.input = kPorch});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 1);
  check_width(ran.out);
  CHECK_THAT(flat(ran.out), Contains("only 47R and 22R: with 47R "));
  const Json json = json_of(arguments, {.input = kPorch});
  const Json& finding = json["states"][0]["findings"][0];
  CHECK(finding["in"] == Json::array({false, true, true}));
  CHECK(finding["messages"][0].is_null());
  CHECK(finding["messages"][1] == finding["message"]);
  CHECK(finding["messages"][1] != finding["messages"][2]);
}

TEST_CASE("the demo's variants stand beside it", "[program][compare]") {
  const Ran ran = run_program({"compare", kDemo});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  check_width(ran.out);
  CHECK_THAT(ran.out, Contains("base") && Contains("dusk") && Contains("strong"));
  const Json json = json_of({"compare", kDemo, "--state", "night"});
  CHECK(json["benchproof"] == 1);
  REQUIRE(json["compared"].size() == 3);
  CHECK(json["compared"][0]["variant"].is_null());
  CHECK(json["compared"][1]["variant"] == "dusk");
  REQUIRE(json["states"].size() == 1);
  const Json& findings = json["states"][0]["findings"];
  // A supply of 500 mA has plenty in hand: the demo's caution goes.
  const auto supply = std::find_if(findings.begin(), findings.end(), [](const Json& f) {
    return f["check"] == "supply-current";
  });
  REQUIRE(supply != findings.end());
  CHECK((*supply)["in"][0] == true);
  CHECK((*supply)["in"][2] == false);
}

TEST_CASE("the figures of a comparison are those of verify", "[program][compare]") {
  const std::string change = "porch_r.value=470R";
  const Json compared = json_of({"compare", "-", "--set", change}, {.input = kPorch});
  const Json verified = json_of({"verify", "-", "--set", change}, {.input = kPorch});
  CHECK(compared["compared"][0]["name"] == "as described");
  CHECK(compared["compared"][1]["changes"] == Json::array({change}));
  CHECK(verified["changes"] == Json::array({change}));
  bool is_found = false;
  for (const Json& row : compared["states"][0]["rows"]) {
    if (row["topic"] != "voltage" || row["subjects"] != Json::array({"lamp"})) continue;
    is_found = true;
    CHECK(row["values"][1] == verified["states"][0]["nets"]["lamp"]["nodal"]);
  }
  CHECK(is_found);
}

TEST_CASE("a list changes several values, and a comma may be a value's",
          "[program][compare]") {
  const Json json =
      json_of({"compare", "-", "--set", "porch_r.value=470R,jack.voltage=6 V"},
              {.input = kPorch});
  for (const Json& row : json["states"][0]["rows"])
    if (row["topic"] == "voltage" && row["subjects"][0] == "inlet")
      CHECK(row["values"] == Json::array({5.0, 6.0}));
  const Ran comma =
      run_program({"compare", "-", "--set", "porch_r.value=4,7k"}, {.input = kPorch});
  CHECK(comma.status == 2);
  CHECK_THAT(comma.err, Contains("--set:1:") && Contains("[value-comma]"));
}

TEST_CASE("the worst column decides the status", "[program][compare]") {
  const Ran ran =
      run_program({"compare", "-", "--set", "porch_r.value=10R"}, {.input = kPorch});
  CAPTURE(ran.out);
  CHECK(ran.status == 1);
  CHECK_THAT(ran.out, Contains("fault, only") && Contains("base is sounder"));
}

TEST_CASE("what cannot be compared is refused", "[program][compare]") {
  const Ran none = run_program({"compare", "-"}, {.input = kPorch});
  CHECK(none.status == 2);
  CHECK_THAT(none.err, Contains("nothing to compare"));
  const Ran other = run_program({"compare", kDemo, "circuits/lantern-string.toml"});
  CHECK(other.status == 2);
  CHECK_THAT(other.err,
             Contains("its nets are not those of") && Contains("[net-unknown]"));
  for (const std::vector<std::string>& wrong :
       {std::vector<std::string>{"compare"},
        {"compare", kDemo, kDemo, "--variant", "dusk"},
        {"compare", kDemo, "--set", "quay1_r.value"},
        {"compare", "-", "-"}}) {
    const Ran ran = run_program(wrong);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, Catch::StartsWith("benchproof: "));
  }
  CHECK_THAT(run_program({"compare", kDemo, "--variant", "dsuk"}).err,
             Contains("[variant-unknown]") && Contains("did you mean 'dusk'"));
  const Ran place =
      run_program({"compare", kDemo, "--set", "quay1_r.value=47R,quay1_r.valeu=4R"});
  CHECK_THAT(place.err, Contains("--set:1:19: error: ") && Contains("[key-unknown]"));
}

TEST_CASE("two files of one circuit are compared", "[program][compare]") {
  const Ran ran = run_program({"compare", kDemo, kDemo});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains("Nothing that matters changes"));
}

TEST_CASE("a variant is judged by itself or with all others", "[program][variants]") {
  const Ran strong =
      run_program({"verify", kDemo, "--variant", "strong", "--state", "night"});
  CHECK(strong.status == 0);
  CHECK_THAT(strong.out, Contains("variant 'strong'") && !Contains("[supply-current]"));
  const Json all = json_of({"verify", kDemo, "--state", "night", "--all-variants"});
  CHECK(all["variant"].is_null());
  REQUIRE(all["variants"].size() == 2);
  CHECK(all["variants"][0]["variant"] == "dusk");
  CHECK(all["variants"][1]["states"].size() == 1);
  for (const std::string command : {"deck", "range", "shopping"})
    CHECK(run_program({command, kDemo, "--variant", "strong"}).status == 0);
  CHECK(run_program({"wave", kDemo, "--variant", "strong", "--run", "lantern on"})
            .status == 0);
  CHECK_THAT(run_program({"deck", kDemo, "--variant", "dusk"}).out, Contains("330"));
  const Ran twice = run_program(
      {"verify", kDemo, "--set", "quay1_r.value=1k", "--set", "quay1_r.value=2k"});
  CHECK(twice.status == 2);
  CHECK_THAT(twice.err, Contains("--set:2:1: error: ") && Contains("[change-twice]"));
}

TEST_CASE("what states say can be set from the command line", "[program][variants]") {
  const Json json = json_of({"verify", kDemo, "--state", "day", "--set",
                             "day.chip.cabin=high", "--set", "ambient=35 C"});
  CHECK(json["ambient"] == 35.0);
  CHECK(json["states"][0]["parts"]["cabin"]["pins"]["anode"]["nodal"] > 1e-3);
}

TEST_CASE("lists that give several parts one value are headed by it",
          "[program][compare]") {
  const Ran ran = run_program({"compare", "circuits/harbour-light.toml", "--set",
                               "quay1_r.value=330R,quay2_r.value=330R", "--set",
                               "quay1_r.value=470R,quay2_r.value=470R"});
  CAPTURE(ran.out, ran.err);
  CHECK_THAT(ran.out, Contains("  330R  quay1_r.value=330R,quay2_r.value=330R") &&
                          !Contains("\n  A "));
}

TEST_CASE("what is drawn is told beside the margins that move most",
          "[program][compare]") {
  const Ran ran = run_program({"compare", "circuits/harbour-light.toml", "--set",
                               "jack.voltage=9V", "--set", "jack.voltage=15V"});
  CAPTURE(ran.out, ran.err);
  CHECK_THAT(ran.out, Contains("supply   jack") &&
                          Contains("state day: nothing that lights changes, but"));
}

TEST_CASE("a run that fails is said not to have been looked at", "[program][compare]") {
  // 12 V over 10k and 10k are 6 V at the tap; over 27k and 10k it never gets to 5 V.
  const std::string divider = R"(
[parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
high = { kind = "resistor", value = "10k", power = "0.25 W" }
low  = { kind = "resistor", value = "10k", power = "0.25 W" }
hold = { kind = "capacitor", value = "1uF", rated = "25 V" }
[nets]
inlet  = ["jack.plus", "high.a"]
tap    = ["high.b", "low.a", "hold.a"]
ground = ["jack.minus", "low.b", "hold.b"]
[states.on]
[[runs]]
name = "up"
state = "on"
span = "100 ms"
rise = "1 us"
[[expect]]
run = "up"
net = "tap"
reaches = { level = "5 V", before = "20 ms" }
)";
  for (const std::string change : {"high.value=27k", "hold.value=1mF"}) {
    CAPTURE(change);
    const Ran verified =
        run_program({"verify", "-", "--set", change}, {.input = divider});
    CHECK(verified.status == 1);
    const Ran ran = run_program({"compare", "-", "--set", change}, {.input = divider});
    CAPTURE(ran.out);
    CHECK(ran.status == 0);
    CHECK_THAT(ran.out,
               Contains("2 versions compared, in 1 state; 1 run not looked at"));
    CHECK_THAT(ran.out,
               Contains("Both pass the checks at rest.") && !Contains("every check"));
  }
  CHECK(json_of({"compare", "-", "--set", "high.value=27k"},
                {.input = divider})["runs_not_looked_at"] == 1);
}

TEST_CASE("no line of a comparison is wider than the screen", "[program][compare]") {
  const std::string lamp = "circuits/coin-cell-lamp.toml";
  for (const std::vector<std::string>& changes :
       {std::vector<std::string>{kDemo, "--set", "night.chip.cabin=low"},
        {kDemo, "--set", "jack.voltage=3V"},
        {kDemo, "--set", "jack.current=1nA"},
        {kDemo, "--set", "quay1_r.value=330R", "--set", "quay1_r.value=470R"},
        {kDemo},
        {lamp, "--set", "tail_r.value=470R", "--set", "tail_r.value=33R"}}) {
    for (const bool all : {false, true}) {
      std::vector<std::string> arguments{"compare"};
      arguments.insert(arguments.end(), changes.begin(), changes.end());
      if (all) arguments.emplace_back("--all");
      CAPTURE(arguments);
      const Ran ran = run_program(arguments);
      check_width(ran.out);
      CHECK_THAT(ran.out, Contains("compared, in 3 states"));
      for (const char* noise :
           {"-0.0 %", "-0.00 %", "+0.0 %", "-0.0 points", "e-18", "e-2", "e+03 years"})
        CHECK_THAT(ran.out, !Contains(noise));
    }
  }
}

TEST_CASE("an LED that is switched off is dark, not dimmer", "[program][compare]") {
  const Ran ran = run_program({"compare", kDemo, "--set", "night.chip.cabin=low"});
  CAPTURE(ran.out);
  CHECK_THAT(ran.out, Contains("With low 'cabin' in state 'night' goes\n"
                               "dark, from 6.45 % of the usual current."));
  CHECK_THAT(ran.out, Contains("6.4 %     0.0 %"));
  CHECK_THAT(ran.out, Contains("3.66 mW       0 W    -3.66 mW  -100 %"));
}

TEST_CASE("long names are broken in a comparison too", "[program][compare]") {
  const std::string part(64, 'r');
  const std::string net(64, 't');
  const std::string state(64, 's');
  const std::string text = fmt::format(R"([parts]
jack = {{ kind = "dc-supply", voltage = "12 V", current = "1 A" }}
{0} = {{ kind = "resistor", value = "10k", power = "0.25 W" }}
low = {{ kind = "resistor", value = "10k", power = "0.25 W" }}
[nets]
inlet = ["jack.plus", "{0}.a"]
{1} = ["{0}.b", "low.a"]
ground = ["jack.minus", "low.b"]
[states.{2}]
[[expect]]
net = "{1}"
voltage = {{ min = "5.9 V" }}
)",
                                       part, net, state);
  for (const std::string value : {"10k1", "12k", "1k"}) {
    const Ran ran = run_program(
        {"compare", "-", "--all", "--set", "low.value=" + value}, {.input = text});
    CAPTURE(value, ran.out, ran.err);
    CHECK(ran.err.empty());
    check_width(ran.out);
    CHECK_THAT(ran.out, Contains("state " + state));
    CHECK_THAT(ran.out, Contains(" expectation\n"));
  }
}

TEST_CASE("a note's limit is not the tightest margin", "[program][compare]") {
  const Ran ran = run_program({"compare", kDemo, "--set", "jack.voltage=3V"});
  CAPTURE(ran.out);
  const std::string summary = ran.out.substr(0, ran.out.find("\n\n"));
  CHECK_THAT(summary, Contains("base is sounder") && Contains("('reg',") &&
                          !Contains("flicker-risk"));
}

TEST_CASE("each change of a list stands by itself", "[program][compare]") {
  const Json json =
      json_of({"compare", "-", "--set", "porch_r.value=470R,jack.voltage=6 V"},
              {.input = kPorch});
  CHECK(json["compared"][0]["changes"] == Json::array());
  CHECK(json["compared"][1]["changes"] ==
        Json::array({"porch_r.value=470R", "jack.voltage=6 V"}));
  CHECK(json["compared"][1]["name"] == "porch_r.value=470R,jack.voltage=6 V");
}
