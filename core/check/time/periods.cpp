#include "core/check/time/periods.h"

#include <algorithm>
#include <cmath>

namespace benchproof {
namespace {

/// The frequency of the PWM that a run ends in; 0 where it ends in none, or several.
double last_hertz(const Circuit& circuit, const Run& run) {
  const RunStep& last = run.steps.back();
  if (last.state < 0) return 0.0;
  double hertz = 0.0;
  for (const auto& [pin, setting] : circuit.states[last.state].outputs) {
    if (setting.level != OutputSetting::Level::pwm) continue;
    if (hertz != 0.0 && setting.hertz != hertz) return 0.0;
    hertz = setting.hertz;
  }
  return hertz;
}

/// How many whole periods there are from a time to the end, wherever in the period they
/// begin.
double whole_periods(const Run& run, double after, double hertz) {
  const double length = run.seconds - std::max(after, run.steps.back().at);
  return std::floor(length * hertz * (1.0 + 1e-12));
}

}  // namespace

std::optional<Stretch> last_period(const Circuit& circuit, const Run& run) {
  const double hertz = last_hertz(circuit, run);
  if (hertz == 0.0 || whole_periods(run, 0.0, hertz) < 1.0) return std::nullopt;
  return Stretch{run.seconds - 1.0 / hertz, run.seconds};
}

Stretch figure_stretch(const Circuit& circuit, const Run& run, double after) {
  const double hertz = last_hertz(circuit, run);
  const double periods = hertz > 0.0 ? whole_periods(run, after, hertz) : 0.0;
  if (periods < 1.0) return {after, run.seconds};
  return {run.seconds - periods / hertz, run.seconds};
}

}  // namespace benchproof
