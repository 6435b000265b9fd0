#include "core/verify/spread/spread.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <string>

#include "core/check/agree/agreement.h"
#include "core/check/finding/explanation.h"
#include "core/check/finding/wording.h"
#include "core/check/rating/overload.h"
#include "core/check/rating/ratings.h"
#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"
#include "core/circuit/topology.h"
#include "core/network/spread.h"
#include "core/verify/seen/brought.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutSpread[] = {
    {"spread-rating", "ratings that an ordinary copy of a part passes",
     "each state is solved and judged again with one part alone at an end of what is "
     "published of its type: forward, zener, output voltage, gain, threshold; a "
     "regulated supply 5 % off its label, a base-emitter voltage 0.06 V, a diode's "
     "forward voltage 0.1 V less: a caution where a rating is passed then and not as "
     "described, a fault where what is published makes that more than a quarter",
     "the limit of the rating that is passed; the type's figures, whose sources and "
     "marks 'benchproof parts TYPE' names; 5 %, 0.06 V, 0.1 V: common practice, no "
     "source (practice)",
     "parts of one bag differ: what rests on a gain, a threshold or on two being alike "
     "works with one copy and burns the next one",
     "let resistors set currents, and give parts that share a load one each"},
    {"spread-function", "what works with some copies of a part only",
     "the same: a caution where something does not work, or does not go off, that does "
     "as described. Gains fall to half at the rated current, in a straight line over "
     "its logarithm from where they are published",
     "the figure of what is too little; half of the gain: common practice, no source "
     "(practice)",
     "a typical curve is no promise: the least gain, the highest threshold and a low "
     "supply are sold as well",
     "leave room: a forced gain of 10 to 20, a gate voltage well beyond the threshold, "
     "a volt or two before a regulator"},
    {"spread-worst", "what holds as described and fails in the worst copy",
     "all numbers that differ from copy to copy at those of their ends that bring an "
     "expectation or an absolute rating nearest to its limit, by the slope of each one "
     "alone (extreme value, ECSS-Q-HB-30-01A): a caution where it fails there; at the "
     "top of a chip's range, where 1.05 times it are a fault, above the top itself if "
     "more than one number brings it there. Told once, of the figure that is farthest "
     "past its limit",
     "the expectation or rating; how far each number is off: the description, the "
     "type's published least and most, or what is usual of its kind; 'benchproof "
     "tolerance FILE --spreads' lists them with their marks",
     "a figure that holds with what is printed on the parts says nothing of parts that "
     "are off by what is allowed",
     "leave more room, or look by 'benchproof tolerance' how many copies work"},
};

/// What moves less than this share, or this much, brings nothing.
constexpr double kMovedShare = 0.03;
constexpr double kMovedAmps = 20e-6;
constexpr double kMovedVolts = 10e-3;
/// A part of which nothing moves by this share is as it was.
constexpr double kFeltShare = 3e-3;
/// An absolute rating that is passed by so much by spread alone is a fault.
constexpr double kFarTimes = 1.25;
/// Below this share of what it carries at most a load or LED is off, above the second
/// it is on. Common practice, no source.
constexpr double kOffShare = 0.01;
constexpr double kOnShare = 0.1;

/// A resistor that turns more than this into heat beside a transistor that switches it
/// is what is to be switched. Watt. Common practice, no source.
constexpr double kLoadWatts = 0.25;

/// Whether a finding says that a rating is passed.
bool is_past_rating(const Finding& finding) {
  return finding.severity == Severity::fault && finding.follows.empty() &&
         finding.bound == Bound::upper && finding.value && finding.limit &&
         stress_of(finding.check) != Stress::none;
}

/// Whether a finding is about a rating of its part, and not about a person's skin.
bool is_of_ratings(const Finding& finding) {
  return (stress_of(finding.check) != Stress::none && finding.check != "touch") ||
         finding.check == "led-spread";
}

