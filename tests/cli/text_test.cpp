#include "cli/render/verify/text.h"

#include <catch2/catch.hpp>
#include <sstream>

#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/run_text.h"
#include "flat.h"
#include "judged.h"

using namespace benchproof;
using Catch::Contains;

namespace {

void check_width(const std::string& text) {
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    INFO(line);
    CHECK(columns_of(line) <= kLineWidth);
  }
}

/// A ladder of `count` resistors with names as long as they may be.
std::string long_ladder(int count) {
  const auto name = [](char letter, int k) {
    std::string digits = std::to_string(k);
    return std::string(64 - digits.size(), letter) + digits;
  };
  std::string parts = "[parts]\ns = { kind = \"dc-supply\", voltage = \"5 V\" }\n";
  std::string nets = "[nets]\n";
  for (int k = 0; k < count; ++k) {
    const std::string r = name('r', k);
    parts += r + " = { kind = \"resistor\", value = \"1k\" }\n";
    const std::string before = k == 0 ? std::string("s.plus") : name('r', k - 1) + ".b";
    nets += name('n', k) + " = [\"" + before + "\", \"" + r + ".a\"]\n";
  }
  nets += R"(ground = ["s.minus", ")" + name('r', count - 1) + ".b\"]\n";
  return parts + nets;
}

}  // namespace

TEST_CASE("a report says what the description and the witnesses say", "[text]") {
  const std::string text = verify_text(judged(kFaded), {});
  CHECK_THAT(text, Contains("Faded\nharbour/test.toml: 5 parts, 4 nets, 1 state"));
  CHECK_THAT(text, Contains("state night"));
  CHECK_THAT(text, Contains("on 25 %; off 75 % of the time"));
  CHECK_THAT(text, Contains("rail"));
  CHECK_THAT(text, Contains("5.000 V"));
  CHECK_THAT(text, Contains("expectations: 1 of 1 hold"));
  CHECK_THAT(text, Contains("verdict: good"));
  check_width(text);
}

TEST_CASE("colours only where they are wanted", "[text]") {
  const FileReport report = judged(kFaded);
  CHECK_THAT(verify_text(report, {}), !Contains("\x1b"));
  const std::string coloured = verify_text(report, {.colour = true, .by_hand = false});
  CHECK_THAT(coloured, Contains("\x1b[1mstate night\x1b[0m"));
  // But for the colours, the text is the same.
  std::string bare;
  for (std::size_t k = 0; k < coloured.size(); ++k) {
    if (coloured[k] == '\x1b') {
      k = coloured.find('m', k);
      continue;
    }
    bare += coloured[k];
  }
  CHECK(bare == verify_text(report, {}));
}

TEST_CASE("hand rules are counted, or told in full", "[text]") {
  const FileReport report = judged(kFaded);
  CHECK_THAT(verify_text(report, {}), Contains("--by-hand shows"));
  const std::string full = verify_text(report, {.colour = false, .by_hand = true});
  CHECK_THAT(full, Contains("lamp: current of an LED with a series resistor"));
  CHECK_THAT(full, Contains("      I = (V - VF) / (R + Rout)\n        = ("));
  CHECK_THAT(full, Contains("      engine ") && Contains(", nodal ") &&
                       Contains("; hand ") && Contains("      neglects "));
  check_width(full);
}

TEST_CASE("witnesses that differ get no verdict", "[text]") {
  const FileReport report = judged(kFaded, [](Solution& s) { s.volts.at(2) += 0.125; });
  REQUIRE(report.verification.verdict == Verdict::disagreement);
  const std::string text = verify_text(report, {});
  CHECK_THAT(text, Contains("nothing can be judged here"));
  CHECK_THAT(text, Contains("verdict: withheld - the witnesses disagree in 'night'"));
  CHECK_THAT(text, Contains("net out"));
  CHECK_THAT(text, Contains("residual"));
  CHECK_THAT(text, !Contains("findings"));
  check_width(text);
}

