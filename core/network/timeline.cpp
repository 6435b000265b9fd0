#include "core/network/timeline.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <map>
#include <memory>
#include <stdexcept>
#include <utility>

#include "core/network/edits.h"
#include "core/network/equations.h"
#include "core/network/lower.h"

namespace benchproof {
namespace {

using Level = OutputSetting::Level;

/// The value between two corners at a share of the way from one to the other.
double between(const Corner& left, const Corner& right, double seconds, bool by_ratio) {
  const double share = (seconds - left.seconds) / (right.seconds - left.seconds);
  return by_ratio ? left.value * std::pow(right.value / left.value, share)
                  : left.value + share * (right.value - left.value);
}

double value_at(const std::vector<Corner>& corners, double seconds, bool by_ratio) {
  assert(!corners.empty() && "a course has a corner");
  const auto right = std::lower_bound(
      corners.begin(), corners.end(), seconds,
      [](const Corner& corner, double time) { return corner.seconds < time; });
  if (right == corners.end()) return corners.back().value;
  if (right == corners.begin() || right->seconds == seconds) return right->value;
  return between(*(right - 1), *right, seconds, by_ratio);
}

/// Times closer together than this are one time that was computed in two ways: some
/// dozen roundings of a double of the span's size, and far below the shortest line.
double one_time(double span) { return 1e-14 * span; }

// --- courses under construction ---------------------------------------------------

/// The courses of one list of elements, built from changes in order of time.
class Courses {
 public:
  Courses(std::vector<double> values, bool by_ratio)
      : targets_(std::move(values)), by_ratio_(by_ratio) {}

  /// Lets an element's value go to `to`, beginning at a time, from what it has reached
  /// by then.
  void move(std::size_t element, double to, double at, double seconds) {
    if (to == targets_[element]) return;
    std::vector<Corner>& corners = corners_[element];
    const double reached =
        corners.empty() ? targets_[element] : value_at(corners, at, by_ratio_);
    while (!corners.empty() && corners.back().seconds >= at) corners.pop_back();
    corners.push_back({at, reached});
    corners.push_back({at + seconds, to});
    targets_[element] = to;
  }

  void move(const std::vector<double>& to, double at, double seconds) {
    for (std::size_t k = 0; k < to.size(); ++k) move(k, to[k], at, seconds);
  }

  [[nodiscard]] std::vector<Course> take() {
    std::vector<Course> courses;
    for (auto& [element, corners] : corners_)
      courses.push_back({static_cast<int>(element), std::move(corners)});
    return courses;
  }

