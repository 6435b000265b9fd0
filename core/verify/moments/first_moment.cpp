#include "core/verify/moments/first_moment.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <tuple>

#include "core/check/agree/agreement.h"
#include "core/check/finding/explanation.h"
#include "core/check/finding/wording.h"
#include "core/check/rating/ratings.h"
#include "core/check/rest/limits.h"
#include "core/check/time/run_checks.h"
#include "core/circuit/topology.h"
#include "core/network/edits.h"
#include "core/network/lower.h"
#include "core/network/record.h"
#include "core/network/unlimited.h"
#include "core/verify/seen/at_rest.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutFirstMoment[] = {
    {"switching-on", "what flows when the circuit is switched on",
     "each state is solved again with each capacitor of 1 uF and more empty (0 V), "
     "with "
     "its motors standing still ('start_current') and with its lamps cold "
     "('start_current'), with weak pins and with strong ones (25 ohm). From there each "
     "current goes to that at rest, I = I1 + (I0 - I1) e^(-t / tau), with tau = C V / "
     "I0; 20 ms for a lamp; a motor that is blocked draws I0 for 3 s. Held against the "
     "ratings of runs: a fault above 1.25 times what is borne for so long (1.5 times "
     "with strong pins), else a caution; no more than a caution for fuses, cold lamps "
     "and blocked motors. Left out where a run of the description switches the state "
     "on, but for "
     "lamps; of motors what switches them is asked by 'setting-end'",
     "the ratings of 'run-surge', 'run-pin', 'run-transistor-current', 'run-current', "
     "'run-fuse' and 'run-heat'; the course follows from Kirchhoff's laws and one time "
     "constant; 1 uF, 25 ohm, 20 ms, 3 s, 1.25 and 1.5 times: common practice, no "
     "source "
     "(practice)",
     "an empty capacitor is a short circuit, a cold filament takes ten times its "
     "current, and a motor that stands still only has the resistance of its winding",
     "a resistor in series or less capacitance; for lamps and motors a part that bears "
     "what they take at first"},
};

// Common practice, no source.

/// What smaller capacitors take is over before anything is warm. Farad.
constexpr double kLeastFarads = 1e-6;
/// So much more than at rest does no part harm. Ampere.
constexpr double kLeastAmps = 10e-3;
/// Filaments of small bulbs are warm after 10 to 100 ms. Second.
constexpr double kFilamentSeconds = 20e-3;
/// Before somebody who sees that a motor is blocked has switched it off. Second.
constexpr double kBlockedSeconds = 3.0;
/// What has less does not work. Volt.
constexpr double kLeastVolts = 0.1;
/// Voltages that are so near are the same.
constexpr double kSameShare = 0.01;
/// A rating that is passed by so much is a fault; with strong pins, of which nobody
/// says how strong they are, by more (as of "pin-strength").
constexpr double kFarPast = 1.25;
constexpr double kFarPastStrong = 1.5;

/// What takes more at first than it does later: capacitors beside each other, all
/// motors, or all lamps.
struct Taker {
  enum class What { store, motors, lamps };
  What what = What::store;
  std::vector<int> parts;
};

/// Whether a part takes more at first.
bool takes_more(const Part& part) {
  if (part.nets[0] == part.nets[1] || part.nets[0] < 0 || part.nets[1] < 0)
    return false;
  if (part.kind == KindId::capacitor) return true;
  return (part.kind == KindId::motor || part.kind == KindId::lamp) &&
         number_of(part, "start_current").value_or(0.0) >
             number_of(part, "current").value_or(0.0);
}

double farads_of(const std::vector<Part>& parts, const Taker& taker) {
  double sum = 0.0;
  for (const int part : taker.parts)
    sum += number_of(parts[part], "value").value_or(0.0);
  return sum;
}

