#include <fmt/format.h>

#include <algorithm>

#include "core/check/always/always.h"
#include "core/check/finding/wording.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutBatteryCare[] = {
    {"battery-care", "what batteries ask of people",
     "every lithium cell; every strong battery (NiMH, NiCd, lead-acid, lithium-ion) of "
     "which neither pole leads to a fuse before anything but wires and switches",
     "common practice, no source (practice)",
     "a shorted battery makes wires glow; lithium-ion cells burn when they are abused; "
     "coin cells kill children who swallow them",
     "use protected cells and their own charger, a fuse next to the battery, and a "
     "shut compartment"},
    {"battery-mixed", "batteries of different sorts in one row or side by side",
     "two batteries that share a net (other than ground) differ in chemistry, size or "
     "charge",
     "common practice, no source (practice)",
     "the weaker one is empty first, and is then charged the wrong way round until it "
     "leaks; side by side the one charges the other",
     "use cells of one sort and one age"},
};

/// Whether all that a pole of a battery leads to lies behind fuses, wires and switches
/// apart.
bool is_fused_at(const Circuit& circuit, const Part& battery, int pole) {
  std::vector<int> reached = {battery.nets[pole]};
  bool has_fuse = false;
  for (std::size_t k = 0; k < reached.size(); ++k) {
    for (const Part& part : circuit.parts) {
      if (&part == &battery) continue;
      for (const int net : part.nets) {
        if (net != reached[k] || net < 0) continue;
        if (part.kind == KindId::fuse) {
          has_fuse = true;
        } else if (part.kind == KindId::wire || part.kind == KindId::switch_) {
          const int next = other_net(part, net);
          if (next >= 0 &&
              std::find(reached.begin(), reached.end(), next) == reached.end())
            reached.push_back(next);
        } else {
          return false;
        }
      }
    }
  }
  return has_fuse;
}

/// Whether a short anywhere goes through a fuse.
bool is_fused(const Circuit& circuit, const Part& battery) {
  return is_fused_at(circuit, battery, 0) || is_fused_at(circuit, battery, 1);
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

/// Batteries that are joined and not of one sort, each pair once.
void check_mixed(const Circuit& circuit, std::vector<Finding>& findings) {
  for (std::size_t a = 0; a < circuit.parts.size(); ++a) {
    const Part& one = circuit.parts[a];
    if (one.kind != KindId::battery) continue;
    for (std::size_t b = a + 1; b < circuit.parts.size(); ++b) {
      const Part& other = circuit.parts[b];
      if (other.kind != KindId::battery) continue;
      const bool is_joined =
          std::any_of(one.nets.begin(), one.nets.end(), [&other](int net) {
            return net > 0 && std::find(other.nets.begin(), other.nets.end(), net) !=
                                  other.nets.end();
          });
      std::string differ;
      for (const std::string_view key : {"chemistry", "size", "charge"})
        if (word_of(one, key) != word_of(other, key)) differ = key;
      if (!is_joined || differ.empty()) continue;
      Finding finding =
          about(other, Severity::caution, CheckId(kAboutBatteryCare, "battery-mixed"));
      finding.source = "common practice, no source (care of batteries)";
      // Plus at plus they stand side by side, else in a row.
      const bool is_parallel =
          one.nets[0] == other.nets[0] || one.nets[1] == other.nets[1];
      finding.message = fmt::format(
          "'{}' and '{}' differ in {}: {}; use cells of one sort and one age", one.name,
          other.name, differ,
          is_parallel ? "the stronger one charges the weaker one, which heats and leaks"
                      : "the weaker one is charged the wrong way round and leaks");
      findings.push_back(std::move(finding));
    }
  }
}

}  // namespace

std::vector<Finding> check_battery_care(const Circuit& circuit) {
  std::vector<Finding> findings;
  check_mixed(circuit, findings);
  for (const Part& part : circuit.parts) {
    if (part.kind != KindId::battery) continue;
    const std::string chemistry = word_of(part, "chemistry");
    const std::string message = care(chemistry, is_fused(circuit, part));
    if (message.empty()) continue;
    Finding finding =
        about(part, Severity::caution, CheckId(kAboutBatteryCare, "battery-care"));
    finding.source = "common practice, no source (care of batteries)";
    finding.message = fmt::format("'{}' ({}) {}", part.name, chemistry, message);
    findings.push_back(std::move(finding));
  }
  return findings;
}

std::span<const Explanation> explain_battery_care() { return kAboutBatteryCare; }

}  // namespace benchproof
