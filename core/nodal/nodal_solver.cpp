#include "core/nodal/nodal_solver.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "core/device/bipolar.h"
#include "core/device/diode.h"
#include "core/device/mos.h"
#include "core/device/regulator.h"
#include "core/network/equations.h"
#include "core/nodal/matrix.h"

namespace benchproof {
namespace {

constexpr double kEps = std::numeric_limits<double>::epsilon();

/// The entries that a conductance between two nodes touches; -1 at ground.
struct PairSlots {
  int aa = -1;
  int ab = -1;
  int ba = -1;
  int bb = -1;
};

/// Entries (i, j) for the three ends of an element, -1 where one is ground.
using NineSlots = std::array<std::array<int, 3>, 3>;

/// Limits a junction's step on the exponential: forward of the bend it may grow only as
/// fast as its current would by the last slope [Nagel 1975, sec. 5.4].
double limit_junction(double next, double last, double nvt, double critical,
                      bool& limited) {
  if (next <= critical || std::abs(next - last) <= 2.0 * nvt) return next;
  limited = true;
  if (last > 0.0) {
    const double arg = 1.0 + (next - last) / nvt;
    return arg > 0.0 ? last + nvt * std::log(arg) : critical;
  }
  return nvt * std::log(next / nvt);
}

/// The same in breakdown, seen from the other side.
double limit_diode(const DiodeAt& d, double next, double last, bool& limited) {
  if (next < std::min(0.0, -d.breakdown + 10.0 * d.nvt_breakdown)) {
    const double mirrored = limit_junction(-(next + d.breakdown), -(last + d.breakdown),
                                           d.nvt_breakdown, d.critical, limited);
    return -(mirrored + d.breakdown);
  }
  return limit_junction(next, last, d.nvt, d.critical, limited);
}

/// A square law has no cliff; only wild steps are cut.
double limit_step(double next, double last, bool& limited) {
  const double most = 2.0 + 0.5 * std::abs(last);
  if (std::abs(next - last) <= most) return next;
  limited = true;
  return last + std::copysign(most, next - last);
}

/// What the iteration remembers of the nonlinear elements: where each was last looked
/// at.
struct Memory {
  std::vector<double> x;                        ///< Unknowns.
  std::vector<double> diodes;                   ///< Junction voltages.
  std::vector<std::array<double, 2>> bipolars;  ///< vbe, vbc in the NPN sense.
  std::vector<std::array<double, 2>> mosfets;   ///< vgs, vds in the n-channel sense.
};

enum class Outcome { settled, unsettled, singular };

}  // namespace

struct NodalSolver::Impl {
  Impl(std::shared_ptr<const Structure> structure, NodalOptions given)
      : s(std::move(structure)),
        options(given),
        nodes(static_cast<int>(s->nodes.size()) - 1),
        size(nodes + static_cast<int>(s->voltage_sources.size() + s->inductors.size() +
                                      s->regulators.size())),
        matrix(size, pattern()) {
    for (const TwoEnds& e : s->resistors) resistor_slots.push_back(pair(e.a, e.b));
    for (const TwoEnds& e : s->diodes) diode_slots.push_back(pair(e.a, e.b));
    for (const ThreeEnds& e : s->bipolars) bipolar_slots.push_back(nine(e));
    for (const ThreeEnds& e : s->mosfets) mos_slots.push_back(nine(e));
    for (int node = 0; node < nodes; ++node)
      diagonal.push_back(matrix.slot(node, node));
    int branch = nodes;
    for (const auto* list : {&s->voltage_sources, &s->inductors}) {
      for (const TwoEnds& e : *list) {
        branches.push_back({entry(unknown(e.a), branch), entry(unknown(e.b), branch),
                            entry(branch, unknown(e.a)), entry(branch, unknown(e.b))});
        ++branch;
      }
    }
    for (const ThreeEnds& e : s->regulators) {
      RegulatorSlots r;
      for (int end = 0; end < 3; ++end)
        r.row[end] = entry(branch, unknown(e.ends[end]));
      r.in_column = entry(unknown(e.ends[0]), branch);
      r.out_column = entry(unknown(e.ends[2]), branch);
      r.self = matrix.slot(branch, branch);
      r.quiescent = pair(e.ends[0], e.ends[1]);
      regulator_slots.push_back(r);
      ++branch;
    }
    linear.resize(matrix.slots());
    work.resize(matrix.slots());
    linear_right.resize(size);
    right.resize(size);
    next.resize(size);
    diode_eval.resize(s->diodes.size());
    diode_line.resize(s->diodes.size());
    bipolar_eval.resize(s->bipolars.size());
    mos_eval.resize(s->mosfets.size());
    memory.x.resize(size);
    memory.diodes.resize(s->diodes.size());
    memory.bipolars.resize(s->bipolars.size());
    memory.mosfets.resize(s->mosfets.size());
  }

