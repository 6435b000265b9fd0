#include <fmt/format.h>

#include "core/check/always/always.h"
#include "core/check/finding/wording.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutBypass[] = {
    {"controller-bypass", "the capacitor that a chip needs at its supply",
     "the capacitors from the net of 'vdd' to a rail, also through a fuse, wire or "
     "switch, add up to 10 nF; polarised ones do not count",
     "common practice, no source (practice)",
     "a chip switches within nanoseconds, and wires of some centimetres do not follow: "
     "its supply dips, and it resets or does odd things now and then; picofarads hold "
     "nothing, and an electrolytic is too slow for it",
     "solder 100 nF from vdd to vss, close to its pins"},
};

/// As little as this holds a chip's supply while it switches. Common practice, no
/// source: 100 nF are usual, 10 nF the least that one meets. Farad.
constexpr double kLeastFarads = 10e-9;

/// What stands at a chip's supply. Farad.
struct Held {
  double fast = 0.0;
  double slow = 0.0;  ///< Of electrolytics.
};

Held held_at(const Circuit& circuit, int net) {
  Held held;
  for (const int index : rail_capacitors(circuit, net)) {
    const Part& part = circuit.parts[index];
    double& sum = flag(part, "polarised", false) ? held.slow : held.fast;
    sum += number_of(part, "value").value_or(0.0);
  }
  return held;
}

std::string has_text(const Held& held) {
  if (held.slow > 0.0)
    return "has an electrolytic alone at its supply, which is too slow for it";
  if (held.fast > 0.0)
    return fmt::format("has only {} at its supply, which hold nothing",
                       short_text(held.fast, Unit::farad));
  return "has no capacitor at its supply";
}

}  // namespace

std::vector<Finding> check_bypass(const Circuit& circuit) {
  std::vector<Finding> findings;
  if (is_textbook(circuit)) return findings;
  for (const Part& part : circuit.parts) {
    if (part.kind != KindId::controller || part.nets[kVdd] <= 0) continue;
    const Held held = held_at(circuit, part.nets[kVdd]);
    if (!exceeds(kLeastFarads, held.fast)) continue;
    Finding finding =
        about(part, Severity::caution, CheckId(kAboutBypass, "controller-bypass"));
    set_limit(finding, "capacitance", held.fast,
              practice(kLeastFarads, Unit::farad, "100 nF at every chip"));
    finding.bound = Bound::lower;
    finding.message = fmt::format(
        "'{}' {}: it may reset now and then; solder 100 nF from '{}' to ground, close "
        "to its pins",
        part.name, has_text(held), circuit.nets[part.nets[kVdd]].name);
    findings.push_back(std::move(finding));
  }
  return findings;
}

std::span<const Explanation> explain_bypass() { return kAboutBypass; }

}  // namespace benchproof