TEST_CASE("how far the witnesses are apart is told as a share of what is allowed",
          "[text]") {
  const auto told = [](double volts) {
    return flat(
        verify_text(judged(kFaded, [&](Solution& s) { s.volts.at(2) += volts; }), {}));
  };
  CHECK_THAT(told(0.0), Contains("both witnesses agree within 1 pV and 1 pA"));
  // With the output low 1 uV is allowed there.
  CHECK_THAT(told(4.5e-9), Contains("both witnesses agree within 1 % of what is all"));
  CHECK_THAT(told(4.5e-8), Contains("both witnesses agree: apart by at most 5 % of "
                                    "what is allowed (45 nV of 1.0 uV at net out)"));
}

TEST_CASE("of a run the moment is told at which the witnesses are apart most",
          "[text]") {
  FileReport report = judged(std::string(kFaded) +
                             "[[runs]]\nname = \"up\"\nstate = \"night\"\n"
                             "span = \"40 ms\"\n");
  REQUIRE(report.circuit.has_value());
  RunResult run;
  run.name = "up";
  run.run = &report.circuit->runs.front();
  run.courses.resize(report.circuit->nets.size());
  run.agreement.agrees = true;
  run.agreement.net = "out";
  run.agreement.seconds = 3.2e-3;
  run.agreement.allowed = 40e-3;
  const auto told = [&](double volts) {
    run.agreement.difference = volts;
    const std::string text = run_section(report, run, false, false);
    check_width(text);
    return flat(text);
  };
  CHECK_THAT(told(1.2e-3),
             Contains("both witnesses agree: apart by at most 3 % of what is allowed "
                      "(1.2 mV of 40 mV at out, 3.20 ms into the run)"));
  CHECK_THAT(told(0.3e-3), Contains("throughout, within 1 % of what is allowed"));
}

TEST_CASE("an engine without an answer gets no verdict", "[text]") {
  const FileReport report = judged(kFaded, [](Solution& s) {
    s = Solution{};
    s.status = SolveStatus::engine_failed;
    s.reason = std::string(5000, 'x') + "\nthe last word\x1b[31m";
  });
  const std::string text = verify_text(report, {});
  CHECK_THAT(text, Contains("the engine witness has no answer"));
  CHECK_THAT(flat(text), Contains("the last word"));
  CHECK_THAT(text, Contains("verdict: withheld - the engine witness has no answer"));
  CHECK_THAT(text, !Contains("\x1b"));
  CHECK(text.size() < 2000);
  check_width(text);
  CHECK_THAT(flat(failures_text(report)), Contains("the last word"));
  CHECK(failures_text(judged(kFaded)).empty());
}

TEST_CASE("a failed expectation is a fault that is told in full", "[text]") {
  std::string text(kFaded);
  text.replace(text.find("min = \"1 mA\""), 12, "min = \"9 mA\"");
  const std::string report = verify_text(judged(text), {});
  CHECK_THAT(report, Contains("0 of 1 hold; the others are faults above"));
  CHECK_THAT(flat(report), Contains("to be seen"));
  CHECK_THAT(report, Contains("verdict: fault - 1 fault in 'night'"));
  CHECK_THAT(report, Contains("test.toml:16"));
  check_width(report);
}

TEST_CASE("the verdict says where it holds", "[text]") {
  CHECK_THAT(verify_text(judged(kFaded), {}), Contains("in state 'night'\n"));
  std::string anywhere(kFaded.substr(0, kFaded.find("[[expect]]")));
  anywhere += "[states.day]\n";
  CHECK_THAT(verify_text(judged(anywhere), {}), Contains("in both states\n"));
  anywhere += "[states.dusk]\n";
  CHECK_THAT(verify_text(judged(anywhere), {}), Contains("in all 3 states\n"));
}

