#include "core/diagnose/detail/worktable.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "core/circuit/rewire.h"
#include "core/circuit/topology.h"
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

/// Whether networks of one structure are the same at rest.
bool is_same(const Values& a, const Values& b) {
  const auto same_coils = [](const std::vector<CoilModel>& x,
                             const std::vector<CoilModel>& y) {
    return std::equal(
        x.begin(), x.end(), y.begin(), y.end(),
        [](const CoilModel& m, const CoilModel& n) { return m.ohms == n.ohms; });
  };
  return a.ohms == b.ohms && a.volts == b.volts && a.amps == b.amps &&
         a.diodes == b.diodes && a.bipolars == b.bipolars && a.mosfets == b.mosfets &&
         a.regulators == b.regulators && same_coils(a.coils, b.coils);
}

/// Takes all pins of a part off their nets.
void take_out(Circuit& circuit, int part) {
  const auto pins = static_cast<int>(circuit.parts[part].pins.size());
  for (int pin = 0; pin < pins; ++pin)
    if (circuit.parts[part].nets[pin] >= 0) rejoin(circuit, {part, pin}, -1);
}

/// The circuit with parts out of their sockets, and with the power off without its
/// sources.
Circuit stripped(const Circuit& circuit, const Condition& condition) {
  Circuit there = circuit;
  for (const int part : condition.out) take_out(there, part);
  if (condition.powered) return there;
  for (std::size_t k = 0; k < there.parts.size(); ++k)
    if (is_source(there.parts[k].kind)) take_out(there, static_cast<int>(k));
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

}  // namespace

Worktable::Worktable(const Circuit& meant, const Meter& meter,
                     const std::vector<Condition>& conditions, std::size_t questions)
    : meter_(meter),
      conditions_(conditions),
      nominal_(conditions.size()),
      meant_(questions, unknown()) {
  measure(meant, meant_.data());
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
  return rigs.emplace_back(plan, c.probes);
}

bool Worktable::is_as_meant(std::size_t condition,
                            const std::vector<Network>& networks) const {
  const std::vector<Network>& nominal = nominal_[condition].networks;
  return std::equal(networks.begin(), networks.end(), nominal.begin(), nominal.end(),
                    [](const Network& a, const Network& b) {
                      return a.structure == b.structure && is_same(a.values, b.values);
                    });
}