std::vector<Taker> takers_of(const std::vector<Part>& parts) {
  std::map<std::pair<int, int>, Taker> stores;
  Taker motors{Taker::What::motors, {}};
  Taker lamps{Taker::What::lamps, {}};
  for (int k = 0; k < static_cast<int>(parts.size()); ++k) {
    const Part& part = parts[k];
    if (!takes_more(part)) continue;
    Taker& taker = part.kind == KindId::motor ? motors
                   : part.kind == KindId::lamp
                       ? lamps
                       : stores[std::minmax({part.nets[0], part.nets[1]})];
    taker.parts.push_back(k);
  }
  std::vector<Taker> takers;
  for (auto& [nets, store] : stores)
    if (farads_of(parts, store) >= kLeastFarads) takers.push_back(std::move(store));
  if (!motors.parts.empty()) takers.push_back(std::move(motors));
  if (!lamps.parts.empty()) takers.push_back(std::move(lamps));
  return takers;
}

/// The capacitors of a network that a taker charges; a motor's rotor is one.
std::vector<std::size_t> capacitors_of(const Network& network, const Taker& taker) {
  std::vector<std::size_t> found;
  const std::vector<TwoEnds>& all = network.structure->capacitors;
  for (std::size_t k = 0; k < all.size(); ++k)
    if (std::find(taker.parts.begin(), taker.parts.end(), all[k].origin.part) !=
        taker.parts.end())
      found.push_back(k);
  return found;
}

/// Whether a part only hands on what flows at first: it is neither what gives nor what
/// takes it, and does not limit it by itself.
bool hands_on(const Part& part) {
  switch (part.kind) {
    case KindId::dc_supply:
    case KindId::battery:
    case KindId::voltage_source:
    case KindId::current_source:
    case KindId::regulator:
    case KindId::capacitor:
      return false;
    default:
      return !is_load(part.kind);
  }
}

/// Whether a part is what switches a motor: that it bears one which stands still is
/// asked by itself (see ends.h), for a motor that sticks does so for long.
bool drives_motor(const Part& part, const Taker& taker) {
  return taker.what == Taker::What::motors &&
         (part.kind == KindId::transistor || part.kind == KindId::mosfet ||
          part.kind == KindId::controller);
}

double most_amps(const std::vector<double>& pins) {
  double most = 0.0;
  for (const double amps : pins) most = std::max(most, std::abs(amps));
  return most;
}

/// How much more a part carries at first than at rest. Ampere.
double more_amps(const Observation& first, const Observation& rest, int part) {
  return most_amps(first.pin_amps[part]) - most_amps(rest.pin_amps[part]);
}

/// A course that begins as seen at first and nears what is seen at rest.
Record charging(const Circuit& circuit, const Observation& first,
                const Observation& rest, double tau) {
  constexpr int kPieces = 40;
  constexpr double kEnd = 8.0;  // Time constants.
  std::vector<double> seconds;
  std::vector<Observation> seen;
  for (int k = 0; k <= kPieces; ++k) {
    const double times = kEnd * k / kPieces;
    const double left = std::exp(-times);
    seconds.push_back(times * tau);
    seen.push_back(average({first, rest}, {left, 1.0 - left}));
  }
  return {circuit, std::move(seconds), seen};
}

/// One moment of switching on.
struct FirstMoment {
  std::size_t state = 0;
  const PhaseResult* phase = nullptr;
  const Taker* taker = nullptr;
  bool is_strong = false;  ///< With strong pins.
  bool is_blocked = false;
};

/// What a part does not bear.
struct Excess {
  Finding finding;
  std::size_t state = 0;
  Network network;  ///< At first.
  [[nodiscard]] auto rank() const {
    return std::tuple(finding.severity, *finding.value / *finding.limit);
  }
};

class SwitchingOn {
 public:
  SwitchingOn(const Circuit& circuit, const std::vector<StateResult>& states,
              const Solve& nodal)
      : circuit_(circuit), states_(states), nodal_(nodal) {}

  /// The worst of each part.
  [[nodiscard]] const std::map<std::string, Excess>& worst() const { return worst_; }

  void look_at(std::size_t k) {
    for (const PhaseResult& phase : states_[k].phases)
      if (phase.phase.all_on || phase.phase.all_off) look_at(k, phase);
  }

