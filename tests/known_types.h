#pragma once

#include "core/catalogue/catalogue.h"

namespace benchproof {

/// The built-in catalogue, read once.
inline const Catalogue& known_types() {
  static const Catalogue built_in = built_in_catalogue();
  return built_in;
}

}  // namespace benchproof
