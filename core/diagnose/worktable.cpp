#include "core/diagnose/detail/worktable.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <utility>

#include "core/circuit/rewire.h"
#include "core/circuit/topology.h"
#include "core/network/edits.h"
#include "core/network/observation.h"
#include "core/network/unlimited.h"

namespace benchproof {
namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinite = std::numeric_limits<double>::infinity();

/// What a meter on all nets together moves by less than this share and this voltage,
/// one on a single net does not move either, as far as a display of millivolts shows.
/// Volt.
constexpr double kLoadShare = 1e-4;
constexpr double kLoadVolts = 2e-4;

/// A current source for the diode test is so many times the test voltage behind as many
/// times the resistance: its current falls by a tenth up to where it shows "open".
constexpr double kStiff = 10.0;

/// What differs by less is the same to all digits that a solution has, and scatters as
/// much: SI units.
constexpr double kSame = 1e-10;
constexpr double kSameShare = 1e-6;

/// As exact as a display needs, and no more: a node that hangs on strays alone moves by
/// 10 nV for each rounding of a milliampere, and would never settle to a picovolt.
constexpr NodalOptions kForDisplay{1e-7, 1e-7, 1e-11};

/// One standard deviation of what is off by no more than this.
double deviation_within(double bound) { return bound / std::sqrt(3.0); }

double deviation(const Accuracy& accuracy, double value) {
  return deviation_within(accuracy.share * std::abs(value) + accuracy.absolute);
}

Shown shown_value(double value, double scatter, const Accuracy& accuracy) {
  Shown s;
  s.value = value;
  s.sigma = std::hypot(scatter, deviation(accuracy, value));
  return s;
}

Shown shown_open() {
  Shown s;
  s.open = true;
  s.value = kInfinite;
  return s;
}

Shown unknown() {
  Shown s;
  s.value = kNothing;
  s.looks_sure = 0.0;
  return s;
}

/// Makes one number of many: FNV-1a, word by word [Fowler, Noll, Vo], each word stirred
/// first as in SplitMix64 [Steele 2014, "Fast splittable pseudorandom number
/// generators"]. Two of 1e6 networks have one name by chance with a probability of
/// 3e-8.
class Name {
 public:
  void add(std::uint64_t word) {
    word = (word ^ (word >> 30)) * 0xBF58476D1CE4E5B9ULL;
    word = (word ^ (word >> 27)) * 0x94D049BB133111EBULL;
    name_ = (name_ ^ (word ^ (word >> 31))) * 0x100000001B3ULL;
    name_ ^= name_ >> 29;
  }
  void add(int value) {
    add(static_cast<std::uint64_t>(static_cast<std::uint32_t>(value)));
  }
  void add(double value) { add(std::bit_cast<std::uint64_t>(value)); }
  void add(const Origin& origin) {
    add(origin.part);
    for (const int pin : origin.pins) add(pin);
  }
  [[nodiscard]] std::uint64_t value() const { return name_; }

