#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/range/detail/duty.h"
#include "core/range/supply_range.h"
#include "core/verify/seen/at_rest.h"

namespace benchproof {

/// Phases of every steady state as one witness saw them at the present voltage.
using AllSeen = std::vector<std::vector<const Observation*>>;

/// What is looked at in one state; everything in it outlives the search.
struct RangeSubject {
  const Circuit& circuit;
  const State& state;
  int part = -1;  ///< Whose voltage is moved.
  const RangeRules& rules;
  Duty duty;
  /// Faults that hold whatever the state.
  std::vector<Finding> always;
  /// Faults of this state that only all of them together tell, at the present voltage;
  /// but for those of LEDs and loads, which are duties.
  std::vector<Finding> together;
  AllSeen all_seen;                            ///< Where `together` is not empty ...
  std::size_t index = 0;                       ///< ... and which of them is this state.
  std::shared_ptr<const Structure> structure;  ///< Of the state as it is now.
};

/// What makes a finding the same one at another voltage: the part or net, and which of
/// its limits. Falling short of regulation has two checks, of which one is told.
struct FindingKey {
  std::string subject;
  std::string check;
  int line = 0;  ///< Of an expectation, for one net may have several.
  // NOLINTNEXTLINE(modernize-use-nullptr): the 0 is that of the comparison itself.
  friend auto operator<=>(const FindingKey&, const FindingKey&) = default;
};

[[nodiscard]] FindingKey key_of(const Finding& finding);

using LeftOut = std::set<FindingKey>;

/// What stands in place of all others: nothing is known of what would be without it.
[[nodiscard]] bool is_alone(const Finding& finding);
[[nodiscard]] bool is_left_out(const Finding& finding, const LeftOut& left_out);

/// What one witness makes of the state at one voltage: all of it.
struct AtVoltage {
  bool is_solved = false;
  std::string reason;             ///< Of a witness without an answer.
  bool is_idle = false;           ///< Something that should work does not.
  std::vector<Finding> findings;  ///< What fails by the rules, sorted.

  [[nodiscard]] std::vector<Finding> without(const LeftOut& left_out) const;
  [[nodiscard]] bool passes(const LeftOut& left_out) const;
};

/// What fails by the rules at the voltage that the state is posed at. `engine` and
/// `nodal` may be the same.
[[nodiscard]] AtVoltage failures(const RangeSubject& subject, const CheckInput& engine,
                                 const CheckInput& nodal);

/// A state whose supply can be moved: posed once, and only the supply's values filled
/// in anew.
class MovedState {
 public:
  explicit MovedState(const RangeSubject& subject);
  /// The state at a voltage. Volt.
  [[nodiscard]] const PosedState& at(double volts);
  /// The same with everything that feeds the circuit at its most.
  [[nodiscard]] const PosedState& at_most(double volts);

 private:
  void move(PosedState& posed, double volts) const;

  int part_;
  Part supply_;  ///< As the state has it.
  PosedState posed_;
  State most_;
  PosedState posed_at_most_;
};

/// Adds what the ends of its parts and the spread of its LEDs bring to a state at a
/// voltage, by one witness. `now` is the state at that voltage.
void add_faults_beyond(const RangeSubject& subject, const CheckInput& now,
                       const PosedState& at_most, const Solve& witness,
                       AtVoltage& here);

/// Volts as millivolts, in which the search counts so that its ends are whole ones;
/// what is a whole number but for rounding is one.
[[nodiscard]] double millivolts_of(double volts);

/// Looks at voltages, each once. All voltages in millivolts.
class VoltageSearch {
 public:
  VoltageSearch(const RangeSubject& subject, double present, const Solve& solve);

  /// All that is found at a voltage.
  const AtVoltage& at(double millivolts);

  /// Whether a voltage passes; where it does not, that is often seen before all is
  /// known of it.
  [[nodiscard]] bool passes(double millivolts, const LeftOut& left_out);

  /// The stretch around a voltage that passes.
  [[nodiscard]] PassingRange range_around(double inside, const LeftOut& left_out);

  /// The voltage looked at first that passes nearest to the present one.
  [[nodiscard]] std::optional<double> nearest_passing(const LeftOut& left_out);

  /// The stretches that pass, but for the one given, upwards.
  [[nodiscard]] std::vector<VoltageStretch> elsewhere(const PassingRange& known,
                                                      const LeftOut& left_out);

  /// What fails at every voltage looked at so far at which all works that should, or
  /// at every one where there is no such.
  [[nodiscard]] std::vector<Finding> always_failing();

 private:
  /// What is known of a voltage.
  struct Known {
    std::optional<AtVoltage> all;
    std::optional<Finding> failing;    ///< Something that fails there.
    std::optional<LeftOut> passes_by;  ///< Nothing fails that is not among these.
  };
  AtVoltage ask(double millivolts);
  /// Finds out what `passes` asks for, or all where there is no more to be had.
  void look_for_failure(double millivolts, const LeftOut& left_out, Known& known);
  RangeEnd end_of(double from, int direction, const LeftOut& left_out);
  std::optional<RangeEnd> end_without(const RangeEnd& end, int direction,
                                      LeftOut left_out);
  [[nodiscard]] double next_step(double from, int direction) const;
  RangeEnd between(double pass, double fail, const LeftOut& left_out);

  const RangeSubject& subject_;
  double present_;
  const Solve& solve_;
  MovedState moved_;
  std::map<double, Known> known_;
};

}  // namespace benchproof
