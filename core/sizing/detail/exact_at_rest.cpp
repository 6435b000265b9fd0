#include "core/sizing/detail/exact_at_rest.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <utility>
#include <vector>

#include "core/sizing/detail/scale.h"

namespace benchproof {
namespace {

/// Where a figure meets the goal, or jumps past it.
struct Place {
  double at = 0.0;  ///< Position on the scale.
  bool jumps = false;
};

/// How far the figure is off what is wanted at a position on the scale.
using Off = std::function<double(double)>;

/// The place between two positions at which the figure is off to opposite sides:
/// `at_low` is how far at the lower one.
Place place_between(const Off& off_at, double low, double high, double at_low) {
  constexpr int kMost = 60;
  constexpr double kClose = 1e-11;
  // What is left of a gap this narrow when the figure has no step there.
  constexpr double kJump = 1e-3;
  double at_high = off_at(high);
  const double gap = std::abs(at_high - at_low);
  double off_low = at_low;
  double off_high = at_high;
  // Regula falsi with the Illinois rule: the end that stays is halved.
  int side = 0;
  for (int k = 0; k < kMost && high - low > kClose; ++k) {
    double middle = (low * at_high - high * at_low) / (at_high - at_low);
    if (!(middle > low && middle < high) || k % 8 == 7) middle = 0.5 * (low + high);
    const double here = off_at(middle);
    if (here == 0.0) return {middle, false};
    if (!std::isfinite(here)) return {middle, true};
    if ((here < 0.0) == (at_low < 0.0)) {
      low = middle;
      at_low = off_low = here;
      if (side == -1) at_high *= 0.5;
      side = -1;
    } else {
      high = middle;
      at_high = off_high = here;
      if (side == 1) at_low *= 0.5;
      side = 1;
    }
  }
  const double middle = 0.5 * (low + high);
  return {middle, std::abs(off_high - off_low) > kJump * gap};
}

/// All places on the scale. Notes what the figure reaches on the way.
std::vector<Place> all_places(const Off& off_at, int steps, const Goal& goal,
                              Sizing& sizing) {
  std::vector<Place> found;
  double before = 0.0;
  bool has_before = false;
  for (int k = 0; k <= steps; ++k) {
    const double position = static_cast<double>(k) / steps;
    const double here = off_at(position);
    if (!std::isfinite(here)) {
      has_before = false;
      continue;
    }
    note_reach(sizing, here + goal.want);
    if (here == 0.0) {
      found.push_back({position, false});
    } else if (has_before && before != 0.0 && (here < 0.0) != (before < 0.0)) {
      const double from = static_cast<double>(k - 1) / steps;
      found.push_back(place_between(off_at, from, position, before));
    }
    before = here;
    has_before = true;
  }
  return found;
}

}  // namespace

void note_reach(Sizing& sizing, double figure) {
  const bool is_first = std::isnan(sizing.reach_least);
  sizing.reach_least = is_first ? figure : std::min(sizing.reach_least, figure);
  sizing.reach_most = is_first ? figure : std::max(sizing.reach_most, figure);
}

void find_exact_at_rest(Figures& figures, const SizeRequest& request, Sizing& sizing) {
  const SizedKey& key = request.keys.front();
  const Scale scale(key, request.goal);
  const Off off_at = [&](double position) {
    return figures.off(request.each(scale.value(position)));
  };
  std::vector<Place> found = all_places(off_at, scale.steps(), request.goal, sizing);
  if (found.empty()) return;
  const double present = key.present ? scale.position(*key.present) : 0.0;
  const auto nearest = std::min_element(
      found.begin(), found.end(), [present](const Place& a, const Place& b) {
        return std::pair(a.jumps, std::abs(a.at - present)) <
               std::pair(b.jumps, std::abs(b.at - present));
      });
  sizing.exact = scale.value(nearest->at);
  sizing.jumps = nearest->jumps;
  found.erase(nearest);
  for (const Place& place : found)
    if (!place.jumps) sizing.others.push_back(scale.value(place.at));
}

}  // namespace benchproof
