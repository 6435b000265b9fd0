#pragma once

#include <catch2/catch.hpp>
#include <string>

#include "core/catalogue/catalogue.h"
#include "core/circuit/circuit.h"
#include "tests/known_types.h"

namespace benchproof::test {

/// The part of that name, which must be there.
inline const Part& part(const Circuit& circuit, const std::string& name) {
  for (const Part& candidate : circuit.parts)
    if (candidate.name == name) return candidate;
  FAIL("no part " << name);
  return circuit.parts.front();
}

}  // namespace benchproof::test
