#include <fmt/format.h>

#include <set>
#include <utility>

#include "core/catalogue/pins.h"
#include "core/check/always/always.h"
#include "core/check/always/one_nets.h"
#include "core/check/finding/wording.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutParallelRegulators[] = {
    {"regulator-parallel", "two regulators on one output",
     "the outputs of two regulators on one net, or with only wires, fuses and closed "
     "switches between, in any state",
     "common practice, no source (practice)",
     "two of a type differ by some per cent: the higher one carries all of the load "
     "until it limits or gets too hot, and the other one none",
     "use one that carries all of it, or give each a part of the load of its own"},
};

Finding tell_both(const Part& first, const Part& second) {
  Finding finding = about(first, Severity::caution,
                          CheckId(kAboutParallelRegulators, "regulator-parallel"));
  finding.source = source_of(practice(0.0, Unit::none, "an output has one regulator"));
  finding.message = fmt::format(
      "'{}' and '{}' feed one net: no two are alike, so the higher one carries all of "
      "the load and the other one none; use one regulator that carries it all",
      first.name, second.name);
  return finding;
}

}  // namespace

std::vector<Finding> check_parallel_regulators(const Circuit& circuit) {
  std::set<std::pair<int, int>> pairs;
  for (const State& state : circuit.states) {
    const OneNets nets(circuit, state);
    const auto out = [&](int k) {
      const Part& part = circuit.parts[k];
      return part.kind == KindId::regulator ? nets.of(part.nets[kOut]) : -1;
    };
    for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k) {
      if (out(k) < 0) continue;
      for (int other = k + 1; other < static_cast<int>(circuit.parts.size()); ++other)
        if (out(other) == out(k)) pairs.emplace(k, other);
    }
  }
  std::vector<Finding> findings;
  for (const auto& [first, second] : pairs)
    findings.push_back(tell_both(circuit.parts[first], circuit.parts[second]));
  return findings;
}

std::span<const Explanation> explain_parallel_regulators() {
  return kAboutParallelRegulators;
}

}  // namespace benchproof
