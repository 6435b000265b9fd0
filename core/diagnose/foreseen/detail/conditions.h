#pragma once

#include <cstddef>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/circuit/question.h"
#include "core/diagnose/foreseen/detail/deviations.h"
#include "core/diagnose/foreseen/detail/rig.h"

namespace benchproof {

/// A question with its names looked up.
struct Asked {
  std::size_t question = 0;  ///< Its index.
  Asks asks = Asks::voltage;
  std::size_t probe = 0;  ///< Of a voltage, a resistance, a diode test.
  int part = -1;          ///< Of a current, or of looks.
  int pin = 0;
};

/// What some questions have in common: a state, or the power off and parts out.
struct Condition {
  bool powered = true;
  int state = -1;        ///< Index; -1: none is told.
  std::vector<int> out;  ///< Parts.
  std::vector<Asked> asked;
  std::vector<Probe> probes;  ///< Of all conditions of its sort: they share structures.
  std::vector<std::vector<DrawDeviations>>
      deviations;  ///< [phase][draw]; may be empty.
};

/// The conditions of questions, powered ones first. Questions that name what is not
/// there stand in none.
[[nodiscard]] std::vector<Condition> conditions_of(
    const Circuit& circuit, const std::vector<Question>& questions, bool spread);

}  // namespace benchproof
