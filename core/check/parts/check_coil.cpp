#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutCoil[] = {
    {"coil-flyback", "where a coil's current goes when it is switched off",
     "a motor, relay coil, magnetic buzzer or inductor (of 1 uJ and more) whose "
     "current a switch (caution), transistor or output (fault) interrupts, with no "
     "path through a diode back to it, nor, of an inductor, into capacitors on that "
     "side, which I sqrt(L / C) lifts by a quarter of their voltage at most; where a "
     "zener across it takes the current over, V(supply's side) + its voltage <= the "
     "transistor's 'voltage'",
     "common practice, no source (practice)",
     "a coil drives its current on: V = L dI/dt rises until a contact sparks, a "
     "transistor breaks down or a chip dies",
     "put a diode across the coil, banded end at its positive side"},
    {"coil-diode", "the diode across a coil",
     "its forward current while the coil is on at most 1 mA (fault: it is the wrong "
     "way "
     "round); the coil's current at most its 'current' (caution)",
     "common practice, no source (practice); the part's figure 'current'",
     "it shorts the coil: the transistor or the diode burns, and the coil does nothing",
     "turn it: banded end to the coil's positive side"},
};

/// A resistor takes over a coil's current if it is not larger than so many times the
/// coil's own. Common practice, no source.
constexpr double kMostTimes = 10.0;

/// What an inductor stores below this harms nothing. Common practice, no source.
constexpr double kLeastJoules = 1e-6;

/// Whether a part is a coil whose current matters when it is interrupted.
bool stores(const Part& part, double amps) {
  if (part.kind != KindId::inductor) {
    const auto rated = figure(part, "current");
    return rated && std::abs(amps) >= kOffShare * rated->value;
  }
  return 0.5 * number_of(part, "value").value_or(0.0) * amps * amps >= kLeastJoules;
}

/// What switches a coil's current, as far as that matters here.
struct Switcher {
  PinRef pin;
  Severity severity = Severity::caution;
};

/// Whether a pin is one that interrupts the current of a net, and how much that matters
/// without a way out: a contact only burns; a transistor breaks down and a controller
/// dies: faults.
std::optional<Severity> switches(const Part& part, int pin) {
  switch (part.kind) {
    case KindId::switch_:
      return Severity::caution;
    case KindId::transistor:
    case KindId::mosfet:
      return pin > 0 ? std::optional(Severity::fault) : std::nullopt;
    case KindId::controller:
      return is_output_pin(part, pin) ? std::optional(Severity::fault) : std::nullopt;
    default:
      return std::nullopt;
  }
}

/// The pin that interrupts the current leaving a coil at `net`: on that net, or further
/// on where one part in series follows another. A rail is not interrupted.
std::optional<Switcher> switcher_at(const CheckInput& input, const Observation& seen,
                                    int coil, int net) {
  const double amps = std::abs(pin_amps(seen, coil, 0));
  int from = coil;
  for (std::size_t step = 0; step < input.parts.size(); ++step) {
    if (net < 0 || is_rail(input.circuit, net)) return std::nullopt;
    int next = -1;
    for (const PinRef pin : input.circuit.nets[net].pins) {
      if (pin.part == from) continue;
      const Part& part = input.parts[pin.part];
      if (std::abs(pin_amps(seen, pin.part, pin.pin)) < 0.5 * amps) continue;
      if (const auto severity = switches(part, pin.pin))
        return Switcher{pin, *severity};
      const bool is_series = is_passage(part.kind) || part.kind == KindId::led ||
                             part.kind == KindId::diode;
      if (is_series) next = pin.part;
    }
    if (next < 0) return std::nullopt;
    net = other_net(input.parts[next], net);
    from = next;
  }
  return std::nullopt;
}

/// A way that current can take, and whether a diode opens it.
struct Way {
  int from = -1;
  int to = -1;
  bool is_diode = false;
};

/// What lets a coil's current flow: its own resistance, of an inductor that of all
/// that it is in series with. Ohm.
double coil_ohms(const CheckInput& input, int coil) {
  const Part& part = input.parts[coil];
  if (part.kind != KindId::inductor)
    return figure(part, "voltage")->value / figure(part, "current")->value;
  double volts = 0.0;
  double amps = 0.0;
  for (const SeenPhase& phase : input.phases) {
    const auto& nets = phase.seen.net_volts;
    const auto [low, high] = std::minmax_element(nets.begin(), nets.end());
    volts = std::max(volts, *high - *low);
    amps = std::max(amps, std::abs(pin_amps(phase.seen, coil, 0)));
  }
  return amps > 0.0 ? volts / amps : 0.0;
}

