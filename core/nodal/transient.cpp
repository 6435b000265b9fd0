#include "core/nodal/transient.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <string>
#include <utility>

#include "core/base/pages.h"
#include "core/base/quantity.h"
#include "core/network/equations.h"
#include "core/nodal/detail/stepper.h"

namespace benchproof {
namespace {

constexpr double kEps = std::numeric_limits<double>::epsilon();

/// The first step after a corner finds the derivatives: so long, as a share of the
/// segment, and no shorter than this share of that.
constexpr double kCreep = 1e-6;
constexpr double kLeastCreep = 1e-6;
/// What a charge may move in such a step, over what a step's error may be.
constexpr double kCreepMoves = 1e3;
/// The first step of the method after it, as a share of the segment.
constexpr double kFirstStep = 1e-3;
/// The step taken, as a share of the one whose error would be just right: where fewer
/// iterations are lost to steps refused than are won by longer ones.
constexpr double kSafety = 0.75;
/// Most that a step may grow, least that it may shrink.
constexpr double kGrowth = 10.0;
constexpr double kShrink = 0.1;
/// Errors below the first let a step grow no further, earlier ones below the second do
/// not hold it back.
constexpr double kLeastError = 1e-8;
constexpr double kLeastLean = 1e-2;
/// Steps below this share of the segment pass over what bends they may.
constexpr double kBendSegment = 1.0 / 100.0;
/// Jumps, from one answer of the network to another with the same charges, that may
/// follow each other without a step between.
constexpr int kJumps = 3;
/// So much work (see TransientOptions, a tenth of a second's worth) must get this share
/// of the span further.
constexpr double kWork = 1e7;
constexpr double kProgress = 1e-3;
/// What a step of Newton's method takes besides, in unknowns.
constexpr int kStepWork = 16;
/// How exactly strays are followed where nothing rings.
constexpr double kStillStray = 2e-4;
/// Where only the moment of one passing is asked for: a step's error, and the bends.
constexpr double kUntilError = 3e-7;
constexpr double kUntilBend = 1e-2;

/// Chooses how long the next step is. Errors and bends are over what they may be.
class Pace {
 public:
  /// `first`: the first step. Second. `order`: the power of the step with which its
  /// error falls.
  Pace(double first, int order, double unjudged)
      : next_(first), power_(1.0 / order), unjudged_(unjudged) {}

  /// The step to try. Second.
  [[nodiscard]] double next() const { return next_; }

  /// Goes on with this step, which may not grow at once.
  void start_again(double seconds) {
    next_ = seconds;
    has_grown_ = false;
  }

  /// After a step whose error or bend was too large.
  void refuse(double step, double error, double bend) {
    const double shrink =
        std::min(kSafety * std::pow(error, -power_), growth_by_bend(step, bend));
    start_again(step * (shrink > kShrink ? std::min(shrink, 0.7) : kShrink));
  }

  /// After a step that was good: the step that would just be right if the error had the
  /// factor it had in this step, or the one that it comes to if that goes on as from
  /// the step before, whichever is shorter [K. Gustafsson, "Control-theoretic
  /// techniques for stepsize selection in implicit Runge-Kutta methods", ACM Trans.
  /// Math. Softw. 20 (1994) 496-517; the lesser of both: E. Hairer, G. Wanner, "Solving
  /// Ordinary Differential Equations II", section IV.8, from memory].
  void accept(double step, double error, double bend) {
    error = std::max(error, kLeastError);
    double growth = std::pow(error, -power_);
    if (last_step_ > 0.0)
      growth = std::min(
          growth, step / last_step_ * std::pow(last_error_ / (error * error), power_));
    growth = std::min(kSafety * growth, growth_by_bend(step, bend));
    growth = std::clamp(growth, 0.2, has_grown_ ? kGrowth : 1.0);
    last_error_ = std::max(error, kLeastLean);
    last_step_ = step;
    has_grown_ = true;
    next_ = step * growth;
  }

 private:
  /// Steps of `unjudged_` may bend as they like.
  [[nodiscard]] double growth_by_bend(double step, double bend) const {
    return std::max(0.9 * std::pow(bend, -1.0 / 3.0), unjudged_ / step);
  }

