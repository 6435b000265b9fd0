#include <fmt/format.h>

#include <optional>

#include "core/check/always/always.h"
#include "core/check/finding/wording.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutFuses[] = {
    {"fuse-idle", "a fuse that its supply cannot open",
     "'rated' <= what all supplies and batteries give together into a short: a "
     "regulated "
     "supply its 'current', one that is not 'no_load' over its inner resistance, a "
     "battery 'open_circuit' over 'resistance'",
     "common practice, no source (practice)",
     "in a short the supply limits the current below what the fuse bears: the fuse "
     "stays whole, and what it is to save gets hot",
     "use a fuse of less than what the supply gives, and more than the circuit takes"},
};

/// What a source gives into a short; nothing where that is not known. Ampere.
std::optional<double> short_amps(const Part& part) {
  if (part.kind == KindId::battery) {
    const auto volts = number_of(part, "open_circuit");
    const auto ohms = number_of(part, "resistance");
    if (!volts || !ohms || !(*ohms > 0.0)) return std::nullopt;
    return *volts / *ohms;
  }
  const auto amps = number_of(part, "current");
  if (part.kind != KindId::dc_supply || !amps || word_of(part, "limit") == "none")
    return std::nullopt;
  if (flag(part, "regulated", true)) return amps;
  const auto volts = number_of(part, "voltage");
  const auto no_load = number_of(part, "no_load");
  if (!volts || !no_load || !(*no_load > *volts)) return std::nullopt;
  return *no_load / ((*no_load - *volts) / *amps);
}

}  // namespace

std::vector<Finding> check_fuses(const Circuit& circuit) {
  double most = 0.0;
  for (const Part& part : circuit.parts) {
    if (!is_source(part.kind)) continue;
    const auto amps = short_amps(part);
    if (!amps) return {};
    most += *amps;
  }
  std::vector<Finding> findings;
  for (const Part& part : circuit.parts) {
    const auto rated = part.kind == KindId::fuse ? figure(part, "rated") : std::nullopt;
    if (!rated || !exceeds(rated->value, most)) continue;
    Finding finding = about(part, Severity::caution, CheckId(kAboutFuses, "fuse-idle"));
    set_limit(finding, "current", rated->value,
              practice(most, Unit::ampere, "what the supplies give into a short"));
    finding.message = fmt::format(
        "'{}' of {} never opens: what feeds it gives {} at most, even into a short; "
        "use "
        "one of less",
        part.name, short_text(rated->value, Unit::ampere),
        short_text(most, Unit::ampere));
    findings.push_back(std::move(finding));
  }
  return findings;
}

std::span<const Explanation> explain_fuses() { return kAboutFuses; }

}  // namespace benchproof
