#include "core/repair/one_mistake.h"

#include <algorithm>
#include <memory>
#include <set>
#include <utility>

#include "core/check/rating/light.h"
#include "core/circuit/rewire.h"
#include "core/circuit/topology.h"
#include "core/repair/repairs.h"
#include "core/verify/seen/at_rest.h"
#include "core/verify/seen/expected_findings.h"

namespace benchproof {
namespace {

std::size_t count_faults(const Verification& verification) {
  std::size_t count = 0;
  for (const StateResult& state : verification.states)
    count += std::count_if(
        state.findings.begin(), state.findings.end(),
        [](const Finding& finding) { return counts_as(finding, Severity::fault); });
  return count;
}

bool is_fault(const Finding& finding) { return counts_as(finding, Severity::fault); }

/// Whether the nodal witness alone finds no fault in any state: what most repairs fail.
bool may_be_sound(const Circuit& circuit, const Solve& nodal) {
  std::shared_ptr<const Structure> known;
  for (const State& state : circuit.states) {
    if (!state.steady) continue;
    const PosedState posed(circuit, state, known);
    known = posed.structure();
    const Sight sight = sight_of(posed, nodal, PinsRead::weak);
    if (!sight.seen) return false;
    const CheckInput input = check_input(posed, *sight.seen);
    const Judgement judged = judge_at_rest(input, input);
    const bool is_bad = std::any_of(
        judged.findings.begin(), judged.findings.end(), [&](const Finding& finding) {
          return is_fault(finding) && !is_expected(circuit, state.name, -1, finding);
        });
    if (is_bad) return false;
  }
  return true;
}

/// How bright each lamp gets in any state; 0 of what is none, or was not seen.
std::vector<double> most_light(const Verification& verification, std::size_t parts) {
  std::vector<double> light(parts, 0.0);
  for (const StateResult& state : verification.states) {
    if (!state.agrees) continue;
    for (std::size_t k = 0; k < parts; ++k) {
      const auto here = light_share(state.parts[k], state.nodal.pin_amps[k][0],
                                    state.nodal.part_watts[k]);
      light[k] = std::max(light[k], here.value_or(0.0));
    }
  }
  return light;
}

/// Whether every lamp that gets light still does: a repair must not be that nothing
/// works.
bool keeps_light(const Circuit& circuit, const Verification& before,
                 const Verification& after) {
  // Common practice, no source: a lamp that is lit, and no longer as good as before.
  constexpr double kEnough = 0.1;
  constexpr double kKept = 0.5;
  const std::vector<double> was = most_light(before, circuit.parts.size());
  const std::vector<double> is = most_light(after, circuit.parts.size());
  for (std::size_t k = 0; k < was.size(); ++k)
    if (is[k] < kKept * std::min(was[k], kEnough)) return false;
  return true;
}

/// The parts that a fault names.
std::set<std::string> named_by_faults(const Verification& verification) {
  std::set<std::string> named;
  for (const StateResult& state : verification.states)
    for (const Finding& finding : state.findings)
      if (is_fault(finding)) named.insert(finding.part);
  return named;
}

/// Whether no transistor of a repair carries its current backwards. A MOS transistor
/// may that was complained of as it stood: a guard against the wrong polarity does.
bool goes_forward(const Circuit& circuit, const std::set<std::string>& named,
                  const Repair& repair, const Verification& after) {
  for (const StateResult& state : after.states) {
    for (const int k : repair.parts) {
      const Part& part = state.parts[k];
      const bool is_transistor =
          part.kind == KindId::transistor ||
          (part.kind == KindId::mosfet && !named.contains(circuit.parts[k].name));
      constexpr double kLittle = 1e-5;
      if (is_transistor && polarity(part) * state.nodal.pin_amps[k][1] < -kLittle)
        return false;
    }
  }
  return true;
}

/// Whether a lamp or load is left with too little to be of use.
bool leaves_faint(const Verification& after) {
  return std::any_of(
      after.states.begin(), after.states.end(), [](const StateResult& state) {
        return std::any_of(
            state.findings.begin(), state.findings.end(), [](const Finding& finding) {
              return finding.check == "led-faint" || finding.check == "load-weak";
            });
      });
}

/// Repairs of parts that a fault names come first.
void put_named_first(const Circuit& circuit, const std::set<std::string>& named,
                     std::vector<Repair>& repairs) {
  std::stable_partition(repairs.begin(), repairs.end(), [&](const Repair& repair) {
    return std::any_of(repair.parts.begin(), repair.parts.end(), [&](int part) {
      return named.contains(circuit.parts[part].name);
    });
  });
}

std::vector<std::string> names_of(const Circuit& circuit,
                                  const std::vector<int>& parts) {
  std::vector<std::string> names;
  for (const int part : parts) names.push_back(circuit.parts[part].name);
  return names;
}

}  // namespace

std::optional<OneMistake> one_mistake(const Circuit& circuit,
                                      const Verification& verification,
                                      const Solve& engine, const Solve& nodal) {
  if (verification.verdict < Verdict::fault) return std::nullopt;
  std::vector<Repair> repairs = repairs_of(circuit);
  if (repairs.size() * figure_count(circuit) > kMostRepairFigures) return std::nullopt;
  const std::set<std::string> named = named_by_faults(verification);
  put_named_first(circuit, named, repairs);
  const auto clears = [&](const Repair& repair, const auto& edit) {
    Circuit mended = circuit;
    edit(mended);
    if (!settle_wiring(mended) || !may_be_sound(mended, nodal)) return false;
    const Verification after =
        verify(mended, engine, nodal, {}, Supplies::as_described);
    return after.verdict < Verdict::fault &&
           goes_forward(circuit, named, repair, after) && !leaves_faint(after) &&
           keeps_light(circuit, verification, after);
  };
  // A part that is fed too much may be the wrong one; of several the feed is.
  constexpr std::size_t kSeveral = 3;
  const bool is_widespread = named.size() >= kSeveral;
  OneMistake found;
  found.faults = count_faults(verification);
  for (const Repair& repair : repairs) {
    const std::vector<std::string> parts = names_of(circuit, repair.parts);
    const bool may_tell_last = is_widespread && found.causes.empty();
    const bool is_told = std::any_of(
        found.causes.begin(), found.causes.end(), [&](const OneMistake::Cause& c) {
          return std::all_of(parts.begin(), parts.end(), [&c](const std::string& part) {
            return std::find(c.parts.begin(), c.parts.end(), part) != c.parts.end();
          });
        });
    if (is_told || (repair.is_last_resort && !may_tell_last)) continue;
    if (!clears(repair, repair.undo)) continue;
    if (repair.milder && clears(repair, repair.milder)) continue;
    found.causes.push_back({repair.mistake, repair.remedy, parts});
    if (found.causes.size() == kMostCauses) break;
  }
  if (found.causes.empty()) return std::nullopt;
  return found;
}

}  // namespace benchproof