/// Whether a rating is passed by so much that not even its best copies bear it.
bool is_far_past(const std::vector<Part>& parts, const Finding& finding) {
  double limit = kFarTimes * *finding.limit;
  const auto part = std::find_if(parts.begin(), parts.end(),
                                 [&](const Part& p) { return p.name == finding.part; });
  const auto usual = part == parts.end() ? std::nullopt : figure(*part, "current");
  if (finding.check == "led-current" && usual && usual->is_typical)
    limit *= kTypicalRoom;
  return *finding.value > limit;
}

/// What an end brings in a state.
struct Effect {
  std::size_t state = 0;
  SpreadEnd end;
  std::vector<Finding> findings;  ///< The worst first; at least one.
};

/// What one witness sees with a part at its end, phase by phase. Its memory is used
/// again for the next end.
struct SeenSpread {
  std::vector<Network> networks;
  std::vector<Observation> phases;
  Observation average;
  std::vector<bool> felt;  ///< Of each part whether it feels the end at all.
};

bool has_moved(const std::vector<double>& now, const std::vector<double>& then,
               double least) {
  for (std::size_t k = 0; k < now.size(); ++k)
    if (std::abs(then[k] - now[k]) > least + kMovedShare * std::abs(now[k]))
      return true;
  return false;
}

bool has_moved(const Observation& now, const Observation& then) {
  if (has_moved(now.net_volts, then.net_volts, kMovedVolts)) return true;
  for (std::size_t k = 0; k < now.pin_amps.size(); ++k)
    if (has_moved(now.pin_amps[k], then.pin_amps[k], kMovedAmps)) return true;
  return false;
}

bool is_felt(double now, double then, double least) {
  return std::abs(then - now) > kFeltShare * (least + std::abs(now));
}

/// Marks the parts of which a pin's voltage or current is another one.
void mark_felt(const std::vector<Part>& parts, const Observation& now,
               const Observation& then, std::vector<bool>& felt) {
  std::vector<bool> nets(now.net_volts.size());
  for (std::size_t net = 0; net < nets.size(); ++net)
    nets[net] = is_felt(now.net_volts[net], then.net_volts[net], kMovedVolts);
  for (std::size_t part = 0; part < parts.size(); ++part) {
    const std::vector<int>& joined = parts[part].nets;
    for (std::size_t pin = 0; pin < joined.size() && !felt[part]; ++pin)
      felt[part] =
          (joined[pin] >= 0 && nets[joined[pin]]) ||
          is_felt(now.pin_amps[part][pin], then.pin_amps[part][pin], kMovedAmps);
  }
}

