#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutWire[] = {
    {"wire-current", "a wire's current, against what its thickness carries",
     "I (RMS over the phases) against the figure of the next thinner size of AWG 16 to "
     "32, alone in free air; thinner ones bear the same share of the current that "
     "melts "
     "them, which goes by diameter^1.5: caution above it, fault above twice",
     "Handbook of Electronic Tables and Formulas, chassis wiring, as quoted in public "
     "copies (verified; AWG 26, 28 and 32 from memory); Preece's law of fusing, 80 A "
     "d^1.5 in mm for copper (memory); twice: common practice, no "
     "source (practice)",
     "a wire's heat grows with the square of its current, and in a bundle it cannot "
     "get "
     "rid of it: its insulation softens, then smokes",
     "use a thicker wire, or two in parallel"},
    {"wire-drop", "the voltage that a wire takes for itself",
     "V = I R, with R = 'resistivity' length / cross-section, in copper at the ambient "
     "temperature (1.7241e-8 ohm m at 20 C, 0.393 % more for each C), against the "
     "highest supply voltage: note above 3 %, caution above 10 %",
     "IACS, IEC 60028 (verified); 3 % and 10 %: common practice, no source (practice)",
     "what the wire takes the load does not get; the way back takes as much again",
     "use a thicker or a shorter wire"},
    {"wire-fuse", "whether a wire outlasts the fuse before it",
     "the fuse's 'rated' <= what a wire of its thickness carries, alone in free air, "
     "for wires that only fuses part from the supply, or in one row with one",
     "Handbook of Electronic Tables and Formulas, chassis wiring, as quoted in public "
     "copies (verified; AWG 26, 28 and 32 from memory)",
     "a short then burns the wire, and the fuse stays whole",
     "a smaller fuse, or a thicker wire"},
};

std::optional<Finding> check_wire_current(const CheckInput& input, int index,
                                          const Rating& rating) {
  const auto found = told_standing(input, index, rating);
  if (!found) return std::nullopt;
  Finding finding = about_rating(input, index, rating, *found);
  const auto [is, may] =
      two_texts(found->value.value, found->limit.value, Unit::ampere);
  finding.message = fmt::format(
      "'{}' carries {}, more than the {} that a wire so thin bears alone in free air: "
      "{}use a thicker one",
      finding.part, is, may,
      finding.severity == Severity::fault ? "its insulation melts; "
                                          : "in a bundle it gets hot; ");
  return finding;
}

/// The highest voltage that a circuit is supplied with; 0 where only currents feed it.
double highest_supply_volts(const CheckInput& input) {
  double most = 0.0;
  for (const Part& part : input.parts) {
    const bool is_battery = part.kind == KindId::battery;
    if (!is_battery && part.kind != KindId::dc_supply &&
        part.kind != KindId::voltage_source)
      continue;
    const auto volts = figure(part, is_battery ? "open_circuit" : "voltage");
    const auto cells = is_battery ? figure(part, "cells") : std::nullopt;
    if (volts)
      most = std::max(most, std::abs(volts->value) * (cells ? cells->value : 1.0));
  }
  return most;
}

std::optional<Finding> check_drop(const CheckInput& input, int index) {
  constexpr double kNoteShare = 0.03, kCautionShare = 0.1;
  const Part& wire = input.parts[index];
  const double supply = highest_supply_volts(input);
  const Peak drop = highest(input, [&](const Observation& seen) {
    return std::abs(volts_between(input, seen, index, 0, 1));
  });
  if (supply == 0.0 || !exceeds(drop.value, kNoteShare * supply)) return std::nullopt;
  const bool is_large = exceeds(drop.value, kCautionShare * supply);
  Finding finding =
      about_part(input, index, is_large ? Severity::caution : Severity::note,
                 CheckId(kAboutWire, "wire-drop"));
  const double share = is_large ? kCautionShare : kNoteShare;
  set_limit(
      finding, "voltage", drop.value,
      practice(share * supply, Unit::volt,
               fmt::format("{} of the supply", short_text(share, Unit::fraction))));
  finding.phase = drop.phase;
  finding.message = fmt::format(
      "'{}' takes {}, {} of the {} supply, for itself; use a thicker or shorter one",
      wire.name, short_text(drop.value, Unit::volt),
      short_text(drop.value / supply, Unit::fraction, 2),
      short_text(supply, Unit::volt));
  return finding;
}

