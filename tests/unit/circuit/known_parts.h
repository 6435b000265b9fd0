#pragma once

#include <catch2/catch.hpp>
#include <string>

#include "core/catalogue/catalogue.h"
#include "core/circuit/circuit.h"

namespace benchproof::test {

/// The built-in catalogue, read once.
inline const Catalogue& catalogue() {
  static const Catalogue built_in = built_in_catalogue();
  return built_in;
}

/// The part of that name, which must be there.
inline const Part& part(const Circuit& circuit, const std::string& name) {
  for (const Part& candidate : circuit.parts)
    if (candidate.name == name) return candidate;
  FAIL("no part " << name);
  return circuit.parts.front();
}

}  // namespace benchproof::test
