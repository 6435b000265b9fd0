#include "cli/render/verify/report.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <sstream>

namespace benchproof {

NamedText text_of(const FileReport& report, const Diagnostic& complaint) {
  if (complaint.span.in_change) return {std::string(kChangesName), report.changes};
  const auto number = static_cast<std::size_t>(std::max(complaint.span.file, 0));
  if (number == 0 || number > report.block_files.size())
    return {report.file, report.source};
  const BlockFile& file = report.block_files[number - 1];
  return {report.file.substr(0, report.file.find_last_of('/') + 1) + file.path,
          file.text};
}

std::vector<std::string> changes_of(const FileReport& report) {
  std::vector<std::string> changes;
  std::istringstream lines(report.changes);
  for (std::string line; std::getline(lines, line);) changes.push_back(line);
  return changes;
}

std::string version_name(const FileReport& report) {
  std::string name = report.file;
  if (report.circuit && !report.circuit->variant.empty())
    name += fmt::format(", variant '{}'", report.circuit->variant);
  const std::vector<std::string> changes = changes_of(report);
  if (!changes.empty()) name += fmt::format(", with {}", fmt::join(changes, " and "));
  return printable(name);
}

Verdict verdict_of(const FileReport& report) {
  Verdict verdict = report.verification.verdict;
  for (const RunResult& run : report.runs) verdict = std::max(verdict, run.verdict);
  return verdict;
}

std::string_view verdict_word(Verdict verdict) {
  switch (verdict) {
    case Verdict::good:
      return "good";
    case Verdict::caution:
      return "caution";
    case Verdict::fault:
      return "fault";
    case Verdict::disagreement:
      return "disagreement";
    case Verdict::engine_failed:
      return "engine-failed";
    case Verdict::nodal_failed:
      return "nodal-failed";
  }
  return {};
}

}  // namespace benchproof
