#include "core/network/plan.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <optional>
#include <string>
#include <utility>
#include <variant>

#include "core/base/quick_key.h"
#include "core/circuit/capacitance.h"
#include "core/circuit/topology.h"
#include "core/device/constants.h"
#include "core/network/part_elements.h"

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

/// What an electrolytic leaks, where electrolytics in series share a voltage by nothing
/// else: 0.01 C V a second, or 3 uA by sheets (memory), most of them less. In reverse
/// its oxide conducts as a junction does. Second: ohms times farads; ohm.
constexpr double kOxideSeconds = 100.0;
constexpr double kOxideOhms = 0.1;

/// A wound coil's loss, where nobody tells it: so many times the reactance at which it
/// resonates with a winding's stray capacitance, so that its ringing dies within some
/// periods, as a real one's does. Common practice, no source.
constexpr double kLossFactor = 3.0;
constexpr double kWindingFarads = 20e-12;

/// L / R of coils whose inductance nobody tells: a small relay's armature released, a
/// small motor's winding by its running current. From memory (0.1 H at 70 ohm; 2 mH at
/// 20 ohm).
constexpr double kRelaySeconds = 1.5e-3;
constexpr double kMotorSeconds = 1e-4;

/// A small motor without its load's inertia is up to speed after so long. Common
/// practice, no source.
constexpr double kMotorStartSeconds = 0.1;

/// Ohm.
double usual_loss(double henries) {
  return kLossFactor * std::sqrt(henries / kWindingFarads);
}

/// Makes the elements of one part after the other: their values, and in a plan under
/// construction their ends too. So a kind of part is written once, whether it is
/// planned or filled. Ends are given as nodes; an end that is a pin of the part is
/// remembered as such.
class Lowering {
 public:
  /// `structure` is the one to be made; null where only values are filled in.
  Lowering(const Circuit& circuit, const State& state, Purpose purpose,
           Structure* structure, Values& values)
      : circuit_(circuit),
        purpose_(purpose),
        state_(&state),
        structure_(structure),
        values_(&values) {
    if (structure_ == nullptr) return;
    for (const Net& net : circuit.nets) structure_->nodes.push_back(net.name);
    if (structure_->nodes.empty()) structure_->nodes.emplace_back("ground");
    structure_->nets = static_cast<int>(structure_->nodes.size());
  }

  /// The elements of a part; their values begin at `first` of each list, where those
  /// that are there already are overwritten.
  PartPlan run(int index, const Part& part,
               const std::array<std::size_t, kValueLists>& first) {
    part_ = &part;
    index_ = index;
    made_ = {first, {}, 1};
    add_part();
    return made_;
  }

 private:
  // --- what the current part says -------------------------------------------------