  double next_;
  double power_;
  double unjudged_;
  double last_error_ = 1.0;
  double last_step_ = 0.0;  ///< Good, as `last_error_`; 0 before there was one.
  bool has_grown_ = true;   ///< The last step was good, so that the next may grow.
};

class Walk {
 public:
  Walk(const Timeline& timeline, const std::vector<double>& also_at,
       const TransientOptions& options)
      : timeline_(timeline),
        also_at_(also_at),
        options_(options),
        stepper_(timeline, options),
        longest_(options.longest * timeline.span) {
    wave_.width = row_width(*timeline.network.structure);
    // Each of these times has a row, and about as many steps of its own come between.
    const std::size_t asked = also_at.size() * wave_.width;
    reserve_at_once(wave_.rows, 2 * asked, asked);
  }

  Waveform run() {
    if (walk()) {
      wave_.status = SolveStatus::solved;
      wave_.reason.clear();
    }
    return std::move(wave_);
  }

 private:
  /// To rounding: a segment's end is met by adding steps up.
  [[nodiscard]] bool is_at_end() const {
    return stepper_.here().seconds >= length_ * (1.0 - 32.0 * kEps);
  }
  [[nodiscard]] double now() const { return start_ + stepper_.here().seconds; }

  /// Notes what went wrong, at the moment reached.
  bool fail(const std::string& what) {
    wave_.status = SolveStatus::no_convergence;
    wave_.reason =
        what + ", at " + format_quantity(now(), Unit::second) + " of the run";
    return false;
  }
  [[nodiscard]] std::string restless() const {
    return stepper_.newton().layout().name(stepper_.newton().restless());
  }

  /// Whose error limited the step tried last.
  [[nodiscard]] std::string hastiest() const {
    return stepper_.here().charges.empty() ? "a value" : stepper_.charge_name(worst_);
  }

  bool walk() {
    Segments& segments = stepper_.segments();
    if (timeline_.from_rest) {
      const std::string reason = stepper_.start_at_rest();
      if (!reason.empty()) {
        wave_.reason = "at rest, before the run: " + reason;
        return false;
      }
    }
    for (std::size_t k = 0; k < segments.count(); ++k) {
      stepper_.enter(k);
      start_ = segments.start(k);
      length_ = segments.length(k);
      end_ = segments.end(k);
      if (k == 0) {
        if (!timeline_.from_rest &&
            !stepper_.start_with_charges(kCreep * kLeastCreep * length_)) {
          return fail(restless() +
                      " would not settle with the charges that the run starts from; "
                      "tried Newton's method, gmin stepping and source stepping");
        }
        if (!put(0.0, stepper_.here())) return false;
        if (options_.until) beyond_ = beyond(stepper_.here());
      }
      if (!find_rates() || !cross()) return false;
      if (is_over_) break;
    }
    return true;
  }

  /// Short backward Euler steps, unless charges jump: of what a charge moves in one, a
  /// step's error is the share that the step is of the time in which the charge's rate
  /// changes.
  bool find_rates() {
    const double left = length_ - stepper_.here().seconds;
    double length = std::min(kCreep * length_, left);
    const double least = std::min(kLeastCreep * length, left);
    for (int jumps = 0;;) {
      const bool is_least = length <= least;
      if (!stepper_.creep(length, is_least)) {
        if (is_least) return no_way();
      } else if (stepper_.moved() <= kCreepMoves || (is_least && jumps > 0)) {
        return take();
      } else if (is_least) {
        ++jumps;
        if (!take()) return false;
        if (is_over_) return true;
        continue;
      }
      length = std::max(0.1 * length, least);
    }
  }

  bool too_fast(double step) {
    return fail(hastiest() +
                " changes faster than can be followed; tried steps down to " +
                format_quantity(step, Unit::second));
  }

  bool no_way() {
    return fail(restless() +
                " would not settle; tried Newton's method, pseudo-transient "
                "continuation, gmin stepping and source stepping with steps down to " +
                format_quantity(kCreep * kLeastCreep * length_, Unit::second));
  }

  /// The step wanted, or less, so that it ends at the segment's end or leaves no sliver
  /// before it.
  [[nodiscard]] double fitted(double wanted) const {
    const double left = length_ - stepper_.here().seconds;
    const double step = std::min(wanted, longest_);
    return step >= left ? left : std::min(step, 0.5 * left);
  }

