#include "core/sizing/size.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <future>
#include <set>
#include <stdexcept>
#include <thread>
#include <utility>

#include "core/base/complaints.h"
#include "core/check/agree/run_agreement.h"
#include "core/range/supply_range.h"
#include "core/verify/verify_runs.h"

namespace benchproof {
namespace {

constexpr std::size_t kPairsShown = 5;
/// Of so many pairs one without a fault is looked for, where the nearest all have some.
constexpr std::size_t kPairsKept = 40;

struct Range {
  double least;
  double most;
};

/// What the trade sells. Common practice, no source.
std::optional<Range> usual_range(KindId kind) {
  switch (kind) {
    case KindId::resistor:
    case KindId::trimmer:
      return Range{1.0, 10e6};
    case KindId::capacitor:
      return Range{1e-12, 0.1};
    case KindId::inductor:
      return Range{1e-6, 10.0};
    default:
      return std::nullopt;
  }
}

/// Positions from 0 to 1 between two values: by ratio where both are above 0.
class Scale {
 public:
  /// `per_decade` points are looked at.
  Scale(const SizedKey& key, double per_decade)
      : least_(key.least),
        most_(key.most),
        per_decade_(per_decade),
        by_ratio_(key.least > 0.0) {}

  [[nodiscard]] double value(double position) const {
    if (position <= 0.0) return least_;
    if (position >= 1.0) return most_;
    if (by_ratio_) return least_ * std::pow(most_ / least_, position);
    return std::lerp(least_, most_, position);
  }
  [[nodiscard]] double position(double value) const {
    if (!(value > least_)) return 0.0;
    if (value >= most_) return 1.0;
    return by_ratio_ ? std::log(value / least_) / log_range()
                     : (value - least_) / (most_ - least_);
  }
  [[nodiscard]] int points() const {
    const double decades = by_ratio_ ? std::log10(most_ / least_) : kLinearAsDecades;
    return std::max(8, static_cast<int>(std::ceil(per_decade_ * decades)));
  }
  [[nodiscard]] bool is_by_ratio() const { return by_ratio_; }
  /// The logarithm of how many times the greatest value is the least.
  [[nodiscard]] double log_range() const { return std::log(most_ / least_); }

 private:
  static constexpr double kLinearAsDecades = 8.0;

  double least_;
  double most_;
  double per_decade_;
  bool by_ratio_;
};

/// Points looked at before it is known where the goal is met; a run costs much more.
double points_per_decade(const Goal& goal) {
  return goal.measure == Goal::Measure::crossing ? 4.0 : 8.0;
}

/// The figure as a function of the values.
class Figures {
 public:
  Figures(Circuit circuit, const SizeRequest& request, const Witnesses& witnesses)
      : circuit_(std::move(circuit)), request_(request), witnesses_(witnesses) {}

  /// What comes later than `within` in a run is not waited for.
  double at(const std::vector<double>& values, double within = HUGE_VAL) {
    return figure_of(circuit_, values, within);
  }
  /// The same for several choices: runs are looked at beside each other.
  std::vector<double> at_each(const std::vector<std::vector<double>>& choices,
                              double within = HUGE_VAL) {
    const bool is_in_run = request_.state < 0;
    std::vector<std::future<double>> all;
    for (std::size_t k = 0; k < choices.size(); ++k) {
      const bool is_beside = is_in_run && k + 1 < choices.size();
      all.push_back(
          std::async(is_beside ? std::launch::async : std::launch::deferred,
                     [this, within, values = choices[k], copy = circuit_]() mutable {
                       return figure_of(copy, values, within);
                     }));
    }
    std::vector<double> figures(choices.size());
    // From the last on, which is computed here.
    for (std::size_t k = choices.size(); k-- > 0;) figures[k] = all[k].get();
    return figures;
  }
  double off(const std::vector<double>& values) {
    return at(values) - request_.goal.want;
  }

 private:
  double figure_of(Circuit& circuit, const std::vector<double>& values,
                   double within) const {
    for (std::size_t k = 0; k < values.size(); ++k)
      put_value(circuit, request_.keys[k], values[k]);
    return request_.state < 0
               ? measured(request_.goal, circuit, witnesses_.nodal_until, within)
               : measured(request_.goal, circuit, circuit.states[request_.state],
                          witnesses_.nodal_near);
  }