  [[nodiscard]] double number(std::string_view key, double otherwise) const {
    return number_of(*part_, key).value_or(otherwise);
  }
  [[nodiscard]] bool has(std::string_view key) const {
    return part_->settings.contains(QuickKey{key});
  }
  /// A question whose answer decides which elements there are, or how they are joined.
  bool choose(bool answer) {
    made_.shape = 2 * made_.shape + (answer ? 1 : 0);
    return answer;
  }
  /// The device model as written, else the type's.
  template <class Model>
  [[nodiscard]] Model model() const {
    if (const auto it = part_->settings.find(QuickKey{"model"});
        it != part_->settings.end()) {
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
    if (structure_ == nullptr) return 0;
    structure_->nodes.push_back(part_->name + ":" + std::string(what));
    return static_cast<int>(structure_->nodes.size()) - 1;
  }

  // --- elements -------------------------------------------------------------------

  /// Ends of an element: a node and the pin it is, -1 for an inner node.
  struct End {
    int node = 0;
    int pin = -1;
  };
  End at(int k) { return {pin(k), k}; }
  End inside(std::string_view what) { return {inner(what), -1}; }

  void add_two(std::vector<TwoEnds> Structure::*list, End a, End b) {
    if (structure_ == nullptr) return;
    (structure_->*list).push_back({a.node, b.node, {index_, {a.pin, b.pin, -1}}});
  }
  void add_three(std::vector<ThreeEnds> Structure::*list, End a, End b, End c) {
    if (structure_ == nullptr) return;
    (structure_->*list)
        .push_back({{a.node, b.node, c.node}, {index_, {a.pin, b.pin, c.pin}}});
  }
  template <typename Value>
  void put(ValueList list, std::vector<Value>& values, const Value& value) {
    const auto which = static_cast<std::size_t>(list);
    const std::size_t slot = made_.first[which] + made_.count[which]++;
    if (slot < values.size())
      values[slot] = value;
    else
      values.push_back(value);
  }

  void resistor(End a, End b, double ohms) {
    add_two(&Structure::resistors, a, b);
    put(ValueList::ohms, values_->ohms, ohms);
  }
  void capacitor(End a, End b, double farads) {
    add_two(&Structure::capacitors, a, b);
    put(ValueList::farads, values_->farads, farads);
  }
  /// What stands beside a junction or a pin while time passes.
  void stray(End a, End b, double farads) {
    if (purpose_ == Purpose::rest || !choose(farads > 0.0)) return;
    add_two(&Structure::strays, a, b);
    put(ValueList::stray_farads, values_->stray_farads, farads);
  }
  void coil(End a, End b, const CoilModel& m) {
    add_two(&Structure::inductors, a, b);
    put(ValueList::coils, values_->coils, m);
  }
  void voltage_source(End plus, End minus, double volts) {
    add_two(&Structure::voltage_sources, plus, minus);
    put(ValueList::volts, values_->volts, volts);
  }
  void current_source(End plus, End minus, double amps) {
    add_two(&Structure::current_sources, plus, minus);
    put(ValueList::amps, values_->amps, amps);
  }
  void diode(End anode, End cathode, DiodeModel m) {
    if (m.n < kLeastRealEmission) m.tnom = circuit_.ambient;
    if (part_->type != nullptr) m.rs = std::max(m.rs, kLeadOhms);
    add_two(&Structure::diodes, anode, cathode);
    put(ValueList::diodes, values_->diodes, m);
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

  /// What joins a group of nets that is apart from ground to it. It carries nothing, so
  /// that how much it is does not matter.
  void tie_to_ground() {
    constexpr double kTieOhms = 1.0;
    const auto& zeros = circuit_.local_zeros;
    const bool is_tied = std::any_of(zeros.begin(), zeros.end(),
                                     [this](LocalZero z) { return z.part == index_; });
    if (is_tied) resistor(at(1), {0, -1}, kTieOhms);
  }

  void add_part() {
    if (hangs()) return;
    tie_to_ground();
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
      case KindId::buzzer:
        return resistor(at(0), at(1), rated_ohms());
      case KindId::relay_coil:
        return add_coil_load(rated_ohms(), kRelaySeconds);
      case KindId::motor:
        return add_motor();
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

  /// What lets a current past an electrolytic that others in series depend on.
  void add_oxide() {
    if (!choose(is_in_series_electrolytic(circuit_, *part_))) return;
    resistor(at(0), at(1), std::min(kOxideSeconds / number("value", 1.0), kNoLeakOhms));
    DiodeModel oxide;
    oxide.rs = kOxideOhms;
    diode(at(1), at(0), oxide);
  }

  void add_capacitor() {
    add_oxide();
    const double esr = number("esr", 0.0);
    if (!choose(esr != 0.0)) return capacitor(at(0), at(1), number("value", 1.0));
    const End middle = inside("plate");
    resistor(at(0), middle, esr);
    capacitor(middle, at(1), number("value", 1.0));
  }

  void add_inductor() {
    CoilModel m;
    m.henries = number("value", 1.0);
    m.ohms = number("dcr", 0.0);
    // Shorted by its net it takes part in nothing, and no equation tells its current.
    const bool is_wound = choose(m.ohms != 0.0);
    if (!is_wound && part_->nets[0] == part_->nets[1]) return;
    // One without a resistance is a textbook's, and without loss too unless told.
    if (has("loss") || is_wound) m.siemens = core_siemens(m.henries);
    coil(at(0), at(1), m);
  }

  [[nodiscard]] double core_siemens(double henries) const {
    return 1.0 / number("loss", usual_loss(henries));
  }
  /// Of a relay coil or motor: `otherwise` where no inductance is told.
  [[nodiscard]] CoilModel winding(double ohms, double otherwise) const {
    const double henries = number("inductance", otherwise);
    return {henries, ohms, core_siemens(henries)};
  }

  /// Relay coils and motors: `ohms` at rest.
  void add_coil_load(double ohms, double seconds) {
    if (purpose_ == Purpose::rest) return resistor(at(0), at(1), ohms);
    coil(at(0), at(1), winding(ohms, ohms * seconds));
  }

  [[nodiscard]] double rated_ohms() const {
    return number("voltage", 1.0) / number("current", 1.0);
  }

  /// In runs the rotor's inertia is a capacitor that charges to the voltage the motor
  /// turns against, and what it drives a resistance beside it: it starts at
  /// `start_current` and comes to rest at `current`.
  void add_motor() {
    const double ohms = rated_ohms();
    const double start = number("start_current", 0.0);
    if (purpose_ == Purpose::rest || !choose(start > 0.0))
      return add_coil_load(ohms, kMotorSeconds);
    const double standing = number("voltage", 1.0) / start;
    const End rotor = inside("rotor");
    coil(at(0), rotor, winding(standing, ohms * kMotorSeconds));
    const double load = ohms - standing;
    resistor(rotor, at(1), load);
    // It is there within a twentieth after three time constants.
    const double seconds = number("start_time", kMotorStartSeconds) / 3.0;
    capacitor(rotor, at(1), seconds * ohms / (standing * load));
  }

  void add_diode() {
    const End anode = at(0);
    const End cathode = at(1);
    leak(anode, cathode);
    stray(anode, cathode, junction_farads(*part_));
    if (choose(has("drop"))) {
      return constant_drop(anode, cathode, number("drop", 0.0), number("slope", 0.0),
                           "drop");
    }
    diode(anode, cathode, model<DiodeModel>());
  }

  /// A zener whose breakdown has moved with the temperature, by as much at any current.
  [[nodiscard]] DiodeModel drifted(DiodeModel m) const {
    const double at_test = m.bv + m.ibv * m.rs;
    m.bv +=
        number("voltage_drift_per_kelvin", 0.0) * at_test * (circuit_.ambient - m.tnom);
    return m;
  }

  void add_zener() {
    const End anode = at(0);
    const End cathode = at(1);
    leak(anode, cathode);
    stray(anode, cathode, junction_farads(*part_));
    if (!choose(has("voltage")))
      return diode(anode, cathode, drifted(model<DiodeModel>()));
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
    End inner_collector = collector;
    if (choose(m.rc > 0.0)) {
      inner_collector = inside("collector");
      resistor(collector, inner_collector, m.rc);
    }
    End inner_base = base;
    if (choose(part_->type != nullptr)) {
      inner_base = inside("base");
      resistor(base, inner_base, kBaseOhms);
    }
    add_three(&Structure::bipolars, inner_collector, inner_base, emitter);
    put(ValueList::bipolars, values_->bipolars, m);
    const BipolarFarads farads = bipolar_farads(*part_);
    stray(inner_base, emitter, farads.base_emitter);
    stray(inner_base, inner_collector, farads.base_collector);
  }

  void add_mosfet() {
    const auto m = model<MosModel>();
    const End gate = at(0);
    const End drain = at(1);
    const End source = at(2);
    add_three(&Structure::mosfets, drain, gate, source);
    put(ValueList::mosfets, values_->mosfets, m);
    leak(gate, source, kIdealGateOhms);
    leak(drain, source);
    const MosFarads farads = mos_farads(*part_);
    stray(gate, source, farads.gate_source);
    stray(gate, drain, farads.gate_drain);
    stray(drain, source, farads.drain_source);
    if (choose(m.body.has_value())) {
      choose(m.is_p_channel) ? diode(drain, source, *m.body)
                             : diode(source, drain, *m.body);
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
    m.is_negative = word_of(*part_, "polarity") == "negative";
    const End in = at(0);
    const End common = at(1);
    const End out = at(2);
    add_three(&Structure::regulators, in, common, out);
    put(ValueList::regulators, values_->regulators, m);
  }

  void add_switch() {
    const auto closed = state_->closed.find(index_);
    const bool is_closed = closed != state_->closed.end() && closed->second;
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
    const double top = number("operating_max", number("supply_max", 5.5));
    if (choose(draw > 0.0)) resistor(vdd, vss, top / 1.1 / draw);
    const double leak = number("leak_resistance", kNoLeakOhms);
    const auto clamp = model<DiodeModel>();
    const double farads = number("pin_capacitance", 0.0);
    for (int k = 2; k < static_cast<int>(part_->pins.size()); ++k) {
      const End end = at(k);
      if (is_output_pin(*part_, k)) {
        const auto level = output(*state_, {index_, k}).level;
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
      stray(end, vss, farads);
    }
  }

  void add_supply() {
    const double volts = number("voltage", 0.0);
    if (choose(flag(*part_, "regulated", true))) return regulated_supply(volts);
    const double no_load = number("no_load", volts);
    behind_resistance(no_load, (no_load - volts) / number("current", 1.0));
  }

  /// In runs it gives its voltage up to its limit, and that current beyond.
  void regulated_supply(double volts) {
    const std::optional<double> limit = supply_limit(*part_);
    if (purpose_ == Purpose::rest || !choose(limit.has_value()))
      return voltage_source(at(0), at(1), volts);
    const End source = inside("source");
    voltage_source(source, at(1), volts);
    RegulatorModel limiter;
    limiter.limit = *limit;
    limiter.follows = true;
    add_three(&Structure::regulators, source, at(1), at(0));
    put(ValueList::regulators, values_->regulators, limiter);
  }

  void add_battery() {
    const double cells = number("cells", 1.0);
    behind_resistance(cells * number("open_circuit", 0.0),
                      cells * number("resistance", 0.0));
  }

  void behind_resistance(double volts, double ohms) {
    if (!choose(ohms > 0.0)) return voltage_source(at(0), at(1), volts);
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

  const Circuit& circuit_;
  Purpose purpose_;
  const State* state_;
  Structure* structure_;
  Values* values_;
  const Part* part_ = nullptr;
  int index_ = 0;
  PartPlan made_;
};

void advance(std::array<std::size_t, kValueLists>& first, const PartPlan& made) {
  for (std::size_t list = 0; list < kValueLists; ++list)
    first[list] += made.count[list];
}

bool is_as_planned(const PartPlan& made, const PartPlan& planned) {
  return made.shape == planned.shape && made.count == planned.count;
}

/// How far apart two sets of values are, slot by slot, for each unit of `step`.
std::vector<Feed> differences(const Values& from, const Values& to, double step) {
  std::vector<Feed> rates;
  for_slots(from, to, [&](const Slot& slot, double before, double after) {
    // What is infinite does not move.
    rates.push_back({slot, before == after ? 0.0 : (after - before) / step});
  });
  return rates;
}

/// How the values move with a number around `present`: `fill(number, values)` fills
/// them in, and says whether the plan holds. Only slots that move are among them, and
/// none where it does not hold.
template <class Fill>
std::vector<Feed> slopes_of(const Values& values, double present, const Fill& fill) {
  // What lowering calculates is rational. Central differences at a step and at half of
  // it, of which the error that goes with the step's square is taken off, leave its
  // fourth power, 1e-12, and rounding, 1e-12 [Richardson's extrapolation].
  constexpr double kShare = 0x1p-10;
  const double step = present == 0.0 ? kShare : kShare * std::abs(present);
  const auto around = [&](double by) -> std::optional<std::vector<Feed>> {
    const double up = present + by;
    const double down = present - by;
    Values above = values;
    Values below = values;
    if (!fill(up, above) || !fill(down, below)) return std::nullopt;
    return differences(below, above, up - down);
  };
  const auto coarse = around(step);
  const auto fine = around(0.5 * step);
  std::vector<Feed> slopes;
  if (!coarse || !fine) return slopes;
  for (std::size_t k = 0; k < fine->size(); ++k) {
    const double rate = (4.0 * (*fine)[k].rate - (*coarse)[k].rate) / 3.0;
    if (rate != 0.0) slopes.push_back({(*fine)[k].slot, rate});
  }
  return slopes;
}

}  // namespace

std::optional<double> supply_limit(const Part& supply) {
  // Common practice, no source: usual limits lie at 1.1 to 1.5 times.
  constexpr double kShare = 1.3;
  const bool is_limited = supply.kind == KindId::dc_supply &&
                          flag(supply, "regulated", true) &&
                          word_of(supply, "limit") != "none";
  const std::optional<double> amps = number_of(supply, "current");
  if (!is_limited || !amps) return std::nullopt;
  return kShare * *amps;
}

Plan make_plan(const Circuit& circuit, const std::vector<Part>& parts,
               std::shared_ptr<const Structure> known, Purpose purpose) {
  Plan plan;
  plan.purpose = purpose;
  Structure structure;
  Values values;  // Of no state: only the elements count.
  State state;
  Lowering lowering(circuit, state, purpose, &structure, values);
  std::array<std::size_t, kValueLists> first{};
  for (std::size_t k = 0; k < parts.size(); ++k) {
    plan.parts.push_back(lowering.run(static_cast<int>(k), parts[k], first));
    advance(first, plan.parts.back());
  }
  plan.structure = known && *known == structure
                       ? std::move(known)
                       : std::make_shared<const Structure>(std::move(structure));
  return plan;
}

bool fill(const Plan& plan, const Circuit& circuit, const std::vector<Part>& parts,
          const State& state, Values& values) {
  values = {};
  Lowering lowering(circuit, state, plan.purpose, nullptr, values);
  for (std::size_t k = 0; k < parts.size(); ++k) {
    const PartPlan made =
        lowering.run(static_cast<int>(k), parts[k], plan.parts[k].first);
    if (!is_as_planned(made, plan.parts[k])) return false;
  }
  return true;
}

bool fill_part(const Plan& plan, const Circuit& circuit, const std::vector<Part>& parts,
               const State& state, int part, Values& values) {
  // Another shape would write into its neighbours' slots: it is made aside.
  Values own;
  Lowering lowering(circuit, state, plan.purpose, nullptr, own);
  const PartPlan& planned = plan.parts[part];
  if (!is_as_planned(lowering.run(part, parts[part], {}), planned)) return false;
  for_lists(own, values, [&planned](ValueList list, const auto& from, auto& to) {
    const std::size_t first = planned.first[static_cast<std::size_t>(list)];
    std::copy(from.begin(), from.end(),
              to.begin() + static_cast<std::ptrdiff_t>(first));
  });
  return true;
}

PartElements elements_of(const Circuit& circuit, const Part& part, int index,
                         std::span<const State> phases, Purpose purpose) {
  PartElements elements;
  PartPlan planned;
  for (const State& state : phases) {
    const bool is_first = elements.values.empty();
    Structure* structure = is_first ? &elements.structure : nullptr;
    Lowering lowering(circuit, state, purpose, structure,
                      elements.values.emplace_back());
    const PartPlan made = lowering.run(index, part, {});
    if (is_first) planned = made;
    assert(is_as_planned(made, planned) && "a state decides which elements there are");
  }
  elements.shape = planned.shape;
  std::vector<std::string>& nodes = elements.structure.nodes;
  nodes.erase(nodes.begin(), nodes.begin() + elements.structure.nets);
  return elements;
}

Feeds feeds_of(const Plan& plan, const Circuit& circuit, const std::vector<Part>& parts,
               const State& state, int part, std::string_view key) {
  const std::optional<double> present = number_of(parts[part], key);
  Values values;
  if (!present || !fill(plan, circuit, parts, state, values)) return {};
  std::vector<Part> moved = parts;
  double& number = moved[part].settings[std::string(key)].value.emplace<double>();
  Feeds feeds;
  feeds.slots = slopes_of(values, *present, [&](double there, Values& filled) {
    number = there;
    return fill_part(plan, circuit, moved, state, part, filled);
  });
  return feeds;
}

Feeds ambient_feeds(const Plan& plan, const Circuit& circuit,
                    const std::vector<Part>& parts, const State& state) {
  Circuit moved = circuit;
  Values values;
  if (!fill(plan, circuit, parts, state, values)) return {};
  Feeds feeds;
  feeds.celsius = 1.0;
  feeds.slots = slopes_of(values, circuit.ambient, [&](double there, Values& filled) {
    moved.ambient = there;
    return fill(plan, moved, parts, state, filled);
  });
  return feeds;
}

std::vector<Slot> slots_of(const Plan& plan, const Circuit& circuit,
                           const std::vector<Part>& parts, const State& state, int part,
                           std::string_view key) {
  std::vector<Slot> slots;
  for (const Feed& feed : feeds_of(plan, circuit, parts, state, part, key).slots)
    slots.push_back(feed.slot);
  return slots;
}

}  // namespace benchproof
