#include "core/nodal/detail/newton.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <utility>

#include "core/nodal/detail/device_steps.h"

namespace benchproof {

Newton::Newton(std::shared_ptr<const Structure> structure, bool in_time)
    : layout_(std::move(structure), in_time),
      s_(*layout_.structure),
      devices_(layout_) {
  linear_.resize(layout_.matrix.slots());
  work_.resize(layout_.matrix.slots());
  linear_right_.resize(layout_.size);
  right_.resize(layout_.size);
  resistors_.resize(layout_.resistors.size());
  inductors_.resize(layout_.inductors.size());
  capacitors_.resize(layout_.capacitors.size());
  strays_.resize(layout_.strays.size());
  next_.resize(layout_.size);
  anchor_.resize(layout_.nodes);
  memory_.x.resize(layout_.size);
  memory_.diodes.resize(s_.diodes.size());
  memory_.bipolars.resize(s_.bipolars.size());
  memory_.mosfets.resize(s_.mosfets.size());
  memory_.regulators.resize(s_.regulators.size());
}

void Newton::bind(const Network& network) {
  values_ = &network.values;
  devices_.each([&](auto& kind) { kind.bind(network); });
  bind_matrix(0.0);
  bind_right({});
}

void Newton::bind_matrix(double companion_seconds) {
  const Values& v = *values_;
  std::fill(linear_.begin(), linear_.end(), 0.0);
  double* a = linear_.data();
  for (std::size_t k = 0; k < v.ohms.size(); ++k) {
    resistors_[k] = resistor_stamp(v.ohms[k]);
    put_matrix(resistors_[k], layout_.resistors[k], a);
  }
  for (const BranchSlots& slots : layout_.voltage_sources) {
    put_matrix(voltage_source_stamp(0.0), slots, a);
  }
  const bool is_at_rest = companion_seconds == 0.0;
  const BranchStamp<double> at_rest;
  for (std::size_t k = 0; k < layout_.capacitors.size(); ++k) {
    capacitors_[k] =
        is_at_rest ? at_rest : capacitor_stamp(v.farads[k], companion_seconds, 0.0);
    put_matrix(capacitors_[k], layout_.capacitors[k], a);
  }
  for (std::size_t k = 0; k < layout_.inductors.size(); ++k) {
    const CoilAt coil = at(v.coils[k]);
    inductors_[k] =
        is_at_rest ? coil_at_rest(coil) : coil_stamp(coil, companion_seconds, 0.0);
    put_matrix(inductors_[k], layout_.inductors[k], a);
  }
  for (std::size_t k = 0; k < layout_.strays.size(); ++k) {
    strays_[k] = is_at_rest ? PairStamp<double>{}
                            : stray_stamp(v.stray_farads[k],
                                          stray_seconds(companion_seconds), 0.0);
    put_matrix(strays_[k], layout_.strays[k], a);
  }
}

void Newton::bind_right(const Companion& companion) {
  const Values& v = *values_;
  std::fill(linear_right_.begin(), linear_right_.end(), 0.0);
  double* b = linear_right_.data();
  for (std::size_t k = 0; k < v.volts.size(); ++k) {
    put_right(voltage_source_stamp(v.volts[k]), layout_.voltage_sources[k], b);
  }
  for (std::size_t k = 0; k < v.amps.size(); ++k) {
    put_right(current_source_stamp(v.amps[k]), s_.current_sources[k], b);
  }
  if (companion.base.empty()) return;
  const double* base = companion.base.data();
  for (std::size_t k = 0; k < v.farads.size(); ++k) {
    put_right(capacitor_stamp(v.farads[k], companion.seconds, *base++),
              layout_.capacitors[k], b);
  }
  for (std::size_t k = 0; k < v.coils.size(); ++k) {
    put_right(coil_stamp(at(v.coils[k]), companion.seconds, *base++),
              layout_.inductors[k], b);
  }
  for (std::size_t k = 0; k < v.stray_farads.size(); ++k) {
    put_right(stray_stamp(v.stray_farads[k], stray_seconds(companion.seconds), *base++),
              s_.strays[k], b);
  }
}

void Newton::start_cold() {
  std::fill(memory_.x.begin(), memory_.x.end(), 0.0);
  devices_.each([this](auto& kind) { kind.start_cold(memory_); });
  evaluate();
}

void Newton::start_near(const Solution& near) {
  std::copy_n(near.volts.begin() + 1, layout_.nodes, memory_.x.begin());
  int branch = layout_.nodes;
  for (const auto* list : {&near.currents.voltage_sources, &near.currents.inductors}) {
    for (const double amps : *list) memory_.x[branch++] = amps;
  }
  for (const auto& ends : near.currents.regulators) memory_.x[branch++] = -ends[2];
  devices_.each([this](auto& kind) { kind.start_at_unknowns(memory_); });
  const std::vector<DiodeAt>& diodes = devices_.diodes.devices();
  for (std::size_t k = 0; k < diodes.size(); ++k) {
    memory_.diodes[k] -= diodes[k].rs * near.currents.diodes[k];
  }
  const std::vector<MosAt>& mosfets = devices_.mosfets.devices();
  for (std::size_t k = 0; k < mosfets.size(); ++k) {
    memory_.mosfets[k] = behind_resistances(
        mosfets[k], memory_.mosfets[k], mosfets[k].sign * near.currents.mosfets[k][0]);
  }
  evaluate();
}

void Newton::start_on(const Solution& solution) {
  start_near(solution);
  const std::vector<DiodeAt>& diodes = devices_.diodes.devices();
  for (std::size_t k = 0; k < diodes.size(); ++k) {
    const double volts =
        node_volts(memory_.x, s_.diodes[k].a) - node_volts(memory_.x, s_.diodes[k].b);
    memory_.diodes[k] = volts - diodes[k].rs * conduct(diodes[k], volts).amps;
  }
  const std::vector<MosAt>& mosfets = devices_.mosfets.devices();
  for (std::size_t k = 0; k < mosfets.size(); ++k) {
    const auto [drain, gate, source] = s_.mosfets[k].ends;
    const MosVolts<double> ends =
        driven(mosfets[k], node_volts(memory_.x, drain), node_volts(memory_.x, gate),
               node_volts(memory_.x, source));
    memory_.mosfets[k] = behind_resistances(
        mosfets[k], ends, conduct(mosfets[k], ends.gs, ends.ds).drain);
  }
  evaluate();
}

bool Newton::fits(const Solution& near) const {
  return near.volts.size() == s_.nodes.size() &&
         near.currents.voltage_sources.size() == s_.voltage_sources.size() &&
         near.currents.inductors.size() == s_.inductors.size() &&
         near.currents.regulators.size() == s_.regulators.size() &&
         near.currents.diodes.size() == s_.diodes.size() &&
         near.currents.mosfets.size() == s_.mosfets.size();
}

void Newton::start_at(const std::vector<double>& state) {
  assert(state.size() == state_size() && "a state of another system");
  auto from = state.begin();
  const auto take = [&from](std::vector<double>& to) {
    const auto begin = from;
    from += static_cast<std::ptrdiff_t>(to.size());
    std::copy(begin, from, to.begin());
  };
  take(memory_.x);
  devices_.each([this](auto& kind) { kind.start_at_unknowns(memory_); });
  take(memory_.diodes);
  for (MosVolts<double>& volts : memory_.mosfets) {
    volts.gs = *from++;
    volts.ds = *from++;
  }
  evaluate();
}

void Newton::copy_state(std::vector<double>& state) const {
  state.resize(state_size());
  auto to = std::copy(memory_.x.begin(), memory_.x.end(), state.begin());
  to = std::copy(memory_.diodes.begin(), memory_.diodes.end(), to);
  for (const MosVolts<double>& volts : memory_.mosfets) {
    *to++ = volts.gs;
    *to++ = volts.ds;
  }
}

void Newton::evaluate() {
  devices_.each([this](auto& kind) { kind.evaluate(memory_); });
}

void Newton::load_linear(double gmin, double scale) {
  std::copy(linear_.begin(), linear_.end(), work_.begin());
  for (int k = 0; k < layout_.size; ++k) right_[k] = scale * linear_right_[k];
  if (gmin > 0.0) {
    for (const int slot : layout_.diagonal) work_[slot] += gmin;
    if (is_anchored_) {
      for (int k = 0; k < layout_.nodes; ++k) right_[k] += gmin * anchor_[k];
    }
  }
}

/// Straightens the system where it stands.
void Newton::load(double gmin, double scale) {
  load_linear(gmin, scale);
  devices_.each(
      [this](auto& kind) { kind.load(memory_, work_.data(), right_.data()); });
}

/// The same with what the unknowns `x` leave over on the right.
void Newton::load_left(double gmin, double scale, const std::vector<double>& x) {
  load_linear(gmin, scale);
  double* left = right_.data();
  if (gmin > 0.0) {
    for (int k = 0; k < layout_.nodes; ++k) left[k] -= gmin * x[k];
  }
  const auto take_off_all = [&](const auto& stamps, const auto& slots,
                                const auto& elements) {
    for (std::size_t k = 0; k < stamps.size(); ++k)
      take_off(stamps[k], slots[k], elements[k], x, left);
  };
  take_off_all(resistors_, layout_.resistors, s_.resistors);
  take_off_all(inductors_, layout_.inductors, s_.inductors);
  take_off_all(capacitors_, layout_.capacitors, s_.capacitors);
  take_off_all(strays_, layout_.strays, s_.strays);
  for (std::size_t k = 0; k < layout_.voltage_sources.size(); ++k)
    take_off(BranchStamp<double>{}, layout_.voltage_sources[k], s_.voltage_sources[k],
             x, left);
  devices_.each(
      [&](auto& kind) { kind.load_left(memory_, x, work_.data(), right_.data()); });
}

/// Goes to the solution of the straight system from where it stands. Or first from
/// nothing, to what is the same each time, and from there.
int Newton::solve(double gmin, double scale, bool corrects) {
  const std::vector<double>* from = &memory_.x;
  if (!corrects) {
    from = &start_;
    start_.assign(layout_.size, 0.0);
    load(gmin, scale);
    const int singular =
        layout_.matrix.solve(work_.data(), right_.data(), start_.data());
    if (singular >= 0) return singular;
  }
  load_left(gmin, scale, *from);
  const int singular = layout_.matrix.step(work_.data(), right_.data(), next_.data());
  for (int k = 0; k < layout_.size; ++k) next_[k] += (*from)[k];
  return singular;
}

const std::vector<double>& Newton::jacobian() {
  load(0.0, 1.0);
  return work_;
}

bool Newton::follow(const Settling& settling) {
  bool good = true;
  devices_.each([&](auto& kind) {
    if (!kind.follow(next_, settling, memory_)) good = false;
  });
  return good;
}

/// How many times the largest step is what it may be where the unknowns are settled.
double Newton::excess(const Settling& settling) {
  double most = 0.0;
  double most_of_nodes = 0.0;
  for (int k = 0; k < layout_.size; ++k) {
    const double step = std::abs(next_[k] - memory_.x[k]);
    const double floor = k < layout_.nodes ? settling.volts : settling.amps;
    const double times = step / (floor + settling.relative * std::abs(next_[k]));
    most = larger(most, times);
    if (k < layout_.nodes && times > most_of_nodes) {
      most_of_nodes = times;
      restless_ = k;
    }
  }
  return most;
}

/// Takes back all but a share of the step.
void Newton::shorten(double share) {
  for (int k = 0; k < layout_.size; ++k) {
    next_[k] = memory_.x[k] + share * (next_[k] - memory_.x[k]);
  }
}

Outcome Newton::run(const Settling& settling, double gmin, double scale) {
  constexpr int kWhole = 40;  // Steps before it is taken to go in a circle.
  bool is_near = false;
  bool jitters = false;
  double before = std::numeric_limits<double>::infinity();
  for (int i = 0; i < settling.iterations; ++i) {
    ++iterations;
    // A correction jitters by what rounding leaves over, which across a closed contact
    // is more than a junction bears; a solution from nothing is the same each time.
    const bool corrects = i < kWhole && !jitters;
    const int singular = solve(gmin, scale, corrects);
    if (singular >= 0) {
      restless_ = singular;
      return Outcome::singular;
    }
    // A circle of steps, as between the two sides of a corner, is broken by going
    // only part of the way; the last steps are whole again.
    const double share = i < kWhole || is_near ? 1.0 : i < 2 * kWhole ? 0.5 : 0.2;
    if (share < 1.0) shorten(share);
    const double most = excess(settling);
    const bool still = most <= 1.0;
    const bool foretold = follow(settling);
    std::swap(memory_.x, next_);
    jitters = jitters || is_jitter(most, before);
    before = most;
    if (still && foretold) {
      if (share == 1.0) return Outcome::settled;
      is_near = true;
    }
  }
  return Outcome::unsettled;
}

void Newton::restore(const Memory& good) {
  memory_ = good;
  evaluate();
}

int Newton::boundless_node() const {
  constexpr double kMostAmps = 1e9;
  const int node = devices_.diodes.node_beyond(kMostAmps);
  return node >= 0 ? node : devices_.bipolars.node_beyond(kMostAmps);
}

Solution Newton::solution() const {
  Solution r;
  r.status = SolveStatus::solved;
  r.iterations = iterations;
  r.volts.resize(layout_.nodes + 1);
  std::copy_n(memory_.x.begin(), layout_.nodes, r.volts.begin() + 1);
  const auto branches = [this](int first, std::size_t count) {
    const auto begin = memory_.x.begin() + first;
    return std::vector<double>(begin, begin + static_cast<std::ptrdiff_t>(count));
  };
  Currents& c = r.currents;
  c.resistors.reserve(s_.resistors.size());
  for (std::size_t k = 0; k < s_.resistors.size(); ++k) {
    const TwoEnds& e = s_.resistors[k];
    c.resistors.push_back((r.volts[e.a] - r.volts[e.b]) / values_->ohms[k]);
  }
  c.capacitors.assign(s_.capacitors.size(), 0.0);
  c.strays.assign(s_.strays.size(), 0.0);
  c.inductors = branches(layout_.first_inductor(), s_.inductors.size());
  c.voltage_sources = branches(layout_.nodes, s_.voltage_sources.size());
  c.current_sources.reserve(values_->amps.size());
  for (const double amps : values_->amps) c.current_sources.push_back(-amps);
  // What the devices were last seen to carry; see DEVELOPERS on sharp junctions.
  c.diodes = devices_.diodes.currents(memory_);
  c.bipolars = devices_.bipolars.currents(memory_);
  c.mosfets = devices_.mosfets.currents(memory_);
  c.regulators = devices_.regulators.currents(memory_);
  return r;
}

}  // namespace benchproof
