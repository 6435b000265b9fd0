#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "cli/render/layout.h"
#include "cli/render/size/size_advice.h"
#include "cli/render/size/size_report.h"
#include "cli/render/verify/findings_text.h"
#include "core/base/complaints.h"
#include "core/base/marking.h"
#include "core/check/rest/limits.h"
#include "core/circuit/tolerance.h"

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

/// "a", "a and b", "a, b and c".
std::string in_words(std::vector<std::string> items) {
  if (items.size() < 2) return items.empty() ? "" : items.front();
  const std::string last = std::move(items.back());
  items.pop_back();
  return fmt::format("{} and {}", fmt::join(items, ", "), last);
}

/// How many values of a choice are told: of those that are the same the first.
std::size_t told_values(const SizeRequest& request) {
  return request.is_same ? 1 : request.keys.size();
}

/// How far a figure is off what is wanted.
std::string off_text(const Goal& goal, double value) {
  if (std::isinf(value)) return "never";
  if (!std::isfinite(value)) return "-";
  if (goal.want == 0.0) return goal_text(goal, value);
  const double percent = 100.0 * (value - goal.want) / std::abs(goal.want);
  constexpr double kUntold = 0.005;  // Half of the last digit that is told.
  if (std::abs(percent) < kUntold) return "0.00 %";
  return fmt::format("{:+.{}f} %", percent, std::abs(percent) < 10.0 ? 2 : 1);
}

std::string names_of(const SizeReport& report) {
  std::vector<std::string> names;
  for (const SizedKey& key : report.request.keys)
    names.push_back(
        fmt::format("{}.{}", report.file.circuit->parts[key.part].name, key.key));
  return in_words(names);
}

std::string verdict_text(const Goal& goal, const SizeChoice& c) {
  if (!c.agrees) return "withheld: the witnesses do not agree";
  if (!c.keeps && std::isinf(c.nodal)) return "never";
  if (!c.keeps && !c.yield)
    return goal.relation == Goal::Relation::equal ? "too far off" : "on the wrong side";
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
                     report.is_state_chosen ? ", the first in which it decides" : "");
}

/// "63.6 (63.3 to 63.9)": in how many of 100 copies values do what is wanted.
std::string yield_text(const ValuesYield& yield) {
  return fmt::format("{} ({} to {})", hundredths(yield.share.share),
                     hundredths(yield.share.least), hundredths(yield.share.most));
}

/// What the figure takes over the tolerance, or how many copies do what is wanted.
std::string spread_text(const Goal& goal, const SizeChoice& c) {
  if (c.yield) return yield_text(*c.yield);
  if (c.least == c.most) return "-";
  return fmt::format("{} to {}", goal_text(goal, c.least), goal_text(goal, c.most));
}

std::string candidates_table(const SizeReport& report) {
  const Goal& goal = report.request.goal;
  std::vector<TableRow> rows;
  std::vector<std::string> head;
  const std::size_t told = told_values(report.request);
  for (std::size_t k = 0; k < told; ++k)
    head.push_back(report.request.is_same
                       ? "each"
                       : report.file.circuit->parts[report.request.keys[k].part].name);
  head.insert(head.end(), {"gives", "off by", "over its tolerance"});
  if (report.request.keys.size() > 1) head.back() = "over their tolerances";
  if (report.request.yield) head.back() = "work of 100";
  if (report.request.yield) head.emplace_back("copies");
  rows.push_back({head, {"verdict"}});
  std::string align(head.size(), 'r');
  for (const SizeChoice& c : report.sizing.candidates) {
    TableRow row;
    for (std::size_t k = 0; k < told; ++k)
      row.cells.push_back(value_text(report.request.keys[k], c.values[k]));
    row.cells.push_back(goal_text(goal, c.nodal));
    row.cells.push_back(off_text(goal, c.nodal));
    row.cells.push_back(spread_text(goal, c));
    if (c.yield) row.cells.push_back(std::to_string(c.yield->copies));
    row.tail = split_words(verdict_text(goal, c));
    row.tail_gap = 1;
    rows.push_back(std::move(row));
  }
  return table(rows, align, 2);
}