void Worktable::measure(const Circuit& built, Shown* row) {
  rigs_.clear();
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
  Plan plan = make_plan(circuit, parts, known, Purpose::run);
  for (const Rig& rig : is_first_ ? kept_ : rigs_)
    if (plan.structure != known && *rig.plan().structure == *plan.structure)
      plan.structure = rig.plan().structure;
  Rig& rig = rig_of(condition, plan);
  if (is_first_) nominal.rig = &rig;

  Posed posed{circuit, parts, phases(circuit, state), {}, rig, std::move(plan)};
  for (const Phase& phase : posed.phases) {
    auto network = rig.network(circuit, parts, phase.state);
    if (!network) return;
    posed.networks.push_back(std::move(*network));
  }
  if (is_first_) {
    nominal.networks = posed.networks;
  } else if (is_as_meant(condition, posed.networks)) {
    for (const Asked& asked : c.asked) row[asked.question] = meant_[asked.question];
    return;
  }
  c.powered ? measure_powered(condition, posed, row)
            : measure_unpowered(condition, posed, row);
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
  const std::size_t draws = c.deviations.empty() ? 0 : c.deviations.front().size();
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
    for (std::size_t k = 0; k < c.probes.size(); ++k)
      rig.put_meter(network, k, meter_.input_ohms);
    const Solution loaded = rig.solve(network, &plain);
    for (std::size_t k = 0; k < c.probes.size(); ++k) {
      rig.take_meter(network, k);
      if (loaded.status != SolveStatus::solved) continue;
      const double free = rig.volts(plain, k);
      is_felt[k] = std::abs(rig.volts(loaded, k) - free) >
                   kLoadVolts + kLoadShare * std::abs(free);
    }

    static const std::vector<DrawDeviations> kNone;
    const auto& deviations =
        draws == 0 ? kNone : c.deviations[std::min(phase, c.deviations.size() - 1)];
    std::vector<Differential> figures;
    std::vector<std::size_t> whose;
    for (std::size_t k = 0; k < count; ++k) {
      const Asked& asked = c.asked[k];
      if (asked.asks == Asks::voltage) {
        if (!is_felt[asked.probe]) {
          values[k] += share * rig.volts(plain, asked.probe);
          if (draws > 0) figures.push_back(rig.differential(asked.probe));
          if (draws > 0) whose.push_back(k);
          continue;
        }
        rig.put_meter(network, asked.probe, meter_.input_ohms);
        const Solution measured = rig.solve(network, &plain);
        if (measured.status != SolveStatus::solved) return;
        values[k] += share * rig.volts(measured, asked.probe);
        if (draws > 0) {
          const auto slopes =
              rig.slopes(network, measured, {rig.differential(asked.probe)});
          if (slopes)
            scatter[k].add(deviations, posed.plan, network, *slopes, 0, share);
        }
        rig.take_meter(network, asked.probe);
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
      if (draws == 0) continue;
      figures.push_back(rig.differential_of(asked.part, asked.pin));
      whose.push_back(k);
    }
    if (!figures.empty()) {
      if (const auto slopes = rig.slopes(network, plain, figures))
        for (std::size_t f = 0; f < whose.size(); ++f)
          scatter[whose[f]].add(deviations, posed.plan, network, *slopes, f, share);
    }
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

void Worktable::measure_unpowered(std::size_t condition, Posed& posed, Shown* row) {
  const Condition& c = conditions_[condition];
  Rig& rig = posed.rig;
  Network& network = posed.networks.front();
  if (is_first_) nominal_[condition].works.assign(c.asked.size(), {});
  const Solution dead = rig.solve(network, nullptr);
  const double ohms_reference = meter_.ohms_test_volts / meter_.ohms_test_amps;
  const double diode_reference = kStiff * meter_.diode_open_volts / meter_.diode_amps;
  for (std::size_t k = 0; k < c.asked.size(); ++k) {
    const Asked& asked = c.asked[k];
    Shown& shown = row[asked.question];
    shown = unknown();
    if (asked.asks == Asks::voltage) shown = shown_value(0.0, 0.0, meter_.volts);
    if (asked.asks == Asks::current) shown = shown_value(0.0, 0.0, meter_.amps);
    if (asked.asks == Asks::looks) shown = looks_of(posed.parts[asked.part], {}, {});
    const bool is_ohms = asked.asks == Asks::resistance;
    if (!is_ohms && asked.asks != Asks::diode) continue;
    if (c.probes[asked.probe].a == c.probes[asked.probe].b) continue;
    const double reference = is_ohms ? ohms_reference : diode_reference;
    const double amps =
        is_ohms ? meter_.ohms_test_amps : kStiff * meter_.diode_open_volts / reference;
    rig.put_meter(network, asked.probe, reference, amps);
    const Solution solution =
        rig.solve(network, dead.status == SolveStatus::solved ? &dead : nullptr);
    if (solution.status == SolveStatus::solved) {
      const double volts = rig.volts(solution, asked.probe);
      const double left = amps - volts / reference;
      const double ohms = left > 0.0 ? volts / left : kInfinite;
      const bool is_open =
          is_ohms ? !(ohms <= meter_.most_ohms) : !(volts < meter_.diode_open_volts);
      double off = 0.0;
      if (!is_open && !c.deviations.empty()) {
        const auto slopes =
            rig.slopes(network, solution, {rig.differential(asked.probe)});
        if (slopes) {
          Scatter scatter(c.deviations.front().size());
          scatter.add(c.deviations.front(), posed.plan, network, *slopes, 0,
                      is_ohms ? amps / (left * left) : 1.0);
          off = scatter.total();
        }
      }
      shown = is_open   ? shown_open()
              : is_ohms ? shown_value(ohms, off, meter_.ohms)
                        : shown_value(volts, off, meter_.diode);
    }
    rig.take_meter(network, asked.probe);
  }
}

}  // namespace benchproof
