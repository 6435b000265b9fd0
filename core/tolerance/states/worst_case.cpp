#include "core/tolerance/states/worst_case.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <iterator>
#include <map>
#include <set>
#include <utility>

#include "core/check/agree/agreement.h"

namespace benchproof {
namespace {

using Places = std::vector<double>;

/// The places of a draw that are looked at: both ends, and between them.
constexpr std::array kLooks = {0.0, 1.0, 0.25, 0.5, 0.75};
/// What is left of a course over these places, for its mean and variance over copies:
/// Boole's rule, and five points with the moments of a bell whose ends are at 3 sigma.
constexpr std::array kUniform = {7 / 90.0, 7 / 90.0, 32 / 90.0, 12 / 90.0, 32 / 90.0};
constexpr std::array kNormal = {1 / 162.0, 1 / 162.0, 16 / 81.0, 48 / 81.0, 16 / 81.0};
/// What moves a gauge by less than this share of its value does not matter.
constexpr double kMatters = 1e-9;
constexpr int kMostRounds = 12;
/// Corners drawn at random.
constexpr std::size_t kDrawnCorners = 512;
/// Steps between places, from the first to the last.
constexpr double kFirstStep = 0.125, kLastStep = 1e-4;
/// Where the slowest of four stretches has less than this of the fastest one's slope, a
/// gauge may turn round at an end. A parabola whose top is an eighth of the way beyond
/// its end has 0.25.
constexpr double kBent = 0.25;
/// Shorter steps are made between the ends only, not from them.
constexpr double kLeastFromEnd = 1.0 / 32.0;

/// One side of a gauge: its least or its most.
struct Side {
  std::size_t gauge = 0;
  double sign = 1.0;  ///< -1: the least is looked for.
  double best = 0.0;  ///< sign * value.
  Places places;

  /// Whether a value is worse; it counts from here on.
  bool take(double value) {
    if (!(sign * value > best + kMatters * std::abs(best))) return false;
    best = sign * value;
    return true;
  }
};

/// A bit that is drawn at random, the same each time.
bool drawn_bit(std::size_t trial, std::size_t draw) {
  std::uint64_t x = 0x9E3779B97F4A7C15U * (trial * 1000003U + draw + 1U);
  x = (x ^ (x >> 30U)) * 0xBF58476D1CE4E5B9U;
  x = (x ^ (x >> 27U)) * 0x94D049BB133111EBU;
  return ((x >> 60U) & 1U) != 0;
}

/// Finds the worst cases of a state. All spreads of one draw move together.
class Search {
 public:
  explicit Search(const CopiedState& state)
      : state_(state),
        measurer_(state),
        draws_(draws_that_move(state)),
        nominal_(nominal_places(state.spreads())) {}

  std::vector<WorstCase> run() {
    look_alone();
    std::vector<Side> sides = corners_by_slopes();
    climb(sides);
    std::vector<Side> others = from_drawn_corners(sides);
    climb(others);
    for (Side& other : others)
      for (Side& side : sides)
        if (side.gauge == other.gauge && side.sign == other.sign &&
            side.take(other.sign * other.best))
          side.places = std::move(other.places);
    for (Side& side : sides) {
      Extreme& end =
          side.sign < 0.0 ? found_[side.gauge].least : found_[side.gauge].most;
      end.value = side.sign * side.best;
      end.places = std::move(side.places);
    }
    hold_against_limits();
    for (WorstCase& worst : found_)
      for (Extreme* end : {&worst.least, &worst.most})
        for (std::size_t k = 0; k < nominal_.size(); ++k)
          end->values.push_back(
              value_at(state_.spreads()[k], state_.posed().parts(), end->places[k]));
    return std::move(found_);
  }

 private:
  struct Measured {
    std::vector<double> values;
    std::vector<bool> failed;
  };

  void put(std::size_t draw, double place, Places& places) const {
    for (const std::size_t k : draws_[draw]) places[k] = place;
  }