/// The colour bands of the resistors among the values; empty where there are none.
std::string bands_text(const SizeReport& report, const SizeChoice& c) {
  std::string text;
  for (std::size_t k = 0; k < told_values(report.request); ++k) {
    const SizedKey& key = report.request.keys[k];
    const Part& part = report.file.circuit->parts[key.part];
    if (part.kind != KindId::resistor || key.key != "value") continue;
    const auto tolerance = tolerance_of(part, key.key, key.series);
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
    const auto tolerance = tolerance_of(part, key.key, key.series);
    if (!tolerance || part.settings.contains("tolerance")) continue;
    return fmt::format("'{}' has no tolerance: {} is assumed", part.name,
                       short_text(*tolerance, Unit::fraction));
  }
  return {};
}

/// The values that the figure takes between the bounds.
std::string reach_text(const SizeReport& report) {
  const Sizing& sizing = report.sizing;
  const Goal& goal = report.request.goal;
  // The search does not wait for a crossing much later than wanted.
  if (!std::isfinite(sizing.reach_least))
    return fmt::format("after {} or never", goal_text(goal, kInGoodTime * goal.want));
  return fmt::format("{} to {}{}", goal_text(goal, sizing.reach_least),
                     goal_text(goal, sizing.reach_most),
                     sizing.misses ? " or never" : "");
}

/// "330 ohm and 10 nF": the values of a candidate.
std::string values_text(const SizeReport& report, const SizeChoice& c) {
  std::vector<std::string> values;
  for (std::size_t k = 0; k < told_values(report.request); ++k)
    values.push_back(value_text(report.request.keys[k], c.values[k]));
  return fmt::format("{}{}", fmt::join(values, " and "),
                     report.request.is_same ? " for each" : "");
}

/// "from 10 ohm to 1 kohm": where a value was looked for.
std::string bounds_text(const SizedKey& key) {
  return fmt::format("from {} to {}", value_text(key, key.least),
                     value_text(key, key.most));
}

std::string no_standard_value_text(const SizeReport& report) {
  std::vector<std::string> lacking;
  for (std::size_t k = 0; k < told_values(report.request); ++k)
    lacking.push_back(bounds_text(report.request.keys[k]));
  return fmt::format("out of reach: the series has no value {}",
                     fmt::join(lacking, ", or none "));
}

std::string jump_text(const SizeReport& report) {
  std::vector<std::string> sides;
  for (const SizeChoice& c : report.sizing.candidates)
    sides.push_back(fmt::format("{} gives {}",
                                value_text(report.request.keys[0], c.values[0]),
                                goal_text(report.request.goal, c.nodal)));
  return fmt::format("no value gives it, the figure jumps past it: {}",
                     fmt::join(sides, ", "));
}

/// Where to look instead, for a goal at rest that is out of reach; empty if unknown.
std::string elsewhere_text(const SizeReport& report) {
  constexpr double kNothing = 1e-3;  // Of what is wanted.
  const Circuit& circuit = *report.file.circuit;
  if (report.request.state < 0) return {};
  if (report.reached_in >= 0)
    return fmt::format("; it is within reach in state {}, which --state names",
                       benchproof::quoted(circuit.states[report.reached_in].name));
  const double most =
      std::max(std::abs(report.sizing.reach_least), std::abs(report.sizing.reach_most));
  if (most > kNothing * std::abs(report.request.goal.want)) return {};
  return fmt::format(
      "; next to nothing of it is there in state {}: name a state in which what feeds "
      "the part is on, with --state",
      benchproof::quoted(circuit.states[report.request.state].name));
}

std::string out_of_reach_text(const SizeReport& report, const SizeAdvice& advice) {
  const Goal& goal = report.request.goal;
  if (report.request.is_pair())
    return fmt::format("out of reach: the pairs of the series give {}",
                       reach_text(report));
  return fmt::format("out of reach: {} it goes from {}{}{}",
                     bounds_text(report.request.keys.front()), reach_text(report),
                     advice.is_sign_suspect
                         ? fmt::format("; is {} meant?", goal_text(goal, -goal.want))
                         : "",
                     elsewhere_text(report));
}

