#include <fmt/format.h>

#include <algorithm>
#include <numeric>

#include "core/check/hand/wiring.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// The figures that are not the description's, each source once.
void cite_drops(HandResult& result, const std::vector<Figure>& drops) {
  std::vector<std::string> told;
  for (const Figure& drop : drops) {
    if (std::find(told.begin(), told.end(), drop.source) != told.end()) continue;
    told.push_back(drop.source);
    cite(result, "VF", drop);
  }
}

HandResult current_of(const HandInput& input, const Chain& chain,
                      const std::vector<Figure>& drops, double volts) {
  std::vector<double> values;
  values.reserve(drops.size());
  for (const Figure& drop : drops) values.push_back(drop.value);
  const double sum = std::accumulate(values.begin(), values.end(), 0.0);
  const bool has_led =
      std::any_of(chain.diodes.begin(), chain.diodes.end(),
                  [&](int diode) { return input.parts[diode].kind == KindId::led; });
  const int first = chain.diodes.front();
  HandResult result;
  result.rule = has_led ? "led-resistor" : "diode-resistor";
  result.title = has_led ? "current of an LED with a series resistor"
                         : "current of a diode with a series resistor";
  if (values.size() > 1) result.title = "current of a string with a series resistor";
  result.part = input.parts[first].name;
  result.quantity = "current";
  result.unit = Unit::ampere;
  std::vector<double> ohms = telling(chain.ohms);
  result.formula = fmt::format("I = (V - {}) / {}", values.size() > 1 ? "sum VF" : "VF",
                               chain.has_output  ? "(R + Rout)"
                               : ohms.size() > 1 ? "sum R"
                                                 : "R");
  result.hand = (volts - sum) / chain.total_ohms();
  if (chain.has_output) ohms.push_back(chain.output_ohms);
  result.numbers =
      fmt::format("{} / {} = {}", over_text(volts, values), bracketed(ohms, Unit::ohm),
                  hand_text(result.hand, Unit::ampere));
  put_witnesses(result, input,
                [&](const Observation& seen) { return seen.pin_amps[first][0]; });
  result.neglects =
      has_led
          ? "that VF is lower below the current it is stated for and higher above; V "
            "is that between its ends as solved"
          : "the slope of the diode; V is that between its ends as solved";
  result.source = "Kuphaldt, Lessons In Electric Circuits vol. III ch. 3";
  result.mark = Mark::verified;
  cite_drops(result, drops);
  return result;
}

}  // namespace

/// I = (V - VF) / R for LEDs or diodes in series with a resistor, VF being the
/// published drop at the test current, or the one given. An output adds its resistance.
std::vector<HandResult> hand_led(const HandInput& input) {
  std::vector<HandResult> results;
  std::vector<bool> is_told(input.parts.size(), false);
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    const KindId kind = input.parts[k].kind;
    if (is_told[k] || (kind != KindId::led && kind != KindId::diode)) continue;
    const auto chain = chain_of(input, static_cast<int>(k));
    if (!chain || chain->resistors == 0) continue;
    for (const int diode : chain->diodes) is_told[diode] = true;
    const auto drops = drops_of(input, *chain);
    if (!drops) continue;
    const double volts =
        input.nodal.net_volts[chain->from] - input.nodal.net_volts[chain->to];
    double sum = 0.0;
    for (const Figure& drop : *drops) sum += drop.value;
    if (volts < (1.0 + kLeastRoom) * sum) continue;
    results.push_back(current_of(input, *chain, *drops, volts));
  }
  return results;
}

}  // namespace benchproof
