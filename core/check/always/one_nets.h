#pragma once

#include <vector>

#include "core/circuit/circuit.h"

namespace benchproof {

/// The nets of a phase with those taken as one that hardly anything lies between:
/// wires, fuses, closed switches, transistors that are on, and outputs with the rail
/// that they stand at.
class OneNets {
 public:
  /// @param on  The transistors that are on. Circuit and phase must outlive it.
  OneNets(const Circuit& circuit, const State& phase, std::vector<int> on = {});

  /// The net that stands for all that are one with this one; -1 for none.
  [[nodiscard]] int of(int net) const { return net < 0 ? -1 : one_[net]; }

  /// The resting pins on them, but for those of what joins them.
  [[nodiscard]] std::vector<PinRef> pins(int one) const;

  /// Whether one of them is a rail, or an output stands there.
  [[nodiscard]] bool is_set(int one) const;

 private:
  [[nodiscard]] bool is_on(int part) const;
  [[nodiscard]] bool is_joint(int part) const;
  void join_outputs(int chip);
  void join(int a, int b);

  const Circuit& circuit_;
  const State& phase_;
  std::vector<int> on_;
  std::vector<int> one_;
};

}  // namespace benchproof
