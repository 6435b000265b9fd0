#include "core/check/rest/unlimited_amps.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutUnlimitedAmps[] = {
    {"current-unlimited", "a current that nothing limits",
     "a loop of sources and ideal junctions whose voltages do not add up, or a current "
     "above 1 kA",
     "Kirchhoff's voltage law; the 1 kA: common practice, no source (practice)",
     "the current would be as large as the supply and the wires allow: something burns",
     "put a resistor in series, turn round what stands the wrong way, or take out the "
     "short"},
};

/// Which part to name first: one that can be the wrong way round or wrongly closed,
/// then others, sources last.
int rank(KindId kind) {
  switch (kind) {
    case KindId::diode:
    case KindId::zener:
    case KindId::led:
    case KindId::switch_:
      return 0;
    case KindId::dc_supply:
    case KindId::battery:
    case KindId::voltage_source:
    case KindId::current_source:
      return 2;
    default:
      return 1;
  }
}

double most_amps(const Observation& seen, int part) {
  double most = 0.0;
  for (const double amps : seen.pin_amps[part]) most = std::max(most, std::abs(amps));
  return most;
}

std::string advice(const Part& part) {
  switch (part.kind) {
    case KindId::switch_:
      return "closed, it shorts what feeds it: put what it is to switch in series";
    case KindId::diode:
    case KindId::zener:
    case KindId::led:
      return fmt::format(
          "put a resistor in series, or look whether '{}' is the wrong way round",
          part.name);
    default:
      return "look for a short, and put what limits it in series";
  }
}

}  // namespace

Finding unlimited_finding(const Circuit& circuit, const std::string& phase,
                          const std::vector<int>& loop) {
  const Part& first = circuit.parts[loop.front()];
  std::vector<std::string> others;
  for (auto it = loop.begin() + 1; it != loop.end(); ++it)
    others.push_back("'" + circuit.parts[*it].name + "'");
  Finding finding;
  finding.severity = Severity::fault;
  finding.check = CheckId(kAboutUnlimitedAmps, "current-unlimited");
  finding.part = first.name;
  finding.quantity = "current";
  finding.unit = Unit::ampere;
  finding.message = fmt::format(
      "nothing limits the current through '{}'{}; put a resistor in series, or look "
      "whether '{}' is the wrong way round",
      first.name,
      others.empty() ? "" : fmt::format(" from {}", fmt::join(others, ", ")),
      first.name);
  finding.source =
      "Kirchhoff's voltage law: the voltages around the loop do not add up";
  finding.phase = phase;
  finding.span = first.span;
  return finding;
}

void tell_short(const CheckInput& input, std::vector<Finding>& findings) {
  std::set<std::string> flooded;  // names of parts
  std::set<std::string> beside;   // names of nets
  int worst = -1;
  Peak peak;
  for (int i = 0; i < static_cast<int>(input.parts.size()); ++i) {
    const Part& part = input.parts[i];
    const bool is_flooded = std::any_of(
        input.phases.begin(), input.phases.end(), [i](const SeenPhase& phase) {
          return exceeds(most_amps(phase.seen, i), kShortAmps);
        });
    if (!is_flooded) continue;
    const Peak amps =
        highest(input, [i](const Observation& seen) { return most_amps(seen, i); });
    flooded.insert(part.name);
    for (const int net : part.nets) {
      if (net > 0) beside.insert(input.circuit.nets[net].name);
    }
    const int order = worst < 0 ? 0 : rank(part.kind) - rank(input.parts[worst].kind);
    if (worst >= 0 && (order > 0 || (order == 0 && amps.value <= peak.value))) continue;
    worst = i;
    peak = amps;
  }
  if (worst < 0) return;
  constexpr CheckId kCheck = CheckId(kAboutUnlimitedAmps, "current-unlimited");
  std::erase_if(findings, [&](const Finding& finding) {
    return !is_expectation(finding) && flooded.contains(finding.part);
  });
  std::set<std::string> starved;
  for (const Part& part : input.parts) {
    const bool is_beside = std::any_of(part.nets.begin(), part.nets.end(), [&](int n) {
      return n > 0 && beside.contains(input.circuit.nets[n].name);
    });
    if (is_beside) starved.insert(part.name);
  }
  for (Finding& finding : findings) {
    const bool is_near = starved.contains(finding.part) || beside.contains(finding.net);
    if (is_near || is_expectation(finding)) finding.follows = kCheck;
  }
  const Part& part = input.parts[worst];
  Finding finding = about_part(input, worst, Severity::fault, kCheck);
  finding.quantity = "current";
  finding.unit = Unit::ampere;
  finding.phase = peak.phase;
  finding.source = source_of(
      practice(kShortAmps, Unit::ampere, "no part of a small circuit carries 1 kA"));
  finding.message = fmt::format("nothing limits the current through '{}': {}",
                                part.name, advice(part));
  findings.insert(findings.begin(), std::move(finding));
}

std::span<const Explanation> explain_unlimited_amps() { return kAboutUnlimitedAmps; }

}  // namespace benchproof
