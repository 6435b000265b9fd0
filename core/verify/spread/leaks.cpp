#include "core/verify/spread/leaks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <span>

#include "core/check/finding/explanation.h"
#include "core/check/finding/wording.h"
#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"
#include "core/network/edits.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutLeaks[] = {
    {"capacitor-leak", "an electrolytic that leaks as much as fills it",
     "each state is solved again with a leak of 0.01 C V (at least 3 uA) across each "
     "polarised capacitor that hangs on no supply: caution where that takes more than "
     "a "
     "fifth of its voltage",
     "0.01 C V after two minutes: sheets of aluminium electrolytic capacitors "
     "(memory); "
     "a fifth: common practice, no source (practice)",
     "with much resistance before it the capacitor never fills, and a delay goes on "
     "for "
     "ever: most leak far less, and some do not",
     "less resistance and less capacitance for the same time, or a film capacitor"},
    {"input-source",
     "an input that measures the voltage of a source of much resistance",
     "each state is solved again with the pin's 'leak' flowing in, and out: caution "
     "where its voltage moves by more than 4 % of the supply, either way",
     "the part's figure 'leak'; 'benchproof parts TYPE' names its source and mark; 4 "
     "%: "
     "common practice, no source (practice)",
     "what leaks into the pin is measured as well, and it grows with temperature",
     "smaller resistors of the same ratio"},
    {"input-range", "a voltage that an input cannot measure",
     "V(pin) <= V(vdd) + 20 mV, V(pin) >= V(vss) - 20 mV, in every state, for pins in "
     "'analogue'",
     "common practice, no source (practice)",
     "it reads its highest or lowest value there, whatever the voltage is; what is "
     "above "
     "its supply flows into it through a diode",
     "another ratio of the divider, so that the highest voltage stays below the "
     "supply"},
};

constexpr double kLeakPerCharge = 0.01;  ///< Ampere a coulomb: 0.01 uA per uF and V.
constexpr double kLeastLeak = 3e-6;      ///< Ampere.
constexpr double kLeakShare = 0.2;       ///< Of a capacitor's voltage.
constexpr double kSourceShare = 0.04;    ///< Of a chip's supply.
constexpr double kPastSupply = 0.02;     ///< Volt.

/// The worst that a part or pin shows in any state.
struct Worst {
  std::size_t state = 0;
  double share = 0.0;  ///< Of what it may show.
  Finding finding;
};

void keep_worse(std::optional<Worst>& worst, Worst found) {
  if (found.share > 1.0 && (!worst || found.share > worst->share))
    worst = std::move(found);
}

/// The voltages of the nets with a current that flows from one to another besides.
std::optional<double> volts_with(const PhaseResult& phase, int from, int to,
                                 double amps, const Solve& nodal) {
  Network leaking = with_probe(phase.network, to, from);
  leaking.values.amps.back() = amps;
  const Solution solution = nodal(leaking);
  if (!is_complete(leaking, solution)) return std::nullopt;
  return solution.volts[from] - solution.volts[to];
}

/// A phase of a state.
struct Seen {
  std::size_t state = 0;
  const PhaseResult* phase = nullptr;
};

double held_by(const Part& part, const PhaseResult& phase) {
  return phase.nodal.volts[part.nets[0]] - phase.nodal.volts[part.nets[1]];
}

/// What is left of a capacitor's voltage when it leaks, where it holds its most: where
/// it is empty nobody waits for it.
std::optional<Worst> look_at_capacitor(const Part& part, const std::vector<Seen>& all,
                                       const Solve& nodal) {
  constexpr double kLeastVolts = 0.1;
  const auto most =
      std::max_element(all.begin(), all.end(), [&part](const Seen& a, const Seen& b) {
        return held_by(part, *a.phase) < held_by(part, *b.phase);
      });
  if (most == all.end()) return std::nullopt;
  const double held = held_by(part, *most->phase);
  if (held < kLeastVolts) return std::nullopt;
  const double farads = number_of(part, "value").value_or(0.0);
  const double leak = std::max(kLeakPerCharge * farads * held, kLeastLeak);
  const auto left = volts_with(*most->phase, part.nets[0], part.nets[1], leak, nodal);
  if (!left) return std::nullopt;
  const double lost = std::min(held - *left, held);
  if (!exceeds(lost, kLeakShare * held)) return std::nullopt;
  Worst found{most->state, lost / (kLeakShare * held),
              about(part, Severity::caution, CheckId(kAboutLeaks, "capacitor-leak"))};
  set_limit(
      found.finding, "voltage", lost,
      practice(kLeakShare * held, Unit::volt, "a fifth of the capacitor's voltage"));
  found.finding.message = fmt::format(
      "'{}' may leak {}, and what fills it brings hardly more: of its {} {} are lost "
      "then; less resistance and less capacitance take as long, or a film capacitor",
      part.name, short_text(leak, Unit::ampere, 2), short_text(held, Unit::volt, 2),
      lost >= held ? "all" : short_text(lost, Unit::volt, 2));
  return found;
}

