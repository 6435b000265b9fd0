#include "core/tolerance/mover.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace benchproof {
namespace {

/// Where a spread is lowered to see how its slots move.
constexpr std::array kPlaces = {0.0, 0.2, 0.45, 0.7, 1.0};
/// What a law may be off by, of the value.
constexpr double kExact = 1e-9;

bool is_near(double a, double b) {
  return std::abs(a - b) <= kExact * std::max(std::abs(a), std::abs(b));
}

/// One slot at the places, and as posed.
struct SlotCourse {
  double nominal = 0.0;
  std::array<double, kPlaces.size()> at{};
};

/// Whether `law(place)` gives the slot's value at all places.
template <typename Law>
bool holds(const SlotCourse& course, Law&& law) {
  for (std::size_t k = 0; k < kPlaces.size(); ++k)
    if (!is_near(law(kPlaces[k]), course.at[k])) return false;
  return true;
}

}  // namespace

/// The networks of all phases with one spread at each of the places.
struct Mover::Samples {
  std::vector<std::vector<Network>> at;  ///< [place][phase]
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
  for (std::size_t k = 0; k < spreads.size(); ++k) {
    Samples samples;
    for (const double place : kPlaces) {
      samples.at.push_back(networks_at(spreads[k], place, posed));
      if (samples.at.back().empty()) break;
    }
    if (samples.at.back().empty()) continue;
    for (std::size_t phase = 0; phase < movers.size(); ++phase)
      movers[phase].take(k, samples, phase);
  }
  for (Mover& mover : movers) {
    const Values& values = posed.phases()[mover.phase_].network.values;
    for (const Move& move : mover.list_)
      if (std::find(mover.touched_.begin(), mover.touched_.end(), move.slot) ==
          mover.touched_.end())
        mover.touched_.push_back(move.slot);
    for (const Slot& slot : mover.touched_)
      mover.as_posed_.push_back(benchproof::value_at(values, slot));
  }
  return movers;
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
    SlotCourse course{as_posed, {}};
    bool is_still = true;
    for (std::size_t k = 0; k < kPlaces.size(); ++k) {
      course.at[k] = benchproof::value_at(samples.at[k][phase].values, slot);
      is_still = is_still && course.at[k] == as_posed;
    }
    if (is_still) return;
    const double last = course.at.back();
    const double span = kPlaces.back() - nominal;
    const double first_span = kPlaces.front() - nominal;
    // From the end that is farther from the nominal place.
    const bool by_last = std::abs(span) >= std::abs(first_span);
    const double end = by_last ? last : course.at.front();
    const double way = by_last ? span : first_span;
    Move move{spread, slot, Law::amount, (end - as_posed) / way, nominal};
    if (holds(course, [&](double p) { return as_posed + move.rate * (p - nominal); })) {
      if (as_posed != 0.0) {
        move.law = Law::share;
        move.rate /= as_posed;
      }
      moves.push_back(move);
      return;
    }
    if (as_posed != 0.0 && end / as_posed > 0.0) {
      move.law = Law::exponential;
      move.rate = std::log(end / as_posed) / way;
      if (holds(course, [&](double p) {
            return as_posed * std::exp(move.rate * (p - nominal));
          })) {
        moves.push_back(move);
        return;
      }
    }
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
    network.values = posed_->phases()[phase_].network.values;
    for (const std::size_t k : lowered_) {
      const Network there = networks_at((*spreads_)[k], places[k], *posed_)[phase_];
      const Values& before = posed_->phases()[phase_].network.values;
      for_slots(before, there.values, [&](const Slot& slot, double a, double b) {
        if (a != b) benchproof::value_at(network.values, slot) = b;
      });
    }
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
