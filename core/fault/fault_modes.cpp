#include <cassert>

#include "core/fault/fault.h"

namespace benchproof {

std::string_view word_of(FaultMode mode) {
  switch (mode) {
    case FaultMode::none:
      return "none";
    case FaultMode::open:
      return "open";
    case FaultMode::short_:
      return "short";
    case FaultMode::reversed:
      return "reversed";
    case FaultMode::value:
      return "value";
    case FaultMode::joint:
      return "joint";
    case FaultMode::bridge:
      return "bridge";
    case FaultMode::exchanged:
      return "exchanged";
    case FaultMode::shifted:
      return "shifted";
    case FaultMode::stuck:
      return "stuck";
    case FaultMode::blank:
      return "blank";
    case FaultMode::supply:
      return "supply";
    case FaultMode::ground:
      return "ground";
  }
  assert(false && "every mode has a word");
  return "";
}

std::vector<FaultMode> fault_modes() {
  return {FaultMode::open,  FaultMode::short_, FaultMode::reversed,  FaultMode::value,
          FaultMode::joint, FaultMode::bridge, FaultMode::exchanged, FaultMode::shifted,
          FaultMode::stuck, FaultMode::blank,  FaultMode::supply,    FaultMode::ground};
}

}  // namespace benchproof