/// The ways that are there when `off` interrupts and `coil` drives.
std::vector<Way> ways(const CheckInput& input, const State& state, int coil, int off) {
  const double most = kMostTimes * coil_ohms(input, coil);
  std::vector<Way> found;
  for (int i = 0; i < static_cast<int>(input.parts.size()); ++i) {
    if (i == coil || i == off) continue;
    const Part& part = input.parts[i];
    const auto& n = part.nets;
    const auto both = [&](int a, int b, bool is_diode) {
      found.push_back({a, b, is_diode});
      found.push_back({b, a, is_diode});
    };
    switch (part.kind) {
      case KindId::diode:
        found.push_back({n[0], n[1], true});
        break;
      case KindId::zener:
        both(n[0], n[1], true);
        break;
      case KindId::mosfet: {
        const MosModel* model = mos_model(part);
        if (model == nullptr || !model->body) break;
        found.push_back(model->is_p_channel ? Way{n[1], n[2], true}
                                            : Way{n[2], n[1], true});
        break;
      }
      case KindId::dc_supply:
      case KindId::battery:
      case KindId::voltage_source:
        both(n[0], n[1], false);
        break;
      case KindId::switch_:
        if (is_closed(state, i)) both(n[0], n[1], false);
        break;
      case KindId::resistor:
        if (figure(part, "value")->value <= most) both(n[0], n[1], false);
        break;
      case KindId::fuse:
      case KindId::wire:
        both(n[0], n[1], false);
        break;
      default:
        break;
    }
  }
  return found;
}

/// Whether current can get from one net to another by way of a diode or zener.
bool is_led_back(const CheckInput& input, const std::vector<Way>& ways, int from,
                 int to) {
  // Reached without a diode, and with one.
  std::vector<std::array<bool, 2>> reached(input.circuit.nets.size());
  reached[from][0] = true;
  for (bool is_going_on = true; is_going_on;) {
    is_going_on = false;
    for (const Way& way : ways) {
      if (way.from < 0 || way.to < 0 || way.from == to) continue;
      for (const bool had : {false, true}) {
        const bool has = had || way.is_diode;
        if (!reached[way.from][had] || reached[way.to][has]) continue;
        reached[way.to][has] = true;
        is_going_on = true;
      }
    }
  }
  return reached[to][1];
}

/// A capacitor on a switched rail takes what a coil there gives.
bool is_buffered(const CheckInput& input, const Part& coil) {
  return std::any_of(coil.nets.begin(), coil.nets.end(), [&](int net) {
    if (net == 0) return false;
    const auto& pins = input.circuit.nets[net].pins;
    return std::any_of(pins.begin(), pins.end(), [&](PinRef pin) {
      return input.parts[pin.part].kind == KindId::capacitor;
    });
  });
}

/// Whether capacitors on that side of an inductor take its current over: all of its
/// energy lifts them by I sqrt(L / C) at most, above what they stand at.
bool is_absorbed(const CheckInput& input, const SeenPhase& phase, int index, int net) {
  constexpr double kMostLift = 0.25;  // Common practice, no source.
  const auto henry = number_of(input.parts[index], "value");
  const double farads = rail_farads(input.circuit, net);
  if (input.parts[index].kind != KindId::inductor || !henry || !(farads > 0.0))
    return false;
  const double lift =
      std::abs(pin_amps(phase.seen, index, 0)) * std::sqrt(*henry / farads);
  return lift <= kMostLift * std::abs(phase.seen.net_volts[net]);
}

/// A coil's current, and the nets at which it enters and leaves.
struct Driven {
  double amps = 0.0;
  int in = -1;
  int out = -1;
};

/// Nothing where it is too little to matter.
std::optional<Driven> driven(const CheckInput& input, const SeenPhase& phase,
                             int index) {
  const Part& coil = input.parts[index];
  const double amps = pin_amps(phase.seen, index, 0);
  if (coil.nets[0] < 0 || coil.nets[1] < 0 || !stores(coil, amps)) return std::nullopt;
  return Driven{amps, coil.nets[amps > 0.0 ? 0 : 1], coil.nets[amps > 0.0 ? 1 : 0]};
}

