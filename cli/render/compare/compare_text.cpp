#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "cli/render/compare/compare_report.h"
#include "cli/render/compare/compare_words.h"
#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"
#include "core/compare/summary.h"

namespace benchproof {
namespace {

constexpr std::size_t kTopicWidth = 8;
constexpr std::size_t kValueWidth = 9;
constexpr std::size_t kDifferenceWidth = 11;
constexpr std::size_t kRelativeWidth = 7;
/// So many columns of figures stand side by side; of more, the next ones below.
constexpr std::size_t kMostColumns = 4;

/// Columns of candidates that stand side by side.
struct Columns {
  std::size_t from = 0;
  std::size_t to = 0;
};

std::size_t subject_width(std::size_t candidates) {
  const std::size_t figures =
      candidates == 2
          ? 2 * (kValueWidth + 1) + kDifferenceWidth + 1 + kRelativeWidth + 1
          : kMostColumns * (kValueWidth + 1);
  return kLineWidth - 2 - kTopicWidth - 1 - figures;
}

std::string percent(double share, bool has_sign) {
  constexpr double kLast = 99999.5;  // From here on digits take too much room.
  const double value = share * 100.0;
  if (std::abs(value) >= kLast) return fmt::format("{:.0e}", value);
  if (std::abs(value) < 0.05) return "0.0";
  const int decimals = std::abs(value) < 9.95 ? 1 : 0;
  const std::string text = fmt::format("{:.{}f}", value, decimals);
  return (has_sign && value > 0.0 ? "+" : "") + text;
}

/// A figure with as many digits as there is room for; at least one.
std::string fitting(double value, Unit unit, std::size_t width) {
  for (int digits = 3; digits > 1; --digits) {
    std::string text = figure_text(value, unit, digits);
    if (columns_of(text) <= width) return text;
  }
  return figure_text(value, unit, 1);
}

/// How far two figures differ. Empty where they do so by no more than the witnesses
/// may.
std::string difference_text(const ComparedRow& row) {
  if (!row.difference || row.extent == Extent::none || row.topic == Topic::light)
    return {};
  if (row.topic == Topic::margin) return percent(*row.difference, true) + " points";
  const std::string sign = *row.difference > 0.0 ? "+" : "";
  if (row.topic == Topic::life) {
    const bool is_known = std::max(*row.values[0], *row.values[1]) < kLongestLife;
    if (!is_known) return {};
    return (sign.empty() ? "-" : sign) + life_text(std::abs(*row.difference));
  }
  return sign + fitting(*row.difference, row.unit, kDifferenceWidth - sign.size());
}

std::string relative_text(const ComparedRow& row) {
  constexpr double kMost = 10.0;  // Beyond it a share says nothing more.
  if (!row.relative || row.extent == Extent::none || row.topic == Topic::margin)
    return {};
  if (std::abs(*row.relative) > kMost) return {};
  return percent(*row.relative, true) + " %";
}

/// As many of a row's subjects as fit, and how many more there are.
std::string subject_text(const ComparedRow& row, std::size_t width) {
  const std::string tail = row.check.empty() ? "" : " " + row.check;
  std::string text = printable(row.subjects.front());
  for (std::size_t k = 1; k < row.subjects.size(); ++k) {
    const std::string next = text + ", " + printable(row.subjects[k]);
    const std::size_t left = row.subjects.size() - k - 1;
    const std::size_t more = left > 0 ? fmt::format(", +{}", left).size() : 0;
    if (columns_of(next) + more + tail.size() > width)
      return fmt::format("{}, +{}{}", text, left + 1, tail);
    text = next;
  }
  return text + tail;
}

std::string row_text(const ComparedRow& row, const Columns& columns,
                     std::string_view topic) {
  const std::size_t width = subject_width(row.values.size());
  const std::string subject = subject_text(row, width);
  std::string line = "  " + padded(topic, kTopicWidth) + " ";
  // A text too long for its place gets a line of its own, or several.
  if (columns_of(subject) > width) {
    const std::size_t indent = line.size();
    line += wrapped(subject, indent, indent + 2).substr(indent);
    line += std::string(indent + width, ' ');
  } else {
    line += padded(subject, width);
  }
  for (std::size_t k = columns.from; k < columns.to; ++k)
    line += " " + right_aligned(compared_text(row, row.values[k]), kValueWidth);
  if (row.values.size() == 2)
    line += " " + right_aligned(difference_text(row), kDifferenceWidth) + " " +
            right_aligned(relative_text(row), kRelativeWidth);
  line.resize(line.find_last_not_of(' ') + 1);
  return line + "\n";
}

std::string head_line(const CompareReport& report, const Columns& columns) {
  std::string line(2 + kTopicWidth + 1 + subject_width(report.candidates.size()), ' ');
  for (std::size_t k = columns.from; k < columns.to; ++k)
    line += " " + right_aligned(printable(report.candidates[k].head), kValueWidth);
  if (report.candidates.size() == 2)
    line += " " + right_aligned("difference", kDifferenceWidth);
  return line + "\n";
}

std::string rows_text(const CompareReport& report,
                      const std::vector<const ComparedRow*>& rows) {
  std::string text;
  for (std::size_t from = 0; from < report.candidates.size(); from += kMostColumns) {
    const Columns columns{from,
                          std::min(from + kMostColumns, report.candidates.size())};
    text += head_line(report, columns);
    std::string_view last;
    for (const ComparedRow* row : rows) {
      const std::string_view topic = topic_word(row->topic);
      text += row_text(*row, columns, topic == last ? std::string_view() : topic);
      last = topic;
    }
  }
  return text;
}

/// "330R", "330R and 470R": those that have a finding.
std::string heads_text(const CompareReport& report, const std::vector<bool>& in) {
  std::vector<std::string> heads;
  for (std::size_t k = 0; k < in.size(); ++k)
    if (in[k]) heads.push_back(printable(report.candidates[k].head));
  return fmt::format("{}", fmt::join(heads, " and "));
}

/// The first of those that have a finding: its message is the one told.
std::string first_head(const CompareReport& report, const std::vector<bool>& in) {
  const auto first = std::find(in.begin(), in.end(), true) - in.begin();
  return printable(report.candidates[first].head);
}

/// Whether all that have a finding say the same of it; else the figures are one's own.
bool is_told_alike(const ComparedFinding& each) {
  for (std::size_t k = 0; k < each.in.size(); ++k)
    if (each.in[k] && each.messages[k] != each.finding.message) return false;
  return true;
}

std::string finding_text(const CompareReport& report, const ComparedFinding& each,
                         bool colour) {
  const Finding& finding = each.finding;
  const std::string severity(severity_word(finding.severity));
  const std::string place =
      each.is_in_all() ? "in each" : "only " + heads_text(report, each.in);
  const std::string whose =
      is_told_alike(each) ? "" : "with " + first_head(report, each.in) + " ";
  std::string text = wrapped(fmt::format("{}, {}: {}{} [{}]", severity, place, whose,
                                         plain_text(finding.message), finding.check),
                             4, 6);
  const Ink ink = finding.severity == Severity::fault     ? Ink::fault
                  : finding.severity == Severity::caution ? Ink::caution
                                                          : Ink::note;
  text.replace(4, severity.size(), inked(severity, ink, colour));
  return text;
}

std::string findings_text(const CompareReport& report, const ComparedState& state,
                          const CompareTextOptions& options) {
  std::string text;
  std::size_t kept = 0;
  for (const ComparedFinding& each : state.findings) {
    if (each.is_in_all() && !options.all) {
      ++kept;
    } else {
      text += finding_text(report, each, options.colour);
    }
  }
  const std::string head =
      text.empty() ? "  findings: the same" : "  findings that differ";
  if (options.all) return text.empty() ? "  findings: none\n" : "  findings\n" + text;
  if (text.empty() && kept == 0) return {};
  return fmt::format("{}{}\n{}", head,
                     kept > 0 ? fmt::format(" ({} in each)", kept) : "", text);
}

/// Rows told of a state where not all are asked for.
constexpr std::size_t kFewRows = 8;

/// How much a row says: what lights, what is drawn and what has room first, then what
/// changes most.
double weight(const ComparedRow& row) {
  constexpr double kFirst = 1e6;
  const bool is_told_first = row.topic == Topic::light || row.topic == Topic::supply ||
                             row.topic == Topic::life || row.topic == Topic::margin;
  // A margin by its points: all the room there is counts as much as twice the size.
  const double change = row.topic == Topic::margin ? row.difference.value_or(1.0)
                                                   : row.relative.value_or(1.0);
  return (is_told_first ? kFirst : 0.0) + std::abs(change);
}

/// The rows that change, the weightiest of them, in their order.
struct ShownFinding {
  std::vector<const ComparedRow*> rows;
  std::size_t left_out = 0;  ///< That change too.
};

ShownFinding shown_rows(const ComparedState& state, bool all) {
  ShownFinding shown;
  for (const ComparedRow& row : state.rows)
    if (all || row.extent == Extent::real) shown.rows.push_back(&row);
  if (all || shown.rows.size() <= kFewRows) return shown;
  std::vector<const ComparedRow*> by_weight = shown.rows;
  std::stable_sort(by_weight.begin(), by_weight.end(),
                   [](const ComparedRow* a, const ComparedRow* b) {
                     return weight(*a) > weight(*b);
                   });
  by_weight.resize(kFewRows);
  shown.left_out = shown.rows.size() - kFewRows;
  std::erase_if(shown.rows, [&by_weight](const ComparedRow* row) {
    return std::find(by_weight.begin(), by_weight.end(), row) == by_weight.end();
  });
  return shown;
}

bool is_same_in_all(const ComparedState& state) {
  return std::all_of(state.findings.begin(), state.findings.end(),
                     [](const ComparedFinding& each) { return each.is_in_all(); });
}

/// Whether a state tells nothing that another one has not told: what lights or has room
/// changes there as well, by as much to a tenth, and no finding differs.
bool is_like(const ComparedState& state, const ComparedState& lead) {
  constexpr double kAlike = 0.1;
  if (!state.withheld.empty() || !is_same_in_all(state)) return false;
  return std::all_of(state.rows.begin(), state.rows.end(), [&](const ComparedRow& row) {
    if (row.extent != Extent::real || row.topic != Topic::light) return true;
    return std::any_of(
        lead.rows.begin(), lead.rows.end(), [&](const ComparedRow& other) {
          return other.topic == row.topic && other.subjects == row.subjects &&
                 other.extent == Extent::real &&
                 std::abs(row.relative.value_or(0.0) - other.relative.value_or(0.0)) <=
                     kAlike * std::abs(other.relative.value_or(0.0));
        });
  });
}

/// The state that changes most; null where none does.
const ComparedState* leading(const CompareReport& report) {
  const ComparedState* lead = nullptr;
  double most = 0.0;
  for (const ComparedState& state : report.comparison.states) {
    double here = is_same_in_all(state) ? 0.0 : 1e3;
    for (const ComparedRow& row : state.rows)
      if (row.extent == Extent::real)
        here = std::max(here, std::abs(row.relative.value_or(1.0)));
    if (state.withheld.empty() && here > most) {
      lead = &state;
      most = here;
    }
  }
  return lead;
}

/// "state night" and what is said of it, wrapped, the name in strong letters.
std::string headed(const std::string& name, const std::string& rest, bool colour) {
  std::string text = wrapped(name + rest, 0, 2);
  // A name that was broken stays as it is.
  if (text.starts_with(name))
    text.replace(0, name.size(), inked(name, Ink::strong, colour));
  return text;
}

std::string state_text(const CompareReport& report, const ComparedState& state,
                       const ComparedState* lead, const CompareTextOptions& options) {
  const std::string name = fmt::format("state {}", printable(state.name));
  const auto head = [&](const std::string& rest) {
    return headed(name, rest, options.colour);
  };
  if (!state.withheld.empty())
    return "\n" + head("") +
           wrapped(fmt::format("no figures: {}", complaint_text(state.withheld)), 2,
                   4) +
           findings_text(report, state, options);
  const ShownFinding shown = shown_rows(state, options.all);
  std::size_t same = 0;
  std::size_t slight = 0;
  for (const ComparedRow& row : state.rows) {
    if (options.all || row.extent == Extent::real) continue;
    ++(row.extent == Extent::slight ? slight : same);
  }
  if (!options.all && lead != nullptr && &state != lead && is_like(state, *lead)) {
    const std::size_t rows = shown.rows.size() + shown.left_out;
    const bool has_light =
        std::any_of(state.rows.begin(), state.rows.end(), [](const ComparedRow& row) {
          return row.extent == Extent::real && row.topic == Topic::light;
        });
    const std::string what =
        rows == 0 ? "nothing changes"
        : has_light
            ? fmt::format("what lights changes as in state {}; {} (--all shows them)",
                          printable(lead->name), counted(rows, "row"))
            : fmt::format("nothing that lights changes, but {} (--all shows them)",
                          rows == 1 ? "1 row does" : fmt::format("{} rows do", rows));
    return head(": " + what);
  }
  std::vector<std::string> folded;
  if (shown.left_out > 0)
    folded.push_back(fmt::format("{} that change", shown.left_out));
  if (slight > 0) folded.push_back(fmt::format("{} that hardly do", slight));
  if (same > 0) folded.push_back(fmt::format("{} that do not", same));
  const std::string away =
      fmt::format("{} (--all shows them)", fmt::join(folded, ", "));
  if (shown.rows.empty() && is_same_in_all(state)) return head(": nothing changes");
  std::string text = "\n" + head(", where both witnesses agree on each");
  if (!shown.rows.empty()) text += rows_text(report, shown.rows);
  if (!folded.empty()) text += wrapped("rows folded away: " + away, 2, 4);
  return text + findings_text(report, state, options);
}

std::string legend(const CompareReport& report, const CompareTextOptions& options) {
  std::size_t width = 0;
  for (const Candidate& candidate : report.candidates)
    width = std::max(width, columns_of(printable(candidate.head)));
  std::string text;
  for (std::size_t k = 0; k < report.candidates.size(); ++k) {
    const Candidate& candidate = report.candidates[k];
    const Verdict verdict = report.versions[k].verification.verdict;
    const std::string judged = fmt::format("[{}]", verdict_word(verdict));
    std::string line = joined(
        {padded(printable(candidate.head), width), printable(candidate.name), judged},
        2, 2, width + 4);
    const std::size_t at = line.rfind(judged);
    const Ink ink = verdict == Verdict::good      ? Ink::strong
                    : verdict == Verdict::caution ? Ink::caution
                                                  : Ink::fault;
    if (at != std::string::npos)
      line.replace(at, judged.size(), inked(judged, ink, options.colour));
    text += line;
  }
  return text;
}

}  // namespace

std::string compared_text(const ComparedRow& row, const std::optional<double>& value) {
  if (!value) return "-";
  if (row.topic == Topic::life) return life_text(*value);
  if (row.unit == Unit::fraction) return percent(*value, false) + " %";
  const bool is_nothing = std::abs(*value) < telling_least(row.topic);
  return fitting(is_nothing ? 0.0 : *value, row.unit, kValueWidth);
}

std::string_view topic_word(Topic topic) {
  switch (topic) {
    case Topic::light:
      return "light";
    case Topic::supply:
      return "supply";
    case Topic::life:
      return "life";
    case Topic::current:
      return "current";
    case Topic::voltage:
      return "voltage";
    case Topic::power:
      return "power";
    case Topic::margin:
      return "margin";
  }
  return {};
}

std::string_view extent_word(Extent extent) {
  switch (extent) {
    case Extent::none:
      return "none";
    case Extent::slight:
      return "slight";
    case Extent::real:
      return "real";
  }
  return {};
}

std::string compare_text(const CompareReport& report,
                         const CompareTextOptions& options) {
  const FileReport& first = report.versions.front();
  std::string text = title_lines(first.circuit->title, options.colour);
  const std::size_t runs = report.comparison.runs;
  text += wrapped(
      fmt::format("{} compared, in {}{}", counted(report.candidates.size(), "version"),
                  counted(report.comparison.states.size(), "state"),
                  runs == 0 ? "" : "; " + counted(runs, "run") + " not looked at"),
      0, 2);
  text += legend(report, options);
  text += wrapped(plain_text(report.comparison.summary), 0, 0);
  const ComparedState* lead = leading(report);
  for (const ComparedState& state : report.comparison.states)
    text += state_text(report, state, lead, options);
  return text + "\n";
}

}  // namespace benchproof
