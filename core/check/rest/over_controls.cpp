#include "core/check/rest/over_controls.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutOverControls[] = {
    {"rail-moves", "the supply of a chip that a resistor feeds",
     "the highest V(vdd) - V(vss) of all states less the lowest, where no supply, "
     "battery or regulator stands on that net: caution above 5 % of the highest, fault "
     "above 25 %",
     "common practice, no source (practice)",
     "what the chip switches takes its own supply down: levels and times move with it, "
     "and it may reset just when something lights",
     "feed it from a regulator, or a zener behind a resistor that gives enough"},
    {"control-idle", "a switch or sensor that changes nothing that anyone sees",
     "of all pairs of states in which it differs one at least in which the current of "
     "a "
     "lit LED, a lamp's, motor's, coil's or buzzer's voltage, the heat of a resistor "
     "or "
     "what a supply gives, of 50 mW and more, differs by a fifth, or an input of a "
     "controller by a twentieth of its supply; and an input at whose net it stands is "
     "not below 30 % of the supply, or above 70 %, in all states",
     "common practice, no source (practice)",
     "it is there to do something, and does nothing: a threshold is not reached, or it "
     "stands in the wrong place",
     "look at what it is to switch by hand (--by-hand), and choose its partner so that "
     "both states differ"},
};

using Seen = std::vector<std::vector<const Observation*>>;

// --- the supply of a chip behind a resistor

/// Common practice, no source: a supply that moves by less is usual, and what a fault
/// is past a limit by.
constexpr double kMovesShare = 0.05;
constexpr double kFarMovesShare = 0.25;

/// The nets joined to one by wires, fuses and switches that a state closes.
std::vector<int> feed_nets(const Circuit& circuit, int net) {
  std::vector<int> nets{net};
  for (std::size_t k = 0; k < nets.size(); ++k) {
    for (const PinRef pin : circuit.nets[nets[k]].pins) {
      const Part& part = circuit.parts[pin.part];
      if (part.kind != KindId::fuse && part.kind != KindId::wire &&
          part.kind != KindId::switch_)
        continue;
      const int other = other_net(part, nets[k]);
      if (other > 0 && std::find(nets.begin(), nets.end(), other) == nets.end())
        nets.push_back(other);
    }
  }
  return nets;
}

/// The resistor that alone feeds a net; -1 where something holds it, or none does.
int feeding_resistor(const Circuit& circuit, int net) {
  int found = -1;
  for (const int at : feed_nets(circuit, net)) {
    for (const PinRef pin : circuit.nets[at].pins) {
      const Part& part = circuit.parts[pin.part];
      if (is_source(part.kind) || part.kind == KindId::regulator ||
          part.kind == KindId::diode || part.kind == KindId::transistor ||
          part.kind == KindId::mosfet)
        return -1;
      const int other = other_net(part, at);
      if (part.kind == KindId::resistor && other > 0 && is_rail(circuit, other))
        found = pin.part;
    }
  }
  return found;
}

std::optional<std::pair<std::size_t, Finding>> moving_rail(const Circuit& circuit,
                                                           const Part& chip,
                                                           const Seen& seen) {
  const int vdd = chip.nets[kVdd], vss = chip.nets[kVss];
  const int resistor = vdd > 0 && vss >= 0 ? feeding_resistor(circuit, vdd) : -1;
  if (resistor < 0) return std::nullopt;
  double least = HUGE_VAL, most = 0.0;
  std::size_t lowest = 0;
  for (std::size_t state = 0; state < seen.size(); ++state) {
    for (const Observation* phase : seen[state]) {
      const double volts = phase->net_volts[vdd] - phase->net_volts[vss];
      if (volts < kControllerOffVolts) continue;
      most = std::max(most, volts);
      if (volts < least) lowest = state;
      least = std::min(least, volts);
    }
  }
  if (!(most - least > kMovesShare * most)) return std::nullopt;
  Finding finding = about(
      chip, most - least > kFarMovesShare * most ? Severity::fault : Severity::caution,
      CheckId(kAboutOverControls, "rail-moves"));
  set_limit(finding, "voltage", most - least,
            practice(kMovesShare * most, Unit::volt, "a supply moves by 5 % at most"));
  finding.message = fmt::format(
      "the supply of '{}' comes through '{}' alone and moves between {} and {} with "
      "what is drawn; feed it from a regulator, or put a zener there",
      chip.name, circuit.parts[resistor].name, short_text(least, Unit::volt),
      short_text(most, Unit::volt));
  return std::pair{lowest, std::move(finding)};
}

