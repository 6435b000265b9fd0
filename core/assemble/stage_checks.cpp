#include "core/assemble/stage_checks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <deque>
#include <functional>
#include <set>
#include <utility>

#include "core/assemble/as_built.h"
#include "core/check/rating/light.h"
#include "core/circuit/rewire.h"
#include "core/circuit/topology.h"
#include "core/diagnose/foreseen/meters.h"
#include "core/network/edits.h"
#include "core/tolerance/copy/spreads.h"

namespace benchproof {
namespace {

/// A reading as described by each witness, and its ends over copies.
struct Band {
  double engine = 0.0;
  double nodal = 0.0;
  double least = 0.0;
  double most = 0.0;

  void take(double value) {
    least = std::min(least, value);
    most = std::max(most, value);
  }
};

using Measure = std::function<double(const Observation&)>;

/// Measures a posed state with other numbers in it.
std::optional<double> measured(const PosedState& posed,
                               const std::vector<Network>& networks,
                               const Solve& witness, const Measure& measure) {
  if (networks.empty()) return std::nullopt;
  std::vector<Observation> seen;
  std::vector<double> shares;
  for (std::size_t k = 0; k < networks.size(); ++k) {
    const Solution solution = witness(networks[k]);
    if (!is_complete(networks[k], solution)) return std::nullopt;
    seen.push_back(observe(posed.circuit(), networks[k], solution));
    shares.push_back(posed.phases()[k].phase.share);
  }
  return measure(average(seen, shares));
}

/// Nothing where the witnesses do not agree on the circuit as described.
std::optional<Band> band_of(const Circuit& circuit, const State& state,
                            const std::vector<Spread>& spreads, const Measure& measure,
                            const Solve& engine, const Solve& nodal) {
  const PosedState posed(circuit, state);
  if (!posed.apart().empty()) return std::nullopt;
  const StateResult result = see_by_both(posed, engine, nodal);
  if (!result.agrees) return std::nullopt;
  Band band;
  band.engine = measure(result.engine);
  band.nodal = measure(result.nodal);
  band.least = std::min(band.engine, band.nodal);
  band.most = std::max(band.engine, band.nodal);
  const std::vector<double> nominal = nominal_places(spreads);
  std::vector<double> lowest = nominal;
  std::vector<double> highest = nominal;
  Lowering lowering(spreads, posed);
  for (const std::vector<std::size_t>& draw : by_draw(spreads)) {
    std::optional<double> ends[2];
    for (const int end : {0, 1}) {
      std::vector<double> places = nominal;
      for (const std::size_t k : draw) places[k] = end;
      ends[end] = measured(posed, lowering.at(draw, places.data()), nodal, measure);
      if (ends[end]) band.take(*ends[end]);
    }
    if (!ends[0] || !ends[1] || *ends[0] == *ends[1]) continue;
    const bool rises = *ends[0] < *ends[1];
    for (const std::size_t k : draw) {
      lowest[k] = rises ? 0.0 : 1.0;
      highest[k] = rises ? 1.0 : 0.0;
    }
  }
  for (const std::vector<double>& corner : {lowest, highest}) {
    const std::vector<Network> networks = networks_at(spreads, corner.data(), posed);
    for (const Solve* witness : {&engine, &nodal})
      if (const auto value = measured(posed, networks, *witness, measure))
        band.take(*value);
  }
  return band;
}

/// Whether a net's voltage goes up and down as outputs are switched.
bool moves(const StateResult& result, int net) {
  constexpr double kSame = 1e-3;  // Of the largest.
  double least = INFINITY;
  double most = -INFINITY;
  for (const PhaseResult& phase : result.phases) {
    least = std::min(least, phase.nodal_seen.net_volts[net]);
    most = std::max(most, phase.nodal_seen.net_volts[net]);
  }
  return most - least > kSame * std::max(std::abs(most), std::abs(least));
}

/// Puts a source of a voltage from a net to ground; it becomes the last part.
void put_source(Circuit& circuit, int net, double volts) {
  Part source;
  source.name = "meter";
  source.kind = KindId::voltage_source;
  source.pins = {"plus", "minus"};
  source.nets = {-1, -1};
  source.settings["voltage"] = {volts, {}};
  const int index = static_cast<int>(circuit.parts.size());
  circuit.parts.push_back(std::move(source));
  rejoin(circuit, {index, 0}, net);
  rejoin(circuit, {index, 1}, 0);
}

/// Ratings that are passed upwards: by id and part.
std::set<std::pair<std::string, std::string>> passed(const StateResult& state,
                                                     const std::vector<Part>& parts) {
  std::set<std::pair<std::string, std::string>> list;
  for (const Margin& m : state.margins) {
    const auto left = margin(m);
    if (m.bound == Bound::upper && left && *left < 0.0)
      list.emplace(std::string(m.check), parts[m.part].name);
  }
  return list;
}

class Checker {
 public:
  Checker(const Circuit& circuit, const BuildOrder& order, std::size_t stage,
          const Verification& verification, const Solve& engine, const Solve& nodal,
          const std::vector<int>& owed)
      : circuit_(circuit),
        stage_(order.stages[stage]),
        verification_(verification),
        engine_(engine),
        nodal_(nodal),
        owed_(owed),
        there_(there_after(circuit, order, stage)) {
    for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
      const Part& part = circuit.parts[k];
      const bool is_socketed = std::any_of(
          order.stages.begin(), order.stages.begin() + static_cast<long>(stage) + 1,
          [&](const BuildStage& s) {
            return s.sort == StageSort::socket && s.about == static_cast<int>(k);
          });
      if (part.kind == KindId::controller && is_socketed && !there_[k])
        checks_.out.push_back(static_cast<int>(k));
    }
  }

