#include <algorithm>

#include "core/check/check.h"

// One line for each file of checks: its function, and what it looks at. Findings are
// told in this order within each severity.
#define BENCHPROOF_CHECKS(CHECK)                                                \
  CHECK(check_supply, "current of supplies and batteries")                      \
  CHECK(check_net, "voltages above 60 V; inputs and gates that nothing holds")  \
  CHECK(check_regulator, "regulation, input, current, heat of regulators")      \
  CHECK(check_controller, "supply, pins, clamps, inputs, total of controllers") \
  CHECK(check_led, "current, pulses, reverse voltage, heat of LEDs")            \
  CHECK(check_transistor, "current, voltages, heat, saturation of transistors") \
  CHECK(check_diode, "current, reverse voltage, heat of diodes and zeners")     \
  CHECK(check_resistor, "power and voltage of resistors and trimmers")          \
  CHECK(check_capacitor, "voltage and polarity of capacitors")                  \
  CHECK(check_rated,                                                            \
        "rated current of fuses, switches, inductors; rated voltage of "        \
        "loads")                                                                \
  CHECK(check_person, "hot surfaces and flashing light")

namespace benchproof {

#define BENCHPROOF_DECLARE(function, about) \
  std::vector<Finding> function(const CheckInput& input);
BENCHPROOF_CHECKS(BENCHPROOF_DECLARE)
#undef BENCHPROOF_DECLARE

namespace {

#define BENCHPROOF_ROW(function, about) Check{#function, about, function},
constexpr Check kChecks[] = {BENCHPROOF_CHECKS(BENCHPROOF_ROW)};
#undef BENCHPROOF_ROW

const Part* part_named(const CheckInput& input, const std::string& name) {
  const auto found = std::find_if(input.parts.begin(), input.parts.end(),
                                  [&](const Part& p) { return p.name == name; });
  return found == input.parts.end() ? nullptr : &*found;
}

/// The net that a regulator which does not regulate leaves too low, or -1.
int starved_net(const CheckInput& input, const Finding& finding) {
  const bool is_cause = finding.check == "regulator-dropout" ||
                        finding.check == "regulator-limit" ||
                        finding.check == "regulator-output";
  const Part* part = is_cause ? part_named(input, finding.part) : nullptr;
  return part == nullptr ? -1 : part->nets[2];
}

bool ends_in(const std::string& text, std::string_view end) {
  return text.size() >= end.size() &&
         std::string_view(text).substr(text.size() - end.size()) == end;
}

/// Whether `finding` follows from `cause`:
/// - the chip or the expectation on a net that a regulator leaves too low;
/// - heat of a part that carries too much current or voltage;
/// - a hot surface of a part whose junction is too hot already.
bool follows_from(const CheckInput& input, const Finding& finding,
                  const Finding& cause) {
  if (const int net = starved_net(input, cause); net >= 0) {
    if (finding.check == "expectation" && finding.net == input.circuit.nets[net].name)
      return true;
    const Part* chip = part_named(input, finding.part);
    return finding.check == "controller-brownout" && chip->nets[0] == net;
  }
  if (finding.part.empty() || finding.part != cause.part ||
      cause.severity != Severity::fault)
    return false;
  const bool is_heat = ends_in(finding.check, "-power") ||
                       ends_in(finding.check, "-junction") || finding.check == "touch";
  const bool is_load =
      ends_in(cause.check, "-current") || ends_in(cause.check, "-voltage");
  if (is_heat && is_load) return true;
  const bool is_heat_cause =
      ends_in(cause.check, "-power") || ends_in(cause.check, "-junction");
  if (finding.check == "touch" && is_heat_cause) return true;
  return ends_in(finding.check, "-junction") && ends_in(cause.check, "-power");
}

void link_consequences(const CheckInput& input, std::vector<Finding>& findings) {
  for (Finding& finding : findings) {
    const auto cause =
        std::find_if(findings.begin(), findings.end(), [&](const Finding& other) {
          return &other != &finding && follows_from(input, finding, other);
        });
    if (cause != findings.end()) finding.follows = cause->check;
  }
}

}  // namespace

std::span<const Check> checks() { return kChecks; }

std::vector<Finding> run_checks(const CheckInput& input, std::vector<Finding> others) {
  std::vector<Finding> findings;
  for (const Check& check : kChecks) {
    for (Finding& finding : check.run(input)) findings.push_back(std::move(finding));
  }
  for (Finding& finding : others) findings.push_back(std::move(finding));
  link_consequences(input, findings);
  sort_by_severity(findings);
  return findings;
}

}  // namespace benchproof