 private:
  void look_at(std::size_t k, const PhaseResult& phase) {
    const State& state = phase.phase.state;
    network_.reset();
    rest_.reset();
    for (const Taker& taker : takers_of(states_[k].parts)) {
      const std::vector<double> volts = volts_of(phase.nodal_seen, taker);
      const bool is_idle = std::all_of(volts.begin(), volts.end(),
                                       [](double v) { return v < kLeastVolts; });
      if (is_idle || is_known(state, taker, volts) || is_in_a_run(k, taker)) continue;
      if (!network_) {
        network_ = lower(circuit_, state, structure_, Purpose::run);
        structure_ = network_->structure;
      }
      FirstMoment moment{k, &phase, &taker};
      const auto weak = judge(moment, *network_);
      const bool is_by_pins = weak && is_driven(*weak, phase.nodal_seen);
      known_.push_back({&state, taker.parts, volts, is_by_pins});
      if (!is_by_pins) continue;
      moment.is_strong = true;
      if (const auto strong = with_strong_pins(circuit_, state, *network_))
        static_cast<void>(judge(moment, *strong));
    }
  }

  /// Across each part of a taker.
  [[nodiscard]] std::vector<double> volts_of(const Observation& seen,
                                             const Taker& taker) const {
    std::vector<double> volts;
    for (const int part : taker.parts) {
      const std::vector<int>& nets = circuit_.parts[part].nets;
      volts.push_back(std::abs(seen.net_volts[nets[0]] - seen.net_volts[nets[1]]));
    }
    return volts;
  }

  /// Whether a taker comes to the same voltages as in a state that was looked at, by
  /// the same ways: those of supplies do not hang on what outputs do.
  [[nodiscard]] bool is_known(const State& state, const Taker& taker,
                              const std::vector<double>& volts) const {
    const auto is_same = [](double a, double b) {
      return std::abs(a - b) <= kSameShare * std::abs(a);
    };
    return std::any_of(known_.begin(), known_.end(), [&](const Known& known) {
      return known.parts == taker.parts && !known.is_by_pins &&
             known.state->closed == state.closed &&
             std::equal(volts.begin(), volts.end(), known.volts.begin(), is_same);
    });
  }

  /// Whether a chip's output gives any of it.
  [[nodiscard]] bool is_driven(const Observation& first,
                               const Observation& rest) const {
    for (std::size_t k = 0; k < circuit_.parts.size(); ++k) {
      const Part& part = circuit_.parts[k];
      if (part.kind != KindId::controller) continue;
      for (int pin = kFirstPin; pin < static_cast<int>(part.pins.size()); ++pin)
        if (is_output_pin(part, pin) &&
            std::abs(first.pin_amps[k][pin]) >
                std::abs(rest.pin_amps[k][pin]) + 0.1 * kLeastAmps)
          return true;
    }
    return false;
  }

  /// Whether a run of the description comes to a state from where the taker is empty.
  [[nodiscard]] bool is_in_a_run(std::size_t k, const Taker& taker) const {
    if (taker.what == Taker::What::lamps) return false;
    const int here = index_of(k);
    for (const Run& run : circuit_.runs) {
      bool was_empty = false;
      int before = run.from;
      for (const RunStep& step : run.steps) {
        was_empty = was_empty || is_empty_in(before, k, taker);
        if (step.state == here && was_empty) return true;
        before = step.state;
      }
    }
    return false;
  }

  [[nodiscard]] bool is_empty_in(int state, std::size_t k, const Taker& taker) const {
    if (state == kUnpowered || state == kFromInitial) return true;
    if (taker.what == Taker::What::motors) return state != index_of(k);
    for (std::size_t other = 0; other < states_.size(); ++other) {
      if (index_of(other) != state || !states_[other].agrees) continue;
      return volts_of(states_[other].nodal, taker).front() <
             0.5 * volts_of(states_[k].nodal, taker).front();
    }
    return false;
  }

  [[nodiscard]] int index_of(std::size_t k) const {
    return static_cast<int>(&state_of(circuit_, states_[k]) - circuit_.states.data());
  }