/// Asks the witnesses about states with one part at an end.
class Spread {
 public:
  Spread(const Circuit& circuit, const std::vector<StateResult>& states,
         const Solve& engine, const Solve& nodal)
      : circuit_(circuit), states_(states), engine_(engine), nodal_(nodal) {
    for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
      double most = 0.0;
      for (const StateResult& state : states)
        if (state.agrees) most = std::max(most, amps(state.nodal, k));
      most_amps_.push_back(most);
    }
  }

  /// What an end brings in a state, if anything. `seen` is overwritten.
  [[nodiscard]] std::optional<Effect> effect(std::size_t state, const SpreadEnd& end,
                                             SeenSpread& seen) const {
    // An LED that has too little, or shares a resistor, is told of already.
    if (end.figure == SpreadFigure::lamp &&
        is_victim_told(circuit_.parts[end.part].name))
      return std::nullopt;
    if (!see_moved(state, end, seen)) return std::nullopt;
    std::vector<Finding> found = news(state, seen);
    if (found.empty() || !is_confirmed(seen)) return std::nullopt;
    std::stable_sort(found.begin(), found.end(),
                     [](const Finding& a, const Finding& b) {
                       return is_worse({0, a}, {0, b});
                     });
    return Effect{state, end, std::move(found)};
  }

 private:
  [[nodiscard]] static double amps(const Observation& seen, std::size_t part) {
    return std::abs(pin_amps(seen, static_cast<int>(part), 0));
  }

  /// Sees a state with a part at its end. Whether the nodal witness has an answer, and
  /// anything moves.
  [[nodiscard]] bool see_moved(std::size_t state, const SpreadEnd& end,
                               SeenSpread& seen) const {
    const StateResult& result = states_[state];
    seen.networks.resize(result.phases.size());
    seen.phases.resize(result.phases.size());
    seen.felt.assign(result.parts.size(), false);
    std::vector<double> shares;
    bool is_moved = false;
    for (std::size_t k = 0; k < result.phases.size(); ++k) {
      const PhaseResult& phase = result.phases[k];
      Network& network = seen.networks[k];
      network = phase.network;
      put_spread(result.parts, end, network);
      const Solution solution = nodal_(network);
      if (!is_complete(network, solution)) return false;
      observe(circuit_, network, solution, seen.phases[k]);
      shares.push_back(phase.phase.share);
      is_moved = is_moved || has_moved(phase.nodal_seen, seen.phases[k]);
      mark_felt(result.parts, phase.nodal_seen, seen.phases[k], seen.felt);
    }
    if (is_moved) average(seen.phases, shares, seen.average);
    return is_moved;
  }

  /// Whether both witnesses agree on what is seen there.
  [[nodiscard]] bool is_confirmed(const SeenSpread& seen) const {
    return std::all_of(
        seen.networks.begin(), seen.networks.end(), [this](const Network& network) {
          return agree(circuit_, network, engine_(network), nodal_(network)).agrees;
        });
  }

  /// What is found there, and not of any state as it is described.
  [[nodiscard]] std::vector<Finding> news(std::size_t state,
                                          const SeenSpread& seen) const {
    const StateResult& result = states_[state];
    std::vector<SeenPhase> phases;
    for (std::size_t k = 0; k < seen.phases.size(); ++k)
      phases.push_back({result.phases[k].phase, seen.phases[k], nullptr});
    CheckInput input = check_input(circuit_, state_of(circuit_, result), result.parts,
                                   std::move(phases), seen.average);
    input.asked = &seen.felt;
    // What needs something says so by cautions, but in checks that tell of faults, too.
    std::vector<Finding> found = run_checks(input, {}, Severity::fault);
    std::erase_if(found, [&](const Finding& f) {
      return (!tells_of_function(f) && !is_past_rating(f)) || is_told(f);
    });
    for (std::size_t k = 0; k < result.parts.size(); ++k)
      append(found, changed(input, result, static_cast<int>(k)));
    return found;
  }

  /// Whether a state as described says as much of the same part.
  [[nodiscard]] bool is_told(const Finding& finding) const {
    const bool is_rating = stress_of(finding.check) != Stress::none;
    const auto keeps_much = [](const Finding& f) {
      return f.check == "transistor-saturation" || f.check == "transistor-half-on";
    };
    return std::any_of(states_.begin(), states_.end(), [&](const StateResult& state) {
      return std::any_of(
          state.findings.begin(), state.findings.end(), [&](const Finding& now) {
            return now.severity >= Severity::caution && now.part == finding.part &&
                   (now.check == finding.check || (is_rating && is_of_ratings(now)) ||
                    (keeps_much(now) && keeps_much(finding)));
          });
    });
  }

  /// An LED or load that does not light or run, or not go off.
  [[nodiscard]] std::optional<Finding> changed(const CheckInput& input,
                                               const StateResult& result,
                                               int index) const {
    const Part& part = input.parts[index];
    const bool is_heater = heats_for_work(part, index);
    const bool is_asked = part.kind == KindId::led || is_load(part.kind) || is_heater;
    if (!is_asked || is_victim_told(part.name)) return std::nullopt;
    const double now = amps(result.nodal, index);
    const double then = amps(input.average, index);
    const double most = most_amps_[index];
    const bool stays = now < kOffShare * most && then > kOnShare * most;
    const bool fails =
        part.kind == KindId::led
            ? then < kOnShare * now
            : !is_heater && now > kWorkingShare * most && then < kWorkingShare * now;
    if (std::max(now, then) < kFaintAmps || !(stays || fails)) return std::nullopt;
    Finding finding = about_part(input, index, Severity::caution,
                                 CheckId(kAboutSpread, "spread-function"));
    const double limit = stays ? kOnShare * most : kWorkingShare * now;
    set_limit(finding, "current", then,
              practice(limit, Unit::ampere, "what such a part does as described"));
    if (!stays) finding.bound = Bound::lower;
    finding.message = fmt::format(
        "'{}' {}: {} in place of {}; {}", part.name,
        stays                      ? "does not go off"
        : part.kind == KindId::led ? "is dark"
                                   : "does not get what it needs",
        found_text(then, Unit::ampere), found_text(now, Unit::ampere),
        stays ? "bring the control pin of what switches it nearer to its rail"
              : "leave it more room");
    return finding;
  }

  /// Whether a resistor stands for a load: what a transistor switches, and gets warm
  /// by.
  [[nodiscard]] bool heats_for_work(const Part& part, int index) const {
    if (part.kind != KindId::resistor) return false;
    const bool is_switched = std::any_of(
        circuit_.parts.begin(), circuit_.parts.end(), [&part](const Part& other) {
          return (other.kind == KindId::transistor || other.kind == KindId::mosfet) &&
                 other.nets[1] >= 0 &&
                 (other.nets[1] == part.nets[0] || other.nets[1] == part.nets[1]);
        });
    if (!is_switched) return false;
    const double most = most_amps_[static_cast<std::size_t>(index)];
    return !(most * most * number_of(part, "value").value_or(0.0) < kLoadWatts);
  }

  /// Whether a state as described cautions of anything about a part.
  [[nodiscard]] bool is_victim_told(const std::string& part) const {
    return std::any_of(states_.begin(), states_.end(), [&](const StateResult& state) {
      return std::any_of(state.findings.begin(), state.findings.end(),
                         [&](const Finding& now) {
                           return now.severity >= Severity::caution && now.part == part;
                         });
    });
  }

  const Circuit& circuit_;
  const std::vector<StateResult>& states_;
  const Solve& engine_;
  const Solve& nodal_;
  std::vector<double> most_amps_;  ///< By part: of all states.
};

