#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <functional>
#include <vector>

#include "core/check/rest/check_input.h"
#include "core/network/witnesses.h"
#include "core/tolerance/copy/spreads.h"
#include "core/tolerance/states/copied_state.h"

namespace benchproof {

/// All steady states of a circuit, ready for the counting of copies, as one witness
/// sees them.
class CopiedCircuit {
 public:
  /// The circuit must outlive it.
  CopiedCircuit(const Circuit& circuit, const Solve& witness);
  CopiedCircuit(const CopiedCircuit&) = delete;
  CopiedCircuit& operator=(const CopiedCircuit&) = delete;

  /// The witness has an answer in every state: else there is nothing to count.
  [[nodiscard]] bool is_solved() const { return is_solved_; }
  /// In the order of the circuit's steady states.
  [[nodiscard]] const std::deque<CopiedState>& states() const { return states_; }
  [[nodiscard]] const std::vector<Spread>& spreads() const { return spreads_; }

 private:
  std::vector<Spread> spreads_;
  std::deque<PosedState> posed_;
  std::deque<CopiedState> states_;
  bool is_solved_ = true;
};

/// What copies have to do beside working: in a state, by its name.
struct Demand {
  std::string state;
  std::function<bool(const CheckInput&)> holds;  ///< May be asked by several threads.
};

/// Which of copies `first` to `first + count - 1` of series `seed` keep to a demand and
/// work, which is counted as measure_copies does: each state has a solution, and no
/// expectation and no rating fails in it. A copy that is out is not looked at in
/// further states.
[[nodiscard]] std::vector<bool> which_work(const CopiedCircuit& circuit,
                                           const Demand& demand, std::size_t first,
                                           std::size_t count, std::uint64_t seed,
                                           const SideBySide& side_by_side);

}  // namespace benchproof
