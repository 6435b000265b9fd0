#include "core/tolerance/runs/run_search.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace benchproof {
namespace {

/// What moves a gauge by less than this share of its value does not matter: steps in
/// time are that exact.
constexpr double kMattersInTime = 1e-6;
/// What all draws do together may be off the sum of what each does alone by this share.
constexpr double kAdditive = 0.05;
/// Draws that move a gauge by less than this share of all are not moved on.
constexpr double kStrong = 0.05;
constexpr int kRoundsInTime = 3;

}  // namespace

struct RunSearch::Course {
  double base = 0.0;  ///< In the middle of the way.
  double slope = 0.0;
  double bend = 0.0;
  double at_nominal = 0.0;  ///< As described.
  double low = 0.0;         ///< At the ends.
  double high = 0.0;

  /// Of copies: of a uniform draw, or of a bell whose ends are at 3 sigma.
  [[nodiscard]] double variance(bool is_normal) const {
    return is_normal ? slope * slope / 36.0 + 2.0 * bend * bend / 1296.0
                     : slope * slope / 12.0 + bend * bend / 180.0;
  }

  /// Where it is the most (`sign` 1) or the least, and by how much more than as
  /// described.
  struct End {
    double place = 0.0;
    double gain = 0.0;
    bool is_inside = false;
  };
  [[nodiscard]] End end(double sign, double nominal) const {
    End best{nominal, 0.0, false};
    const auto look = [&](double place, double value, bool is_inside) {
      const double gain = sign * (value - at_nominal);
      if (gain > best.gain) best = {place, gain, is_inside};
    };
    look(0.0, low, false);
    look(1.0, high, false);
    const double top = bend == 0.0 ? 0.0 : -slope / (2.0 * bend);
    if (sign * bend < 0.0 && std::abs(top) < 0.5)
      look(0.5 + top, base + top * (slope + bend * top), true);
    if (best.gain <= kMattersInTime * std::abs(at_nominal))
      best = {nominal, 0.0, false};
    return best;
  }
};

RunSearch::RunSearch(const CopiedRun& run, const SolveInTime& nodal,
                     const SideBySide& side_by_side)
    : run_(run),
      nodal_(nodal),
      side_by_side_(side_by_side),
      draws_(by_draw(run.spreads())),
      nominal_(nominal_places(run.spreads())) {
  known_[nominal_] = run.nominal();
  for (std::size_t g = 0; g < run.gauges().size(); ++g) {
    const double now = run.nominal().values[g];
    if (run.gauges()[g].lower) sides_.push_back({g, -1.0, -now, nominal_});
    if (run.gauges()[g].upper) sides_.push_back({g, 1.0, now, nominal_});
  }
}

void RunSearch::add(const std::vector<double>& places, SeenRun seen) {
  take(places, seen);
  known_[places] = std::move(seen);
}

void RunSearch::take(const Places& places, const SeenRun& seen) {
  if (!seen.is_solved) return;
  for (Side& side : sides_) {
    const double here = side.sign * seen.values[side.gauge];
    const double least = std::isfinite(side.best)
                             ? side.best + kMattersInTime * std::abs(side.best)
                             : side.best;
    if (!(here > least)) continue;
    side.best = here;
    side.places = places;
  }
}

void RunSearch::solve(const std::vector<Places>& points) {
  std::set<Places> unknown;
  for (const Places& places : points)
    if (!known_.contains(places)) unknown.insert(places);
  const std::vector<Places> list(unknown.begin(), unknown.end());
  std::vector<SeenRun> seen(list.size());
  side_by_side_(list.size(),
                [&](std::size_t k) { seen[k] = run_.seen(list[k].data(), nodal_); });
  for (std::size_t k = 0; k < list.size(); ++k) add(list[k], std::move(seen[k]));
}

double RunSearch::value(const Places& places, std::size_t gauge) const {
  const SeenRun& seen = known_.at(places);
  return seen.is_solved ? seen.values[gauge] : std::numeric_limits<double>::quiet_NaN();
}

RunSearch::Places RunSearch::with(Places places, std::size_t draw, double place) const {
  for (const std::size_t k : draws_[draw]) places[k] = place;
  return places;
}

RunSearch::Course RunSearch::course(std::size_t draw, std::size_t gauge) const {
  constexpr double kLeastApart = 0.02;  // Of three places.
  Course c;
  c.at_nominal = value(nominal_, gauge);
  c.low = value(with(nominal_, draw, 0.0), gauge);
  c.high = value(with(nominal_, draw, 1.0), gauge);
  c.slope = c.high - c.low;
  c.base = 0.5 * (c.low + c.high);
  const double x = nominal_[draws_[draw].front()] - 0.5;
  if (0.25 - x * x < kLeastApart) return c;
  c.bend = (c.at_nominal - c.base - c.slope * x) / (x * x - 0.25);
  c.base -= 0.25 * c.bend;
  return c;
}