  struct RegulatorSlots {
    std::array<int, 3> row{-1, -1, -1};
    int in_column = -1;
    int out_column = -1;
    int self = -1;
    PairSlots quiescent;
  };

  static int unknown(int node) { return node - 1; }

  int entry(int row, int column) const {
    return row < 0 || column < 0 ? -1 : matrix.slot(row, column);
  }
  PairSlots pair(int a, int b) const {
    const int i = unknown(a);
    const int j = unknown(b);
    return {entry(i, i), entry(i, j), entry(j, i), entry(j, j)};
  }
  NineSlots nine(const ThreeEnds& e) const {
    NineSlots slots;
    for (int i = 0; i < 3; ++i) {
      for (int j = 0; j < 3; ++j) {
        slots[i][j] = entry(unknown(e.ends[i]), unknown(e.ends[j]));
      }
    }
    return slots;
  }

  std::vector<std::pair<int, int>> pattern() const {
    std::vector<std::pair<int, int>> entries;
    const auto add = [&](int row, int column) {
      if (row >= 0 && column >= 0) entries.emplace_back(row, column);
    };
    const auto all = [&](std::initializer_list<int> ends) {
      for (const int i : ends) {
        for (const int j : ends) add(i, j);
      }
    };
    for (int node = 0; node < nodes; ++node) add(node, node);
    for (const auto* list : {&s->resistors, &s->diodes}) {
      for (const TwoEnds& e : *list) all({unknown(e.a), unknown(e.b)});
    }
    for (const auto* list : {&s->bipolars, &s->mosfets}) {
      for (const ThreeEnds& e : *list) {
        all({unknown(e.ends[0]), unknown(e.ends[1]), unknown(e.ends[2])});
      }
    }
    int branch = nodes;
    for (const auto* list : {&s->voltage_sources, &s->inductors}) {
      for (const TwoEnds& e : *list) {
        for (const int node : {unknown(e.a), unknown(e.b)}) {
          add(node, branch);
          add(branch, node);
        }
        ++branch;
      }
    }
    for (const ThreeEnds& e : s->regulators) {
      all({unknown(e.ends[0]), unknown(e.ends[1])});
      for (const int node : e.ends) add(branch, unknown(node));
      add(unknown(e.ends[0]), branch);
      add(unknown(e.ends[2]), branch);
      add(branch, branch);
      ++branch;
    }
    return entries;
  }

  static void put(std::vector<double>& a, int slot, double value) {
    if (slot >= 0) a[slot] += value;
  }
  static void conductance(std::vector<double>& a, const PairSlots& at, double siemens) {
    put(a, at.aa, siemens);
    put(a, at.bb, siemens);
    put(a, at.ab, -siemens);
    put(a, at.ba, -siemens);
  }
  /// A current that leaves node a and enters node b.
  void move(int a, int b, double amps) {
    if (a > 0) right[unknown(a)] -= amps;
    if (b > 0) right[unknown(b)] += amps;
  }

  [[nodiscard]] static double volts(const std::vector<double>& x, int node) {
    return node == 0 ? 0.0 : x[unknown(node)];
  }