  StageChecks check() {
    look_without_power();
    choose_state();
    look_with_power();
    return std::move(checks_);
  }

 private:
  [[nodiscard]] bool zero(int net) const { return net < 0 || is_zero(circuit_, net); }

  [[nodiscard]] std::vector<int> sockets_empty_without_power() const {
    std::vector<int> out = checks_.out;
    for (std::size_t k = 0; k < circuit_.parts.size(); ++k)
      if (circuit_.parts[k].kind == KindId::controller && there_[k])
        out.push_back(static_cast<int>(k));
    std::sort(out.begin(), out.end());
    return out;
  }

  /// The nets that are asked for a short: those of supply lines, and the pin that a
  /// branch hangs on.
  [[nodiscard]] std::vector<int> nets_without_power() const {
    if (stage_.sort == StageSort::chip) return {};
    if (stage_.sort != StageSort::branch) return stage_.nets;
    if (stage_.pins.empty()) return {};
    const PinRef pin = stage_.pins.front();
    return {circuit_.parts[pin.part].nets[pin.pin]};
  }

  void look_without_power() {
    std::vector<bool> there = there_;
    for (std::size_t k = 0; k < there.size(); ++k) {
      const KindId kind = circuit_.parts[k].kind;
      if (is_source(kind) || kind == KindId::controller) there[k] = false;
    }
    for (const int net : nets_without_power()) ask_ohms(there, net);
  }

  void ask_ohms(const std::vector<bool>& there, int net) {
    // Ground alone is a reference here: what only a source would join stays joined.
    Circuit probed = circuit_;
    const double test_volts = sheets_meter().ohms_test_volts;
    const double most_ohms = sheets_meter().most_ohms;
    put_source(probed, net, test_volts);
    std::vector<bool> with_meter = there;
    with_meter.push_back(true);
    AsBuilt built = as_built(probed, with_meter);
    if (!built.is_whole || built.nets[net] < 0 || built.circuit.states.empty()) return;
    const int meter = built.parts.back();
    if (meter < 0) return;
    std::vector<Spread> spreads = spreads_of(built.circuit);
    State state = built.circuit.states.front();
    state.closed.clear();
    state.outputs.clear();
    const Measure ohms = [meter, test_volts](const Observation& seen) {
      const double amps = std::abs(seen.pin_amps[meter][0]);
      return amps > 0.0 ? test_volts / amps : INFINITY;
    };
    const auto band = band_of(built.circuit, state, spreads, ohms, engine_, nodal_);
    if (!band) return;
    StageCheck check;
    check.asks = StageCheck::Asks::resistance;
    check.is_powered = false;
    check.out = sockets_empty_without_power();
    check.net = net;
    if (band->engine < most_ohms) check.engine = band->engine;
    if (band->nodal < most_ohms) check.nodal = band->nodal;
    double least = std::min(band->least, most_ohms);
    const auto& pins = built.circuit.nets[built.nets[net]].pins;
    const bool has_chip = std::any_of(pins.begin(), pins.end(), [&](PinRef pin) {
      return built.circuit.parts[pin.part].kind == KindId::regulator;
    });
    const bool has_filament =
        std::any_of(built.circuit.parts.begin(), built.circuit.parts.end(),
                    [](const Part& part) { return part.kind == KindId::lamp; });
    if (has_filament) least *= kColdFilamentLeast;
    least = std::max(0.0, least - meter_error(least));
    if (has_chip) {
      check.least = std::min(least, kLeastOhmsOfChips);
    } else {
      check.least = least;
      if (band->most < most_ohms) check.most = band->most + meter_error(band->most);
    }
    checks_.off.push_back(std::move(check));
  }

