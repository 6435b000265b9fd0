#include "cli/render/verify/findings_text.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "cli/render/layout.h"
#include "cli/render/verify/report.h"
#include "core/base/quantity.h"
#include "core/check/finding/told.h"
#include "core/check/finding/wording.h"

namespace benchproof {
namespace {

std::string base_name(std::string_view file) {
  const std::size_t slash = file.find_last_of('/');
  return printable(slash == std::string_view::npos ? file : file.substr(slash + 1));
}

/// "-12 %": how far from its limit. Beyond ten times as much the figure says no more.
std::string margin_text(const Finding& finding) {
  constexpr double kMost = 999.0;
  const auto share = margin(finding);
  if (!share || !std::isfinite(*share)) return {};
  const double percent = std::round(*share * 100.0);
  if (std::abs(percent) > kMost)
    return (percent < 0.0) == (finding.bound == Bound::upper) ? "far above"
                                                              : "far below";
  return percent == 0.0 ? "0 %" : fmt::format("{:+.0f} %", percent);
}

std::string place(const Finding& finding, std::string_view file) {
  if (finding.span.begin.line < 1) return {};
  return fmt::format("{}:{}", base_name(file), finding.span.begin.line);
}

/// One finding: the line of figures, then what it means.
std::string finding_text(const Finding& finding, std::string_view file,
                         std::size_t quantity_width, std::size_t subject_width,
                         bool colour) {
  const std::string value =
      finding.value ? cell_text(*finding.value, finding.unit) : std::string();
  const std::string limit = finding.limit
                                ? "limit " + figure_text(*finding.limit, finding.unit)
                                : std::string();
  const std::string severity(severity_word(finding.severity));
  std::string line =
      joined({padded(severity, 7), padded(finding.quantity, quantity_width),
              padded(subject_of(finding), subject_width), right_aligned(value, 8),
              limit, margin_text(finding), place(finding, file),
              finding.check.empty() ? "" : fmt::format("[{}]", finding.check),
              finding.is_expected ? "expected" : ""},
             2, 4, 6);
  line.replace(4, severity.size(), inked(severity, ink_of(finding.severity), colour));
  const std::string phase =
      finding.phase.empty() ? "" : fmt::format(" (while {})", finding.phase);
  line += wrapped(plain_text(finding.message) + phase, 6, 6);
  if (!finding.follows.empty())
    line += wrapped(fmt::format("follows from {}", finding.follows), 6, 6);
  if (!finding.source.empty())
    line += wrapped(fmt::format("source: {} ({})", plain_text(finding.source),
                                mark_word(finding.mark)),
                    6, 8);
  return line;
}

/// "1 fault, 2 cautions"; empty when there are none.
std::string counts_text(std::span<const Finding> findings) {
  std::vector<std::string> list;
  for (const Severity severity : {Severity::fault, Severity::caution, Severity::note})
    if (const std::size_t count = count_of(findings, severity); count > 0)
      list.push_back(counted(count, severity_word(severity)));
  const auto expected =
      std::count_if(findings.begin(), findings.end(),
                    [](const Finding& finding) { return finding.is_expected; });
  if (expected > 0) list.push_back(fmt::format("{} expected", expected));
  return fmt::format("{}", fmt::join(list, ", "));
}

}  // namespace

Ink ink_of(Severity severity) {
  return severity == Severity::fault     ? Ink::fault
         : severity == Severity::caution ? Ink::caution
                                         : Ink::note;
}

std::string one_mistake_text(const OneMistake& found, bool colour) {
  std::string text;
  if (found.causes.size() == 1) {
    const OneMistake::Cause& cause = found.causes.front();
    text =
        wrapped(fmt::format("one mistake explains this: {}; {}, and no fault is left",
                            printable(cause.mistake), cause.remedy),
                2, 4);
  } else {
    text =
        "  one mistake explains this, any of these: with it undone no fault is left\n";
    for (const OneMistake::Cause& cause : found.causes)
      text +=
          wrapped(fmt::format("{}: {}", printable(cause.mistake), cause.remedy), 4, 6);
  }
  const std::size_t words = text.find(':');
  return text.substr(0, 2) + inked(text.substr(2, words - 2), Ink::strong, colour) +
         text.substr(words);
}

std::string inked(std::string_view text, Ink ink, bool colour) {
  if (!colour) return std::string(text);
  const std::string_view code = ink == Ink::strong    ? "1"
                                : ink == Ink::fault   ? "1;31"
                                : ink == Ink::caution ? "33"
                                                      : "36";
  return fmt::format("\x1b[{}m{}\x1b[0m", code, text);
}

Ink verdict_ink(Verdict verdict) {
  if (verdict == Verdict::good) return Ink::strong;
  return verdict == Verdict::caution ? Ink::caution : Ink::fault;
}

std::string title_lines(std::string_view title, bool colour) {
  std::string lines = wrapped(printable(title), 0, 0);
  if (lines.empty()) return lines;
  lines.pop_back();  // the line's end is not coloured
  return inked(lines, Ink::strong, colour) + "\n";
}

std::string plain_text(std::string_view text) {
  constexpr std::string_view kDegree = "\u00B0";
  std::string result = printable(text);
  for (std::size_t at = result.find(kDegree); at != std::string::npos;
       at = result.find(kDegree, at))
    result.erase(at, kDegree.size());
  return result;
}

std::string cell_text(double value, Unit unit) {
  if (is_next_to_nothing(value, unit)) return "nothing";
  if (unit == Unit::celsius && value > kBurnsCelsius) return "would burn";
  return figure_text(value, unit);
}

std::string figure_text(double value, Unit unit, int digits) {
  return plain_text(format_quantity(value, unit, digits));
}

std::string at_most_text(double share) {
  return fmt::format("apart by at most {:.0f} %", std::ceil(share * 100.0 - 1e-9));
}

std::string hundredths(double share) {
  const double left = std::min(share, 1.0 - share) * 100.0;
  const int decimals =
      left > 0.0 ? std::clamp(static_cast<int>(std::ceil(-std::log10(left))), 1, 5) : 1;
  return fmt::format("{:.{}f}", share * 100.0, decimals);
}

std::string complaint_text(std::string_view reason) {
  constexpr std::size_t kMost = 240;
  std::string line;
  for (const char c : reason) line += c == '\n' ? std::string("; ") : std::string(1, c);
  line = plain_text(line);
  if (line.size() <= kMost) return line;
  const std::size_t blank = line.find(' ', line.size() - kMost);
  return "..." + line.substr(blank == std::string::npos ? line.size() - kMost : blank);
}

std::size_t count_of(std::span<const Finding> findings, Severity severity) {
  return static_cast<std::size_t>(
      std::count_if(findings.begin(), findings.end(),
                    [severity](const Finding& f) { return counts_as(f, severity); }));
}

std::string findings_section(std::span<const Finding> findings, std::string_view file,
                             bool colour) {
  if (findings.empty()) return "  findings: none\n";
  std::size_t quantity_width = 0;
  std::size_t subject_width = 0;
  for (const Finding& finding : findings) {
    quantity_width = std::max(quantity_width, columns_of(finding.quantity));
    subject_width = std::max(subject_width, columns_of(subject_of(finding)));
  }
  subject_width = std::min<std::size_t>(subject_width, 12);
  std::string text = fmt::format("  findings: {}\n", counts_text(findings));
  for (const Finding& finding : findings)
    text += finding_text(finding, file, quantity_width, subject_width, colour);
  return text;
}

}  // namespace benchproof