 private:
  std::uint64_t name_ = 0xCBF29CE484222325ULL;
};

void add(Name& name, const Structure& s) {
  name.add(s.nodes.size());
  for (const auto& list : kTwoEnded) {
    name.add((s.*list.elements).size());
    for (const TwoEnds& e : s.*list.elements) {
      name.add(e.a);
      name.add(e.b);
      name.add(e.origin);
    }
  }
  for (const auto& list : kThreeEnded) {
    name.add((s.*list.elements).size());
    for (const ThreeEnds& e : s.*list.elements) {
      for (const int end : e.ends) name.add(end);
      name.add(e.origin);
    }
  }
}

void add(Name& name, const Values& v) {
  for_slots(v, v, [&name](const Slot&, double value, double) { name.add(value); });
  for (const BipolarModel& m : v.bipolars) name.add(m.is_pnp ? 1 : 0);
  for (const MosModel& m : v.mosfets) name.add(m.is_p_channel ? 1 : 0);
  for (const RegulatorModel& m : v.regulators)
    name.add((m.is_negative ? 1 : 0) + (m.follows ? 2 : 0));
}

/// Takes all pins of a part off their nets.
void take_out(Circuit& circuit, int part) {
  const auto pins = static_cast<int>(circuit.parts[part].pins.size());
  for (int pin = 0; pin < pins; ++pin)
    if (circuit.parts[part].nets[pin] >= 0) rejoin(circuit, {part, pin}, -1);
}

/// The circuit with parts out of their sockets, and with the power off without its
/// sources and regulators, and with cold filaments.
Circuit stripped(const Circuit& circuit, const Condition& condition) {
  Circuit there = circuit;
  for (const int part : condition.out) take_out(there, part);
  if (condition.powered) return there;
  for (std::size_t k = 0; k < there.parts.size(); ++k) {
    Part& part = there.parts[k];
    if (is_source(part.kind) || part.kind == KindId::regulator)
      take_out(there, static_cast<int>(k));
    const auto amps = number_of(part, "current");
    if (part.kind == KindId::lamp && amps)
      part.settings["current"] = {*amps / kColdFilament, part.span};
  }
  return there;
}

/// The state of a condition; with the power off all outputs are open.
State state_of(const Circuit& circuit, const Condition& condition) {
  State state;
  if (condition.state >= 0)
    state = circuit.states[static_cast<std::size_t>(condition.state)];
  if (condition.powered) return state;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    if (part.kind != KindId::controller) continue;
    for (int pin = kFirstPin; pin < static_cast<int>(part.pins.size()); ++pin)
      if (is_output_pin(part, pin))
        state.outputs[{static_cast<int>(k), pin}] = {
            OutputSetting::Level::open, 0.0, 0.0, {}};
  }
  return state;
}

/// What chips and regulators have inside no sheet says of when they are not powered: at
/// a fifth of a volt from nothing that conducts down to some kilohms (common practice,
/// no source). So everything is measured with both, and what they make of a reading is
/// its uncertainty.
constexpr double kDeadLeastOhms = 5e3;
/// The same at an output or input of a chip. Ohm.
constexpr double kDeadPinOhms = 500e3;
/// Where they are more than so many times apart, nothing can be told.
constexpr double kDeadApart = 2.0;

/// Nets are at one voltage within this: over a milliohm that is a thousandth of a
/// meter's test current. Volt.
constexpr double kSameTestVolts = 1e-10;

/// Whether a figure is what it is as meant.
bool is_same_figure(double figure, double meant) {
  return std::abs(figure - meant) <= kSameShare * std::abs(meant) + kSame;
}

/// Whether two parts are the same, and stand on the same nets.
bool is_same_part(const Part& a, const Part& b) {
  return a.type == b.type && a.nets == b.nets &&
         std::equal(a.settings.begin(), a.settings.end(), b.settings.begin(),
                    b.settings.end(), [](const auto& one, const auto& other) {
                      return one.first == other.first &&
                             one.second.value == other.second.value;
                    });
}

/// Takes out of a network what a chip draws: it is not powered.
void put_dead(const Circuit& circuit, Network& network) {
  const std::vector<TwoEnds>& resistors = network.structure->resistors;
  for (std::size_t k = 0; k < resistors.size(); ++k) {
    const Origin& origin = resistors[k].origin;
    if (origin.part < 0 || origin.pins[0] != kVdd || origin.pins[1] != kVss) continue;
    if (circuit.parts[origin.part].kind == KindId::controller)
      network.values.ohms[k] = kStrayOhms;
  }
}

/// Those of a circuit with parts out of their sockets, each pin's own.
std::vector<Leak> leaks_of(const Circuit& circuit, const std::vector<int>& out) {
  std::vector<Leak> leaks;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    if (std::find(out.begin(), out.end(), static_cast<int>(k)) != out.end()) continue;
    const Part& part = circuit.parts[k];
    const bool is_chip = part.kind == KindId::controller;
    if (!is_chip && part.kind != KindId::regulator) continue;
    if (part.nets[1] < 0) continue;
    for (int pin = 0; pin < static_cast<int>(part.pins.size()); ++pin)
      if (pin != 1 && part.nets[pin] > 0)
        leaks.push_back({part.nets[pin],
                         is_chip && pin >= kFirstPin ? kDeadPinOhms : kDeadLeastOhms});
  }
  return leaks;
}