/// The fuse with which a wire stands in one row, no other part's pin between them; -1
/// where there is none.
int fuse_in_row(const CheckInput& input, int wire) {
  for (const int start : {0, 1}) {
    int from = wire;
    int net = input.parts[wire].nets[start];
    for (std::size_t step = 0; step < input.parts.size() && net >= 0; ++step) {
      const std::vector<PinRef> pins = resting_pins(input.circuit, net);
      if (pins.size() != 2) break;
      const int next = pins[pins[0].part == from ? 1 : 0].part;
      const Part& part = input.parts[next];
      if (part.kind == KindId::fuse) return next;
      if (part.kind != KindId::wire && part.kind != KindId::switch_) break;
      net = other_net(part, net);
      from = next;
    }
  }
  return -1;
}

/// The nets that a short's current reaches from the poles of supplies, through wires
/// but one, switches, and fuses of so much or more.
std::vector<bool> reached(const CheckInput& input, int but, double least_fuse) {
  std::vector<bool> nets(input.circuit.nets.size(), false);
  std::vector<int> open;
  const auto reach = [&](int net) {
    if (net <= 0 || nets[net]) return;
    nets[net] = true;
    open.push_back(net);
  };
  for (const Part& part : input.parts)
    if (part.kind == KindId::dc_supply || part.kind == KindId::battery)
      for (const int net : part.nets) reach(net);
  while (!open.empty()) {
    const int net = open.back();
    open.pop_back();
    for (const PinRef pin : input.circuit.nets[net].pins) {
      const Part& part = input.parts[pin.part];
      const bool is_way = (part.kind == KindId::wire && pin.part != but) ||
                          part.kind == KindId::switch_ ||
                          (part.kind == KindId::fuse &&
                           number_of(part, "rated").value_or(HUGE_VAL) >= least_fuse);
      if (is_way) reach(other_net(part, net));
    }
  }
  return nets;
}

/// The fuse that has to open where a short lies behind a wire, wherever it stands
/// before it; -1 where there is none, or a way round it.
int fuse_before(const CheckInput& input, int wire) {
  const auto is_fed = [&](double least_fuse) {
    const std::vector<bool> nets = reached(input, wire, least_fuse);
    const std::vector<int>& ends = input.parts[wire].nets;
    return std::any_of(ends.begin(), ends.end(),
                       [&nets](int net) { return net > 0 && nets[net]; });
  };
  if (is_fed(HUGE_VAL)) return -1;
  int found = -1;
  double most = 0.0;
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    if (input.parts[k].kind != KindId::fuse) continue;
    const double rated = number_of(input.parts[k], "rated").value_or(0.0);
    if (rated <= most || !is_fed(rated)) continue;
    most = rated;
    found = static_cast<int>(k);
  }
  return found;
}

std::optional<Finding> check_fuse(const CheckInput& input, int index) {
  const Part& wire = input.parts[index];
  const int before = fuse_before(input, index);
  const int row = before < 0 ? fuse_in_row(input, index) : before;
  const auto limit =
      limit_of(rating_at_rest(wire.kind, CheckId(kAboutWire, "wire-current")), wire,
               input.circuit.ambient);
  const auto rated = row < 0 ? std::nullopt : figure(input.parts[row], "rated");
  if (!limit || !rated || !exceeds(rated->value, limit->value)) return std::nullopt;
  Finding finding =
      about_part(input, index, Severity::caution, CheckId(kAboutWire, "wire-fuse"));
  set_limit(finding, "current", rated->value, *limit);
  finding.message = fmt::format(
      "the fuse '{}' of {} does not save '{}', which bears {} only: in a short the "
      "wire "
      "burns first; use a smaller fuse or a thicker wire",
      input.parts[row].name, short_text(rated->value, Unit::ampere), wire.name,
      short_text(limit->value, Unit::ampere));
  return finding;
}

constexpr Special kWireSpecials[] = {
    {CheckId(kAboutWire, "wire-current"), check_wire_current}};

}  // namespace

std::vector<Finding> check_wire(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::wire, [&](int index, const Part&) {
    tell_ratings(input, index, findings, kWireSpecials);
    append(findings, check_drop(input, index));
    append(findings, check_fuse(input, index));
  });
  return findings;
}

std::span<const Explanation> explain_wire() { return kAboutWire; }

}  // namespace benchproof