/// What is told together: equal parts at the same end.
struct Cause {
  SpreadFigure figure;
  bool is_most;
  KindId kind;
  const Type* type;
  friend bool operator==(const Cause&, const Cause&) = default;
};

struct CauseEffects {
  Cause cause;
  std::vector<Effect> effects;  ///< The worst of each part; the worst of all first.
};

bool is_before(const Effect& a, const Effect& b) {
  return is_worse({0, a.findings.front()}, {0, b.findings.front()});
}

/// Takes an effect in: of each part only the worst stays.
void take(const Circuit& circuit, Effect effect, std::vector<CauseEffects>& causes) {
  const Part& part = circuit.parts[effect.end.part];
  const Cause cause{effect.end.figure, effect.end.is_most, part.kind, part.type};
  auto known = std::find_if(causes.begin(), causes.end(),
                            [&](const CauseEffects& c) { return c.cause == cause; });
  if (known == causes.end()) known = causes.insert(causes.end(), {cause, {}});
  const auto same =
      std::find_if(known->effects.begin(), known->effects.end(),
                   [&](const Effect& e) { return e.end.part == effect.end.part; });
  if (same == known->effects.end())
    known->effects.push_back(std::move(effect));
  else if (is_before(effect, *same))
    *same = std::move(effect);
  std::stable_sort(known->effects.begin(), known->effects.end(), is_before);
}

/// "; WORDS 'b', 'c'": all names but the first.
std::string others(const std::vector<std::string>& names, const char* words) {
  std::vector<std::string> quoted;
  for (std::size_t k = 1; k < names.size(); ++k) quoted.push_back("'" + names[k] + "'");
  return quoted.empty() ? "" : fmt::format("; {} {}", words, fmt::join(quoted, ", "));
}

/// What to do where a part lies beside one of its type, on two nets at least.
std::string of_sharing(const std::vector<Part>& parts, const Part& part) {
  const auto beside = std::find_if(parts.begin(), parts.end(), [&](const Part& other) {
    if (&other == &part || other.kind != part.kind || other.type != part.type)
      return false;
    int common = 0;
    for (std::size_t k = 0; k < part.nets.size(); ++k)
      if (part.nets[k] >= 0 && part.nets[k] == other.nets[k]) ++common;
    return common >= 2;
  });
  if (beside == parts.end()) return {};
  return fmt::format("; it does not share with '{}' by itself: {}", beside->name,
                     part.kind == KindId::regulator
                         ? "give each a load of its own, or use a larger one"
                     : part.kind == KindId::led
                         ? "give each a resistor of its own"
                         : "give each a resistor of its own, or use a larger one");
}