  /// What is seen at first, where the nodal witness has an answer.
  std::optional<Observation> judge(FirstMoment moment, const Network& network) {
    const Taker& taker = *moment.taker;
    const StateResult& state = states_[moment.state];
    const Observation& rest = moment.phase->nodal_seen;
    const bool is_cold = taker.what == Taker::What::lamps;
    const Network first =
        is_cold ? with_cold_lamps(state.parts, network)
                : emptied(state.parts, network, capacitors_of(network, taker));
    if (!unlimited_loop(first).empty()) return std::nullopt;
    const Solution solution = nodal_(first);
    if (!is_complete(first, solution)) return std::nullopt;
    Observation seen = observe(circuit_, first, solution);
    if (!is_strained(state, seen, rest)) return seen;
    const auto tau = is_cold ? std::optional(kFilamentSeconds)
                             : time_constant(taker, network, first, solution);
    if (!tau) return seen;
    tell(moment, first, seen, charging(circuit_, seen, rest, *tau));
    if (taker.what != Taker::What::motors) return seen;
    moment.is_blocked = true;
    tell(moment, first, seen, Record(circuit_, {0.0, kBlockedSeconds}, {seen, seen}));
    return seen;
  }

  /// Whether a part takes more than at rest, and more than a rating of runs allows for
  /// ever.
  [[nodiscard]] bool is_strained(const StateResult& result, const Observation& first,
                                 const Observation& rest) const {
    const State& state = state_of(circuit_, result);
    const CheckInput input = check_input(circuit_, state, result.parts, {}, rest);
    for (int k = 0; k < static_cast<int>(circuit_.parts.size()); ++k) {
      const Part& part = result.parts[k];
      if (!hands_on(part) || more_amps(first, rest, k) <= kLeastAmps) continue;
      for (const Rating* rating : ratings_of(part.kind))
        if (is_passed(input, first, k, *rating)) return true;
    }
    return false;
  }

  static bool is_passed(const CheckInput& input, const Observation& first, int index,
                        const Rating& rating) {
    const Unit unit = unit_of(rating);
    if (rating.run.check.empty() || (unit != Unit::ampere && unit != Unit::watt))
      return false;
    const Part& part = input.parts[index];
    const auto limit = limit_of(rating, part, input.circuit.ambient);
    if (!limit) return false;
    const std::vector<int> pins = pins_of(rating.measure, part);
    return std::any_of(pins.begin(), pins.end(), [&](int pin) {
      return value_in(input, first, index, rating, pin) > limit->value;
    });
  }

  /// What charges, over what charges it at first.
  [[nodiscard]] std::optional<double> time_constant(const Taker& taker,
                                                    const Network& network,
                                                    const Network& first,
                                                    const Solution& solution) {
    if (!rest_) rest_ = nodal_(network);
    if (!is_complete(network, *rest_)) return std::nullopt;
    double charge = 0.0;
    for (const std::size_t k : capacitors_of(network, taker)) {
      const TwoEnds& c = network.structure->capacitors[k];
      charge +=
          network.values.farads[k] * std::abs(rest_->volts[c.a] - rest_->volts[c.b]);
    }
    double amps = 0.0;
    for (std::size_t k = network.structure->voltage_sources.size();
         k < first.structure->voltage_sources.size(); ++k)
      amps += std::abs(solution.currents.voltage_sources[k]);
    const double tau = charge / amps;
    if (!std::isfinite(tau) || !(tau > 0.0)) return std::nullopt;
    return tau;
  }

  void tell(const FirstMoment& moment, const Network& first, const Observation& seen,
            const Record& record) {
    const StateResult& state = states_[moment.state];
    Run run;
    run.name = state.name;
    run.from = kFromInitial;
    run.steps = {{0.0, index_of(moment.state), kShortestRise, {}}};
    run.seconds = record.whole().to;
    for (Finding& finding : check_run({circuit_, run, state.parts, record})) {
      const auto part =
          std::find_if(circuit_.parts.begin(), circuit_.parts.end(),
                       [&finding](const Part& p) { return p.name == finding.part; });
      if (part == circuit_.parts.end() || !hands_on(*part)) continue;
      if (drives_motor(*part, *moment.taker)) continue;
      const auto index = static_cast<int>(part - circuit_.parts.begin());
      if (more_amps(seen, moment.phase->nodal_seen, index) < kLeastAmps) continue;
      const bool is_fuse = part->kind == KindId::fuse;
      if (is_fuse && moment.is_blocked) continue;  // That is what it is for.
      // One that may open is as bad: it does so sooner or later.
      const Severity least = is_fuse ? Severity::caution : Severity::fault;
      if (finding.severity < least || !is_overload(finding) || is_told(state, finding))
        continue;
      keep({grade(moment, is_fuse, std::move(finding)), moment.state, first});
    }
  }

