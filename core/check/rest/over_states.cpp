#include "core/check/rest/over_states.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "core/check/rest/limits.h"
#include "core/check/rest/over_controls.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutOverStates[] = {
    {"led-dark", "an LED that no state lights",
     "the highest current of all states at least 0.1 mA, but for one with 'dark = "
     "true' "
     "that something in its row limits or guards",
     "common practice, no source (practice)",
     "it never lights: the wrong way round, not driven, or too little voltage",
     "turn it round, drive it, or give it more voltage; say 'dark = true' of one that "
     "is "
     "to light only when something fails"},
    {"led-faint", "an LED that no state lights well",
     "the highest current of all states at least 0.5 mA",
     "common practice, no source (practice)", "in a lit room it is hardly seen",
     "lower its resistor, if it is to be brighter"},
    {"load-idle", "a lamp, motor, coil or buzzer that no state drives",
     "the highest voltage of all states at least half of 'voltage', of a lamp or motor "
     "a third",
     "the part's figure 'voltage'; 'benchproof parts TYPE' names its source and mark; "
     "the shares: common practice, no source (practice)",
     "it does nothing",
     "see that what switches it is fully on, and the supply high enough"},
    {"load-weak", "a lamp, motor or buzzer that no state drives fully",
     "the highest voltage of all states at least four fifths of 'voltage'",
     "the part's figure 'voltage'; 'benchproof parts TYPE' names its source and mark; "
     "the four fifths: common practice, no source (practice)",
     "it works weakly, and a motor may not start",
     "see that what switches it is fully on, and the supply high enough"},
    {"chip-idle", "a controller that no state powers",
     "V(vdd) - V(vss) of at least one state above 0.5 V, both pins joined",
     "common practice, no source (practice)",
     "it does nothing: its supply is not joined, or comes through something that "
     "blocks",
     "join vdd to the rail and vss to ground"},
    {"supply-idle", "supplies from which nothing flows",
     "the highest current of all supplies and batteries in all states above 10 uA, "
     "unless it stands on a capacitor that was charged through something",
     "common practice, no source (practice)",
     "the circuit does nothing: a diode the wrong way round, a switch that no state "
     "closes, a part left open",
     "follow the way from its plus, and see what blocks"},
    {"switch-stuck", "a transistor that its output does not switch",
     "the least current while the output that drives it is at one level, at most half "
     "of the highest at the other",
     "common practice, no source (practice)",
     "what it switches is always on: an output of 5 V does not close a P-channel or "
     "PNP "
     "transistor whose emitter or source lies higher",
     "let a small NPN or N-channel transistor pull its base or gate down, and a "
     "resistor "
     "hold it up"},
};

/// A reverse voltage that leakage alone does not bring about. Common practice, no
/// source.
constexpr double kReversedVolts = 0.3;

struct Brightest {
  std::size_t state = 0;
  double amps = 0.0;     ///< Forward; 0 where it never conducts forward.
  double volts = 0.0;    ///< Highest forward voltage of any phase.
  double reverse = 0.0;  ///< Highest reverse voltage of any phase.
};

Brightest brightest(const Part& led, std::size_t index,
                    const std::vector<std::vector<const Observation*>>& seen) {
  Brightest best;
  best.volts = -HUGE_VAL;
  for (std::size_t state = 0; state < seen.size(); ++state) {
    for (const Observation* phase : seen[state]) {
      const double amps = phase->pin_amps[index][0];
      if (amps > best.amps) {
        best.state = state;
        best.amps = amps;
      }
      if (led.nets[0] < 0 || led.nets[1] < 0) continue;
      const double volts =
          phase->net_volts[led.nets[0]] - phase->net_volts[led.nets[1]];
      best.volts = std::max(best.volts, volts);
      best.reverse = std::max(best.reverse, -volts);
    }
  }
  return best;
}

/// The net at the end of the row of two-pin parts that goes on from an LED's pin.
int end_of_row(const Circuit& circuit, int led, int pin) {
  int from = led;
  int net = circuit.parts[led].nets[pin];
  for (std::size_t step = 0; step < circuit.parts.size() && net >= 0; ++step) {
    const std::vector<PinRef> pins = resting_pins(circuit, net);
    if (pins.size() != 2) break;
    const int next = pins[pins[0].part == from ? 1 : 0].part;
    const KindId kind = circuit.parts[next].kind;
    if (kind != KindId::resistor && kind != KindId::diode && kind != KindId::led) break;
    net = other_net(circuit.parts[next], net);
    from = next;
  }
  return net;
}

