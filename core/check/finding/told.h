#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/check/finding/finding.h"

namespace benchproof {

/// The findings of one state or run.
struct FindingsAt {
  std::string place;  ///< "night", "run power up".
  std::span<const Finding> findings;
};

/// A part or net that a check speaks of, with its worst finding.
struct ToldSubject {
  std::string_view name;  ///< Empty where the finding is about neither.
  const Finding* worst;
};

/// What a person reads as one: the findings of a check, of whatever parts, states and
/// runs, with all that follows from them.
struct Told {
  std::vector<ToldSubject> subjects;     ///< At least one; the worst first.
  std::vector<std::string_view> places;  ///< Each once, in the order given.
  std::vector<Told> results;             ///< What follows, told in the same way.
};

/// The worst of its findings.
[[nodiscard]] inline const Finding& worst(const Told& told) {
  return *told.subjects.front().worst;
}

/// Puts together what is to be read as one, the gravest first. Each expectation stands
/// for itself. What follows from a finding of the same place stands below that one
/// only; all else at the top. Points into `all`.
[[nodiscard]] std::vector<Told> told_together(std::span<const FindingsAt> all);

/// The finding of the same place from which one follows, that of its own part before
/// others; null where there is none.
[[nodiscard]] const Finding* cause_among(std::span<const Finding> findings,
                                         const Finding& finding);

/// The part, or else the net, that a finding is about.
[[nodiscard]] std::string_view subject_of(const Finding& finding);

}  // namespace benchproof
