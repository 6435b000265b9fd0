#include "core/tolerance/copy/mover.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

namespace benchproof {
namespace {

/// Where a spread is lowered to see how its slots move.
constexpr std::array kPlaces = {0.0, 0.2, 0.45, 0.7, 1.0};
/// How often all spreads together are lowered to see whether they move apart.
constexpr std::size_t kTogether = 4;
/// What a law may be off by, of the value.
constexpr double kExact = 1e-9;

bool is_near(double a, double b) {
  return a == b ||  // Infinite ones, too.
         std::abs(a - b) <= kExact * std::max(std::abs(a), std::abs(b));
}

/// Places of all spreads that lie apart from each other: multiples of the golden ratio.
std::vector<double> scattered(std::size_t count, std::size_t trial) {
  constexpr double kGolden = 0.6180339887498949;
  std::vector<double> places(count);
  for (std::size_t k = 0; k < count; ++k) {
    const double along = kGolden * static_cast<double>(1 + k + trial * count);
    places[k] = along - std::floor(along);
  }
  return places;
}

}  // namespace

/// The networks of all phases with one spread at each of the places.
struct Mover::Samples {
  std::vector<std::vector<Network>> at;  ///< [place][phase]
};

/// One slot at the places.
struct Mover::Course {
  std::array<double, kPlaces.size()> at{};

