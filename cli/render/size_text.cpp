#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "cli/render/findings_text.h"
#include "cli/render/layout.h"
#include "cli/render/size_report.h"
#include "core/base/complaints.h"
#include "core/base/marking.h"
#include "core/check/limits.h"

namespace benchproof {
namespace {

/// A chosen value: standard ones have three digits at most.
std::string value_text(const SizedKey& key, double value) {
  if (!std::isfinite(value)) return "-";
  return plain_text(short_text(value, key.unit, 4));
}

std::string goal_text(const Goal& goal, double value) {
  if (std::isinf(value)) return "never";
  return std::isfinite(value) ? plain_text(figure_text(value, goal.unit, 4))
                              : "no answer";
}

/// How far a figure is off what is wanted.
std::string off_text(const Goal& goal, double value) {
  if (std::isinf(value)) return "never";
  if (!std::isfinite(value)) return "-";
  if (goal.want == 0.0) return goal_text(goal, value);
  const double percent = 100.0 * (value - goal.want) / std::abs(goal.want);
  return fmt::format("{:+.{}f} %", percent, std::abs(percent) < 10.0 ? 2 : 1);
}

std::string names_of(const SizeReport& report) {
  std::vector<std::string> names;
  for (const SizedKey& key : report.request.keys)
    names.push_back(
        fmt::format("{}.{}", report.file.circuit->parts[key.part].name, key.key));
  return fmt::format("{}", fmt::join(names, " and "));
}

std::string verdict_text(const SizeChoice& c) {
  if (!c.agrees) return "withheld: the witnesses do not agree";
  if (!c.keeps) return std::isinf(c.nodal) ? "never" : "on the wrong side";
  if (c.faults.empty())
    return c.verdict == Verdict::caution ? "good, with care" : "good";
  const Finding& first = c.faults.front();
  return fmt::format("{}: {} {}", counted(c.faults.size(), "fault"), first.check,
                     first.part.empty() ? first.net : first.part);
}

std::string where_text(const SizeReport& report) {
  const Circuit& circuit = *report.file.circuit;
  if (report.request.state < 0)
    return fmt::format("in run '{}'",
                       circuit.runs[report.request.goal.subject.run].name);
  return fmt::format("in state '{}'{}", circuit.states[report.request.state].name,
                     report.is_state_chosen ? ", the first in which it matters" : "");
}

std::string candidates_table(const SizeReport& report) {
  const Goal& goal = report.request.goal;
  std::vector<TableRow> rows;
  std::vector<std::string> head;
  for (const SizedKey& key : report.request.keys)
    head.push_back(report.file.circuit->parts[key.part].name);
  head.insert(head.end(), {"gives", "off by", "over its tolerance"});
  if (report.request.keys.size() > 1) head.back() = "over their tolerances";
  rows.push_back({head, {"verdict"}});
  std::string align(head.size(), 'r');
  for (const SizeChoice& c : report.sizing.candidates) {
    TableRow row;
    for (std::size_t k = 0; k < c.values.size(); ++k)
      row.cells.push_back(value_text(report.request.keys[k], c.values[k]));
    row.cells.push_back(goal_text(goal, c.nodal));
    row.cells.push_back(off_text(goal, c.nodal));
    row.cells.push_back(c.least == c.most
                            ? "-"
                            : fmt::format("{} to {}", goal_text(goal, c.least),
                                          goal_text(goal, c.most)));
    row.tail = split_words(verdict_text(c));
    row.tail_gap = 1;
    rows.push_back(std::move(row));
  }
  return table(rows, align, 2);
}

/// The colour bands of the resistors among the values; empty where there are none.
std::string bands_text(const SizeReport& report, const SizeChoice& c) {
  std::string text;
  for (std::size_t k = 0; k < c.values.size(); ++k) {
    const SizedKey& key = report.request.keys[k];
    const Part& part = report.file.circuit->parts[key.part];
    if (part.kind != KindId::resistor || key.key != "value") continue;
    const auto tolerance = tolerance_of(*report.file.circuit, key);
    const auto bands = colour_bands(c.values[k], tolerance.value_or(0.05));
    if (bands.empty()) continue;
    text += fmt::format("{}{}: {}", text.empty() ? "" : "; ",
                        value_text(key, c.values[k]), fmt::join(bands, " "));
  }
  return text;
}

/// The tolerance that the band stands for where a part does not give its own; empty
/// where all do, or have none.
std::string assumed_text(const SizeReport& report) {
  for (const SizedKey& key : report.request.keys) {
    const Part& part = report.file.circuit->parts[key.part];
    const auto tolerance = tolerance_of(*report.file.circuit, key);
    if (!tolerance || part.settings.contains("tolerance")) continue;
    return fmt::format("'{}' has no tolerance: {} is assumed", part.name,
                       short_text(*tolerance, Unit::fraction));
  }
  return {};
}

/// Why a candidate that came nearer is not the one recommended.
std::string passed_over_text(const SizeReport& report, const SizeChoice& best) {
  const double want = report.request.goal.want;
  for (const SizeChoice& c : report.sizing.candidates) {
    const double nearer = std::abs(best.nodal - want) - std::abs(c.nodal - want);
    if (!c.keeps || !(nearer > blur(report.request.goal))) continue;
    std::vector<std::string> values;
    for (std::size_t k = 0; k < c.values.size(); ++k)
      values.push_back(value_text(report.request.keys[k], c.values[k]));
    return fmt::format("; {} would come nearer, but: {}", fmt::join(values, " and "),
                       verdict_text(c));
  }
  return {};
}

/// That a value on the right side of a bound does not stay there over its tolerance.
std::string tolerance_text(const Goal& goal, const SizeChoice& best) {
  for (const double end : {best.least, best.most})
    if (!keeps_to(goal, end))
      return fmt::format("; over its tolerance it may go beyond, to {}",
                         goal_text(goal, end));
  return {};
}

bool is_present(const SizeReport& report, const SizeChoice& choice) {
  for (std::size_t k = 0; k < choice.values.size(); ++k)
    if (report.request.keys[k].present != choice.values[k]) return false;
  return true;
}

/// What the figure takes between the bounds.
std::string reach_text(const SizeReport& report) {
  const Sizing& sizing = report.sizing;
  const Goal& goal = report.request.goal;
  // What comes much later than is wanted is not waited for.
  if (!std::isfinite(sizing.reach_least))
    return fmt::format("after {} or never", goal_text(goal, kInGoodTime * goal.want));
  return fmt::format("{} to {}{}", goal_text(goal, sizing.reach_least),
                     goal_text(goal, sizing.reach_most),
                     sizing.misses ? " or never" : "");
}

std::string advice(const SizeReport& report) {
  const Sizing& sizing = report.sizing;
  const Goal& goal = report.request.goal;
  if (sizing.has_no_choice) {
    std::vector<std::string> lacking;
    for (const SizedKey& key : report.request.keys)
      lacking.push_back(fmt::format("from {} to {}", value_text(key, key.least),
                                    value_text(key, key.most)));
    return fmt::format("out of reach: the series has no value {}",
                       fmt::join(lacking, ", or none "));
  }
  if (goal.relation == Goal::Relation::equal && sizing.jumps) {
    std::vector<std::string> sides;
    for (const SizeChoice& c : sizing.candidates)
      sides.push_back(fmt::format("{} gives {}",
                                  value_text(report.request.keys[0], c.values[0]),
                                  goal_text(goal, c.nodal)));
    return fmt::format("no value gives it, the figure jumps past it: {}",
                       fmt::join(sides, ", "));
  }
  if (sizing.candidates.empty()) {
    if (report.request.keys.size() > 1)
      return std::isfinite(sizing.reach_least)
                 ? fmt::format("out of reach: the pairs of the series give {}",
                               reach_text(report))
                 : "no pair of the series gives an answer";
    const SizedKey& key = report.request.keys.front();
    const std::string looked = fmt::format("from {} to {}", value_text(key, key.least),
                                           value_text(key, key.most));
    if (!std::isfinite(sizing.reach_least))
      return sizing.misses
                 ? fmt::format("out of reach: {} it takes longer than {}, or for ever",
                               looked, goal_text(goal, kInGoodTime * goal.want))
                 : "the nodal witness has no answer at any value looked at";
    const bool has_other_sign = goal.want != 0.0 && -goal.want >= sizing.reach_least &&
                                -goal.want <= sizing.reach_most;
    const double most =
        std::max(std::abs(sizing.reach_least), std::abs(sizing.reach_most));
    constexpr double kSame = 1e-9;
    if (sizing.reach_most - sizing.reach_least <= kSame * most && !sizing.misses)
      return fmt::format("out of reach: {} it stays at {}", looked,
                         goal_text(goal, sizing.reach_least));
    return fmt::format("out of reach: {} it goes from {}{}", looked, reach_text(report),
                       has_other_sign
                           ? fmt::format("; is {} meant?", goal_text(goal, -goal.want))
                           : "");
  }
  std::string all;
  if (report.request.keys.size() == 1 && !sizing.exact) {
    const SizedKey& key = report.request.keys.front();
    all = fmt::format("every value from {} to {} meets it, {}; ",
                      value_text(key, key.least), value_text(key, key.most),
                      reach_text(report));
  }
  if (sizing.recommended < 0) return all + "none of these can be recommended";
  const SizeChoice& best = sizing.candidates[sizing.recommended];
  std::vector<std::string> values;
  for (std::size_t k = 0; k < best.values.size(); ++k)
    values.push_back(value_text(report.request.keys[k], best.values[k]));
  std::string series;
  for (const SizedKey& key : report.request.keys)
    if (key.series && series.find(word(*key.series)) == std::string::npos)
      series += fmt::format("{}{}", series.empty() ? "" : " and ", word(*key.series));
  const std::string nearest =
      !all.empty()
          ? std::string(is_present(report, best) ? "as it is" : "nearest to what it is")
      : !series.empty()
          ? fmt::format(
                "nearest of {}{}", series,
                goal.relation == Goal::Relation::equal ? "" : " on the right side")
          : std::string("as wanted");
  std::string text =
      all + fmt::format("take {}: {}", fmt::join(values, " and "), nearest);
  if (all.empty())
    text += fmt::format(", {}{}", off_text(goal, best.nodal),
                        passed_over_text(report, best));
  text += tolerance_text(goal, best);
  if (!best.faults.empty())
    text += fmt::format("; it leaves {}: {}", counted(best.faults.size(), "fault"),
                        plain_text(best.faults.front().message));
  for (const Finding& caution : best.cautions)
    text += fmt::format("; mind that {}", plain_text(caution.message));
  return text;
}

}  // namespace

std::string size_text(const SizeReport& report, bool colour) {
  const Circuit& circuit = *report.file.circuit;
  const Goal& goal = report.request.goal;
  const Sizing& sizing = report.sizing;
  std::string text = title_lines(circuit.title, colour);
  text += wrapped(
      fmt::format("{}: {} for {} {} {}, {}", printable(report.file.file),
                  names_of(report), plain_text(goal.figure), sign(goal.relation),
                  goal_text(goal, goal.want), where_text(report)),
      0, 2);
  text += "\n";
  std::vector<std::string> present;
  for (const SizedKey& key : report.request.keys)
    present.push_back(key.present ? value_text(key, *key.present) : "-");
  const std::string values = fmt::format("{}", fmt::join(present, " and "));
  text += wrapped(
      std::isinf(sizing.present)
          ? fmt::format("now: never with {}", values)
          : fmt::format("now: {} {} {}", values, present.size() > 1 ? "give" : "gives",
                        goal_text(goal, sizing.present)),
      2, 4);
  if (sizing.exact) {
    const SizedKey& key = report.request.keys.front();
    const auto exact = [&](int digits) {
      return plain_text(figure_text(*sizing.exact, key.unit, digits));
    };
    text += wrapped(sizing.jumps
                        ? fmt::format("at about {} it jumps past the goal", exact(3))
                        : fmt::format("exactly: {}", exact(5)),
                    2, 4);
    std::vector<std::string> others;
    for (const double other : sizing.others)
      others.push_back(plain_text(figure_text(other, key.unit, 5)));
    if (!others.empty())
      text += wrapped(
          fmt::format("it is met elsewhere too: {}", fmt::join(others, ", ")), 2, 4);
  }
  if (!sizing.candidates.empty()) text += "\n" + candidates_table(report);
  text += "\n" + inked("advice: ", Ink::strong, colour) +
          wrapped(advice(report), 8, 2).substr(8);
  if (sizing.recommended >= 0) {
    const SizeChoice& best = sizing.candidates[sizing.recommended];
    const std::string bands = bands_text(report, best);
    if (!bands.empty()) text += wrapped("colour bands: " + bands, 2, 4);
    const std::string assumed = assumed_text(report);
    if (!assumed.empty()) text += wrapped(assumed, 2, 4);
    if (std::isinf(best.nodal)) {
      text += "  both witnesses: never\n";
    } else {
      text += wrapped(fmt::format("both witnesses: engine {}, nodal {}",
                                  plain_text(figure_text(best.engine, goal.unit, 6)),
                                  plain_text(figure_text(best.nodal, goal.unit, 6))),
                      2, 4);
    }
  }
  for (const Written& w : report.written)
    text += wrapped(
        fmt::format("written: {}:{}:{}: {} is now {}", printable(report.file.file),
                    w.line, w.column, printable(w.from), printable(w.to)),
        2, 4);
  return text;
}

}  // namespace benchproof
