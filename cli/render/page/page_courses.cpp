#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "cli/render/diagram/diagram_svg.h"
#include "cli/render/page/page_report.h"
#include "cli/render/verify/findings_text.h"

namespace benchproof {
namespace {

constexpr std::size_t kMostNets = 6;
constexpr std::size_t kMostPoints = 700;

/// The nets to show: those asked about, then those that move.
std::vector<int> nets_to_show(const Circuit& circuit, const Run& run,
                              const Record& record, std::size_t& left_out) {
  constexpr double kMoves = 1e-3;  // Volt.
  std::vector<int> nets;
  const auto add = [&nets](int net) {
    if (net > 0 && std::find(nets.begin(), nets.end(), net) == nets.end())
      nets.push_back(net);
  };
  const int index = static_cast<int>(&run - circuit.runs.data());
  for (const Expectation& e : circuit.expectations)
    if (e.run == index) add(e.net);
  for (std::size_t net = 1; net < circuit.nets.size(); ++net) {
    const Extremes e = extremes(record.volts(static_cast<int>(net)), record.whole());
    if (e.highest - e.lowest >= kMoves) add(static_cast<int>(net));
  }
  left_out = nets.size() > kMostNets ? nets.size() - kMostNets : 0;
  nets.resize(std::min(nets.size(), kMostNets));
  return nets;
}

/// Takes the points without which a course would leave its line by more than `room`
/// [Ramer 1972, Douglas and Peucker 1973: from memory].
void take_points(const std::vector<double>& x, const std::vector<double>& y,
                 double room, std::set<std::size_t>& taken) {
  std::vector<std::pair<std::size_t, std::size_t>> open = {{0, x.size() - 1}};
  taken.insert({0, x.size() - 1});
  while (!open.empty()) {
    const auto [from, to] = open.back();
    open.pop_back();
    double farthest = room;
    std::size_t at = from;
    for (std::size_t k = from + 1; k < to; ++k) {
      const double share = x[to] > x[from] ? (x[k] - x[from]) / (x[to] - x[from]) : 0.0;
      const double away = std::abs(y[k] - (y[from] + share * (y[to] - y[from])));
      if (away > farthest) {
        farthest = away;
        at = k;
      }
    }
    if (at == from) continue;
    taken.insert(at);
    open.emplace_back(from, at);
    open.emplace_back(at, to);
  }
}

/// The power of ten in which figures of a range are told to three digits and more.
double decimal_tick(double range) {
  constexpr double kSteps = 1000.0;
  return range > 0.0 ? std::pow(10.0, std::floor(std::log10(range / kSteps))) : 1e-3;
}

/// The points as whole numbers, each row a time and voltages, in units of `ticks` and
/// counted from the row before (the first from 0): a third as long as the figures.
std::string data_html(const RunCourse& course, std::size_t number) {
  constexpr double kFinerTime = 10.0;  // Steep edges keep their points apart.
  const double span = course.seconds.back() - course.seconds.front();
  std::vector<double> ticks = {decimal_tick(span / kFinerTime)};
  for (const auto& volts : course.volts) {
    const auto [low, high] = std::minmax_element(volts.begin(), volts.end());
    ticks.push_back(decimal_tick(*high - *low));
  }
  std::string text = fmt::format(
      "<script type=\"application/json\" id=\"rows-{}\">{{\"labels\":[\"s\"", number);
  for (const std::string& net : course.nets) text += fmt::format(",\"{}\"", net);
  text += "],\"ticks\":[";
  for (std::size_t k = 0; k < ticks.size(); ++k)
    text += fmt::format("{}{:.0e}", k == 0 ? "" : ",", ticks[k]);
  text += "],\"rows\":[";
  std::vector<long long> before(ticks.size(), 0);
  for (std::size_t k = 0; k < course.seconds.size(); ++k) {
    text += k == 0 ? "[" : ",[";
    for (std::size_t column = 0; column < ticks.size(); ++column) {
      const double figure =
          column == 0 ? course.seconds[k] : course.volts[column - 1][k];
      const long long now = std::llround(figure / ticks[column]);
      text += fmt::format("{}{}", column == 0 ? "" : ",", now - before[column]);
      before[column] = now;
    }
    text += "]";
  }
  return text + "]}</script>\n";
}

/// The same drawn, for print and for browsers without scripts: a strip for each net.
std::string drawn_html(const RunCourse& course) {
  constexpr double kLeft = 150.0;
  constexpr double kWidth = 640.0;
  constexpr double kStrip = 70.0;
  constexpr double kFine = 4.0;
  const double height = kStrip * static_cast<double>(course.nets.size()) + 24.0;
  const double span = course.seconds.back() - course.seconds.front();
  std::string text = fmt::format(
      "<svg class=\"waves drawn\" viewBox=\"0 0 800 {:.0f}\" role=\"img\" "
      "aria-label=\"Waveforms of run {}\">\n",
      height, markup_text(course.run));
  for (std::size_t net = 0; net < course.nets.size(); ++net) {
    const auto [low, high] =
        std::minmax_element(course.volts[net].begin(), course.volts[net].end());
    const double range = *high > *low ? *high - *low : 1.0;
    const double top = kStrip * static_cast<double>(net) + 8.0;
    const double bottom = top + kStrip - 20.0;
    text += fmt::format(
        "<line x1=\"{0:.0f}\" y1=\"{1:.0f}\" x2=\"{2:.0f}\" y2=\"{1:.0f}\"/>"
        "<line x1=\"{0:.0f}\" y1=\"{3:.0f}\" x2=\"{2:.0f}\" y2=\"{3:.0f}\"/>"
        "<text x=\"4\" y=\"{4:.0f}\">{5}</text>"
        "<text x=\"{6:.0f}\" y=\"{7:.0f}\" text-anchor=\"end\">{8}</text>"
        "<text x=\"{6:.0f}\" y=\"{9:.0f}\" text-anchor=\"end\">{10}</text>\n"
        "<path transform=\"scale({11})\" d=\"",
        kLeft, top, kLeft + kWidth, bottom, (top + bottom) / 2.0 + 4.0,
        course.nets[net], kLeft - 4.0, top + 8.0, figure_text(*high, Unit::volt),
        bottom, figure_text(*low, Unit::volt), 1.0 / kFine);
    // A third of what can be told apart in print; fewer points than all nets need.
    std::set<std::size_t> taken;
    take_points(course.seconds, course.volts[net], range / 150.0, taken);
    // In quarters of a unit, each point from the one before it: a third as long.
    long at_x = 0;
    long at_y = 0;
    for (const std::size_t k : taken) {
      const long x =
          std::lround(kFine * (kLeft + (course.seconds[k] - course.seconds.front()) /
                                           span * kWidth));
      const long y = std::lround(
          kFine * (bottom - (course.volts[net][k] - *low) / range * (bottom - top)));
      text += fmt::format("{}{}{}{}",
                          k == 0               ? "M"
                          : text.back() == 'l' ? ""
                                               : " ",
                          x - at_x, y < at_y ? "" : " ", y - at_y);
      if (k == 0) text += "l";
      at_x = x;
      at_y = y;
    }
    if (text.back() == 'l') text.pop_back();
    text += "\"/>\n";
  }
  return text + fmt::format(
                    "<text x=\"{:.0f}\" y=\"{:.0f}\">0</text>"
                    "<text x=\"{:.0f}\" y=\"{:.0f}\" text-anchor=\"end\">{}"
                    "</text>\n</svg>\n",
                    kLeft, height - 6.0, kLeft + kWidth, height - 6.0,
                    figure_text(course.seconds.back(), Unit::second));
}

}  // namespace

RunCourse course_of(const Circuit& circuit, const Run& run, const Record& record) {
  RunCourse course;
  course.run = run.name;
  const std::vector<int> nets = nets_to_show(circuit, run, record, course.left_out);
  std::vector<std::vector<double>> volts;
  for (const int net : nets) {
    course.nets.push_back(circuit.nets[net].name);
    volts.push_back(record.volts(net).values);
  }
  const std::vector<double>& seconds = record.seconds();
  std::set<std::size_t> taken;
  for (double share = 1.0 / 300.0;; share *= 2.0) {
    taken.clear();
    for (const auto& trace : volts) {
      const auto [low, high] = std::minmax_element(trace.begin(), trace.end());
      take_points(seconds, trace, std::max(1e-6, (*high - *low) * share), taken);
    }
    if (taken.size() <= kMostPoints || share > 0.25) break;
  }
  course.volts.resize(volts.size());
  for (const std::size_t k : taken) {
    course.seconds.push_back(seconds[k]);
    for (std::size_t net = 0; net < volts.size(); ++net)
      course.volts[net].push_back(volts[net][k]);
  }
  return course;
}

std::string courses_html(const PageReport& report) {
  std::string text;
  for (std::size_t k = 0; k < report.courses.size(); ++k) {
    const RunCourse& course = report.courses[k];
    text +=
        fmt::format("<div class=\"run\"><h3>Run {}</h3>\n", markup_text(course.run));
    if (course.nets.empty() || course.seconds.size() < 2) {
      text += "<p>No net moves.</p></div>\n";
      continue;
    }
    text += fmt::format(
        "<p class=\"soft screen-only\">Point at it, or move along it with the arrow "
        "keys "
        "(with Shift in larger steps); + and - zoom, Escape shows all.</p>\n"
        "<div class=\"plot screen-only\" tabindex=\"0\" role=\"application\" "
        "aria-label=\"Waveforms of run {0}\" data-rows=\"rows-{1}\" "
        "data-read=\"read-{1}\"></div>\n"
        "<p class=\"read screen-only\" id=\"read-{1}\" aria-live=\"polite\"></p>\n",
        markup_text(course.run), k);
    text += data_html(course, k) + drawn_html(course);
    if (course.left_out > 0)
      text += fmt::format(
          "<p class=\"soft\">{} that move as well are not shown.</p>\n",
          course.left_out == 1 ? "1 net" : fmt::format("{} nets", course.left_out));
    text += "</div>\n";
  }
  return text;
}

}  // namespace benchproof
