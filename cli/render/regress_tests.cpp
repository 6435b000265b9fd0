#include "cli/render/regress_tests.h"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>
#include <vector>

#include "cli/render/report.h"
#include "core/base/diagnostic.h"

namespace benchproof {
namespace {

/// One point of a test report.
struct Point {
  std::string name;
  bool passed = true;
  bool is_error = false;  ///< No verdict, rather than a bad one.
  std::string word;
  std::vector<std::string> lines;  ///< Why.
};

/// What is told of one circuit: a point for what is wrong with it as a whole, if
/// anything is, and one for each case.
std::vector<Point> points_of(const CircuitOutcome& circuit) {
  std::vector<Point> points;
  if (std::vector<std::string> lines = failure_lines(circuit); !lines.empty()) {
    const bool is_refused = !circuit.complaints.empty();
    points.push_back({is_refused ? "reading" : "record", false,
                      is_refused || !circuit.trouble.empty(),
                      is_refused ? "refused" : "record", std::move(lines)});
  }
  for (const CaseOutcome& each : circuit.cases) {
    const bool is_judged = each.verdict <= Verdict::fault;
    const bool has_moved = is_judged && each.verdict != Verdict::fault;
    points.push_back({case_text(each.name), passes(each), !is_judged,
                      std::string(has_moved ? "moved" : verdict_word(each.verdict)),
                      failure_lines(each)});
  }
  if (points.empty()) points.push_back({"reading", true, false, "good", {}});
  return points;
}

/// Text between XML tags or in an attribute: every character that XML 1.0 has, the
/// marks of its own escaped.
std::string xml(std::string_view text) {
  std::string result;
  for (const char c : printable(text)) {
    switch (c) {
      case '&':
        result += "&amp;";
        break;
      case '<':
        result += "&lt;";
        break;
      case '>':
        result += "&gt;";
        break;
      case '"':
        result += "&quot;";
        break;
      default:
        result += c;
    }
  }
  return result;
}

/// The description of a TAP point: '#' begins a directive, so it is escaped.
std::string tap_name(std::string_view text) {
  std::string result;
  for (const char c : printable(text)) {
    if (c == '#' || c == '\\') result += '\\';
    result += c;
  }
  return result;
}

/// A text in YAML's double quotes.
std::string yaml(std::string_view text) {
  std::string result = "\"";
  for (const char c : printable(text)) {
    if (c == '"' || c == '\\') result += '\\';
    result += c;
  }
  return result + '"';
}

}  // namespace

std::string junit_xml(const RegressReport& report) {
  std::string suites;
  std::size_t all = 0, all_failed = 0, all_errors = 0;
  for (const CircuitOutcome& circuit : report.circuits) {
    const std::vector<Point> points = points_of(circuit);
    std::string cases;
    std::size_t failed = 0, errors = 0;
    for (const Point& point : points) {
      cases += fmt::format(R"(    <testcase classname="{}" name="{}")",
                           xml(circuit.file), xml(point.name));
      if (point.passed) {
        cases += "/>\n";
        continue;
      }
      (point.is_error ? errors : failed) += 1;
      const std::string_view tag = point.is_error ? "error" : "failure";
      std::string body;
      for (const std::string& line : point.lines) body += xml(line) + "\n";
      cases += fmt::format(
          ">\n      <{} type=\"{}\" message=\"{}\">{}</{}>\n    </testcase>\n", tag,
          xml(point.word), xml(point.lines.empty() ? point.word : point.lines.front()),
          body, tag);
    }
    suites += fmt::format(
        "  <testsuite name=\"{}\" tests=\"{}\" failures=\"{}\" errors=\"{}\">\n{}"
        "  </testsuite>\n",
        xml(circuit.file), points.size(), failed, errors, cases);
    all += points.size();
    all_failed += failed;
    all_errors += errors;
  }
  return fmt::format(
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
      "<testsuites name=\"benchproof\" tests=\"{}\" failures=\"{}\" errors=\"{}\">\n"
      "{}</testsuites>\n",
      all, all_failed, all_errors, suites);
}

std::string tap_text(const RegressReport& report) {
  std::string text;
  std::size_t count = 0;
  for (const CircuitOutcome& circuit : report.circuits) {
    for (const Point& point : points_of(circuit)) {
      ++count;
      text += fmt::format("{} {} - {}: {}\n", point.passed ? "ok" : "not ok", count,
                          tap_name(circuit.file), tap_name(point.name));
      if (point.passed) continue;
      text += fmt::format("  ---\n  outcome: {}\n  because:\n", yaml(point.word));
      for (const std::string& line : point.lines)
        text += fmt::format("    - {}\n", yaml(line));
      text += "  ...\n";
    }
  }
  return fmt::format("TAP version 14\n1..{}{}\n{}", count,
                     count == 0 ? " # no circuit" : "", text);
}

}  // namespace benchproof