/// Whether an LED's row stands across a fuse: it is to light when that has opened.
bool is_across_fuse(const Circuit& circuit, int led) {
  const int a = end_of_row(circuit, led, 0);
  const int b = end_of_row(circuit, led, 1);
  return std::any_of(circuit.parts.begin(), circuit.parts.end(), [&](const Part& part) {
    return part.kind == KindId::fuse && a != b &&
           ((part.nets[0] == a && part.nets[1] == b) ||
            (part.nets[0] == b && part.nets[1] == a));
  });
}

/// Whether an LED is said to be dark, and what limits it when it does light is there.
bool is_meant_dark(const Circuit& circuit, int index) {
  if (!flag(circuit.parts[index], "dark", false) && !is_across_fuse(circuit, index))
    return false;
  const LedRow row = row_of_led(circuit, index);
  return row.ohms > 0.0 || row.blocks;
}

/// A lamp, motor, coil or buzzer that no state gives a useful share of its rated
/// voltage.
std::optional<std::pair<std::size_t, Finding>> idle_load(
    const Part& load, const std::vector<std::vector<const Observation*>>& seen) {
  const std::optional<Figure> rated = figure(load, "voltage");
  if (!rated || load.nets[0] < 0 || load.nets[1] < 0) return std::nullopt;
  double most = 0.0;
  std::size_t best = 0;
  for (std::size_t state = 0; state < seen.size(); ++state) {
    for (const Observation* phase : seen[state]) {
      const double volts =
          std::abs(phase->net_volts[load.nets[0]] - phase->net_volts[load.nets[1]]);
      if (volts > most) {
        most = volts;
        best = state;
      }
    }
  }
  if (most >= kWorkingShare * rated->value) return std::nullopt;
  const bool is_idle = most < idle_share(load.kind) * rated->value;
  // A relay's own, lower share is looked at in every state.
  if (!is_idle && load.kind == KindId::relay_coil) return std::nullopt;
  const double share = is_idle ? idle_share(load.kind) : kWorkingShare;
  Finding finding;
  finding.severity = is_idle ? Severity::fault : Severity::caution;
  finding.check = is_idle ? CheckId(kAboutOverStates, "load-idle")
                          : CheckId(kAboutOverStates, "load-weak");
  finding.part = load.name;
  finding.span = load.span;
  set_limit(finding, "voltage", most,
            practice(share * rated->value, Unit::volt,
                     is_idle ? idle_share_words(load.kind)
                             : "four fifths of a load's rated voltage"));
  finding.bound = Bound::lower;
  finding.message = fmt::format(
      "'{}' {}: no state gives it more than {} of its {}; is what switches it fully "
      "on, and the supply high enough",
      load.name, is_idle ? "does nothing" : "works weakly",
      found_text(most, Unit::volt), short_text(rated->value, Unit::volt));
  return std::pair{best, std::move(finding)};
}

/// A controller without a supply in every state, or with a supply pin left open.
std::optional<Finding> idle_chip(
    const Part& chip, const std::vector<std::vector<const Observation*>>& seen) {
  const int vdd = chip.nets[kVdd], vss = chip.nets[kVss];
  const bool is_open = vdd < 0 || vss < 0;
  double most = 0.0;
  for (const auto& state : seen)
    for (const Observation* phase : state)
      if (!is_open)
        most = std::max(most, std::abs(phase->net_volts[vdd] - phase->net_volts[vss]));
  if (most > kControllerOffVolts) return std::nullopt;
  Finding finding =
      about(chip, Severity::fault, CheckId(kAboutOverStates, "chip-idle"));
  set_limit(finding, "voltage", most,
            practice(kControllerOffVolts, Unit::volt, "a chip has a supply"));
  finding.bound = Bound::lower;
  finding.message =
      is_open ? fmt::format("'{}.{}' is left open: the chip has no supply", chip.name,
                            chip.pins[vdd < 0 ? kVdd : kVss])
              : fmt::format("'{}' has no supply in any state: its vdd lies at its vss",
                            chip.name);
  return finding;
}

/// The diode that keeps most of a voltage from what is behind it, in all states; null
/// where none has the better part of `volts` across it.
const Part* blocking_diode(const Circuit& circuit,
                           const std::vector<std::vector<const Observation*>>& seen,
                           double volts) {
  for (const Part& part : circuit.parts) {
    const bool is_diode = part.kind == KindId::diode || part.kind == KindId::led;
    if (flag(part, "dark", false)) continue;
    if (!is_diode || part.nets[0] < 0 || part.nets[1] < 0) continue;
    double least = HUGE_VAL;
    for (const auto& state : seen)
      for (const Observation* phase : state)
        least = std::min(
            least, phase->net_volts[part.nets[1]] - phase->net_volts[part.nets[0]]);
    if (least > 0.5 * volts) return &part;
  }
  return nullptr;
}

