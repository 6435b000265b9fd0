#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "core/base/preferred.h"
#include "core/sizing/size.h"

namespace benchproof {

/// How the search for a value ended.
enum class SizeOutcome {
  recommended,        ///< A candidate is advised.
  none_good,          ///< Every candidate has something against it.
  no_standard_value,  ///< The series has no value between the bounds.
  jumps_past,         ///< The figure jumps past the value that it should equal.
  out_of_reach,       ///< The figure moves, but not as far as the goal.
  constant,           ///< The figure is the same for every value.
  never_in_time,      ///< In a run: it comes much too late, or never.
  no_answer,          ///< The nodal witness has no answer for any value.
};

/// Why just that candidate is recommended.
enum class SizeReason {
  as_it_is,            ///< Every value does, so the present one stays.
  nearest_to_present,  ///< Every value does; this changes least.
  nearest_of_series,   ///< It comes nearest to the goal.
  as_wanted,           ///< Any value can be had, so it meets the goal.
  most_copies,         ///< With it the most copies do what is wanted.
};

/// The advice, and the reasons for it.
struct SizeAdvice {
  SizeOutcome outcome = SizeOutcome::no_answer;
  /// Every value between the bounds meets the goal.
  bool every_value_meets = false;
  /// Out of reach, but with the other sign the goal is not.
  bool is_sign_suspect = false;

  // Of a recommended candidate.
  SizeReason reason = SizeReason::as_wanted;
  std::vector<Series> series = {};  ///< Of the values, each once.
  /// A candidate nearer to the goal, or with which more copies do what is wanted; -1
  /// for none.
  int passed_over = -1;
  /// The figure at an end of the tolerance where it is beyond the goal's bound.
  std::optional<double> beyond_bound = {};
};

/// Works out the advice from what was found.
[[nodiscard]] SizeAdvice advise(const SizeRequest& request, const Sizing& sizing);

/// "recommended", "none-good", "no-standard-value" ...
[[nodiscard]] std::string_view outcome_word(SizeOutcome outcome);

}  // namespace benchproof
