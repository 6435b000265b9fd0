#include "core/nodal/sensitivities.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "core/device/dual.h"
#include "core/network/equations.h"
#include "core/nodal/detail/newton.h"

namespace benchproof {

Slopes::Slopes(SlotOrder order, std::size_t figures)
    : order_(order), figures_(figures), slopes_(figures * (order.size() + 1), 0.0) {}

double Slopes::by(std::size_t figure, const Feeds& feeds) const {
  double slope = feeds.celsius * by_celsius(figure);
  for (const Feed& feed : feeds.slots) slope += feed.rate * by(figure, feed.slot);
  return slope;
}

namespace {

// A model of which every number is a variable.

template <class Dual, template <class> class ModelOf>
void vary(const ModelOf<double>& from, ModelOf<Dual>& to) {
  for (std::size_t k = 0; k < ModelOf<double>::kNumbers.size(); ++k)
    to.*ModelOf<Dual>::kNumbers[k].member =
        Dual::variable(from.*ModelOf<double>::kNumbers[k].member, k);
}

/// The device at a temperature that is a variable too.
auto varied(const DiodeModel& m, double celsius) {
  using Number = DualOf<DiodeModel>;
  DiodeModelOf<Number> model;
  vary(m, model);
  return at(model, Number::variable(celsius, DiodeModel::kNumbers.size()));
}
auto varied(const BipolarModel& m, double celsius) {
  using Number = DualOf<BipolarModel>;
  BipolarModelOf<Number> model;
  vary(m, model);
  model.is_pnp = m.is_pnp;
  return at(model, Number::variable(celsius, BipolarModel::kNumbers.size()));
}
auto varied(const MosModel& m, double celsius) {
  using Number = DualOf<MosModel>;
  MosModelOf<Number> model;
  vary(m, model);
  model.is_p_channel = m.is_p_channel;
  return at(model, Number::variable(celsius, MosModel::kNumbers.size()));
}
auto varied(const RegulatorModel& m) {
  RegulatorModelOf<DualOf<RegulatorModel>> model;
  vary(m, model);
  model.is_negative = m.is_negative;
  model.follows = m.follows;
  return at(model);
}
auto varied(const CoilModel& m) {
  CoilModelOf<DualOf<CoilModel>> model;
  vary(m, model);
  return at(model);
}

bool fits(const Structure& s, const Differential& d) {
  const auto fit = [&](const auto& list) {
    return (s.*list.elements).size() == (d.by_amps.*list.amps).size();
  };
  return d.by_volts.size() == s.nodes.size() &&
         std::all_of(kTwoEnded.begin(), kTwoEnded.end(), fit) &&
         std::all_of(kThreeEnded.begin(), kThreeEnded.end(), fit);
}

/// The right-hand side of one figure: of all figures they stand side by side for each
/// unknown.
struct Side {
  std::vector<double>& all;
  std::size_t figures;
  std::size_t figure;

  void add(int unknown, double value) const {
    all[static_cast<std::size_t>(unknown) * figures + figure] += value;
  }
  void add_at_node(int node, double value) const {
    if (node != 0) add(Layout::unknown(node), value);
  }
  void add_across(const TwoEnds& e, double value) const {
    add_at_node(e.a, value);
    add_at_node(e.b, -value);
  }
};

/// By how much the unknowns of an operating point move figures.
class ByUnknowns {
 public:
  ByUnknowns(const Newton& newton, const Values& values)
      : layout_(newton.layout()),
        s_(*layout_.structure),
        x_(newton.memory()),
        devices_(newton.devices()),
        values_(values) {}

  void put(const Differential& figure, const Side& to) const {
    for (int node = 1; node <= layout_.nodes; ++node)
      to.add_at_node(node, figure.by_volts[node]);
    put_linear(figure.by_amps, to);
    put_diodes(figure.by_amps.diodes, to);
    put_triples(devices_.bipolars, s_.bipolars, x_.bipolars, figure.by_amps.bipolars,
                to);
    put_triples(devices_.mosfets, s_.mosfets, x_.mosfets, figure.by_amps.mosfets, to);
    put_regulators(figure.by_amps.regulators, to);
  }

