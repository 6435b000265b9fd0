#include "core/verify/spread/lamp_spread.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <optional>
#include <string>

#include "core/check/finding/explanation.h"
#include "core/check/finding/wording.h"
#include "core/check/rating/overload.h"
#include "core/check/rest/limits.h"
#include "core/network/edits.h"
#include "core/network/unlimited.h"
#include "core/verify/seen/at_rest.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutLampSpread[] = {
    {"led-spread", "an LED whose current goes by the LED itself",
     "each state is solved again with the least forward voltage that is published of "
     "every LED (not published: 0.2 V less), regulated supplies 5 % above their "
     "label and regulators at their most (not published: 4 %): a caution where an "
     "LED's current is 1.5 times as high then and more than half of 'current' (a "
     "typical one 1.25 times), a fault where it passes that by more than a quarter",
     "the type's least points, 'benchproof parts TYPE' names their sources and marks; "
     "0.2 V, 5 %, 4 % and 1.5 times: common practice, no source (practice)",
     "LEDs of one bag differ by some tenths of a volt, and what is left for the "
     "resistor is all that keeps their currents alike: without it one copy glows and "
     "the next one burns",
     "a higher supply and a resistor in series, or fewer LEDs in the row"},
};

/// How much a regulator may be above its nominal output where nobody publishes its
/// most. Common practice, no source.
constexpr double kRegulatorSpread = 0.04;
/// Below it an LED does not glow, and how much more it may get is no matter. Ampere.
constexpr double kLeastAmps = 0.5e-3;
/// Below this share of what it bears an LED is in no danger. Common practice, no
/// source.
constexpr double kNearShare = 0.5;
/// An absolute rating that is passed by so much by spread alone is a fault.
constexpr double kFarPast = 1.25;

/// What an LED's current becomes.
struct LampSpread {
  int led = 0;
  double now = 0.0;
  double most = 0.0;  ///< Ampere.
  int row = 1;        ///< How many LEDs stand in a row with it, itself included.
  [[nodiscard]] double times() const { return most / now; }
};

/// The current that an LED bears.
std::optional<Figure> bearable(const Part& led) {
  auto limit = figure(led, "current");
  if (limit && limit->is_typical) limit->value *= kTypicalRoom;
  return limit;
}

/// Whether a current is so far below what an LED bears that its spread is one of
/// brightness alone.
bool is_harmless(const Part& led, double amps) {
  const auto limit = bearable(led);
  return limit && amps < kNearShare * limit->value;
}

/// Whether an LED has too much current already as it is described.
bool is_told(const std::vector<Finding>& findings, const Part& led) {
  return std::any_of(findings.begin(), findings.end(), [&](const Finding& f) {
    return f.check == "led-current" && f.part == led.name;
  });
}

/// What a witness sees where supplies are at their most and LEDs at their least;
/// nothing where it has no answer.
std::optional<Observation> seen_at_most(const PosedState& most, const Solve& witness) {
  std::vector<Observation> seen;
  std::vector<double> shares;
  for (const PosedPhase& phase : most.phases()) {
    const Network network = with_least_lamps(most.parts(), phase.network);
    if (!unlimited_loop(network).empty()) return std::nullopt;
    const Solution solution = witness(network);
    if (!is_complete(network, solution)) return std::nullopt;
    seen.push_back(observe(most.circuit(), network, solution));
    shares.push_back(phase.phase.share);
  }
  return average(seen, shares);
}

/// The first LED of each row that is to be told: one current flows through all of it.
std::vector<LampSpread> rows_of(const std::vector<Part>& parts,
                                std::vector<LampSpread> all) {
  constexpr double kSame = 1e-6;
  std::vector<int> head(all.size());
  for (std::size_t k = 0; k < all.size(); ++k) head[k] = static_cast<int>(k);
  for (std::size_t a = 0; a < all.size(); ++a) {
    for (std::size_t b = 0; b < all.size(); ++b) {
      const bool is_joined = parts[all[a].led].nets[1] == parts[all[b].led].nets[0];
      const bool is_same = std::abs(all[a].now - all[b].now) <= kSame * all[a].now &&
                           std::abs(all[a].most - all[b].most) <= kSame * all[a].most;
      if (a == b || !is_joined || !is_same) continue;
      const auto [first, other] = std::minmax(head[a], head[b]);
      std::replace(head.begin(), head.end(), int{other}, int{first});
    }
  }
  std::vector<LampSpread> rows;
  for (std::size_t k = 0; k < all.size(); ++k) {
    if (head[k] != static_cast<int>(k)) continue;
    all[k].row = static_cast<int>(std::count(head.begin(), head.end(), head[k]));
    rows.push_back(all[k]);
  }
  return rows;
}

