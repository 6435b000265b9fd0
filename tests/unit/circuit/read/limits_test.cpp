// Each limit of a description: what is at it passes, what is beyond is refused with the
// figure; and the page on descriptions tells the limits that there are.
#include <fmt/format.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <chrono>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "core/base/diagnostic_ids.h"
#include "core/catalogue/catalogue.h"
#include "core/circuit/read/reader.h"
#include "spice/session/patience.h"

using namespace benchproof;
using Catch::Contains;

namespace {

// An invented pier with as much of everything as the limits below.
const std::string kPier = R"(title = "pier"
[parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["one", "two"], inputs = ["in"] }
r1 = { kind = "resistor", value = "1k" }
r2 = { kind = "resistor", value = "1k" }
[nets]
rail = ["jack.plus", "chip.vdd", "chip.in"]
ground = ["jack.minus", "chip.vss", "r1.b", "r2.b"]
one = ["chip.one", "r1.a"]
two = ["chip.two", "r2.a"]
[states.dark]
[states.lit]
"chip.one" = { pwm = "50%", frequency = "1 kHz" }
[variants.faint]
"r1.value" = "2k"
[variants.bright]
"r1.value" = "500R"
[[runs]]
name = "up"
from = "dark"
steps = [{ at = "1 ms", state = "lit" }, { at = "3 ms", state = "dark" }]
span = "5 ms"
[[runs]]
name = "on"
state = "lit"
span = "2 ms"
)";

Limits limits_of_pier() {
  Limits limits;
  limits.bytes = kPier.size();
  limits.parts = 4;
  limits.nets = 4;
  limits.states = 2;
  limits.runs = 2;
  limits.variants = 2;
  limits.steps = 2;
  limits.pins = 2;
  limits.figures = 12;
  limits.all_figures = 36;
  limits.nesting = 4;
  limits.name_length = 6;
  return limits;
}

std::vector<Diagnostic> complaints(const Limits& limits) {
  return read_circuit(kPier, "pier.toml", built_in_catalogue(), {}, limits).diagnostics;
}

}  // namespace

TEST_CASE("what is at the limits is read", "[circuit][limits]") {
  for (const Diagnostic& d : complaints(limits_of_pier())) FAIL_CHECK(d.message);
}

TEST_CASE("what is beyond a limit is refused with the figure", "[circuit][limits]") {
  struct Case {
    const char* what;
    void (*lower)(Limits&);
    DiagnosticId id;
    const char* figure;
  };
  const std::vector<Case> cases{
      {"bytes", [](Limits& l) { --l.bytes; }, kTooLarge, "bytes"},
      {"parts", [](Limits& l) { --l.parts; }, kTooLarge, "3 are allowed"},
      {"nets", [](Limits& l) { --l.nets; }, kTooLarge, "3 are allowed"},
      {"states", [](Limits& l) { --l.states; }, kTooLarge, "1 are allowed"},
      {"runs", [](Limits& l) { --l.runs; }, kTooLarge, "1 are allowed"},
      {"variants", [](Limits& l) { --l.variants; }, kTooLarge, "1 are allowed"},
      {"steps", [](Limits& l) { --l.steps; }, kTooLarge, "1 are allowed"},
      {"pins", [](Limits& l) { --l.pins; }, kTooLarge, "1 pins"},
      {"all runs", [](Limits& l) { l.all_corners = 10; }, kTooLarge, "more than 10"},
      {"figures", [](Limits& l) { l.figures = 11; }, kTooLarge, "make 12; 11"},
      {"versions", [](Limits& l) { l.all_figures = 35; }, kTooLarge, "make 36; 35"},
      {"nesting", [](Limits& l) { --l.nesting; }, kTooDeep, "3"},
      {"names", [](Limits& l) { --l.name_length; }, kNameInvalid, "5"},
      {"texts", [](Limits& l) { l.text_length = 3; }, kTextInvalid, "3"},
      {"PWM", [](Limits& l) { l.pwm_corners = 2; }, kRunPwm, "2"},
  };
  for (const Case& c : cases) {
    CAPTURE(c.what);
    Limits limits = limits_of_pier();
    c.lower(limits);
    std::string told;
    bool is_told = false;
    for (const Diagnostic& d : complaints(limits)) {
      told += fmt::format("[{}] {} ({})\n", d.id, d.message, d.hint);
      is_told = is_told || (d.id == c.id.name &&
                            (d.message + d.hint).find(c.figure) != std::string::npos);
    }
    CAPTURE(told);
    CHECK(is_told);
  }
}

TEST_CASE("the page on descriptions tells the limits", "[circuit][limits]") {
  std::ifstream file(BENCHPROOF_SOURCE_DIR "/core/circuit/README.md");
  const std::string readme{std::istreambuf_iterator<char>(file), {}};
  const Limits limits;
  const auto figure = [](std::size_t value) {
    const std::string digits = std::to_string(value);
    return value < 1000 ? digits
                        : digits.substr(0, digits.size() - 3) + "," +
                              digits.substr(digits.size() - 3);
  };
  REQUIRE(limits.bytes == 1U << 20U);
  CHECK_THAT(readme, Contains(fmt::format("| 1 MiB, {} tables", limits.nesting)));
  CHECK_THAT(readme, Contains(fmt::format(
                         "| {} parts, {} nets, {} states, {} runs, {} variants |",
                         figure(limits.parts), figure(limits.nets), limits.states,
                         limits.runs, limits.variants)));
  CHECK_THAT(readme, Contains(fmt::format("| {0} outputs, {0} inputs |", limits.pins)));
  CHECK_THAT(readme,
             Contains(fmt::format(
                 "| {} phases of PWM; of all states the phases times the parts {} |",
                 kMostPhases, figure(limits.figures))));
  REQUIRE(kForOneDescription == std::chrono::minutes(3));
  CHECK_THAT(readme, Contains("| solving one description | 3 minutes, "));
  CHECK_THAT(readme, Contains(fmt::format("the same of all of them {} |",
                                          figure(limits.all_figures))));
  CHECK_THAT(
      readme,
      Contains(fmt::format(
          "{} steps, {} changes of outputs under PWM; all runs together {} changes",
          figure(limits.steps), figure(limits.pwm_corners / 2),
          figure(limits.all_corners / 2))));
  CHECK_THAT(readme, Contains(fmt::format("| a name | {} char", limits.name_length)));
  CHECK_THAT(readme, Contains(fmt::format("reason | {} char", limits.text_length)));
  CHECK_THAT(readme, Contains(fmt::format("told | {}, the", limits.complaints)));
}
