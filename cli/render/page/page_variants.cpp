// The section of a page that holds a description's variants against it.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "cli/render/compare/compare_report.h"
#include "cli/render/compare/compare_words.h"
#include "cli/render/diagram/diagram_svg.h"
#include "cli/render/page/page_report.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/verdict_text.h"

namespace benchproof {
namespace {

/// The versions side by side: the description, then those variants that could be read.
std::vector<Candidate> candidates_of(const PageReport& report) {
  std::vector<Candidate> candidates = {{"as described", "as described",
                                        &*report.file.circuit,
                                        &report.file.verification}};
  for (const FileReport& variant : report.variants)
    if (variant.circuit)
      candidates.push_back({variant.circuit->variant, variant.circuit->variant,
                            &*variant.circuit, &variant.verification});
  return candidates;
}

/// Rows of one topic that are worth a look: all voltages and lamps, the hottest parts,
/// of others what changes.
std::vector<const ComparedRow*> rows_about(const ComparedState& state, Topic topic) {
  constexpr std::size_t kHottest = 6;
  std::vector<const ComparedRow*> rows;
  for (const ComparedRow& row : state.rows)
    if (row.topic == topic && (row.extent == Extent::real || topic == Topic::voltage ||
                               topic == Topic::light || topic == Topic::supply ||
                               topic == Topic::life || topic == Topic::power))
      rows.push_back(&row);
  if (topic != Topic::power) return rows;
  const auto most = [](const ComparedRow* row) {
    double watts = 0.0;
    for (const auto& value : row->values) watts = std::max(watts, value.value_or(0.0));
    return watts;
  };
  std::stable_sort(rows.begin(), rows.end(),
                   [&most](const ComparedRow* a, const ComparedRow* b) {
                     return most(a) > most(b);
                   });
  rows.resize(std::min(rows.size(), kHottest));
  return rows;
}

std::string figures_html(const ComparedState& state,
                         const std::vector<Candidate>& candidates) {
  std::vector<std::string> head = {"what", "of"};
  std::string figures = "ll";
  for (const Candidate& candidate : candidates) {
    head.push_back(candidate.head);
    figures += 'r';
  }
  std::vector<std::vector<PageCell>> rows;
  for (const Topic topic : {Topic::light, Topic::supply, Topic::life, Topic::voltage,
                            Topic::power, Topic::current, Topic::margin})
    for (const ComparedRow* row : rows_about(state, topic)) {
      std::vector<PageCell> cells = {
          {std::string(topic_word(topic)), {}},
          {fmt::format("{}{}{}", fmt::join(row->subjects, ", "),
                       row->check.empty() ? "" : " ", row->check),
           {}}};
      for (const auto& value : row->values)
        cells.push_back({compared_text(*row, value), value});
      rows.push_back(std::move(cells));
    }
  if (rows.empty()) return {};
  return page_table(
      fmt::format(
          "State {}: lamps (their current as a share of the usual one), supplies, "
          "nets, the hottest parts, and what else changes",
          state.name),
      head, figures, rows);
}

std::string differing_findings(const ComparedState& state,
                               const std::vector<Candidate>& candidates) {
  std::vector<std::string> head = {"finding"};
  std::string figures = "l";
  for (const Candidate& candidate : candidates) {
    head.push_back(candidate.head);
    figures += 'l';
  }
  std::vector<std::vector<PageCell>> rows;
  for (const ComparedFinding& each : state.findings) {
    std::vector<PageCell> cells = {
        {fmt::format("{}: {}", severity_word(each.finding.severity),
                     each.finding.check),
         {}}};
    for (std::size_t k = 0; k < candidates.size(); ++k)
      cells.push_back({each.in[k] ? plain_text(each.messages[k]) : "-", {}});
    rows.push_back(std::move(cells));
  }
  if (rows.empty()) return {};
  return page_table(fmt::format("State {}: findings of each", state.name), head,
                    figures, rows);
}

std::string verdicts_html(const PageReport& report) {
  std::vector<std::vector<PageCell>> rows;
  const auto add = [&](const FileReport& file, const std::string& name,
                       const std::string& changes) {
    const Counts counts = counts_of(file);
    rows.push_back(
        {{name, {}},
         {changes, {}},
         {std::string(verdict_word(verdict_of(file))), {}},
         {std::to_string(counts.faults), static_cast<double>(counts.faults)},
         {std::to_string(counts.cautions), static_cast<double>(counts.cautions)}});
  };
  add(report.file, "as described", "");
  for (const FileReport& variant : report.variants) {
    if (!variant.circuit) continue;
    std::string changes;
    for (const Variant& described : report.file.circuit->variants)
      if (described.name == variant.circuit->variant)
        changes = fmt::format("{}", fmt::join(described.changes, ", "));
    add(variant, variant.circuit->variant, changes);
  }
  return page_table("Each variant with what was found of it, in states and runs",
                    {"variant", "changes", "verdict", "faults", "cautions"}, "lllrr",
                    rows);
}

}  // namespace

std::string variants_html(const PageReport& report) {
  if (report.variants.empty()) return {};
  std::string text = verdicts_html(report);
  const std::vector<Candidate> candidates = candidates_of(report);
  if (candidates.size() < 2) return text;
  const Comparison comparison = compare(candidates);
  text += fmt::format("<p>{}</p>\n", markup_text(plain_text(comparison.summary)));
  for (const ComparedState& state : comparison.states) {
    text += fmt::format("<h3>State {}</h3>\n", markup_text(state.name));
    if (!state.withheld.empty())
      text += fmt::format("<p>No figures: {}</p>\n",
                          markup_text(plain_text(state.withheld)));
    text += figures_html(state, candidates) + differing_findings(state, candidates);
  }
  return text;
}

}  // namespace benchproof