// --- a control that changes nothing

constexpr double kSeenShare = 0.2;    // Less the eye takes as the same.
constexpr double kReadShare = 0.05;   // Less no input reads as another level.
constexpr double kLoadWatts = 50e-3;  // A resistor that takes less is no load.

/// Something of a part that a person or a chip can see, in a state.
struct Seeable {
  double value = 0.0;  ///< The most of it in any phase.
  double least = 0.0;  ///< Two of which neither is as much are the same.
  double share = 0.0;  ///< So are two that differ by less than this of the larger.
};

bool differs(const Seeable& a, const Seeable& b) {
  const double most = std::max(std::abs(a.value), std::abs(b.value));
  return most >= a.least && std::abs(a.value - b.value) > a.share * most;
}

/// The most of something in any phase of a state.
template <typename Of>
double most_of(const std::vector<const Observation*>& phases, const Of& of) {
  double most = 0.0;
  for (const Observation* phase : phases) most = std::max(most, of(*phase));
  return most;
}

/// The levels of a chip's inputs and its own supply.
void add_levels(const Part& chip, const std::vector<const Observation*>& phases,
                std::vector<Seeable>& all) {
  const int vdd = chip.nets[kVdd], vss = chip.nets[kVss];
  if (vdd < 0 || vss < 0) return;
  const auto level = [&](int net) {
    return most_of(phases, [&](const Observation& seen) {
      return seen.net_volts[net] - seen.net_volts[vss];
    });
  };
  const double supply = level(vdd);
  all.push_back({supply, kControllerOffVolts, kSeenShare});
  for (int pin = kFirstPin; pin < static_cast<int>(chip.pins.size()); ++pin) {
    if (is_output_pin(chip, pin) || chip.nets[pin] < 0) continue;
    all.push_back({level(chip.nets[pin]), kReadShare * supply, kReadShare});
  }
}

/// All that can be seen of a circuit in a state, in the same order in every state.
std::vector<Seeable> seeable(const Circuit& circuit,
                             const std::vector<const Observation*>& phases) {
  std::vector<Seeable> all;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    if (part.kind == KindId::led) {
      const double amps =
          most_of(phases, [k](const Observation& seen) { return seen.pin_amps[k][0]; });
      all.push_back({amps, kLitAmps, kSeenShare});
    } else if (is_load(part.kind) || part.kind == KindId::resistor) {
      const double watts =
          most_of(phases, [k](const Observation& seen) { return seen.part_watts[k]; });
      const double rated = number_of(part, "voltage").value_or(0.0) *
                           number_of(part, "current").value_or(0.0);
      const bool is_resistor = part.kind == KindId::resistor;
      all.push_back({watts, is_resistor ? kLoadWatts : kSeenShare * kSeenShare * rated,
                     kSeenShare});
    } else if (is_source(part.kind)) {
      // Which of two supplies feeds the circuit is what their switches are there for.
      const double watts = most_of(phases, [k](const Observation& seen) {
        return std::abs(seen.part_watts[k]);
      });
      all.push_back({watts, kLoadWatts, kSeenShare});
    } else if (part.kind == KindId::controller) {
      add_levels(part, phases, all);
    }
  }
  return all;
}

/// What a control is set to in a state; nothing for other parts.
std::optional<double> setting_of(const Circuit& circuit, const State& state, int k) {
  switch (circuit.parts[k].kind) {
    case KindId::switch_:
      return is_closed(state, k) ? 1.0 : 0.0;
    case KindId::light_resistor:
    case KindId::heat_resistor:
      return number_of(part_in(circuit, state, k), "value");
    default:
      return std::nullopt;
  }
}

/// A control of which no two states with different settings differ in anything seen.
bool is_idle(const Circuit& circuit, const std::vector<const State*>& states,
             const std::vector<std::vector<Seeable>>& sights, int k) {
  bool is_asked = false;
  for (std::size_t a = 0; a < states.size(); ++a) {
    for (std::size_t b = a + 1; b < states.size(); ++b) {
      const auto here = setting_of(circuit, *states[a], k);
      const auto there = setting_of(circuit, *states[b], k);
      if (!here || !there || *here == *there) continue;
      if (!std::equal(
              sights[a].begin(), sights[a].end(), sights[b].begin(),
              [](const Seeable& x, const Seeable& y) { return !differs(x, y); }))
        return false;
      is_asked = true;
    }
  }
  return is_asked;
}

