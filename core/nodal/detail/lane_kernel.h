#pragma once

#include <cstddef>
#include <vector>

#include "core/nodal/detail/devices.h"
#include "core/nodal/detail/layout.h"
#include "core/nodal/detail/settling.h"

namespace benchproof {

/// What all lanes have in common. It must outlive the kernel.
struct LaneProblem {
  const Layout& layout;
  Settling settling;
};

/// Values lane by lane: of each element, and there of each of its numbers, one value
/// for each lane.
struct LaneValues {
  std::vector<double> ohms;
  std::vector<double> volts;
  std::vector<double> amps;
  std::vector<double> coils;  ///< ohms, siemens, share.
  std::vector<double> diodes;
  std::vector<double> bipolars;
  std::vector<double> mosfets;
  std::vector<double> regulators;
};

/// What was found, as LaneValues has it.
struct LaneResults {
  std::vector<double> unknowns;
  std::vector<double> diodes;    ///< Ampere.
  std::vector<double> bipolars;  ///< Three for each. Ampere.
  std::vector<double> mosfets;
  std::vector<double> regulators;
  std::vector<double> is_good;  ///< 1, or 0 for a lane that has no solution.
  int iterations = 0;
};

/// Newton's method on several networks side by side.
class LaneKernel {
 public:
  virtual ~LaneKernel();
  [[nodiscard]] virtual std::size_t lanes() const = 0;
  /// Starts each lane at `start`, the solution of another network.
  virtual void solve(const LaneValues& values, const Memory& start,
                     LaneResults& results) = 0;
};

// For each set of instructions that lane_kernel.cpp is compiled for; whoever calls owns
// what is made.

[[nodiscard]] LaneKernel* make_plain_kernel(const LaneProblem& problem);
[[nodiscard]] LaneKernel* make_avx2_kernel(const LaneProblem& problem);

/// Calls visit(number) for each number of a device; `Device` may be const.
template <class Device, class Visit>
void each_number_of_diode(Device& d, const Visit& visit) {
  for (auto* number :
       {&d.is, &d.nvt, &d.rs, &d.breakdown, &d.nvt_breakdown, &d.critical})
    visit(*number);
}
template <class Device, class Visit>
void each_number_of_bipolar(Device& t, const Visit& visit) {
  for (auto* number :
       {&t.sign, &t.is, &t.bf, &t.br, &t.nvt_forward, &t.nvt_reverse, &t.inverse_early,
        &t.inverse_knee, &t.leak_forward, &t.leak_reverse, &t.critical})
    visit(*number);
}
template <class Device, class Visit>
void each_number_of_mos(Device& t, const Visit& visit) {
  for (auto* number : {&t.sign, &t.threshold, &t.kp, &t.lambda, &t.rd, &t.rs})
    visit(*number);
}
template <class Device, class Visit>
void each_number_of_regulator(Device& r, const Visit& visit) {
  for (auto* number : {&r.sign, &r.output, &r.dropout, &r.limit, &r.quiescent,
                       &r.resistance, &r.line, &r.line_reference, &r.regulates})
    visit(*number);
}
static_assert(sizeof(DiodeAt) == 6 * sizeof(double));
static_assert(sizeof(BipolarAt) == 11 * sizeof(double));
static_assert(sizeof(MosAt) == 6 * sizeof(double));
static_assert(sizeof(RegulatorAt) == 9 * sizeof(double));

}  // namespace benchproof