/// What an input's own leak makes of the voltage that it measures.
void look_at_source(const Part& chip, int pin, std::size_t state,
                    const PhaseResult& phase, double supply, const Solve& nodal,
                    std::optional<Worst>& worst) {
  const auto leak = number_of(chip, "leak");
  if (!leak || supply <= 0.0) return;
  const auto out = volts_with(phase, chip.nets[pin], chip.nets[kVss], *leak, nodal);
  const auto in = volts_with(phase, chip.nets[pin], chip.nets[kVss], -*leak, nodal);
  if (!out || !in) return;
  const double moved = 0.5 * (*in - *out);
  Worst found{state, moved / (kSourceShare * supply),
              about(chip, Severity::caution, CheckId(kAboutLeaks, "input-source"))};
  set_limit(found.finding, "voltage", moved,
            practice(kSourceShare * supply, Unit::volt, "4 % of the supply"));
  found.finding.message = fmt::format(
      "what leaks at pin '{}' of '{}', up to {} either way, makes {} of the voltage "
      "that it measures: its source has {}; smaller resistors of the same ratio",
      chip.pins[pin], chip.name, short_text(*leak, Unit::ampere, 2),
      short_text(moved, Unit::volt, 2), short_text(moved / *leak, Unit::ohm, 2));
  keep_worse(worst, std::move(found));
}

/// Whether an input can measure what is there.
void look_at_range(const Part& chip, int pin, std::size_t state,
                   const PhaseResult& phase, double supply,
                   std::optional<Worst>& worst) {
  const std::vector<double>& volts = phase.nodal.volts;
  const double at = volts[chip.nets[pin]] - volts[chip.nets[kVss]];
  const double past = std::max(at - supply, -at);
  Worst found{state, past / kPastSupply,
              about(chip, Severity::caution, CheckId(kAboutLeaks, "input-range"))};
  set_limit(found.finding, "voltage", past,
            practice(kPastSupply, Unit::volt, "within the supply"));
  found.finding.message = fmt::format(
      "'{}' measures {} at pin '{}', {} its supply of {}: it reads its {} value, "
      "whatever the voltage is; use another ratio",
      chip.name, short_text(at, Unit::volt), chip.pins[pin],
      at > supply ? "above" : "outside of", short_text(supply, Unit::volt),
      at > supply ? "highest" : "lowest");
  keep_worse(worst, std::move(found));
}

/// What is wrong with what a pin measures.
std::optional<Worst> look_at_pin(const Part& chip, int pin,
                                 const std::vector<Seen>& all, const Solve& nodal) {
  std::optional<Worst> source;
  std::optional<Worst> range;
  for (const auto& [state, phase] : all) {
    const std::vector<double>& volts = phase->nodal.volts;
    const double supply = volts[chip.nets[kVdd]] - volts[chip.nets[kVss]];
    if (supply < kControllerOffVolts) continue;
    look_at_range(chip, pin, state, *phase, supply, range);
    look_at_source(chip, pin, state, *phase, supply, nodal, source);
  }
  return range ? range : source;
}

/// A polarised capacitor between nets of which neither is a supply's but ground, and
/// which does not share a voltage with others in series.
bool is_filled_slowly(const Circuit& circuit, const Part& part) {
  if (part.kind != KindId::capacitor || !flag(part, "polarised", false)) return false;
  return part.nets[0] >= 0 && part.nets[1] >= 0 && !is_rail(circuit, part.nets[0]) &&
         !is_in_series_electrolytic(circuit, part);
}

bool is_measuring(const Part& part, int pin) {
  return is_analogue_pin(part, pin) && part.nets[pin] >= 0 && part.nets[kVdd] >= 0 &&
         part.nets[kVss] >= 0;
}

}  // namespace

std::vector<std::pair<std::size_t, Finding>> check_leaks(
    const Circuit& circuit, const std::vector<StateResult>& states,
    const Solve& nodal) {
  std::vector<Seen> all;
  for (std::size_t state = 0; state < states.size(); ++state) {
    if (!states[state].agrees) continue;
    for (const PhaseResult& phase : states[state].phases)
      all.push_back({state, &phase});
  }
  std::vector<std::pair<std::size_t, Finding>> findings;
  const auto tell = [&findings](std::optional<Worst> worst) {
    if (worst) findings.emplace_back(worst->state, std::move(worst->finding));
  };
  for (const Part& part : circuit.parts) {
    if (is_filled_slowly(circuit, part)) tell(look_at_capacitor(part, all, nodal));
    if (part.kind != KindId::controller) continue;
    for (int pin = kFirstPin; pin < static_cast<int>(part.pins.size()); ++pin)
      if (is_measuring(part, pin)) tell(look_at_pin(part, pin, all, nodal));
  }
  return findings;
}

std::span<const Explanation> explain_leaks() { return kAboutLeaks; }

}  // namespace benchproof
