#include <fmt/format.h>

#include "core/check/always/always.h"
#include "core/check/finding/wording.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutOwnZero[] = {
    {"supply-own-zero", "a supply whose circuit nothing joins to ground",
     "from the nets of a supply, battery or source no part leads to those of ground: a "
     "note",
     "Kirchhoff's current law: what leaves the nets of a supply has to come back",
     "it works by itself, as what a relay's contacts switch does; its voltages are "
     "told "
     "against its own minus, and nobody knows those against ground",
     "none is needed; join its minus to ground if both are to be one circuit"},
};

}  // namespace

std::vector<Finding> check_own_zero(const Circuit& circuit) {
  std::vector<Finding> findings;
  for (const LocalZero& zero : circuit.local_zeros) {
    const Part& supply = circuit.parts[zero.part];
    Finding finding =
        about(supply, Severity::note, CheckId(kAboutOwnZero, "supply-own-zero"));
    finding.source = "Kirchhoff's current law: what leaves a supply has to come back";
    finding.message = fmt::format(
        "nothing joins '{}' and what it feeds to ground: '{}' is taken as zero there",
        supply.name, circuit.nets[zero.net].name);
    findings.push_back(std::move(finding));
  }
  return findings;
}

std::span<const Explanation> explain_own_zero() { return kAboutOwnZero; }

}  // namespace benchproof
