#include "core/network/lower.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <string>
#include <utility>
#include <variant>

#include "core/device/constants.h"

namespace benchproof {
namespace {

/// The junction that stands for a switch-like ideal diode. An ideal source before it
/// makes up the rest of the drop, such that the two hold it exactly at kSharpAmps:
/// within 3 uV from 1 uA to 10 A.
constexpr double kSharpEmission = 1e-5;
constexpr double kSharpSaturation = 1e-12;  // ampere
constexpr double kSharpAmps = 1e-2;

/// Forward drop of a zener given by its voltage alone. Kuphaldt, Lessons In Electric
/// Circuits vol. III ch. 3 (silicon diode in hand analysis).
constexpr double kZenerForward = 0.7;  // volt

/// Leads and bond wires of a real junction, where its fitted curve has no series
/// resistance: without any, one straight across a supply would draw a current without
/// measure. From memory (the order of usual models of small diodes).
constexpr double kLeadOhms = 1e-2;

/// A trimmer's end keeps this share of its value, but at least one ohm.
constexpr double kTrimmerEndShare = 1e-3;
constexpr double kTrimmerEndOhms = 1.0;

/// What a dark junction of a real part still passes, where the catalogue states nothing
/// else: 10 nA at 10 V, the order of what sheets allow (1N4148 25 nA at 20 V, BC547 15
/// nA at 30 V; from memory). Without it a net between two blocking junctions, a string
/// of LEDs above a transistor that is off, has no voltage that two solvers could agree
/// on.
constexpr double kNoLeakOhms = 1e9;

/// What lies in the base of a real small transistor: without it a base joined straight
/// to a supply would draw a current without measure. From memory (usual models of
/// 2N3904 and 2N2222).
constexpr double kBaseOhms = 10.0;

/// What leaks past the junctions of a part without a type (given by model, drop or
/// voltage): 0.1 nA at 10 V, below what a textbook's figures show, and enough that a
/// net between two blocking junctions has a voltage both witnesses can tell. Into an
/// ideal base or gate, which may hang on megohms, leaks less.
constexpr double kIdealLeakOhms = 1e11;
constexpr double kIdealBaseOhms = 1e12;
constexpr double kIdealGateOhms = 1e13;

/// Makes elements of one part after the other. Ends are given as nodes; an end that is
/// a pin of the part is remembered as such.
class Lowering {
 public:
  Lowering(const Circuit& circuit, const State& state)
      : circuit_(circuit), state_(state), parts_(parts_in(circuit, state)) {
    for (const Net& net : circuit.nets) s_.nodes.push_back(net.name);
    if (s_.nodes.empty()) s_.nodes.emplace_back("ground");
    s_.nets = static_cast<int>(s_.nodes.size());
  }

  Network run(std::shared_ptr<const Structure> known) {
    for (std::size_t k = 0; k < parts_.size(); ++k) {
      part_ = &parts_[k];
      index_ = static_cast<int>(k);
      add_part();
    }
    Network network;
    network.structure = known && is_same(*known, s_)
                            ? std::move(known)
                            : std::make_shared<const Structure>(std::move(s_));
    network.values = std::move(v_);
    network.celsius = circuit_.ambient;
    return network;
  }

 private:
  // --- what the current part says -------------------------------------------------

  [[nodiscard]] double number(std::string_view key, double otherwise) const {
    const std::optional<Figure> f = figure(*part_, key);
    return f ? f->value : otherwise;
  }
  [[nodiscard]] bool has(std::string_view key) const {
    return part_->settings.find(key) != part_->settings.end();
  }
  /// The device model as written, else the type's.
  template <class Model>
  [[nodiscard]] Model model() const {
    if (const auto it = part_->settings.find("model"); it != part_->settings.end()) {
      if (const auto* device = std::get_if<DeviceModel>(&it->second.value)) {
        if (const auto* m = std::get_if<Model>(device)) return *m;
      }
    }
    for (const Type* type : {part_->type, part_->defaults}) {
      if (type == nullptr) continue;
      if (const auto* m = std::get_if<Model>(&type->model)) return *m;
    }
    assert(false && "the reader lets no part through without its device model");
    return {};
  }