TEST_CASE("the longest names and the longest title keep to the width", "[text]") {
  std::string title = "title = \"";
  for (int k = 0; k < 200; ++k) title += "\u00e9";
  const std::string text = verify_text(judged(title + "\"\n" + long_ladder(30)), {});
  CHECK_THAT(text, Contains("31 parts, 31 nets"));
  check_width(text);
}

TEST_CASE("a blank title is no line", "[text]") {
  for (const char* title : {"", " ", "    "}) {
    std::string text("title = \"" + std::string(title) + "\"\n");
    text += kFaded.substr(kFaded.find("[parts]"));
    CHECK_THAT(verify_text(judged(text), {}), Catch::StartsWith("harbour/test.toml: "));
  }
  CHECK(title_lines(" ", true).empty());
  CHECK(title_lines("Quay", false) == "Quay\n");
}

TEST_CASE("complaints say that nothing was solved", "[text]") {
  const FileReport report = judged("[parts]\n[nets]\n");
  CHECK(verify_text(report, {}).empty());
  CHECK_THAT(complaints_text(report, false), Contains("[ground-missing]"));
  CHECK_THAT(complaints_text(report, false), Contains("nothing was solved"));
  CHECK(complaints_text(judged(kFaded), false).empty());
}

TEST_CASE("complaints are broken to the width where a person reads them", "[text]") {
  std::string text(kFaded);
  const std::string type(64, 't');
  text.replace(text.find("cmos-5v"), 7, type + "\", label = \"" + std::string(80, 'l'));
  FileReport report = judged(text);
  REQUIRE(report.complaints.size() == 1);
  const std::string piped = complaints_text(report, false);
  const std::string seen = complaints_text(report, true);
  CHECK(flat(piped) == flat(seen));
  const std::string message = "the catalogue has no controller '" + type + "'";
  CHECK_THAT(piped,
             Contains("test.toml:5:38: error: " + message + " [type-unknown]\n"));
  CHECK_THAT(seen, Catch::StartsWith("harbour/test.toml:5:38: error: the catalogue"));
  CHECK_THAT(seen, Contains("...\n      |"));  // The excerpt is not wrapped but cut.
  check_width(seen);

  // A place stays whole, blanks and all: a person may click on it or copy it.
  for (const std::size_t length : {10U, 50U, 70U, 200U}) {
    report.file = "a b " + std::string(length, 'f');
    CHECK_THAT(complaints_text(report, true),
               Catch::StartsWith(report.file + ":5:38:") && Contains("error: the"));
  }
}

TEST_CASE("margins without end are told as such, and none is a negative zero",
          "[text]") {
  FileReport report = judged(kFaded);
  const auto shown = [&report](double value, Bound bound) {
    Finding finding;
    finding.quantity = "current";
    finding.unit = Unit::ampere;
    finding.value = value;
    finding.limit = 1.0;
    finding.bound = bound;
    report.verification.states[0].findings = {finding};
    const std::string text = verify_text(report, {});
    const std::size_t begin = text.find("limit 1.00 A  ") + 14;
    return text.substr(begin, text.find('\n', begin) - begin);
  };
  CHECK(shown(1.25, Bound::upper) == "-25 %");
  CHECK(shown(0.75, Bound::upper) == "+25 %");
  CHECK(shown(1.004, Bound::upper) == "0 %");
  CHECK(shown(0.996, Bound::upper) == "0 %");
  CHECK(shown(1.0, Bound::upper) == "0 %");
  CHECK(shown(1.0, Bound::lower) == "0 %");
  CHECK(shown(1.006, Bound::upper) == "-1 %");
  CHECK(shown(10.99, Bound::upper) == "-999 %");
  CHECK(shown(11.0, Bound::upper) == "far above");
  CHECK(shown(1e9, Bound::upper) == "far above");
  CHECK(shown(10.99, Bound::lower) == "+999 %");
  CHECK(shown(11.0, Bound::lower) == "far above");
  CHECK(shown(-11.0, Bound::lower) == "far below");
}

TEST_CASE("the last line fits", "[text]") { check_width(safety_text()); }
