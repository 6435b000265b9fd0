#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <utility>

#include "cli/render/layout.h"
#include "cli/render/range/range_report.h"
#include "cli/render/verify/findings_text.h"
#include "core/base/quantity.h"

namespace benchproof {
namespace {

/// "9.500 V", "60 V": to the millivolt.
std::string volts_text(double volts) {
  std::string text = fmt::format("{:.3f}", volts);
  if (text.ends_with(".000")) text.resize(text.size() - 4);
  return text + " V";
}

std::string stretch_text(double least, double most) {
  return fmt::format("{} to {}", volts_text(least), volts_text(most));
}

std::string subject(const Finding& finding) {
  return plain_text(finding.part.empty() ? finding.net : finding.part);
}

/// "'bulk' (capacitor-voltage)"
std::string cause_text(const Finding& finding) {
  return fmt::format("'{}' ({})", subject(finding), finding.check);
}

/// Names side by side; of many the first, and how many more there are.
std::string listed(std::vector<std::string> names) {
  constexpr std::size_t kMost = 4;
  if (names.size() > kMost) {
    const std::size_t more = names.size() - kMost;
    names.resize(kMost);
    names.push_back(fmt::format("{} more", more));
  }
  return fmt::format("{}", fmt::join(names, ", "));
}

/// "'bulk', 'spare'": the parts in which the check that sets an end fails there.
std::string subjects_text(const RangeEnd& end) {
  std::vector<std::string> subjects;
  for (const Finding& finding : end.findings) {
    const std::string name = "'" + subject(finding) + "'";
    if (finding.check == end.findings.front().check &&
        std::find(subjects.begin(), subjects.end(), name) == subjects.end())
      subjects.push_back(name);
  }
  return listed(std::move(subjects));
}

/// The parts and checks that fail at an end besides the first, and not because of it.
std::string others_text(const RangeEnd& end) {
  std::vector<std::string> others;
  for (auto it = end.findings.begin() + 1; it != end.findings.end(); ++it)
    if (it->follows.empty()) others.push_back(cause_text(*it));
  return others.empty() ? "" : "; also " + listed(std::move(others));
}

/// How far the range would go without the check that ends it.
std::string without_text(const RangeEnd& end, const RangeEnd& without, bool is_lower) {
  const std::string causes = subjects_text(end);
  const std::string_view word = is_lower ? "down to" : "up to";
  if (without.volts == end.volts)
    return fmt::format("with {} changed: no wider, for {} fails there too", causes,
                       cause_text(without.findings.front()));
  std::string text =
      fmt::format("with {} changed: {} {}, ", causes, word, volts_text(without.volts));
  switch (without.kind) {
    case RangeEnd::Kind::check:
      return text + "where " + cause_text(without.findings.front()) + " ends it";
    case RangeEnd::Kind::search:
      return text + (is_lower ? "all the way" : "where extra-low voltage ends");
    case RangeEnd::Kind::no_answer:
      return text + "where the nodal witness has no answer";
  }
  return text;
}

std::string end_section(const RangeEnd& end, const std::optional<RangeEnd>& without,
                        bool is_lower, bool colour) {
  const std::string name = is_lower ? "lower end" : "upper end";
  switch (end.kind) {
    case RangeEnd::Kind::search:
      return wrapped(fmt::format("{}: {}, {}", name, volts_text(end.volts),
                                 is_lower ? "nothing fails all the way down"
                                          : "nothing fails up to there, where "
                                            "extra-low voltage and the search end"),
                     2, 4);
    case RangeEnd::Kind::no_answer:
      return wrapped(fmt::format("{}: {}; at {} the nodal witness has no answer: {}",
                                 name, volts_text(end.volts), volts_text(end.beyond),
                                 complaint_text(end.reason)),
                     2, 4);
    case RangeEnd::Kind::check:
      break;
  }
  const Finding& first = end.findings.front();
  std::string head = wrapped(
      fmt::format("{}: {}, set by {}{}", name, volts_text(end.volts), cause_text(first),
                  first.limit ? ", limit " + figure_text(*first.limit, first.unit)
                              : std::string()),
      2, 4);
  head.replace(2, name.size(), inked(name, Ink::strong, colour));
  const std::string phase =
      first.phase.empty() ? "" : fmt::format(" (while {})", first.phase);
  std::string text =
      head + wrapped(fmt::format("at {}: {}{}{}", volts_text(end.beyond),
                                 plain_text(first.message), phase, others_text(end)),
                     4, 4);
  if (!first.source.empty())
    text += wrapped(
        fmt::format("source: {} ({})", plain_text(first.source), mark_word(first.mark)),
        4, 6);
  if (without) text += wrapped(without_text(end, *without, is_lower), 4, 6);
  return text;
}

/// Whether both witnesses confirm the range that the search found.
std::string testimony_section(const StateRange& state) {
  std::string text;
  for (const RangeTestimony& testimony : state.testimonies)
    if (!testimony.reason.empty())
      text +=
          wrapped(fmt::format("not confirmed at {}: {}", volts_text(testimony.volts),
                              complaint_text(testimony.reason)),
                  2, 4);
  if (!text.empty()) return text;
  return state.range ? "  both witnesses confirm it, now and on either side of both "
                       "ends\n"
                     : "  both witnesses confirm it\n";
}

std::string headline(const StateRange& state) {
  const std::string now =
      fmt::format("state {}, at {} now: ", state.name, volts_text(state.present));
  if (state.verdict == Verdict::nodal_failed && !state.range) return now + "no answer";
  std::string text = now + (state.passes ? "passes" : "fails");
  if (!state.range) return text + ", and so does every voltage from 0 V to 60 V";
  const std::string stretch =
      stretch_text(state.range->lower.volts, state.range->upper.volts);
  if (state.passes) return text + " from " + stretch;
  if (state.always.empty()) return text + "; passes from " + stretch;
  return text + "; all else passes from " + stretch;
}

std::string state_section(const RangeReport& report, const StateRange& state,
                          bool colour) {
  std::string head = wrapped(headline(state), 0, 2);
  const std::size_t name = std::string("state ").size() + state.name.size();
  head.replace(0, name, inked(head.substr(0, name), Ink::strong, colour));
  std::string text = "\n" + head;
  if (!state.present_findings.empty())
    text += findings_section(state.present_findings, report.file.file, colour);
  if (!state.always.empty()) {
    std::vector<std::string> causes;
    for (const Finding& finding : state.always) causes.push_back(cause_text(finding));
    text +=
        wrapped("no supply voltage helps against " + listed(std::move(causes)), 2, 4);
  }
  if (state.range) {
    text += end_section(state.range->lower, state.range->lower_without, true, colour);
    text += end_section(state.range->upper, state.range->upper_without, false, colour);
  }
  for (const VoltageStretch& stretch : state.elsewhere)
    text += wrapped(fmt::format("passes elsewhere too: {}",
                                stretch_text(stretch.least, stretch.most)),
                    2, 4);
  return text + testimony_section(state);
}

std::string names_of(const RangeReport& report, Verdict verdict) {
  std::vector<std::string> names;
  for (const StateRange& state : report.states)
    if (state.verdict == verdict) names.push_back("'" + state.name + "'");
  return fmt::format("{}", fmt::join(names, ", "));
}

/// Whether one state alone has a verdict.
bool is_one(const RangeReport& report, Verdict verdict) {
  return std::count_if(
             report.states.begin(), report.states.end(),
             [verdict](const StateRange& s) { return s.verdict == verdict; }) == 1;
}

std::string verdict_line(const RangeReport& report) {
  const Verdict verdict = verdict_of(report);
  const auto common = common_range(report.states);
  const std::string_view what = report.states.size() > 1 ? "every state" : "it";
  const std::string whole = common
                                ? fmt::format("{} passes from {}", what,
                                              stretch_text(common->least, common->most))
                                : fmt::format("no voltage suits {}", what);
  switch (verdict) {
    case Verdict::good:
    case Verdict::caution:
      return "good - " + whole;
    case Verdict::fault:
      return fmt::format("fault - {} {} now; {}", names_of(report, verdict),
                         is_one(report, verdict) ? "fails" : "fail", whole);
    case Verdict::disagreement:
      return fmt::format("withheld - the witnesses differ in {}",
                         names_of(report, verdict));
    case Verdict::engine_failed:
      return fmt::format("withheld - the engine witness has no answer in {}",
                         names_of(report, verdict));
    case Verdict::nodal_failed:
      return fmt::format("withheld - the nodal witness has no answer in {}",
                         names_of(report, verdict));
  }
  return {};
}

Ink range_ink(Verdict verdict) {
  return verdict == Verdict::good ? Ink::strong : Ink::fault;
}

/// The kinds of findings that end a range.
std::string rules_text(const RangeRules& rules) {
  std::string text = "faults of ratings and function";
  if (rules.cautions) text += ", cautions";
  if (rules.expectations) text += ", expectations";
  return text;
}

}  // namespace

Verdict verdict_of(const RangeReport& report) {
  Verdict verdict = Verdict::good;
  for (const StateRange& state : report.states)
    verdict = std::max(verdict, state.verdict);
  return verdict;
}

std::string range_text(const RangeReport& report, bool colour) {
  const Circuit& circuit = *report.file.circuit;
  const std::string& part =
      circuit.parts.at(static_cast<std::size_t>(report.part)).name;
  std::string text = title_lines(circuit.title, colour);
  text += wrapped(fmt::format("{}: '{}.voltage' from 0 V to {}; what ends a range: {}",
                              version_name(report.file), part,
                              volts_text(kMostRangeVolts), rules_text(report.rules)),
                  0, 2);
  for (const StateRange& state : report.states)
    text += state_section(report, state, colour);
  if (!circuit.runs.empty()) text += "\nstates at rest only: runs are not looked at\n";
  std::string verdict = wrapped("verdict: " + verdict_line(report), 0, 9);
  verdict.pop_back();
  return text + "\n" + inked(verdict, range_ink(verdict_of(report)), colour) + "\n";
}

}  // namespace benchproof