/// Whether leaks would take a thousandth of a meter's current.
bool are_felt(const std::vector<Leak>& leaks, const std::vector<double>& volts,
              double amps) {
  constexpr double kLittle = 1e-3;
  return std::any_of(leaks.begin(), leaks.end(), [&](const Leak& leak) {
    return std::abs(volts[static_cast<std::size_t>(leak.node)]) >
           kLittle * amps * leak.ohms;
  });
}

}  // namespace

std::optional<std::vector<Shown>> Known::find(std::uint64_t network) const {
  const std::lock_guard lock(mutex_);
  const auto found = shown_.find(network);
  if (found == shown_.end()) return std::nullopt;
  return found->second;
}

void Known::keep(std::uint64_t network, std::vector<Shown> shown) {
  const std::lock_guard lock(mutex_);
  shown_.emplace(network, std::move(shown));
}

Worktable::Worktable(const Circuit& meant, const Meter& meter,
                     const std::vector<Condition>& conditions, std::size_t questions,
                     Known& known, Solve witness)
    : meter_(meter),
      witness_(std::move(witness)),
      conditions_(conditions),
      nominal_(conditions.size()),
      meant_(questions, unknown()),
      known_(known) {
  measure(meant, meant_.data(), true);
  is_first_ = false;
}

Rig& Worktable::rig_of(std::size_t condition, const Plan& plan) {
  const Condition& c = conditions_[condition];
  std::deque<Rig>& rigs = is_first_ ? kept_ : rigs_;
  const Nominal& nominal = nominal_[condition];
  if (nominal.rig != nullptr && nominal.rig->plan().structure == plan.structure)
    return *nominal.rig;
  for (Rig& rig : rigs)
    if (rig.plan().structure == plan.structure && rig.probes() == c.probes) return rig;
  return rigs.emplace_back(plan, c.probes, kForDisplay, witness_);
}

std::uint64_t Worktable::name_of(std::size_t condition, const Posed& posed) const {
  Name name;
  name.add(condition);
  name.add(with_spread_ ? 1 : 0);
  add(name, *posed.plan.structure);
  for (const Network& network : posed.networks) add(name, network.values);
  for (const Phase& phase : posed.phases) name.add(phase.share);
  for (const Leak& leak : posed.leaks) {
    name.add(leak.node);
    name.add(leak.ohms);
  }
  for (const Asked& asked : conditions_[condition].asked) {
    if (asked.part < 0) continue;
    const Part& part = posed.parts[asked.part];
    for (const int net : part.nets) name.add(net);
    name.add(static_cast<std::uint64_t>(reinterpret_cast<std::uintptr_t>(part.type)));
  }
  return name.value();
}

void Worktable::measure(const Circuit& built, Shown* row, bool with_spread) {
  rigs_.clear();
  with_spread_ = with_spread;
  for (std::size_t k = 0; k < conditions_.size(); ++k) measure(k, built, row);
}