  /// Takes the values in: the linear part of matrix and right side, the devices moved
  /// to the network's temperature.
  void bind(const Network& network) {
    const Values& v = network.values;
    values = &v;
    std::fill(linear.begin(), linear.end(), 0.0);
    std::fill(linear_right.begin(), linear_right.end(), 0.0);
    for (std::size_t k = 0; k < v.ohms.size(); ++k) {
      conductance(linear, resistor_slots[k], 1.0 / v.ohms[k]);
    }
    for (const PairSlots& b : branches) {
      put(linear, b.aa, 1.0);
      put(linear, b.ab, -1.0);
      put(linear, b.ba, 1.0);
      put(linear, b.bb, -1.0);
    }
    for (std::size_t k = 0; k < v.volts.size(); ++k) {
      linear_right[nodes + static_cast<int>(k)] = v.volts[k];
    }
    for (std::size_t k = 0; k < v.amps.size(); ++k) {
      const TwoEnds& e = s->current_sources[k];
      if (e.a > 0) linear_right[unknown(e.a)] += v.amps[k];
      if (e.b > 0) linear_right[unknown(e.b)] -= v.amps[k];
    }
    for (const RegulatorSlots& r : regulator_slots) {
      put(linear, r.in_column, 1.0);
      put(linear, r.out_column, -1.0);
    }
    diodes.clear();
    bipolars.clear();
    mosfets.clear();
    for (const DiodeModel& m : v.diodes) diodes.push_back(at(m, network.celsius));
    for (const BipolarModel& m : v.bipolars) bipolars.push_back(at(m, network.celsius));
    for (const MosModel& m : v.mosfets) mosfets.push_back(at(m, network.celsius));
  }

  /// Every junction at its bend, everything else at 0.
  void start_cold() {
    std::fill(memory.x.begin(), memory.x.end(), 0.0);
    for (std::size_t k = 0; k < diodes.size(); ++k) {
      memory.diodes[k] = diodes[k].critical;
    }
    for (std::size_t k = 0; k < bipolars.size(); ++k) {
      memory.bipolars[k] = {bipolars[k].critical, 0.0};
    }
    for (auto& m : memory.mosfets) m = {0.0, 0.0};
    evaluate();
  }

  [[nodiscard]] bool fits(const Solution& near) const {
    return near.volts.size() == s->nodes.size() &&
           near.currents.voltage_sources.size() == s->voltage_sources.size() &&
           near.currents.inductors.size() == s->inductors.size() &&
           near.currents.regulators.size() == s->regulators.size() &&
           near.currents.diodes.size() == s->diodes.size();
  }

  void start_near(const Solution& near) {
    for (int node = 1; node <= nodes; ++node)
      memory.x[unknown(node)] = near.volts[node];
    int branch = nodes;
    for (const auto* list :
         {&near.currents.voltage_sources, &near.currents.inductors}) {
      for (const double amps : *list) memory.x[branch++] = amps;
    }
    for (const auto& ends : near.currents.regulators) memory.x[branch++] = -ends[2];
    for (std::size_t k = 0; k < diodes.size(); ++k) {
      const TwoEnds& e = s->diodes[k];
      memory.diodes[k] =
          near.volts[e.a] - near.volts[e.b] - diodes[k].rs * near.currents.diodes[k];
    }
    for (std::size_t k = 0; k < bipolars.size(); ++k) {
      memory.bipolars[k] = bipolar_volts(k, memory.x);
    }
    for (std::size_t k = 0; k < mosfets.size(); ++k) {
      memory.mosfets[k] = mos_volts(k, memory.x);
    }
    evaluate();
  }

  [[nodiscard]] std::array<double, 2> bipolar_volts(
      std::size_t k, const std::vector<double>& x) const {
    const auto [collector, base, emitter] = s->bipolars[k].ends;
    const double vb = volts(x, base);
    const double sign = bipolars[k].sign;
    return {sign * (vb - volts(x, emitter)), sign * (vb - volts(x, collector))};
  }
  [[nodiscard]] std::array<double, 2> mos_volts(std::size_t k,
                                                const std::vector<double>& x) const {
    const auto [drain, gate, source] = s->mosfets[k].ends;
    const double vs = volts(x, source);
    const double sign = mosfets[k].sign;
    return {sign * (volts(x, gate) - vs), sign * (volts(x, drain) - vs)};
  }

