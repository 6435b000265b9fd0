#include <fmt/format.h>

#include "core/check/hand/charging.h"

namespace benchproof {

/// tau = R C. At rest there is nothing to hold it against: a run has (hand_rc_run).
std::vector<HandResult> hand_rc(const HandInput& input) {
  std::vector<HandResult> results;
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    const auto c = charging_at(input, static_cast<int>(k));
    if (!c) continue;
    const std::vector<double>& volts = input.nodal.net_volts;
    const bool is_idle = are_listeners_idle(input, c->net, c->total_ohms, volts[c->net],
                                            volts[c->net], volts);
    if (!is_idle) continue;
    HandResult result;
    result.rule = "rc-time-constant";
    result.title = "time constant of a resistor and a capacitor";
    result.part = input.parts[c->capacitor].name;
    result.net = input.circuit.nets[c->net].name;
    result.quantity = "time";
    result.unit = Unit::second;
    result.formula = "tau = " + tau_formula(*c);
    result.hand = c->tau();
    result.numbers =
        fmt::format("{} = {}", tau_numbers(*c), hand_text(result.hand, Unit::second));
    result.neglects =
        "what the capacitor leaks and its own resistance; after one tau 63 % of a "
        "change is done, after five all but 1 %";
    result.source = "Kuphaldt, Lessons In Electric Circuits vol. I ch. 16";
    result.mark = Mark::verified;
    results.push_back(std::move(result));
  }
  return results;
}

}  // namespace benchproof
