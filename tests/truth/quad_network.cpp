#include "tests/truth/quad_network.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <type_traits>
#include <utility>

#include "core/device/regulator.h"
#include "core/nodal/detail/newton.h"

namespace benchproof::test {
namespace {

// The models in quads.

template <template <class> class ModelOf>
void lift(const ModelOf<double>& from, ModelOf<Quad>& to) {
  for (std::size_t k = 0; k < ModelOf<double>::kNumbers.size(); ++k)
    to.*ModelOf<Quad>::kNumbers[k].member = from.*ModelOf<double>::kNumbers[k].member;
}
Quad lifted(double number) { return number; }
CoilModelOf<Quad> lifted(const CoilModel& m) {
  CoilModelOf<Quad> q;
  lift(m, q);
  return q;
}
DiodeModelOf<Quad> lifted(const DiodeModel& m) {
  DiodeModelOf<Quad> q;
  lift(m, q);
  return q;
}
BipolarModelOf<Quad> lifted(const BipolarModel& m) {
  BipolarModelOf<Quad> q;
  lift(m, q);
  q.is_pnp = m.is_pnp;
  return q;
}
MosModelOf<Quad> lifted(const MosModel& m) {
  MosModelOf<Quad> q;
  lift(m, q);
  q.is_p_channel = m.is_p_channel;
  return q;
}
RegulatorModelOf<Quad> lifted(const RegulatorModel& m) {
  RegulatorModelOf<Quad> q;
  lift(m, q);
  q.is_negative = m.is_negative;
  q.follows = m.follows;
  return q;
}
template <class From, class To>
void lift_all(const std::vector<From>& from, std::vector<To>& to) {
  for (const From& f : from) to.push_back(lifted(f));
}

}  // namespace

QuadNetwork::QuadNetwork(const Network& network, const Solution& solution)
    : network_(network), s_(*network.structure) {
  const Values& v = network.values;
  lift_all(v.ohms, m_.ohms);
  lift_all(v.volts, m_.volts);
  lift_all(v.amps, m_.amps);
  lift_all(v.coils, m_.coils);
  lift_all(v.diodes, m_.diodes);
  lift_all(v.bipolars, m_.bipolars);
  lift_all(v.mosfets, m_.mosfets);
  lift_all(v.regulators, m_.regulators);
  m_.celsius = network.celsius;
  bind({});
  newton_ = std::make_unique<Newton>(network.structure, false);
  newton_->bind(network);
  newton_->start_near(solution);
  tangents_ = newton_->jacobian();
  x_.assign(newton_->memory().x.begin(), newton_->memory().x.end());
  junctions_.assign(newton_->memory().diodes.begin(), newton_->memory().diodes.end());
  for (std::size_t k = 0; k < s_.mosfets.size(); ++k)
    drains_.push_back(mosfets_[k].sign * solution.currents.mosfets[k][0]);
  keep();
}

QuadNetwork::~QuadNetwork() = default;

Quad& QuadNetwork::number(const Movable& which) {
  if (!which) return m_.celsius;
  const auto [list, k, number] = *which;
  const auto of = [number = number](auto& model) -> Quad& {
    return model.*std::decay_t<decltype(model)>::kNumbers[number].member;
  };
  switch (list) {
    case ValueList::ohms:
      return m_.ohms[k];
    case ValueList::volts:
      return m_.volts[k];
    case ValueList::amps:
      return m_.amps[k];
    case ValueList::coils:
      return of(m_.coils[k]);
    case ValueList::diodes:
      return of(m_.diodes[k]);
    case ValueList::bipolars:
      return of(m_.bipolars[k]);
    case ValueList::mosfets:
      return of(m_.mosfets[k]);
    case ValueList::regulators:
      return of(m_.regulators[k]);
    case ValueList::farads:
    case ValueList::stray_farads:
      return m_.open;
  }
  return m_.open;
}

void QuadNetwork::bind(const Movable& number) {
  const auto move = [&](ValueList list, const auto& models, auto& devices) {
    devices.resize(models.size());
    for (std::size_t k = 0; k < models.size(); ++k) {
      if (!number || (number->list == list && number->index == k))
        devices[k] = at(models[k], m_.celsius);
    }
  };
  move(ValueList::diodes, m_.diodes, diodes_);
  move(ValueList::bipolars, m_.bipolars, bipolars_);
  move(ValueList::mosfets, m_.mosfets, mosfets_);
}

void QuadNetwork::move(const Movable& which, const Quad& by) {
  number(moved_) = moved_ ? value_at(network_.values, *moved_) : network_.celsius;
  bind(moved_);
  number(which) += by;
  bind(which);
  moved_ = which;
}

/// Solves u + rs i(u) = v for the junction voltage u by Newton's method.
Quad QuadNetwork::diode_amps(std::size_t k) const {
  const DiodeAtOf<Quad>& d = diodes_[k];
  const Quad v = across(s_.diodes[k]);
  if (d.rs == 0) return junction(d, v).amps;
  Quad& u = junctions_[k];
  Quad amps = 0;
  for (int i = 0; i < 50; ++i) {
    const ConductionOf<Quad> c = junction(d, u);
    const Quad step = (v - u - d.rs * c.amps) / (1 + d.rs * c.siemens);
    u += step;
    amps = c.amps + c.siemens * step;
    // Newton's method squares a step this small.
    if (abs(step) <= 1e-18 * d.nvt) break;
  }
  return amps;
}

/// Solves channel(vgs - rs i, vds - (rd + rs) i) = i for the drain's current i by
/// Newton's method. A resistance may have been moved from nothing to less.
Quad QuadNetwork::mos_amps(std::size_t k) const {
  const MosAtOf<Quad>& t = mosfets_[k];
  const auto [drain, gate, source] = s_.mosfets[k].ends;
  const MosVolts<Quad> ends{t.sign * (volts(gate) - volts(source)),
                            t.sign * (volts(drain) - volts(source))};
  Quad& amps = drains_[k];
  for (int i = 0; i < 50; ++i) {
    const MosVolts<Quad> at = behind_resistances<Quad>(t, ends, amps);
    const MosConductionOf<Quad> c = channel(t, at.gs, at.ds);
    const Quad step = share_behind_resistances(t, c) * (c.drain - amps);
    amps += step;
    if (abs(step) <= 1e-30 * abs(amps)) break;
  }
  return t.sign * amps;
}

QuadNetwork::Amps QuadNetwork::amps() const {
  Amps c;
  auto branch = x_.begin() + newton_->layout().nodes;
  const auto branches = [&branch](std::size_t count) {
    const auto begin = branch;
    branch += static_cast<std::ptrdiff_t>(count);
    return std::vector<Quad>(begin, branch);
  };
  c.voltage_sources = branches(s_.voltage_sources.size());
  c.inductors = branches(s_.inductors.size());
  for (std::size_t k = 0; k < s_.resistors.size(); ++k)
    c.resistors.push_back(across(s_.resistors[k]) / m_.ohms[k]);
  for (const Quad& amps : m_.amps) c.current_sources.push_back(-amps);
  for (std::size_t k = 0; k < s_.diodes.size(); ++k) c.diodes.push_back(diode_amps(k));
  for (std::size_t k = 0; k < s_.bipolars.size(); ++k) {
    const auto [collector, base, emitter] = s_.bipolars[k].ends;
    const BipolarAtOf<Quad>& t = bipolars_[k];
    const auto i = conduct(t, t.sign * (volts(base) - volts(emitter)),
                           t.sign * (volts(base) - volts(collector)));
    c.bipolars.push_back(
        {t.sign * i.collector, t.sign * i.base, -t.sign * (i.collector + i.base)});
  }
  for (std::size_t k = 0; k < s_.mosfets.size(); ++k) {
    const Quad drain = mos_amps(k);
    c.mosfets.push_back({drain, 0, -drain});
  }
  for (std::size_t k = 0; k < s_.regulators.size(); ++k) {
    const auto [in, common, out] = s_.regulators[k].ends;
    const Quad ground = quiescent(at(m_.regulators[k]), volts(in) - volts(common)).amps;
    const Quad passed = *branch++;
    c.regulators.push_back({passed + ground, -ground, -passed});
  }
  return c;
}

/// What is left over at each node, and of each branch's own equation.
std::vector<Quad> QuadNetwork::residual() const {
  const Amps c = amps();
  std::vector<Quad> at_node(s_.nodes.size(), 0);
  const auto two = [&](const std::vector<TwoEnds>& elements, const auto& amps) {
    for (std::size_t k = 0; k < elements.size(); ++k) {
      at_node[elements[k].a] += amps[k];
      at_node[elements[k].b] -= amps[k];
    }
  };
  const auto three = [&](const std::vector<ThreeEnds>& elements, const auto& amps) {
    for (std::size_t k = 0; k < elements.size(); ++k) {
      for (int end = 0; end < 3; ++end) at_node[elements[k].ends[end]] += amps[k][end];
    }
  };
  two(s_.resistors, c.resistors);
  two(s_.inductors, c.inductors);
  two(s_.voltage_sources, c.voltage_sources);
  two(s_.current_sources, c.current_sources);
  two(s_.diodes, c.diodes);
  three(s_.bipolars, c.bipolars);
  three(s_.mosfets, c.mosfets);
  three(s_.regulators, c.regulators);
  std::vector<Quad> left(at_node.begin() + 1, at_node.end());
  for (std::size_t k = 0; k < s_.voltage_sources.size(); ++k)
    left.push_back(across(s_.voltage_sources[k]) - m_.volts[k]);
  for (std::size_t k = 0; k < s_.inductors.size(); ++k)
    left.push_back(across(s_.inductors[k]) - m_.coils[k].ohms * c.inductors[k]);
  for (std::size_t k = 0; k < s_.regulators.size(); ++k) {
    const auto [in, common, out] = s_.regulators[k].ends;
    left.push_back(pass(at(m_.regulators[k]), volts(in) - volts(common),
                        volts(out) - volts(common), -c.regulators[k][2])
                       .error);
  }
  return left;
}

bool QuadNetwork::solve() {
  x_ = kept_;
  const std::size_t size = x_.size();
  std::vector<double> right(size);
  std::vector<double> step(size);
  double last = std::numeric_limits<double>::infinity();
  for (int i = 0; i < 40; ++i) {
    const std::vector<Quad> left = residual();
    // What is left has few digits that count, and a double's range holds it.
    for (std::size_t k = 0; k < size; ++k) right[k] = -static_cast<double>(left[k]);
    std::fill(step.begin(), step.end(), 0.0);
    if (newton_->matrix().solve(tangents_.data(), right.data(), step.data()) >= 0)
      return false;
    double most = 0.0;
    for (std::size_t k = 0; k < size; ++k) {
      x_[k] += step[k];
      const double size_of = 1.0 + std::abs(static_cast<double>(x_[k]));
      most = std::max(most, std::abs(step[k]) / size_of);
    }
    if (!std::isfinite(most)) return false;
    // Steps that no longer grow shorter are rounding.
    if (most <= 1e-31 || (most <= 1e-27 && most > 0.1 * last)) return true;
    last = most;
  }
  return false;
}

Solution QuadNetwork::solution() const {
  const Amps c = amps();
  const auto rounded = [](const std::vector<Quad>& quads) {
    std::vector<double> doubles;
    for (const Quad& q : quads) doubles.push_back(static_cast<double>(q));
    return doubles;
  };
  Solution r;
  r.status = SolveStatus::solved;
  r.volts = rounded(x_);
  r.volts.resize(static_cast<std::size_t>(newton_->layout().nodes));
  r.volts.insert(r.volts.begin(), 0.0);
  r.currents.inductors = rounded(c.inductors);
  r.currents.voltage_sources = rounded(c.voltage_sources);
  r.currents.diodes = rounded(c.diodes);
  const auto three = [](const auto& from, auto& to) {
    for (const std::array<Quad, 3>& ends : from) {
      std::array<double, 3>& at = to.emplace_back();
      for (int end = 0; end < 3; ++end) at[end] = static_cast<double>(ends[end]);
    }
  };
  three(c.mosfets, r.currents.mosfets);
  three(c.regulators, r.currents.regulators);
  return r;
}

std::vector<Quad> QuadNetwork::figures(const std::vector<Differential>& by) const {
  const Amps c = amps();
  std::vector<Quad> figures;
  for (const Differential& one : by) figures.push_back(figure(one, c));
  return figures;
}

Quad QuadNetwork::figure(const Differential& by, const Amps& c) const {
  Quad sum = 0;
  for (std::size_t node = 0; node < s_.nodes.size(); ++node)
    sum += by.by_volts[node] * volts(static_cast<int>(node));
  const auto two = [&sum](const std::vector<double>& by_amps, const auto& amps) {
    for (std::size_t k = 0; k < by_amps.size(); ++k) sum += by_amps[k] * amps[k];
  };
  const auto three = [&sum](const auto& by_amps, const auto& amps) {
    for (std::size_t k = 0; k < by_amps.size(); ++k) {
      for (int end = 0; end < 3; ++end) sum += by_amps[k][end] * amps[k][end];
    }
  };
  two(by.by_amps.resistors, c.resistors);
  two(by.by_amps.inductors, c.inductors);
  two(by.by_amps.voltage_sources, c.voltage_sources);
  two(by.by_amps.current_sources, c.current_sources);
  two(by.by_amps.diodes, c.diodes);
  three(by.by_amps.bipolars, c.bipolars);
  three(by.by_amps.mosfets, c.mosfets);
  three(by.by_amps.regulators, c.regulators);
  return sum;
}

}  // namespace benchproof::test