  /// Currents and slopes of the nonlinear elements where `memory` says they are.
  void evaluate() {
    for (std::size_t k = 0; k < diodes.size(); ++k) {
      diode_eval[k] = junction(diodes[k], memory.diodes[k]);
    }
    for (std::size_t k = 0; k < bipolars.size(); ++k) {
      bipolar_eval[k] =
          conduct(bipolars[k], memory.bipolars[k][0], memory.bipolars[k][1]);
    }
    for (std::size_t k = 0; k < mosfets.size(); ++k) {
      mos_eval[k] = conduct(mosfets[k], memory.mosfets[k][0], memory.mosfets[k][1]);
    }
  }

  /// Linearises every element where it was last looked at.
  void load(double gmin, double scale) {
    std::copy(linear.begin(), linear.end(), work.begin());
    for (int k = 0; k < size; ++k) right[k] = scale * linear_right[k];
    if (gmin > 0.0) {
      for (const int slot : diagonal) work[slot] += gmin;
    }
    for (std::size_t k = 0; k < diodes.size(); ++k) {
      // i = i0 + g (u - u0) with u = v - rs i: the junction's own node is eliminated
      // here.
      const Conduction& c = diode_eval[k];
      const double share = 1.0 / (1.0 + diodes[k].rs * c.siemens);
      diode_line[k] = {(c.amps - c.siemens * memory.diodes[k]) * share,
                       c.siemens * share};
      conductance(work, diode_slots[k], diode_line[k].siemens);
      move(s->diodes[k].a, s->diodes[k].b, diode_line[k].amps);
    }
    for (std::size_t k = 0; k < bipolars.size(); ++k) {
      const BipolarConduction& c = bipolar_eval[k];
      const auto [be, bc] = memory.bipolars[k];
      const double sign = bipolars[k].sign;
      // Rows: collector, base, emitter; columns the same.
      const double c_b = c.collector_by_be + c.collector_by_bc;
      const double b_b = c.base_by_be + c.base_by_bc;
      three(bipolar_slots[k], {{{-c.collector_by_bc, c_b, -c.collector_by_be},
                                {-c.base_by_bc, b_b, -c.base_by_be},
                                {c.collector_by_bc + c.base_by_bc, -(c_b + b_b),
                                 c.collector_by_be + c.base_by_be}}});
      const double collector =
          c.collector - c.collector_by_be * be - c.collector_by_bc * bc;
      const double base = c.base - c.base_by_be * be - c.base_by_bc * bc;
      move(s->bipolars[k].ends[0], s->bipolars[k].ends[2], sign * collector);
      move(s->bipolars[k].ends[1], s->bipolars[k].ends[2], sign * base);
    }
    for (std::size_t k = 0; k < mosfets.size(); ++k) {
      const MosConduction& c = mos_eval[k];
      const auto [gs, ds] = memory.mosfets[k];
      const double sum = c.by_gate + c.by_drain;
      three(mos_slots[k], {{{c.by_drain, c.by_gate, -sum},
                            {0.0, 0.0, 0.0},
                            {-c.by_drain, -c.by_gate, sum}}});
      const double drain = c.drain - c.by_gate * gs - c.by_drain * ds;
      move(s->mosfets[k].ends[0], s->mosfets[k].ends[2], mosfets[k].sign * drain);
    }
    int branch = nodes + static_cast<int>(branches.size());
    for (std::size_t k = 0; k < regulator_slots.size(); ++k, ++branch) {
      const auto [in, common, out] = s->regulators[k].ends;
      const RegulatorModel& m = values->regulators[k];
      const double vc = volts(memory.x, common);
      const double u = volts(memory.x, in) - vc;
      const double o = volts(memory.x, out) - vc;
      const double i = memory.x[branch];
      const RegulatorEquation e = pass(m, u, o, i);
      const RegulatorSlots& at = regulator_slots[k];
      put(work, at.row[0], e.by_in);
      put(work, at.row[1], -e.by_in - e.by_out);
      put(work, at.row[2], e.by_out);
      put(work, at.self, e.by_amps);
      right[branch] += e.by_in * u + e.by_out * o + e.by_amps * i - e.error;
      const QuiescentCurrent q = quiescent(m, u);
      conductance(work, at.quiescent, q.siemens);
      move(in, common, q.amps - q.siemens * u);
    }
  }

