#include "core/network/equations.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <string>
#include <utility>

#include "core/device/exponential.h"
#include "core/network/detail/element_laws.h"

namespace benchproof {

int feeding_source(const Structure& structure, const TwoEnds& diode) {
  if (diode.a < structure.nets) return -1;
  int ends = 0;
  for (const auto& list : kTwoEnded) {
    for (const TwoEnds& e : structure.*list.elements)
      ends += (e.a == diode.a) + (e.b == diode.a);
  }
  for (const auto& list : kThreeEnded) {
    for (const ThreeEnds& e : structure.*list.elements)
      ends += static_cast<int>(std::count(e.ends.begin(), e.ends.end(), diode.a));
  }
  if (ends != 2) return -1;
  for (std::size_t k = 0; k < structure.voltage_sources.size(); ++k) {
    if (structure.voltage_sources[k].b == diode.a) return static_cast<int>(k);
  }
  return -1;
}

ElementLaws::ElementLaws(const Network& network) {
  const Values& x = network.values;
  for (std::size_t k = 0; k < x.diodes.size(); ++k) {
    const bool is_ideal = x.diodes[k].n < kLeastRealEmission;
    feeds_.push_back(
        is_ideal ? feeding_source(*network.structure, network.structure->diodes[k])
                 : -1);
    diodes_.push_back(at(x.diodes[k], network.celsius));
  }
  for (const BipolarModel& m : x.bipolars) bipolars_.push_back(at(m, network.celsius));
  for (const MosModel& m : x.mosfets) mosfets_.push_back(at(m, network.celsius));
  for (const CoilModel& m : x.coils) coils_.push_back(at(m));
  for (const RegulatorModel& m : x.regulators) regulators_.push_back(at(m));
}

namespace {

/// One point: node voltages, and currents that they do not determine.
struct OnePoint {
  const Values& values;
  const std::vector<double>& v;
  const Currents& branches;

