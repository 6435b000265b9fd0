#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/check/hand/charging.h"

namespace benchproof {
namespace {

/// Outputs and switches change over this time (see RunStep).
constexpr double kSwitchSeconds = 1e-6;
/// A drive counts as settled within this share of the change that it makes.
constexpr double kSettledShare = 1e-3;
/// A flank longer than this share of tau is no step: up to it, counting from its
/// middle, it is one within (T / tau)^2 / 24 of tau, 4e-4.
constexpr double kFlankShare = 0.1;
/// A change smaller than this says nothing. Volt.
constexpr double kLeastChange = 10e-3;

/// The last change of a run, as a capacitor's net sees it.
struct Step {
  double at = 0.0;     ///< The middle of the flank. Second.
  double flank = 0.0;  ///< How long it takes. Second.
  double from = 0.0;   ///< The net's voltage before it. Volt.
  double to = 0.0;     ///< What drives it afterwards. Volt.
};

/// Nothing where the drive does not hold still after a short flank, or where what the
/// capacitor stands on moves.
std::optional<Step> step_of(const HandRunInput& input, const Charging& c,
                            const Record& seen) {
  const Run& run = input.circuit.runs[input.run];
  const Trace net = seen.volts(c.net);
  const Trace drive = seen.volts(c.drive);
  const Trace far = seen.volts(c.far);
  Step step;
  const double begin = run.steps.back().at;
  const double end = seen.whole().to;
  step.from = value_at(net, begin);
  step.to = value_at(drive, end);
  const double change = std::abs(step.to - step.from);
  if (change < kLeastChange) return std::nullopt;
  const double settled = kSettledShare * change;
  const Extremes base = extremes(far, {begin, end});
  if (base.highest - base.lowest > settled) return std::nullopt;
  // Before the change the net must have come to rest.
  double settles = begin;
  const std::vector<double>& times = seen.seconds();
  for (std::size_t k = 0; k < times.size(); ++k) {
    if (times[k] < begin || std::abs(drive.values[k] - step.to) <= settled) continue;
    settles = k + 1 < times.size() ? times[k + 1] : end;
  }
  step.flank = std::max(settles - begin, kSwitchSeconds);
  if (run.from == kFromInitial && settles == begin && begin == 0.0) step.flank = 0.0;
  step.at = begin + step.flank / 2.0;
  if (step.flank > kFlankShare * c.tau()) return std::nullopt;
  return step;
}

/// Whether nothing at the net does more than listen, throughout.
bool is_alone(const HandRunInput& input, const Charging& c) {
  const Extremes e = extremes(input.nodal.volts(c.net), input.nodal.whole());
  std::vector<double> at_end;
  for (std::size_t n = 0; n < input.circuit.nets.size(); ++n)
    at_end.push_back(input.nodal.volts(static_cast<int>(n)).values.back());
  return are_listeners_idle(input, c.net, c.total_ohms, e.lowest, e.highest, at_end);
}

/// Whether the net was at rest when the change began: it followed its drive then, or
/// the run began there.
bool was_at_rest(const HandRunInput& input, const Charging& c, const Step& step) {
  const Run& run = input.circuit.runs[input.run];
  const double begin = run.steps.back().at;
  if (begin == 0.0) return true;
  const Trace net = input.nodal.volts(c.net);
  const double before = value_at(net, std::max(0.0, begin - kFlankShare * c.tau()));
  return std::abs(before - step.from) <= kSettledShare * std::abs(step.to - step.from);
}

/// When the net first crosses a level after the change, counted from a time. Nothing
/// where it does not.
std::optional<double> crosses_at(const Record& seen, int net, double level,
                                 const Step& step) {
  const std::vector<double> times =
      crossings(seen.volts(net), level, step.to > step.from);
  const auto found = std::lower_bound(times.begin(), times.end(), step.at);
  if (found == times.end()) return std::nullopt;
  return *found;
}

HandResult about(const HandRunInput& input, const Charging& c) {
  HandResult result;
  result.part = input.parts[c.capacitor].name;
  result.net = input.circuit.nets[c.net].name;
  result.quantity = "time";
  result.unit = Unit::second;
  result.neglects =
      "what the capacitor leaks and its own resistance, and the flank, but for its "
      "middle, from which time counts";
  result.source = "Kuphaldt, Lessons In Electric Circuits vol. I ch. 16";
  result.mark = Mark::verified;
  return result;
}

/// The time to a level that the run's expectations ask for.
std::optional<HandResult> delay_result(const HandRunInput& input, const Charging& c,
                                       const Step& step, double level) {
  const double share = (step.to - step.from) / (step.to - level);
  // Outside, or so near the end that what leaks decides.
  constexpr double kMostShare = 100.0;
  if (!(share > 1.0) || share > kMostShare) return std::nullopt;
  const auto engine = crosses_at(input.engine, c.net, level, step);
  const auto nodal = crosses_at(input.nodal, c.net, level, step);
  if (!engine || !nodal) return std::nullopt;
  HandResult result = about(input, c);
  result.rule = "rc-delay";
  result.title =
      fmt::format("time to {} through a resistor", hand_text(level, Unit::volt));
  result.formula = fmt::format("t = {} ln((V - V0) / (V - VL))", tau_formula(c));
  result.hand = c.tau() * std::log(share);
  result.numbers =
      fmt::format("{} ln(({} - {}) / ({} - {})) = {}", tau_numbers(c),
                  hand_text(step.to, Unit::volt), hand_text(step.from, Unit::volt),
                  hand_text(step.to, Unit::volt), hand_text(level, Unit::volt),
                  hand_text(result.hand, Unit::second));
  result.engine = *engine - step.at;
  result.nodal = *nodal - step.at;
  return result;
}

}  // namespace

/// tau = R C: how long a step takes to 63.2 %; t = R C ln((V - V0) / (V - VL)) to a
/// level.
std::vector<HandResult> hand_rc_run(const HandRunInput& input) {
  std::vector<HandResult> results;
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    const auto c = charging_at(input, static_cast<int>(k));
    if (!c || !is_alone(input, *c)) continue;
    const auto step = step_of(input, *c, input.nodal);
    if (!step || !was_at_rest(input, *c, *step)) continue;
    const double level = step->to - (step->to - step->from) / std::exp(1.0);
    const auto engine = crosses_at(input.engine, c->net, level, *step);
    const auto nodal = crosses_at(input.nodal, c->net, level, *step);
    if (engine && nodal) {
      HandResult result = about(input, *c);
      result.rule = "rc-time-constant";
      result.title = "time to 63.2 % of a step through a resistor";
      result.formula = "tau = " + tau_formula(*c);
      result.hand = c->tau();
      result.numbers =
          fmt::format("{} = {}", tau_numbers(*c), hand_text(result.hand, Unit::second));
      result.engine = *engine - step->at;
      result.nodal = *nodal - step->at;
      results.push_back(std::move(result));
    }
    for (const Expectation& e : input.circuit.expectations) {
      const bool is_about = e.run == input.run && e.net == c->net && e.to < 1 &&
                            e.reaches && e.reaches->rising == (step->to > step->from);
      if (!is_about) continue;
      if (auto delay = delay_result(input, *c, *step, e.reaches->level))
        results.push_back(std::move(*delay));
    }
  }
  return results;
}

}  // namespace benchproof