  void three(const NineSlots& slots, const std::array<std::array<double, 3>, 3>& g) {
    for (int i = 0; i < 3; ++i) {
      for (int j = 0; j < 3; ++j) put(work, slots[i][j], g[i][j]);
    }
  }

  /// Moves the nonlinear elements to the new unknowns, within their limits, and looks
  /// at them there. True if none was limited and each carries what its tangent
  /// foretold.
  bool follow() {
    bool good = true;
    const auto agrees = [](double foretold, double found, double slack) {
      return std::abs(foretold - found) <= 1e-9 * std::abs(found) + 1e-14 + slack;
    };
    for (std::size_t k = 0; k < diodes.size(); ++k) {
      const TwoEnds& e = s->diodes[k];
      const double va = volts(next, e.a);
      const double vb = volts(next, e.b);
      const double foretold = diode_line[k].amps + diode_line[k].siemens * (va - vb);
      bool limited = false;
      memory.diodes[k] = limit_diode(diodes[k], va - vb - diodes[k].rs * foretold,
                                     memory.diodes[k], limited);
      diode_eval[k] = junction(diodes[k], memory.diodes[k]);
      const double slack =
          8.0 * kEps * diode_eval[k].siemens * (std::abs(va) + std::abs(vb));
      good = good && !limited && agrees(foretold, diode_eval[k].amps, slack);
    }
    for (std::size_t k = 0; k < bipolars.size(); ++k) {
      const BipolarAt& t = bipolars[k];
      const auto [be, bc] = bipolar_volts(k, next);
      auto& [last_be, last_bc] = memory.bipolars[k];
      const BipolarConduction before = bipolar_eval[k];
      const double collector = before.collector +
                               before.collector_by_be * (be - last_be) +
                               before.collector_by_bc * (bc - last_bc);
      const double base = before.base + before.base_by_be * (be - last_be) +
                          before.base_by_bc * (bc - last_bc);
      bool limited = false;
      last_be = limit_junction(be, last_be, t.nvt_forward, t.critical, limited);
      last_bc = limit_junction(bc, last_bc, t.nvt_reverse, t.critical, limited);
      bipolar_eval[k] = conduct(t, last_be, last_bc);
      const BipolarConduction& now = bipolar_eval[k];
      const double rounding =
          8.0 * kEps *
          (std::abs(volts(next, s->bipolars[k].ends[1])) + std::abs(be) + std::abs(bc));
      const double slack_c =
          rounding * (std::abs(now.collector_by_be) + std::abs(now.collector_by_bc));
      const double slack_b =
          rounding * (std::abs(now.base_by_be) + std::abs(now.base_by_bc));
      good = good && !limited && agrees(collector, now.collector, slack_c) &&
             agrees(base, now.base, slack_b);
    }
    for (std::size_t k = 0; k < mosfets.size(); ++k) {
      const auto [gs, ds] = mos_volts(k, next);
      auto& [last_gs, last_ds] = memory.mosfets[k];
      const MosConduction before = mos_eval[k];
      const double drain = before.drain + before.by_gate * (gs - last_gs) +
                           before.by_drain * (ds - last_ds);
      bool limited = false;
      last_gs = limit_step(gs, last_gs, limited);
      last_ds = limit_step(ds, last_ds, limited);
      mos_eval[k] = conduct(mosfets[k], last_gs, last_ds);
      const double slack = 8.0 * kEps * (std::abs(gs) + std::abs(ds)) *
                           (std::abs(mos_eval[k].by_gate) + mos_eval[k].by_drain);
      good = good && !limited && agrees(drain, mos_eval[k].drain, slack);
    }
    return good;
  }

