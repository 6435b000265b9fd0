#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "core/circuit/readings/readings.h"
#include "core/diagnose/likelihood.h"

namespace benchproof {

/// A prediction by its numbers: of what suspect, at what question.
using ShownAt = std::function<const Shown&(std::size_t suspect, std::size_t question)>;

/// A suspect with what the readings make of it.
struct Ranked {
  std::size_t suspect = 0;
  double probability = 0.0;
  double log_likelihood = 0.0;  ///< Of all readings together.
  std::size_t misfits = 0;      ///< Readings that only a slip explains.
};

/// How often a reading is a blunder of which nothing is known: what was read says
/// nothing then, however well it fits something. Common practice, no source.
inline constexpr double kBlunders = 0.03;

struct Ranking {
  std::vector<Ranked> suspects;  ///< The most probable first, of equals the first.
  /// The one reading without which the first would not be likely: less than half as
  /// probable as it is.
  std::optional<std::size_t> rests_on;
};

/// Suspects by their probability after Bayes' rule: weight times the likelihood of all
/// readings, which are taken as independent. `weights` are on any scale, > 0.
/// `shown(s, r)` is what suspect s makes reading r show. Readings that could not be
/// taken tell nothing.
///
/// The reading on which the most probable suspect rests most is taken for a blunder
/// with the probability kBlunders: no single reading makes anything surer than that.
[[nodiscard]] Ranking rank(std::span<const double> weights,
                           std::span<const TakenReading> readings,
                           const ShownAt& shown);

/// Suspects that these readings cannot part.
struct Group {
  std::vector<Ranked> members;  ///< The most probable first.
  double probability = 0.0;     ///< Of all members together.
};

/// Ranked suspects put into groups, the most probable group first. A suspect belongs to
/// the first group whose leader no reading parts from it (`are_parted`), and whose
/// likelihood is at most 20 times its own. The least probable, as long as they come to
/// less than a thousandth, make no groups of their own.
[[nodiscard]] std::vector<Group> groups_of(const std::vector<Ranked>& ranked,
                                           std::span<const TakenReading> readings,
                                           const ShownAt& shown);

/// What a reading is expected to tell.
struct Promise {
  std::size_t question = 0;
  double bits = 0.0;     ///< Expected fall of the entropy of the suspects.
  double trouble = 1.0;  ///< What it costs to take, a voltage being 1.
};

/// How much trouble it is to take a reading after another one (null: the first). Common
/// practice, no source: a look costs a fifth of a voltage; a difference, a part that is
/// pulled out, a current that wants the circuit opened cost more, and so does another
/// state or the power switched.
[[nodiscard]] double trouble_of(const Question& question, const Question* before);

/// The questions by what they promise for their trouble, the best first; those that
/// promise less than kLeastBits are left out. `shown(s, q)` is of the suspects of
/// `ranked` by their numbers; the least probable are passed over. `is_open(q)` tells
/// whether a question may be asked.
///
/// Bits are the mutual information of suspect and reading [Shannon 1948], a reading of
/// each suspect taken at its predicted figure and 1.2 deviations to both sides.
[[nodiscard]] std::vector<Promise> promises(
    const std::vector<Ranked>& ranked, std::span<const Question> questions,
    const ShownAt& shown, const std::function<bool(std::size_t)>& may_ask,
    const Question* before);

/// A reading that promises less is not worth its trouble.
inline constexpr double kLeastBits = 0.03;

}  // namespace benchproof