/// Why the recommended candidate is the one to take.
std::string reason_text(const SizeReport& report, const SizeAdvice& advice) {
  std::vector<std::string_view> series;
  for (const Series s : advice.series) series.push_back(series_word(s));
  switch (advice.reason) {
    case SizeReason::as_it_is:
      return "as it is";
    case SizeReason::nearest_to_present:
      return "nearest to what it is";
    case SizeReason::nearest_of_series:
      return fmt::format("nearest of {}{}", fmt::join(series, " and "),
                         report.request.goal.relation == Goal::Relation::equal
                             ? ""
                             : " on the right side");
    case SizeReason::as_wanted:
      return "as wanted";
    case SizeReason::most_copies:
      return "with it the most copies do what is wanted";
  }
  return {};
}

std::string recommendation_text(const SizeReport& report, const SizeAdvice& advice) {
  const Goal& goal = report.request.goal;
  const SizeChoice& best = report.sizing.candidates[report.sizing.recommended];
  std::string text = fmt::format("take {}: {}", values_text(report, best),
                                 reason_text(report, advice));
  if (best.yield)
    text += fmt::format(", {} in 100 ({} to {}, with 95 % certainty)",
                        hundredths(best.yield->share.share),
                        hundredths(best.yield->share.least),
                        hundredths(best.yield->share.most));
  else if (!advice.every_value_meets)
    text += ", " + off_text(goal, best.nodal);
  if (best.yield && !best.keeps)
    text += fmt::format("; as described it gives {} itself, which is too far off",
                        goal_text(goal, best.nodal));
  if (!advice.every_value_meets && advice.passed_over >= 0) {
    const SizeChoice& nearer = report.sizing.candidates[advice.passed_over];
    text += fmt::format("; {} would {}, but: {}", values_text(report, nearer),
                        best.yield ? "let more copies do so" : "come nearer",
                        verdict_text(goal, nearer));
  }
  if (advice.beyond_bound && !best.yield)
    text += fmt::format("; over its tolerance it may go beyond, to {}",
                        goal_text(goal, *advice.beyond_bound));
  if (!best.faults.empty())
    text += fmt::format("; it leaves {}: {}", counted(best.faults.size(), "fault"),
                        plain_text(best.faults.front().message));
  for (const Finding& caution : best.cautions)
    text += fmt::format("; mind that {}", plain_text(caution.message));
  return text;
}

/// Whether no copy of any value works.
bool is_without_copies(const Sizing& sizing) {
  return std::all_of(sizing.yields.begin(), sizing.yields.end(),
                     [](const ValuesYield& yield) { return yield.works == 0; });
}

std::string advice_text(const SizeReport& report) {
  const SizeAdvice advice = advise(report.request, report.sizing);
  const Goal& goal = report.request.goal;
  const SizedKey& key = report.request.keys.front();
  const std::string every = advice.every_value_meets
                                ? fmt::format("every value {} meets it, {}; ",
                                              bounds_text(key), reach_text(report))
                                : "";
  switch (advice.outcome) {
    case SizeOutcome::recommended:
      return every + recommendation_text(report, advice);
    case SizeOutcome::none_good:
      if (report.request.yield && is_without_copies(report.sizing))
        return "with none of these a single copy does what is wanted; 'benchproof "
               "tolerance' tells what spoils copies";
      return every + "none of these can be recommended";
    case SizeOutcome::no_standard_value:
      return no_standard_value_text(report);
    case SizeOutcome::jumps_past:
      return jump_text(report);
    case SizeOutcome::out_of_reach:
      return out_of_reach_text(report, advice);
    case SizeOutcome::constant:
      return fmt::format("out of reach: {} it stays at {}", bounds_text(key),
                         goal_text(goal, report.sizing.reach_least));
    case SizeOutcome::never_in_time:
      return fmt::format("out of reach: {} it takes longer than {}, or for ever",
                         bounds_text(key), goal_text(goal, kInGoodTime * goal.want));
    case SizeOutcome::no_answer:
      return report.request.is_pair()
                 ? "no pair of the series gives an answer"
                 : "the nodal witness has no answer at any value looked at";
  }
  return {};
}

/// " (3.600 mA to 4.400 mA will do)"; empty where it is not told.
std::string near_enough_text(const Goal& goal) {
  if (!goal.band) return {};
  if (!goal.band->most)
    return fmt::format(" ({} and more will do)", goal_text(goal, *goal.band->least));
  if (!goal.band->least)
    return fmt::format(" ({} and less will do)", goal_text(goal, *goal.band->most));
  return fmt::format(" ({} to {} will do)", goal_text(goal, *goal.band->least),
                     goal_text(goal, *goal.band->most));
}