  /// True if the unknowns moved less than their tolerance; remembers who moved most.
  bool settled() {
    bool good = true;
    double most = 0.0;
    for (int k = 0; k < size; ++k) {
      const double step = std::abs(next[k] - memory.x[k]);
      const double floor = k < nodes ? options.volts : options.amps;
      const double excess = step / (floor + options.relative * std::abs(next[k]));
      if (!(excess <= 1.0)) good = false;
      if (k < nodes && !(excess <= most)) {
        most = excess;
        restless = k;
      }
    }
    return good;
  }

  Outcome newton(double gmin, double scale) {
    bool is_near = false;
    for (int i = 0; i < options.iterations; ++i) {
      ++iterations;
      load(gmin, scale);
      const int singular = matrix.solve(work.data(), right.data(), next.data());
      if (singular >= 0) {
        restless = singular;
        return Outcome::singular;
      }
      for (const double value : next) {
        if (!std::isfinite(value)) return Outcome::singular;
      }
      // A circle of steps, as between the two sides of a corner, is broken by going
      // only part of the way; the last steps are whole again.
      const double share = i < 40 || is_near ? 1.0 : i < 80 ? 0.5 : 0.2;
      if (share < 1.0) {
        for (int k = 0; k < size; ++k) {
          next[k] = memory.x[k] + share * (next[k] - memory.x[k]);
        }
      }
      const bool still = settled();
      const bool foretold = follow();
      std::swap(memory.x, next);
      if (still && foretold) {
        if (share == 1.0) return Outcome::settled;
        is_near = true;
      }
    }
    return Outcome::unsettled;
  }

  /// Conductances to ground at every node, taken away step by step.
  Outcome step_gmin() {
    start_cold();
    Memory good = memory;
    double from = 1.0;
    double decades = 1.0;
    Outcome outcome = newton(from, 1.0);
    if (outcome != Outcome::settled) return outcome;
    good = memory;
    for (int step = 0; step < options.continuation; ++step) {
      const double to = from * std::pow(10.0, -decades);
      outcome = newton(to, 1.0);
      if (outcome == Outcome::settled) {
        good = memory;
        if (to < 1e-14) return newton(0.0, 1.0);
        from = to;
        decades = std::min(2.0, decades * 1.5);
      } else {
        restore(good);
        decades *= 0.3;
        if (decades < 1e-4) return outcome;
      }
    }
    return Outcome::unsettled;
  }

  /// All sources raised together from 0.
  Outcome step_sources() {
    start_cold();
    Outcome outcome = newton(0.0, 0.0);
    if (outcome != Outcome::settled) return outcome;
    Memory good = memory;
    double at = 0.0;
    double stride = 0.1;
    for (int step = 0; step < options.continuation; ++step) {
      const double to = std::min(1.0, at + stride);
      outcome = newton(0.0, to);
      if (outcome == Outcome::settled) {
        if (to == 1.0) return outcome;
        good = memory;
        at = to;
        stride *= 1.5;
      } else {
        restore(good);
        stride *= 0.3;
        if (stride < 1e-6) return outcome;
      }
    }
    return Outcome::unsettled;
  }

  void restore(const Memory& good) {
    memory = good;
    evaluate();
  }

  /// A node, not ground, of a junction that carries more than 1 GA: it lies straight
  /// across a source, where the exponential has a mathematical answer and no other. -1
  /// where there is none.
  [[nodiscard]] int boundless_at(const Currents& c) const {
    constexpr double kMostAmps = 1e9;
    for (std::size_t k = 0; k < s->diodes.size(); ++k) {
      const TwoEnds& e = s->diodes[k];
      if (std::abs(c.diodes[k]) > kMostAmps) return std::max(e.a, e.b);
    }
    for (std::size_t k = 0; k < s->bipolars.size(); ++k) {
      for (const double amps : c.bipolars[k]) {
        const auto& ends = s->bipolars[k].ends;
        if (std::abs(amps) > kMostAmps) return std::max({ends[0], ends[1], ends[2]});
      }
    }
    return -1;
  }