  Circuit circuit_;
  const SizeRequest& request_;
  const Witnesses& witnesses_;
};

/// Where a figure meets the goal, or jumps past it.
struct Place {
  double at = 0.0;  ///< Position on the scale.
  bool jumps = false;
};

/// The place between two positions of opposite sign.
Place root(Figures& figures, const Scale& scale, double low, double high,
           double at_low) {
  constexpr int kMost = 60;
  constexpr double kClose = 1e-11;
  // What is left of a gap this narrow when the figure has no step there.
  constexpr double kJump = 1e-3;
  double at_high = figures.off({scale.value(high)});
  const double gap = std::abs(at_high - at_low);
  double off_low = at_low;
  double off_high = at_high;
  // Regula falsi with the Illinois rule: the end that stays is halved.
  int side = 0;
  for (int k = 0; k < kMost && high - low > kClose; ++k) {
    double middle = (low * at_high - high * at_low) / (at_high - at_low);
    if (!(middle > low && middle < high) || k % 8 == 7) middle = 0.5 * (low + high);
    const double here = figures.off({scale.value(middle)});
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

void note_reach(Sizing& sizing, double value) {
  const bool is_first = std::isnan(sizing.reach_least);
  sizing.reach_least = is_first ? value : std::min(sizing.reach_least, value);
  sizing.reach_most = is_first ? value : std::max(sizing.reach_most, value);
}

/// Looks for the value of one key with which a run reaches its level when it should.
/// Each look is a run, so that few are taken: times go about with a power of a value,
/// and in logarithms the line through the last two looks leads to the goal soon.
class RunSearch {
 public:
  RunSearch(Figures& figures, const SizedKey& key, const Goal& goal, Sizing& sizing)
      : figures_(figures),
        key_(key),
        goal_(goal),
        sizing_(sizing),
        scale_(key, points_per_decade(goal)) {}

  /// Notes the exact value, where there is one.
  void find() {
    const Look first =
        key_.present ? Look{scale_.position(*key_.present), log_of(sizing_.present)}
                     : look(0.5);
    std::optional<double> exact;
    if (first.is_there()) exact = along_the_line(first);
    if (!exact) exact = step_by_step(first);
    sizing_.jumps = !exact && jump_;
    if (!exact) exact = jump_;
    if (exact) sizing_.exact = scale_.value(*exact);
  }

 private:
  /// The logarithm of the time over the time wanted; infinite where the level is not
  /// reached in good time, not a number where there is no answer.
  struct Look {
    double at = 0.0;  ///< Position on the scale.
    double off = 0.0;
    [[nodiscard]] bool is_there() const { return std::isfinite(off); }
  };
  /// A goal is met to this share of the time.
  static constexpr double kEnough = 1e-5;
  /// What is not found by then is given up.
  static constexpr int kMostLooks = 200;

  [[nodiscard]] double log_of(double seconds) const {
    return std::log(seconds / goal_.want);
  }
  /// Looks at positions, beside each other.
  std::vector<Look> looks(const std::vector<double>& positions) {
    std::vector<Look> all;
    looks_ += static_cast<int>(positions.size());
    if (looks_ > kMostLooks) {
      for (const double at : positions) all.push_back({at, std::nan("")});
      return all;
    }
    std::vector<std::vector<double>> choices;
    choices.reserve(positions.size());
    for (const double at : positions) choices.push_back({scale_.value(at)});
    const std::vector<double> times =
        figures_.at_each(choices, kInGoodTime * goal_.want);
    for (std::size_t k = 0; k < times.size(); ++k) {
      if (std::isfinite(times[k])) note_reach(sizing_, times[k]);
      sizing_.misses = sizing_.misses || std::isinf(times[k]);
      all.push_back({positions[k], log_of(times[k])});
    }
    return all;
  }
  Look look(double position) { return looks({position}).front(); }
  static bool is_crossed(const Look& a, const Look& b) {
    return a.is_there() && b.is_there() && (a.off < 0.0) != (b.off < 0.0);
  }

  std::optional<double> along_the_line(const Look& first) {
    constexpr int kMost = 8;
    constexpr double kLeastSlope = 0.01;  // Of the time's logarithm to the value's.
    const double step = 1.0 / scale_.points();
    const double decade =
        scale_.is_by_ratio() ? std::log(10.0) / scale_.log_range() : 4.0 * step;
    if (std::abs(first.off) <= kEnough) return first.at;
    Look before = first;
    // The first guess: the time goes with the value.
    double way = scale_.is_by_ratio() ? -first.off / scale_.log_range()
                                      : (first.at < 0.5 ? step : -step);
    for (int k = 0; k < kMost; ++k) {
      const double next =
          std::clamp(before.at + std::clamp(way, -decade, decade), 0.0, 1.0);
      if (next == before.at) break;
      const Look here = look(next);
      if (!here.is_there()) return at_edge(before, here);
      if (std::abs(here.off) <= kEnough) return here.at;
      if (is_crossed(before, here)) return between(before, here);
      const double slope = (here.off - before.off) / (here.at - before.at);
      if (std::abs(slope) < kLeastSlope * std::log(10.0) / decade) break;
      before = here;
      way = -here.off / slope;
    }
    return std::nullopt;
  }

  /// Up and down from a position at once, the likelier way told first.
  std::optional<double> step_by_step(const Look& start) {
    const double step = 1.0 / scale_.points();
    struct Side {
      Look last;
      double step;
    };
    // Where it is late a smaller value is likelier to be in time.
    std::vector<Side> sides = {{start, step}, {start, -step}};
    if (!(start.off < 0.0)) std::swap(sides[0], sides[1]);
    const auto is_at_end = [](const Side& side) {
      return side.step > 0.0 ? side.last.at >= 1.0 : side.last.at <= 0.0;
    };
    for (;;) {
      sides.erase(std::remove_if(sides.begin(), sides.end(), is_at_end), sides.end());
      if (sides.empty()) return std::nullopt;
      std::vector<double> next;
      next.reserve(sides.size());
      for (const Side& side : sides)
        next.push_back(std::clamp(side.last.at + side.step, 0.0, 1.0));
      const std::vector<Look> seen = looks(next);
      for (std::size_t k = 0; k < sides.size(); ++k) {
        const Look before = std::exchange(sides[k].last, seen[k]);
        std::optional<double> found;
        if (std::abs(seen[k].off) <= kEnough)
          found = seen[k].at;
        else if (is_crossed(before, seen[k]))
          found = between(before, seen[k]);
        else if (before.is_there() != seen[k].is_there())
          found = at_edge(before, seen[k]);
        if (found) return found;
      }
    }
  }

  /// Between two looks of which one only reaches the level: how long it takes may rise
  /// without end on the way, or fall to nothing.
  std::optional<double> at_edge(const Look& a, const Look& b) {
    constexpr int kMost = 10;
    Look there = a.is_there() ? a : b;
    Look lost = a.is_there() ? b : a;
    for (int k = 0; k < kMost; ++k) {
      const Look middle = look(0.5 * (there.at + lost.at));
      if (is_crossed(there, middle)) return between(there, middle);
      (middle.is_there() ? there : lost) = middle;
    }
    if (there.off < 0.0 && lost.off > 0.0 && !jump_) jump_ = 0.5 * (there.at + lost.at);
    return std::nullopt;
  }

  /// Between two looks that cross the goal: regula falsi, the end that stays counts
  /// half. Nothing where the time jumps over the goal.
  std::optional<double> between(const Look& a, const Look& b) {
    constexpr int kMost = 60;
    constexpr double kClose = 1e-10;
    Look low = a.at < b.at ? a : b;
    Look high = a.at < b.at ? b : a;
    Look last = b;
    int side = 0;
    for (int k = 0; k < kMost && high.at - low.at > kClose; ++k) {
      double middle = (low.at * high.off - high.at * low.off) / (high.off - low.off);
      if (!(middle > low.at && middle < high.at) || k % 8 == 7)
        middle = 0.5 * (low.at + high.at);
      const Look here = look(middle);
      // The line through the last two looks leads the rest of the way.
      if (std::abs(here.off) <= kEnough && last.off != here.off)
        return std::clamp(
            here.at - here.off * (here.at - last.at) / (here.off - last.off), low.at,
            high.at);
      if (!here.is_there()) return at_edge(low.off < 0.0 ? low : high, here);
      last = here;
      if ((here.off < 0.0) == (low.off < 0.0)) {
        low = here;
        if (side == -1) high.off *= 0.5;
        side = -1;
      } else {
        high = here;
        if (side == 1) low.off *= 0.5;
        side = 1;
      }
    }
    if (!jump_) jump_ = 0.5 * (low.at + high.at);
    return std::nullopt;
  }

  Figures& figures_;
  const SizedKey& key_;
  const Goal& goal_;
  Sizing& sizing_;
  Scale scale_;
  int looks_ = 0;
  std::optional<double> jump_;  ///< Where the time jumps over the one wanted.
};

/// All exact values of one key, and what the figure reaches.
void find_exact(Figures& figures, const SizedKey& key, const Goal& goal,
                Sizing& sizing) {
  const Scale scale(key, points_per_decade(goal));
  const int points = scale.points();
  std::vector<Place> found;
  double before = 0.0;
  bool has_before = false;
  for (int k = 0; k <= points; ++k) {
    const double position = static_cast<double>(k) / points;
    const double here = figures.off({scale.value(position)});
    if (!std::isfinite(here)) {
      has_before = false;
      continue;
    }
    note_reach(sizing, here + goal.want);
    if (here == 0.0) {
      found.push_back({position, false});
    } else if (has_before && before != 0.0 && (here < 0.0) != (before < 0.0)) {
      const double from = static_cast<double>(k - 1) / points;
      found.push_back(root(figures, scale, from, position, before));
    }
    before = here;
    has_before = true;
  }
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

/// The values of the series on both sides of the exact one, within the bounds.
std::vector<double> neighbours(const SizeRequest& request, double exact) {
  if (!request.series) return {exact};
  const SizedKey& key = request.keys.front();
  std::vector<double> values;
  const double below = preferred_at_most(*request.series, exact);
  const double above = preferred_at_least(*request.series, exact);
  for (const double value : {below, above}) {
    const bool is_there = !values.empty() && values.back() == value;
    if (value >= key.least && value <= key.most && !is_there) values.push_back(value);
  }
  return values;
}

/// Whether every value looked at is on the right side of a bound.
bool meets_everywhere(const Sizing& sizing, const Goal& goal) {
  if (goal.relation == Goal::Relation::equal) return false;
  if (sizing.misses && !keeps_to(goal, HUGE_VAL)) return false;
  if (!std::isfinite(sizing.reach_least)) return sizing.misses;
  return keeps_to(goal, sizing.reach_least) && keeps_to(goal, sizing.reach_most);
}

/// Values to judge where all meet the goal: those next to the present one, and the
/// outermost.
std::vector<double> samples(const SizeRequest& request) {
  const SizedKey& key = request.keys.front();
  std::vector<double> values{key.least, key.most};
  if (request.series && key.least > 0.0)
    values = {preferred_at_least(*request.series, key.least),
              preferred_at_most(*request.series, key.most)};
  if (key.present && *key.present >= key.least && *key.present <= key.most)
    values.push_back(*key.present);
  std::erase_if(values, [&key](double v) { return v < key.least || v > key.most; });
  std::sort(values.begin(), values.end());
  values.erase(std::unique(values.begin(), values.end()), values.end());
  return values;
}

/// How far a value lies from the present one.
double away(const SizedKey& key, double value) {
  if (!key.present) return 0.0;
  return *key.present > 0.0 && value > 0.0 ? std::abs(std::log(value / *key.present))
                                           : std::abs(value - *key.present);
}

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

  double off(double first, double second) {
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
    const Pair pair{first, second, off,
                    away(request_.keys[0], first) + away(request_.keys[1], second)};
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

std::vector<std::vector<double>> find_pairs(Figures& figures,
                                            const SizeRequest& request,
                                            Sizing& sizing) {
  constexpr std::size_t kLooks = 8;
  const auto values_of = [&request](const SizedKey& key) {
    const Series series =
        key.series ? *key.series : request.series.value_or(Series::e24);
    return preferred_between(series, key.least, key.most);
  };
  const auto firsts = values_of(request.keys[0]);
  const auto seconds = values_of(request.keys[1]);
  NearestPairs nearest(request, figures, sizing);
  if (firsts.empty() || seconds.empty()) {
    sizing.has_no_choice = true;
    return {};
  }
  for (const double first : firsts) {
    std::size_t before = 0;
    double at_before = nearest.off(first, seconds[0]);
    for (std::size_t look = 1; look <= kLooks; ++look) {
      const std::size_t here = (seconds.size() - 1) * look / kLooks;
      if (here == before) continue;
      const double at_here = nearest.off(first, seconds[here]);
      std::size_t low = before;
      std::size_t high = here;
      const bool is_crossed = (at_here < 0.0) != (at_before < 0.0);
      while (is_crossed && high - low > 1) {
        const std::size_t middle = (low + high) / 2;
        const double at_middle = nearest.off(first, seconds[middle]);
        ((at_middle < 0.0) == (at_before < 0.0) ? low : high) = middle;
      }
      before = here;
      at_before = at_here;
    }
  }
  const Goal& goal = request.goal;
  const bool is_out_of_reach = goal.relation == Goal::Relation::equal &&
                               !(goal.want >= sizing.reach_least - blur(goal) &&
                                 goal.want <= sizing.reach_most + blur(goal));
  if (is_out_of_reach) return {};
  return nearest.values();
}

/// The figure at both ends of every value's tolerance.
void find_band(Figures& figures, const Circuit& circuit, const SizeRequest& request,
               SizeChoice& candidate) {
  candidate.least = candidate.most = candidate.nodal;
  const bool has_tolerance = std::any_of(
      request.keys.begin(), request.keys.end(),
      [&](const SizedKey& key) { return tolerance_of(circuit, key).has_value(); });
  if (!has_tolerance) return;
  const std::size_t corners = std::size_t{1} << request.keys.size();
  std::vector<std::vector<double>> ends(corners, candidate.values);
  for (std::size_t corner = 0; corner < corners; ++corner) {
    for (std::size_t k = 0; k < request.keys.size(); ++k) {
      const double share = tolerance_of(circuit, request.keys[k]).value_or(0.0);
      const double sign = (corner >> k) % 2 == 0 ? -1.0 : 1.0;
      ends[corner][k] *= 1.0 + sign * share;
    }
  }
  for (const double here : figures.at_each(ends)) {
    if (std::isnan(here)) continue;
    candidate.least = std::min(candidate.least, here);
    candidate.most = std::max(candidate.most, here);
  }
}

/// Puts a finding into a list that has none of its check and part.
void put_once(const Finding& finding, std::vector<Finding>& list) {
  const bool is_told = std::any_of(list.begin(), list.end(), [&](const Finding& other) {
    return other.check == finding.check && other.part == finding.part &&
           other.net == finding.net;
  });
  if (!is_told) list.push_back(finding);
}

void take_faults(const std::vector<Finding>& findings, SizeChoice& candidate) {
  for (const Finding& finding : findings)
    if (finding.severity == Severity::fault && finding.follows.empty())
      put_once(finding, candidate.faults);
}

/// What is said of the parts whose values are chosen, short of a fault.
void take_cautions(const std::vector<Finding>& findings, const Circuit& circuit,
                   const SizeRequest& request, SizeChoice& candidate) {
  for (const Finding& finding : findings) {
    const bool is_own =
        std::any_of(request.keys.begin(), request.keys.end(), [&](const SizedKey& key) {
          return finding.part == circuit.parts[key.part].name;
        });
    if (is_own && finding.severity == Severity::caution && finding.follows.empty())
      put_once(finding, candidate.cautions);
  }
}

void put_values(Circuit& circuit, const SizeRequest& request,
                const std::vector<double>& values) {
  for (std::size_t k = 0; k < values.size(); ++k)
    put_value(circuit, request.keys[k], values[k]);
}

/// What a choice's run shows by the nodal witness alone.
void take_look(const RunResult& result, SizeChoice& c) {
  c.verdict = std::max(c.verdict, result.verdict);
  c.agrees = c.agrees && result.agreement.agrees;
  take_faults(result.findings, c);
}

/// What it shows by both: they have to agree on the goal's time, too.
void take_run(const RunResult& result, const Goal& goal, SizeChoice& c) {
  take_look(result, c);
  c.engine = reached(goal, result.engine);
  c.nodal = reached(goal, result.nodal);
  c.keeps = keeps_to(goal, c.nodal);
  const double may = kWaveTimeShare * result.timeline.span;
  const bool is_one_time = c.engine == c.nodal || std::abs(c.engine - c.nodal) <= may;
  if (!c.agrees || is_one_time) return;
  c.agrees = false;
  c.verdict = Verdict::disagreement;
}

/// The goal's run with a choice's values, by both witnesses.
RunResult run_with(Circuit circuit, const SizeRequest& request,
                   const Witnesses& witnesses, const SizeChoice& c) {
  put_values(circuit, request, c.values);
  return verify_run(circuit, request.goal.subject.run, witnesses.engine_in_time,
                    witnesses.nodal_in_time);
}

/// What both witnesses find of a choice at rest.
SizeChoice looked_at(Circuit& circuit, const SizeRequest& request,
                     const Witnesses& witnesses, const std::vector<double>& values) {
  SizeChoice c;
  c.values = values;
  put_values(circuit, request, values);
  const Verification all = verify(circuit, witnesses.engine, witnesses.nodal);
  c.verdict = all.verdict;
  c.agrees = c.verdict <= Verdict::fault;
  for (const StateResult& state : all.states) {
    take_faults(state.findings, c);
    take_cautions(state.findings, circuit, request, c);
  }
  c.engine = c.nodal = std::nan("");
  if (request.state >= 0) {
    const State& state = circuit.states[request.state];
    c.engine = measured(request.goal, circuit, state, witnesses.engine);
    c.nodal = measured(request.goal, circuit, state, witnesses.nodal);
  }
  c.keeps = keeps_to(request.goal, c.nodal);
  return c;
}

int recommended(const SizeRequest& request, const Sizing& sizing) {
  const Goal& goal = request.goal;
  const bool is_any = request.keys.size() == 1 && !sizing.exact;
  const auto distance = [&](const SizeChoice& c) {
    return is_any ? away(request.keys[0], c.values[0]) : std::abs(c.nodal - goal.want);
  };
  const double same = is_any ? 0.0 : blur(goal);
  int best = -1;
  for (std::size_t k = 0; k < sizing.candidates.size(); ++k) {
    const SizeChoice& c = sizing.candidates[k];
    if (!c.agrees || !c.keeps || std::isnan(c.nodal)) continue;
    if (best >= 0) {
      const SizeChoice& other = sizing.candidates[best];
      if (c.faults.size() > other.faults.size()) continue;
      if (c.faults.size() == other.faults.size() &&
          !(distance(c) < distance(other) - same))
        continue;
    }
    best = static_cast<int>(k);
  }
  return best;
}

/// Looks at all runs but the goal's with a choice's values, beside each other.
void look_at_others(const Circuit& circuit, const SizeRequest& request,
                    const Witnesses& witnesses, SizeChoice& c) {
  c.has_all_runs = true;
  Circuit tried = circuit;
  put_values(tried, request, c.values);
  std::vector<int> runs;
  for (int run = 0; run < static_cast<int>(circuit.runs.size()); ++run)
    if (request.state >= 0 || run != request.goal.subject.run) runs.push_back(run);
  const std::size_t beside = std::min<std::size_t>(
      runs.size(), std::max(1U, std::thread::hardware_concurrency()));
  std::vector<RunResult> results(runs.size());
  std::vector<std::future<void>> all;
  for (std::size_t first = 0; first < beside; ++first)
    all.push_back(std::async(std::launch::async, [&, first] {
      for (std::size_t k = first; k < runs.size(); k += beside) {
        results[k] = look_at_run(tried, runs[k], witnesses.nodal_in_time);
        let_go_of_waveforms(results[k]);
      }
    }));
  for (auto& one : all) one.get();
  for (RunResult& result : results) {
    for (Finding& finding : result.findings)
      finding.message =
          fmt::format("in run {}: {}", quoted(result.name), finding.message);
    take_look(result, c);
  }
}

/// Judges the candidates' runs, other than of those on the wrong side of a bound. The
/// engine is slow in time: it is asked, beside all the rest, of the choice that is
/// likely the best, and where another one is, of that too.
void judge_runs(Circuit& circuit, const SizeRequest& request,
                const Witnesses& witnesses, Figures& figures, Sizing& sizing) {
  const Goal& goal = request.goal;
  std::vector<SizeChoice>& candidates = sizing.candidates;
  std::vector<std::vector<double>> choices;
  choices.reserve(candidates.size());
  for (const SizeChoice& c : candidates) choices.push_back(c.values);
  const std::vector<double> times = figures.at_each(choices);
  for (std::size_t k = 0; k < candidates.size(); ++k) {
    candidates[k].nodal = times[k];
    candidates[k].keeps = keeps_to(goal, times[k]);
  }
  const int likely = recommended(request, sizing);
  std::future<RunResult> heard;
  if (likely >= 0)
    heard = std::async(std::launch::async, [&, best = candidates[likely]] {
      return run_with(circuit, request, witnesses, best);
    });
  Circuit tried = circuit;
  for (int k = 0; k < static_cast<int>(candidates.size()); ++k) {
    if (k == likely || !candidates[k].keeps) continue;
    put_values(tried, request, candidates[k].values);
    take_look(look_at_run(tried, goal.subject.run, witnesses.nodal_in_time),
              candidates[k]);
  }
  if (likely < 0) return;
  look_at_others(circuit, request, witnesses, candidates[likely]);
  take_run(heard.get(), goal, candidates[likely]);
  for (;;) {
    const int best = recommended(request, sizing);
    if (best < 0 || !std::isnan(candidates[best].engine)) return;
    take_run(run_with(circuit, request, witnesses, candidates[best]), goal,
             candidates[best]);
  }
}

/// The present values, where they keep to a bound already.
std::optional<std::vector<double>> present_choice(const SizeRequest& request,
                                                  const Sizing& sizing) {
  if (request.goal.relation == Goal::Relation::equal || std::isnan(sizing.present) ||
      !keeps_to(request.goal, sizing.present))
    return std::nullopt;
  std::vector<double> values;
  for (const SizedKey& key : request.keys) {
    if (!key.present || *key.present < key.least || *key.present > key.most)
      return std::nullopt;
    values.push_back(*key.present);
  }
  return values;
}

}  // namespace

std::optional<double> tolerance_of(const Circuit& circuit, const SizedKey& key) {
  const Part& part = circuit.parts[key.part];
  const auto told = key.key == "value" ? figure(part, "tolerance") : std::nullopt;
  if (!told) return std::nullopt;
  if (!key.series || part.settings.contains("tolerance")) return told->value;
  switch (*key.series) {
    case Series::e48:
      return std::min(told->value, 0.02);
    case Series::e96:
      return std::min(told->value, 0.01);
    case Series::e192:
      return std::min(told->value, 0.005);
    case Series::e3:
    case Series::e6:
    case Series::e12:
    case Series::e24:
      break;
  }
  return told->value;
}

std::variant<SizedKey, std::string> read_sized_key(const Circuit& circuit,
                                                   std::string_view text) {
  const std::size_t dot = text.find('.');
  const std::string name(text.substr(0, dot));
  SizedKey sized;
  std::vector<std::string> names;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    names.push_back(circuit.parts[k].name);
    if (names.back() == name) sized.part = static_cast<int>(k);
  }
  int looks = 1;
  if (sized.part < 0) {
    const std::string hint = suggestion(looks, name, names, "parts");
    return fmt::format("there is no part {}{}{}", quoted(name),
                       hint.empty() ? "" : "; ", hint);
  }
  const Part& part = circuit.parts[sized.part];
  sized.key = dot == std::string_view::npos ? "value" : text.substr(dot + 1);
  const Key* key = find_key(kind(part.kind), sized.key);
  const bool is_number =
      key != nullptr &&
      (key->shape == Shape::quantity || key->shape == Shape::number) && !key->is_whole;
  if (key != nullptr && key->is_whole)
    return fmt::format("'{}.{}' is a whole number; try some with --set", name,
                       sized.key);
  if (!is_number) {
    std::vector<std::string> keys;
    for (const Key& k : kind(part.kind).keys)
      if (k.shape == Shape::quantity || k.shape == Shape::number)
        keys.emplace_back(k.name);
    const std::string hint = suggestion(looks, sized.key, keys, "keys");
    return fmt::format("{} has no number {}{}{}", quoted(name), quoted(sized.key),
                       hint.empty() ? "" : "; ", hint);
  }
  sized.unit = key->shape == Shape::quantity ? key->unit : Unit::none;
  if (const auto now = figure(part, sized.key)) sized.present = now->value;
  const auto usual = sized.key == "value" ? usual_range(part.kind) : std::nullopt;
  const double most = is_supply_voltage(part.kind, sized.key)
                          ? std::min(key->most, kMostRangeVolts)  // As the reader.
                          : key->most;
  // What may be almost anything is looked for about the present value.
  constexpr double kWide = 1e4;
  const bool is_wide =
      !key->least_allowed || most > kWide * (key->least > 0.0 ? key->least : 1.0);
  if (usual) {
    sized.least = usual->least;
    sized.most = usual->most;
  } else if (!is_wide) {
    sized.least = key->least;
    sized.most = most;
  } else if (sized.present && *sized.present > 0.0) {
    sized.least = std::max(key->least, *sized.present / 100.0);
    sized.most = std::min(most, *sized.present * 100.0);
  } else {
    sized.least = sized.most = std::nan("");
  }
  return sized;
}

bool is_supply_voltage(KindId kind, std::string_view key) {
  const bool is_supply = kind == KindId::dc_supply || kind == KindId::battery;
  return is_supply && (key == "voltage" || key == "no_load");
}

void put_value(Circuit& circuit, const SizedKey& key, double value) {
  Setting& setting = circuit.parts[key.part].settings[key.key];
  setting.value = value;
}

bool says(const State& state, const std::vector<SizedKey>& keys) {
  return std::any_of(keys.begin(), keys.end(), [&state](const SizedKey& key) {
    return state.settings.contains({key.part, key.key});
  });
}

bool is_shown_by(const Circuit& circuit, const State& state, const SizeRequest& request,
                 const Solve& witness) {
  constexpr int kLooks = 5;
  constexpr double kLeastShare = 1e-3;
  const SizedKey& key = request.keys.front();
  const Scale scale(key, points_per_decade(request.goal));
  Circuit tried = circuit;
  std::vector<double> seen;
  for (int look = 0; look <= kLooks; ++look) {
    put_value(tried, key, scale.value(static_cast<double>(look) / kLooks));
    const double value = measured(request.goal, tried, state, witness);
    if (std::isfinite(value)) seen.push_back(value);
  }
  if (seen.empty()) return false;
  const auto [low, high] = std::minmax_element(seen.begin(), seen.end());
  return *high - *low > kLeastShare * std::max(std::abs(*high), std::abs(*low));
}

int state_that_shows(const Circuit& circuit, const SizeRequest& request,
                     const Solve& witness) {
  for (std::size_t k = 0; k < circuit.states.size(); ++k) {
    const State& state = circuit.states[k];
    if (state.steady && !says(state, request.keys) &&
        is_shown_by(circuit, state, request, witness))
      return static_cast<int>(k);
  }
  return -1;
}

Sizing find_size(Circuit circuit, const SizeRequest& request,
                 const Witnesses& witnesses) {
  if (request.keys.empty() || request.keys.size() > 2)
    throw std::invalid_argument("one or two values can be chosen");
  for (const SizedKey& key : request.keys)
    if (!(key.least <= key.most)) throw std::invalid_argument("bounds out of order");
  const Goal& goal = request.goal;
  const bool is_in_run = request.state < 0;
  Sizing sizing;
  sizing.reach_least = sizing.reach_most = std::nan("");
  sizing.present = is_in_run ? measured(goal, circuit, witnesses.nodal_until, HUGE_VAL)
                             : measured(goal, circuit, circuit.states[request.state],
                                        witnesses.nodal);
  Figures figures(circuit, request, witnesses);
  std::vector<std::vector<double>> choices;
  if (request.keys.size() == 2) {
    choices = find_pairs(figures, request, sizing);
  } else {
    if (is_in_run)
      RunSearch(figures, request.keys[0], goal, sizing).find();
    else
      find_exact(figures, request.keys[0], goal, sizing);
    if (sizing.exact) {
      for (const double value : neighbours(request, *sizing.exact))
        choices.push_back({value});
      sizing.has_no_choice = choices.empty();
    } else if (meets_everywhere(sizing, request.goal)) {
      for (const double value : samples(request)) choices.push_back({value});
    }
  }
  const auto present = present_choice(request, sizing);
  if (present && !choices.empty() &&
      std::find(choices.begin(), choices.end(), *present) == choices.end()) {
    const bool is_pair = present->size() > 1;
    choices.insert(is_pair ? choices.begin() + static_cast<std::ptrdiff_t>(std::min(
                                                   choices.size(), kPairsShown))
                           : std::lower_bound(choices.begin(), choices.end(), *present),
                   *present);
  }
  std::vector<SizeChoice>& candidates = sizing.candidates;
  constexpr double kNear = 0.05;
  bool is_sound = false;
  for (std::size_t k = 0; k < choices.size(); ++k) {
    const bool is_present = present && choices[k] == *present;
    if (k >= kPairsShown && (is_sound || is_in_run) && !is_present) break;
    SizeChoice c = looked_at(circuit, request, witnesses, choices[k]);
    const bool is_without = c.faults.empty() && c.agrees && c.keeps;
    is_sound = is_sound || is_without;
    const bool is_near = std::abs(c.nodal - goal.want) <= kNear * std::abs(goal.want);
    if (k >= kPairsShown && !(is_without && is_near) && !is_present) continue;
    candidates.push_back(std::move(c));
  }
  if (goal.relation == Goal::Relation::equal && sizing.jumps) {
    for (SizeChoice& c : candidates) {
      if (is_in_run) c.nodal = figures.at(c.values);
      c.keeps = false;
    }
  } else {
    if (is_in_run) judge_runs(circuit, request, witnesses, figures, sizing);
    for (;;) {
      sizing.recommended = recommended(request, sizing);
      if (sizing.recommended < 0) break;
      SizeChoice& best = candidates[sizing.recommended];
      // A choice whose place another one takes for a fault in a run has to be heard.
      if (is_in_run && std::isnan(best.engine))
        take_run(run_with(circuit, request, witnesses, best), goal, best);
      else if (!best.has_all_runs)
        look_at_others(circuit, request, witnesses, best);
      else
        break;
    }
  }
  for (SizeChoice& c : candidates) find_band(figures, circuit, request, c);
  return sizing;
}

}  // namespace benchproof
