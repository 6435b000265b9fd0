#include "cli/render/verify/json.h"

#include <catch2/catch.hpp>
#include <limits>
#include <nlohmann/json.hpp>

#include "cli/render/json_parts.h"
#include "core/nodal/nodal_solver.h"
#include "judged.h"

using namespace benchproof;
using Json = nlohmann::json;

TEST_CASE("the layout is the documented one", "[json]") {
  const FileReport report = judged(kFaded);
  const Json json = Json::parse(verify_json(report));
  CHECK(json["benchproof"] == 1);
  CHECK(json["title"] == "Faded");
  CHECK(json["verdict"] == "good");
  CHECK(json["runs"] == Json::array());
  REQUIRE(json["states"].size() == 1);
  const Json& state = json["states"][0];
  CHECK(state["name"] == "night");
  CHECK(state["agreement"]["agrees"] == true);
  CHECK(state["agreement"]["net"].is_string());
  CHECK(state["agreement"]["difference"] == 0.0);
  CHECK(state["agreement"]["share"] == 0.0);
  CHECK(state["agreement"]["residual"].is_number());
  CHECK(state["nets"].size() == 4);
  CHECK(state["parts"]["lamp"]["pins"].size() == 2);
  CHECK(state["phases"].size() == 2);
  CHECK(state["expectations"][0]["holds"] == true);
  CHECK(state["expectations"][0]["min"] == 0.001);
  REQUIRE(state["by_hand"].size() >= 1);
  const Json& hand = state["by_hand"][0];
  CHECK(hand["rule"] == "led-resistor");
  CHECK(hand["solved"] == hand["nodal"]);
  CHECK(hand["engine"].is_number());
  const double share = hand["hand"].get<double>() / hand["nodal"].get<double>() - 1.0;
  CHECK_THAT(hand["deviation"].get<double>(), Catch::Matchers::WithinAbs(share, 1e-15));
  for (const char* key : {"title", "formula", "numbers", "neglects", "source", "mark"})
    CHECK_FALSE(hand[key].get<std::string>().empty());
  CHECK(state["findings"].is_array());
}

TEST_CASE("numbers come back as the same doubles", "[json]") {
  const FileReport report = judged(kFaded);
  const Json json = Json::parse(verify_json(report));
  const StateResult& state = report.verification.states[0];
  const Circuit& circuit = *report.circuit;
  for (std::size_t k = 0; k < circuit.nets.size(); ++k) {
    const Json& net = json["states"][0]["nets"][circuit.nets[k].name];
    CHECK(net["nodal"].get<double>() == state.nodal.net_volts[k]);
    CHECK(net["engine"].get<double>() == state.engine.net_volts[k]);
  }
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Json& part = json["states"][0]["parts"][circuit.parts[k].name];
    CHECK(part["power"].get<double>() == state.nodal.part_watts[k]);
    for (std::size_t pin = 0; pin < circuit.parts[k].pins.size(); ++pin)
      CHECK(part["pins"][circuit.parts[k].pins[pin]]["nodal"].get<double>() ==
            state.nodal.pin_amps[k][pin]);
  }
}

TEST_CASE("what a terminal would obey is escaped", "[json]") {
  const std::string odd = "a\x7F\u0085\u202Eb\u2066\u00E9\U0001F6A2\U000E0041\n";
  const nlohmann::ordered_json json = {{odd, odd}};
  const std::string text = document_text(json, -1);
  const std::string shown = R"("a\u007f\u0085\u202eb\u2066)"
                            "\u00E9\U0001F6A2"
                            R"(\udb40\udc41\n")";
  CHECK(text == "{" + shown + ":" + shown + "}");
  CHECK(nlohmann::ordered_json::parse(text) == json);
}

TEST_CASE("what is not a number is null", "[json]") {
  const FileReport report = judged(kFaded, [](Solution& s) {
    s.volts.at(1) = std::numeric_limits<double>::quiet_NaN();
    s.volts.at(2) = std::numeric_limits<double>::infinity();
  });
  const std::string text = verify_json(report);
  const Json json = Json::parse(text);  // Throws on what is not JSON.
  CHECK(json["verdict"] == "disagreement");
  const Json& phase = json["states"][0]["phases"][0];
  CHECK(phase["nets"]["rail"]["engine"].is_null());
  CHECK(phase["nets"]["out"]["engine"].is_null());
  CHECK(phase["nets"]["rail"]["nodal"].is_number());
  CHECK(json["states"][0]["findings"].empty());
}

