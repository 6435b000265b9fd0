#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "core/check/finding/explanation.h"
#include "core/check/finding/finding.h"
#include "core/check/rest/check_input.h"

namespace benchproof {

/// Whether a check looks at strong pins, too (see SeenPhase).
enum class PinsRead { weak, strong };

/// A group of closely related checks: usually those of one kind of part.
struct Check {
  std::string_view name;
  std::string_view about;  ///< One line for people.
  PinsRead pins = PinsRead::weak;
  Severity gravest = Severity::fault;  ///< Of all that it may find.
  std::vector<Finding> (*run)(const CheckInput&);
  /// What its findings mean, one row for each id that it can give them.
  std::span<const Explanation> (*explained)();
};

/// All checks, in the order in which their findings are told.
[[nodiscard]] std::span<const Check> checks();

/// Something that run_checks would find, that `counts`, and that is `least` at least;
/// nothing where there is none. Ends at the first check that has one. `pins`: of all
/// checks, or of those only that look at strong pins.
[[nodiscard]] std::optional<Finding> first_finding(
    const CheckInput& input, PinsRead pins, Severity least,
    const std::function<bool(const Finding&)>& counts);

/// Runs every check, puts `others` after their findings, says which findings follow
/// from which, and sorts them. Checks whose gravest findings are less than `least` are
/// left out: what graver ones say does not hang on theirs.
[[nodiscard]] std::vector<Finding> run_checks(const CheckInput& input,
                                              std::vector<Finding> others = {},
                                              Severity least = Severity::note);

}  // namespace benchproof
