#include "core/sizing/detail/yields.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <map>
#include <tuple>

#include "core/base/preferred.h"
#include "core/sizing/detail/measure.h"
#include "core/tolerance/works.h"

namespace benchproof {
namespace {

/// Copies with which a value is looked at first.
constexpr std::size_t kFirstCopies = 4096;
/// Those that may be the best are counted anew with so many times as many.
constexpr std::size_t kMoreCopies = 4;
/// Standard values on each side of the exact one that are looked at in any case.
constexpr std::ptrdiff_t kBeside = 3;
/// No more values than these are looked at.
constexpr std::size_t kMostValues = 48;
constexpr std::size_t kMostPairs = 12;

/// Counts copies with the request's values.
class YieldCounter {
 public:
  YieldCounter(Figures& figures, const Circuit& circuit, const SizeRequest& request,
               const Witnesses& witnesses)
      : figures_(figures),
        circuit_(circuit),
        request_(request),
        witnesses_(witnesses) {}

  ValuesYield count(const std::vector<double>& values, std::size_t copies) {
    Circuit changed = circuit_;
    put_values(changed, request_.keys, values);
    ValuesYield yield;
    yield.values = values;
    yield.nominal = figures_.at(values);
    yield.copies = std::min(copies, request_.yield->copies);
    const Goal& goal = request_.goal;
    const Demand demand{circuit_.states[request_.state].name,
                        [&goal](const CheckInput& input) {
                          const auto figure = figure_seen(goal, input);
                          return figure && keeps_to(goal, *figure);
                        }};
    yield.works =
        count_working(CopiedCircuit(changed, witnesses_.nodal), demand, yield.copies,
                      request_.yield->seed, witnesses_.side_by_side);
    yield.share = share_of(yield.works, yield.copies);
    return yield;
  }

  /// How far the figure is off the goal.
  [[nodiscard]] double off(const ValuesYield& yield) const {
    return std::abs(yield.nominal - request_.goal.want);
  }
  /// Whether the one is to be preferred: by its share, else by its figure.
  [[nodiscard]] bool is_better(const ValuesYield& a, const ValuesYield& b) const {
    if (a.share.share != b.share.share) return a.share.share > b.share.share;
    return off(a) < off(b) - blur(request_.goal);
  }

 private:
  Figures& figures_;
  const Circuit& circuit_;
  const SizeRequest& request_;
  const Witnesses& witnesses_;
};

/// Values by their place among the standard ones.
using Looked = std::map<std::ptrdiff_t, ValuesYield>;

/// The standard values from the exact one outwards, as long as the share does not fall.
std::vector<ValuesYield> look_outwards(YieldCounter& counter,
                                       const SizeRequest& request, double from) {
  const SizedKey& key = request.keys.front();
  const std::vector<double> all =
      preferred_between(*request.series, key.least, key.most);
  const std::ptrdiff_t centre =
      std::distance(all.begin(), std::lower_bound(all.begin(), all.end(), from));
  Looked looked;
  const auto look = [&](std::ptrdiff_t at) {
    if (at >= 0 && at < std::ssize(all))
      looked.emplace(at, counter.count(request.each(all[at]), kFirstCopies));
  };
  for (std::ptrdiff_t at = centre - kBeside; at < centre + kBeside; ++at) look(at);
  for (std::size_t before = 0; before < looked.size() && looked.size() < kMostValues;) {
    before = looked.size();
    double most = 0.0;
    for (const auto& [at, yield] : looked) most = std::max(most, yield.share.share);
    if (most >= 1.0) break;
    const auto [low, low_yield] = *looked.begin();
    const auto [high, high_yield] = *looked.rbegin();
    if (low_yield.share.share >= most) look(low - 1);
    if (high_yield.share.share >= most) look(high + 1);
  }
  std::vector<ValuesYield> yields;
  for (auto& [at, yield] : looked) yields.push_back(std::move(yield));
  return yields;
}

/// Whether a value is still to be counted with more copies: its share may be the
/// largest, and none that is certain to be as good comes nearer to the goal.
bool may_be_best(const YieldCounter& counter, const std::vector<ValuesYield>& yields,
                 const ValuesYield& yield, std::size_t all_copies) {
  return std::none_of(yields.begin(), yields.end(), [&](const ValuesYield& other) {
    const bool is_whole = other.copies == all_copies && other.works == other.copies;
    return other.share.least > yield.share.most ||
           (is_whole && counter.off(other) <= counter.off(yield));
  });
}

}  // namespace

std::vector<ValuesYield> count_yields(Figures& figures, const Circuit& circuit,
                                      const SizeRequest& request,
                                      const Witnesses& witnesses,
                                      const Choices& choices, const Sizing& sizing) {
  YieldCounter counter(figures, circuit, request, witnesses);
  std::vector<ValuesYield> yields;
  if (request.is_pair()) {
    for (std::size_t k = 0; k < std::min(choices.values.size(), kMostPairs); ++k)
      yields.push_back(counter.count(choices.values[k], kFirstCopies));
  } else if (!choices.values.empty()) {
    const double from = sizing.exact.value_or(choices.values.front().front());
    yields = look_outwards(counter, request, from);
  }
  const auto sort = [&] {
    std::stable_sort(yields.begin(), yields.end(),
                     [&](const ValuesYield& a, const ValuesYield& b) {
                       const bool is_first = a.copies > b.copies;
                       return a.copies != b.copies ? is_first : counter.is_better(a, b);
                     });
  };
  const std::size_t all_copies = request.yield->copies;
  std::size_t copies = std::min(kFirstCopies, all_copies);
  while (copies < all_copies) {
    const std::size_t before = copies;
    copies = std::min(kMoreCopies * copies, all_copies);
    sort();
    for (ValuesYield& yield : yields)
      if (yield.copies == before && may_be_best(counter, yields, yield, all_copies))
        yield = counter.count(yield.values, copies);
  }
  sort();
  return yields;
}

}  // namespace benchproof
