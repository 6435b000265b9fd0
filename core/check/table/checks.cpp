#include "core/check/table/checks.h"

#include <algorithm>
#include <map>

#include "core/check/rating/ratings.h"
#include "core/check/rest/unlimited_amps.h"

// One line for each file of checks: the name that follows check_ and explain_ in it,
// and what it looks at. Findings are told in this order within each severity.
#define BENCHPROOF_CHECKS(CHECK)                                                      \
  CHECK(supply, weak, fault, "current of supplies and batteries")                     \
  CHECK(net, weak, fault, "voltages above 60 V; inputs and gates that nothing holds") \
  CHECK(regulator, weak, fault, "regulation, input, current, heat of regulators")     \
  CHECK(controller, strong, fault,                                                    \
        "supply, pins, clamps, inputs, total of controllers")                         \
  CHECK(led, weak, fault, "current, pulses, reverse voltage, heat of LEDs")           \
  CHECK(transistor, weak, fault, "current, voltages, heat of transistors")            \
  CHECK(switching, weak, fault, "transistors that switch a load, but not fully")      \
  CHECK(coil, weak, fault, "what takes a coil's current when it is switched off")     \
  CHECK(output, strong, fault, "outputs that fight; LEDs on them without a resistor") \
  CHECK(diode, weak, fault, "current, reverse voltage, heat of diodes and zeners")    \
  CHECK(resistor, weak, fault, "power and voltage of resistors and trimmers")         \
  CHECK(capacitor, weak, fault, "voltage and polarity of capacitors")                 \
  CHECK(rated, weak, fault,                                                           \
        "rated current of fuses, switches, inductors; rated voltage of "              \
        "loads")                                                                      \
  CHECK(wire, weak, fault, "current and drop of wires")                               \
  CHECK(derating, weak, note,                                                         \
        "parts that are worked harder than long-lived equipment does")                \
  CHECK(person, weak, caution, "hot surfaces and flashing light")

namespace benchproof {

#define BENCHPROOF_DECLARE(name, pins, gravest, about)        \
  std::vector<Finding> check_##name(const CheckInput& input); \
  std::span<const Explanation> explain_##name();
BENCHPROOF_CHECKS(BENCHPROOF_DECLARE)
#undef BENCHPROOF_DECLARE

namespace {

#define BENCHPROOF_ROW(name, pins, gravest, about)  \
  {"check_" #name,    about,        PinsRead::pins, \
   Severity::gravest, check_##name, explain_##name},
constexpr Check kChecks[] = {BENCHPROOF_CHECKS(BENCHPROOF_ROW)};
#undef BENCHPROOF_ROW

/// Whether a controller's own checks, or that of its outputs, can tell an id.
bool is_of_chip(std::string_view check) {
  const auto table = explain_controller();
  return check == "controller-fight" ||
         std::any_of(table.begin(), table.end(),
                     [check](const Explanation& row) { return row.check == check; });
}

/// Whether a part's finding follows from another of the same part: what flows in a chip
/// from its reversed supply, its pins' current from outputs that fight; its heat from
/// too much current or voltage, its junction from its power, its hot surface from both.
bool is_result_of(const Finding& finding, const Finding& cause) {
  if (finding.check == cause.check) return false;
  if (cause.check == "controller-reversed" && is_of_chip(finding.check)) return true;
  if (finding.check == "controller-pin" && cause.check == "controller-fight")
    return true;
  const Stress stress = stress_of(finding.check);
  const Stress before = stress_of(cause.check);
  return cause.severity == Severity::fault && before != Stress::none && before < stress;
}

/// Says which findings follow from which: the chip or the expectation on a net that a
/// regulator leaves too low, and the heat of a part that carries too much.
void link_consequences(const CheckInput& input, std::vector<Finding>& findings) {
  const auto part_of = [&input](const Finding& finding) -> const Part& {
    return *std::find_if(
        input.parts.begin(), input.parts.end(),
        [&finding](const Part& part) { return part.name == finding.part; });
  };
  std::map<std::string, std::vector<const Finding*>> by_part;
  std::map<std::string, std::string> starved;  // net -> check of its regulator
  for (const Finding& finding : findings) {
    if (finding.part.empty()) continue;
    by_part[finding.part].push_back(&finding);
    const bool starves =
        finding.check == "regulator-dropout" || finding.check == "regulator-limit" ||
        finding.check == "regulator-output" || finding.check == "regulator-open";
    const bool is_swapped = finding.check == "regulator-swapped";
    if (!starves && !is_swapped) continue;
    const int net = part_of(finding).nets[is_swapped ? 0 : 2];
    if (net >= 0) starved[input.circuit.nets[net].name] = finding.check;
  }
  for (Finding& finding : findings) {
    std::string net = is_expectation(finding) ? finding.net : "";
    if (finding.check == "controller-brownout") {
      const int vdd = part_of(finding).nets[0];
      net = vdd < 0 ? "" : input.circuit.nets[vdd].name;
    }
    if (!finding.follows.empty()) continue;
    if (const auto cause = starved.find(net); cause != starved.end()) {
      finding.follows = cause->second;
      continue;
    }
    const auto same = by_part.find(finding.part);
    if (same == by_part.end()) continue;
    const auto cause = std::find_if(
        same->second.begin(), same->second.end(),
        [&](const Finding* other) { return is_result_of(finding, *other); });
    if (cause != same->second.end()) finding.follows = (*cause)->check;
  }
}

}  // namespace

std::span<const Check> checks() { return kChecks; }

std::optional<Finding> first_finding(
    const CheckInput& input, PinsRead pins, Severity least,
    const std::function<bool(const Finding&)>& counts) {
  const auto first =
      [&counts](std::vector<Finding> findings) -> std::optional<Finding> {
    const auto found = std::find_if(findings.begin(), findings.end(), counts);
    return found == findings.end() ? std::nullopt : std::optional(std::move(*found));
  };
  // A short stands in place of what else is found about the parts that it flows
  // through.
  std::vector<Finding> shorted;
  tell_short(input, shorted);
  if (!shorted.empty()) return first(std::move(shorted));
  for (const Check& check : kChecks) {
    if (check.pins < pins || check.gravest < least) continue;
    if (auto found = first(check.run(input))) return found;
  }
  return std::nullopt;
}

std::vector<Finding> run_checks(const CheckInput& input, std::vector<Finding> others,
                                Severity least) {
  std::vector<Finding> findings;
  for (const Check& check : kChecks) {
    if (check.gravest < least) continue;
    for (Finding& finding : check.run(input)) findings.push_back(std::move(finding));
  }
  for (Finding& finding : others) findings.push_back(std::move(finding));
  link_consequences(input, findings);
  tell_short(input, findings);
  sort_by_severity(findings);
  return findings;
}

}  // namespace benchproof