/// The LEDs whose spread is to be told.
std::vector<LampSpread> spreads(const CheckInput& now,
                                const std::vector<Finding>& findings,
                                const Observation& most) {
  std::vector<LampSpread> found;
  for (int led = 0; led < static_cast<int>(now.parts.size()); ++led) {
    const Part& part = now.parts[led];
    if (part.kind != KindId::led) continue;
    const LampSpread spread{led, pin_amps(now.average, led, 0), pin_amps(most, led, 0),
                            1};
    if (spread.now >= kLeastAmps && spread.times() > kSpreadTimes &&
        !is_harmless(part, spread.most) && !is_told(findings, part))
      found.push_back(spread);
  }
  return rows_of(now.parts, std::move(found));
}

Finding told_lamp(const Part& led, const std::string& state, const LampSpread& spread) {
  Finding finding;
  finding.check = CheckId(kAboutLampSpread, "led-spread");
  finding.part = led.name;
  finding.span = led.span;
  finding.severity = Severity::caution;
  std::string past;
  if (const auto limit = bearable(led)) {
    set_limit(finding, "current", spread.most, *limit);
    if (spread.most > kFarPast * limit->value) finding.severity = Severity::fault;
    if (spread.most > limit->value)
      past = fmt::format(", past the {} that it bears",
                         short_text(limit->value, Unit::ampere));
  } else {
    finding.quantity = "current";
    finding.unit = Unit::ampere;
    finding.value = spread.most;
  }
  finding.message = fmt::format(
      "'{}'{} gets {} in place of {} in state '{}' where LEDs have the least forward "
      "voltage that is usual and supplies their most{}: hardly anything but the LED "
      "limits its current; put a resistor in series, and raise the supply or leave "
      "out an LED if it is to be as bright",
      led.name,
      spread.row > 1 ? fmt::format(" with {} more in its row", spread.row - 1) : "",
      short_text(spread.most, Unit::ampere), short_text(spread.now, Unit::ampere),
      state, past);
  return finding;
}

/// Whether both witnesses agree on what is seen there.
bool agree_on(const PosedState& most, const Solve& engine, const Solve& nodal) {
  return std::all_of(
      most.phases().begin(), most.phases().end(), [&](const PosedPhase& phase) {
        const Network network = with_least_lamps(most.parts(), phase.network);
        return agree(most.circuit(), network, engine(network), nodal(network)).agrees;
      });
}

}  // namespace

State with_most_supply(const Circuit& circuit, const State& state) {
  State most = state;
  for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k) {
    const Part part = part_in(circuit, state, k);
    const auto raise = [&](const char* key, double value) {
      most.settings[{k, key}] = {value, part.span};
    };
    if (part.kind == KindId::dc_supply && flag(part, "regulated", true)) {
      if (const auto volts = number_of(part, "voltage"))
        raise("voltage", (1.0 + kSupplySpread) * *volts);
    } else if (part.kind == KindId::regulator && !part.settings.contains("output")) {
      const auto output = number_of(part, "output");
      const auto published = number_of(part, "output_most");
      if (output)
        raise("output", published.value_or((1.0 + kRegulatorSpread) * *output));
    }
  }
  return most;
}

std::vector<Finding> lamp_spread_at(const PosedState& most, const CheckInput& now,
                                    const std::vector<Finding>& findings,
                                    const Solve& witness) {
  const auto seen = seen_at_most(most, witness);
  if (!seen) return {};
  std::vector<Finding> found;
  for (const LampSpread& spread : spreads(now, findings, *seen))
    found.push_back(told_lamp(now.parts[spread.led], now.state.name, spread));
  return found;
}

std::vector<std::pair<std::size_t, Finding>> check_lamp_spread(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& engine,
    const Solve& nodal) {
  std::map<int, std::pair<std::size_t, LampSpread>> worst;  // By LED, with the state.
  std::shared_ptr<const Structure> structure;
  for (std::size_t k = 0; k < states.size(); ++k) {
    if (!states[k].agrees) continue;
    const State& state = state_of(circuit, states[k]);
    const PosedState most(circuit, with_most_supply(circuit, state), structure);
    structure = most.structure();
    const auto seen = seen_at_most(most, nodal);
    if (!seen) continue;
    const std::vector<LampSpread> here =
        spreads(check_input(circuit, state, states[k]), states[k].findings, *seen);
    // What is told rests on both witnesses.
    if (here.empty() || !agree_on(most, engine, nodal)) continue;
    for (const LampSpread& spread : here) {
      const auto known = worst.find(spread.led);
      if (known == worst.end() || known->second.second.times() < spread.times())
        worst.insert_or_assign(spread.led, std::pair(k, spread));
    }
  }
  std::vector<std::pair<std::size_t, Finding>> findings;
  for (const auto& [led, found] : worst) {
    const StateResult& state = states[found.first];
    findings.emplace_back(found.first,
                          told_lamp(state.parts[led], state.name, found.second));
  }
  return findings;
}

std::span<const Explanation> explain_lamp_spread() { return kAboutLampSpread; }

}  // namespace benchproof
