#pragma once

#include "core/device/number.h"

namespace benchproof {

/// A current and its derivative by the voltage that drives it.
template <class Number>
struct ConductionOf {
  Number amps{};
  Number siemens{};
};
using Conduction = ConductionOf<double>;

template <class Mask, class Number>
[[nodiscard]] ConductionOf<Number> select(const Mask& mask,
                                          const ConductionOf<Number>& a,
                                          const ConductionOf<Number>& b) {
  return {select(mask, a.amps, b.amps), select(mask, a.siemens, b.siemens)};
}

}  // namespace benchproof