  std::vector<Measured> measure(const std::vector<Places>& points) {
    std::vector<Measured> all;
    all.reserve(points.size());
    measurer_.measure(
        0, points.size(),
        [&points](std::size_t k, double* places) {
          std::copy(points[k].begin(), points[k].end(), places);
        },
        [&all](const Measurer::Copy& copy) {
          all.push_back({copy.values, copy.failed()});
        });
    return all;
  }

  /// Each draw alone at each of its places.
  void look_alone() {
    std::vector<Places> points = {nominal_};
    for (std::size_t d = 0; d < draws_.size(); ++d) {
      for (const double place : kLooks) {
        points.push_back(nominal_);
        put(d, place, points.back());
      }
    }
    alone_ = measure(points);
    found_.resize(state_.gauges().size());
    for (std::size_t g = 0; g < found_.size(); ++g) {
      found_[g].moves.assign(nominal_.size(), 0.0);
      found_[g].variances.assign(nominal_.size(), 0.0);
      for (std::size_t d = 0; d < draws_.size(); ++d) {
        for (const std::size_t k : draws_[d]) {
          found_[g].moves[k] = alone(d, 1, g) - alone(d, 0, g);
          found_[g].variances[k] = variance(d, g);
        }
      }
    }
    for (std::size_t d = 0; d < draws_.size(); ++d) matters_.push_back(moves_alone(d));
    for (std::size_t g = 0; g < found_.size(); ++g) bends_.push_back(bends(g));
  }

  [[nodiscard]] double alone(std::size_t draw, std::size_t look, std::size_t gauge) {
    return alone_[1 + draw * kLooks.size() + look].values[gauge];
  }

  /// Whether a gauge goes so unevenly along some draw alone that it may turn round
  /// between the places that were looked at.
  bool bends(std::size_t gauge) {
    const double matters = kMatters * std::abs(alone_[0].values[gauge]);
    for (std::size_t d = 0; d < draws_.size(); ++d) {
      // In rising order of the places.
      const double course[] = {alone(d, 0, gauge), alone(d, 2, gauge),
                               alone(d, 3, gauge), alone(d, 4, gauge),
                               alone(d, 1, gauge)};
      double least = HUGE_VAL, most = -HUGE_VAL;
      for (std::size_t k = 0; k + 1 < std::size(course); ++k) {
        least = std::min(least, course[k + 1] - course[k]);
        most = std::max(most, course[k + 1] - course[k]);
      }
      const bool moves = std::max(std::abs(least), std::abs(most)) > matters;
      // Of one direction: the slowest stretch against the fastest.
      const double slow = std::min(std::abs(least), std::abs(most));
      const double fast = std::max(std::abs(least), std::abs(most));
      if (moves && (least * most <= 0.0 || slow < kBent * fast)) return true;
    }
    return false;
  }

  /// Whether a draw alone moves any gauge.
  bool moves_alone(std::size_t draw) {
    for (std::size_t g = 0; g < found_.size(); ++g)
      if (const double v = found_[g].variances[draws_[draw].front()];
          v > 0.0 && std::isfinite(v))
        return true;
    return false;
  }

  /// Of a gauge over one draw alone.
  double variance(std::size_t draw, std::size_t gauge) {
    const bool is_normal = state_.spreads()[draws_[draw].front()].is_normal;
    const auto& weights = is_normal ? kNormal : kUniform;
    const double base = alone_[0].values[gauge];
    double mean = 0.0, squares = 0.0;
    for (std::size_t look = 0; look < kLooks.size(); ++look) {
      const double off = alone(draw, look, gauge) - base;
      mean += weights[look] * off;
      squares += weights[look] * off * off;
    }
    return std::max(0.0, squares - mean * mean);
  }

