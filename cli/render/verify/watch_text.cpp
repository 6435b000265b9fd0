#include "cli/render/verify/watch_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "cli/render/layout.h"
#include "cli/render/regress/regress_report.h"
#include "cli/render/verify/findings_text.h"
#include "core/regress/recorded.h"

namespace benchproof {
namespace {

constexpr std::size_t kMostLines = 8;

std::string line_of(const Moved& moved) {
  if (!moved.was && !moved.is) return moved.what;
  const auto text = [&moved](double value) {
    return figure_text(value, moved.unit, 4);
  };
  if (!moved.was)
    return fmt::format("{} is {}, and is new", moved.what, text(*moved.is));
  if (!moved.is)
    return fmt::format("{} was {}, and is gone", moved.what, text(*moved.was));
  return fmt::format("{}: {} -> {}", moved.what, text(*moved.was), text(*moved.is));
}

std::string case_lines(const CaseName& name, const std::vector<Moved>& moved) {
  std::string text = wrapped(plain_text(case_text(name)), 2, 4);
  const std::size_t told = std::min(moved.size(), kMostLines);
  for (std::size_t k = 0; k < told; ++k)
    text += wrapped(plain_text(line_of(moved[k])), 4, 6);
  if (told < moved.size())
    text += fmt::format("    and {} more\n", moved.size() - told);
  return text;
}

}  // namespace

std::string changes_text(const std::vector<CaseRecord>& before,
                         const std::vector<CaseRecord>& now) {
  std::string text;
  for (const CaseRecord& record : now) {
    const CaseRecord* was = find_case(before, record.name);
    if (was == nullptr) {
      text += wrapped(plain_text(case_text(record.name)) + ": is new", 2, 4);
      continue;
    }
    const std::vector<Moved> all = moved(*was, record, Tolerance());
    if (!all.empty()) text += case_lines(record.name, all);
  }
  for (const CaseRecord& record : before)
    if (find_case(now, record.name) == nullptr)
      text += wrapped(plain_text(case_text(record.name)) + ": is gone", 2, 4);
  return text.empty() ? "  nothing\n" : text;
}

}  // namespace benchproof
