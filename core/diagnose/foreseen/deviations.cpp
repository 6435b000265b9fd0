#include "core/diagnose/foreseen/detail/deviations.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>
#include <string_view>

#include "core/tolerance/copy/spreads.h"
#include "core/verify/seen/at_rest.h"

namespace benchproof {
namespace {

/// How far along its way a draw is moved to see what moves with it.
constexpr double kStep = 0.05;

/// Resistors from here on are no parts but what open switches, blocking junctions and
/// pins may let through at most (see make_plan): a real one may let through nothing.
/// Ohm.
constexpr double kLeakOhms = 2e7;

/// Sheets bound what a pin leaks by what a tester measures in a moment: 1 uA, where
/// some tell 5 nA as typical (memory). Times.
constexpr double kUsualLeaks = 200.0;

/// What sheets tell as the most that a regulator takes for itself is nearly twice what
/// they tell as usual: 8 mA and 4.2 mA of a 7805 (memory). Shares of the most.
constexpr double kUsualQuiescent = 0.6;
constexpr double kQuiescentOff = 0.2;

/// What nobody tells of a copy, one standard deviation as a share. A chip draws what
/// its clock and program make it draw, up to several times less than its sheet says;
/// what lies in series with its clamp diodes, and the gain of a transistor that works
/// in reverse, is in no sheet. Common practice, no source.
constexpr double kDrawOff = 0.5;
constexpr double kClampOhmsOff = 0.7;
constexpr double kReverseGainOff = 1.0;

/// One standard deviation of a place, about the expected one.
double deviation_of(const Spread& spread, double expected) {
  if (spread.is_normal) return 1.0 / 6.0;
  const double off = 0.5 - expected;
  return std::sqrt(1.0 / 12.0 + off * off);
}

/// The places that a copy is expected to have: as described, but in the middle where
/// the description has a bound (a chip's pins as weak as they may be).
std::vector<double> expected_places(const std::vector<Spread>& spreads) {
  constexpr double kNearBound = 0.2;
  std::vector<double> places = nominal_places(spreads);
  for (double& place : places)
    if (place < kNearBound || place > 1.0 - kNearBound) place = 0.5;
  return places;
}

/// The part whose element a slot is, and which one of it. Nothing of an element that no
/// part has.
std::optional<Deviation> owner_of(const Plan& plan, const Slot& slot) {
  const auto list = static_cast<std::size_t>(slot.list);
  for (std::size_t part = 0; part < plan.parts.size(); ++part) {
    const std::size_t first = plan.parts[part].first[list];
    if (slot.index < first || slot.index >= first + plan.parts[part].count[list])
      continue;
    Deviation d;
    d.part = static_cast<int>(part);
    d.list = slot.list;
    d.index = slot.index - first;
    d.number = slot.number;
    return d;
  }
  return std::nullopt;
}

/// Whether a regulator takes for itself at most what is told, with nothing told of how
/// much it is usually.
bool has_quiescent_bound(const Part& part) {
  return part.kind == KindId::regulator && part.type != nullptr &&
         !part.settings.contains("quiescent") && !number_of(part, "quiescent_most");
}

template <typename Model>
std::size_t number_called(std::string_view name) {
  std::size_t number = 0;
  while (Model::kNumbers[number].name != name) ++number;
  return number;
}

/// Deviations that no spread of a part is told of, a draw for each.
std::vector<DrawDeviations> untold(const Circuit& circuit, const Plan& plan) {
  std::vector<DrawDeviations> draws;
  // A share is of what is there: of 1.
  const auto off = [](std::size_t part, ValueList list, std::size_t index,
                      std::size_t number, double by) {
    Deviation d;
    d.part = static_cast<int>(part);
    d.list = list;
    d.index = index;
    d.number = number;
    d.by = by;
    d.nominal = 1.0;
    return d;
  };
  for (std::size_t k = 0; k < circuit.parts.size() && k < plan.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    const auto& count = plan.parts[k].count;
    if (part.kind == KindId::controller) {
      // Its draw is its first resistor.
      if (number_of(part, "draw").value_or(0.0) > 0.0)
        draws.push_back({off(k, ValueList::ohms, 0, 0, kDrawOff)});
      DrawDeviations& clamps = draws.emplace_back();
      for (std::size_t d = 0; d < count[static_cast<std::size_t>(ValueList::diodes)];
           ++d)
        clamps.push_back(off(k, ValueList::diodes, d, number_called<DiodeModel>("rs"),
                             kClampOhmsOff));
    }
    if (has_quiescent_bound(part)) {
      DrawDeviations& own = draws.emplace_back();
      own.push_back(off(k, ValueList::regulators, 0,
                        number_called<RegulatorModel>("quiescent"),
                        kQuiescentOff * number_of(part, "quiescent").value_or(0.0)));
      own.back().nominal = 0.0;  // Of a regulator no share is meant, but ampere.
    }
    if (part.kind == KindId::transistor)
      draws.push_back({off(k, ValueList::bipolars, 0, number_called<BipolarModel>("br"),
                           kReverseGainOff)});
  }
  return draws;
}

/// What moves from one network to the other, `times` as much.
DrawDeviations moved(const Plan& plan, const Network& from, const Network& to,
                     double times) {
  DrawDeviations deviations;
  for_slots(from.values, to.values, [&](const Slot& slot, double before, double after) {
    if (before == after || !std::isfinite(before) || !std::isfinite(after)) return;
    auto deviation = owner_of(plan, slot);
    if (!deviation) return;
    deviation->by = (after - before) * times;
    deviation->nominal = before;
    deviations.push_back(*deviation);
  });
  if (from.celsius != to.celsius) {
    Deviation warmer;
    warmer.by = (to.celsius - from.celsius) * times;
    deviations.push_back(warmer);
  }
  return deviations;
}

}  // namespace

Circuit expected_copy(const Circuit& circuit) {
  Circuit copy = circuit;
  const std::vector<Spread> spreads = spreads_of(circuit);
  const std::vector<double> described = nominal_places(spreads);
  const std::vector<double> expected = expected_places(spreads);
  for (std::size_t k = 0; k < spreads.size(); ++k) {
    const Spread& spread = spreads[k];
    if (spread.part < 0 || expected[k] == described[k]) continue;
    Part& part = copy.parts[static_cast<std::size_t>(spread.part)];
    part.settings[spread.key] = {value_at(spread, circuit.parts, expected[k]),
                                 part.span};
    for (State& state : copy.states) {
      const auto found = state.settings.find({spread.part, spread.key});
      if (found != state.settings.end())
        found->second.value = value_at(spread, parts_in(circuit, state), expected[k]);
    }
  }
  for (Part& part : copy.parts) {
    if (has_quiescent_bound(part))
      part.settings["quiescent"] = {
          kUsualQuiescent * number_of(part, "quiescent").value_or(0.0), part.span};
    const auto leak = number_of(part, "leak_resistance");
    if (part.kind == KindId::controller && leak &&
        !part.settings.contains("leak_resistance"))
      part.settings["leak_resistance"] = {*leak * kUsualLeaks, part.span};
  }
  return copy;
}

std::vector<std::vector<DrawDeviations>> deviations_of(const Circuit& circuit,
                                                       const State& state) {
  const std::vector<Spread> spreads = spreads_of(circuit);
  const PosedState posed(circuit, state);
  const Plan plan = make_plan(circuit, posed.parts(), posed.structure());
  std::vector<std::vector<DrawDeviations>> deviations(
      posed.phases().size(), std::vector<DrawDeviations>(draws_of(spreads)));
  if (plan.structure != posed.structure()) return deviations;
  const std::vector<double> expected = expected_places(spreads);
  Lowering lowering(spreads, posed);
  const std::vector<std::vector<std::size_t>> draws = by_draw(spreads);
  for (std::size_t draw = 0; draw < draws.size(); ++draw) {
    if (draws[draw].empty()) continue;
    const std::size_t first = draws[draw].front();
    const double step = expected[first] + kStep > 1.0 ? -kStep : kStep;
    std::vector<double> places = expected;
    for (const std::size_t k : draws[draw]) places[k] += step;
    const std::vector<Network> from = lowering.at(draws[draw], expected.data());
    const std::vector<Network> to = lowering.at(draws[draw], places.data());
    if (from.empty() || to.empty()) continue;
    const double times = deviation_of(spreads[first], expected[first]) / step;
    for (std::size_t phase = 0; phase < deviations.size(); ++phase)
      deviations[phase][draw] = moved(plan, from[phase], to[phase], times);
  }
  const std::vector<DrawDeviations> others = untold(circuit, plan);
  for (auto& phase : deviations)
    phase.insert(phase.end(), others.begin(), others.end());
  return deviations;
}

void Scatter::add(const std::vector<DrawDeviations>& deviations, const Plan& plan,
                  const Network& network, const Slopes& slopes, std::size_t figure,
                  double times) {
  const double* by = slopes.of(figure);
  for (std::size_t draw = 0; draw < draws_.size() && draw < deviations.size(); ++draw) {
    double sum = 0.0;
    for (const Deviation& d : deviations[draw]) {
      if (d.part < 0) {
        sum += slopes.by_celsius(figure) * d.by;
        continue;
      }
      // These are taken out of networks at rest (see at_rest).
      if (d.list == ValueList::farads || d.list == ValueList::stray_farads) continue;
      const auto list = static_cast<std::size_t>(d.list);
      const PartPlan& part = plan.parts[static_cast<std::size_t>(d.part)];
      if (d.index >= part.count[list]) continue;
      const Slot slot{d.list, part.first[list] + d.index, d.number};
      double off = d.by;
      // Of a part of another value, or another type, a share is off: the saturation
      // currents of two colours lie decades apart.
      const bool is_share = d.list == ValueList::ohms || d.list == ValueList::diodes ||
                            d.list == ValueList::bipolars ||
                            d.list == ValueList::mosfets;
      if (is_share && d.nominal > 0.0)
        off *= value_at(network.values, slot) / d.nominal;
      sum += by[slopes.order().place_of(slot)] * off;
    }
    draws_[draw] += times * sum;
  }
  for (std::size_t k = 0; k < network.values.ohms.size(); ++k) {
    const double ohms = network.values.ohms[k];
    if (ohms < kLeakOhms) continue;
    const double slope = by[slopes.order().place_of({ValueList::ohms, k, 0})];
    leaks_ += std::abs(times * slope * ohms);
  }
}

void Scatter::add(const Scatter& other, double times) {
  for (std::size_t draw = 0; draw < draws_.size(); ++draw)
    draws_[draw] += times * other.draws_[draw];
  leaks_ += std::abs(times) * other.leaks_;
}

double Scatter::total() const {
  return std::sqrt(std::inner_product(draws_.begin(), draws_.end(), draws_.begin(),
                                      leaks_ * leaks_));
}

}  // namespace benchproof
