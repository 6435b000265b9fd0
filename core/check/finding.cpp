#include "core/check/finding.h"

#include <algorithm>
#include <cmath>

namespace benchproof {

std::optional<double> margin(const Finding& finding) {
  if (!finding.value || !finding.limit || *finding.limit == 0.0) return std::nullopt;
  const double room = (*finding.limit - *finding.value) / std::abs(*finding.limit);
  return finding.bound == Bound::upper ? room : -room;
}

void sort_by_severity(std::vector<Finding>& findings) {
  const auto rank = [](const Finding& finding) {
    return std::pair{-static_cast<int>(finding.severity), !finding.follows.empty()};
  };
  std::stable_sort(
      findings.begin(), findings.end(),
      [&rank](const Finding& a, const Finding& b) { return rank(a) < rank(b); });
}

}  // namespace benchproof