void Worktable::measure(std::size_t condition, const Circuit& built, Shown* row) {
  const Condition& c = conditions_[condition];
  std::optional<Circuit> other;
  if (!c.powered || !c.out.empty()) other = stripped(built, c);
  const Circuit& circuit = other ? *other : built;
  const State state = state_of(circuit, c);
  std::optional<std::vector<Part>> changed;
  if (!state.settings.empty() || !state.types.empty())
    changed = parts_in(circuit, state);
  const std::vector<Part>& parts = changed ? *changed : circuit.parts;

  // A structure that is there already is shared, and its solver with it.
  Nominal& nominal = nominal_[condition];
  std::shared_ptr<const Structure> known;
  if (nominal.rig != nullptr) known = nominal.rig->plan().structure;
  Plan plan = at_rest(make_plan(circuit, parts, nullptr, Purpose::run));
  if (known && *known == *plan.structure) plan.structure = known;
  for (const Rig& rig : is_first_ ? kept_ : rigs_)
    if (plan.structure != known && *rig.plan().structure == *plan.structure)
      plan.structure = rig.plan().structure;
  Rig& rig = rig_of(condition, plan);
  if (is_first_) nominal.rig = &rig;

  Posed posed{circuit, parts, phases(circuit, state), {}, rig, std::move(plan), {}};
  if (!c.powered) posed.leaks = leaks_of(built, c.out);
  for (const Phase& phase : posed.phases) {
    auto network = rig.network(circuit, parts, phase.state);
    if (!network) return;
    posed.networks.push_back(std::move(*network));
  }
  const std::uint64_t name = name_of(condition, posed);
  if (!is_first_) {
    if (const auto shown = known_.find(name)) {
      for (std::size_t k = 0; k < c.asked.size(); ++k)
        row[c.asked[k].question] = (*shown)[k];
      return;
    }
  }
  c.powered ? measure_powered(condition, posed, row)
            : measure_unpowered(condition, posed, row);
  std::vector<Shown> shown;
  for (const Asked& asked : c.asked) shown.push_back(row[asked.question]);
  known_.keep(name, std::move(shown));
}

const Scatter* Worktable::scatter_as_meant(std::size_t condition, std::size_t phase,
                                           std::size_t asked, double figure) const {
  const auto& figures = nominal_[condition].figures;
  if (is_first_ || phase >= figures.size() || !figures[phase][asked]) return nullptr;
  return is_same_figure(figure, figures[phase][asked]->value)
             ? &figures[phase][asked]->scatter
             : nullptr;
}

const Worktable::Nominal::Figure* Worktable::felt_as_meant(
    std::size_t condition, std::size_t phase, std::size_t asked,
    const std::pair<double, double>& loads) const {
  const Nominal& nominal = nominal_[condition];
  if (is_first_ || phase >= nominal.figures.size() || !nominal.figures[phase][asked])
    return nullptr;
  const auto& meant = nominal.loads[phase][conditions_[condition].asked[asked].probe];
  return is_same_figure(loads.first, meant.first) &&
                 is_same_figure(loads.second, meant.second)
             ? &*nominal.figures[phase][asked]
             : nullptr;
}

void Worktable::keep_scatter(std::size_t condition, std::size_t phase,
                             std::size_t asked, double figure, const Scatter& scatter) {
  if (!is_first_) return;
  auto& figures = nominal_[condition].figures;
  if (figures.size() <= phase) figures.resize(phase + 1);
  // An earlier phase may have kept nothing: a meter that shows "open" scatters nowhere.
  for (auto& each : figures) each.resize(conditions_[condition].asked.size());
  figures[phase][asked] = {figure, scatter};
}