std::optional<Finding> check_way_out(const CheckInput& input, const SeenPhase& phase,
                                     int index) {
  const Part& coil = input.parts[index];
  const auto drives = driven(input, phase, index);
  if (!drives) return std::nullopt;
  const auto [amps, in, out] = *drives;
  std::optional<Switcher> worst;
  for (const int net : {out, in}) {
    const auto found = switcher_at(input, phase.seen, index, net);
    if (!found || (worst && found->severity <= worst->severity)) continue;
    if (is_absorbed(input, phase, index, net)) continue;
    const auto open = ways(input, phase.phase.state, index, found->pin.part);
    if (!is_led_back(input, open, out, in)) worst = found;
  }
  if (!worst) return std::nullopt;
  if (worst->severity == Severity::caution && is_buffered(input, coil))
    return std::nullopt;
  const Part& by = input.parts[worst->pin.part];
  // Inside of a buzzer there is more than its coil, which takes part of it.
  const bool is_buzzer = coil.kind == KindId::buzzer;
  Finding finding =
      about_part(input, index, is_buzzer ? Severity::caution : worst->severity,
                 CheckId(kAboutCoil, "coil-flyback"));
  finding.quantity = "current";
  finding.unit = Unit::ampere;
  finding.value = std::abs(amps);
  finding.phase = phase.phase.name;
  finding.source = source_of(practice(
      0.0, Unit::ampere, "a coil's current is given a way on when it is switched off"));
  const std::string name = by.kind == KindId::controller
                               ? fmt::format("{}.{}", by.name, by.pins[worst->pin.pin])
                               : by.name;
  finding.message = fmt::format(
      "nothing takes over the {} of '{}' when '{}' switches it off: the coil's voltage "
      "rises until {}; put a diode across it, cathode at '{}'",
      short_text(std::abs(amps), Unit::ampere), coil.name, name,
      worst->severity == Severity::caution ? "the contact sparks"
      : by.kind == KindId::controller ? "the pin's clamp diodes carry it, which are "
                                        "not made for that"
                                      : "the transistor breaks down",
      input.circuit.nets[in].name);
  return finding;
}

/// Whether a zener and a diode in series take over what leaves a coil at `out`, on to
/// `in`: the diode forward, the zener in breakdown.
bool is_clamp(const Part& zener, const Part& diode, int out, int in) {
  const auto [z_anode, z_cathode] = std::pair(zener.nets[0], zener.nets[1]);
  const auto [d_anode, d_cathode] = std::pair(diode.nets[0], diode.nets[1]);
  const bool is_diode_first = d_anode == out && d_cathode == z_cathode && z_anode == in;
  const bool is_zener_first = z_cathode == out && z_anode == d_anode && d_cathode == in;
  return is_diode_first || is_zener_first;
}

/// A transistor that stands at the supply's voltage and that of the zener across its
/// coil, for as long as that takes the coil's current over.
std::optional<Finding> check_clamp(const CheckInput& input, const SeenPhase& phase,
                                   int index) {
  const Part& coil = input.parts[index];
  const auto drives = driven(input, phase, index);
  if (!drives) return std::nullopt;
  const int in = drives->in;
  const int out = drives->out;
  const auto by = switcher_at(input, phase.seen, index, out);
  const auto limit = by ? figure(input.parts[by->pin.part], "voltage") : std::nullopt;
  if (!limit || by->severity != Severity::fault) return std::nullopt;
  constexpr double kDiodeVolts = 0.7;
  for (const Part& zener : input.parts) {
    if (zener.kind != KindId::zener) continue;
    const auto clamp = number_of(zener, "voltage");
    const bool is_across =
        std::any_of(input.parts.begin(), input.parts.end(), [&](const Part& diode) {
          return diode.kind == KindId::diode && is_clamp(zener, diode, out, in);
        });
    if (!clamp || !is_across) continue;
    const double volts = std::abs(phase.seen.net_volts[in]) + *clamp + kDiodeVolts;
    if (!exceeds(volts, limit->value)) continue;
    Finding finding = about_part(input, by->pin.part, Severity::fault,
                                 CheckId(kAboutCoil, "coil-flyback"));
    set_limit(finding, "voltage", volts, *limit);
    finding.phase = phase.phase.name;
    finding.message = fmt::format(
        "'{}' stands at {} when it switches '{}' off, the supply's and that of '{}' "
        "across the coil, and bears {}: use a zener of less, or a transistor that "
        "bears more",
        input.parts[by->pin.part].name, short_text(volts, Unit::volt), coil.name,
        zener.name, short_text(limit->value, Unit::volt));
    return finding;
  }
  return std::nullopt;
}