/// What is counted as a copy that does what is wanted; empty where copies are not.
std::string counting_text(const SizeReport& report) {
  const SizeRequest& request = report.request;
  if (!request.yield || report.sizing.yields.empty()) return {};
  return "\n" +
         wrapped(fmt::format("of {} copies those are counted in which the goal is "
                             "kept to in state '{}', and no expectation and no "
                             "rating fails in any state at rest:",
                             request.yield->copies,
                             report.file.circuit->states[request.state].name),
                 0, 2);
}

/// The goal, and what the circuit gives as it is.
std::string question_text(const SizeReport& report) {
  const Goal& goal = report.request.goal;
  std::string text =
      wrapped(
          fmt::format("{}: {} for {} {} {}, {}", printable(report.file.file),
                      names_of(report), plain_text(goal.figure), sign(goal.relation),
                      goal_text(goal, goal.want) + near_enough_text(goal),
                      where_text(report)),
          0, 2) +
      "\n";
  std::vector<std::string> present;
  for (const SizedKey& key : report.request.keys)
    present.push_back(key.present ? value_text(key, *key.present) : "-");
  const bool is_one = report.request.is_same &&
                      std::count(present.begin(), present.end(), present.front()) ==
                          std::ssize(present);
  if (is_one) present = {present.front() + " each"};
  const std::string values = in_words(present);
  return text +
         wrapped(std::isinf(report.sizing.present)
                     ? fmt::format("now: never with {}", values)
                     : fmt::format("now: {} {} {}", values,
                                   report.request.keys.size() > 1 ? "give" : "gives",
                                   goal_text(goal, report.sizing.present)),
                 2, 4);
}

/// The value that meets the goal, standard or not; empty if there is none.
std::string exact_text(const SizeReport& report) {
  const Sizing& sizing = report.sizing;
  if (!sizing.exact) return {};
  const Unit unit = report.request.keys.front().unit;
  const auto digits_of = [unit](double value, int digits) {
    return plain_text(figure_text(value, unit, digits));
  };
  std::string text =
      wrapped(sizing.jumps ? fmt::format("at about {} it jumps past the goal",
                                         digits_of(*sizing.exact, 3))
                           : fmt::format("exactly: {}", digits_of(*sizing.exact, 5)),
              2, 4);
  std::vector<std::string> others;
  for (const double other : sizing.others) others.push_back(digits_of(other, 5));
  if (!others.empty())
    text += wrapped(fmt::format("it is met elsewhere too: {}", fmt::join(others, ", ")),
                    2, 4);
  return text;
}

/// Colour bands, tolerance and both witnesses' figures of the recommended values; empty
/// if none are recommended.
std::string recommended_lines(const SizeReport& report) {
  if (report.sizing.recommended < 0) return {};
  const SizeChoice& best = report.sizing.candidates[report.sizing.recommended];
  const Unit unit = report.request.goal.unit;
  std::string text;
  if (const std::string bands = bands_text(report, best); !bands.empty())
    text += wrapped("colour bands: " + bands, 2, 4);
  text += wrapped(assumed_text(report), 2, 4);
  if (std::isinf(best.nodal)) return text + "  both witnesses: never\n";
  return text + wrapped(fmt::format("both witnesses: engine {}, nodal {}",
                                    plain_text(figure_text(best.engine, unit, 6)),
                                    plain_text(figure_text(best.nodal, unit, 6))),
                        2, 4);
}

}  // namespace

std::string size_text(const SizeReport& report, bool colour) {
  std::string text = title_lines(report.file.circuit->title, colour);
  text += question_text(report) + exact_text(report);
  text += counting_text(report);
  if (!report.sizing.candidates.empty()) text += "\n" + candidates_table(report);
  text += "\n" + inked("advice: ", Ink::strong, colour) +
          wrapped(advice_text(report), 8, 2).substr(8);
  text += recommended_lines(report);
  for (const Written& w : report.written)
    text += wrapped(
        fmt::format("written: {}:{}:{}: {} is now {}", printable(report.file.file),
                    w.line, w.column, printable(w.from), printable(w.to)),
        2, 4);
  return text;
}

}  // namespace benchproof