/// Goes to the corners of all sides by what each draw does alone.
void RunSearch::solve_corners() {
  std::vector<Places> list;
  std::vector<double> expected;
  std::vector<double> gains;
  goes_on_.clear();
  for (const Side& side : sides_) {
    Places corner = nominal_;
    double gain = 0.0;
    bool turns = false;
    for (std::size_t d = 0; d < draws_.size(); ++d) {
      const Course::End end =
          course(d, side.gauge).end(side.sign, nominal_[draws_[d].front()]);
      corner = with(std::move(corner), d, end.place);
      gain += end.gain;
      turns = turns || end.is_inside;
    }
    goes_on_.push_back(turns);
    expected.push_back(side.sign * value(nominal_, side.gauge) + gain);
    gains.push_back(gain);
    list.push_back(std::move(corner));
  }
  solve(list);
  for (std::size_t k = 0; k < sides_.size(); ++k) {
    const double here = sides_[k].sign * value(list[k], sides_[k].gauge);
    const bool is_sum = std::abs(here - expected[k]) <= kAdditive * gains[k];
    goes_on_[k] = goes_on_[k] || !is_sum || here < sides_[k].best;
  }
}

/// One draw after the other moved to its ends, and between them by a quarter.
std::vector<RunSearch::Places> RunSearch::nearby(const Side& side) const {
  std::vector<double> moves;
  double all = 0.0;
  for (std::size_t d = 0; d < draws_.size(); ++d) {
    const Course c = course(d, side.gauge);
    moves.push_back(
        std::max(std::abs(c.low - c.at_nominal), std::abs(c.high - c.at_nominal)));
    all += std::isfinite(moves.back()) ? moves.back() : 0.0;
  }
  std::vector<Places> list;
  for (std::size_t d = 0; d < draws_.size(); ++d) {
    if (moves[d] < kStrong * all) continue;  // Those of no known size are moved.
    const double here = side.places[draws_[d].front()];
    for (const double look : {0.0, 1.0, here - 0.25, here + 0.25})
      if (look >= 0.0 && look <= 1.0 && look != here)
        list.push_back(with(side.places, d, look));
  }
  return list;
}

void RunSearch::go_on() {
  for (int round = 0; round < kRoundsInTime; ++round) {
    std::vector<Places> points;
    std::vector<Places> before;
    for (std::size_t k = 0; k < sides_.size(); ++k) {
      before.push_back(sides_[k].places);
      if (!goes_on_[k] || !std::isfinite(sides_[k].best)) continue;
      for (Places& places : nearby(sides_[k])) points.push_back(std::move(places));
    }
    if (points.empty()) return;
    solve(points);
    for (std::size_t k = 0; k < sides_.size(); ++k)
      goes_on_[k] = sides_[k].places != before[k];
  }
}

std::vector<WorstCase> RunSearch::search() {
  std::vector<Places> points;
  for (std::size_t d = 0; d < draws_.size(); ++d)
    for (const double place : {0.0, 1.0}) points.push_back(with(nominal_, d, place));
  solve(points);
  solve_corners();
  go_on();
  std::vector<WorstCase> worst(run_.gauges().size());
  describe(worst);
  put_ends(worst);
  return worst;
}

void RunSearch::describe(std::vector<WorstCase>& worst) const {
  const std::vector<Spread>& spreads = run_.spreads();
  for (std::size_t g = 0; g < worst.size(); ++g) {
    worst[g].moves.assign(spreads.size(), 0.0);
    worst[g].variances.assign(spreads.size(), 0.0);
    for (std::size_t d = 0; d < draws_.size(); ++d) {
      const Course c = course(d, g);
      const double least = kMattersInTime * std::abs(c.at_nominal);
      const double most =
          std::max(std::abs(c.low - c.at_nominal), std::abs(c.high - c.at_nominal));
      if (most <= least) continue;
      for (const std::size_t k : draws_[d]) {
        worst[g].moves[k] = c.high - c.low;
        worst[g].variances[k] = c.variance(spreads[k].is_normal);
      }
    }
  }
}

void RunSearch::put_ends(std::vector<WorstCase>& worst) const {
  const std::vector<Part> parts = last_parts(run_.circuit(), run_.run());
  for (std::size_t g = 0; g < worst.size(); ++g) {
    for (const double sign : {-1.0, 1.0}) {
      Extreme& end = sign < 0.0 ? worst[g].least : worst[g].most;
      double best = sign * value(nominal_, g);
      end.places = nominal_;
      const auto side = std::find_if(sides_.begin(), sides_.end(), [&](const Side& s) {
        return s.gauge == g && s.sign == sign;
      });
      if (side != sides_.end()) {
        best = side->best;
        end.places = side->places;
      } else {
        for (const auto& [places, seen] : known_) {
          if (!seen.is_solved || !(sign * seen.values[g] > best)) continue;
          best = sign * seen.values[g];
          end.places = places;
        }
      }
      end.value = sign * best;
      end.fails = known_.at(end.places).failed[g];
      for (std::size_t k = 0; k < nominal_.size(); ++k)
        end.values.push_back(value_at(run_.spreads()[k], parts, end.places[k]));
    }
  }
}

std::set<RunFault> RunSearch::faults() const {
  std::set<RunFault> all;
  for (const auto& [places, seen] : known_)
    all.insert(seen.faults.begin(), seen.faults.end());
  return all;
}

std::string RunSearch::unsolved() const {
  for (const auto& [places, seen] : known_)
    if (!seen.is_solved) return seen.reason;
  return {};
}

}  // namespace benchproof
