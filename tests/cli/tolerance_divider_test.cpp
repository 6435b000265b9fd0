#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <string>

#include "program.h"

using namespace benchproof;
using Json = nlohmann::json;

namespace {

const std::string kDivider = R"(
[parts]
u  = { kind = "voltage-source", voltage = "1 V" }
r1 = { kind = "resistor", value = "1k", tolerance = "1%" }
r2 = { kind = "resistor", value = "1k", tolerance = "1%" }
[nets]
in     = ["u.plus", "r2.a"]
out    = ["r2.b", "r1.a"]
ground = ["r1.b", "u.minus"]
[[expect]]
net = "out"
voltage = { min = "0.4975 V", max = "0.5025 V" }
)";

Json told(const std::string& text, const std::vector<std::string>& more) {
  std::vector<std::string> arguments{"tolerance", "-", "--json"};
  arguments.insert(arguments.end(), more.begin(), more.end());
  const Ran ran = run_program(arguments, {.input = text});
  CAPTURE(ran.err);
  REQUIRE(ran.status == 0);
  return Json::parse(ran.out);
}

/// The figure of net "out".
Json out_of(const Json& json) {
  for (const Json& figure : json.at("states").at(0).at("figures"))
    if (figure.at("net") == "out" && figure.at("of") == "expectation") return figure;
  return {};
}

}  // namespace

// Maxima manual, package wrstcse, wc_mintypmax (verified): 0.495, 0.5, 0.505.
TEST_CASE("the worst case of a divider is the published one", "[program][tolerance]") {
  const Json out = out_of(told(kDivider, {"--copies", "1000"}));
  CHECK(out.at("nominal").get<double>() == Approx(0.5).epsilon(1e-9));
  for (const auto& [end, value] :
       {std::pair{"least", 0.495}, std::pair{"most", 0.505}}) {
    CHECK(out.at(end).at("value").get<double>() == Approx(value).margin(5e-7));
    CHECK(out.at(end).at("engine").get<double>() == Approx(value).margin(5e-7));
    CHECK(out.at(end).at("nodal").get<double>() == Approx(value).margin(5e-7));
    CHECK(out.at(end).at("agrees") == true);
  }
}

// To first order the output is 0.5 + (d1 - d2) / 4 of two uniform deviations of 1 %:
// the difference has a triangular distribution, three quarters of which lie within half
// of its width.
TEST_CASE("the share of dividers within half of the worst case is three quarters",
          "[program][tolerance]") {
  const Json json = told(kDivider, {"--copies", "100000"});
  CHECK(json.at("yield").at("share").get<double>() == Approx(0.75).margin(0.006));
  CHECK(json.at("yield").at("least") < json.at("yield").at("share"));
  CHECK(json.at("judged_again").at("copies") == json.at("judged_again").at("fail"));
}

TEST_CASE("a copy is the same in every run of its series", "[program][tolerance]") {
  const Json once = told(kDivider, {"--copies", "5000", "--seed", "3"});
  CHECK(once == told(kDivider, {"--copies", "5000", "--seed", "3"}));
  CHECK(once.at("works") !=
        told(kDivider, {"--copies", "5000", "--seed", "4"}).at("works"));
}

TEST_CASE("parts of one reel are off by the same", "[program][tolerance]") {
  const Json json = told(kDivider + "[tolerances]\ntogether = [\"r1\", \"r2\"]\n",
                         {"--copies", "1000"});
  CHECK(json.at("yield").at("share") == 1.0);
}