  // --- nodes ----------------------------------------------------------------------

  /// The node of a pin. A left-open pin gets a node of its own.
  int pin(int k) {
    const int net = part_->nets[k];
    if (net >= 0) return net;
    return inner(part_->pins[k]);
  }
  int inner(std::string_view what) {
    s_.nodes.push_back(part_->name + ":" + std::string(what));
    return static_cast<int>(s_.nodes.size()) - 1;
  }

  // --- elements -------------------------------------------------------------------

  [[nodiscard]] Origin origin(int a, int b, int c = -1) const {
    return {index_, {a, b, c}};
  }
  /// Ends of an element: a node and the pin it is, -1 for an inner node.
  struct End {
    int node = 0;
    int pin = -1;
  };
  End at(int k) { return {pin(k), k}; }
  End inside(std::string_view what) { return {inner(what), -1}; }

  void resistor(End a, End b, double ohms) {
    s_.resistors.push_back({a.node, b.node, origin(a.pin, b.pin)});
    v_.ohms.push_back(ohms);
  }
  void capacitor(End a, End b, double farads) {
    s_.capacitors.push_back({a.node, b.node, origin(a.pin, b.pin)});
    v_.farads.push_back(farads);
  }
  void inductor(End a, End b, double henries) {
    s_.inductors.push_back({a.node, b.node, origin(a.pin, b.pin)});
    v_.henries.push_back(henries);
  }
  void voltage_source(End plus, End minus, double volts) {
    s_.voltage_sources.push_back({plus.node, minus.node, origin(plus.pin, minus.pin)});
    v_.volts.push_back(volts);
  }
  void current_source(End plus, End minus, double amps) {
    s_.current_sources.push_back({plus.node, minus.node, origin(plus.pin, minus.pin)});
    v_.amps.push_back(amps);
  }
  void diode(End anode, End cathode, DiodeModel m) {
    if (m.n < kLeastRealEmission) m.tnom = circuit_.ambient;
    if (part_->type != nullptr) m.rs = std::max(m.rs, kLeadOhms);
    s_.diodes.push_back({anode.node, cathode.node, origin(anode.pin, cathode.pin)});
    v_.diodes.push_back(m);
  }
  /// Blocks below `drop`, holds it above, `slope` in series.
  void constant_drop(End anode, End cathode, double drop, double slope,
                     std::string_view name) {
    const End middle = inside(name);
    const double own = kSharpEmission * thermal_voltage(circuit_.ambient) *
                       std::log1p(kSharpAmps / kSharpSaturation);
    voltage_source(anode, middle, drop - own);
    DiodeModel sharp;
    sharp.is = kSharpSaturation;
    sharp.n = kSharpEmission;
    sharp.rs = slope;
    diode(middle, cathode, sharp);
  }

  /// What leaks from one pin of a semiconductor to another.
  void leak(End a, End b, double ideal_ohms = kIdealLeakOhms) {
    resistor(
        a, b,
        part_->type == nullptr ? ideal_ohms : number("leak_resistance", kNoLeakOhms));
  }

  // --- parts ----------------------------------------------------------------------

  /// No current can flow through a part of which fewer than two pins stand on a net;
  /// nor would what it is made of say at which voltage its open pins lie.
  [[nodiscard]] bool hangs() const {
    return std::count_if(part_->nets.begin(), part_->nets.end(),
                         [](int net) { return net >= 0; }) < 2;
  }

  void add_part() {
    if (hangs()) return;
    switch (part_->kind) {
      case KindId::resistor:
      case KindId::light_resistor:
      case KindId::heat_resistor:
        return resistor(at(0), at(1), number("value", kNoLeakOhms));
      case KindId::trimmer:
        return add_trimmer();
      case KindId::capacitor:
        return add_capacitor();
      case KindId::inductor:
        return add_inductor();
      case KindId::diode:
      case KindId::led:
        return add_diode();
      case KindId::zener:
        return add_zener();
      case KindId::transistor:
        return add_transistor();
      case KindId::mosfet:
        return add_mosfet();
      case KindId::regulator:
        return add_regulator();
      case KindId::switch_:
        return add_switch();
      case KindId::controller:
        return add_controller();
      case KindId::dc_supply:
        return add_supply();
      case KindId::battery:
        return add_battery();
      case KindId::fuse:
        return resistor(at(0), at(1), number("resistance", 0.1));
      case KindId::lamp:
      case KindId::motor:
      case KindId::relay_coil:
      case KindId::buzzer:
        return resistor(at(0), at(1), number("voltage", 1.0) / number("current", 1.0));
      case KindId::wire:
        return add_wire();
      case KindId::voltage_source:
        return voltage_source(at(0), at(1), number("voltage", 0.0));
      case KindId::current_source:
        return current_source(at(0), at(1), number("current", 0.0));
    }
  }

