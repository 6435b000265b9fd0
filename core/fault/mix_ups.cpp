#include "core/fault/mix_ups.h"

#include "core/circuit/rewire.h"
#include "core/circuit/topology.h"

namespace benchproof {

std::optional<std::pair<int, int>> poles_of(const Part& part) {
  if (!has_two_poles(part) || part.nets[0] == part.nets[1]) return std::nullopt;
  return std::pair(0, 1);
}

std::vector<std::pair<int, int>> output_pairs(const Part& part) {
  std::vector<std::pair<int, int>> pairs;
  if (part.kind != KindId::controller) return pairs;
  for (int a = kFirstPin; a < static_cast<int>(part.pins.size()); ++a)
    for (int b = a + 1; b < static_cast<int>(part.pins.size()); ++b)
      if (is_output_pin(part, a) && is_output_pin(part, b) &&
          part.nets[a] != part.nets[b])
        pairs.emplace_back(a, b);
  return pairs;
}

}  // namespace benchproof