  std::vector<Side> corners_by_slopes() {
    std::vector<Side> sides;
    for (std::size_t g = 0; g < found_.size(); ++g) {
      const double now = alone_[0].values[g];
      for (const double sign : {-1.0, 1.0}) {
        Side side{g, sign, sign * now, nominal_};
        for (std::size_t d = 0; d < draws_.size(); ++d) {
          Side along = side;
          along.best = sign * now;
          for (std::size_t look = 0; look < kLooks.size(); ++look)
            if (along.take(alone(d, look, g))) put(d, kLooks[look], side.places);
        }
        sides.push_back(std::move(side));
      }
    }
    return sides;
  }

  /// Sides from the worst of corners drawn at random: where that is worse than what was
  /// found, or the gauge turns round along some draw.
  std::vector<Side> from_drawn_corners(const std::vector<Side>& found) {
    std::vector<Places> points(kDrawnCorners, nominal_);
    for (std::size_t k = 0; k < points.size(); ++k)
      for (std::size_t d = 0; d < draws_.size(); ++d)
        put(d, drawn_bit(k, d) ? 1.0 : 0.0, points[k]);
    const std::vector<Measured> all = measure(points);
    std::vector<Side> sides;
    for (const Side& side : found) {
      Side other{side.gauge, side.sign, -HUGE_VAL, {}};
      for (std::size_t k = 0; k < points.size(); ++k) {
        const double value = other.sign * all[k].values[other.gauge];
        if (!(value > other.best)) continue;
        other.best = value;
        other.places = points[k];
      }
      const bool is_new = !other.places.empty() && other.places != side.places;
      if (is_new && (other.best > side.best || turns(side)))
        sides.push_back(std::move(other));
    }
    return sides;
  }

  /// Whether both ends of some draw alone are on the same side of the value described.
  bool turns(const Side& side) {
    const double now = alone_[0].values[side.gauge];
    const double matters = kMatters * std::abs(now);
    for (std::size_t d = 0; d < draws_.size(); ++d) {
      const double low = alone(d, 0, side.gauge) - now;
      const double high = alone(d, 1, side.gauge) - now;
      if (std::abs(low) > matters && std::abs(high) > matters && low * high > 0.0)
        return true;
    }
    return false;
  }

  /// Goes on from each side's corner while that brings something: to the places that
  /// are looked at, then by ever smaller steps.
  void climb(std::vector<Side>& sides) {
    std::set<Side*> going;
    for (Side& side : sides) going.insert(&side);
    bool is_first = true;
    for (int round = 0; round < kMostRounds && !going.empty(); ++round) {
      going = improve(going, is_first, [this](const Side& side, std::size_t d) {
        const double here = side.places[draws_[d].front()];
        std::vector<double> looks;
        for (const double look : kLooks)
          if (look != here) looks.push_back(look);
        return looks;
      });
      is_first = false;
    }
    for (double step = kFirstStep; step > kLastStep; step *= 0.5) {
      going.clear();
      for (Side& side : sides)
        if ((step >= kLeastFromEnd && bends_[side.gauge]) || is_inside(side))
          going.insert(&side);
      for (int round = 0; round < kMostRounds && !going.empty(); ++round)
        going = improve(going, false, [&](const Side& side, std::size_t d) {
          return nearby(side, d, step);
        });
    }
  }

  /// Whether a draw that moves anything by itself stands between its ends.
  [[nodiscard]] bool is_between(const Side& side, std::size_t d) const {
    const double here = side.places[draws_[d].front()];
    return here > 0.0 && here < 1.0 && matters_[d];
  }

  [[nodiscard]] bool is_inside(const Side& side) const {
    for (std::size_t d = 0; d < draws_.size(); ++d)
      if (is_between(side, d)) return true;
    return false;
  }

  [[nodiscard]] std::vector<double> nearby(const Side& side, std::size_t d,
                                           double step) const {
    const double here = side.places[draws_[d].front()];
    std::vector<double> looks;
    if (step < kLeastFromEnd && !is_between(side, d)) return looks;
    for (const double look : {here - step, here + step})
      if (look > 0.0 && look < 1.0) looks.push_back(look);
    return looks;
  }

