#include "core/sizing/detail/yields.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <map>
#include <utility>

#include "core/base/preferred.h"
#include "core/sizing/detail/measure.h"
#include "core/tolerance/states/works.h"

namespace benchproof {
namespace {

/// Copies with which a value is looked at first.
constexpr std::size_t kFirstCopies = 1024;
/// Of those that may be the best so many times as many are counted next.
constexpr std::size_t kMoreCopies = 2;
/// Standard values on each side of the exact one that are looked at in any case.
constexpr std::ptrdiff_t kBeside = 3;
/// No more values than these are looked at.
constexpr std::size_t kMostValues = 48;
constexpr std::size_t kMostPairs = 12;

/// Values with the copies that were counted of them.
struct Counted {
  ValuesYield yield;
  std::vector<bool> works;  ///< Of each copy.
};

/// Whether one is certain to be better than another: of the copies in which they
/// differ, more than half are its own, by the exact interval. They are the same copies
/// in both, so that this tells sooner than their shares do.
bool is_surely_better(const Counted& one, const Counted& other) {
  const std::size_t common = std::min(one.works.size(), other.works.size());
  std::size_t differ = 0;
  std::size_t own = 0;
  for (std::size_t k = 0; k < common; ++k) {
    differ += one.works[k] != other.works[k] ? 1 : 0;
    own += one.works[k] && !other.works[k] ? 1 : 0;
  }
  return share_of(own, differ).least > 0.5;
}

/// Counts copies with the request's values.
class YieldCounter {
 public:
  YieldCounter(Figures& figures, const Circuit& circuit, const SizeRequest& request,
               const Witnesses& witnesses)
      : figures_(figures),
        circuit_(circuit),
        request_(request),
        witnesses_(witnesses) {}

  Counted first(const std::vector<double>& values) {
    Counted counted;
    counted.yield.values = values;
    counted.yield.nominal = figures_.at(values);
    count_to(kFirstCopies, counted);
    return counted;
  }

  /// Counts on to so many copies, or as many as are wished for.
  void count_to(std::size_t copies, Counted& counted) {
    Circuit changed = circuit_;
    put_values(changed, request_.keys, counted.yield.values);
    const Goal& goal = request_.goal;
    const Demand demand{circuit_.states[request_.state].name,
                        [&goal](const CheckInput& input) {
                          const auto figure = figure_seen(goal, input);
                          return figure && keeps_to(goal, *figure);
                        }};
    const std::size_t before = counted.works.size();
    const std::vector<bool> more =
        which_work(CopiedCircuit(changed, witnesses_.nodal), demand, before,
                   std::min(copies, request_.yield->copies) - before,
                   request_.yield->seed, witnesses_.side_by_side);
    counted.works.insert(counted.works.end(), more.begin(), more.end());
    ValuesYield& yield = counted.yield;
    yield.copies = counted.works.size();
    yield.works = static_cast<std::size_t>(
        std::count(counted.works.begin(), counted.works.end(), true));
    yield.share = share_of(yield.works, yield.copies);
  }

  /// How far the figure is off the goal.
  [[nodiscard]] double off(const Counted& counted) const {
    return std::abs(counted.yield.nominal - request_.goal.want);
  }
  /// Whether one goes before another: more copies were counted, a larger share works,
  /// or the figure is nearer to the goal.
  [[nodiscard]] bool is_before(const Counted& a, const Counted& b) const {
    if (yields_more(a.yield, b.yield)) return true;
    return !yields_more(b.yield, a.yield) && off(a) < off(b);
  }
  /// Whether values are still to be counted on: none are certain to be better, or as
  /// good and nearer to the goal.
  [[nodiscard]] bool may_be_best(const Counted& counted,
                                 const std::vector<Counted>& all) const {
    return std::none_of(all.begin(), all.end(), [&](const Counted& other) {
      const bool is_perfect = other.yield.copies == request_.yield->copies &&
                              other.yield.works == other.yield.copies;
      return (is_perfect && off(other) <= off(counted)) ||
             is_surely_better(other, counted);
    });
  }

 private:
  Figures& figures_;
  const Circuit& circuit_;
  const SizeRequest& request_;
  const Witnesses& witnesses_;
};

/// Values by their place among the standard ones.
using Looked = std::map<std::ptrdiff_t, Counted>;

std::vector<Counted> values_of(Looked looked) {
  std::vector<Counted> values;
  for (auto& [at, counted] : looked) values.push_back(std::move(counted));
  return values;
}

/// The standard values from the exact one outwards, as long as the share does not fall.
std::vector<Counted> look_outwards(YieldCounter& counter, const SizeRequest& request,
                                   double from) {
  const SizedKey& key = request.keys.front();
  const std::vector<double> all =
      preferred_between(*request.series, key.least, key.most);
  const std::ptrdiff_t centre =
      std::distance(all.begin(), std::lower_bound(all.begin(), all.end(), from));
  Looked looked;
  const auto look = [&](std::ptrdiff_t at) {
    if (at >= 0 && at < std::ssize(all))
      looked.emplace(at, counter.first(request.each(all[at])));
  };
  for (std::ptrdiff_t at = centre - kBeside; at < centre + kBeside; ++at) look(at);
  if (looked.size() < 2) return values_of(std::move(looked));
  for (std::size_t before = 0; before < looked.size() && looked.size() < kMostValues;) {
    before = looked.size();
    double most = 0.0;
    for (const auto& [at, counted] : looked)
      most = std::max(most, counted.yield.share.share);
    // Where all of these copies work two values in a row are enough.
    const auto goes_on = [most](const Counted& end, const Counted& inner) {
      return end.yield.share.share >= most &&
             (most < 1.0 || inner.yield.share.share < 1.0);
    };
    const bool is_low =
        goes_on(looked.begin()->second, std::next(looked.begin())->second);
    const bool is_high =
        goes_on(looked.rbegin()->second, std::next(looked.rbegin())->second);
    if (is_low) look(looked.begin()->first - 1);
    if (is_high) look(looked.rbegin()->first + 1);
  }
  return values_of(std::move(looked));
}

}  // namespace

bool yields_more(const ValuesYield& one, const ValuesYield& other) {
  if (one.copies != other.copies) return one.copies > other.copies;
  return one.works > other.works;
}

std::vector<ValuesYield> count_yields(Figures& figures, const Circuit& circuit,
                                      const SizeRequest& request,
                                      const Witnesses& witnesses,
                                      const Choices& choices, const Sizing& sizing) {
  YieldCounter counter(figures, circuit, request, witnesses);
  std::vector<Counted> all;
  if (request.is_pair()) {
    for (std::size_t k = 0; k < std::min(choices.values.size(), kMostPairs); ++k)
      all.push_back(counter.first(choices.values[k]));
  } else if (!choices.values.empty()) {
    const double from = sizing.exact.value_or(choices.values.front().front());
    all = look_outwards(counter, request, from);
  }
  const auto sort = [&] {
    std::stable_sort(all.begin(), all.end(), [&](const Counted& a, const Counted& b) {
      return counter.is_before(a, b);
    });
  };
  const std::size_t wished = request.yield->copies;
  for (std::size_t copies = std::min(kFirstCopies, wished); copies < wished;) {
    const std::size_t before = copies;
    copies = std::min(kMoreCopies * copies, wished);
    sort();
    for (Counted& counted : all)
      if (counted.yield.copies == before && counter.may_be_best(counted, all))
        counter.count_to(copies, counted);
  }
  sort();
  std::vector<ValuesYield> yields;
  for (Counted& counted : all) yields.push_back(std::move(counted.yield));
  return yields;
}

}  // namespace benchproof
