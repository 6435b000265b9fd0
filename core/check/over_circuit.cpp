#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "core/check/over_states.h"

namespace benchproof {
namespace {

struct Needed {
  std::string_view key;
  std::string_view words;
};

/// The ratings that a kind of part ought to have to be checked.
std::vector<Needed> needed(KindId kind) {
  switch (kind) {
    case KindId::capacitor:
      return {{"rated", "voltage"}};
    case KindId::diode:
    case KindId::led:
      return {{"current", "current"}, {"reverse", "reverse voltage"}};
    case KindId::zener:
      return {{"power", "power"}};
    case KindId::transistor:
    case KindId::mosfet:
      return {{"current", "current"}, {"voltage", "voltage"}, {"power", "power"}};
    case KindId::regulator:
      return {{"input_max", "input voltage"},
              {"current", "current"},
              {"thermal_resistance", "temperature"}};
    case KindId::dc_supply:
      return {{"current", "current"}};
    default:
      return {};
  }
}

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

std::vector<Finding> battery_care(const Circuit& circuit) {
  std::vector<Finding> findings;
  const bool is_fused = has_fuse(circuit);
  for (const Part& part : circuit.parts) {
    if (part.kind != KindId::battery) continue;
    const std::string chemistry = word(part, "chemistry");
    const std::string message = care(chemistry, is_fused);
    if (message.empty()) continue;
    Finding finding;
    finding.severity = Severity::caution;
    finding.check = "battery-care";
    finding.part = part.name;
    finding.span = part.span;
    finding.source = "common practice, no source (care of batteries)";
    finding.message = fmt::format("'{}' ({}) {}", part.name, chemistry, message);
    findings.push_back(std::move(finding));
  }
  return findings;
}

std::vector<Finding> unrated_parts(const Circuit& circuit) {
  std::vector<Finding> findings;
  for (const Part& part : circuit.parts) {
    std::vector<std::string_view> missing;
    std::vector<std::string> keys;
    for (const Needed& rating : needed(part.kind)) {
      const bool is_instead = rating.key == "input_max" &&
                              figure(part, "difference_max");  // checked in its place
      if (is_instead || figure(part, rating.key)) continue;
      missing.push_back(rating.words);
      keys.push_back(fmt::format("'{}'", rating.key));
    }
    if (missing.empty()) continue;
    Finding finding;
    finding.severity = Severity::note;
    finding.check = "unrated";
    finding.part = part.name;
    finding.span = part.span;
    finding.source = "the description gives no rating";
    finding.mark = Mark::given;
    finding.message =
        fmt::format("not checked: {} of '{}'; give {} to have it checked",
                    fmt::join(missing, ", "), part.name, fmt::join(keys, ", "));
    findings.push_back(std::move(finding));
  }
  return findings;
}

}  // namespace benchproof