  [[nodiscard]] Solution result(const Network& network) const {
    Solution r;
    r.status = SolveStatus::solved;
    r.iterations = iterations;
    r.volts.resize(nodes + 1);
    for (int node = 1; node <= nodes; ++node) r.volts[node] = memory.x[unknown(node)];
    Currents branch;
    auto next_branch = memory.x.begin() + nodes;
    for (std::size_t k = 0; k < s->voltage_sources.size(); ++k) {
      branch.voltage_sources.push_back(*next_branch++);
    }
    for (std::size_t k = 0; k < s->inductors.size(); ++k) {
      branch.inductors.push_back(*next_branch++);
    }
    for (std::size_t k = 0; k < s->regulators.size(); ++k) {
      branch.regulators.push_back({0.0, 0.0, -*next_branch++});
    }
    const std::vector<double>& v = r.volts;
    Currents& c = r.currents;
    for (std::size_t k = 0; k < s->resistors.size(); ++k) {
      const TwoEnds& e = s->resistors[k];
      c.resistors.push_back((v[e.a] - v[e.b]) / network.values.ohms[k]);
    }
    c.capacitors.assign(s->capacitors.size(), 0.0);
    c.inductors = branch.inductors;
    c.voltage_sources = branch.voltage_sources;
    for (const double amps : network.values.amps) c.current_sources.push_back(-amps);
    // What the junctions were last seen to carry; see DEVELOPERS on sharp junctions.
    for (const Conduction& d : diode_eval) c.diodes.push_back(d.amps);
    for (std::size_t k = 0; k < bipolars.size(); ++k) {
      const double sign = bipolars[k].sign;
      const BipolarConduction& i = bipolar_eval[k];
      c.bipolars.push_back(
          {sign * i.collector, sign * i.base, -sign * (i.collector + i.base)});
    }
    for (std::size_t k = 0; k < mosfets.size(); ++k) {
      const double drain = mosfets[k].sign * mos_eval[k].drain;
      c.mosfets.push_back({drain, 0.0, -drain});
    }
    for (std::size_t k = 0; k < s->regulators.size(); ++k) {
      const auto [in, common, out] = s->regulators[k].ends;
      const double passed = -branch.regulators[k][2];
      const double ground =
          quiescent(network.values.regulators[k], v[in] - v[common]).amps;
      c.regulators.push_back({passed + ground, -ground, -passed});
    }
    if (const int node = boundless_at(c); node >= 0) {
      Solution boundless;
      boundless.iterations = iterations;
      boundless.reason = "nothing limits the current at " + name(unknown(node)) +
                         ": more than 1 GA would flow";
      return boundless;
    }
    return r;
  }

  [[nodiscard]] std::string name(int unknown_index) const {
    const auto net = [this](int node) { return "net '" + s->nodes[node] + "'"; };
    // An inner node, "part:what", is told by its part: it stands in no description.
    const auto part_around = [this](int node) {
      if (node < s->nets) return std::string();
      const std::string& inner = s->nodes[node];
      return "part '" + inner.substr(0, inner.find(':')) + "'";
    };
    if (unknown_index < nodes) {
      const std::string part = part_around(unknown_index + 1);
      return part.empty() ? net(unknown_index + 1) : "a point inside " + part;
    }
    // A branch: told by the nets it joins, or by the part that it lies in.
    auto k = static_cast<std::size_t>(unknown_index - nodes);
    const auto between = [&](const std::string& what, int a, int b) {
      std::string part = part_around(a);
      if (part.empty()) part = part_around(b);
      return "the current of the " + what +
             (part.empty() ? " between " + net(a) + " and " + net(b)
                           : " inside " + part);
    };
    if (k < s->voltage_sources.size()) {
      const TwoEnds& e = s->voltage_sources[k];
      return between("voltage source", e.a, e.b);
    }
    k -= s->voltage_sources.size();
    if (k < s->inductors.size()) {
      return between("inductor", s->inductors[k].a, s->inductors[k].b);
    }
    const ThreeEnds& e = s->regulators[k - s->inductors.size()];
    return between("regulator", e.ends[0], e.ends[2]);
  }