Finding told_cause(const StateResult& state, const CauseEffects& cause) {
  const Effect& worst = cause.effects.front();
  const Part& part = state.parts[worst.end.part];
  Finding finding = worst.findings.front();
  const bool is_rating = is_past_rating(finding);
  const bool is_far =
      is_rating && worst.end.is_published && is_far_past(state.parts, finding);
  finding.check = is_rating ? CheckId(kAboutSpread, "spread-rating")
                            : CheckId(kAboutSpread, "spread-function");
  finding.severity = is_far ? Severity::fault : Severity::caution;
  finding.part = part.name;
  finding.span = part.span;
  const bool is_of_sharing =
      worst.end.figure != SpreadFigure::supply && part.kind != KindId::mosfet;
  std::vector<std::string> parts, victims;
  for (const Effect& effect : cause.effects)
    parts.push_back(state.parts[effect.end.part].name);
  for (const Finding& f : worst.findings)
    if (std::find(victims.begin(), victims.end(), f.part) == victims.end())
      victims.push_back(f.part);
  finding.message =
      fmt::format("{}, in state '{}': {}{}{}{}", spread_words(part, worst.end),
                  state.name, worst.findings.front().message,
                  others(victims, "also affected:"), others(parts, "the same goes for"),
                  is_of_sharing ? of_sharing(state.parts, part) : "");
  return finding;
}

/// That there are more ends than can be asked about.
Finding too_many_ends(const Part& first, std::size_t count) {
  Finding finding =
      about(first, Severity::note, CheckId(kAboutSpread, "spread-function"));
  finding.message = fmt::format(
      "'{}' and others differ from copy to copy in {} ways, too many to ask what each "
      "would bring; look at them in descriptions of their own",
      first.name, count);
  return finding;
}

}  // namespace

std::vector<std::pair<std::size_t, Finding>> check_spread(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& engine,
    const Solve& nodal) {
  const auto first = first_agreed(states);
  const auto ends_of_circuit = spread_ends(circuit.parts);
  if (!first || ends_of_circuit.empty()) return {};
  if (ends_of_circuit.size() * figure_count(circuit) > kMostSpreadFigures)
    return {{*first, too_many_ends(circuit.parts[ends_of_circuit.front().part],
                                   ends_of_circuit.size())}};
  const Spread spread(circuit, states, engine, nodal);
  std::vector<CauseEffects> causes;
  SeenSpread seen;
  for (std::size_t k = 0; k < states.size(); ++k) {
    // What fails as described is to be mended first.
    if (!states[k].agrees || verdict_of(states[k].findings) == Verdict::fault) continue;
    const State& state = state_of(circuit, states[k]);
    for (const SpreadEnd& end : spread_ends(states[k].parts)) {
      // A state that sets a supply says how far it goes.
      if (end.figure == SpreadFigure::supply &&
          state.settings.contains({end.part, "voltage"}))
        continue;
      if (auto effect = spread.effect(k, end, seen))
        take(circuit, *std::move(effect), causes);
    }
  }
  std::stable_sort(causes.begin(), causes.end(),
                   [](const CauseEffects& a, const CauseEffects& b) {
                     return a.cause.figure < b.cause.figure;
                   });
  std::vector<std::pair<std::size_t, Finding>> findings;
  std::set<std::string> victims;
  for (const CauseEffects& cause : causes) {
    bool is_new = false;
    for (const Effect& effect : cause.effects)
      for (const Finding& f : effect.findings)
        is_new = victims.insert(f.part).second || is_new;
    if (!is_new) continue;
    const std::size_t state = cause.effects.front().state;
    findings.emplace_back(state, told_cause(states[state], cause));
  }
  return findings;
}

std::span<const Explanation> explain_spread() { return kAboutSpread; }

}  // namespace benchproof