  /// Whether `law(place)` gives the slot's value at all of them.
  template <typename Law>
  [[nodiscard]] bool holds(Law&& law) const {
    for (std::size_t k = 0; k < kPlaces.size(); ++k)
      if (!is_near(law(kPlaces[k]), at[k])) return false;
    return true;
  }
};

std::vector<Mover> Mover::of(const std::vector<Spread>& spreads,
                             const PosedState& posed) {
  std::vector<Mover> movers(posed.phases().size());
  for (std::size_t phase = 0; phase < movers.size(); ++phase) {
    Mover& mover = movers[phase];
    mover.spreads_ = &spreads;
    mover.posed_ = &posed;
    mover.phase_ = phase;
    mover.moves_.assign(spreads.size(), false);
    mover.ambient_ = spreads.size();
    mover.celsius_ = posed.phases()[phase].network.celsius;
  }
  Lowering lowering(spreads, posed);
  std::vector<std::size_t> fine;  // Those that ask for no other elements.
  for (std::size_t k = 0; k < spreads.size(); ++k) {
    Samples samples;
    for (const double place : kPlaces) {
      const std::vector<double> places(spreads.size(), place);
      samples.at.push_back(lowering.at({&k, 1}, places.data()));
      if (samples.at.back().empty()) break;
    }
    if (samples.at.back().empty()) continue;
    fine.push_back(k);
    for (std::size_t phase = 0; phase < movers.size(); ++phase)
      movers[phase].take(k, samples, phase);
  }
  for (Mover& mover : movers) mover.remember_touched();
  for (std::size_t trial = 0; trial < kTogether; ++trial) {
    const std::vector<double> places = scattered(spreads.size(), trial);
    const std::vector<Network> wanted = lowering.at(fine, places.data());
    if (wanted.empty()) break;
    for (std::size_t phase = 0; phase < movers.size(); ++phase)
      while (movers[phase].lower_what_crosses(fine, places.data(), wanted[phase])) {
      }
  }
  return movers;
}

void Mover::remember_touched() {
  const Values& values = posed_->phases()[phase_].network.values;
  touched_.clear();
  as_posed_.clear();
  for (const Move& move : list_) {
    if (std::find(touched_.begin(), touched_.end(), move.slot) != touched_.end())
      continue;
    touched_.push_back(move.slot);
    as_posed_.push_back(benchproof::value_at(values, move.slot));
  }
}

/// Finds the first slot that is not as it is when all spreads are lowered together, and
/// has what moves it there lowered from now on: what makes a difference when it alone
/// is left out, for some move a slot only together (a drift and the temperature).
/// Whether there was one.
bool Mover::lower_what_crosses(const std::vector<std::size_t>& all,
                               const double* places, const Network& wanted) {
  Network moved = posed_->phases()[phase_].network;
  move(places, moved);
  std::optional<Slot> differs;
  for_slots(wanted.values, moved.values, [&](const Slot& slot, double a, double b) {
    if (!differs && !is_near(a, b)) differs = slot;
  });
  if (!differs) return false;
  std::vector<std::size_t> crossing;
  for (const std::size_t k : all) {
    if (std::binary_search(lowered_.begin(), lowered_.end(), k)) continue;
    std::vector<std::size_t> others = all;
    std::erase(others, k);
    const std::vector<Network> without =
        networks_at(*spreads_, others, places, *posed_);
    if (without.empty() || benchproof::value_at(without[phase_].values, *differs) !=
                               benchproof::value_at(wanted.values, *differs))
      crossing.push_back(k);
  }
  if (crossing.empty()) return false;
  const auto crosses = [&crossing](const Move& m) {
    return std::find(crossing.begin(), crossing.end(), m.spread) != crossing.end();
  };
  std::erase_if(list_, crosses);
  lowered_.insert(lowered_.end(), crossing.begin(), crossing.end());
  std::sort(lowered_.begin(), lowered_.end());
  for (const std::size_t k : crossing) moves_[k] = true;
  remember_touched();
  return true;
}

/// Finds the law by which a slot moves; `move` comes with its nominal place. Whether
/// there is one.
bool Mover::find_law(const Course& course, double as_posed, Move& move) {
  // From the end that is farther from the nominal place.
  const double span = kPlaces.back() - move.nominal;
  const double first_span = kPlaces.front() - move.nominal;
  const bool by_last = std::abs(span) >= std::abs(first_span);
  const double end = by_last ? course.at.back() : course.at.front();
  const double way = by_last ? span : first_span;
  move.law = Law::amount;
  move.rate = (end - as_posed) / way;
  if (course.holds(
          [&](double p) { return as_posed + move.rate * (p - move.nominal); })) {
    if (as_posed != 0.0) {
      move.law = Law::share;
      move.rate /= as_posed;
    }
    return true;
  }
  if (as_posed == 0.0 || end / as_posed <= 0.0) return false;
  move.law = Law::exponential;
  move.rate = std::log(end / as_posed) / way;
  return course.holds(
      [&](double p) { return as_posed * std::exp(move.rate * (p - move.nominal)); });
}

void Mover::take(std::size_t spread, const Samples& samples, std::size_t phase) {
  const Values& posed = posed_->phases()[phase].network.values;
  const double nominal = nominal_place((*spreads_)[spread]);
  if ((*spreads_)[spread].part < 0) {
    ambient_ = spread;
    moves_[spread] = true;
  }
  std::vector<Move> moves;
  bool is_lawful = true;
  for_slots(posed, posed, [&](const Slot& slot, double as_posed, double) {
    Course course;
    bool is_still = true;
    for (std::size_t k = 0; k < kPlaces.size(); ++k) {
      course.at[k] = benchproof::value_at(samples.at[k][phase].values, slot);
      is_still = is_still && course.at[k] == as_posed;
    }
    if (is_still) return;
    Move move{spread, slot, Law::amount, 0.0, nominal};
    if (find_law(course, as_posed, move))
      moves.push_back(move);
    else
      is_lawful = false;
  });
  if (!is_lawful) {
    lowered_.push_back(spread);
    moves_[spread] = true;
    return;
  }
  moves_[spread] = moves_[spread] || !moves.empty();
  list_.insert(list_.end(), moves.begin(), moves.end());
}

void Mover::move(const double* places, Network& network) const {
  if (lowered_.empty()) {
    for (std::size_t k = 0; k < touched_.size(); ++k)
      benchproof::value_at(network.values, touched_[k]) = as_posed_[k];
  } else {
    std::vector<Network> there = networks_at(*spreads_, lowered_, places, *posed_);
    network.values = there.empty() ? posed_->phases()[phase_].network.values
                                   : std::move(there[phase_].values);
  }
  if (ambient_ < spreads_->size())
    network.celsius =
        celsius_ + (value_at((*spreads_)[ambient_], posed_->parts(), places[ambient_]) -
                    (*spreads_)[ambient_].nominal);
  for (const Move& move : list_) {
    double& value = benchproof::value_at(network.values, move.slot);
    const double off = places[move.spread] - move.nominal;
    switch (move.law) {
      case Law::share:
        value *= 1.0 + move.rate * off;
        break;
      case Law::amount:
        value += move.rate * off;
        break;
      case Law::exponential:
        value *= std::exp(move.rate * off);
        break;
    }
  }
}

}  // namespace benchproof
