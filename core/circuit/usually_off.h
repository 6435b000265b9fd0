#pragma once

#include "core/catalogue/kind.h"

namespace benchproof {

/// Whether parts of that kind stand off a board unless the description puts them on it.
[[nodiscard]] bool is_usually_off(KindId kind);

}  // namespace benchproof
