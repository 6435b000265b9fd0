#pragma once

#include <vector>

#include "core/check/rest/check_input.h"

namespace benchproof {

/// Nets of a phase joined by parts that hold a voltage or carry current, in groups.
/// Open switches and outputs, inputs and gates only leak and join nothing.
class Joints {
 public:
  explicit Joints(std::size_t nets);
  [[nodiscard]] bool are_joined(int net, int other);
  void join(const Part& part, int pin, int other);
  void join(int net, int other);  ///< -1 joins nothing.

 private:
  int find(int net);
  std::vector<int> parent_;
};

/// Which parts count besides those that always do.
struct JointRules {
  /// Whether a junction that blocks joins its nets.
  bool junctions_hold = false;
  /// Whether diodes and zeners that are not in reverse join their nets.
  bool diodes_hold = false;
  /// Whether LEDs join their nets.
  bool leds_hold = false;
  /// A part that is left out, -1 for none.
  int except = -1;
};

[[nodiscard]] Joints joints_of(const CheckInput& input, const SeenPhase& phase,
                               const JointRules& rules);

/// Whether a part of two pins has its voltage from something other than leaks: without
/// it, its nets are joined otherwise than through junctions in reverse, open switches
/// and transistors that are off. Between those a voltage is shared as the leaks happen
/// to be, and nothing flows that could do harm.
[[nodiscard]] bool is_voltage_held(const CheckInput& input, const SeenPhase& phase,
                                   int part);

/// The nets whose level leakage alone sets in a phase: nothing joins them to ground but
/// open switches and outputs, transistors that are off, diodes in reverse and LEDs that
/// do not carry. One for each net.
[[nodiscard]] std::vector<bool> floating_nets(const CheckInput& input,
                                              const SeenPhase& phase);

}  // namespace benchproof
