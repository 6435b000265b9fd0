#include "cli/render/verify/text.h"

#include <fmt/format.h>

#include <algorithm>

#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/run_text.h"
#include "cli/render/verify/state_text.h"
#include "cli/render/verify/verdict_text.h"
#include "core/base/quantity.h"

namespace benchproof {
namespace {

/// A complaint's text with its message and hint broken to the width. `place`, which it
/// begins with, stays whole, however long it is.
std::string wrapped_complaint(std::string_view text, std::string_view place) {
  constexpr std::size_t kWidestPlace = 60;
  constexpr std::string_view kHint = "  hint: ";
  std::string result;
  bool is_first = true;
  while (!text.empty()) {
    const std::string_view line = text.substr(0, text.find('\n'));
    text.remove_prefix(line.size() + 1);
    const bool is_wide = columns_of(line) > kLineWidth;
    if (is_wide && is_first) {
      const std::size_t indent = columns_of(place);
      const std::string_view message = line.substr(place.size());
      result += place;
      result += indent <= kWidestPlace ? wrapped(message, indent, 4).substr(indent)
                                       : ":\n" + wrapped(message.substr(2), 4, 4);
    } else if (is_wide && line.starts_with(kHint)) {
      result += wrapped(line, 2, kHint.size());
    } else if (is_wide && text.empty() && line.starts_with("  in ")) {  // The places.
      result += wrapped(line, 2, 4);
    } else {  // If it is wide, it is the excerpt, cut already.
      result += std::string(line) + "\n";
    }
    is_first = false;
  }
  return result;
}

/// How many of the expected findings are there; nothing where none were looked for.
std::string expected_section(const FileReport& report) {
  if (report.expected.empty()) return {};
  const auto there = std::count_if(report.expected.begin(), report.expected.end(),
                                   [](const auto& result) { return result.count > 0; });
  return fmt::format("\nexpected findings: {} of {} {} there\n", there,
                     report.expected.size(), there == 1 ? "is" : "are");
}

/// A complaint about one file, with its place and excerpt.
std::string told_complaint(const Diagnostic& complaint, std::string_view file,
                           std::string_view source, bool is_wrapped) {
  const std::string whole = to_text(complaint, file, source);
  return is_wrapped ? wrapped_complaint(whole, place_text(complaint, file)) : whole;
}

}  // namespace

std::string verify_text(const FileReport& report, const TextOptions& options) {
  if (!report.circuit) return {};
  const Circuit& circuit = *report.circuit;
  const Verification& v = report.verification;
  std::string text = title_lines(circuit.title, options.colour);
  text += wrapped(fmt::format("{}: {}, {}, {} at {}", version_name(report),
                              counted(circuit.parts.size(), "part"),
                              counted(circuit.nets.size(), "net"),
                              counted(v.states.size(), "state"),
                              figure_text(circuit.ambient, Unit::celsius)),
                  0, 2);
  for (const StateResult& state : v.states)
    text += state_section(report, state, options.colour, options.by_hand);
  for (const RunResult& run : report.runs)
    text += run_section(report, run, options.colour, options.by_hand);
  text += expected_section(report);
  if (report.one_mistake)
    text += "\n" + one_mistake_text(*report.one_mistake, options.colour);
  std::string verdict =
      wrapped("verdict: " + verdict_line(report, counts_of(report)), 0, 9);
  verdict.pop_back();
  return text + "\n" + inked(verdict, verdict_ink(verdict_of(report)), options.colour) +
         "\n";
}

std::string complaints_text(const CatalogueReport& report, bool is_wrapped) {
  std::string text;
  for (const Diagnostic& complaint : report.complaints)
    text += told_complaint(complaint, report.file, report.source, is_wrapped);
  return text;
}

std::string complaints_text(const FileReport& report, bool is_wrapped) {
  const std::size_t count =
      report.complaints.size() + report.own_catalogue.complaints.size();
  if (count == 0) return {};
  std::string text = complaints_text(report.own_catalogue, is_wrapped);
  for (const Diagnostic& complaint : report.complaints) {
    const NamedText about = text_of(report, complaint);
    text += told_complaint(complaint, about.name, about.text, is_wrapped);
  }
  return text +
         wrapped(fmt::format("{}: refused with {}; nothing was solved",
                             printable(report.file), counted(count, "complaint")),
                 0, 2);
}

std::string failures_text(const FileReport& report) {
  std::vector<std::string> reasons;
  const auto add_failure = [&reasons](std::string_view witness, const auto& solution) {
    if (solution.status == SolveStatus::solved ||
        solution.status == SolveStatus::not_asked)
      return;
    std::string reason = fmt::format("the {} witness has no answer: {}", witness,
                                     complaint_text(solution.reason));
    if (std::find(reasons.begin(), reasons.end(), reason) == reasons.end())
      reasons.push_back(std::move(reason));
  };
  for (const StateResult& state : report.verification.states) {
    for (const PhaseResult& phase : state.phases) {
      add_failure("engine", phase.engine);
      add_failure("nodal", phase.nodal);
    }
  }
  for (const RunResult& run : report.runs) {
    add_failure("engine", run.engine);
    add_failure("nodal", run.nodal);
  }
  std::string text;
  for (const std::string& reason : reasons)
    text += wrapped(fmt::format("benchproof: {}: {}", printable(report.file), reason),
                    0, 2);
  return text;
}

std::string safety_text() {
  return "Local codes and licensed practice come first: this advises, certifies "
         "nothing.\n";
}

}  // namespace benchproof