void Worktable::measure_powered(std::size_t condition, Posed& posed, Shown* row) {
  const Condition& c = conditions_[condition];
  Nominal& nominal = nominal_[condition];
  Rig& rig = posed.rig;
  const std::size_t count = c.asked.size();
  for (const Asked& asked : c.asked) row[asked.question] = unknown();
  if (is_first_) nominal.works.assign(count, {});
  std::vector<double> values(count, 0.0);
  std::vector<Works> works(count);
  const std::size_t draws =
      with_spread_ && !c.deviations.empty() ? c.deviations.front().size() : 0;
  std::vector<Scatter> scatter(draws == 0 ? 0 : count, Scatter(draws));
  std::optional<Solution> last;
  for (std::size_t phase = 0; phase < posed.phases.size(); ++phase) {
    Network& network = posed.networks[phase];
    const double share = posed.phases[phase].share;
    if (!unlimited_loop(network).empty()) return;
    const Solution* near = last ? &*last : nullptr;
    if (!is_first_ && &rig == nominal.rig && phase < nominal.solutions.size())
      near = &nominal.solutions[phase];
    const Solution plain = rig.solve(network, near);
    if (plain.status != SolveStatus::solved) return;
    if (is_first_) nominal.solutions.push_back(plain);
    const Observation seen = observe(posed.circuit, network, plain);

    // One solution with all meters there tells which nets feel a meter at all.
    std::vector<bool> is_felt(c.probes.size(), true);
    std::vector<std::pair<double, double>> loads(c.probes.size(), {kNothing, kNothing});
    for (std::size_t k = 0; k < c.probes.size(); ++k)
      rig.put_meter(network, k, meter_.input_ohms);
    const Solution loaded = rig.solve(network, &plain);
    for (std::size_t k = 0; k < c.probes.size(); ++k) {
      rig.take_meter(network, k);
      if (loaded.status != SolveStatus::solved) continue;
      const double free = rig.volts(plain, k);
      loads[k] = {free, rig.volts(loaded, k)};
      is_felt[k] = std::abs(rig.volts(loaded, k) - free) >
                   kLoadVolts + kLoadShare * std::abs(free);
    }

    if (is_first_) nominal.loads.push_back(loads);

    static const std::vector<DrawDeviations> kNone;
    const auto& deviations =
        draws == 0 ? kNone : c.deviations[std::min(phase, c.deviations.size() - 1)];
    std::vector<Differential> figures;
    std::vector<std::size_t> whose;
    std::vector<double> theirs;
    // Takes the scatter of a figure from what is meant, or has it worked out.
    const auto put = [&](std::size_t k, double figure, Differential differential) {
      if (draws == 0) return;
      if (const Scatter* known = scatter_as_meant(condition, phase, k, figure)) {
        scatter[k].add(*known, share);
        return;
      }
      figures.push_back(std::move(differential));
      whose.push_back(k);
      theirs.push_back(figure);
    };
    const auto work_out = [&](const Solution& solution) {
      if (figures.empty()) return;
      if (const auto slopes = rig.slopes(network, solution, figures))
        for (std::size_t f = 0; f < whose.size(); ++f) {
          Scatter own(draws);
          own.add(deviations, posed.plan, network, *slopes, f, 1.0);
          scatter[whose[f]].add(own, share);
          keep_scatter(condition, phase, whose[f], theirs[f], own);
        }
      figures.clear();
      whose.clear();
      theirs.clear();
    };
    for (std::size_t k = 0; k < count; ++k) {
      const Asked& asked = c.asked[k];
      if (asked.asks != Asks::voltage || !is_felt[asked.probe]) continue;
      if (const auto meant = felt_as_meant(condition, phase, k, loads[asked.probe])) {
        values[k] += share * meant->value;
        if (draws > 0) scatter[k].add(meant->scatter, share);
        continue;
      }
      rig.put_meter(network, asked.probe, meter_.input_ohms);
      const Solution measured = rig.solve(network, &plain);
      if (measured.status != SolveStatus::solved) return;
      const double volts = rig.volts(measured, asked.probe);
      values[k] += share * volts;
      put(k, volts, rig.differential(asked.probe));
      work_out(measured);
      rig.take_meter(network, asked.probe);
    }
    for (std::size_t k = 0; k < count; ++k) {
      const Asked& asked = c.asked[k];
      if (asked.asks == Asks::voltage) {
        if (is_felt[asked.probe]) continue;
        const double volts = rig.volts(plain, asked.probe);
        values[k] += share * volts;
        put(k, volts, rig.differential(asked.probe));
        continue;
      }
      if (asked.part < 0) continue;
      const Part& part = posed.parts[asked.part];
      const double amps = seen.pin_amps[asked.part][asked.pin];
      values[k] += share * (is_source(part.kind) && asked.pin == 0 ? -amps : amps);
      works[k].amps += share * seen.pin_amps[asked.part][0];
      works[k].watts += share * seen.part_watts[asked.part];
      if (part.pins.size() == 2 && part.nets[0] >= 0 && part.nets[1] >= 0)
        works[k].volts +=
            share * (seen.net_volts[part.nets[0]] - seen.net_volts[part.nets[1]]);
      if (draws > 0) put(k, amps, rig.differential_of(asked.part, asked.pin));
    }
    work_out(plain);
    last = plain;
  }
  for (std::size_t k = 0; k < count; ++k) {
    const Asked& asked = c.asked[k];
    const double off = draws == 0 ? 0.0 : scatter[k].total();
    Shown& shown = row[asked.question];
    switch (asked.asks) {
      case Asks::voltage:
        shown = shown_value(values[k], off, meter_.volts);
        break;
      case Asks::current:
        shown = shown_value(values[k], off, meter_.amps);
        break;
      case Asks::looks:
        if (values[k] != 0.0) works[k].scatter = off / std::abs(values[k]);
        if (is_first_) nominal.works[k] = works[k];
        shown = looks_of(posed.parts[asked.part], works[k], nominal.works[k]);
        break;
      case Asks::resistance:
      case Asks::diode:
        break;  // Under power that shows nothing one could rely on.
    }
  }
}