  /// From the segment's start to its end.
  bool cross() {
    const double unjudged =
        std::min(options_.unjudged * timeline_.span, kBendSegment * length_);
    Pace pace(kFirstStep * length_, options_.method.error_order, unjudged);
    int jumps = 0;
    while (!is_over_ && !is_at_end()) {
      if (!has_budget()) return false;
      const double step = fitted(pace.next());
      if (!(step > 16.0 * kEps * stepper_.here().seconds)) {
        if (!is_newton_) return too_fast(step);
        // The answer may be gone and another one be there: charges stay, the rest
        // jumps.
        if (++jumps > kJumps) return no_way();
        if (!find_rates()) return false;
        is_newton_ = false;
        pace.start_again(kCreep * length_);
        continue;
      }
      const Stepper::Trial trial = stepper_.step(step);
      is_newton_ = !trial.is_solved;
      worst_ = trial.worst;
      if (!trial.is_solved) {
        pace.start_again(0.25 * step);
        continue;
      }
      const bool bends = step > unjudged && !(trial.bend <= 1.0);
      if (bends || !(trial.error <= 1.0)) {
        pace.refuse(step, trial.error, trial.bend);
        continue;
      }
      if (!take()) return false;
      jumps = 0;
      pace.accept(step, trial.error, trial.bend);
    }
    return true;
  }

  /// Goes to the end of the step just solved: its row, and those asked for on the way.
  bool take() {
    if (const int node = stepper_.newton().boundless_node(); node >= 0) {
      return fail("nothing limits the current at " +
                  stepper_.newton().layout().name(Layout::unknown(node)) +
                  ": more than 1 GA would flow");
    }
    stepper_.accept();
    double end = is_at_end() ? end_ : now();
    if (options_.until && !find_passing()) return false;
    if (is_over_) end = start_ + passing_.seconds;
    const bool has_grid = options_.grid > 0 && !stepper_.is_straight();
    for (double seconds; (seconds = next_asked(end, has_grid)) < end;) {
      if (!(seconds > wave_.seconds.back())) continue;
      if (!stepper_.between(seconds - start_, between_)) {
        return fail(restless() + " would not settle between two steps");
      }
      if (!put(seconds, between_)) return false;
    }
    return put(end, is_over_ ? passing_ : stepper_.here());
  }

  /// The next time before `end` at which a row is asked for, else `end`.
  [[nodiscard]] double next_asked(double end, bool has_grid) {
    double next = end;
    if (has_grid) {
      const double part = timeline_.span / static_cast<double>(options_.grid);
      const double last = wave_.seconds.back();
      // To rounding a row may be on the grid.
      next = std::min(next, part * (std::floor(last / part + 1e-9) + 1.0));
    }
    if (asked_ < also_at_.size() && also_at_[asked_] <= next && also_at_[asked_] < end)
      next = also_at_[asked_++];
    return next;
  }

  /// How far beyond its level the voltage is that is waited for. Volt.
  [[nodiscard]] double beyond(const StepMoment& m) const {
    const Watch& watch = *options_.until;
    const double above = node_volts(m.state, watch.node) -
                         node_volts(m.state, watch.against) - watch.level;
    return watch.rising ? above : -above;
  }

  /// Whether the level is passed in the step just taken, and if it is, the moment: by
  /// regula falsi (the end that stays counts half), from its far side.
  bool find_passing() {
    constexpr int kMost = 60;
    constexpr double kClose = 1e-12;
    double before = std::exchange(beyond_, beyond(stepper_.here()));
    if (!(before < 0.0 && beyond_ >= 0.0)) return true;
    is_over_ = true;
    passing_ = stepper_.here();
    double after = beyond_;
    double from = wave_.seconds.back() - start_;
    double to = passing_.seconds;
    int side = 0;
    for (int k = 0; k < kMost && to - from > kClose * (start_ + to); ++k) {
      double at = (from * after - to * before) / (after - before);
      if (!(at > from && at < to)) at = 0.5 * (from + to);
      if (!stepper_.between(at, between_))
        return fail(restless() + " would not settle between two steps");
      between_.seconds = at;
      const double here = beyond(between_);
      if (here < 0.0) {
        from = at;
        before = here;
        if (side == -1) after *= 0.5;
        side = -1;
      } else {
        to = at;
        after = here;
        passing_ = between_;
        if (side == 1) before *= 0.5;
        side = 1;
        if (here <= kClose * (1.0 + std::abs(options_.until->level))) break;
      }
    }
    return true;
  }

