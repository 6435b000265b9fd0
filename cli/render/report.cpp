#include "cli/render/report.h"

#include <algorithm>

namespace benchproof {

Verdict verdict_of(const FileReport& report) {
  Verdict verdict = report.verification.verdict;
  for (const RunResult& run : report.runs) verdict = std::max(verdict, run.verdict);
  return verdict;
}

std::string_view word(Verdict verdict) {
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

std::string_view word(Severity severity) {
  switch (severity) {
    case Severity::note:
      return "note";
    case Severity::caution:
      return "caution";
    case Severity::fault:
      return "fault";
  }
  return {};
}

}  // namespace benchproof