  Solution operating_point(const Network& network, const Solution* near) {
    bind(network);
    iterations = 0;
    if (size == 0) return result(network);
    if (near != nullptr) {
      start_near(*near);
      if (newton(0.0, 1.0) == Outcome::settled) return result(network);
    }
    start_cold();
    Outcome outcome = newton(0.0, 1.0);
    if (outcome == Outcome::settled) return result(network);
    const Memory last = memory;
    outcome = step_gmin();
    if (outcome == Outcome::settled) return result(network);
    outcome = step_sources();
    if (outcome == Outcome::settled) return result(network);
    // Among very small resistances the currents' rounding may keep the steps above
    // their tolerance for ever. What obeys the equations a hundred times better than it
    // must is a solution all the same.
    restore(last);
    Solution close = result(network);
    if (close.status == SolveStatus::solved) {
      const Residual r = residual(network, close);
      if (r.worst <= 0.01 && r.volts <= 0.01 * kResidualVolts) return close;
    }
    Solution failed;
    failed.status = SolveStatus::no_convergence;
    failed.iterations = iterations;
    failed.reason = name(restless) +
                    (outcome == Outcome::singular ? " is not determined by the circuit"
                                                  : " would not settle") +
                    "; tried Newton's method, gmin stepping and source stepping";
    return failed;
  }

  std::shared_ptr<const Structure> s;
  NodalOptions options;
  int nodes = 0;  ///< Without ground.
  int size = 0;
  Matrix matrix;
  const Values* values = nullptr;

  std::vector<PairSlots> resistor_slots;
  std::vector<PairSlots> diode_slots;
  std::vector<NineSlots> bipolar_slots;
  std::vector<NineSlots> mos_slots;
  std::vector<PairSlots> branches;  ///< aa, ab: column entries; ba, bb: row entries.
  std::vector<RegulatorSlots> regulator_slots;
  std::vector<int> diagonal;

  std::vector<double> linear;
  std::vector<double> linear_right;
  std::vector<double> work;
  std::vector<double> right;
  std::vector<double> next;

  std::vector<DiodeAt> diodes;
  std::vector<BipolarAt> bipolars;
  std::vector<MosAt> mosfets;
  std::vector<Conduction> diode_eval;
  std::vector<Conduction> diode_line;  ///< Terminal current: amps + siemens * volts.
  std::vector<BipolarConduction> bipolar_eval;
  std::vector<MosConduction> mos_eval;
  Memory memory;

  int iterations = 0;
  int restless = 0;
};

NodalSolver::NodalSolver(std::shared_ptr<const Structure> structure,
                         NodalOptions options) {
  if (!structure || structure->nodes.empty()) {
    throw std::invalid_argument("a nodal solver needs a structure with ground");
  }
  if (!(options.relative > 0.0) || !(options.volts > 0.0) || !(options.amps > 0.0) ||
      options.iterations < 1 || options.continuation < 1) {
    throw std::invalid_argument("a nodal solver's options must be above 0");
  }
  impl_ = std::make_unique<Impl>(std::move(structure), options);
}

NodalSolver::~NodalSolver() = default;
NodalSolver::NodalSolver(NodalSolver&&) noexcept = default;
NodalSolver& NodalSolver::operator=(NodalSolver&&) noexcept = default;

Solution NodalSolver::operating_point(const Network& network, const Solution* near) {
  if (network.structure != impl_->s) {
    throw std::invalid_argument("the network is of another structure than the solver");
  }
  check_network(network);
  if (near != nullptr && !impl_->fits(*near)) {
    throw std::invalid_argument("a start that is no solution of the structure");
  }
  return impl_->operating_point(network, near);
}

Solution solve_nodal(const Network& network) {
  check_network(network);
  return NodalSolver(network.structure).operating_point(network);
}

}  // namespace benchproof
