#include <fmt/format.h>

#include "core/check/always/always.h"
#include "core/check/finding/wording.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
    {"controller-bypass", "the capacitor that a chip needs at its supply",
     "some capacitor from the net of 'vdd' to a rail, also through a fuse, wire or "
     "switch",
     "common practice, no source (practice)",
     "a chip switches within nanoseconds, and wires of some centimetres do not follow: "
     "its supply dips, and it resets or does odd things now and then",
     "solder 100 nF from vdd to vss, close to its pins"},
};
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

}  // namespace

std::vector<Finding> check_bypass(const Circuit& circuit) {
  std::vector<Finding> findings;
  if (is_textbook(circuit)) return findings;
  for (const Part& part : circuit.parts) {
    if (part.kind != KindId::controller || part.nets[kVdd] <= 0) continue;
    if (rail_farads(circuit, part.nets[kVdd]) > 0.0) continue;
    Finding finding;
    finding.severity = Severity::caution;
    finding.check = id("controller-bypass");
    finding.part = part.name;
    finding.span = part.span;
    finding.source = source_of(practice(0.0, Unit::farad, "100 nF at every chip"));
    finding.message = fmt::format(
        "'{}' has no capacitor at its supply: it may reset now and then; solder 100 nF "
        "from '{}' to ground, close to its pins",
        part.name, circuit.nets[part.nets[kVdd]].name);
    findings.push_back(std::move(finding));
  }
  return findings;
}

std::span<const Explanation> explain_bypass() { return kExplained; }

}  // namespace benchproof
