#include "core/check/always/always.h"

// One line for each file of checks: the name that follows check_ and explain_ in it,
// and what it looks at. Findings are told in this order within each severity.
#define BENCHPROOF_CIRCUIT_CHECKS(CHECK)                           \
  CHECK(apart, "supplies from which no current comes back")        \
  CHECK(own_zero, "circuits that nothing joins to ground")         \
  CHECK(regulator_capacitors, "capacitors that a regulator needs") \
  CHECK(bypass, "capacitors that a chip needs")                    \
  CHECK(parallel_leds, "LEDs in parallel that share a resistor")   \
  CHECK(parallel_regulators, "regulators that share an output")    \
  CHECK(fuses, "fuses that their supply cannot open")              \
  CHECK(gates, "gates that nothing holds at first")                \
  CHECK(battery_care, "what batteries ask of people")              \
  CHECK(surroundings, "what is too hot or too cold around parts")  \
  CHECK(unrated, "ratings that parts lack")

namespace benchproof {

#define BENCHPROOF_DECLARE(name, about)                      \
  std::vector<Finding> check_##name(const Circuit& circuit); \
  std::span<const Explanation> explain_##name();
BENCHPROOF_CIRCUIT_CHECKS(BENCHPROOF_DECLARE)
#undef BENCHPROOF_DECLARE

namespace {

#define BENCHPROOF_ROW(name, about) \
  {"check_" #name, about, check_##name, explain_##name},
constexpr CircuitCheck kCircuitChecks[] = {BENCHPROOF_CIRCUIT_CHECKS(BENCHPROOF_ROW)};
#undef BENCHPROOF_ROW

}  // namespace

std::span<const CircuitCheck> circuit_checks() { return kCircuitChecks; }

}  // namespace benchproof