  bool has_budget() {
    const int size = stepper_.newton().layout().size;
    const double work =
        static_cast<double>(stepper_.newton().iterations) * (size + kStepWork);
    if (work > options_.work)
      return fail(hastiest() + " changes too often for the span: " +
                  std::to_string(points_) + " points came no further");
    if (work < checked_work_ + kWork) return true;
    checked_work_ = work;
    const double before = std::exchange(reached_, now());
    if (now() - before >= kProgress * timeline_.span) return true;
    return fail(hastiest() + " changes too fast for the span from " +
                format_quantity(before, Unit::second) +
                " on: " + std::to_string(points_) + " points were not enough");
  }

  /// A row, unless its time is no later than the last one's.
  bool put(double seconds, const StepMoment& m) {
    if (!wave_.seconds.empty() && !(seconds > wave_.seconds.back())) return true;
    if (++points_ > options_.points) {
      return fail("more than " + std::to_string(options_.points) +
                  " points would be needed");
    }
    if (options_.until && wave_.seconds.size() == 2) {
      wave_.seconds.erase(wave_.seconds.begin());
      wave_.rows.erase(wave_.rows.begin(), wave_.rows.end() - row_length());
    }
    const Structure& s = *timeline_.network.structure;
    const Layout& layout = stepper_.newton().layout();
    wave_.seconds.push_back(seconds);
    wave_.rows.push_back(0.0);
    const double* x = m.state.data();
    const auto add = [&](int first, std::size_t count) {
      wave_.rows.insert(wave_.rows.end(), x + first, x + first + count);
    };
    add(0, s.nodes.size() - 1);
    add(layout.first_capacitor(), s.capacitors.size());
    add(layout.first_inductor(), s.inductors.size());
    add(layout.nodes, s.voltage_sources.size());
    for (std::size_t k = 0; k < s.regulators.size(); ++k) {
      wave_.rows.push_back(-x[layout.first_regulator() + static_cast<int>(k)]);
    }
    const std::vector<double>& farads = timeline_.network.values.stray_farads;
    for (std::size_t k = 0; k < farads.size(); ++k)
      wave_.rows.push_back(farads[k] * m.rates[m.rates.size() - farads.size() + k]);
    return true;
  }

  [[nodiscard]] std::ptrdiff_t row_length() const {
    return static_cast<std::ptrdiff_t>(wave_.width);
  }

