#include "core/diagnose/foreseen/detail/worktable.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

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

/// What differs by less is the same to all digits that a solution has, and scatters as
/// much: SI units.
constexpr double kSame = 1e-10;
constexpr double kSameShare = 1e-6;

/// Structures whose solvers are kept, in elements of all of them: some hundred of small
/// circuits, a dozen of large ones; a megabyte or so for each thousand.
constexpr std::size_t kKeptElements = 40000;

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

/// Where they are more than so many times apart, nothing can be told.
constexpr double kDeadApart = 2.0;

/// Nets are at one voltage within this: over a milliohm that is a thousandth of a
/// meter's test current. Volt.
constexpr double kSameTestVolts = 1e-10;

/// Whether a figure is what it is as meant.
bool is_same_figure(double figure, double meant) {
  return std::abs(figure - meant) <= kSameShare * std::abs(meant) + kSame;
}

/// Takes out of a network what a chip draws: it is not powered.
void put_dead(const std::vector<const Piece*>& pieces, Network& network) {
  const std::vector<TwoEnds>& resistors = network.structure->resistors;
  for (std::size_t k = 0; k < resistors.size(); ++k) {
    const Origin& origin = resistors[k].origin;
    if (origin.part < 0 || origin.pins[0] != kVdd || origin.pins[1] != kVss) continue;
    if (pieces[static_cast<std::size_t>(origin.part)]->part.kind == KindId::controller)
      network.values.ohms[k] = kStrayOhms;
  }
}

/// What a part does in a solution.
struct Seen {
  std::vector<double> pin_amps;  ///< Into it. Ampere.
  double watts = 0.0;            ///< What it takes up.
};

