#include "core/sizing/detail/run_search.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

#include "core/sizing/detail/exact_at_rest.h"
#include "core/sizing/detail/scale.h"

namespace benchproof {
namespace {

/// Looks for the value with which a run reaches its level when it should.
/// Each trial is a run, so that few are made: times go about with a power of a value,
/// and in logarithms the line through the last two trials leads to the goal soon.
class RunSearch {
 public:
  RunSearch(Figures& figures, const SizeRequest& request, Sizing& sizing)
      : figures_(figures),
        request_(request),
        key_(request.keys.front()),
        goal_(request.goal),
        sizing_(sizing),
        scale_(key_, goal_) {}

  /// Notes the exact value, where there is one.
  void find() {
    const Trial first =
        key_.present ? Trial{scale_.position(*key_.present), log_of(sizing_.present)}
                     : try_beside({}, 0.5);
    std::optional<double> exact;
    if (first.is_known()) exact = along_the_line(first);
    if (!exact) exact = step_by_step(first);
    sizing_.jumps = !exact && jump_;
    if (!exact) exact = jump_;
    if (exact) sizing_.exact = scale_.value(*exact);
  }

 private:
  /// A value tried. `off` is the logarithm of the time over the time wanted; infinite
  /// where the level is never reached, or was not waited for as long as it takes, not a
  /// number where there is no answer.
  struct Trial {
    double at = 0.0;  ///< Position on the scale.
    double off = 0.0;
    [[nodiscard]] bool is_known() const { return std::isfinite(off); }
    /// Whether the level is reached in good time.
    [[nodiscard]] bool is_there() const {
      return is_known() && off <= std::log(kInGoodTime);
    }
    [[nodiscard]] bool is_late() const { return is_known() && !is_there(); }
  };
  /// A goal is met to this share of the time.
  static constexpr double kEnough = 1e-5;
  /// What is not found with so many is given up.
  static constexpr int kMostTrials = 200;

  [[nodiscard]] double log_of(double seconds) const {
    return std::log(seconds / goal_.want);
  }
  /// How long a trial beside another one waits. Beside a late one it waits as long as
  /// it takes: only then is late told from never.
  [[nodiscard]] double wait_beside(const Trial& other) const {
    return other.is_late() ? HUGE_VAL : kInGoodTime * goal_.want;
  }
  /// One trial at each position, side by side.
  std::vector<Trial> try_each(const std::vector<double>& positions, double within) {
    std::vector<Trial> all;
    trials_ += static_cast<int>(positions.size());
    if (trials_ > kMostTrials) {
      for (const double at : positions) all.push_back({at, std::nan("")});
      return all;
    }
    std::vector<std::vector<double>> choices;
    choices.reserve(positions.size());
    for (const double at : positions)
      choices.push_back(request_.each(scale_.value(at)));
    const std::vector<double> times = figures_.at_each(choices, within);
    for (std::size_t k = 0; k < times.size(); ++k) {
      if (std::isfinite(times[k])) note_reach(sizing_, times[k]);
      sizing_.misses = sizing_.misses || std::isinf(times[k]);
      all.push_back({positions[k], log_of(times[k])});
    }
    return all;
  }
  Trial try_beside(const Trial& other, double position) {
    return try_each({position}, wait_beside(other)).front();
  }
  static bool is_crossed(const Trial& a, const Trial& b) {
    return a.is_known() && b.is_known() && (a.off < 0.0) != (b.off < 0.0);
  }

  std::optional<double> along_the_line(const Trial& first) {
    constexpr int kMost = 8;
    constexpr double kLeastSlope = 0.01;  // Of the time's logarithm to the value's.
    const double step = 1.0 / scale_.steps();
    const double decade =
        scale_.is_by_ratio() ? std::log(10.0) / scale_.log_range() : 4.0 * step;
    if (std::abs(first.off) <= kEnough) return first.at;
    Trial before = first;
    // The first guess: the time goes with the value.
    double way = scale_.is_by_ratio() ? -first.off / scale_.log_range()
                                      : (first.at < 0.5 ? step : -step);
    for (int k = 0; k < kMost; ++k) {
      const double next =
          std::clamp(before.at + std::clamp(way, -decade, decade), 0.0, 1.0);
      if (next == before.at) break;
      const Trial here = try_beside(before, next);
      if (!here.is_known()) return at_edge(before, here);
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
  std::optional<double> step_by_step(const Trial& start) {
    const double step = 1.0 / scale_.steps();
    struct Side {
      Trial last;
      double step;
    };
    // Of later ones late and never are not told apart: it would take too long.
    double within = wait_beside(start);
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
      const std::vector<Trial> seen = try_each(next, within);
      const bool is_waited_for = std::isinf(within);
      within = kInGoodTime * goal_.want;
      for (std::size_t k = 0; k < sides.size(); ++k) {
        const Trial before = std::exchange(sides[k].last, seen[k]);
        std::optional<double> found;
        if (std::abs(seen[k].off) <= kEnough)
          found = seen[k].at;
        else if (is_crossed(before, seen[k]))
          found = between(before, seen[k]);
        else if (is_waited_for ? before.is_known() != seen[k].is_known()
                               : before.is_there() != seen[k].is_there())
          found = at_edge(before, seen[k]);
        if (found) return found;
      }
    }
  }

  /// Between two trials of which one only reaches the level: how long it takes may rise
  /// without end on the way, or fall to nothing.
  std::optional<double> at_edge(const Trial& a, const Trial& b) {
    constexpr int kMost = 10;
    const bool is_first = a.is_there() || (a.is_known() && !b.is_there());
    Trial there = is_first ? a : b;
    Trial lost = is_first ? b : a;
    for (int k = 0; k < kMost; ++k) {
      const Trial middle = try_beside(there, 0.5 * (there.at + lost.at));
      if (is_crossed(there, middle)) return between(there, middle);
      (middle.is_known() ? there : lost) = middle;
    }
    if (there.off < 0.0 && lost.off > 0.0 && !jump_) jump_ = 0.5 * (there.at + lost.at);
    return std::nullopt;
  }

  /// Between two trials that cross the goal: regula falsi, the end that stays counts
  /// half. Nothing where the time jumps over the goal.
  std::optional<double> between(const Trial& a, const Trial& b) {
    constexpr int kMost = 60;
    constexpr double kClose = 1e-10;
    Trial low = a.at < b.at ? a : b;
    Trial high = a.at < b.at ? b : a;
    Trial last = b;
    int side = 0;
    for (int k = 0; k < kMost && high.at - low.at > kClose; ++k) {
      double middle = (low.at * high.off - high.at * low.off) / (high.off - low.off);
      if (!(middle > low.at && middle < high.at) || k % 8 == 7)
        middle = 0.5 * (low.at + high.at);
      const Trial here = try_beside(low.is_late() ? low : high, middle);
      // The line through the last two trials leads the rest of the way.
      if (std::abs(here.off) <= kEnough && last.off != here.off)
        return std::clamp(
            here.at - here.off * (here.at - last.at) / (here.off - last.off), low.at,
            high.at);
      if (!here.is_known()) return at_edge(low.off < 0.0 ? low : high, here);
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
  const SizeRequest& request_;
  const SizedKey& key_;
  const Goal& goal_;
  Sizing& sizing_;
  Scale scale_;
  int trials_ = 0;
  std::optional<double> jump_;  ///< Where the time jumps over the one wanted.
};

}  // namespace

void find_exact_in_run(Figures& figures, const SizeRequest& request, Sizing& sizing) {
  RunSearch(figures, request, sizing).find();
}

}  // namespace benchproof
