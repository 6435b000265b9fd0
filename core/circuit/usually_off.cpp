#include "core/circuit/usually_off.h"

namespace benchproof {

bool is_usually_off(KindId kind) {
  switch (kind) {
    case KindId::dc_supply:
    case KindId::battery:
    case KindId::switch_:
    case KindId::led:
    case KindId::lamp:
    case KindId::motor:
    case KindId::buzzer:
    case KindId::light_resistor:
    case KindId::voltage_source:
    case KindId::current_source:
      return true;
    default:
      return false;
  }
}

}  // namespace benchproof
