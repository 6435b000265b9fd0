#include "core/check/expect/expectations.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/check/rest/limits.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutExpectations[] = {
    {"expectation", "what the description expects",
     "the value lies within 'min' and 'max', or within 'within' of 'nominal', as both "
     "solvers see it",
     "the expectation's own 'source' and 'mark' (given where it has none)",
     "the circuit does not do what you asked of it",
     "change the circuit, or the expectation if it was wrong"},
};

constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();

/// Bounds are compared with room for the rounding of their own arithmetic only.
constexpr double kRounding = 4 * std::numeric_limits<double>::epsilon();

const Observation* observation_of(const CheckInput& input, Expectation::Phase phase) {
  if (phase == Expectation::Phase::average) return &input.average;
  const bool is_on = phase == Expectation::Phase::on;
  for (const SeenPhase& candidate : input.phases) {
    if (is_on ? candidate.phase.all_on : candidate.phase.all_off)
      return &candidate.seen;
  }
  return nullptr;
}

bool is_within(double value, const Expectation& e) {
  const auto room = [](double bound) { return kRounding * std::abs(bound); };
  if (!std::isfinite(value)) return false;
  if (e.least && value < *e.least - room(*e.least)) return false;
  return !e.most || value <= *e.most + room(*e.most);
}

/// The witness's value that is farther outside.
double worse(const ExpectationResult& result) {
  return is_within(result.engine, *result.expectation) ? result.nodal : result.engine;
}

Finding finding_of(const Circuit& circuit, const ExpectationResult& result) {
  const Expectation& e = *result.expectation;
  const auto [quantity, unit] = words_of(e.quantity);
  Finding finding = expectation_finding(circuit, e);
  if (e.phase != Expectation::Phase::average)
    finding.phase = e.phase == Expectation::Phase::on ? "on" : "off";
  const std::string phase =
      finding.phase.empty() ? "" : fmt::format(" in phase {}", finding.phase);
  const double value = worse(result);
  const std::string subject = subject_of(circuit, e);
  if (!std::isfinite(value)) {
    finding.message =
        fmt::format("the {} of {}{} is not known", quantity, subject, phase);
    return finding;
  }
  const bool is_low = e.least && value < *e.least;
  const double limit = is_low ? *e.least : *e.most;
  finding.value = value;
  finding.limit = limit;
  finding.bound = is_low ? Bound::lower : Bound::upper;
  int digits = 4;
  while (digits < 12 &&
         format_quantity(value, unit, digits) == format_quantity(limit, unit, digits))
    ++digits;
  finding.message =
      fmt::format("the {} of {}{} is {}, {} the expected {}", quantity, subject, phase,
                  short_text(value, unit, digits), is_low ? "below" : "above",
                  short_text(limit, unit, digits));
  if (e.nominal) {
    finding.message += fmt::format(" ({} within {})", short_text(*e.nominal, unit),
                                   short_text((*e.most - *e.least) / 2, unit));
  }
  if (!e.why.empty()) finding.message += fmt::format(": {}", e.why);
  return finding;
}

}  // namespace

double quantity_of(const CheckInput& input, const Expectation& e) {
  const Observation* seen = observation_of(input, e.phase);
  if (seen == nullptr) return kUnknown;
  if (e.net >= 0) {
    const double to = e.to < 0 ? 0.0 : seen->net_volts[e.to];
    return seen->net_volts[e.net] - to;
  }
  const Part& part = input.parts[e.part];
  switch (e.quantity) {
    case Quantity::voltage:
      return volts_between(input, *seen, e.part, 0, 1);
    case Quantity::current: {
      const double into = pin_amps(*seen, e.part, std::max(e.pin, 0));
      return e.pin < 0 && is_source(part.kind) ? -into : into;
    }
    case Quantity::power:
      return seen->part_watts[e.part];
    case Quantity::temperature: {
      const auto hot = junction(input, e.part, seen->part_watts[e.part]);
      return hot ? hot->celsius : kUnknown;
    }
  }
  return kUnknown;
}

QuantityWords words_of(Quantity quantity) {
  switch (quantity) {
    case Quantity::voltage:
      return {"voltage", Unit::volt};
    case Quantity::current:
      return {"current", Unit::ampere};
    case Quantity::power:
      return {"power", Unit::watt};
    case Quantity::temperature:
      return {"temperature", Unit::celsius};
  }
  return {"voltage", Unit::volt};
}

std::string subject_of(const Circuit& circuit, const Expectation& e) {
  if (e.net >= 0) {
    std::string name = fmt::format("'{}'", circuit.nets[e.net].name);
    if (e.to < 0) return name;
    return fmt::format("{} to '{}'", name, circuit.nets[e.to].name);
  }
  const Part& part = circuit.parts[e.part];
  if (e.pin < 0) return fmt::format("'{}'", part.name);
  return fmt::format("'{}.{}'", part.name, part.pins[e.pin]);
}

Finding expectation_finding(const Circuit& circuit, const Expectation& e) {
  Finding finding;
  finding.severity = Severity::fault;
  finding.check = CheckId(kAboutExpectations, "expectation");
  if (e.net >= 0) finding.net = circuit.nets[e.net].name;
  if (e.part >= 0) finding.part = circuit.parts[e.part].name;
  const auto [quantity, unit] = words_of(e.quantity);
  finding.quantity = quantity;
  finding.unit = unit;
  finding.span = e.span;
  finding.source = e.source.empty() ? "the description's expectation" : e.source;
  finding.mark = e.mark == "verified"   ? Mark::verified
                 : e.mark == "memory"   ? Mark::memory
                 : e.mark == "practice" ? Mark::practice
                                        : Mark::given;
  return finding;
}

std::vector<ExpectationResult> hold_expectations(const CheckInput& engine,
                                                 const CheckInput& nodal) {
  std::vector<ExpectationResult> results;
  for (const Expectation& e : nodal.circuit.expectations) {
    if (e.run >= 0) continue;
    if (!e.state.empty() && e.state != nodal.state.name) continue;
    ExpectationResult result{&e, quantity_of(engine, e), quantity_of(nodal, e), false};
    result.holds = is_within(result.engine, e) && is_within(result.nodal, e);
    results.push_back(result);
  }
  return results;
}

std::vector<Finding> failed_expectations(
    const Circuit& circuit, const std::vector<ExpectationResult>& results) {
  std::vector<Finding> findings;
  for (const ExpectationResult& result : results) {
    if (!result.holds) findings.push_back(finding_of(circuit, result));
  }
  return findings;
}

std::span<const Explanation> explain_expectations() { return kAboutExpectations; }

}  // namespace benchproof
