#include "core/sizing/detail/pairs.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "core/sizing/detail/choices.h"
#include "core/sizing/detail/exact_at_rest.h"

namespace benchproof {
namespace {

struct Pair {
  double first;
  double second;
  double off;   ///< |figure - goal|
  double away;  ///< From the present values, as a sum of logarithms.
};

/// Keeps the pairs that come nearest.
class NearestPairs {
 public:
  NearestPairs(const SizeRequest& request, Figures& figures, Sizing& sizing)
      : request_(request), figures_(figures), sizing_(sizing) {}

  /// Tries a pair: how far its figure is above what is wanted.
  double try_pair(double first, double second) {
    const double off = figures_.off({first, second});
    if (std::isfinite(off)) note_reach(sizing_, off + request_.goal.want);
    if (std::isfinite(off) && keeps_to(request_.goal, off + request_.goal.want))
      keep(first, second, std::abs(off));
    return off;
  }
  [[nodiscard]] std::vector<std::vector<double>> values() const {
    std::vector<std::vector<double>> values;
    for (const Pair& pair : pairs_) values.push_back({pair.first, pair.second});
    return values;
  }

 private:
  void keep(double first, double second, double off) {
    const Pair pair{first, second, off, away(request_, {first, second})};
    const double same = blur(request_.goal);
    const auto place =
        std::find_if(pairs_.begin(), pairs_.end(), [&](const Pair& other) {
          if (std::abs(pair.off - other.off) > same) return pair.off < other.off;
          return pair.away < other.away;
        });
    const bool is_there =
        std::any_of(pairs_.begin(), pairs_.end(), [&](const Pair& other) {
          return other.first == first && other.second == second;
        });
    if (is_there) return;
    pairs_.insert(place, pair);
    if (pairs_.size() > kPairsKept) pairs_.pop_back();
  }

  const SizeRequest& request_;
  Figures& figures_;
  Sizing& sizing_;
  std::vector<Pair> pairs_;
};

/// The key's standard values between its bounds.
std::vector<double> standard_values(const SizeRequest& request, const SizedKey& key) {
  const Series series = key.series ? *key.series : request.series.value_or(Series::e24);
  return preferred_between(series, key.least, key.most);
}

/// Tries a first value with as few of the second ones as lead to the nearest: those at
/// the ends of kStretches stretches, and by bisection in each stretch whose ends lie on
/// both sides of the goal.
void try_with(double first, const std::vector<double>& seconds, NearestPairs& nearest) {
  constexpr std::size_t kStretches = 8;
  std::size_t before = 0;
  double at_before = nearest.try_pair(first, seconds[0]);
  for (std::size_t stretch = 1; stretch <= kStretches; ++stretch) {
    const std::size_t here = (seconds.size() - 1) * stretch / kStretches;
    if (here == before) continue;
    const double at_here = nearest.try_pair(first, seconds[here]);
    std::size_t low = before;
    std::size_t high = here;
    const bool is_crossed = (at_here < 0.0) != (at_before < 0.0);
    while (is_crossed && high - low > 1) {
      const std::size_t middle = (low + high) / 2;
      const double at_middle = nearest.try_pair(first, seconds[middle]);
      ((at_middle < 0.0) == (at_before < 0.0) ? low : high) = middle;
    }
    before = here;
    at_before = at_here;
  }
}

bool is_out_of_reach(const Goal& goal, const Sizing& sizing) {
  return goal.relation == Goal::Relation::equal &&
         !(goal.want >= sizing.reach_least - blur(goal) &&
           goal.want <= sizing.reach_most + blur(goal));
}

}  // namespace

std::vector<std::vector<double>> nearest_pairs(Figures& figures,
                                               const SizeRequest& request,
                                               Sizing& sizing) {
  const auto firsts = standard_values(request, request.keys[0]);
  const auto seconds = standard_values(request, request.keys[1]);
  sizing.has_no_choice = firsts.empty() || seconds.empty();
  if (sizing.has_no_choice) return {};
  NearestPairs nearest(request, figures, sizing);
  for (const double first : firsts) try_with(first, seconds, nearest);
  if (is_out_of_reach(request.goal, sizing)) return {};
  return nearest.values();
}

}  // namespace benchproof