  void add_trimmer() {
    const double value = number("value", 1.0);
    const double turn = number("turn", 0.5);
    const double end = std::max(kTrimmerEndShare * value, kTrimmerEndOhms);
    const End wiper = at(1);
    resistor(at(0), wiper, std::max(turn * value, end));
    resistor(wiper, at(2), std::max((1.0 - turn) * value, end));
  }

  void add_capacitor() {
    const double esr = number("esr", 0.0);
    if (esr == 0.0) return capacitor(at(0), at(1), number("value", 1.0));
    const End middle = inside("plate");
    resistor(at(0), middle, esr);
    capacitor(middle, at(1), number("value", 1.0));
  }

  void add_inductor() {
    const double dcr = number("dcr", 0.0);
    if (dcr == 0.0) {
      // Shorted by its net it takes part in nothing, and no equation tells its current.
      if (part_->nets[0] == part_->nets[1]) return;
      return inductor(at(0), at(1), number("value", 1.0));
    }
    const End middle = inside("winding");
    resistor(at(0), middle, dcr);
    inductor(middle, at(1), number("value", 1.0));
  }

  void add_diode() {
    const End anode = at(0);
    const End cathode = at(1);
    leak(anode, cathode);
    if (has("drop")) {
      return constant_drop(anode, cathode, number("drop", 0.0), number("slope", 0.0),
                           "drop");
    }
    diode(anode, cathode, model<DiodeModel>());
  }

  void add_zener() {
    const End anode = at(0);
    const End cathode = at(1);
    leak(anode, cathode);
    if (!has("voltage")) return diode(anode, cathode, model<DiodeModel>());
    constant_drop(cathode, anode, number("voltage", 1.0), number("slope", 0.0),
                  "breakdown");
    constant_drop(anode, cathode, kZenerForward, 0.0, "forward");
  }

  void add_transistor() {
    auto m = model<BipolarModel>();
    if (is_ideal(m)) m.tnom = circuit_.ambient;
    const End base = at(0);
    const End collector = at(1);
    const End emitter = at(2);
    leak(collector, emitter);
    leak(base, emitter, kIdealBaseOhms);
    End inner_base = base;
    if (part_->type != nullptr) {
      inner_base = inside("base");
      resistor(base, inner_base, kBaseOhms);
    }
    s_.bipolars.push_back({{collector.node, inner_base.node, emitter.node},
                           origin(collector.pin, inner_base.pin, emitter.pin)});
    v_.bipolars.push_back(m);
  }

  void add_mosfet() {
    const auto m = model<MosModel>();
    const End gate = at(0);
    const End drain = at(1);
    const End source = at(2);
    End channel_drain = drain;
    End channel_source = source;
    if (m.rd > 0.0) {
      channel_drain = inside("drain");
      resistor(drain, channel_drain, m.rd);
    }
    if (m.rs > 0.0) {
      channel_source = inside("source");
      resistor(source, channel_source, m.rs);
    }
    s_.mosfets.push_back({{channel_drain.node, gate.node, channel_source.node},
                          origin(channel_drain.pin, gate.pin, channel_source.pin)});
    v_.mosfets.push_back(m);
    leak(gate, source, kIdealGateOhms);
    leak(drain, source);
    if (m.body) {
      m.is_p_channel ? diode(drain, source, *m.body) : diode(source, drain, *m.body);
    }
  }

