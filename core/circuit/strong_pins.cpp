#include "core/circuit/strong_pins.h"

#include <string>
#include <string_view>

namespace benchproof {

std::optional<Circuit> with_strong_pins(const Circuit& circuit) {
  std::optional<Circuit> strong;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    if (part.kind != KindId::controller || !part.settings.contains("outputs")) continue;
    for (const std::string_view key : {"resistance_high", "resistance_low"}) {
      const auto ohms = figure(part, key);
      // What the user says of a pin counts.
      if (!ohms || ohms->value <= kStrongOhms || part.settings.contains(key)) continue;
      if (!strong) strong = circuit;
      strong->parts[k].settings[std::string(key)] = {kStrongOhms, part.span};
    }
  }
  return strong;
}

}  // namespace benchproof