/// Whether a part of two pins lets a current through from one of its nets to the other
/// in some state, as other than leakage.
bool lets_through(const Circuit& circuit, int index, int from) {
  const Part& part = circuit.parts[index];
  switch (part.kind) {
    case KindId::resistor:
    case KindId::light_resistor:
    case KindId::heat_resistor:
    case KindId::inductor:
    case KindId::fuse:
    case KindId::wire:
      return true;
    case KindId::diode:
    case KindId::led:
      return part.nets[0] == from;
    case KindId::switch_:
      return std::any_of(
          circuit.states.begin(), circuit.states.end(),
          [index](const State& state) { return is_closed(state, index); });
    default:
      return false;
  }
}

/// Whether a capacitor stands charged to the better part of `volts` in a state, and was
/// charged through something from a supply: then that did deliver, if not at rest.
bool has_charged(const Circuit& circuit,
                 const std::vector<std::vector<const Observation*>>& seen,
                 const Part& supply, double volts) {
  std::vector<int> reached = {supply.nets[0]};
  for (std::size_t k = 0; k < reached.size(); ++k) {
    for (int i = 0; i < static_cast<int>(circuit.parts.size()); ++i) {
      const Part& part = circuit.parts[i];
      if (part.pins.size() != 2 || !lets_through(circuit, i, reached[k])) continue;
      if (part.nets[0] != reached[k] && part.nets[1] != reached[k]) continue;
      const int to = other_net(part, reached[k]);
      if (to >= 0 && to != supply.nets[1] &&
          std::find(reached.begin(), reached.end(), to) == reached.end())
        reached.push_back(to);
    }
  }
  for (const Part& part : circuit.parts) {
    if (part.kind != KindId::capacitor || part.nets[0] < 0 || part.nets[1] < 0)
      continue;
    // One that stands at the supply itself is full whatever else blocks.
    const bool is_behind = std::any_of(
        reached.begin() + 1, reached.end(),
        [&part](int net) { return net == part.nets[0] || net == part.nets[1]; });
    if (!is_behind) continue;
    for (const auto& state : seen)
      for (const Observation* phase : state)
        if (std::abs(phase->net_volts[part.nets[0]] - phase->net_volts[part.nets[1]]) >
            0.5 * volts)
          return true;
  }
  return false;
}

/// Less than this may be leakage, of a Schottky diode for instance. Ampere. Common
/// practice, no source.
constexpr double kIdleAmps = 10e-6;

/// The first switch of a circuit in which no state closes any; null where one is
/// closed, or there is none.
const Part* never_closed(const Circuit& circuit) {
  const Part* first = nullptr;
  for (std::size_t i = 0; i < circuit.parts.size(); ++i) {
    if (circuit.parts[i].kind != KindId::switch_) continue;
    if (first == nullptr) first = &circuit.parts[i];
    for (const State& state : circuit.states)
      if (is_closed(state, static_cast<int>(i))) return nullptr;
  }
  return first;
}

/// An LED with so much across it is the right way round, and driven. Common practice,
/// no source.
constexpr double kWouldLight = 1.0;

/// Why supplies are idle, and what to do.
std::string idle_words(const Circuit& circuit, const Part& supply,
                       const Part* blocking) {
  if (blocking != nullptr)
    return fmt::format(
        "'{}' blocks in every state, and '{}' delivers nothing: is it the wrong way "
        "round",
        blocking->name, supply.name);
  if (const Part* open = never_closed(circuit))
    return fmt::format(
        "'{}' delivers nothing in any state, for '{}' is open in all of them; say in "
        "one that it is closed: [states.on] and below it {} = \"closed\"",
        supply.name, open->name, open->name);
  return fmt::format(
      "'{}' delivers nothing in any state: is a part the wrong way round, or a switch "
      "open in all of them",
      supply.name);
}

