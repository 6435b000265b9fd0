#pragma once

#include "core/catalogue/kind.h"

namespace benchproof {

/// Whether parts of that kind do the same whichever way round they stand: their two
/// pins may be exchanged. A capacitor's may where it is not polarised; this says no.
[[nodiscard]] bool has_like_pins(KindId kind);

}  // namespace benchproof
