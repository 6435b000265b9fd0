#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <utility>

#include "cli/render/layout.h"
#include "cli/render/shopping/shopping_report.h"
#include "judged.h"

using namespace benchproof;
using Catch::Contains;
using Json = nlohmann::json;

namespace {

ShoppingReport report_of(FileReport file, const Derating& derating = {}) {
  REQUIRE(file.circuit.has_value());
  ShoppingList list = shopping_list(*file.circuit, file.verification, derating);
  return {std::move(file), std::move(list), derating};
}

}  // namespace

TEST_CASE("a phase of PWM is named where it asks for most", "[render][shopping]") {
  const std::string text = shopping_text(report_of(judged(kFaded)), false);
  CHECK_THAT(text, Contains("in 'night' while on") && Contains("led: red") &&
                       !Contains("while off"));
}

TEST_CASE("a withheld verdict leaves the list without ratings", "[render][shopping]") {
  const ShoppingReport report = report_of(
      judged(kFaded, [](Solution& solution) { solution.volts.back() += 1e-3; }));
  CHECK_THAT(shopping_text(report, false),
             Contains("verdict: withheld - the witnesses disagree in state 'night'") &&
                 Contains("Without least ratings") && !Contains("needs") &&
                 Contains("220 ohm"));
  CHECK_THAT(shopping_verdict(report), Contains("withheld"));
  const Json json = Json::parse(shopping_json(report));
  CHECK(json["verdict"] == "disagreement");
  CHECK(json["rated"] == false);
  CHECK_THAT(json["reason"].get<std::string>(), Contains("disagree"));
  CHECK_THAT(shopping_csv(report), Contains("220 ohm"));
}

TEST_CASE("a value that is not sold is told with its neighbours",
          "[render][shopping]") {
  std::string text(kFaded);
  text.replace(text.find("220R"), 4, "223R");
  const std::string list = shopping_text(report_of(judged(text)), false);
  // IEC 60063: E24 has 220, E96 has 221 and 226.
  CHECK_THAT(list, Contains("nearest are 220 ohm (E24) and 221 ohm (E96)") &&
                       Contains("red red orange black gold"));
}

TEST_CASE("a small supply that is enough is not made larger", "[render][shopping]") {
  std::string text(kFaded);
  text.replace(text.find("1 A"), 3, "40 mA");
  const std::string list = shopping_text(report_of(judged(text)), false);
  CHECK_THAT(list, Contains("dc-supply: 5 V, 40 mA") && !Contains("100 mA or more"));
  text.replace(text.find("40 mA"), 5, "8 mA");
  CHECK_THAT(shopping_text(report_of(judged(text)), false),
             Contains("100 mA or more") && Contains("its 8 mA is too little"));
}

TEST_CASE("long names and texts stay within the screen", "[render][shopping]") {
  const std::string name(64, 'n');
  std::string parts = "[parts]\nv = { kind = \"voltage-source\", voltage = \"1 V\" }\n";
  std::string hot = "\"v.plus\"";
  std::string ground = "\"v.minus\"";
  for (int k = 0; k < 12; ++k) {
    const std::string part = name.substr(2) + std::to_string(10 + k);
    parts += part + " = { kind = \"resistor\", value = \"1k\" }\n";
    hot += ", \"" + part + ".a\"";
    ground += ", \"" + part + ".b\"";
  }
  const ShoppingReport report =
      report_of(judged("title = \"" + std::string(200, 't') + "\"\n" + parts +
                       "[nets]\nhot = [" + hot + "]\nground = [" + ground + "]\n"));
  std::istringstream lines(shopping_text(report, false));
  for (std::string line; std::getline(lines, line);) {
    INFO(line);
    CHECK(columns_of(line) <= kLineWidth);
  }
  CHECK_THAT(shopping_text(report, false),
             Contains("12  resistor: 1 kohm") && Contains("not bought") &&
                 Contains("no tolerance is given; 5 % is assumed") &&
                 Contains("0.25 W is assumed"));
}