  const Timeline& timeline_;
  const std::vector<double>& also_at_;
  const TransientOptions& options_;
  Stepper stepper_;
  double longest_;
  Waveform wave_;
  std::size_t points_ = 0;  ///< So far; of rows the last ones may be kept alone.
  double start_ = 0.0;      ///< Of the current segment.
  double length_ = 0.0;     ///< Of the current segment.
  double end_ = 0.0;        ///< Of the current segment.
  bool is_newton_ = false;  ///< The last try failed by Newton's method.
  std::size_t worst_ = 0;   ///< The charge whose error was the largest.
  std::size_t asked_ = 0;   ///< Of also_at_, how many are done with.
  StepMoment between_;
  StepMoment passing_;    ///< Where the level waited for is passed.
  double beyond_ = 0.0;   ///< As of the moment reached.
  bool is_over_ = false;  ///< It is passed.
  double checked_work_ = 0.0;
  double reached_ = 0.0;
};

void check_courses(const std::vector<Course>& courses, std::size_t elements,
                   bool positive) {
  for (const Course& course : courses) {
    if (course.element < 0 || static_cast<std::size_t>(course.element) >= elements) {
      throw std::invalid_argument("a course of an element that is not there");
    }
    if (course.corners.empty()) throw std::invalid_argument("a course without corners");
    double last = -std::numeric_limits<double>::infinity();
    for (const Corner& corner : course.corners) {
      if (!(corner.seconds > last) || !std::isfinite(corner.seconds) ||
          !std::isfinite(corner.value) || (positive && !(corner.value > 0.0))) {
        throw std::invalid_argument("a course with a corner out of range");
      }
      last = corner.seconds;
    }
  }
}

void check(const Timeline& timeline, const std::vector<double>& also_at,
           const TransientOptions& o) {
  check_network(timeline.network);
  const Values& v = timeline.network.values;
  check_courses(timeline.volts, v.volts.size(), false);
  check_courses(timeline.amps, v.amps.size(), false);
  check_courses(timeline.ohms, v.ohms.size(), true);
  if (!(timeline.span > 0.0) || !std::isfinite(timeline.span)) {
    throw std::invalid_argument("a timeline without a span");
  }
  if (!timeline.from_rest) {
    if (timeline.capacitor_volts.size() != v.farads.size() ||
        timeline.inductor_amps.size() != v.coils.size()) {
      throw std::invalid_argument("as many charges as capacitors and inductors needed");
    }
    for (const auto* list : {&timeline.capacitor_volts, &timeline.inductor_amps}) {
      for (const double charge : *list) {
        if (!std::isfinite(charge)) throw std::invalid_argument("an infinite charge");
      }
    }
  }
  double last = 0.0;
  for (const double seconds : also_at) {
    if (!(seconds >= last) || !(seconds <= timeline.span)) {
      throw std::invalid_argument("times that do not rise within the span");
    }
    last = seconds;
  }
  if (o.until) {
    const auto nodes = static_cast<int>(timeline.network.structure->nodes.size());
    const auto is_node = [nodes](int node) { return node >= 0 && node < nodes; };
    if (!is_node(o.until->node) || !is_node(o.until->against) ||
        !std::isfinite(o.until->level))
      throw std::invalid_argument("a level that no two nodes can pass");
  }
  const auto positive = [](double value) {
    return value > 0.0 && std::isfinite(value);
  };
  if (!positive(o.relative) || !positive(o.volts) || !positive(o.stray) ||
      !positive(o.amps) || !positive(o.bend) || !positive(o.unjudged) ||
      !positive(o.work) || !positive(o.longest) || o.longest > 1.0 || o.points < 2 ||
      o.method.stages < 2 || o.method.stages > Tableau::kMost ||
      o.method.error_order < 1) {
    throw std::invalid_argument("a transient's options must be above 0");
  }
}

}  // namespace

Waveform solve_nodal(const Timeline& timeline, const std::vector<double>& also_at,
                     const TransientOptions& options) {
  check(timeline, also_at, options);
  return Walk(timeline, also_at, options).run();
}

namespace {

/// TransientOptions::grid for people's eyes and figures.
constexpr std::size_t kGrid = 1000;

/// Whether a capacitor holds what a watch waits for.
bool is_held(const Structure& s, const Watch& watch) {
  const auto is_at = [](const TwoEnds& e, int node) {
    return node != 0 && (e.a == node || e.b == node);
  };
  return std::any_of(s.capacitors.begin(), s.capacitors.end(), [&](const TwoEnds& e) {
    return is_at(e, watch.node) || is_at(e, watch.against);
  });
}

TransientOptions options_for(const Timeline& timeline) {
  TransientOptions options;
  if (!rings(*timeline.network.structure)) options.stray = kStillStray;
  return options;
}

}  // namespace

Waveform nodal_in_time(const Timeline& timeline, const std::vector<double>& also_at,
                       int closer) {
  TransientOptions options = options_for(timeline);
  const double share = std::pow(0.1, closer);
  options.relative *= share;
  options.volts *= share;
  options.amps *= share;
  options.bend *= share;
  if (closer > 0) {
    options.unjudged *= share;
    if (options.stray == kStillStray) options.stray *= share;
  }
  options.grid = kGrid;
  return solve_nodal(timeline, also_at, options);
}

Waveform nodal_until(const Timeline& timeline, const Watch& watch) {
  TransientOptions options = options_for(timeline);
  options.relative = options.volts = kUntilError;
  options.bend = kUntilBend;
  // A net that strays alone hold comes to its level late or never for a millivolt.
  if (!is_held(*timeline.network.structure, watch))
    options.stray = TransientOptions().stray;
  options.until = watch;
  return solve_nodal(timeline, {}, options);
}

}  // namespace benchproof