 private:
  void put_linear(const Currents& by_amps, const Side& to) const {
    for (std::size_t k = 0; k < s_.resistors.size(); ++k)
      to.add_across(s_.resistors[k], by_amps.resistors[k] / values_.ohms[k]);
    for (std::size_t k = 0; k < s_.voltage_sources.size(); ++k)
      to.add(layout_.voltage_sources[k].number, by_amps.voltage_sources[k]);
    for (std::size_t k = 0; k < s_.inductors.size(); ++k)
      to.add(layout_.inductors[k].branch.number, by_amps.inductors[k]);
  }
  void put_diodes(const std::vector<double>& by_amps, const Side& to) const {
    for (std::size_t k = 0; k < s_.diodes.size(); ++k) {
      if (by_amps[k] == 0.0) continue;
      const DiodeAt& device = devices_.diodes.devices()[k];
      const Conduction found = evaluated(device, x_.diodes[k]);
      to.add_across(s_.diodes[k],
                    by_amps[k] * stamp(device, x_.diodes[k], found).siemens);
    }
  }
  template <class Kind, class Drive>
  static void put_triples(const DevicesOf<Kind>& kind,
                          const std::vector<ThreeEnds>& elements,
                          const std::vector<Drive>& drives,
                          const std::vector<std::array<double, 3>>& by_amps,
                          const Side& to) {
    for (std::size_t k = 0; k < elements.size(); ++k) {
      if (by_amps[k] == std::array<double, 3>{}) continue;
      const auto& device = kind.devices()[k];
      const auto siemens =
          stamp(device, drives[k], evaluated(device, drives[k])).siemens;
      for (int i = 0; i < 3; ++i) {
        for (int j = 0; j < 3; ++j)
          to.add_at_node(elements[k].ends[j], by_amps[k][i] * siemens[i][j]);
      }
    }
  }
  void put_regulators(const std::vector<std::array<double, 3>>& by_amps,
                      const Side& to) const {
    for (std::size_t k = 0; k < s_.regulators.size(); ++k) {
      const auto [in, common, out] = by_amps[k];
      to.add(layout_.regulators[k].number, in - out);
      const double siemens =
          quiescent(devices_.regulators.devices()[k], x_.regulators[k].in).siemens;
      const auto& ends = s_.regulators[k].ends;
      to.add_across({ends[0], ends[1], {}}, (in - common) * siemens);
    }
  }

  const Layout& layout_;
  const Structure& s_;
  const Memory& x_;
  const Devices& devices_;
  const Values& values_;
};

/// Puts the slopes together from the solutions `y` of the transposed system, which
/// stand side by side for each row.
class ByValues {
 public:
  ByValues(const Newton& newton, const Network& network,
           const std::vector<Differential>& figures, const std::vector<double>& y)
      : layout_(newton.layout()),
        s_(*layout_.structure),
        x_(newton.memory()),
        devices_(newton.devices()),
        network_(network),
        values_(network.values),
        figures_(figures),
        y_(y),
        slopes_(SlotOrder(s_), figures.size()) {}

  [[nodiscard]] Slopes slopes() {
    put_linear();
    put_coils();
    put_diodes();
    put_bipolars();
    put_mosfets();
    put_regulators();
    return std::move(slopes_);
  }

 private:
  // What a figure moves by for an ampere more. By Kirchhoff's law that ampere also
  // leaves the nodes at the element's ends.

  [[nodiscard]] double in_row(std::size_t figure, int row) const {
    return y_[static_cast<std::size_t>(row) * figures_.size() + figure];
  }
  [[nodiscard]] double at_node(std::size_t figure, int node) const {
    return node == 0 ? 0.0 : in_row(figure, Layout::unknown(node));
  }
  /// Through an element of two ends, if the figure itself moves `by_amps` with it.
  [[nodiscard]] double through(std::size_t figure, const TwoEnds& e,
                               double by_amps = 0.0) const {
    return by_amps - (at_node(figure, e.a) - at_node(figure, e.b));
  }
  /// Into one end of an element and out of its last.
  [[nodiscard]] double into(std::size_t figure, const ThreeEnds& e, int end, int last,
                            const std::array<double, 3>& by_amps) const {
    return through(figure, {e.ends[end], e.ends[last], {}},
                   by_amps[end] - by_amps[last]);
  }

