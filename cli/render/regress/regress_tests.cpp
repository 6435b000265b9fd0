#include "cli/render/regress/regress_tests.h"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>
#include <vector>

#include "cli/render/verify/report.h"
#include "core/base/diagnostic.h"

namespace benchproof {
namespace {

/// One point of a test report.
struct Place {
  std::string name;
  bool passed = true;
  bool is_error = false;  ///< No verdict, rather than a bad one.
  std::string word;
  std::vector<std::string> lines;  ///< Why.
};

/// What is told of one circuit: a point for what is wrong with it as a whole, if
/// anything is, and one for each case.
std::vector<Place> points_of(const CircuitOutcome& circuit) {
  std::vector<Place> points;
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

/// How many points there are, and how many of them failed or had no verdict.
struct PointCount {
  std::size_t all = 0;
  std::size_t failed = 0;
  std::size_t errors = 0;

  void add(const std::vector<Place>& points) {
    all += points.size();
    for (const Place& point : points)
      if (!point.passed) ++(point.is_error ? errors : failed);
  }
};

PointCount count_points(const RegressReport& report) {
  PointCount count;
  report.each(
      [&count](const CircuitOutcome& circuit) { count.add(points_of(circuit)); });
  return count;
}

std::string case_xml(const CircuitOutcome& circuit, const Place& point) {
  const std::string name = fmt::format(R"(    <testcase classname="{}" name="{}")",
                                       xml(circuit.file), xml(point.name));
  if (point.passed) return name + "/>\n";
  const std::string_view tag = point.is_error ? "error" : "failure";
  std::string body;
  for (const std::string& line : point.lines) body += xml(line) + "\n";
  return name +
         fmt::format(
             ">\n      <{} type=\"{}\" message=\"{}\">{}</{}>\n    </testcase>\n", tag,
             xml(point.word),
             xml(point.lines.empty() ? point.word : point.lines.front()), body, tag);
}

std::string suite_xml(const CircuitOutcome& circuit) {
  const std::vector<Place> points = points_of(circuit);
  PointCount count;
  count.add(points);
  std::string suite = fmt::format(
      "  <testsuite name=\"{}\" tests=\"{}\" failures=\"{}\" errors=\"{}\">\n",
      xml(circuit.file), count.all, count.failed, count.errors);
  for (const Place& point : points) suite += case_xml(circuit, point);
  return suite + "  </testsuite>\n";
}

std::string point_tap(const CircuitOutcome& circuit, const Place& point,
                      std::size_t number) {
  std::string text = fmt::format("{} {} - {}: {}\n", point.passed ? "ok" : "not ok",
                                 number, tap_name(circuit.file), tap_name(point.name));
  if (point.passed) return text;
  text += fmt::format("  ---\n  outcome: {}\n  because:\n", yaml(point.word));
  for (const std::string& line : point.lines)
    text += fmt::format("    - {}\n", yaml(line));
  return text + "  ...\n";
}

}  // namespace

void put_junit_xml(const RegressReport& report, const PutText& put) {
  const PointCount count = count_points(report);
  put(
      fmt::format("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                  "<testsuites name=\"benchproof\" tests=\"{}\" failures=\"{}\" "
                  "errors=\"{}\">\n",
                  count.all, count.failed, count.errors));
  report.each([&put](const CircuitOutcome& circuit) { put(suite_xml(circuit)); });
  put("</testsuites>\n");
}

void put_tap_text(const RegressReport& report, const PutText& put) {
  const std::size_t all = count_points(report).all;
  put(fmt::format("TAP version 14\n1..{}{}\n", all, all == 0 ? " # no circuit" : ""));
  std::size_t number = 0;
  report.each([&put, &number](const CircuitOutcome& circuit) {
    for (const Place& point : points_of(circuit))
      put(point_tap(circuit, point, ++number));
  });
}

}  // namespace benchproof