/// What `observe` sees of all parts, of the one alone whose elements stand where
/// `planned` says.
Seen seen_of(const Part& part, const PartPlan& planned, const Structure& s,
             const Solution& solution) {
  Seen seen;
  seen.pin_amps.assign(part.pins.size(), 0.0);
  const auto put = [&seen](const Origin& origin, int end, double amps) {
    const int pin = origin.pins[static_cast<std::size_t>(end)];
    if (pin >= 0) seen.pin_amps[static_cast<std::size_t>(pin)] += amps;
  };
  const auto two = [&](ValueList list, const std::vector<TwoEnds>& elements,
                       const std::vector<double>& amps) {
    const auto which = static_cast<std::size_t>(list);
    for (std::size_t k = 0; k < planned.count[which]; ++k) {
      const std::size_t at = planned.first[which] + k;
      put(elements[at].origin, 0, amps[at]);
      put(elements[at].origin, 1, -amps[at]);
    }
  };
  const auto three = [&](ValueList list, const std::vector<ThreeEnds>& elements,
                         const std::vector<std::array<double, 3>>& amps) {
    const auto which = static_cast<std::size_t>(list);
    for (std::size_t k = 0; k < planned.count[which]; ++k) {
      const std::size_t at = planned.first[which] + k;
      for (int end = 0; end < 3; ++end)
        put(elements[at].origin, end, amps[at][static_cast<std::size_t>(end)]);
    }
  };
  const Currents& c = solution.currents;
  two(ValueList::ohms, s.resistors, c.resistors);
  two(ValueList::coils, s.inductors, c.inductors);
  two(ValueList::volts, s.voltage_sources, c.voltage_sources);
  two(ValueList::amps, s.current_sources, c.current_sources);
  two(ValueList::diodes, s.diodes, c.diodes);
  three(ValueList::bipolars, s.bipolars, c.bipolars);
  three(ValueList::mosfets, s.mosfets, c.mosfets);
  three(ValueList::regulators, s.regulators, c.regulators);
  seen.watts = settle_pins(part, solution.volts, seen.pin_amps);
  return seen;
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

const Showing* Known::find(std::uint64_t name) const {
  const std::lock_guard lock(mutex_);
  const auto found = showings_.find(name);
  return found == showings_.end() ? nullptr : &found->second;
}

const Showing& Known::keep(std::uint64_t name, Showing showing) {
  const std::lock_guard lock(mutex_);
  return showings_.try_emplace(name, std::move(showing)).first->second;
}

Worktable::Worktable(const Circuit& meant, const Meter& meter,
                     const std::vector<Condition>& conditions, const Builder& builder,
                     Known& known, bool for_pairs, Solve witness)
    : circuit_(meant),
      meter_(meter),
      witness_(std::move(witness)),
      conditions_(conditions),
      builder_(builder),
      nominal_(conditions.size()),
      known_(known),
      for_pairs_(for_pairs) {
  for (std::size_t c = 0; c < conditions.size(); ++c) {
    Showing showing = measure(c, nullptr, nullptr, nullptr, nullptr, true);
    nominal_[c].tests = std::move(showing.tests);
    nominal_[c].shown = std::move(showing.shown);
  }
  is_first_ = false;
}

const Showing& Worktable::show(std::size_t condition, const BuildChange& change,
                               bool with_spread) {
  Name name;
  name.add(static_cast<int>(condition));
  name.add(with_spread ? 1 : 0);
  name.add(change.name);
  if (const Showing* known = known_.find(name.value())) return *known;
  return known_.keep(name.value(), measure(condition, &change, nullptr, nullptr,
                                           nullptr, with_spread));
}

const Showing& Worktable::show(std::size_t condition, const BuildChange& one,
                               const BuildChange& other) {
  if (one.name > other.name) return show(condition, other, one);
  // Whatever comes of both hangs on neither's place in a list.
  Name name;
  name.add(static_cast<int>(condition));
  name.add(2);
  name.add(one.name);
  name.add(other.name);
  if (const Showing* known = known_.find(name.value())) return *known;
  const Showing& of_one = show(condition, one, false);
  if (other.name == 0) return of_one;
  const Showing& of_other = show(condition, other, false);
  if (one.name == 0) return of_other;
  return known_.keep(name.value(),
                     measure(condition, &one, &other, &of_one, &of_other, false));
}

const std::vector<Shown>& Worktable::as_meant(std::size_t condition) {
  Name name;
  name.add(static_cast<int>(condition));
  name.add(5);
  if (const Showing* known = known_.find(name.value())) return known->shown;
  Showing meant;
  meant.shown = nominal_[condition].shown;
  return known_.keep(name.value(), std::move(meant)).shown;
}

Rig& Worktable::rig_of(std::size_t condition, std::uint64_t structure, bool is_kept) {
  const Condition& c = conditions_[condition];
  const auto made = [&] {
    return std::make_unique<Rig>(plan_of(circuit_.nets, posed_.pieces), c.probes,
                                 kForDisplay, witness_);
  };
  if (is_first_) {
    for (std::size_t k = 0; k < condition; ++k)
      if (conditions_[k].powered == c.powered &&
          builder_.stage(k).structure == builder_.stage(condition).structure)
        return *nominal_[k].rig;
    return *kept_.emplace_back(made());
  }
  if (structure == 0) return *nominal_[condition].rig;
  Name name;
  name.add(c.powered ? 1 : 0);
  name.add(builder_.stage(condition).structure);
  name.add(structure);
  if (!is_kept) {
    const auto passing = passing_.rigs.find(name.value());
    if (passing != passing_.rigs.end()) return *passing->second;
    // Conditions of one build come one after the other.
    if (passing_.rigs.size() > conditions_.size()) passing_ = {};
    return *passing_.rigs.emplace(name.value(), made()).first->second;
  }
  const auto late = late_.rigs.find(name.value());
  if (late != late_.rigs.end()) return *late->second;
  std::unique_ptr<Rig> rig;
  const auto before = before_.rigs.find(name.value());
  if (before != before_.rigs.end()) {
    rig = std::move(before->second);
    before_.rigs.erase(before);
  } else {
    rig = made();
  }
  if (late_.elements > kKeptElements) {
    before_ = std::move(late_);
    late_ = {};
  }
  late_.elements += rig->elements();
  return *late_.rigs.emplace(name.value(), std::move(rig)).first->second;
}

void Worktable::pose(std::size_t condition, const BuildChange* one,
                     const BuildChange* other) {
  const Stage& stage = builder_.stage(condition);
  put_together(stage, {one, other}, posed_.pieces);
  posed_.shares = &stage.shares;
  std::uint64_t structure = 0;
  for (const BuildChange* change : {one, other}) {
    if (change == nullptr) continue;
    structure += change->structure;
    if (!change->shares.empty()) posed_.shares = &change->shares;
  }
  posed_.leaks.clear();
  for (const Piece* piece : posed_.pieces)
    posed_.leaks.insert(posed_.leaks.end(), piece->leaks.begin(), piece->leaks.end());
  const bool is_of_one =
      other != nullptr && (one->structure == 0 || other->structure == 0);
  posed_.rig = &rig_of(condition, structure, is_of_one);
  if (is_first_) nominal_[condition].rig = posed_.rig;
  posed_.networks.resize(posed_.shares->size());
  for (std::size_t phase = 0; phase < posed_.networks.size(); ++phase) {
    Network& network = posed_.networks[phase];
    put_values(posed_.pieces, phase, network.values);
    posed_.rig->finish(network, circuit_.ambient);
  }
}

Showing Worktable::measure(std::size_t condition, const BuildChange* one,
                           const BuildChange* other, const Showing* of_one,
                           const Showing* of_other, bool with_spread) {
  with_spread_ = with_spread;
  pose(condition, one, other);
  Showing showing;
  showing.shown.assign(conditions_[condition].asked.size(), unknown());
  conditions_[condition].powered
      ? measure_powered(condition, other, of_one, of_other, showing)
      : measure_unpowered(condition, one, other, of_one, of_other, showing);
  return showing;
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

std::optional<Solution> Worktable::start_of(std::size_t condition, std::size_t phase,
                                            const BuildChange* other,
                                            const Showing* of_one,
                                            const Showing* of_other) const {
  if (other == nullptr || phase >= of_one->rest.solutions.size() ||
      phase >= of_other->rest.solutions.size())
    return std::nullopt;
  const bool is_turned = of_other->rest.iterations > of_one->rest.iterations;
  const Rest& whole = is_turned ? of_other->rest : of_one->rest;
  const Rest& partly = is_turned ? of_one->rest : of_other->rest;
  const std::size_t count = builder_.stage(condition).pieces.size();
  const PiecePlan& plan = *posed_.rig->piece_plan();
  const Structure& s = *posed_.networks[phase].structure;
  const Structure& of_whole = *whole.plan->plan.structure;
  Solution start;
  start.volts.assign(s.nodes.size(), 0.0);
  std::copy_n(whole.solutions[phase].volts.begin(), of_whole.nets, start.volts.begin());
  start.currents.voltage_sources.assign(s.voltage_sources.size(), 0.0);
  start.currents.inductors.assign(s.inductors.size(), 0.0);
  start.currents.regulators.assign(s.regulators.size(), {});
  start.currents.diodes.assign(s.diodes.size(), 0.0);
  start.currents.mosfets.assign(s.mosfets.size(), {});
  std::vector<char> is_other(count, 0);
  for (const Piece& piece : other->pieces)
    if (piece.place >= 0) is_other[static_cast<std::size_t>(piece.place)] = 1;
  for (std::size_t k = 0; k < count; ++k) {
    // `other` is what changed in of_other.
    const bool is_partly = (is_other[k] != 0) != is_turned;
    const Rest& from = is_partly ? partly : whole;
    const PartPlan& to_part = plan.plan.parts[k];
    const PartPlan& part = from.plan->plan.parts[k];
    const auto [first, end] = from.plan->inner[k];
    const auto [to_first, to_end] = plan.inner[k];
    if (part.count != to_part.count || end - first != to_end - to_first) continue;
    const Solution& solution = from.solutions[phase];
    std::copy(solution.volts.begin() + first, solution.volts.begin() + end,
              start.volts.begin() + to_first);
    const auto copy = [&](ValueList list, const auto& these, auto& to) {
      const auto which = static_cast<std::size_t>(list);
      std::copy_n(these.begin() + static_cast<std::ptrdiff_t>(part.first[which]),
                  part.count[which],
                  to.begin() + static_cast<std::ptrdiff_t>(to_part.first[which]));
    };
    const Currents& amps = solution.currents;
    copy(ValueList::volts, amps.voltage_sources, start.currents.voltage_sources);
    copy(ValueList::coils, amps.inductors, start.currents.inductors);
    copy(ValueList::regulators, amps.regulators, start.currents.regulators);
    copy(ValueList::diodes, amps.diodes, start.currents.diodes);
    copy(ValueList::mosfets, amps.mosfets, start.currents.mosfets);
  }
  return start;
}

std::vector<bool> Worktable::feel(Turn& turn, const Solution& plain) {
  const std::size_t probes = conditions_[turn.condition].probes.size();
  Rig& rig = *posed_.rig;
  std::vector<bool> is_felt(probes, true);
  turn.loads.assign(probes, {kNothing, kNothing});
  for (std::size_t k = 0; k < probes; ++k)
    rig.put_meter(turn.network, k, meter_.input_ohms);
  const Solution loaded = rig.solve(turn.network, &plain);
  for (std::size_t k = 0; k < probes; ++k) {
    rig.take_meter(turn.network, k);
    if (loaded.status != SolveStatus::solved) continue;
    const double free = rig.volts(plain, k);
    turn.loads[k] = {free, rig.volts(loaded, k)};
    is_felt[k] = std::abs(rig.volts(loaded, k) - free) >
                 kLoadVolts + kLoadShare * std::abs(free);
  }
  return is_felt;
}

void Worktable::put(Turn& turn, std::size_t k, double figure,
                    Differential differential) const {
  if (turn.sums.draws == 0) return;
  if (const Scatter* known = scatter_as_meant(turn.condition, turn.phase, k, figure)) {
    turn.sums.scatter[k].add(*known, turn.share);
    return;
  }
  turn.figures.push_back(std::move(differential));
  turn.whose.push_back(k);
  turn.theirs.push_back(figure);
}

void Worktable::work_out(Turn& turn, const Solution& solution) {
  if (turn.figures.empty()) return;
  const auto& of_phases = conditions_[turn.condition].deviations;
  const auto& deviations = of_phases[std::min(turn.phase, of_phases.size() - 1)];
  Rig& rig = *posed_.rig;
  if (const auto slopes = rig.slopes(turn.network, solution, turn.figures))
    for (std::size_t f = 0; f < turn.whose.size(); ++f) {
      Scatter own(turn.sums.draws);
      own.add(deviations, rig.plan(), turn.network, *slopes, f, 1.0);
      turn.sums.scatter[turn.whose[f]].add(own, turn.share);
      keep_scatter(turn.condition, turn.phase, turn.whose[f], turn.theirs[f], own);
    }
  turn.figures.clear();
  turn.whose.clear();
  turn.theirs.clear();
}

bool Worktable::read_felt(Turn& turn, const Solution& plain,
                          const std::vector<bool>& is_felt) {
  const Condition& c = conditions_[turn.condition];
  Rig& rig = *posed_.rig;
  for (std::size_t k = 0; k < c.asked.size(); ++k) {
    const Asked& asked = c.asked[k];
    if (asked.asks != Asks::voltage || !is_felt[asked.probe]) continue;
    if (const auto meant =
            felt_as_meant(turn.condition, turn.phase, k, turn.loads[asked.probe])) {
      turn.sums.values[k] += turn.share * meant->value;
      if (turn.sums.draws > 0) turn.sums.scatter[k].add(meant->scatter, turn.share);
      continue;
    }
    rig.put_meter(turn.network, asked.probe, meter_.input_ohms);
    const Solution measured = rig.solve(turn.network, &plain);
    if (measured.status != SolveStatus::solved) return false;
    const double volts = rig.volts(measured, asked.probe);
    turn.sums.values[k] += turn.share * volts;
    put(turn, k, volts, rig.differential(asked.probe));
    work_out(turn, measured);
    rig.take_meter(turn.network, asked.probe);
  }
  return true;
}

void Worktable::read_others(Turn& turn, const Solution& plain,
                            const std::vector<bool>& is_felt) {
  const Condition& c = conditions_[turn.condition];
  Rig& rig = *posed_.rig;
  const double share = turn.share;
  for (std::size_t k = 0; k < c.asked.size(); ++k) {
    const Asked& asked = c.asked[k];
    if (asked.asks == Asks::voltage) {
      if (is_felt[asked.probe]) continue;
      const double volts = rig.volts(plain, asked.probe);
      turn.sums.values[k] += share * volts;
      put(turn, k, volts, rig.differential(asked.probe));
      continue;
    }
    if (asked.part < 0) continue;
    const auto index = static_cast<std::size_t>(asked.part);
    const Part& part = posed_.pieces[index]->part;
    const Seen seen =
        seen_of(part, rig.plan().parts[index], *turn.network.structure, plain);
    const double amps = seen.pin_amps[static_cast<std::size_t>(asked.pin)];
    turn.sums.values[k] +=
        share * (is_source(part.kind) && asked.pin == 0 ? -amps : amps);
    Works& works = turn.sums.works[k];
    works.amps += share * seen.pin_amps[0];
    works.watts += share * seen.watts;
    if (part.pins.size() == 2 && part.nets[0] >= 0 && part.nets[1] >= 0)
      works.volts += share * (plain.volts[static_cast<std::size_t>(part.nets[0])] -
                              plain.volts[static_cast<std::size_t>(part.nets[1])]);
    if (turn.sums.draws > 0)
      put(turn, k, amps, rig.differential_of(asked.part, asked.pin));
  }
  work_out(turn, plain);
}

void Worktable::tell(std::size_t condition, Sums& sums, std::vector<Shown>& row) {
  const Condition& c = conditions_[condition];
  Nominal& nominal = nominal_[condition];
  for (std::size_t k = 0; k < c.asked.size(); ++k) {
    const Asked& asked = c.asked[k];
    const double off = sums.draws == 0 ? 0.0 : sums.scatter[k].total();
    Works& works = sums.works[k];
    switch (asked.asks) {
      case Asks::voltage:
        row[k] = shown_value(sums.values[k], off, meter_.volts);
        break;
      case Asks::current:
        row[k] = shown_value(sums.values[k], off, meter_.amps);
        break;
      case Asks::looks:
        if (sums.values[k] != 0.0) works.scatter = off / std::abs(sums.values[k]);
        if (is_first_) nominal.works[k] = works;
        row[k] = looks_of(posed_.pieces[static_cast<std::size_t>(asked.part)]->part,
                          works, nominal.works[k]);
        break;
      case Asks::resistance:
      case Asks::diode:
        break;  // Under power that shows nothing one could rely on.
    }
  }
}

void Worktable::measure_powered(std::size_t condition, const BuildChange* other,
                                const Showing* of_one, const Showing* of_other,
                                Showing& showing) {
  const Condition& c = conditions_[condition];
  Nominal& nominal = nominal_[condition];
  Rig& rig = *posed_.rig;
  const std::size_t count = c.asked.size();
  if (is_first_) nominal.works.assign(count, {});
  Sums sums;
  if (with_spread_ && !c.deviations.empty()) sums.draws = c.deviations.front().size();
  sums.values.assign(count, 0.0);
  sums.works.assign(count, {});
  if (sums.draws > 0) sums.scatter.assign(count, Scatter(sums.draws));
  std::optional<Solution> last;
  for (std::size_t phase = 0; phase < posed_.networks.size(); ++phase) {
    Turn turn{condition, phase, (*posed_.shares)[phase], posed_.networks[phase], sums};
    if (!unlimited_loop(turn.network).empty()) return;
    const Solution* near = last ? &*last : nullptr;
    if (!is_first_ && &rig == nominal.rig && phase < nominal.solutions.size())
      near = &nominal.solutions[phase];
    const std::optional<Solution> start =
        start_of(condition, phase, other, of_one, of_other);
    if (start) near = &*start;
    Solution plain = rig.solve(turn.network, near);
    if (plain.status != SolveStatus::solved) return;
    if (for_pairs_ && other == nullptr) {
      Solution& kept = showing.rest.solutions.emplace_back(plain);
      kept.currents.resistors.clear();
      kept.currents.current_sources.clear();
      showing.rest.plan = rig.piece_plan();
      showing.rest.iterations += plain.iterations;
    }
    if (is_first_) nominal.solutions.push_back(plain);
    const std::vector<bool> is_felt = feel(turn, plain);
    if (is_first_) nominal.loads.push_back(turn.loads);
    if (!read_felt(turn, plain, is_felt)) return;
    read_others(turn, plain, is_felt);
    last = std::move(plain);
  }
  tell(condition, sums, showing.shown);
}

std::vector<std::vector<int>> Worktable::changed_places(
    std::size_t condition, const BuildChange& change) const {
  const Stage& stage = builder_.stage(condition);
  std::vector<std::vector<int>> places;
  for (const Piece& piece : change.pieces) {
    std::vector<int>& nets = places.emplace_back();
    if (piece.place < 0) {
      nets = piece.part.nets;
      continue;
    }
    const Piece& as_meant = stage.pieces[static_cast<std::size_t>(piece.place)];
    const std::vector<int>& now = piece.part.nets;
    const std::vector<int>& then = as_meant.part.nets;
    if (piece.part.kind == KindId::controller && now != then) {
      // Of a dead chip each pin is for itself, and on ground it carries nothing.
      nets.push_back(0);
      for (std::size_t pin = 0; pin < now.size(); ++pin) {
        if (now[pin] == then[pin]) continue;
        nets.push_back(now[pin]);
        nets.push_back(then[pin]);
      }
    } else {
      nets = now;
      nets.insert(nets.end(), then.begin(), then.end());
    }
    std::erase_if(nets, [](int net) { return net < 0; });
    const auto add_others = [&places](const std::vector<Leak>& these,
                                      const std::vector<Leak>& those) {
      for (const Leak& leak : these)
        if (std::find(those.begin(), those.end(), leak) == those.end())
          places.push_back({leak.node, 0});
    };
    add_others(as_meant.leaks, piece.leaks);
    add_others(piece.leaks, as_meant.leaks);
  }
  return places;
}

bool Worktable::is_untouched(std::size_t condition, std::size_t asked,
                             const Tests* build,
                             const std::vector<std::vector<int>>& places) const {
  if (is_first_) return false;
  const bool is_as_meant = build == nullptr || build->is_as_meant[asked] != 0;
  const Tests& tests = is_as_meant ? nominal_[condition].tests : *build;
  for (const auto& tested : tests.volts) {
    const std::vector<double>& volts = tested[asked];
    if (volts.empty() && &tested != &tests.volts.front()) continue;
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

void Worktable::measure_unpowered(std::size_t condition, const BuildChange* one,
                                  const BuildChange* other, const Showing* of_one,
                                  const Showing* of_other, Showing& showing) {
  const Condition& c = conditions_[condition];
  const std::size_t count = c.asked.size();
  Network& network = posed_.networks.front();
  Tests& tests = showing.tests;
  const bool keeps = is_first_ || (for_pairs_ && other == nullptr);
  if (keeps) tests.is_as_meant.assign(count, 0);
  if (keeps)
    for (auto& volts : tests.volts) volts.resize(count);
  if (is_first_) nominal_[condition].works.assign(count, {});
  std::vector<std::vector<int>> places;
  std::vector<std::vector<int>> other_places;
  if (one != nullptr) places = changed_places(condition, *one);
  if (other != nullptr) other_places = changed_places(condition, *other);
  put_dead(posed_.pieces, network);
  const std::vector<Leak>& leaks = posed_.leaks;
  std::optional<Network> low;
  std::optional<Solution> dead;
  const auto near = [&]() -> const Solution* {
    if (!dead) dead = posed_.rig->solve(network, nullptr);
    return dead->status == SolveStatus::solved ? &*dead : nullptr;
  };
  for (std::size_t k = 0; k < count; ++k) {
    const Asked& asked = c.asked[k];
    Shown& shown = showing.shown[k];
    switch (asked.asks) {
      case Asks::voltage:
        shown = shown_value(0.0, 0.0, meter_.volts);
        break;
      case Asks::current:
        shown = shown_value(0.0, 0.0, meter_.amps);
        break;
      case Asks::looks:
        shown =
            looks_of(posed_.pieces[static_cast<std::size_t>(asked.part)]->part, {}, {});
        break;
      case Asks::resistance:
      case Asks::diode: {
        if (other == nullptr) {
          if (is_untouched(condition, k, nullptr, places)) {
            shown = nominal_[condition].shown[k];
            if (keeps) tests.is_as_meant[k] = 1;
            break;
          }
        } else if (is_untouched(condition, k, &of_one->tests, other_places)) {
          shown = of_one->shown[k];
          break;
        } else if (is_untouched(condition, k, &of_other->tests, places)) {
          shown = of_other->shown[k];
          break;
        }
        const Tested free = tested(condition, k, network, near(), 0);
        shown = free.shown;
        const bool are_leaks =
            !free.volts.empty() && are_felt(leaks, free.volts, free.amps);
        if (keeps) tests.volts[0][k] = free.volts;
        if (!are_leaks) break;
        if (!low) {
          low = network;
          for (const Leak& leak : leaks)
            posed_.rig->put_stray(*low, leak.node, leak.ohms);
        }
        const Tested leaking = tested(condition, k, *low, near(), 1);
        blur(shown, leaking.shown);
        if (keeps) tests.volts[1][k] = leaking.volts;
        break;
      }
    }
  }
}

Worktable::Tested Worktable::tested(std::size_t condition, std::size_t number,
                                    Network& network, const Solution* near,
                                    std::size_t phase) {
  const Condition& c = conditions_[condition];
  const Asked& asked = c.asked[number];
  const Probe& probe = c.probes[asked.probe];
  Rig& rig = *posed_.rig;
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
        scatter.add(c.deviations.front(), rig.plan(), network, *slopes, 0,
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