  void add_regulator() {
    RegulatorModel m;
    m.output = number("output", m.output);
    m.dropout = number("dropout", m.dropout);
    m.limit = number("limit", m.limit);
    m.quiescent = number("quiescent", m.quiescent);
    m.resistance = number("resistance", m.resistance);
    m.line = number("line", m.line);
    m.line_reference = number("line_reference", m.line_reference);
    m.is_negative = word(*part_, "polarity") == "negative";
    const End in = at(0);
    const End common = at(1);
    const End out = at(2);
    s_.regulators.push_back(
        {{in.node, common.node, out.node}, origin(in.pin, common.pin, out.pin)});
    v_.regulators.push_back(m);
  }

  void add_switch() {
    const auto closed = state_.closed.find(index_);
    const bool is_closed = closed != state_.closed.end() && closed->second;
    resistor(at(0), at(1),
             is_closed ? number("resistance", 1e-2)
                       : number("leak_resistance", kNoLeakOhms));
  }

  void add_controller() {
    const End vdd = at(0);
    const End vss = at(1);
    // The chip's own draw as a resistance: it takes `draw` at its nominal supply, which
    // lies a tenth below the top of its range (5 V of 5.5 V, 3.3 V of 3.6 V).
    const double draw = number("draw", 0.0);
    if (draw > 0.0) resistor(vdd, vss, number("supply_max", 5.5) / 1.1 / draw);
    const double leak = number("leak_resistance", kNoLeakOhms);
    const auto clamp = model<DiodeModel>();
    const std::vector<std::string> outputs = names("outputs");
    for (int k = 2; k < static_cast<int>(part_->pins.size()); ++k) {
      const End end = at(k);
      if (std::find(outputs.begin(), outputs.end(), part_->pins[k]) != outputs.end()) {
        const auto level = output(state_, {index_, k}).level;
        assert(level != OutputSetting::Level::pwm && "PWM is taken apart by phases()");
        resistor(vdd, end,
                 level == OutputSetting::Level::high ? number("resistance_high", leak)
                                                     : leak);
        resistor(
            end, vss,
            level == OutputSetting::Level::low ? number("resistance_low", leak) : leak);
      } else {
        resistor(end, vss, leak);
      }
      diode(end, vdd, clamp);
      diode(vss, end, clamp);
    }
  }

  [[nodiscard]] std::vector<std::string> names(std::string_view key) const {
    const auto it = part_->settings.find(key);
    if (it == part_->settings.end()) return {};
    const auto* list = std::get_if<std::vector<std::string>>(&it->second.value);
    return list == nullptr ? std::vector<std::string>{} : *list;
  }

  void add_supply() {
    const double volts = number("voltage", 0.0);
    if (flag(*part_, "regulated", true)) return voltage_source(at(0), at(1), volts);
    const double no_load = number("no_load", volts);
    behind_resistance(no_load, (no_load - volts) / number("current", 1.0));
  }

  void add_battery() {
    const double cells = number("cells", 1.0);
    behind_resistance(cells * number("open_circuit", 0.0),
                      cells * number("resistance", 0.0));
  }

  void behind_resistance(double volts, double ohms) {
    if (!(ohms > 0.0)) return voltage_source(at(0), at(1), volts);
    const End source = inside("source");
    resistor(source, at(0), ohms);
    voltage_source(source, at(1), volts);
  }

  void add_wire() {
    const double resistivity =
        number("resistivity_ohm_metres", 1.7241e-8) *
        (1.0 + number("resistivity_drift_per_kelvin", 0.0) * (circuit_.ambient - 20.0));
    resistor(at(0), at(1), resistivity * number("length", 1.0) / number("gauge", 1e-6));
  }

  // --- one structure or another -----------------------------------------------------

