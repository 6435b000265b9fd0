#include "core/nodal/detail/stepper.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "core/nodal/nodal_solver.h"

namespace benchproof {
namespace {

/// A step of Newton's method may be this large and still be the last, as long as every
/// nonlinear element then carries what its tangent foretold: it is that which tells
/// whether the equations are obeyed.
constexpr double kLastStep = 1e-3;

Settling settling_for(const TransientOptions& options) {
  Settling s;
  s.relative = kLastStep;
  s.volts = kLastStep;
  s.amps = std::numeric_limits<double>::infinity();
  s.share = std::clamp(0.1 * options.relative, 1e-12, 1e-7);
  s.floor = 1e-13;
  s.regulator = 1e-10;
  s.iterations = 30;
  return s;
}

constexpr int kContinuation = 200;

/// A net goes straight that is off the line by less than so many volts + as much times
/// its voltage in the middle of a step.
constexpr double kStraight = 2e-5;

/// A charge's derivative at a step's end as its interpolation takes it. A stray may
/// have settled within a small share of the step; then its derivative at the beginning
/// tells nothing of the rest. It is kept where the interpolation stays between both
/// ends [F. N. Fritsch, R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM
/// J. Numer. Anal. 17 (1980) 238-246].
double rate_at_end(double rate, double slope, bool is_stray) {
  if (!is_stray) return rate;
  return slope > 0.0 ? std::clamp(rate, 0.0, 3.0 * slope)
                     : std::clamp(rate, 3.0 * slope, 0.0);
}

}  // namespace

Stepper::Stepper(const Timeline& timeline, const TransientOptions& options)
    : timeline_(timeline),
      options_(options),
      network_(timeline.network),
      segments_(timeline, network_.values),
      newton_(network_.structure, true),
      settling_(settling_for(options)) {
  newton_.least_stray_seconds = 1e-11 * timeline.span;
  newton_.bind(network_);
  first_stray_ = network_.values.farads.size() + network_.values.coils.size();
  const std::size_t charges = first_stray_ + network_.values.stray_farads.size();
  companion_.base.resize(charges);
  const auto size = [&](StepMoment& m) {
    m.charges.assign(charges, 0.0);
    m.rates.assign(charges, 0.0);
    m.state.assign(newton_.state_size(), 0.0);
  };
  for (StepMoment* m : {&here_, &there_, &before_, &middle_}) size(*m);
  for (StepMoment& m : stages_) size(m);
  foretold_.resize(newton_.state_size());
}

std::string Stepper::start_at_rest() {
  const Solution rest =
      NodalSolver(network_.structure).operating_point(timeline_.network);
  if (rest.status != SolveStatus::solved) return rest.reason;
  const Structure& s = *network_.structure;
  double* charge = here_.charges.data();
  for (const TwoEnds& e : s.capacitors) *charge++ = rest.volts[e.a] - rest.volts[e.b];
  for (const double amps : rest.currents.inductors) *charge++ = amps;
  for (const TwoEnds& e : s.strays) *charge++ = rest.volts[e.a] - rest.volts[e.b];
  newton_.start_near(rest);
  newton_.copy_state(here_.state);
  return {};
}

/// Lets strays begin at what the charges make of the network without them.
bool Stepper::charge_strays(double shortest) {
  std::vector<double>& farads = network_.values.stray_farads;
  if (farads.empty()) return true;
  constexpr double kNoFarads = 1e-30;
  const std::vector<double> told =
      std::exchange(farads, std::vector<double>(farads.size(), kNoFarads));
  companion_.seconds = shortest;
  companion_.base = here_.charges;
  foretold_ = here_.state;
  const bool is_solved = solve_hard(0.0, companion_);
  farads = told;
  bound_seconds_ = 0.0;
  if (!is_solved) return false;
  newton_.copy_state(here_.state);
  double* charge = here_.charges.data() + first_stray_;
  for (const TwoEnds& e : network_.structure->strays)
    *charge++ = node_volts(here_.state, e.a) - node_volts(here_.state, e.b);
  return true;
}

bool Stepper::start_with_charges(double shortest) {
  std::copy(timeline_.inductor_amps.begin(), timeline_.inductor_amps.end(),
            std::copy(timeline_.capacitor_volts.begin(),
                      timeline_.capacitor_volts.end(), here_.charges.begin()));
  if (!charge_strays(shortest)) return false;
  // What the charges jump to, then the derivatives that follow.
  for (int round = 0; round < 2; ++round) {
    companion_.seconds = shortest;
    companion_.base = here_.charges;
    foretold_ = here_.state;
    if (!solve_hard(0.0, companion_)) return false;
    read(companion_, there_);
    const bool stays = moved() <= 1.0;
    if (!stays) here_.charges = there_.charges;
    here_.rates = there_.rates;
    here_.state = there_.state;
    if (stays) break;
  }
  return true;
}

void Stepper::enter(std::size_t segment) {
  segments_.enter(segment);
  bound_seconds_ = 0.0;
  here_.seconds = 0.0;
  has_before_ = false;
  has_middle_ = false;
}

double Stepper::allowed(std::size_t charge, double a, double b) const {
  const double size = std::max(std::abs(a), std::abs(b));
  if (charge >= first_stray_) return options_.stray * (1.0 + size);
  const double floor =
      charge < network_.values.farads.size() ? options_.volts : options_.amps;
  return floor + options_.relative * size;
}

void Stepper::bind(double seconds, const Companion& companion) {
  segments_.set_time(seconds);
  if (companion.seconds != bound_seconds_ || segments_.ohms_move()) {
    newton_.bind_matrix(companion.seconds);
    bound_seconds_ = companion.seconds;
  }
  newton_.bind_right(companion);
}

bool Stepper::solve(double seconds, const Companion& companion) {
  bind(seconds, companion);
  newton_.start_at(foretold_);
  return newton_.run(settling_) == Outcome::settled;
}

bool Stepper::solve_hard(double seconds, const Companion& companion) {
  bind(seconds, companion);
  Settling patient = settling_;
  patient.iterations = NodalOptions().iterations;
  newton_.start_at(foretold_);
  if (newton_.run(patient) == Outcome::settled) return true;
  newton_.start_at(foretold_);
  if (newton_.relax(settling_, kContinuation) == Outcome::settled) return true;
  newton_.start_cold();
  return newton_.run(patient) == Outcome::settled ||
         newton_.step_gmin(patient, kContinuation) == Outcome::settled ||
         newton_.step_sources(patient, kContinuation) == Outcome::settled;
}

void Stepper::read(const Companion& companion, StepMoment& moment) const {
  newton_.copy_state(moment.state);
  const Structure& s = *network_.structure;
  const Values& x = network_.values;
  const Layout& layout = newton_.layout();
  // Derivatives from what the element carries: differences of charges would lose
  // digits in short steps.
  double* rate = moment.rates.data();
  const double* amps = moment.state.data() + layout.first_capacitor();
  for (const double farads : x.farads) *rate++ = *amps++ / farads;
  const auto across = [&moment](const TwoEnds& e) {
    return node_volts(moment.state, e.a) - node_volts(moment.state, e.b);
  };
  const double* through = moment.state.data() + layout.first_inductor();
  for (std::size_t k = 0; k < x.coils.size(); ++k)
    *rate++ = at(x.coils[k]).rate(across(s.inductors[k]), *through++);
  const double* base = companion.base.data() + (rate - moment.rates.data());
  const double stray_seconds = newton_.stray_seconds(companion.seconds);
  for (const TwoEnds& e : s.strays) *rate++ = (across(e) - *base++) / stray_seconds;
  for (std::size_t k = 0; k < moment.rates.size(); ++k) {
    moment.charges[k] = companion.base[k] + companion.seconds * moment.rates[k];
  }
}

/// Into foretold_: the state at a time, by the parabola through the three known ones
/// that lie nearest, of the last step and of the first `stages` stages of this one.
void Stepper::foretell(double seconds, int stages) {
  std::array<const StepMoment*, Tableau::kMost + 2> known{};
  int count = 0;
  known[count++] = &here_;
  for (int i = 1; i < stages; ++i) known[count++] = &stages_[i];
  if (has_middle_) known[count++] = &middle_;
  if (has_before_) known[count++] = &before_;
  std::array<const StepMoment*, 3> near{};
  int chosen = 0;
  while (chosen < 3) {
    const StepMoment* best = nullptr;
    double least = 0.0;
    for (int i = 0; i < count; ++i) {
      const double distance = std::abs(known[i]->seconds - seconds);
      if (best != nullptr && !(distance < least)) continue;
      // Two points close together tell nothing about a third far away.
      bool is_apart = true;
      for (int j = 0; j < chosen; ++j) {
        is_apart = is_apart &&
                   std::abs(known[i]->seconds - near[j]->seconds) > 0.125 * distance;
      }
      if (!is_apart) continue;
      best = known[i];
      least = distance;
    }
    if (best == nullptr) break;
    near[chosen++] = best;
  }
  std::array<double, 3> weight{};
  for (int i = 0; i < chosen; ++i) {
    weight[i] = 1.0;
    for (int j = 0; j < chosen; ++j) {
      if (j == i) continue;
      weight[i] *= (seconds - near[j]->seconds) / (near[i]->seconds - near[j]->seconds);
    }
  }
  const std::size_t size = foretold_.size();
  const double* a = near[0]->state.data();
  for (std::size_t k = 0; k < size; ++k) foretold_[k] = weight[0] * a[k];
  for (int i = 1; i < chosen; ++i) {
    const double* b = near[i]->state.data();
    for (std::size_t k = 0; k < size; ++k) foretold_[k] += weight[i] * b[k];
  }
}

bool Stepper::creep(double seconds, bool hard) {
  has_crept_ = true;
  companion_.seconds = seconds;
  companion_.base = here_.charges;
  foretold_ = here_.state;
  there_.seconds = here_.seconds + seconds;
  if (!(hard ? solve_hard(there_.seconds, companion_)
             : solve(there_.seconds, companion_))) {
    return false;
  }
  read(companion_, there_);
  return true;
}

double Stepper::moved() const {
  double most = 0.0;
  for (std::size_t k = 0; k < first_stray_; ++k) {
    const double a = here_.charges[k];
    const double b = there_.charges[k];
    const double share = std::abs(b - a) / allowed(k, a, b);
    if (!(share <= most)) most = share;
  }
  return most;
}

/// How far the nets are off what was foretold of them, over what they may be.
double Stepper::bend(const StepMoment& moment) const {
  double most = 0.0;
  for (int k = 0; k < newton_.layout().nodes; ++k) {
    const double volts = moment.state[k];
    most = std::max(most, std::abs(volts - foretold_[k]) / (1.0 + std::abs(volts)));
  }
  return most / options_.bend;
}

Stepper::Trial Stepper::step(double seconds) {
  const Tableau& m = options_.method;
  has_crept_ = false;
  const int last = m.stages - 1;
  const std::size_t charges = here_.charges.size();
  companion_.seconds = seconds * m.a[last][last];
  Trial trial;
  for (int i = 1; i <= last; ++i) {
    std::copy(here_.charges.begin(), here_.charges.end(), companion_.base.begin());
    for (int j = 0; j < i; ++j) {
      const double weight = seconds * m.a[i][j];
      if (weight == 0.0) continue;
      const double* rates = j == 0 ? here_.rates.data() : stages_[j].rates.data();
      for (std::size_t k = 0; k < charges; ++k) {
        companion_.base[k] += weight * rates[k];
      }
    }
    StepMoment& stage = stages_[i];
    stage.seconds = here_.seconds + seconds * m.c[i];
    foretell(stage.seconds, i);
    if (!solve(stage.seconds, companion_)) return {};
    read(companion_, stage);
    // The first stage is foretold from the last step alone, which is too little.
    if (i >= 2 || i == last) trial.bend = std::max(trial.bend, bend(stage));
  }
  std::swap(there_, stages_[last]);
  trial.is_solved = true;
  for (std::size_t k = 0; k < charges; ++k) {
    double error = (m.a[last][0] - m.embedded[0]) * here_.rates[k] +
                   (m.a[last][last] - m.embedded[last]) * there_.rates[k];
    for (int i = 1; i < last; ++i) {
      error += (m.a[last][i] - m.embedded[i]) * stages_[i].rates[k];
    }
    const double share =
        seconds * std::abs(error) / allowed(k, here_.charges[k], there_.charges[k]);
    if (!(share <= trial.error)) {
      trial.error = share;
      trial.worst = k;
    }
  }
  return trial;
}

std::string Stepper::charge_name(std::size_t charge) const {
  const std::size_t capacitors = network_.values.farads.size();
  const Layout& layout = newton_.layout();
  if (charge >= first_stray_) {
    const TwoEnds& e = network_.structure->strays[charge - first_stray_];
    return layout.name(Layout::unknown(e.a == 0 ? e.b : e.a));
  }
  return layout.name(charge < capacitors
                         ? layout.first_capacitor() + static_cast<int>(charge)
                         : layout.first_inductor() +
                               static_cast<int>(charge - capacitors));
}

void Stepper::accept() {
  std::swap(before_, here_);
  std::swap(here_, there_);
  has_before_ = true;
  has_middle_ = !has_crept_ && options_.method.stages > 2;
  if (has_middle_) std::swap(middle_, stages_[1]);
}

bool Stepper::is_straight() const {
  if (!has_middle_) return false;
  const double share =
      (middle_.seconds - before_.seconds) / (here_.seconds - before_.seconds);
  for (int k = 0; k < newton_.layout().nodes; ++k) {
    const double volts = std::lerp(before_.state[k], here_.state[k], share);
    if (!(std::abs(middle_.state[k] - volts) <= kStraight * (1.0 + std::abs(volts))))
      return false;
  }
  return true;
}

bool Stepper::between(double seconds, StepMoment& moment) {
  const double step = here_.seconds - before_.seconds;
  const double t = std::clamp((seconds - before_.seconds) / step, 0.0, 1.0);
  companion_.seconds = 0.01 * step;
  for (std::size_t k = 0; k < here_.charges.size(); ++k) {
    const double a = before_.charges[k];
    const double b = here_.charges[k];
    const double slope = (b - a) / step;
    double charge = a + t * (b - a);
    double rate = slope;
    if (!has_crept_) {
      // Cubic Hermite interpolation: the straight line and what the ends' derivatives
      // add to it.
      const bool is_stray = k >= first_stray_;
      const double from = rate_at_end(before_.rates[k], slope, is_stray) - slope;
      const double to = rate_at_end(here_.rates[k], slope, is_stray) - slope;
      charge += step * t * (1.0 - t) * ((1.0 - t) * from - t * to);
      rate += (1.0 - t) * (1.0 - 3.0 * t) * from + t * (3.0 * t - 2.0) * to;
    }
    companion_.base[k] = charge - companion_.seconds * rate;
  }
  const double at = before_.seconds + t * step;
  foretell(at, 1);
  if (!solve(at, companion_) && !solve_hard(at, companion_)) return false;
  moment.seconds = at;
  moment.charges.resize(here_.charges.size());
  moment.rates.resize(here_.charges.size());
  read(companion_, moment);
  return true;
}

}  // namespace benchproof
