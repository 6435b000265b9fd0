#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "core/catalogue/pins.h"
#include "core/check/always/always.h"
#include "core/check/finding/wording.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutRegulatorCapacitors[] = {
    {"regulator-input-capacitor", "the capacitor that a regulator needs at its input",
     "the capacitors from the net of 'in' to a rail, also through a fuse, wire or "
     "switch, add up to 'input_capacitor': caution where they are less than a tenth of "
     "it, note where they are less",
     "the part's figure 'input_capacitor'; 'benchproof parts TYPE' names its source "
     "and mark",
     "with the wires of a supply before it a regulator can oscillate: its output then "
     "carries a high frequency, and it heats",
     "solder one close to its pins, from in to ground"},
    {"regulator-output-capacitor", "the capacitor that a regulator needs at its output",
     "the capacitors from the net of 'out' to a rail add up to 'output_capacitor': "
     "caution where they are less than a tenth of it, and for a low drop-out (below "
     "1.5 V) or negative type where they are less at all; else note",
     "the part's figure 'output_capacitor'; 'benchproof parts TYPE' names its source "
     "and mark",
     "a low drop-out or negative type oscillates without it; others let their output "
     "dip at each "
     "change of the load",
     "solder one close to its pins, from out to ground"},
    {"regulator-output-esr",
     "whether the capacitor at an output is of a kind that a "
     "regulator is stable with",
     "where 'output_esr' is published: one of the capacitors from the net of "
     "'out' to a rail, of a tenth of 'output_capacitor' or more, has that 'esr', or is "
     "polarised (electrolytic or tantalum) and its 'esr' is not told",
     "the part's figure 'output_esr'; 'benchproof parts TYPE' names its source "
     "and mark; the tenth: common practice, no source (practice)",
     "older low drop-out types lean on that resistance: with ceramic capacitors alone "
     "they oscillate",
     "put an electrolytic or tantalum capacitor there, beside or in place of the "
     "ceramic one, or a resistor of that size in series with it"},
};

/// Types of less drop-out than this have an output stage that is stable only with the
/// capacitor that the sheet asks for. Common practice, no source.
constexpr double kLowDropout = 1.5;

/// An adjustable regulator whose current all goes through the resistor to its adjust
/// pin: it holds a current, not a voltage.
bool is_current_source(const Circuit& circuit, const Part& part) {
  const int out = part.nets[kOut], adjust = part.nets[kCommon];
  if (out < 0 || adjust <= 0 || out == adjust) return false;
  const std::vector<PinRef> pins = resting_pins(circuit, out);
  return pins.size() == 2 && std::all_of(pins.begin(), pins.end(), [&](PinRef pin) {
           const Part& other = circuit.parts[pin.part];
           return &other == &part ||
                  (other.kind == KindId::resistor && other_net(other, out) == adjust);
         });
}

/// Less than this share of what a regulator needs is as good as none. Common practice,
/// no source.
constexpr double kNoneShare = 0.1;

struct NeededCapacitance {
  CheckId check;
  int pin = kIn;
  std::string_view key;
  std::string_view word;  ///< "input"
  std::string_view why;
  bool is_strict = false;  ///< Less than the figure is not enough either.
};

std::optional<Finding> missing(const Circuit& circuit, const Part& part,
                               const NeededCapacitance& needed) {
  const auto least = figure(part, needed.key);
  const int net = part.nets[needed.pin];
  if (!least || net < 0) return std::nullopt;
  const double farads = rail_farads(circuit, net);
  if (!exceeds(least->value, farads)) return std::nullopt;
  const bool is_none = farads < kNoneShare * least->value;
  Finding finding;
  finding.severity = is_none || needed.is_strict ? Severity::caution : Severity::note;
  finding.check = needed.check;
  finding.part = part.name;
  finding.span = part.span;
  set_limit(finding, "capacitance", farads, *least);
  finding.bound = Bound::lower;
  const std::string of = short_text(least->value, Unit::farad);
  if (is_none) {
    finding.message = fmt::format(
        "'{}' has {} at its {}: {}; put {} or more from '{}' to ground, "
        "close to it",
        part.name,
        farads > 0.0 ? fmt::format("only {}", short_text(farads, Unit::farad))
                     : "no capacitor",
        needed.word, needed.why, of, circuit.nets[net].name);
    return finding;
  }
  finding.message = fmt::format(
      "'{}' has {} at its {}, less than the {} that it is used with: {}", part.name,
      short_text(farads, Unit::farad), needed.word, of, needed.why);
  return finding;
}

/// Whether a capacitor has a resistance in series as electrolytic ones do.
bool has_esr(const Part& capacitor, double least) {
  const auto esr = number_of(capacitor, "esr");
  if (esr) return *esr >= least;
  return flag(capacitor, "polarised", false);
}

/// An output whose capacitors are all of less series resistance than its regulator
/// needs. One without any is told of otherwise.
std::optional<Finding> without_esr(const Circuit& circuit, const Part& part) {
  const auto least = figure(part, "output_esr");
  const int net = part.nets[kOut];
  if (!least || net < 0) return std::nullopt;
  const double needed = number_of(part, "output_capacitor").value_or(0.0);
  const Part* ceramic = nullptr;
  for (const int index : rail_capacitors(circuit, net)) {
    const Part& capacitor = circuit.parts[index];
    if (number_of(capacitor, "value").value_or(0.0) < kNoneShare * needed) continue;
    if (has_esr(capacitor, least->value)) return std::nullopt;
    ceramic = &capacitor;
  }
  if (ceramic == nullptr) return std::nullopt;
  Finding finding = about(part, Severity::caution,
                          CheckId(kAboutRegulatorCapacitors, "regulator-output-esr"));
  set_limit(finding, "resistance", number_of(*ceramic, "esr").value_or(0.0), *least);
  finding.bound = Bound::lower;
  finding.message = fmt::format(
      "'{}' is stable only with some resistance in series with the capacitor at its "
      "output, {} or more, and '{}' has none of note: it may oscillate; put an "
      "electrolytic or tantalum one there",
      part.name, short_text(least->value, Unit::ohm), ceramic->name);
  return finding;
}

}  // namespace

std::vector<Finding> check_regulator_capacitors(const Circuit& circuit) {
  std::vector<Finding> findings;
  if (is_textbook(circuit)) return findings;
  for (const Part& part : circuit.parts) {
    if (part.kind != KindId::regulator) continue;
    const auto dropout = figure(part, "dropout");
    const bool is_low = dropout && dropout->value < kLowDropout;
    // So is every negative type's: its pass transistor is of the other kind.
    const bool is_strict = is_low || polarity(part) < 0.0;
    append(
        findings,
        missing(circuit, part,
                {CheckId(kAboutRegulatorCapacitors, "regulator-input-capacitor"), kIn,
                 "input_capacitor", "input", "on long wires it can oscillate"}));
    if (is_current_source(circuit, part)) continue;
    append(findings,
           missing(circuit, part,
                   {CheckId(kAboutRegulatorCapacitors, "regulator-output-capacitor"),
                    kOut, "output_capacitor", "output",
                    is_strict ? "such a type is not stable without it"
                              : "its output dips whenever the load changes",
                    is_strict}));
    append(findings, without_esr(circuit, part));
  }
  return findings;
}

std::span<const Explanation> explain_regulator_capacitors() {
  return kAboutRegulatorCapacitors;
}

}  // namespace benchproof
