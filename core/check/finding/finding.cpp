#include "core/check/finding/finding.h"

#include <algorithm>
#include <cmath>

namespace benchproof {

namespace {

std::optional<double> room(double value, double limit, Bound bound) {
  if (limit == 0.0) return std::nullopt;
  const double share = (limit - value) / std::abs(limit);
  return bound == Bound::upper ? share : -share;
}

}  // namespace

std::optional<double> margin(const Finding& finding) {
  if (!finding.value || !finding.limit) return std::nullopt;
  return room(*finding.value, *finding.limit, finding.bound);
}

std::optional<double> margin(const Margin& margin) {
  return room(margin.value, margin.limit, margin.bound);
}

void sort_by_severity(std::vector<Finding>& findings) {
  const auto rank = [](const Finding& finding) {
    return std::pair{-static_cast<int>(finding.severity), !finding.follows.empty()};
  };
  std::stable_sort(
      findings.begin(), findings.end(),
      [&rank](const Finding& a, const Finding& b) { return rank(a) < rank(b); });
}

std::string_view severity_word(Severity severity) {
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
