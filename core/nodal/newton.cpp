#include "core/nodal/detail/newton.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

#include "core/nodal/detail/limiting.h"

namespace benchproof {
namespace {

constexpr double kEps = std::numeric_limits<double>::epsilon();

void put(std::vector<double>& a, int slot, double value) {
  if (slot >= 0) a[slot] += value;
}

void conductance(std::vector<double>& a, const PairSlots& at, double siemens) {
  put(a, at.aa, siemens);
  put(a, at.bb, siemens);
  put(a, at.ab, -siemens);
  put(a, at.ba, -siemens);
}

double volts(const std::vector<double>& x, int node) {
  return node == 0 ? 0.0 : x[Layout::unknown(node)];
}

}  // namespace

Newton::Newton(std::shared_ptr<const Structure> structure, bool in_time)
    : layout_(std::move(structure), in_time), s_(*layout_.structure) {
  linear_.resize(layout_.matrix.slots());
  work_.resize(layout_.matrix.slots());
  linear_right_.resize(layout_.size);
  right_.resize(layout_.size);
  next_.resize(layout_.size);
  anchor_.resize(layout_.nodes);
  diode_eval_.resize(s_.diodes.size());
  diode_line_.resize(s_.diodes.size());
  bipolar_eval_.resize(s_.bipolars.size());
  mos_eval_.resize(s_.mosfets.size());
  regulator_eval_.resize(s_.regulators.size());
  memory_.x.resize(layout_.size);
  memory_.diodes.resize(s_.diodes.size());
  memory_.bipolars.resize(s_.bipolars.size());
  memory_.mosfets.resize(s_.mosfets.size());
}

void Newton::bind(const Network& network) {
  const Values& v = network.values;
  values_ = &v;
  diodes_.clear();
  bipolars_.clear();
  mosfets_.clear();
  for (const DiodeModel& m : v.diodes) diodes_.push_back(at(m, network.celsius));
  for (const BipolarModel& m : v.bipolars) {
    bipolars_.push_back(at(m, network.celsius));
  }
  for (const MosModel& m : v.mosfets) mosfets_.push_back(at(m, network.celsius));
  bind_matrix(0.0);
  bind_right({});
}

void Newton::bind_matrix(double companion_seconds) {
  const Values& v = *values_;
  std::fill(linear_.begin(), linear_.end(), 0.0);
  for (std::size_t k = 0; k < v.ohms.size(); ++k) {
    conductance(linear_, layout_.resistors[k], 1.0 / v.ohms[k]);
  }
  for (const auto* list : {&layout_.branches, &layout_.capacitors}) {
    for (const BranchSlots& b : *list) {
      put(linear_, b.ends.aa, 1.0);
      put(linear_, b.ends.ab, -1.0);
      put(linear_, b.ends.ba, 1.0);
      put(linear_, b.ends.bb, -1.0);
    }
  }
  for (const RegulatorSlots& r : layout_.regulators) {
    put(linear_, r.in_column, 1.0);
    put(linear_, r.out_column, -1.0);
  }
  if (companion_seconds == 0.0) return;
  for (std::size_t k = 0; k < v.farads.size(); ++k) {
    put(linear_, layout_.capacitors[k].self, -companion_seconds / v.farads[k]);
  }
  const std::size_t sources = s_.voltage_sources.size();
  for (std::size_t k = 0; k < v.henries.size(); ++k) {
    put(linear_, layout_.branches[sources + k].self, -v.henries[k] / companion_seconds);
  }
}

void Newton::bind_right(const Companion& companion) {
  const Values& v = *values_;
  std::fill(linear_right_.begin(), linear_right_.end(), 0.0);
  for (std::size_t k = 0; k < v.volts.size(); ++k) {
    linear_right_[layout_.nodes + static_cast<int>(k)] = v.volts[k];
  }
  for (std::size_t k = 0; k < v.amps.size(); ++k) {
    const TwoEnds& e = s_.current_sources[k];
    if (e.a > 0) linear_right_[Layout::unknown(e.a)] += v.amps[k];
    if (e.b > 0) linear_right_[Layout::unknown(e.b)] -= v.amps[k];
  }
  if (companion.base.empty()) return;
  const double* base = companion.base.data();
  for (std::size_t k = 0; k < v.farads.size(); ++k) {
    linear_right_[layout_.first_capacitor() + static_cast<int>(k)] = *base++;
  }
  for (std::size_t k = 0; k < v.henries.size(); ++k) {
    linear_right_[layout_.first_inductor() + static_cast<int>(k)] =
        -v.henries[k] / companion.seconds * *base++;
  }
}

void Newton::start_cold() {
  std::fill(memory_.x.begin(), memory_.x.end(), 0.0);
  for (std::size_t k = 0; k < diodes_.size(); ++k) {
    memory_.diodes[k] = diodes_[k].critical;
  }
  for (std::size_t k = 0; k < bipolars_.size(); ++k) {
    memory_.bipolars[k] = {bipolars_[k].critical, 0.0};
  }
  for (auto& m : memory_.mosfets) m = {0.0, 0.0};
  evaluate();
}

void Newton::start_near(const Solution& near) {
  for (int node = 1; node <= layout_.nodes; ++node)
    memory_.x[Layout::unknown(node)] = near.volts[node];
  int branch = layout_.nodes;
  for (const auto* list : {&near.currents.voltage_sources, &near.currents.inductors}) {
    for (const double amps : *list) memory_.x[branch++] = amps;
  }
  for (const auto& ends : near.currents.regulators) memory_.x[branch++] = -ends[2];
  for (std::size_t k = 0; k < diodes_.size(); ++k) {
    const TwoEnds& e = s_.diodes[k];
    memory_.diodes[k] =
        near.volts[e.a] - near.volts[e.b] - diodes_[k].rs * near.currents.diodes[k];
  }
  for (std::size_t k = 0; k < bipolars_.size(); ++k) {
    memory_.bipolars[k] = bipolar_volts(k, memory_.x);
  }
  for (std::size_t k = 0; k < mosfets_.size(); ++k) {
    memory_.mosfets[k] = mos_volts(k, memory_.x);
  }
  evaluate();
}

void Newton::start_at(const std::vector<double>& unknowns_then_diodes) {
  assert(unknowns_then_diodes.size() == state_size() && "a state of another system");
  const auto middle = unknowns_then_diodes.begin() + layout_.size;
  std::copy(unknowns_then_diodes.begin(), middle, memory_.x.begin());
  std::copy(middle, unknowns_then_diodes.end(), memory_.diodes.begin());
  for (std::size_t k = 0; k < bipolars_.size(); ++k) {
    memory_.bipolars[k] = bipolar_volts(k, memory_.x);
  }
  for (std::size_t k = 0; k < mosfets_.size(); ++k) {
    memory_.mosfets[k] = mos_volts(k, memory_.x);
  }
  evaluate();
}

void Newton::copy_state(std::vector<double>& unknowns_then_diodes) const {
  unknowns_then_diodes.resize(state_size());
  const auto middle =
      std::copy(memory_.x.begin(), memory_.x.end(), unknowns_then_diodes.begin());
  std::copy(memory_.diodes.begin(), memory_.diodes.end(), middle);
}

std::array<double, 2> Newton::bipolar_volts(std::size_t k,
                                            const std::vector<double>& x) const {
  const auto [collector, base, emitter] = s_.bipolars[k].ends;
  const double vb = volts(x, base);
  const double sign = bipolars_[k].sign;
  return {sign * (vb - volts(x, emitter)), sign * (vb - volts(x, collector))};
}
std::array<double, 2> Newton::mos_volts(std::size_t k,
                                        const std::vector<double>& x) const {
  const auto [drain, gate, source] = s_.mosfets[k].ends;
  const double vs = volts(x, source);
  const double sign = mosfets_[k].sign;
  return {sign * (volts(x, gate) - vs), sign * (volts(x, drain) - vs)};
}

void Newton::evaluate() {
  for (std::size_t k = 0; k < diodes_.size(); ++k) {
    diode_eval_[k] = junction(diodes_[k], memory_.diodes[k]);
  }
  for (std::size_t k = 0; k < bipolars_.size(); ++k) {
    bipolar_eval_[k] =
        conduct(bipolars_[k], memory_.bipolars[k][0], memory_.bipolars[k][1]);
  }
  for (std::size_t k = 0; k < mosfets_.size(); ++k) {
    mos_eval_[k] = conduct(mosfets_[k], memory_.mosfets[k][0], memory_.mosfets[k][1]);
  }
  for (std::size_t k = 0; k < regulator_eval_.size(); ++k) {
    evaluate_regulator(k, memory_.x);
  }
}

void Newton::evaluate_regulator(std::size_t k, const std::vector<double>& x) {
  const auto [in, common, out] = s_.regulators[k].ends;
  const RegulatorModel& m = values_->regulators[k];
  const double vc = volts(x, common);
  RegulatorLine& r = regulator_eval_[k];
  r.in = volts(x, in) - vc;
  r.out = volts(x, out) - vc;
  r.amps = x[layout_.first_regulator() + static_cast<int>(k)];
  r.pass = pass(m, r.in, r.out, r.amps);
  r.quiescent = quiescent(m, r.in);
}

void Newton::load(double gmin, double scale) {
  std::copy(linear_.begin(), linear_.end(), work_.begin());
  for (int k = 0; k < layout_.size; ++k) right_[k] = scale * linear_right_[k];
  if (gmin > 0.0) {
    for (const int slot : layout_.diagonal) work_[slot] += gmin;
    if (is_anchored_) {
      for (int k = 0; k < layout_.nodes; ++k) right_[k] += gmin * anchor_[k];
    }
  }
  for (std::size_t k = 0; k < diodes_.size(); ++k) {
    // i = i0 + g (u - u0) with u = v - rs i: the junction's own node is eliminated
    // here.
    const Conduction& c = diode_eval_[k];
    const double share = 1.0 / (1.0 + diodes_[k].rs * c.siemens);
    diode_line_[k] = {(c.amps - c.siemens * memory_.diodes[k]) * share,
                      c.siemens * share};
    conductance(work_, layout_.diodes[k], diode_line_[k].siemens);
    move(s_.diodes[k].a, s_.diodes[k].b, diode_line_[k].amps);
  }
  for (std::size_t k = 0; k < bipolars_.size(); ++k) {
    const BipolarConduction& c = bipolar_eval_[k];
    const auto [be, bc] = memory_.bipolars[k];
    const double sign = bipolars_[k].sign;
    // Rows: collector, base, emitter; columns the same.
    const double c_b = c.collector_by_be + c.collector_by_bc;
    const double b_b = c.base_by_be + c.base_by_bc;
    three(layout_.bipolars[k], {{{-c.collector_by_bc, c_b, -c.collector_by_be},
                                 {-c.base_by_bc, b_b, -c.base_by_be},
                                 {c.collector_by_bc + c.base_by_bc, -(c_b + b_b),
                                  c.collector_by_be + c.base_by_be}}});
    const double collector =
        c.collector - c.collector_by_be * be - c.collector_by_bc * bc;
    const double base = c.base - c.base_by_be * be - c.base_by_bc * bc;
    move(s_.bipolars[k].ends[0], s_.bipolars[k].ends[2], sign * collector);
    move(s_.bipolars[k].ends[1], s_.bipolars[k].ends[2], sign * base);
  }
  for (std::size_t k = 0; k < mosfets_.size(); ++k) {
    const MosConduction& c = mos_eval_[k];
    const auto [gs, ds] = memory_.mosfets[k];
    const double sum = c.by_gate + c.by_drain;
    three(layout_.mosfets[k], {{{c.by_drain, c.by_gate, -sum},
                                {0.0, 0.0, 0.0},
                                {-c.by_drain, -c.by_gate, sum}}});
    const double drain = c.drain - c.by_gate * gs - c.by_drain * ds;
    move(s_.mosfets[k].ends[0], s_.mosfets[k].ends[2], mosfets_[k].sign * drain);
  }
  int branch = layout_.first_regulator();
  for (std::size_t k = 0; k < layout_.regulators.size(); ++k, ++branch) {
    const RegulatorLine& r = regulator_eval_[k];
    const RegulatorEquation& e = r.pass;
    const RegulatorSlots& at = layout_.regulators[k];
    put(work_, at.row[0], e.by_in);
    put(work_, at.row[1], -e.by_in - e.by_out);
    put(work_, at.row[2], e.by_out);
    put(work_, at.self, e.by_amps);
    right_[branch] += e.by_in * r.in + e.by_out * r.out + e.by_amps * r.amps - e.error;
    conductance(work_, at.quiescent, r.quiescent.siemens);
    move(s_.regulators[k].ends[0], s_.regulators[k].ends[1],
         r.quiescent.amps - r.quiescent.siemens * r.in);
  }
}

/// A current that leaves node a and enters node b.
void Newton::move(int a, int b, double amps) {
  if (a > 0) right_[Layout::unknown(a)] -= amps;
  if (b > 0) right_[Layout::unknown(b)] += amps;
}

void Newton::three(const NineSlots& slots,
                   const std::array<std::array<double, 3>, 3>& g) {
  for (int i = 0; i < 3; ++i) {
    for (int j = 0; j < 3; ++j) put(work_, slots[i][j], g[i][j]);
  }
}

bool Newton::follow(const Settling& settling) {
  bool good = true;
  const auto agrees = [&](double foretold, double found, double slack) {
    return std::abs(foretold - found) <=
           settling.share * std::abs(found) + settling.floor + slack;
  };
  for (std::size_t k = 0; k < diodes_.size(); ++k) {
    const TwoEnds& e = s_.diodes[k];
    const double va = volts(next_, e.a);
    const double vb = volts(next_, e.b);
    const double foretold = diode_line_[k].amps + diode_line_[k].siemens * (va - vb);
    bool limited = false;
    memory_.diodes[k] = limit_diode(diodes_[k], va - vb - diodes_[k].rs * foretold,
                                    memory_.diodes[k], limited);
    diode_eval_[k] = junction(diodes_[k], memory_.diodes[k]);
    const double slack =
        8.0 * kEps * diode_eval_[k].siemens * (std::abs(va) + std::abs(vb));
    good = good && !limited && agrees(foretold, diode_eval_[k].amps, slack);
  }
  for (std::size_t k = 0; k < bipolars_.size(); ++k) {
    const BipolarAt& t = bipolars_[k];
    const auto [be, bc] = bipolar_volts(k, next_);
    auto& [last_be, last_bc] = memory_.bipolars[k];
    const BipolarConduction before = bipolar_eval_[k];
    const double collector = before.collector +
                             before.collector_by_be * (be - last_be) +
                             before.collector_by_bc * (bc - last_bc);
    const double base = before.base + before.base_by_be * (be - last_be) +
                        before.base_by_bc * (bc - last_bc);
    bool limited = false;
    last_be = limit_junction(be, last_be, t.nvt_forward, t.critical, limited);
    last_bc = limit_junction(bc, last_bc, t.nvt_reverse, t.critical, limited);
    bipolar_eval_[k] = conduct(t, last_be, last_bc);
    const BipolarConduction& now = bipolar_eval_[k];
    const double rounding =
        8.0 * kEps *
        (std::abs(volts(next_, s_.bipolars[k].ends[1])) + std::abs(be) + std::abs(bc));
    const double slack_c =
        rounding * (std::abs(now.collector_by_be) + std::abs(now.collector_by_bc));
    const double slack_b =
        rounding * (std::abs(now.base_by_be) + std::abs(now.base_by_bc));
    good = good && !limited && agrees(collector, now.collector, slack_c) &&
           agrees(base, now.base, slack_b);
  }
  for (std::size_t k = 0; k < mosfets_.size(); ++k) {
    const auto [gs, ds] = mos_volts(k, next_);
    auto& [last_gs, last_ds] = memory_.mosfets[k];
    const MosConduction before = mos_eval_[k];
    const double drain = before.drain + before.by_gate * (gs - last_gs) +
                         before.by_drain * (ds - last_ds);
    bool limited = false;
    last_gs = limit_step(gs, last_gs, limited);
    last_ds = limit_step(ds, last_ds, limited);
    mos_eval_[k] = conduct(mosfets_[k], last_gs, last_ds);
    const double slack = 8.0 * kEps * (std::abs(gs) + std::abs(ds)) *
                         (std::abs(mos_eval_[k].by_gate) + mos_eval_[k].by_drain);
    good = good && !limited && agrees(drain, mos_eval_[k].drain, slack);
  }
  for (std::size_t k = 0; k < regulator_eval_.size(); ++k) {
    const RegulatorLine before = regulator_eval_[k];
    evaluate_regulator(k, next_);
    const RegulatorLine& now = regulator_eval_[k];
    const double quiescent_foretold =
        before.quiescent.amps + before.quiescent.siemens * (now.in - before.in);
    good = good &&
           std::abs(now.pass.error) <=
               settling.regulator * std::max(1.0, now.pass.by_amps) &&
           (std::isinf(settling.regulator) ||
            agrees(quiescent_foretold, now.quiescent.amps,
                   8.0 * kEps * now.quiescent.siemens * std::abs(now.in)));
  }
  return good;
}

bool Newton::settled(const Settling& settling) {
  bool good = true;
  double most = 0.0;
  for (int k = 0; k < layout_.size; ++k) {
    const double step = std::abs(next_[k] - memory_.x[k]);
    const double floor = k < layout_.nodes ? settling.volts : settling.amps;
    const double excess = step / (floor + settling.relative * std::abs(next_[k]));
    if (!(excess <= 1.0)) good = false;
    if (k < layout_.nodes && !(excess <= most)) {
      most = excess;
      restless_ = k;
    }
  }
  return good;
}

Outcome Newton::run(const Settling& settling, double gmin, double scale) {
  bool is_near = false;
  for (int i = 0; i < settling.iterations; ++i) {
    ++iterations;
    load(gmin, scale);
    const int singular =
        layout_.matrix.solve(work_.data(), right_.data(), next_.data());
    if (singular >= 0) {
      restless_ = singular;
      return Outcome::singular;
    }
    for (const double value : next_) {
      if (!std::isfinite(value)) return Outcome::singular;
    }
    // A circle of steps, as between the two sides of a corner, is broken by going
    // only part of the way; the last steps are whole again.
    const double share = i < 40 || is_near ? 1.0 : i < 80 ? 0.5 : 0.2;
    if (share < 1.0) {
      for (int k = 0; k < layout_.size; ++k) {
        next_[k] = memory_.x[k] + share * (next_[k] - memory_.x[k]);
      }
    }
    const bool still = settled(settling);
    const bool foretold = follow(settling);
    std::swap(memory_.x, next_);
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
  for (std::size_t k = 0; k < diode_eval_.size(); ++k) {
    const TwoEnds& e = s_.diodes[k];
    if (std::abs(diode_eval_[k].amps) > kMostAmps) return std::max(e.a, e.b);
  }
  for (std::size_t k = 0; k < bipolar_eval_.size(); ++k) {
    const BipolarConduction& c = bipolar_eval_[k];
    if (std::max({std::abs(c.collector), std::abs(c.base),
                  std::abs(c.collector + c.base)}) > kMostAmps) {
      const auto& ends = s_.bipolars[k].ends;
      return std::max({ends[0], ends[1], ends[2]});
    }
  }
  return -1;
}

Solution Newton::solution() const {
  Solution r;
  r.status = SolveStatus::solved;
  r.iterations = iterations;
  r.volts.resize(layout_.nodes + 1);
  for (int node = 1; node <= layout_.nodes; ++node)
    r.volts[node] = memory_.x[Layout::unknown(node)];
  Currents branch;
  auto next_branch = memory_.x.begin() + layout_.nodes;
  for (std::size_t k = 0; k < s_.voltage_sources.size(); ++k) {
    branch.voltage_sources.push_back(*next_branch++);
  }
  for (std::size_t k = 0; k < s_.inductors.size(); ++k) {
    branch.inductors.push_back(*next_branch++);
  }
  for (std::size_t k = 0; k < s_.regulators.size(); ++k) {
    branch.regulators.push_back({0.0, 0.0, -*next_branch++});
  }
  const std::vector<double>& v = r.volts;
  Currents& c = r.currents;
  for (std::size_t k = 0; k < s_.resistors.size(); ++k) {
    const TwoEnds& e = s_.resistors[k];
    c.resistors.push_back((v[e.a] - v[e.b]) / values_->ohms[k]);
  }
  c.capacitors.assign(s_.capacitors.size(), 0.0);
  c.inductors = branch.inductors;
  c.voltage_sources = branch.voltage_sources;
  for (const double amps : values_->amps) c.current_sources.push_back(-amps);
  // What the junctions were last seen to carry; see DEVELOPERS on sharp junctions.
  for (const Conduction& d : diode_eval_) c.diodes.push_back(d.amps);
  for (std::size_t k = 0; k < bipolars_.size(); ++k) {
    const double sign = bipolars_[k].sign;
    const BipolarConduction& i = bipolar_eval_[k];
    c.bipolars.push_back(
        {sign * i.collector, sign * i.base, -sign * (i.collector + i.base)});
  }
  for (std::size_t k = 0; k < mosfets_.size(); ++k) {
    const double drain = mosfets_[k].sign * mos_eval_[k].drain;
    c.mosfets.push_back({drain, 0.0, -drain});
  }
  for (std::size_t k = 0; k < s_.regulators.size(); ++k) {
    const auto [in, common, out] = s_.regulators[k].ends;
    const double passed = -branch.regulators[k][2];
    const double ground = quiescent(values_->regulators[k], v[in] - v[common]).amps;
    c.regulators.push_back({passed + ground, -ground, -passed});
  }
  return r;
}

}  // namespace benchproof