  /// Adds `moves(figure)` times a derivative by the one number of an element.
  template <class Moves>
  void put(ValueList list, std::size_t index, double derivative, const Moves& moves) {
    const std::size_t place = slopes_.order().place_of({list, index, 0});
    for (std::size_t f = 0; f < figures_.size(); ++f)
      slopes_.of(f)[place] += moves(f) * derivative;
  }
  /// Adds `moves(figure)` times the slopes of what an element's model says.
  template <std::size_t N, class Moves>
  void put(ValueList list, std::size_t index, const Dual<N>& of, const Moves& moves) {
    const std::size_t place = slopes_.order().place_of({list, index, 0});
    for (std::size_t f = 0; f < figures_.size(); ++f) {
      double* slopes = slopes_.of(f);
      const double times = moves(f);
      for (std::size_t k = 0; k + 1 < N; ++k) slopes[place + k] += times * of.slopes[k];
      slopes[slopes_.order().size()] += times * of.slopes[N - 1];
    }
  }

  void put_linear() {
    for (std::size_t k = 0; k < s_.resistors.size(); ++k) {
      const TwoEnds& e = s_.resistors[k];
      const double volts = node_volts(x_.x, e.a) - node_volts(x_.x, e.b);
      put(ValueList::ohms, k, -volts / (values_.ohms[k] * values_.ohms[k]),
          [&](std::size_t f) {
            return through(f, e, figures_[f].by_amps.resistors[k]);
          });
    }
    for (std::size_t k = 0; k < s_.voltage_sources.size(); ++k) {
      const int row = layout_.voltage_sources[k].number;
      put(ValueList::volts, k, 1.0, [&](std::size_t f) { return in_row(f, row); });
    }
    for (std::size_t k = 0; k < s_.current_sources.size(); ++k) {
      const TwoEnds& e = s_.current_sources[k];
      put(ValueList::amps, k, -1.0, [&](std::size_t f) {
        return through(f, e, figures_[f].by_amps.current_sources[k]);
      });
    }
  }

  /// A coil's current is an unknown. What its ends carry beside it, and its own
  /// equation, move with its numbers.
  void put_coils() {
    for (std::size_t k = 0; k < s_.inductors.size(); ++k) {
      const TwoEnds& e = s_.inductors[k];
      const int row = layout_.inductors[k].branch.number;
      const auto coil = varied(values_.coils[k]);
      const double volts = node_volts(x_.x, e.a) - node_volts(x_.x, e.b);
      const double amps = x_.x[row];
      put(ValueList::coils, k, coil.terminal_amps(volts, amps),
          [&](std::size_t f) { return through(f, e); });
      put(ValueList::coils, k, coil.ohms * amps,
          [&](std::size_t f) { return in_row(f, row); });
    }
  }

  /// Of the junction's law i(u) and u = v - rs i, as in the stamp.
  void put_diodes() {
    for (std::size_t k = 0; k < s_.diodes.size(); ++k) {
      const auto device = varied(values_.diodes[k], network_.celsius);
      const double amps = evaluated(devices_.diodes.devices()[k], x_.diodes[k]).amps;
      const auto moving = x_.diodes[k] + (device.rs.value - device.rs) * amps;
      const auto found = evaluated(device, moving);
      const double share = 1.0 / (1.0 + device.rs.value * found.siemens.value);
      put(ValueList::diodes, k, found.amps, [&](std::size_t f) {
        return share * through(f, s_.diodes[k], figures_[f].by_amps.diodes[k]);
      });
    }
  }

  void put_bipolars() {
    for (std::size_t k = 0; k < s_.bipolars.size(); ++k) {
      const auto device = varied(values_.bipolars[k], network_.celsius);
      const auto found = evaluated(device, BipolarVolts<DualOf<BipolarModel>>{
                                               x_.bipolars[k].be, x_.bipolars[k].bc});
      const auto into_end = [&](int end) {
        return [&, end](std::size_t f) {
          return device.sign.value *
                 into(f, s_.bipolars[k], end, 2, figures_[f].by_amps.bipolars[k]);
        };
      };
      put(ValueList::bipolars, k, found.collector, into_end(0));
      put(ValueList::bipolars, k, found.base, into_end(1));
    }
  }