/// That no supply or battery of a circuit delivers anything in any state.
std::optional<Finding> idle_supplies(
    const Circuit& circuit, const std::vector<std::vector<const Observation*>>& seen) {
  const Part* first = nullptr;
  for (std::size_t i = 0; i < circuit.parts.size(); ++i) {
    const Part& part = circuit.parts[i];
    if (!is_source(part.kind)) continue;
    // A raw source is a textbook's, where a question may be what does not flow.
    if (part.kind != KindId::dc_supply && part.kind != KindId::battery) return {};
    if (first == nullptr) first = &part;
    for (const auto& state : seen)
      for (const Observation* phase : state)
        if (std::abs(phase->pin_amps[i][0]) > kIdleAmps) return {};
  }
  if (first == nullptr) return {};
  const auto figure_volts = figure(*first, "voltage");
  const double volts = figure_volts ? figure_volts->value : 1.0;
  const Part* blocking = blocking_diode(circuit, seen, volts);
  if (blocking == nullptr && has_charged(circuit, seen, *first, volts)) return {};
  const Part& part = blocking != nullptr ? *blocking : *first;
  Finding finding =
      about(part, Severity::fault, CheckId(kAboutOverStates, "supply-idle"));
  set_limit(finding, "current", 0.0,
            practice(kIdleAmps, Unit::ampere, "more than leakage"));
  finding.bound = Bound::lower;
  finding.message = idle_words(circuit, *first, blocking);
  return finding;
}

/// The output of a controller that drives a net, itself or through one resistor.
PinRef output_behind(const Circuit& circuit, int net) {
  const auto output_at = [&circuit](int at) -> PinRef {
    for (const PinRef pin : circuit.nets[at].pins) {
      const Part& part = circuit.parts[pin.part];
      if (part.kind == KindId::controller && is_output_pin(part, pin.pin)) return pin;
    }
    return {};
  };
  if (const PinRef here = output_at(net); here.part >= 0) return here;
  for (const PinRef pin : circuit.nets[net].pins) {
    const Part& part = circuit.parts[pin.part];
    if (part.kind != KindId::resistor) continue;
    const int other = other_net(part, net);
    if (other < 0) continue;
    if (const PinRef there = output_at(other); there.part >= 0) return there;
  }
  return {};
}

/// A transistor that conducts at both levels of the output which drives it.
std::optional<std::pair<std::size_t, Finding>> stuck_switch(
    const Circuit& circuit, int index,
    const std::vector<std::vector<const Observation*>>& seen) {
  constexpr double kLeastAmps = 1e-3;  // Less is no load. Common practice.
  constexpr double kStuckShare = 0.5;
  const Part& part = circuit.parts[index];
  if (part.nets[0] < 0) return std::nullopt;
  const PinRef driver = output_behind(circuit, part.nets[0]);
  if (driver.part < 0) return std::nullopt;
  const Part& chip = circuit.parts[driver.part];
  if (chip.nets[kVdd] < 0 || chip.nets[kVss] < 0) return std::nullopt;
  double least = HUGE_VAL, most = 0.0;
  bool is_high = false, is_low = false;
  std::size_t where = 0;
  for (std::size_t state = 0; state < seen.size(); ++state) {
    for (const Observation* phase : seen[state]) {
      const auto volts = [&](int pin) { return phase->net_volts[chip.nets[pin]]; };
      const double supply = volts(kVdd) - volts(kVss);
      if (supply < kControllerOffVolts) continue;
      const double share = (volts(driver.pin) - volts(kVss)) / supply;
      // In between it may be open, and says nothing.
      if (share > kLowShare && share < kHighShare) continue;
      (share >= kHighShare ? is_high : is_low) = true;
      const double amps = std::abs(phase->pin_amps[index][1]);
      if (amps < least) where = state;
      least = std::min(least, amps);
      most = std::max(most, amps);
    }
  }
  if (!is_high || !is_low || most < kLeastAmps || least <= kStuckShare * most)
    return std::nullopt;
  Finding finding =
      about(part, Severity::fault, CheckId(kAboutOverStates, "switch-stuck"));
  set_limit(finding, "current", least,
            practice(kStuckShare * most, Unit::ampere, "half of what flows when on"));
  finding.message = fmt::format(
      "'{}' conducts whatever '{}.{}' does: {} flow when it should be off; the output "
      "does not reach the level that closes it",
      part.name, chip.name, chip.pins[driver.pin], short_text(least, Unit::ampere));
  return std::pair{where, std::move(finding)};
}

bool is_reversed(const Brightest& best) {
  return best.volts <= kReversedVolts && best.reverse > kReversedVolts;
}