std::vector<std::vector<int>> Worktable::changed_places(std::size_t condition,
                                                        const Posed& posed) const {
  const std::vector<Part>& meant = nominal_[condition].parts;
  std::vector<std::vector<int>> places;
  for (std::size_t k = 0; k < posed.parts.size(); ++k) {
    const Part& part = posed.parts[k];
    const bool is_new = k >= meant.size();
    if (!is_new && is_same_part(meant[k], part)) continue;
    std::vector<int>& nets = places.emplace_back();
    if (!is_new && part.kind == KindId::controller && part.nets != meant[k].nets) {
      // Of a dead chip each pin is for itself, and on ground it carries nothing.
      nets.push_back(0);
      for (std::size_t pin = 0; pin < part.nets.size(); ++pin) {
        if (part.nets[pin] == meant[k].nets[pin]) continue;
        nets.push_back(part.nets[pin]);
        nets.push_back(meant[k].nets[pin]);
      }
    } else {
      nets = part.nets;
      if (!is_new) nets.insert(nets.end(), meant[k].nets.begin(), meant[k].nets.end());
    }
    std::erase_if(nets, [](int net) { return net < 0; });
  }
  const std::vector<Leak>& leaks = nominal_[condition].leaks;
  const auto add_others = [&places](const std::vector<Leak>& these,
                                    const std::vector<Leak>& those) {
    for (const Leak& leak : these)
      if (std::find(those.begin(), those.end(), leak) == those.end())
        places.push_back({leak.node, 0});
  };
  add_others(leaks, posed.leaks);
  add_others(posed.leaks, leaks);
  return places;
}

bool Worktable::is_untouched(std::size_t condition, std::size_t asked,
                             const std::vector<std::vector<int>>& places) const {
  if (is_first_) return false;
  for (const auto& tested : nominal_[condition].tested) {
    const std::vector<double>& volts = tested[asked];
    // As meant nothing of that one was asked: no leak was felt.
    if (volts.empty() && &tested != &nominal_[condition].tested.front()) continue;
    for (const std::vector<int>& nets : places)
      for (const int net : nets) {
        const auto a = static_cast<std::size_t>(nets.front());
        const auto b = static_cast<std::size_t>(net);
        if (a >= volts.size() || b >= volts.size()) return false;
        if (!(std::abs(volts[a] - volts[b]) <= kSameTestVolts)) return false;
      }
  }
  return true;
}