  static bool is_same(const Structure& a, const Structure& b) {
    const auto same_two = [](const std::vector<TwoEnds>& x,
                             const std::vector<TwoEnds>& y) {
      return std::equal(x.begin(), x.end(), y.begin(), y.end(),
                        [](const TwoEnds& p, const TwoEnds& q) {
                          return p.a == q.a && p.b == q.b &&
                                 p.origin.part == q.origin.part &&
                                 p.origin.pins == q.origin.pins;
                        });
    };
    const auto same_three = [](const std::vector<ThreeEnds>& x,
                               const std::vector<ThreeEnds>& y) {
      return std::equal(x.begin(), x.end(), y.begin(), y.end(),
                        [](const ThreeEnds& p, const ThreeEnds& q) {
                          return p.ends == q.ends && p.origin.part == q.origin.part &&
                                 p.origin.pins == q.origin.pins;
                        });
    };
    return a.nodes == b.nodes && a.nets == b.nets &&
           same_two(a.resistors, b.resistors) && same_two(a.capacitors, b.capacitors) &&
           same_two(a.inductors, b.inductors) &&
           same_two(a.voltage_sources, b.voltage_sources) &&
           same_two(a.current_sources, b.current_sources) &&
           same_two(a.diodes, b.diodes) && same_three(a.bipolars, b.bipolars) &&
           same_three(a.mosfets, b.mosfets) && same_three(a.regulators, b.regulators);
  }

  const Circuit& circuit_;
  const State& state_;
  std::vector<Part> parts_;
  const Part* part_ = nullptr;
  int index_ = 0;
  Structure s_;
  Values v_;
};

}  // namespace

Network lower(const Circuit& circuit, const State& state,
              std::shared_ptr<const Structure> structure) {
  return Lowering(circuit, state).run(std::move(structure));
}

Observation observe(const Circuit& circuit, const Network& network,
                    const Solution& solution) {
  const Structure& s = *network.structure;
  const Currents& c = solution.currents;
  Observation seen;
  seen.net_volts.assign(solution.volts.begin(), solution.volts.begin() + s.nets);
  for (const Part& part : circuit.parts)
    seen.pin_amps.emplace_back(part.pins.size(), 0.0);
  const auto add = [&](const Origin& origin, int end, double amps) {
    if (origin.part < 0 || origin.pins[end] < 0) return;
    seen.pin_amps[origin.part][origin.pins[end]] += amps;
  };
  const auto two = [&](const std::vector<TwoEnds>& elements,
                       const std::vector<double>& amps) {
    for (std::size_t k = 0; k < elements.size(); ++k) {
      add(elements[k].origin, 0, amps[k]);
      add(elements[k].origin, 1, -amps[k]);
    }
  };
  const auto three = [&](const std::vector<ThreeEnds>& elements,
                         const std::vector<std::array<double, 3>>& amps) {
    for (std::size_t k = 0; k < elements.size(); ++k) {
      for (int end = 0; end < 3; ++end) add(elements[k].origin, end, amps[k][end]);
    }
  };
  two(s.resistors, c.resistors);
  two(s.capacitors, c.capacitors);
  two(s.inductors, c.inductors);
  two(s.voltage_sources, c.voltage_sources);
  two(s.current_sources, c.current_sources);
  two(s.diodes, c.diodes);
  three(s.bipolars, c.bipolars);
  three(s.mosfets, c.mosfets);
  three(s.regulators, c.regulators);
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    double watts = 0.0;
    for (std::size_t p = 0; p < part.pins.size(); ++p) {
      const int net = part.nets[p];
      if (net < 0) {
        seen.pin_amps[k][p] = 0.0;
        continue;
      }
      watts += seen.net_volts[net] * seen.pin_amps[k][p];
    }
    seen.part_watts.push_back(watts);
  }
  return seen;
}

Observation average(const std::vector<Observation>& observations,
                    const std::vector<double>& shares) {
  assert(observations.size() == shares.size());
  Observation mean;
  for (std::size_t k = 0; k < observations.size(); ++k) {
    const Observation& o = observations[k];
    mean.net_volts.resize(o.net_volts.size());
    mean.part_watts.resize(o.part_watts.size());
    mean.pin_amps.resize(o.pin_amps.size());
    for (std::size_t n = 0; n < o.net_volts.size(); ++n) {
      mean.net_volts[n] += shares[k] * o.net_volts[n];
    }
    for (std::size_t p = 0; p < o.part_watts.size(); ++p) {
      mean.part_watts[p] += shares[k] * o.part_watts[p];
      mean.pin_amps[p].resize(o.pin_amps[p].size());
      for (std::size_t q = 0; q < o.pin_amps[p].size(); ++q) {
        mean.pin_amps[p][q] += shares[k] * o.pin_amps[p][q];
      }
    }
  }
  return mean;
}

}  // namespace benchproof
