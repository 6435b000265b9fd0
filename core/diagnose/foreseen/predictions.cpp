#include "core/diagnose/foreseen/predictions.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace benchproof {
namespace {

/// What differs by less than so many deviations is the same.
constexpr double kSameSigmas = 0.1;
/// Two probabilities of looks that are as near are the same.
constexpr double kSameSure = 0.1;

/// Whether a pair shows what one of its faults alone does, as far as a meter tells.
bool shows_same(const Shown& pair, const Shown& alone) {
  return !alone.open && std::abs(pair.value - alone.value) <= kSameSigmas * pair.sigma;
}

bool is_same(const Shown& a, const Shown& b) {
  if (a.open != b.open || a.looks != b.looks) return false;
  if (a.open) return true;
  if (std::isnan(a.value) || std::isnan(b.value))
    return std::isnan(a.value) == std::isnan(b.value);
  return std::abs(a.value - b.value) <= kSameSigmas * std::min(a.sigma, b.sigma) &&
         std::abs(a.looks_sure - b.looks_sure) <= kSameSure;
}

}  // namespace

std::vector<Suspect> singles(std::size_t faults) {
  std::vector<Suspect> suspects(1);
  for (std::size_t k = 0; k < faults; ++k)
    suspects.push_back({static_cast<int>(k), -1});
  return suspects;
}

std::vector<Suspect> pairs(std::size_t faults) {
  std::vector<Suspect> suspects;
  for (std::size_t a = 0; a < faults; ++a)
    for (std::size_t b = a + 1; b < faults; ++b)
      suspects.push_back({static_cast<int>(a), static_cast<int>(b)});
  return suspects;
}

Predictions::Predictions(std::vector<Question> questions, std::vector<Suspect> suspects)
    : questions_(std::move(questions)),
      suspects_(std::move(suspects)),
      many_{questions_.size()},
      all_(questions_.size() * suspects_.size()) {
  for (std::size_t q = 0; q < questions_.size(); ++q) places_.push_back({0, q});
  for (std::size_t k = 0; k < suspects_.size(); ++k)
    rows_.push_back(all_.data() + k * questions_.size());
}

Predictions::Predictions(std::vector<Question> questions, std::vector<Suspect> suspects,
                         const std::vector<std::vector<std::size_t>>& groups,
                         std::shared_ptr<const void> keeper)
    : questions_(std::move(questions)),
      suspects_(std::move(suspects)),
      places_(questions_.size()),
      groups_(groups.size()),
      rows_(groups.size() * suspects_.size(), nullptr),
      keeper_(std::move(keeper)) {
  for (std::size_t g = 0; g < groups.size(); ++g) {
    many_.push_back(groups[g].size());
    for (std::size_t k = 0; k < groups[g].size(); ++k) places_[groups[g][k]] = {g, k};
  }
}

void Predictions::put(std::size_t suspect, std::size_t question, const Shown& shown) {
  const Place& place = places_[question];
  const std::size_t at = suspect * groups_ + place.group;
  if (!all_.empty()) {
    all_[suspect * questions_.size() + question] = shown;
    return;
  }
  std::vector<Shown>& own = own_[at];
  if (own.empty()) own.assign(rows_[at], rows_[at] + many_[place.group]);
  own[place.number] = shown;
  rows_[at] = own.data();
}

std::vector<std::vector<std::size_t>> Predictions::classes() const {
  std::vector<std::vector<std::size_t>> classes;
  for (std::size_t k = 0; k < suspects_.size(); ++k) {
    const auto is_like = [&](const std::vector<std::size_t>& members) {
      for (std::size_t q = 0; q < questions_.size(); ++q)
        if (!is_same(at(members.front(), q), at(k, q))) return false;
      return true;
    };
    const auto found = std::find_if(classes.begin(), classes.end(), is_like);
    if (found == classes.end())
      classes.push_back({k});
    else
      found->push_back(k);
  }
  return classes;
}

Shown widened(Shown pair, const Shown& one, const Shown& other) {
  if (pair.open) return pair;
  const bool is_one = shows_same(pair, one);
  const bool is_other = shows_same(pair, other);
  if (!one.open && (is_one || !is_other)) pair.sigma = std::max(pair.sigma, one.sigma);
  if (!other.open && (is_other || !is_one))
    pair.sigma = std::max(pair.sigma, other.sigma);
  return pair;
}

void widen_pairs(Predictions& predictions,
                 const std::function<const Shown&(std::size_t, std::size_t)>& alone) {
  for (std::size_t k = 0; k < predictions.suspects().size(); ++k) {
    const Suspect& suspect = predictions.suspects()[k];
    if (suspect.first < 0 || suspect.second < 0) continue;
    for (std::size_t q = 0; q < predictions.questions().size(); ++q)
      predictions.put(k, q,
                      widened(predictions.at(k, q),
                              alone(static_cast<std::size_t>(suspect.first), q),
                              alone(static_cast<std::size_t>(suspect.second), q)));
  }
}

}  // namespace benchproof
