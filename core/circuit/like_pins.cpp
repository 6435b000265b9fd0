#include "core/circuit/like_pins.h"

namespace benchproof {

bool has_like_pins(KindId kind) {
  switch (kind) {
    case KindId::resistor:
    case KindId::light_resistor:
    case KindId::heat_resistor:
    case KindId::inductor:
    case KindId::switch_:
    case KindId::fuse:
    case KindId::lamp:
    case KindId::wire:
      return true;
    default:
      return false;
  }
}

}  // namespace benchproof