Finding idle_control(const Part& part) {
  Finding finding =
      about(part, Severity::caution, CheckId(kAboutOverControls, "control-idle"));
  finding.source =
      source_of(practice(0.0, Unit::none, "what is switched or sensed does something"));
  finding.message = fmt::format(
      "'{}' changes nothing that is seen: in the states in which it differs every "
      "lamp, "
      "load and input does the same; does it stand in the right place, and is a "
      "threshold reached",
      part.name);
  return finding;
}

// --- an input that always reads the same

/// The level that an input reads in all phases of all states: -1 low, 1 high; 0 where
/// it is another one in some, or none for certain.
int level_of(const Part& chip, int pin, const Seen& seen) {
  int level = 0;
  for (const auto& phases : seen) {
    for (const Observation* phase : phases) {
      const auto volts = [&](int at) { return phase->net_volts[chip.nets[at]]; };
      const double supply = volts(kVdd) - volts(kVss);
      if (supply < kControllerOffVolts) continue;
      const double share = (volts(pin) - volts(kVss)) / supply;
      const int here = share >= kHighShare ? 1 : share <= kLowShare ? -1 : 0;
      if (here == 0 || (level != 0 && here != level)) return 0;
      level = here;
    }
  }
  return level;
}

/// Whether a control is set differently in some of the states.
bool is_used(const Circuit& circuit, const std::vector<const State*>& states, int k) {
  return std::any_of(states.begin(), states.end(), [&](const State* state) {
    return setting_of(circuit, *state, k) != setting_of(circuit, *states.front(), k);
  });
}

/// What a control at an input's net cannot change of what the input reads.
void add_idle_inputs(const Circuit& circuit, const std::vector<const State*>& states,
                     const Part& chip, const Seen& seen,
                     std::vector<std::pair<std::size_t, Finding>>& told) {
  if (chip.nets[kVdd] < 0 || chip.nets[kVss] < 0 || states.size() < 2) return;
  for (int pin = kFirstPin; pin < static_cast<int>(chip.pins.size()); ++pin) {
    if (is_output_pin(chip, pin) || is_analogue_pin(chip, pin) || chip.nets[pin] < 0)
      continue;
    const int level = level_of(chip, pin, seen);
    if (level == 0) continue;
    for (const PinRef at : circuit.nets[chip.nets[pin]].pins) {
      if (!is_used(circuit, states, at.part)) continue;
      Finding finding = idle_control(circuit.parts[at.part]);
      finding.message = fmt::format(
          "the input '{}' of '{}' reads {} whatever '{}' does: let it pull to the "
          "other "
          "rail, or choose resistors with which the level is reached",
          chip.pins[pin], chip.name, level > 0 ? "high" : "low", finding.part);
      told.emplace_back(0, std::move(finding));
    }
  }
}

}  // namespace

std::vector<std::pair<std::size_t, Finding>> check_over_controls(const Circuit& circuit,
                                                                 const Seen& seen) {
  std::vector<std::pair<std::size_t, Finding>> told;
  std::vector<const State*> states;
  for (const State& state : circuit.states)
    if (state.steady) states.push_back(&state);
  std::vector<std::vector<Seeable>> sights;
  for (const auto& phases : seen) sights.push_back(seeable(circuit, phases));
  // With nothing that can be seen the circuit is a part of a larger one.
  const bool can_show =
      std::any_of(circuit.parts.begin(), circuit.parts.end(), [](const Part& part) {
        return part.kind == KindId::led || is_load(part.kind) ||
               part.kind == KindId::controller;
      });
  for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k) {
    const Part& part = circuit.parts[k];
    if (part.kind == KindId::controller) {
      if (auto moving = moving_rail(circuit, part, seen))
        told.push_back(*std::move(moving));
      if (states.size() == seen.size())
        add_idle_inputs(circuit, states, part, seen, told);
    }
    const bool is_told = std::any_of(
        told.begin(), told.end(),
        [&part](const auto& other) { return other.second.part == part.name; });
    if (!is_told && can_show && states.size() == seen.size() &&
        is_idle(circuit, states, sights, k))
      told.emplace_back(0, idle_control(part));
  }
  return told;
}

std::span<const Explanation> explain_over_controls() { return kAboutOverControls; }

}  // namespace benchproof