  /// Looks from the corners of these sides at what `looks` gives for each draw, and
  /// goes to the best. Those that went. At first the corners themselves are new.
  template <typename Looks>
  std::set<Side*> improve(const std::set<Side*>& sides, bool is_first, Looks&& looks) {
    std::map<Places, std::vector<Side*>> corners;
    for (Side* side : sides) corners[side->places].push_back(side);
    std::set<Side*> went;
    for (auto& [corner, here] : corners) {
      std::vector<Places> points = {corner};
      for (std::size_t d = 0; d < draws_.size(); ++d) {
        for (const double place : looks(*here.front(), d)) {
          points.push_back(corner);
          put(d, place, points.back());
        }
      }
      const std::vector<Measured> all = measure(points);
      for (Side* side : here) {
        const double value = side->sign * all[0].values[side->gauge];
        if (is_first && std::isfinite(value)) side->best = value;
        for (std::size_t k = 1; k < points.size(); ++k) {
          if (!side->take(all[k].values[side->gauge])) continue;
          side->places = points[k];
          went.insert(side);
        }
      }
    }
    return went;
  }

  /// Whether each end is past its limits, which may move with the ambient temperature:
  /// then it is warmer or colder, too.
  void hold_against_limits() {
    std::map<Places, std::vector<std::pair<std::size_t, Extreme*>>> corners;
    for (std::size_t g = 0; g < found_.size(); ++g)
      for (Extreme* end : {&found_[g].least, &found_[g].most})
        corners[end->places].emplace_back(g, end);
    for (const auto& [corner, ends] : corners) {
      std::vector<Places> points = {corner};
      for (std::size_t k = 0; k < nominal_.size(); ++k) {
        if (state_.spreads()[k].part >= 0) continue;
        for (const double place : {0.0, 1.0}) {
          points.push_back(corner);
          points.back()[k] = place;
        }
      }
      const std::vector<Measured> all = measure(points);
      for (const auto& [gauge, end] : ends) {
        for (std::size_t k = 0; k < points.size() && !end->fails; ++k) {
          if (!all[k].failed[gauge]) continue;
          end->fails = true;
          end->value = all[k].values[gauge];
          end->places = points[k];
        }
      }
    }
  }

  const CopiedState& state_;
  Measurer measurer_;
  std::vector<std::vector<std::size_t>> draws_;
  Places nominal_;
  std::vector<Measured> alone_;  ///< The nominal one first.
  std::vector<bool> matters_;    ///< Of each draw whether it alone moves anything.
  std::vector<bool> bends_;      ///< Of each gauge, see bends().
  std::vector<WorstCase> found_;
};

/// What both witnesses say at one corner.
struct Confirmed {
  std::vector<double> engine;  ///< One a gauge; empty: no answer.
  std::vector<double> nodal;
  bool agrees = false;
};

Confirmed confirmed_at(const CopiedState& state, const Places& places,
                       const Solve& engine, const Solve& nodal) {
  const SeenByBoth seen =
      seen_by_both(state, state.networks(places.data()), engine, nodal);
  if (!seen.is_solved) return {};
  return {values_at(state, places.data(), seen.engine),
          values_at(state, places.data(), seen.nodal), seen.agrees};
}

}  // namespace

std::vector<WorstCase> worst_cases(const CopiedState& state) {
  return Search(state).run();
}

void confirm(const CopiedState& state, const Solve& engine, const Solve& nodal,
             std::vector<WorstCase>& worst) {
  std::map<Places, Confirmed> corners;
  for (std::size_t g = 0; g < worst.size(); ++g) {
    for (Extreme* end : {&worst[g].least, &worst[g].most}) {
      const auto [it, is_new] = corners.try_emplace(end->places);
      if (is_new) it->second = confirmed_at(state, end->places, engine, nodal);
      const Confirmed& both = it->second;
      end->agrees = both.agrees;
      if (!both.engine.empty()) end->engine = both.engine[g];
      if (!both.nodal.empty()) end->nodal = both.nodal[g];
    }
  }
}

}  // namespace benchproof