  /// The state in which the stage's parts do most; the first one where none does.
  void choose_state() {
    double most = -1.0;
    for (const StateResult& result : verification_.states) {
      double watts = 0.0;
      if (result.agrees) {
        for (const int part : stage_.parts)
          watts += std::abs(result.nodal.part_watts[part]);
        for (const PinRef pin : stage_.pins)
          watts += 1e-9 * std::abs(result.nodal.pin_amps[pin.part][pin.pin]);
      }
      // What differs by less than this is the same but for the solver's last digits.
      if (watts <= most * (1.0 + 1e-6)) continue;
      most = watts;
      checks_.state =
          static_cast<int>(&state_of(circuit_, result) - circuit_.states.data());
    }
  }

  void look_with_power() {
    for (std::size_t k = 0; k < there_.size(); ++k)
      if (there_[k] && is_source(circuit_.parts[k].kind))
        checks_.sources.push_back(static_cast<int>(k));
    if (checks_.state < 0) {
      checks_.not_powered = "it has no state at rest";
      return;
    }
    if (checks_.sources.empty()) {
      checks_.not_powered = "no supply is there yet";
      return;
    }
    const State& whole_state = circuit_.states[checks_.state];
    for (const auto& [part, closed] : whole_state.closed)
      if (closed && there_[part]) checks_.closed.push_back(part);
    const AsBuilt built = as_built(circuit_, there_);
    if (!built.is_whole) {
      checks_.not_powered = "what is there forms no circuit yet";
      return;
    }
    const State& state = built.circuit.states[checks_.state];
    std::deque<PosedState> posed;
    posed.emplace_back(built.circuit, state);
    if (!posed.front().apart().empty()) {
      checks_.not_powered = "no current has a way back to its supply yet";
      return;
    }
    const Verification judged = verify_as_posed(posed, engine_, nodal_);
    const StateResult& result = judged.states.front();
    const bool is_unlimited =
        std::any_of(result.phases.begin(), result.phases.end(),
                    [](const PhaseResult& p) { return p.unanswerable.has_value(); });
    if (is_unlimited) {
      checks_.not_powered = "nothing limits the current in what is there so far";
      return;
    }
    if (!result.agrees) {
      checks_.not_powered = "the witnesses do not agree on what is there so far";
      return;
    }
    if (const auto part = past_rating(built, result)) {
      checks_.not_powered =
          fmt::format("without what comes next '{}' would be past a rating", *part);
      return;
    }
    const std::vector<Spread> spreads = spreads_of(built.circuit);
    for (const int net : nets_with_power(whole_state)) {
      const int here = built.nets[net];
      const bool is_floating =
          here < 0 || (!result.floating.empty() && result.floating[here]);
      if (!is_floating)
        ask_volts(built.circuit, state, spreads, net, here, moves(result, here));
    }
    for (const int part : stage_.parts)
      if (built.parts[part] >= 0) ask_looks(result, part, built.parts[part]);
  }

  /// A part that is past a rating as far as the circuit is built, and is not in the
  /// whole.
  [[nodiscard]] std::optional<std::string> past_rating(
      const AsBuilt& built, const StateResult& result) const {
    auto now = passed(result, built.circuit.parts);
    for (const StateResult& whole : verification_.states)
      for (const auto& entry : passed(whole, circuit_.parts)) now.erase(entry);
    if (now.empty()) return std::nullopt;
    return now.begin()->second;
  }

