#include "core/check/hand/by_hand.h"

// One line for each file of rules: the name that follows hand_ in it, and what it
// computes. Results are told in this order.
#define BENCHPROOF_HAND_RULES(RULE)                                        \
  RULE(resistors, "resistors in series and in parallel")                   \
  RULE(divider, "a divider's tap, with and without a load")                \
  RULE(led, "LEDs and diodes with a series resistor")                      \
  RULE(zener, "a zener that holds a voltage behind a resistor")            \
  RULE(regulator, "output, heat and junction temperature of regulators")   \
  RULE(transistor, "a transistor's base current, gain, collector current") \
  RULE(mosfet, "a MOS transistor's current and heat when it is fully on")  \
  RULE(rc, "the time constant of a resistor and a capacitor")

// Rules of what happens in a run: a line for each file, as above.
#define BENCHPROOF_HAND_RUN_RULES(RULE)                             \
  RULE(rc_run, "charging through a resistor: time constant, delay") \
  RULE(hold_up, "how long a capacitor holds a supply up")

namespace benchproof {

#define BENCHPROOF_DECLARE(name, about) \
  std::vector<HandResult> hand_##name(const HandInput& input);
BENCHPROOF_HAND_RULES(BENCHPROOF_DECLARE)
#undef BENCHPROOF_DECLARE

#define BENCHPROOF_DECLARE(name, about) \
  std::vector<HandResult> hand_##name(const HandRunInput& input);
BENCHPROOF_HAND_RUN_RULES(BENCHPROOF_DECLARE)
#undef BENCHPROOF_DECLARE

namespace {

#define BENCHPROOF_ROW(name, about) {"hand_" #name, about, hand_##name},
constexpr HandRule kRules[] = {BENCHPROOF_HAND_RULES(BENCHPROOF_ROW)};
constexpr HandRunRule kRunRules[] = {BENCHPROOF_HAND_RUN_RULES(BENCHPROOF_ROW)};
#undef BENCHPROOF_ROW

template <typename Rules, typename Input>
std::vector<HandResult> all_of(const Rules& rules, const Input& input) {
  std::vector<HandResult> results;
  for (const auto& rule : rules) {
    for (HandResult& result : rule.run(input)) results.push_back(std::move(result));
  }
  return results;
}

}  // namespace

std::optional<double> deviation(const HandResult& result) {
  if (!result.nodal || *result.nodal == 0.0 || result.unit == Unit::celsius)
    return std::nullopt;
  return result.hand / *result.nodal - 1.0;
}

std::span<const HandRule> hand_rules() { return kRules; }

std::span<const HandRunRule> hand_run_rules() { return kRunRules; }

std::vector<HandResult> by_hand(const HandInput& input) {
  return all_of(kRules, input);
}

std::vector<HandResult> by_hand(const Circuit& circuit, int run, const Record& engine,
                                const Record& nodal) {
  const Run& asked = circuit.runs[run];
  const int last = static_cast<int>(asked.steps.size()) - 1;
  const int index = named_state(asked, last);
  const State unnamed;
  const State& state = index >= 0 ? circuit.states[index] : unnamed;
  const std::vector<Part> parts = parts_in(circuit, state);
  return all_of(kRunRules, HandRunInput{{circuit, parts, state}, run, engine, nodal});
}

}  // namespace benchproof