/// Why an LED that never lights does not, and what helps.
std::string dark_words(const Circuit& circuit, int index, const Brightest& best,
                       const Figure& limit) {
  const std::string& name = circuit.parts[index].name;
  if (is_reversed(best) && row_of_led(circuit, index).blocks)
    return fmt::format(
        "'{}' and the diode in series lie the other way round, and it never lights: "
        "if it is there to show a supply the wrong way round write 'dark = true', "
        "else turn both",
        name);
  if (is_reversed(best))
    return fmt::format(
        "'{}' looks the wrong way round and never lights: its cathode lies up to {} "
        "above its anode; turn it to the right way round",
        name, short_text(best.reverse, Unit::volt));
  if (best.volts <= 0.0)
    return fmt::format(
        "'{}' never lights: in no state is its anode above its cathode; is it the "
        "right way round, and driven",
        name);
  const std::string amps = found_text(best.amps, Unit::ampere);
  if (best.volts >= kWouldLight)
    return fmt::format(
        "'{}' never lights: no more than {} lies across it in any state, too little "
        "for it, and it gets at most {}; it wants a higher supply, or fewer LEDs in "
        "its row",
        name, found_text(best.volts, Unit::volt), amps);
  return fmt::format(
      "'{}' never lights: it gets at most {} in any state, below {}, at no more "
      "than {} across it",
      name, amps, short_text(limit.value, Unit::ampere),
      found_text(best.volts, Unit::volt));
}

/// An LED that no state lights.
struct UnlitLed {
  std::size_t state = 0;  ///< In which it comes nearest.
  Finding finding;
  bool wants_volts = false;  ///< It is dark for want of volts alone.
};

std::optional<UnlitLed> unlit_led(
    const Circuit& circuit, int index,
    const std::vector<std::vector<const Observation*>>& seen) {
  const Part& part = circuit.parts[index];
  const Brightest best = brightest(part, static_cast<std::size_t>(index), seen);
  if (best.amps >= kFaintAmps || is_meant_dark(circuit, index)) return std::nullopt;
  const bool is_dark = best.amps < kLitAmps;
  const Figure limit =
      is_dark ? practice(kLitAmps, Unit::ampere, "least current of a visible LED")
              : practice(kFaintAmps, Unit::ampere, "least current in a lit room");
  const bool may_be_meant = is_reversed(best) && row_of_led(circuit, index).blocks;
  Finding finding =
      about(part, is_dark && !may_be_meant ? Severity::fault : Severity::caution,
            is_dark ? CheckId(kAboutOverStates, "led-dark")
                    : CheckId(kAboutOverStates, "led-faint"));
  set_limit(finding, "current", best.amps, limit);
  finding.bound = Bound::lower;
  finding.message =
      is_dark ? dark_words(circuit, index, best, limit)
              : fmt::format("'{}' is faint: it gets at most {} in any state, below {}",
                            part.name, found_text(best.amps, Unit::ampere),
                            short_text(limit.value, Unit::ampere));
  return UnlitLed{best.state, std::move(finding), is_dark && best.volts >= kWouldLight};
}

}  // namespace

std::vector<std::pair<std::size_t, Finding>> check_over_states(
    const Circuit& circuit, const std::vector<std::vector<const Observation*>>& seen) {
  std::vector<std::pair<std::size_t, Finding>> findings;
  if (seen.empty()) return findings;
  bool is_starved = false;  // An LED is dark for want of volts alone.
  const std::optional<Finding> nothing = idle_supplies(circuit, seen);
  if (nothing) findings.emplace_back(0, *nothing);
  for (std::size_t i = 0; i < circuit.parts.size(); ++i) {
    const Part& part = circuit.parts[i];
    if (is_load(part.kind)) {
      if (auto idle = idle_load(part, seen)) findings.push_back(std::move(*idle));
      continue;
    }
    if (part.kind == KindId::controller) {
      if (auto idle = idle_chip(part, seen)) findings.emplace_back(0, *std::move(idle));
    }
    if (part.kind == KindId::transistor || part.kind == KindId::mosfet) {
      if (auto stuck = stuck_switch(circuit, static_cast<int>(i), seen))
        findings.push_back(std::move(*stuck));
    }
    if (part.kind != KindId::led) continue;
    if (auto led = unlit_led(circuit, static_cast<int>(i), seen)) {
      is_starved = is_starved || led->wants_volts;
      findings.emplace_back(led->state, std::move(led->finding));
    }
  }
  // Of a circuit without a closed switch no lamp is the wrong way round.
  const bool is_off = nothing && never_closed(circuit) != nullptr;
  for (auto& [state, finding] : findings) {
    // A lamp that would light on more volts is no part the wrong way round.
    if (!is_off && is_starved && finding.check == "supply-idle")
      finding.follows = CheckId(kAboutOverStates, "led-dark");
    if (is_off && (finding.check == "led-dark" || finding.check == "load-idle"))
      finding.follows = CheckId(kAboutOverStates, "supply-idle");
  }
  for (auto& found : check_over_controls(circuit, seen))
    findings.push_back(std::move(found));
  return findings;
}

std::span<const Explanation> explain_over_states() { return kAboutOverStates; }

}  // namespace benchproof