  [[nodiscard]] std::vector<int> nets_with_power(const State& state) const {
    std::vector<int> nets = owed_;
    nets.insert(nets.end(), stage_.nets.begin(), stage_.nets.end());
    if (nets.empty()) put_all_nets(nets);
    if (stage_.sort != StageSort::chip) return nets;
    const Part& chip = circuit_.parts[stage_.about];
    for (int pin = kFirstPin; pin < static_cast<int>(chip.nets.size()); ++pin) {
      if (!is_output_pin(chip, pin) || zero(chip.nets[pin])) continue;
      const auto level = output(state, {stage_.about, pin}).level;
      if (level != OutputSetting::Level::open) nets.push_back(chip.nets[pin]);
    }
    return nets;
  }

  /// Where a stage brings no net, those that its parts stand on.
  void put_all_nets(std::vector<int>& nets) const {
    for (const int part : stage_.parts)
      for (const int net : circuit_.parts[part].nets)
        if (!zero(net) && std::find(nets.begin(), nets.end(), net) == nets.end())
          nets.push_back(net);
  }

  void ask_volts(const Circuit& circuit, const State& state,
                 const std::vector<Spread>& spreads, int net, int here,
                 bool is_average) {
    Circuit metered = circuit;
    put_between(metered, here, 0, sheets_meter().input_ohms, "meter");
    const Measure volts = [here](const Observation& seen) {
      return seen.net_volts[here];
    };
    const auto band = band_of(metered, state, spreads, volts, engine_, nodal_);
    if (!band) return;
    StageCheck check;
    check.out = checks_.out;
    check.net = net;
    check.engine = band->engine;
    check.nodal = band->nodal;
    check.least = band->least - meter_error(band->least);
    check.most = band->most + meter_error(band->most);
    check.is_average = is_average;
    checks_.on.push_back(std::move(check));
  }

  void ask_looks(const StateResult& result, int part, int here) {
    const Part& of = result.parts[here];
    StageCheck check;
    check.asks = StageCheck::Asks::looks;
    check.out = checks_.out;
    check.part = part;
    constexpr double kSeen = 1e-3;   // What lights less counts as dark.
    constexpr double kAtWork = 0.5;  // Of its rated current. Common practice.
    constexpr double kAtRest = 0.05;
    const double amps = std::abs(result.nodal.pin_amps[here][0]);
    if (const auto light = light_share(of, amps, result.nodal.part_watts[here])) {
      check.looks = *light >= kSeen ? "as meant" : "dark";
    } else if (is_load(of.kind)) {
      const double rated = number_of(of, "current").value_or(0.0);
      if (rated <= 0.0) return;
      const double share = amps / rated;
      const bool works = share >= kAtWork;
      if (!works && share > kAtRest) return;
      check.looks = of.kind == KindId::motor        ? (works ? "runs" : "still")
                    : of.kind == KindId::relay_coil ? (works ? "clicks" : "still")
                                                    : (works ? "sounds" : "still");
    } else {
      return;
    }
    checks_.on.push_back(std::move(check));
  }

  const Circuit& circuit_;
  const BuildStage& stage_;
  const Verification& verification_;
  const Solve& engine_;
  const Solve& nodal_;
  const std::vector<int>& owed_;
  std::vector<bool> there_;
  StageChecks checks_;
};

}  // namespace

const Meter& sheets_meter() { return built_in_meters().front().meter; }

double meter_error(double value) {
  const double size = std::abs(value);
  if (!(size > 0.0)) return 0.2 * kMeterDigits / kMeterCounts;
  // Its ranges end at 0.2, 2, 20 ...; the last digit is one count of its range.
  const double decade = std::max(-1.0, std::ceil(std::log10(size / 2.0) - 1e-12));
  const double range = 2.0 * std::pow(10.0, decade);
  return kMeterShare * size + kMeterDigits * range / kMeterCounts;
}

std::vector<bool> there_after(const Circuit& circuit, const BuildOrder& order,
                              std::size_t stage) {
  std::vector<bool> there(circuit.parts.size(), false);
  for (std::size_t k = 0; k <= stage; ++k) {
    const BuildStage& done = order.stages[k];
    for (const int part : done.parts)
      if (circuit.parts[part].kind != KindId::controller) there[part] = true;
    if (done.sort == StageSort::chip) there[done.about] = true;
  }
  return there;
}

StageChecks stage_checks(const Circuit& circuit, const BuildOrder& order,
                         std::size_t stage, const Verification& verification,
                         const Solve& engine, const Solve& nodal,
                         const std::vector<int>& owed) {
  return Checker(circuit, order, stage, verification, engine, nodal, owed).check();
}

}  // namespace benchproof