  [[nodiscard]] double volts(int node) const { return v[node]; }
  [[nodiscard]] double ohms(std::size_t k) const { return values.ohms[k]; }
  [[nodiscard]] double amps(std::size_t k) const { return values.amps[k]; }
  [[nodiscard]] double capacitor(std::size_t /*k*/) const { return 0.0; }
  [[nodiscard]] double stray(std::size_t /*k*/) const { return 0.0; }
  [[nodiscard]] double inductance(std::size_t k) const { return branches.inductors[k]; }
  [[nodiscard]] double source(std::size_t k) const {
    return branches.voltage_sources[k];
  }
  [[nodiscard]] double passed(std::size_t k) const {
    return -branches.regulators[k][2];
  }
};

}  // namespace

Currents currents_at(const Network& network, const std::vector<double>& volts,
                     const Currents& branches) {
  return currents_by<double>(*network.structure, ElementLaws(network),
                             OnePoint{network.values, volts, branches});
}

void sum_at_nodes(const Structure& s, const Currents& c, std::vector<double>& sum,
                  std::vector<double>& largest) {
  for_each_end(s, c, [&](int node, const Origin&, int, double amps) {
    sum[node] += amps;
    largest[node] = std::max(largest[node], std::abs(amps));
  });
}

namespace {

constexpr double kInfinite = std::numeric_limits<double>::infinity();

/// The larger of two errors; what is not a number counts as infinite.
double worse(double a, double b) {
  if (std::isnan(a) || std::isnan(b)) return kInfinite;
  return std::max(a, b);
}

/// How far a junction's voltage is from the one at which it would carry `amps`. Volt.
/// A current that is right to what is allowed, `slack`, counts as no error; one that
/// flows against the junction is infinitely far.
double junction_error(double is, double nvt, double volts, double amps, double slack) {
  const double carried = junction_law(is, nvt, volts).amps;
  if (std::abs(carried - amps) <= slack) return 0.0;
  if (amps < -slack) return kInfinite;
  return std::abs(volts - nvt * std::log1p(std::max(amps, 0.0) / is));
}

/// How far a junction's voltage in breakdown is from the one at which it would carry
/// `amps`. Volt.
double breakdown_error(const DiodeAt& d, double volts, double amps, double slack) {
  if (std::abs(junction(d, volts).amps - amps) <= slack) return 0.0;
  if (amps >= 0.0) return kInfinite;
  return std::abs(volts + d.breakdown + d.nvt_breakdown * std::log(-amps / d.is));
}

/// An error of voltage beside the voltage it is an error of.
double beside(double error, double volts) { return error / (1.0 + std::abs(volts)); }

/// What a current is allowed to be off by beside `amps`. Ampere.
double allowed(double amps) { return kResidualAmps + kResidualShare * std::abs(amps); }

/// An ideal junction's current follows from its voltage only to a part in a thousand (a
/// nanovolt is a hundredth of its emission voltage): its current is taken from the
/// solution instead, and the voltage that goes with it is compared. Returns the largest
/// error, beside its voltage (see Residual).
double trust_sharp_junctions(const Network& network, const Solution& solution,
                             Currents& currents) {
  const Structure& s = *network.structure;
  const std::vector<double>& v = solution.volts;
  double error = 0.0;
  for (std::size_t k = 0; k < s.diodes.size(); ++k) {
    const DiodeModel& m = network.values.diodes[k];
    const bool is_sharp =
        m.n < kLeastRealEmission || (std::isfinite(m.bv) && m.nbv < kLeastRealEmission);
    if (!is_sharp) continue;
    const DiodeAt d = at(m, network.celsius);
    const double amps = solution.currents.diodes[k];
    const double volts = v[s.diodes[k].a] - v[s.diodes[k].b] - d.rs * amps;
    const bool is_broken_down = volts <= -d.breakdown && volts < -3.0 * d.nvt;
    // Only the branch that is ideal: the other one is judged by its current.
    if ((is_broken_down ? m.nbv : m.n) >= kLeastRealEmission) continue;
    currents.diodes[k] = amps;
    const double off = is_broken_down
                           ? breakdown_error(d, volts, amps, allowed(amps))
                           : junction_error(d.is, d.nvt, volts, amps, allowed(amps));
    error = worse(error, beside(off, std::max(std::abs(v[s.diodes[k].a]),
                                              std::abs(v[s.diodes[k].b]))));
  }
  for (std::size_t k = 0; k < s.bipolars.size(); ++k) {
    const BipolarModel& m = network.values.bipolars[k];
    if (!is_ideal(m)) continue;
    const BipolarAt t = at(m, network.celsius);
    const auto [collector, base, emitter] = s.bipolars[k].ends;
    const double be = t.sign * (v[base] - v[emitter]);
    const double bc = t.sign * (v[base] - v[collector]);
    const double ic = t.sign * solution.currents.bipolars[k][0];
    const double ib = t.sign * solution.currents.bipolars[k][1];
    currents.bipolars[k] = solution.currents.bipolars[k];
    // The junction currents f and r from ic = (f - r) early - r/br and ib = f/bf +
    // r/br.
    const double early = std::max(1e-3, 1.0 - bc * t.inverse_early);
    const double r =
        (t.bf * early * ib - ic) / (early * (1.0 + t.bf / t.br) + 1.0 / t.br);
    const double f = t.bf * (ib - r / t.br);
    // Both are differences of the pins' currents, and off by what those may be.
    const double slack = allowed(std::max(std::abs(ic), std::abs(t.bf * early * ib)));
    const double most =
        std::max({std::abs(v[collector]), std::abs(v[base]), std::abs(v[emitter])});
    for (const double off : {junction_error(t.is, t.nvt_forward, be, f, slack),
                             junction_error(t.is, t.nvt_reverse, bc, r, slack)}) {
      error = worse(error, beside(off, most));
    }
  }
  return error;
}

/// Adds what rounding makes of a conductance's products with the voltages of its ends.
/// LU with pivoting is backward stable [Higham 2002, "Accuracy and Stability of
/// Numerical Algorithms", sec. 9.3]: a few roundings of each product in a row.
void add_rounding(const TwoEnds& ends, double siemens, const std::vector<double>& volts,
                  std::vector<double>& rounding) {
  constexpr double kRoundings = 4.0 * std::numeric_limits<double>::epsilon();
  const double amps =
      kRoundings * siemens * std::max(std::abs(volts[ends.a]), std::abs(volts[ends.b]));
  rounding[ends.a] += amps;
  rounding[ends.b] += amps;
}

/// Parameters of the devices, by the ranges that their declarations state.
void check_models(const Values& x) {
  const auto demand = [](bool is_good, const char* what) {
    if (!is_good) throw std::invalid_argument(what);
  };
  const auto positive = [](double value) {
    return value > 0.0 && std::isfinite(value);
  };
  const auto not_negative = [](double value) {
    return value >= 0.0 && std::isfinite(value);
  };
  const auto temperature = [](double celsius) {
    return celsius > -273.15 && std::isfinite(celsius);
  };
  for (const DiodeModel& m : x.diodes) {
    demand(positive(m.is) && positive(m.n) && not_negative(m.rs) && m.bv > 0.0 &&
               positive(m.ibv) && positive(m.nbv) && std::isfinite(m.eg) &&
               std::isfinite(m.xti) && temperature(m.tnom),
           "a diode with a parameter out of range");
  }
  for (const BipolarModel& m : x.bipolars) {
    demand(positive(m.is) && positive(m.bf) && positive(m.br) && positive(m.nf) &&
               positive(m.nr) && m.vaf > 0.0 && m.ikf > 0.0 && std::isfinite(m.eg) &&
               std::isfinite(m.xti) && temperature(m.tnom),
           "a bipolar transistor with a parameter out of range");
  }
  for (const MosModel& m : x.mosfets) {
    demand(std::isfinite(m.vto) && positive(m.kp) && not_negative(m.lambda) &&
               not_negative(m.rd) && not_negative(m.rs) && temperature(m.tnom),
           "a MOS transistor with a parameter out of range");
  }
  for (const CoilModel& m : x.coils) {
    demand(positive(m.henries) && not_negative(m.ohms) && not_negative(m.siemens),
           "a coil with a parameter out of range");
  }
  for (const RegulatorModel& m : x.regulators) {
    demand(positive(m.output) && not_negative(m.dropout) && positive(m.limit) &&
               not_negative(m.quiescent) && not_negative(m.resistance) &&
               std::isfinite(m.line) && std::isfinite(m.line_reference),
           "a regulator with a parameter out of range");
  }
}

}  // namespace

Residual residual(const Network& network, const Solution& solution) {
  const Structure& s = *network.structure;
  const std::vector<double>& v = solution.volts;
  std::vector<double> sum(s.nodes.size(), 0.0);
  std::vector<double> largest(s.nodes.size(), 0.0);
  Currents currents = currents_at(network, v, solution.currents);
  Residual r;
  r.volts = trust_sharp_junctions(network, solution, currents);
  sum_at_nodes(s, currents, sum, largest);
  std::vector<double> rounding(s.nodes.size(), 0.0);
  for (std::size_t k = 0; k < s.resistors.size(); ++k)
    add_rounding(s.resistors[k], 1.0 / network.values.ohms[k], v, rounding);
  std::vector<double> of_matrix = rounding;
  for (std::size_t k = 0; k < s.diodes.size(); ++k) {
    const DiodeAt d = at(network.values.diodes[k], network.celsius);
    const double amps = currents.diodes[k];
    const double siemens = std::abs(amps) / (amps < 0.0 ? d.nvt_breakdown : d.nvt);
    add_rounding(s.diodes[k], siemens / (1.0 + d.rs * siemens), v, of_matrix);
  }
  // What a large row loses is handed to small ones by elimination.
  const double of_any = *std::max_element(of_matrix.begin(), of_matrix.end());
  for (std::size_t node = 1; node < s.nodes.size(); ++node) {
    const double amps = std::abs(sum[node]);
    r.amps = worse(r.amps, amps);
    const auto beyond = [&](double rounded) {
      return std::max(0.0, amps - rounded) / allowed(largest[node]);
    };
    r.beyond_rounding = worse(r.beyond_rounding, beyond(rounding[node]));
    r.beyond_matrix = worse(r.beyond_matrix, beyond(of_any));
    const double worst = worse(0.0, amps / allowed(largest[node]));
    if (worst > r.worst) {
      r.worst = worst;
      r.node = static_cast<int>(node);
    }
  }
  for (std::size_t k = 0; k < s.voltage_sources.size(); ++k) {
    const TwoEnds& e = s.voltage_sources[k];
    const double volts = network.values.volts[k];
    r.volts = worse(r.volts, beside(std::abs(v[e.a] - v[e.b] - volts), volts));
  }
  for (std::size_t k = 0; k < s.inductors.size(); ++k) {
    const TwoEnds& e = s.inductors[k];
    const double winding =
        network.values.coils[k].ohms * solution.currents.inductors[k];
    r.volts = worse(r.volts, beside(std::abs(v[e.a] - v[e.b] - winding), winding));
  }
  for (std::size_t k = 0; k < s.regulators.size(); ++k) {
    const auto [in, common, out] = s.regulators[k].ends;
    const RegulatorEquation e =
        pass(network.values.regulators[k], v[in] - v[common], v[out] - v[common],
             -solution.currents.regulators[k][2]);
    // Past its limit the element is a steep slope: there its current, not its voltage,
    // is what can be told to 1e-6.
    const double slope = std::max(1.0, e.by_amps);
    r.volts = worse(r.volts, beside(std::abs(e.error) / slope, v[out] - v[common]));
  }
  return r;
}

bool obeys(const Residual& residual, double share) {
  return residual.worst <= share && residual.volts <= share * kResidualVolts;
}

void check_network(const Network& network) {
  const auto fail = [](const std::string& what) { throw std::invalid_argument(what); };
  if (!network.structure) fail("a network without a structure");
  const Structure& s = *network.structure;
  const Values& x = network.values;
  const int nodes = static_cast<int>(s.nodes.size());
  if (nodes == 0) fail("a network without ground");
  const auto lengths = [&](const char* what, std::size_t elements, std::size_t values) {
    if (elements != values) fail(std::string("as many values as ") + what + " needed");
  };
  lengths("resistors", s.resistors.size(), x.ohms.size());
  lengths("capacitors", s.capacitors.size(), x.farads.size());
  lengths("strays", s.strays.size(), x.stray_farads.size());
  lengths("inductors", s.inductors.size(), x.coils.size());
  lengths("voltage sources", s.voltage_sources.size(), x.volts.size());
  lengths("current sources", s.current_sources.size(), x.amps.size());
  lengths("diodes", s.diodes.size(), x.diodes.size());
  lengths("bipolars", s.bipolars.size(), x.bipolars.size());
  lengths("mosfets", s.mosfets.size(), x.mosfets.size());
  lengths("regulators", s.regulators.size(), x.regulators.size());
  const auto in_range = [&](int node) {
    if (node < 0 || node >= nodes)
      fail("node " + std::to_string(node) + " out of range");
  };
  for (const auto& list : kTwoEnded) {
    for (const TwoEnds& e : s.*list.elements) {
      in_range(e.a);
      in_range(e.b);
    }
  }
  for (const auto& list : kThreeEnded) {
    for (const ThreeEnds& e : s.*list.elements) {
      for (const int node : e.ends) in_range(node);
    }
  }
  for (const auto& [list, what] :
       {std::pair{&x.ohms, "resistance"}, std::pair{&x.farads, "capacitance"},
        std::pair{&x.stray_farads, "stray capacitance"}}) {
    for (const double value : *list) {
      if (!(value > 0.0) || !std::isfinite(value)) {
        fail(std::string("a ") + what + " that is not above 0");
      }
    }
  }
  for (const auto* list : {&x.volts, &x.amps}) {
    for (const double value : *list) {
      if (!std::isfinite(value)) fail("a source that is not finite");
    }
  }
  check_models(x);
  if (!std::isfinite(network.celsius) || network.celsius <= -273.15) {
    fail("a temperature at or below absolute zero");
  }
}

}  // namespace benchproof
