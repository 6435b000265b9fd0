#include "core/diagnose/ranking.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

namespace benchproof {
namespace {

constexpr double kLeftOut = 1e-3;  ///< Of the probability, in groups.
constexpr double kSameWell = 3.0;  ///< e^3 is about 20.
constexpr std::size_t kMostMembers = 5000;
/// So many suspects, or this share of the probability, decide on the next reading.
constexpr std::size_t kMostWeighed = 40;
constexpr double kWeighed = 0.999;
/// Looked at again with three readings of each suspect.
constexpr std::size_t kMostRefined = 12;

bool is_same_well(const Ranked& leader, const Ranked& other,
                  std::span<const TakenReading> readings, const ShownAt& shown) {
  if (leader.log_likelihood - other.log_likelihood > kSameWell) return false;
  for (std::size_t r = 0; r < readings.size(); ++r)
    if (readings[r].is_reached &&
        are_parted(readings[r].question.asks, shown(leader.suspect, r),
                   shown(other.suspect, r)))
      return false;
  return true;
}

/// The leading suspects with their probabilities made to add up to 1.
std::vector<Ranked> weighed(const std::vector<Ranked>& ranked) {
  std::vector<Ranked> leading;
  double sum = 0.0;
  for (const Ranked& each : ranked) {
    if (leading.size() >= kMostWeighed || sum >= kWeighed) break;
    leading.push_back(each);
    sum += each.probability;
  }
  for (Ranked& each : leading) each.probability /= sum;
  return leading;
}

/// The mutual information of suspects and the answer to one question, from readings of
/// each suspect so many deviations off. Bits.
double information(const std::vector<Ranked>& suspects, const Question& question,
                   std::size_t number, const ShownAt& shown,
                   std::span<const double> deviations) {
  double bits = 0.0;
  for (const Ranked& truth : suspects) {
    const Shown& expected = shown(truth.suspect, number);
    if (is_unknown(question.asks, expected))
      continue;  // Anything may be read: it is not counted on.
    const bool is_figure = question.asks != Asks::looks && !expected.open;
    const std::size_t count = is_figure ? deviations.size() : 1;
    for (std::size_t d = 0; d < count; ++d) {
      const TakenReading taken =
          taken_of(question, expected, is_figure ? deviations[d] : 0.0);
      const double own = fit_of(expected, taken).log_likelihood;
      double all = 0.0;
      for (const Ranked& other : suspects)
        all +=
            other.probability *
            std::exp(fit_of(shown(other.suspect, number), taken).log_likelihood - own);
      bits -= truth.probability / static_cast<double>(count) * std::log2(all);
    }
  }
  // An eye that is not sure tells less than its likeliest word does.
  if (question.asks != Asks::looks) return bits;
  double sure = 0.0;
  for (const Ranked& each : suspects)
    sure += each.probability * shown(each.suspect, number).looks_sure;
  return bits * sure;
}

/// How well a suspect explains each reading that was taken; `left_out` is as if it had
/// not been.
void fit_all(std::size_t suspect, std::span<const TakenReading> readings,
             const ShownAt& shown, std::optional<std::size_t> left_out, double* fits,
             std::size_t* misfits) {
  std::vector<Offset> offsets(readings.size());
  for (std::size_t r = 0; r < readings.size(); ++r) {
    fits[r] = 0.0;
    if (!readings[r].is_reached || r == left_out) continue;
    const Shown& predicted = shown(suspect, r);
    Offset offset;
    for (std::size_t before = r; before-- > 0;) {
      if (!offsets[before].is_known ||
          !is_same_place(readings[before].question, shown(suspect, before),
                         readings[r].question, predicted))
        continue;
      offset = offsets[before];
      break;
    }
    const Fit fit = fit_of(predicted, readings[r], offset);
    fits[r] = fit.log_likelihood;
    if (fit.is_misfit && misfits != nullptr) ++*misfits;
    offsets[r] = learned(predicted, readings[r], offset);
  }
}

/// Whether another reading was taken between the same two points, or of the same part.
bool is_read_twice(std::span<const TakenReading> readings, std::size_t r) {
  const Question& one = readings[r].question;
  for (std::size_t k = 0; k < readings.size(); ++k) {
    const Question& other = readings[k].question;
    if (k != r && readings[k].is_reached && one.asks != Asks::looks &&
        other.asks != Asks::looks && one.net == other.net && one.to == other.to &&
        one.part == other.part)
      return true;
  }
  return false;
}

/// Scores are logarithms of what is in proportion to probabilities.
std::vector<double> probabilities_of(const std::vector<double>& scores) {
  const double most = *std::max_element(scores.begin(), scores.end());
  std::vector<double> probabilities(scores.size());
  double sum = 0.0;
  for (std::size_t s = 0; s < scores.size(); ++s)
    sum += probabilities[s] = std::exp(scores[s] - most);
  for (double& each : probabilities) each /= sum;
  return probabilities;
}

}  // namespace

Ranking rank(std::span<const double> weights, std::span<const TakenReading> readings,
             const ShownAt& shown) {
  const std::size_t count = readings.size();
  Ranking ranking;
  std::vector<Ranked>& ranked = ranking.suspects;
  ranked.resize(weights.size());
  std::vector<double> fits(weights.size() * count, 0.0);
  std::vector<double> scores(weights.size());
  for (std::size_t s = 0; s < weights.size(); ++s) {
    Ranked& each = ranked[s];
    each.suspect = s;
    double* own = fits.data() + s * count;
    fit_all(s, readings, shown, std::nullopt, own, &each.misfits);
    each.log_likelihood = std::accumulate(own, own + count, 0.0);
    scores[s] = std::log(weights[s]) + each.log_likelihood;
  }
  const std::vector<double> all = probabilities_of(scores);
  std::vector<double> rest(count);
  std::vector<double> doubted = all;  // Without the reading that matters most.
  const auto first =
      static_cast<std::size_t>(std::max_element(all.begin(), all.end()) - all.begin());
  for (std::size_t r = 0; r < count; ++r) {
    if (!readings[r].is_reached) continue;
    std::vector<double> others(scores);
    const bool is_twice = is_read_twice(readings, r);
    for (std::size_t s = 0; s < others.size(); ++s) {
      if (!is_twice) {
        others[s] -= fits[s * count + r];
        continue;
      }
      // What was read again then tells by itself what it only confirmed before.
      fit_all(s, readings, shown, r, rest.data(), nullptr);
      others[s] = std::log(weights[s]) + std::accumulate(rest.begin(), rest.end(), 0.0);
    }
    others = probabilities_of(others);
    if (others[first] >= doubted[first]) continue;
    doubted = std::move(others);
    if (doubted[first] < 0.5 * all[first]) ranking.rests_on = r;
  }
  for (std::size_t s = 0; s < ranked.size(); ++s)
    ranked[s].probability = (1.0 - kBlunders) * all[s] + kBlunders * doubted[s];
  std::stable_sort(ranked.begin(), ranked.end(), [](const Ranked& a, const Ranked& b) {
    return a.probability > b.probability;
  });
  return ranking;
}

std::vector<Group> groups_of(const std::vector<Ranked>& ranked,
                             std::span<const TakenReading> readings,
                             const ShownAt& shown) {
  std::vector<Group> groups;
  double sum = 0.0;
  std::size_t members = 0;
  for (const Ranked& each : ranked) {
    if (++members > kMostMembers) break;
    const auto group =
        std::find_if(groups.begin(), groups.end(), [&](const Group& known) {
          return is_same_well(known.members.front(), each, readings, shown);
        });
    // The least probable make no group of their own.
    if (group == groups.end() && 1.0 - sum < kLeftOut) continue;
    Group& into = group != groups.end() ? *group : groups.emplace_back();
    into.members.push_back(each);
    into.probability += each.probability;
    sum += each.probability;
  }
  std::stable_sort(groups.begin(), groups.end(), [](const Group& a, const Group& b) {
    return a.probability > b.probability;
  });
  return groups;
}

double trouble_of(const Question& question, const Question* before) {
  double trouble = 1.0;
  switch (question.asks) {
    case Asks::looks:
      trouble = 0.2;
      break;
    case Asks::voltage:
      trouble = question.to.empty() ? 1.0 : 1.3;
      break;
    case Asks::resistance:
    case Asks::diode:
      trouble = question.to.empty() ? 1.3 : 1.5;
      break;
    case Asks::current:
      trouble = 4.0;
      break;
  }
  trouble += 1.5 * static_cast<double>(question.out.size());
  if (before != nullptr && before->powered != question.powered)
    trouble += 0.4;
  else if (before != nullptr && before->state != question.state)
    trouble += 0.1;
  return trouble;
}

std::vector<Promise> promises(const std::vector<Ranked>& ranked,
                              std::span<const Question> questions, const ShownAt& shown,
                              const std::function<bool(std::size_t)>& may_ask,
                              const Question* before) {
  constexpr double kAtFigure[] = {0.0};
  constexpr double kAbout[] = {-1.2, 0.0, 1.2};
  const std::vector<Ranked> suspects = weighed(ranked);
  std::vector<Promise> found;
  for (std::size_t q = 0; q < questions.size(); ++q) {
    if (!may_ask(q)) continue;
    const double bits = information(suspects, questions[q], q, shown, kAtFigure);
    if (bits >= kLeastBits)
      found.push_back({q, bits, trouble_of(questions[q], before)});
  }
  const auto is_better = [](const Promise& a, const Promise& b) {
    return a.bits * b.trouble > b.bits * a.trouble;
  };
  std::stable_sort(found.begin(), found.end(), is_better);
  if (found.size() > kMostRefined) found.resize(kMostRefined);
  for (Promise& each : found)
    each.bits =
        information(suspects, questions[each.question], each.question, shown, kAbout);
  std::erase_if(found, [](const Promise& each) { return each.bits < kLeastBits; });
  std::stable_sort(found.begin(), found.end(), is_better);
  return found;
}

}  // namespace benchproof