  /// Whether a finding of a run says that current or heat is too much.
  static bool is_overload(const Finding& finding) {
    return (finding.unit == Unit::ampere || finding.unit == Unit::watt) &&
           finding.value && finding.limit && finding.follows.empty();
  }

  /// Whether the part has too much of it at rest already.
  static bool is_told(const StateResult& state, const Finding& finding) {
    return std::any_of(
        state.findings.begin(), state.findings.end(), [&finding](const Finding& other) {
          return other.part == finding.part && other.unit == finding.unit &&
                 other.severity == Severity::fault;
        });
  }

  [[nodiscard]] Finding grade(const FirstMoment& moment, bool is_fuse,
                              Finding finding) const {
    const bool is_usual =
        is_fuse || moment.is_blocked || moment.taker->what == Taker::What::lamps;
    const double far = moment.is_strong ? kFarPastStrong : kFarPast;
    finding.severity = !is_usual && *finding.value > far * *finding.limit
                           ? Severity::fault
                           : Severity::caution;
    finding.check = CheckId(kAboutFirstMoment, "switching-on");
    finding.message = fmt::format(
        "when it is switched on in state '{}', {}{}: {}", states_[moment.state].name,
        cause(moment), moment.is_strong ? ", with a pin as strong as most are" : "",
        finding.message);
    return finding;
  }

  /// "while 'bulk' is still empty"
  [[nodiscard]] std::string cause(const FirstMoment& moment) const {
    std::vector<std::string> names;
    for (const int part : moment.taker->parts)
      names.push_back("'" + circuit_.parts[part].name + "'");
    const bool is_one = names.size() == 1;
    const std::string all = fmt::format("{}", fmt::join(names, ", "));
    switch (moment.taker->what) {
      case Taker::What::store:
        return fmt::format("while {} {} still empty", all, is_one ? "is" : "are");
      case Taker::What::lamps:
        return fmt::format("while the filament{} of {} {} still cold",
                           is_one ? "" : "s", all, is_one ? "is" : "are");
      case Taker::What::motors:
        return moment.is_blocked ? fmt::format("or while it runs, and {} {} held fast",
                                               all, is_one ? "is" : "are")
                                 : fmt::format("while {} start{} from standstill", all,
                                               is_one ? "s" : "");
    }
    return all;
  }

  void keep(Excess excess) {
    const auto known = worst_.find(excess.finding.part);
    if (known == worst_.end() || known->second.rank() < excess.rank())
      worst_.insert_or_assign(excess.finding.part, std::move(excess));
  }

  static constexpr double kShortestRise = 1e-6;  // Second. Nothing asks for it.

  const Circuit& circuit_;
  const std::vector<StateResult>& states_;
  const Solve& nodal_;
  /// A taker that was looked at.
  struct Known {
    const State* state = nullptr;
    std::vector<int> parts;
    std::vector<double> volts;
    bool is_by_pins = false;
  };

  std::shared_ptr<const Structure> structure_;
  std::optional<Network> network_;  ///< Of the phase that is looked at.
  std::optional<Solution> rest_;    ///< Of the same.
  std::vector<Known> known_;
  std::map<std::string, Excess> worst_;
};

}  // namespace

std::vector<std::pair<std::size_t, Finding>> check_first_moment(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& engine,
    const Solve& nodal) {
  std::vector<std::pair<std::size_t, Finding>> findings;
  if (std::none_of(circuit.parts.begin(), circuit.parts.end(), takes_more))
    return findings;
  SwitchingOn switching(circuit, states, nodal);
  for (std::size_t k = 0; k < states.size(); ++k)
    if (states[k].agrees) switching.look_at(k);
  for (const auto& [part, excess] : switching.worst()) {
    // What is told rests on both witnesses.
    if (agree(circuit, excess.network, engine(excess.network), nodal(excess.network))
            .agrees)
      findings.emplace_back(excess.state, excess.finding);
  }
  return findings;
}

std::span<const Explanation> explain_first_moment() { return kAboutFirstMoment; }

}  // namespace benchproof
