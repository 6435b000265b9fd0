#include <fmt/format.h>

#include <algorithm>

#include "core/check/check.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
    {"battery-care", "what batteries ask of people",
     "every lithium cell; every strong battery (NiMH, NiCd, lead-acid, lithium-ion) in "
     "a circuit without a fuse",
     "common practice, no source (practice)",
     "a shorted battery makes wires glow; lithium-ion cells burn when they are abused; "
     "coin cells kill children who swallow them",
     "use protected cells and their own charger, a fuse next to the battery, and a "
     "shut compartment"},
};
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

bool has_fuse(const Circuit& circuit) {
  return std::any_of(circuit.parts.begin(), circuit.parts.end(),
                     [](const Part& part) { return part.kind == KindId::fuse; });
}

/// What a battery asks of people. Empty where there is nothing to say.
std::string care(const std::string& chemistry, bool is_fused) {
  const bool is_strong = chemistry == "lithium-ion" || chemistry == "lead-acid" ||
                         chemistry == "nimh" || chemistry == "nicd";
  const std::string fuse = is_strong && !is_fused
                               ? "; put a fuse next to it, for a short makes wires glow"
                               : "";
  if (chemistry == "lithium-ion")
    return "can burn when shorted, crushed or overcharged: use a protected cell and "
           "its own charger" +
           fuse;
  if (chemistry == "lithium")
    return "burns inside when swallowed: keep coin cells shut in, away from children";
  return fuse.empty() ? fuse : "delivers a great current" + fuse;
}

}  // namespace

std::vector<Finding> check_battery_care(const Circuit& circuit) {
  std::vector<Finding> findings;
  const bool is_fused = has_fuse(circuit);
  for (const Part& part : circuit.parts) {
    if (part.kind != KindId::battery) continue;
    const std::string chemistry = word(part, "chemistry");
    const std::string message = care(chemistry, is_fused);
    if (message.empty()) continue;
    Finding finding;
    finding.severity = Severity::caution;
    finding.check = id("battery-care");
    finding.part = part.name;
    finding.span = part.span;
    finding.source = "common practice, no source (care of batteries)";
    finding.message = fmt::format("'{}' ({}) {}", part.name, chemistry, message);
    findings.push_back(std::move(finding));
  }
  return findings;
}

std::span<const Explanation> explain_battery_care() { return kExplained; }

}  // namespace benchproof
