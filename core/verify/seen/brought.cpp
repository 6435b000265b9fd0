#include "core/verify/seen/brought.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <tuple>

namespace benchproof {
namespace {

/// Whether two findings say the same of the same thing, if not with the same figures.
bool is_same(const Finding& a, const Finding& b) {
  return a.check == b.check && a.part == b.part && a.net == b.net &&
         a.quantity == b.quantity && a.bound == b.bound && a.span == b.span;
}

/// The findings that say so.
constexpr std::array<std::string_view, 6> kFunctions = {
    "regulator-dropout", "controller-brownout",   "transistor-half-on",
    "mosfet-half-on",    "transistor-saturation", "relay-pull-in"};

auto rank(const Finding& f) {
  return std::tuple(-static_cast<int>(f.severity), !f.follows.empty(),
                    is_expectation(f), margin(f).value_or(0.0));
}

}  // namespace

std::vector<Finding> brought(const std::vector<Finding>& then,
                             std::vector<Finding> now) {
  std::vector<Finding> found;
  for (const Finding& finding : then) {
    if (finding.severity < Severity::caution) continue;
    const auto same = std::find_if(now.begin(), now.end(), [&](const Finding& other) {
      return is_same(other, finding) && other.severity >= finding.severity;
    });
    if (same == now.end())
      found.push_back(finding);
    else
      now.erase(same);  // Two of one chip's pins may say the same.
  }
  return found;
}

bool tells_of_function(const Finding& finding) {
  return std::find(kFunctions.begin(), kFunctions.end(), finding.check) !=
         kFunctions.end();
}

bool is_worse(const Brought& a, const Brought& b) {
  return rank(a.finding) < rank(b.finding);
}

}  // namespace benchproof
