#include "core/verify/explanations.h"

#include <algorithm>
#include <string>

#include "core/board/proof/proof.h"
#include "core/check/always/always.h"
#include "core/check/table/checks.h"
#include "core/verify/runs/hold_expected.h"

namespace benchproof {

// Findings that no row of the tables of checks makes.
std::span<const Explanation> explain_doubted_supplies();
std::span<const Explanation> explain_ends();
std::span<const Explanation> explain_lamp_spread();
std::span<const Explanation> explain_leaks();
std::span<const Explanation> explain_spread();
std::span<const Explanation> explain_expectations();
std::span<const Explanation> explain_over_controls();
std::span<const Explanation> explain_first_moment();
std::span<const Explanation> explain_over_states();
std::span<const Explanation> explain_pwm_course();
std::span<const Explanation> explain_run();
std::span<const Explanation> explain_run_ratings();
std::span<const Explanation> explain_run_supply();
std::span<const Explanation> explain_strong_expectations();
std::span<const Explanation> explain_switches();
std::span<const Explanation> explain_unlimited_amps();

namespace {

std::vector<std::span<const Explanation>> tables() {
  std::vector<std::span<const Explanation>> all = {explain_unlimited_amps()};
  for (const Check& check : checks()) all.push_back(check.explained());
  all.push_back(explain_over_states());
  all.push_back(explain_over_controls());
  all.push_back(explain_doubted_supplies());
  all.push_back(explain_ends());
  all.push_back(explain_switches());
  all.push_back(explain_lamp_spread());
  all.push_back(explain_leaks());
  all.push_back(explain_spread());
  all.push_back(explain_first_moment());
  all.push_back(explain_pwm_course());
  for (const CircuitCheck& check : circuit_checks()) all.push_back(check.explained());
  all.push_back(explain_expectations());
  all.push_back(explain_strong_expectations());
  all.push_back(explain_expected_findings());
  all.push_back(explain_run());
  all.push_back(explain_run_ratings());
  all.push_back(explain_run_supply());
  all.push_back(explain_board());
  return all;
}

}  // namespace

std::vector<Explanation> explanations() {
  std::vector<Explanation> all;
  for (const auto table : tables()) all.insert(all.end(), table.begin(), table.end());
  return all;
}

std::span<const std::string_view> explained_ids() {
  static const std::vector<std::string_view> kIds = [] {
    std::vector<std::string_view> ids;
    for (const auto table : tables())
      for (const Explanation& e : table) ids.push_back(e.check);
    return ids;
  }();
  return kIds;
}

const Explanation* find_explanation(std::string_view check) {
  for (const auto table : tables()) {
    const auto found =
        std::find_if(table.begin(), table.end(),
                     [check](const Explanation& e) { return e.check == check; });
    if (found != table.end()) return &*found;
  }
  return nullptr;
}

CheckId check_id(std::string_view check) {
  const Explanation* found = find_explanation(check);
  if (found == nullptr)
    throw std::invalid_argument("no table explains '" + std::string(check) + "'");
  return CheckId(*found);
}

}  // namespace benchproof