void Worktable::measure_unpowered(std::size_t condition, Posed& posed, Shown* row) {
  const Condition& c = conditions_[condition];
  Network& network = posed.networks.front();
  if (is_first_) {
    nominal_[condition].works.assign(c.asked.size(), {});
    nominal_[condition].parts = posed.parts;
    nominal_[condition].leaks = posed.leaks;
    for (auto& tested : nominal_[condition].tested) tested.resize(c.asked.size());
  }
  const std::vector<std::vector<int>> places = changed_places(condition, posed);
  put_dead(posed.circuit, network);
  const std::vector<Leak>& leaks = posed.leaks;
  Network low = network;
  for (const Leak& leak : leaks) posed.rig.put_stray(low, leak.node, leak.ohms);
  const Solution dead = posed.rig.solve(network, nullptr);
  const Solution* near = dead.status == SolveStatus::solved ? &dead : nullptr;
  for (std::size_t k = 0; k < c.asked.size(); ++k) {
    const Asked& asked = c.asked[k];
    Shown& shown = row[asked.question];
    switch (asked.asks) {
      case Asks::voltage:
        shown = shown_value(0.0, 0.0, meter_.volts);
        break;
      case Asks::current:
        shown = shown_value(0.0, 0.0, meter_.amps);
        break;
      case Asks::looks:
        shown = looks_of(posed.parts[asked.part], {}, {});
        break;
      case Asks::resistance:
      case Asks::diode: {
        if (is_untouched(condition, k, places)) {
          shown = meant_[asked.question];
          break;
        }
        const Tested free = tested(condition, k, posed, network, near, 0);
        shown = free.shown;
        if (is_first_) nominal_[condition].tested[0][k] = free.volts;
        if (free.volts.empty() || !are_felt(leaks, free.volts, free.amps)) break;
        const Tested leaking = tested(condition, k, posed, low, near, 1);
        if (is_first_) nominal_[condition].tested[1][k] = leaking.volts;
        blur(shown, leaking.shown);
        break;
      }
    }
  }
}

Worktable::Tested Worktable::tested(std::size_t condition, std::size_t number,
                                    Posed& posed, Network& network,
                                    const Solution* near, std::size_t phase) {
  const Condition& c = conditions_[condition];
  const Asked& asked = c.asked[number];
  const Probe& probe = c.probes[asked.probe];
  Rig& rig = posed.rig;
  const bool is_ohms = asked.asks == Asks::resistance;
  if (probe.a == probe.b) return {unknown(), {}, 0.0};
  const double reference = is_ohms
                               ? meter_.ohms_test_volts / meter_.ohms_test_amps
                               : kStiff * meter_.diode_open_volts / meter_.diode_amps;
  const double amps =
      is_ohms ? meter_.ohms_test_amps : kStiff * meter_.diode_open_volts / reference;
  rig.put_meter(network, asked.probe, reference, amps);
  Solution solution = rig.solve(network, near);
  Shown shown = unknown();
  if (solution.status == SolveStatus::solved) {
    const double volts = rig.volts(solution, asked.probe);
    const double left = amps - volts / reference;
    const double ohms = left > 0.0 ? volts / left : kInfinite;
    const bool is_open =
        is_ohms ? !(ohms <= meter_.most_ohms) : !(volts < meter_.diode_open_volts);
    double off = 0.0;
    const double figure = is_ohms ? ohms : volts;
    if (!is_open && with_spread_ && !c.deviations.empty()) {
      if (const Scatter* known = scatter_as_meant(condition, phase, number, figure)) {
        off = known->total();
      } else if (const auto slopes =
                     rig.slopes(network, solution, {rig.differential(asked.probe)})) {
        Scatter scatter(c.deviations.front().size());
        scatter.add(c.deviations.front(), posed.plan, network, *slopes, 0,
                    is_ohms ? amps / (left * left) : 1.0);
        keep_scatter(condition, phase, number, figure, scatter);
        off = scatter.total();
      }
    }
    shown = is_open   ? shown_open()
            : is_ohms ? shown_value(ohms, off, meter_.ohms)
                      : shown_value(volts, off, meter_.diode);
  }
  rig.take_meter(network, asked.probe);
  return {shown, std::move(solution.volts), amps};
}

void Worktable::blur(Shown& shown, const Shown& low) {
  if (shown.open && low.open) return;
  const bool is_near = !shown.open && !low.open &&
                       std::abs(shown.value) <= kDeadApart * std::abs(low.value) &&
                       std::abs(low.value) <= kDeadApart * std::abs(shown.value);
  if (!is_near && std::abs(shown.value - low.value) > shown.sigma) {
    shown = unknown();
    return;
  }
  const double apart = 0.5 * std::abs(shown.value - low.value);
  shown.value = 0.5 * (shown.value + low.value);
  shown.sigma = std::hypot(shown.sigma, apart);
}

}  // namespace benchproof
