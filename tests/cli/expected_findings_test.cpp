#include <catch2/catch.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "folder.h"
#include "program.h"
#include "screen.h"
#include "tests/files.h"

using namespace benchproof;
using Catch::Contains;
using Json = nlohmann::json;

namespace {

/// An LED on a pin without a resistor.
std::string mistake() {
  return text_of(std::string(BENCHPROOF_SOURCE_DIR) +
                 "/tests/mistakes/led-on-pin-no-r.toml");
}

std::string expecting(const std::string& keys) {
  return mistake() + "\n[[expect]]\n" + keys + "\n";
}

Ran verify_text_of(const std::string& text) {
  return run_program({"verify", "-", "--full"}, {.input = text});
}

/// The findings of the first state.
Json findings_of(const Json& report) {
  return report.at("states").at(0).at("findings");
}

}  // namespace

TEST_CASE("a finding that is expected counts as nothing in the verdict",
          "[program][expected]") {
  CHECK(verify_text_of(mistake()).status == 1);
  const Ran ran = verify_text_of(expecting("finding = \"led-bare\"\npart = \"l\""));
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  check_width(ran.out);
  CHECK_THAT(ran.out, Contains("[led-bare]  expected"));
  CHECK_THAT(ran.out, Contains("expected findings: 1 of 1 is there"));
  CHECK_THAT(ran.out, Contains("1 expected"));
  const Json json =
      json_of({"verify", "-"},
              {.input = expecting("finding = \"led-bare\"\ngrade = \"fault\"")});
  CHECK(json.at("verdict") != "fault");
  CHECK(json.at("expected_findings").at(0).at("holds") == true);
  bool is_there = false;
  for (const Json& finding : findings_of(json)) {
    if (finding.at("check") == "led-bare") is_there = true;
    CHECK(finding.at("expected") == (finding.at("check") == "led-bare"));
  }
  CHECK(is_there);
}

TEST_CASE("an expected finding that is not there is a fault", "[program][expected]") {
  for (const char* keys :
       {"finding = \"led-bare\"\npart = \"s\"", "finding = \"coil-flyback\"",
        "finding = \"led-bare\"\ngrade = \"note\"",
        "finding = \"led-bare\"\nnet = \"x\""}) {
    CAPTURE(keys);
    const Ran ran = verify_text_of(expecting(keys));
    CHECK(ran.status == 1);
    CHECK_THAT(ran.out, Contains("[finding-missing]"));
    CHECK_THAT(ran.out, Contains("expected findings: 0 of 1 are there"));
  }
  // Somewhere else than where it is.
  const std::string two = mistake() + "[states.dark]\n";
  CHECK(verify_text_of(two + "[[expect]]\nfinding = \"led-bare\"\nstate = \"x\"\n")
            .status == 0);
  CHECK(verify_text_of(two + "[[expect]]\nfinding = \"led-bare\"\nstate = \"dark\"\n")
            .status == 1);
}

TEST_CASE("what is expected anywhere is not missed where only some was looked at",
          "[program][expected]") {
  const std::string text =
      mistake() + "[states.dark]\n[[expect]]\nfinding = \"led-bare\"\n";
  const Ran dark = run_program({"verify", "-", "--state", "dark"}, {.input = text});
  CHECK_THAT(dark.out, !Contains("finding-missing"));
  CHECK(dark.status == 0);
}

TEST_CASE("what nothing limits may be expected as well", "[program][expected]") {
  const std::string text = R"([parts]
s = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
d = { kind = "diode", drop = "0.7 V" }
[nets]
a = ["s.plus", "d.anode"]
ground = ["s.minus", "d.cathode"]
)";
  const Ran ran = verify_text_of(text);
  CHECK(ran.status == 1);
  REQUIRE_THAT(ran.out, Contains("[current-unlimited]"));
  const Ran expected =
      verify_text_of(text + "[[expect]]\nfinding = \"current-unlimited\"\n");
  CAPTURE(expected.out);
  CHECK(expected.status == 0);
}

TEST_CASE("a misspelt id is refused with the nearest", "[program][expected]") {
  const Ran ran = verify_text_of(expecting("finding = \"led-bear\""));
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err,
             Contains("[finding-unknown]") && Contains("did you mean 'led-bare'?"));
}

TEST_CASE("a library of mistakes made on purpose is recorded", "[program][expected]") {
  const Folder folder;
  const std::string file =
      folder.file("bare.toml", expecting("finding = \"led-bare\""));
  const Ran recorded = run_program({"regress", folder.path(), "--record"});
  CAPTURE(recorded.out, recorded.err);
  CHECK(recorded.status == 0);
  const std::string record = text_of(folder.path() + "/bare.recorded.toml");
  CHECK_THAT(record, Contains("fault led-bare l"));
  CHECK(run_program({"regress", folder.path()}).status == 0);
  // Mended, it is no such mistake any more.
  (void)folder.file("bare.toml", with(expecting("finding = \"led-bare\""),
                                      "colour = \"red\"", "drop = \"4.9 V\""));
  const Ran mended = run_program({"regress", folder.path()});
  CHECK(mended.status != 0);
}