TEST_CASE("a witness without an answer says so", "[json]") {
  const FileReport report = judged(kFaded, [](Solution& s) {
    s = Solution{};
    s.status = SolveStatus::engine_lost;
    s.reason = "gone";
  });
  const Json json = Json::parse(verify_json(report));
  CHECK(json["verdict"] == "engine-failed");
  CHECK(json["states"][0]["engine"]["status"] == "engine-lost");
  CHECK(json["states"][0]["engine"]["reason"] == "gone");
  CHECK(json["states"][0]["nets"]["rail"]["engine"].is_null());
}

TEST_CASE("a witness without an answer has no figures, not zeros", "[json]") {
  const bool is_engine_lost = GENERATE(true, false);
  CAPTURE(is_engine_lost);
  FileReport report = judged(kFaded, [&](Solution& s) {
    if (!is_engine_lost) return;
    s = Solution{};
    s.status = SolveStatus::engine_failed;
  });
  if (!is_engine_lost) {
    const Solve no_answer = [](const Network&) { return Solution{}; };
    report.verification = verify(*report.circuit, solve_nodal, no_answer);
  }
  const std::string lost = is_engine_lost ? "engine" : "nodal";
  const std::string other = is_engine_lost ? "nodal" : "engine";
  const Json json = Json::parse(verify_json(report));
  CHECK(json["verdict"] == lost + "-failed");
  const Json& state = json["states"][0];
  CHECK(state["verdict"] == lost + "-failed");
  REQUIRE(state["phases"].size() == 2);
  std::vector<const Json*> agreements = {&state["agreement"]};
  for (const Json& phase : state["phases"]) {
    agreements.push_back(&phase["agreement"]);
    REQUIRE(phase["nets"].size() == 4);
    for (const Json& net : phase["nets"]) {
      CHECK(net[lost].is_null());
      CHECK(net[other].is_number());
    }
    for (const Json& part : phase["parts"]) {
      for (const Json& pin : part["pins"]) {
        CHECK(pin[lost].is_null());
        CHECK(pin[other].is_number());
      }
      CHECK(part["power"].is_number() == is_engine_lost);
    }
  }
  for (const Json* agreement : agreements) {
    CHECK((*agreement)["agrees"] == false);
    CHECK((*agreement)["reason"].is_string());
    for (const char* key : {"net", "difference", "share", "residual", "part", "pin"})
      CHECK((*agreement)[key].is_null());
    for (const char* key : {"voltage", "current", "residuals"})
      for (const Json& figure : (*agreement)[key]) CHECK(figure.is_null());
  }
  for (const Json& net : state["nets"])
    for (const Json& figure : net) CHECK(figure.is_null());
  for (const Json& part : state["parts"]) CHECK(part["power"].is_null());
}

TEST_CASE("a finding carries all of it", "[json]") {
  std::string text(kFaded);
  text.replace(text.find("min = \"1 mA\""), 12, "min = \"9 mA\"");
  const Json json = Json::parse(verify_json(judged(text)));
  CHECK(json["verdict"] == "fault");
  const Json& finding = json["states"][0]["findings"][0];
  CHECK(finding["severity"] == "fault");
  CHECK(finding["part"] == "lamp");
  CHECK(finding["net"].is_null());
  CHECK(finding["quantity"] == "current");
  CHECK(finding["limit"] == 0.009);
  CHECK(finding["value"].get<double>() < 0.009);
  CHECK(finding["margin"].get<double>() < 0.0);
  CHECK(finding["line"] == 16);
  for (const char* key : {"check", "message", "source", "mark", "unit", "column"})
    CHECK(finding.contains(key));
}

TEST_CASE("a refused description has its complaints", "[json]") {
  FileReport report = judged("[parts]\n[nets]\n");
  report.file = "odd\xff\x1b.toml";
  const Json json = Json::parse(verify_json(report));
  CHECK(json["benchproof"] == 1);
  CHECK(json["verdict"] == "refused");
  CHECK_FALSE(json.contains("states"));
  REQUIRE(json["complaints"].size() == report.complaints.size());
  const Json& complaint = json["complaints"][0];
  CHECK(complaint["file"] == "odd\uFFFD\x1b.toml");
  CHECK(complaint["id"] == report.complaints[0].id);
  CHECK(complaint["message"] == report.complaints[0].message);
  for (const char* key : {"line", "column", "hint"}) CHECK(complaint.contains(key));
}