 private:
  std::vector<double> targets_;  ///< Where each value is, or is on its way to.
  std::map<std::size_t, std::vector<Corner>> corners_;
  bool by_ratio_ = false;
};

/// Gives corners that are one time the same double, so that no witness steps through
/// the rounding between them.
void align_corners(Timeline& timeline) {
  const double close = one_time(timeline.span);
  std::vector<double> times;
  for (const auto* courses : {&timeline.volts, &timeline.amps, &timeline.ohms}) {
    for (const Course& course : *courses) {
      for (const Corner& corner : course.corners) times.push_back(corner.seconds);
    }
  }
  std::sort(times.begin(), times.end());
  std::vector<double> kept;
  for (const double time : times) {
    if (kept.empty() || time - kept.back() > close) kept.push_back(time);
  }
  for (auto* courses : {&timeline.volts, &timeline.amps, &timeline.ohms}) {
    for (Course& course : *courses) {
      std::vector<Corner> corners;
      for (Corner corner : course.corners) {
        corner.seconds =
            *(std::upper_bound(kept.begin(), kept.end(), corner.seconds) - 1);
        // A line begins where the one before it ends, to rounding: one corner.
        if (corners.empty() || corner.seconds > corners.back().seconds)
          corners.push_back(corner);
      }
      course.corners = std::move(corners);
    }
  }
}

// --- what a step means ------------------------------------------------------------

State with_pwm_at(State state, Level level) {
  for (auto& [pin, setting] : state.outputs) {
    if (setting.level == Level::pwm) setting.level = level;
  }
  return state;
}

/// A PWM output that pulses.
struct Pulse {
  OutputSetting setting;
  double begin = 0.0;  ///< When its first period begins, with its high part. Second.
};

/// A change of a PWM output's level.
struct Toggle {
  double seconds = 0.0;
  PinRef pin;
  bool is_high = false;
};

/// The changes of one output from the last one before `from` up to `to`, in order.
std::vector<Toggle> toggles(PinRef pin, const Pulse& pulse, double from, double to) {
  std::vector<Toggle> list;
  const double hertz = pulse.setting.hertz;
  double period = std::max(0.0, std::floor((from - pulse.begin) * hertz) - 1.0);
  for (;; period += 1.0) {
    const double on = pulse.begin + period / hertz;
    if (on >= to) return list;
    list.push_back({on, pin, true});
    const double off = pulse.begin + (period + pulse.setting.duty) / hertz;
    if (off >= to) return list;
    list.push_back({off, pin, false});
  }
}

/// What outputs, switches and values are while a step (-1: what is before the first
/// one) holds.
State state_of(const Circuit& circuit, const Run& run, int step,
               const Specimen& specimen) {
  const int named = named_state(run, step);
  State state = named < 0 ? State{} : circuit.states[named];
  if (specimen.put) specimen.put(state);
  return state;
}

/// The network while a step holds, its PWM outputs all at one level. `structure`, where
/// given, is that of the run's beginning.
Network network_in(const Circuit& circuit, const Run& run, int step, Level pwm,
                   const Specimen& specimen,
                   const std::shared_ptr<const Structure>& structure) {
  const State state = with_pwm_at(state_of(circuit, run, step, specimen), pwm);
  Network network = lower(circuit, state, structure, Purpose::run);
  if (structure && network.structure != structure)
    throw std::invalid_argument("states of different structure in one run");
  if (specimen.touch) specimen.touch(state, network);
  if ((step < 0 ? run.from : run.steps[step].state) == kUnpowered)
    return powered_down(circuit, std::move(network));
  return network;
}

// --- playing a run ----------------------------------------------------------------

class Player {
 public:
  Player(const Circuit& circuit, const Run& run, const Specimen& specimen)
      : circuit_(circuit),
        run_(run),
        specimen_(specimen),
        start_(network_in(circuit, run, run.from == kFromInitial ? 0 : -1, Level::high,
                          specimen, nullptr)),
        volts_(start_.values.volts, false),
        amps_(start_.values.amps, false),
        ohms_(start_.values.ohms, true) {}

  Timeline play() {
    for (std::size_t k = 0; k < run_.steps.size(); ++k) enter(static_cast<int>(k));
    Timeline timeline;
    timeline.span = run_.seconds;
    timeline.volts = volts_.take();
    timeline.amps = amps_.take();
    timeline.ohms = ohms_.take();
    align_corners(timeline);
    if (run_.from == kFromInitial) charge(timeline);
    timeline.network = std::move(start_);
    return timeline;
  }

 private:
  /// Lets everything go to what a step asks for, and its outputs pulse until the next.
  void enter(int index) {
    const RunStep& step = run_.steps[index];
    const bool is_last = index + 1 == static_cast<int>(run_.steps.size());
    const double end = is_last ? run_.seconds : run_.steps[index + 1].at;
    const Network high =
        network_in(circuit_, run_, index, Level::high, specimen_, start_.structure);
    volts_.move(high.values.volts, step.at, step.rise);
    amps_.move(high.values.amps, step.at, step.rise);

    pulse_on(state_of(circuit_, run_, index, specimen_), step.at);
    std::vector<double> ohms = high.values.ohms;
    if (pulses_.empty()) return ohms_.move(ohms, step.at, kSwitchSeconds);

    const Network low =
        network_in(circuit_, run_, index, Level::low, specimen_, start_.structure);
    const double close = one_time(run_.seconds);
    std::vector<Toggle> later;
    for (const auto& [pin, pulse] : pulses_) {
      bool is_high = true;
      for (const Toggle& toggle : toggles(pin, pulse, step.at, end - close)) {
        if (toggle.seconds > step.at + close) {
          later.push_back(toggle);
        } else {
          is_high = toggle.is_high;
        }
      }
      if (is_high) continue;
      for (const std::size_t k : resistors_of(pin)) ohms[k] = low.values.ohms[k];
    }
    ohms_.move(ohms, step.at, kSwitchSeconds);
    std::stable_sort(later.begin(), later.end(), [](const Toggle& a, const Toggle& b) {
      return a.seconds < b.seconds;
    });
    for (const Toggle& toggle : later) {
      const std::vector<double>& to = (toggle.is_high ? high : low).values.ohms;
      for (const std::size_t k : resistors_of(toggle.pin))
        ohms_.move(k, to[k], toggle.seconds, kSwitchSeconds);
    }
  }