  /// Of the channel's law and what its resistances leave of the voltages, as in the
  /// stamp.
  void put_mosfets() {
    using Number = DualOf<MosModel>;
    for (std::size_t k = 0; k < s_.mosfets.size(); ++k) {
      const auto device = varied(values_.mosfets[k], network_.celsius);
      const MosAt& t = devices_.mosfets.devices()[k];
      const MosConduction there = evaluated(t, x_.mosfets[k]);
      const Number source = t.rs - device.rs;
      const Number both = t.rd - device.rd + source;
      const MosVolts<Number> moving{x_.mosfets[k].gs + source * there.drain,
                                    x_.mosfets[k].ds + both * there.drain};
      const auto found = evaluated(device, moving);
      const double share = t.sign * share_behind_resistances(t, there);
      put(ValueList::mosfets, k, found.drain, [&](std::size_t f) {
        return share * into(f, s_.mosfets[k], 0, 2, figures_[f].by_amps.mosfets[k]);
      });
    }
  }

  void put_regulators() {
    for (std::size_t k = 0; k < s_.regulators.size(); ++k) {
      const auto device = varied(values_.regulators[k]);
      const RegulatorDrive<double>& at = x_.regulators[k];
      const auto found = evaluated(
          device, RegulatorDrive<DualOf<RegulatorModel>>{at.in, at.out, at.amps});
      const int row = layout_.regulators[k].number;
      put(ValueList::regulators, k, -found.pass.error,
          [&](std::size_t f) { return in_row(f, row); });
      put(ValueList::regulators, k, found.quiescent.amps, [&](std::size_t f) {
        return into(f, s_.regulators[k], 0, 1, figures_[f].by_amps.regulators[k]);
      });
    }
  }

  const Layout& layout_;
  const Structure& s_;
  const Memory& x_;
  const Devices& devices_;
  const Network& network_;
  const Values& values_;
  const std::vector<Differential>& figures_;
  const std::vector<double>& y_;
  Slopes slopes_;
};

}  // namespace

struct Sensitivities::Impl {
  explicit Impl(std::shared_ptr<const Structure> structure)
      : s(std::move(structure)), newton(s, false) {}

  std::shared_ptr<const Structure> s;
  Newton newton;
};

Sensitivities::Sensitivities(std::shared_ptr<const Structure> structure) {
  if (!structure || structure->nodes.empty())
    throw std::invalid_argument("sensitivities need a structure with ground");
  impl_ = std::make_unique<Impl>(std::move(structure));
}

Sensitivities::~Sensitivities() = default;
Sensitivities::Sensitivities(Sensitivities&&) noexcept = default;
Sensitivities& Sensitivities::operator=(Sensitivities&&) noexcept = default;

std::optional<Slopes> Sensitivities::at(const Network& network,
                                        const Solution& solution,
                                        const std::vector<Differential>& figures) {
  const Structure& s = *impl_->s;
  Newton& newton = impl_->newton;
  if (network.structure != impl_->s)
    throw std::invalid_argument("sensitivities of a network of another structure");
  check_network(network);
  if (!newton.fits(solution))
    throw std::invalid_argument("sensitivities at no solution of the structure");
  for (const Differential& figure : figures) {
    if (!fits(s, figure)) throw std::invalid_argument("a figure of another structure");
  }
  newton.bind(network);
  newton.start_on(solution);
  const auto size = static_cast<std::size_t>(newton.layout().size);
  std::vector<double> by_unknowns(size * figures.size(), 0.0);
  const ByUnknowns sides(newton, network.values);
  for (std::size_t f = 0; f < figures.size(); ++f)
    sides.put(figures[f], {by_unknowns, figures.size(), f});
  std::vector<double> y(by_unknowns.size());
  const int singular = newton.matrix().solve_transposed(
      newton.jacobian().data(), static_cast<int>(figures.size()), by_unknowns.data(),
      y.data());
  const auto is_finite = [](double value) { return std::isfinite(value); };
  if (singular >= 0 || !std::all_of(y.begin(), y.end(), is_finite)) return std::nullopt;
  return ByValues(newton, network, figures, y).slopes();
}

}  // namespace benchproof