/// A diode across a coil that conducts while the coil is on: turned the wrong way
/// round.
std::optional<Finding> check_turned(const CheckInput& input, const SeenPhase& phase,
                                    int index) {
  constexpr double kConductsAmps = 1e-3;  // Common practice, no source.
  const Part& coil = input.parts[index];
  for (int i = 0; i < static_cast<int>(input.parts.size()); ++i) {
    const Part& diode = input.parts[i];
    const bool is_across =
        diode.kind == KindId::diode && diode.nets[0] >= 0 && diode.nets[1] >= 0 &&
        std::is_permutation(diode.nets.begin(), diode.nets.end(), coil.nets.begin());
    const double amps = is_across ? pin_amps(phase.seen, i, 0) : 0.0;
    if (!exceeds(amps, kConductsAmps)) continue;
    Finding finding =
        about_part(input, i, Severity::fault, CheckId(kAboutCoil, "coil-diode"));
    set_limit(finding, "current", amps,
              practice(kConductsAmps, Unit::ampere,
                       "a diode across a coil carries nothing while the coil is on"));
    finding.phase = phase.phase.name;
    finding.message = fmt::format(
        "'{}' across '{}' is the wrong way round: it conducts {} while '{}' should be "
        "on; turn it, banded end to the positive side",
        diode.name, coil.name, short_text(amps, Unit::ampere), coil.name);
    return finding;
  }
  return std::nullopt;
}

/// A diode across a coil that takes over more than it is made for.
std::optional<Finding> check_weak(const CheckInput& input, const SeenPhase& phase,
                                  int index) {
  const Part& coil = input.parts[index];
  const double amps = std::abs(pin_amps(phase.seen, index, 0));
  for (int i = 0; i < static_cast<int>(input.parts.size()); ++i) {
    const Part& diode = input.parts[i];
    if (diode.kind != KindId::diode || diode.nets[0] < 0 || diode.nets[1] < 0 ||
        !std::is_permutation(diode.nets.begin(), diode.nets.end(), coil.nets.begin()))
      continue;
    const auto limit = figure(diode, "current");
    if (!limit || !exceeds(amps, limit->value)) continue;
    Finding finding =
        about_part(input, i, Severity::caution, CheckId(kAboutCoil, "coil-diode"));
    set_limit(finding, "current", amps, *limit);
    finding.phase = phase.phase.name;
    finding.message = fmt::format(
        "'{}' takes over the {} of '{}' each time it is switched off, and is made for "
        "{}: use a larger one",
        diode.name, short_text(amps, Unit::ampere), coil.name,
        short_text(limit->value, Unit::ampere));
    return finding;
  }
  return std::nullopt;
}

}  // namespace

std::vector<Finding> check_coil(const CheckInput& input) {
  std::vector<Finding> findings;
  for (const KindId kind :
       {KindId::motor, KindId::relay_coil, KindId::buzzer, KindId::inductor}) {
    for_parts(input, kind, [&](int index, const Part& part) {
      if (kind == KindId::buzzer && word_of(part, "drive") != "magnetic") return;
      for (const SeenPhase& phase : input.phases) {
        auto turned = check_turned(input, phase, index);
        if (!turned) continue;
        findings.push_back(std::move(*turned));
        return;
      }
      for (const SeenPhase& phase : input.phases) {
        auto weak = check_weak(input, phase, index);
        if (!weak) continue;
        findings.push_back(std::move(*weak));
        break;
      }
      std::optional<Finding> worst;
      for (const SeenPhase& phase : input.phases) {
        auto found = check_way_out(input, phase, index);
        if (!found) found = check_clamp(input, phase, index);
        if (found && (!worst || found->severity > worst->severity))
          worst = std::move(found);
      }
      append(findings, std::move(worst));
    });
  }
  return findings;
}

std::span<const Explanation> explain_coil() { return kAboutCoil; }

}  // namespace benchproof