  /// Outputs that pulsed in the same way before go on; others begin a period.
  void pulse_on(const State& state, double at) {
    std::map<PinRef, Pulse> pulses;
    for (const auto& [pin, setting] : state.outputs) {
      if (setting.level != Level::pwm) continue;
      const auto before = pulses_.find(pin);
      const bool goes_on = before != pulses_.end() &&
                           before->second.setting.duty == setting.duty &&
                           before->second.setting.hertz == setting.hertz;
      pulses[pin] = goes_on ? before->second : Pulse{setting, at};
    }
    pulses_ = std::move(pulses);
  }

  /// The resistors at an output's pin: what ties it to the supply and to ground.
  const std::vector<std::size_t>& resistors_of(PinRef pin) {
    const auto [found, is_new] = resistors_.try_emplace(pin);
    if (!is_new) return found->second;
    const std::vector<TwoEnds>& all = start_.structure->resistors;
    for (std::size_t k = 0; k < all.size(); ++k) {
      const Origin& origin = all[k].origin;
      if (origin.part == pin.part &&
          (origin.pins[0] == pin.pin || origin.pins[1] == pin.pin))
        found->second.push_back(k);
    }
    return found->second;
  }

  /// The charges that the parts begin with, as the first step's state has them.
  void charge(Timeline& timeline) const {
    const std::vector<Part> parts =
        parts_in(circuit_, state_of(circuit_, run_, 0, specimen_));
    const auto initial = [&parts](const std::vector<TwoEnds>& elements) {
      std::vector<double> values;
      values.reserve(elements.size());
      for (const TwoEnds& element : elements) {
        const auto given = figure(parts[element.origin.part], "initial");
        values.push_back(given ? given->value : 0.0);
      }
      return values;
    };
    timeline.from_rest = false;
    timeline.capacitor_volts = initial(start_.structure->capacitors);
    timeline.inductor_amps = initial(start_.structure->inductors);
  }

  const Circuit& circuit_;
  const Run& run_;
  const Specimen& specimen_;
  Network start_;
  Courses volts_;
  Courses amps_;
  Courses ohms_;
  std::map<PinRef, Pulse> pulses_;
  std::map<PinRef, std::vector<std::size_t>> resistors_;
};

}  // namespace

double value_at(const Course& course, double seconds, bool by_ratio) {
  return value_at(course.corners, seconds, by_ratio);
}

void set_values(Values& values, const Timeline& timeline, double seconds) {
  for (const Course& course : timeline.volts)
    values.volts[course.element] = value_at(course, seconds, false);
  for (const Course& course : timeline.amps)
    values.amps[course.element] = value_at(course, seconds, false);
  for (const Course& course : timeline.ohms)
    values.ohms[course.element] = value_at(course, seconds, true);
}

std::vector<double> corners_of(const Timeline& timeline) {
  std::vector<double> times;
  for (const auto* courses : {&timeline.volts, &timeline.amps, &timeline.ohms}) {
    for (const Course& course : *courses) {
      for (const Corner& corner : course.corners) {
        if (corner.seconds > 0.0 && corner.seconds < timeline.span)
          times.push_back(corner.seconds);
      }
    }
  }
  std::sort(times.begin(), times.end());
  times.erase(std::unique(times.begin(), times.end()), times.end());
  return times;
}

bool rings(const Structure& structure) { return !structure.inductors.empty(); }

std::size_t row_width(const Structure& structure) {
  return structure.nodes.size() + structure.capacitors.size() +
         structure.inductors.size() + structure.voltage_sources.size() +
         structure.regulators.size() + structure.strays.size();
}

Timeline make_timeline(const Circuit& circuit, const Run& run,
                       const Specimen& specimen) {
  return Player(circuit, run, specimen).play();
}

}  // namespace benchproof
