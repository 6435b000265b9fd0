#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/witnesses.h"
#include "core/verify/verify.h"

namespace benchproof {

/// The search for a range ends here: extra-low voltage. Volt.
inline constexpr double kMostRangeVolts = 60.0;
/// How far apart the voltages lie that are looked at first. What fails or passes over
/// less than this may be missed. Volt.
inline constexpr double kRangeStepVolts = 0.25;
/// How closely an end is found. Volt.
inline constexpr double kRangeResolutionVolts = 1e-3;

/// What ends a range. Faults of ratings and of function always do, and what keeps a
/// relay from pulling in for certain.
struct RangeRules {
  bool expectations = false;  ///< Expectations that do not hold do too ...
  bool cautions = false;      ///< ... and cautions.
};

/// One end of a stretch of voltages over which everything passes.
struct RangeEnd {
  enum class Kind {
    check,      ///< A check fails beyond it.
    search,     ///< Nothing fails as far as is looked: to 0 V or kMostRangeVolts.
    no_answer,  ///< Beyond it the nodal witness has no answer.
  };
  Kind kind = Kind::search;
  double volts = 0.0;   ///< The last voltage that passes, a whole millivolt.
  double beyond = 0.0;  ///< The first that does not; `volts` where kind is search.
  /// What fails at `beyond`; the first of them sets the end.
  std::vector<Finding> findings;
  std::string reason;  ///< That of the witness without an answer.
};

/// What both witnesses, each asked from a cold start, say of one voltage.
struct RangeTestimony {
  double volts = 0.0;
  Verdict verdict = Verdict::good;  ///< good: both say what the search says.
  std::string reason;               ///< Empty when good.
};

/// A stretch of supply voltages, its ends included. Volt.
struct VoltageStretch {
  double least = 0.0;
  double most = 0.0;
};

/// Voltages over which a state passes, and what ends them.
struct PassingRange {
  RangeEnd lower;
  RangeEnd upper;
  /// Where the ends would be if what sets them were out of the way: that check, in that
  /// part and in others in which it fails at the same voltage. By the nodal witness
  /// alone. Only where kind is check, and not where nothing limits a current.
  std::optional<RangeEnd> lower_without;
  std::optional<RangeEnd> upper_without;
};

/// Over which supply voltages one state passes.
struct StateRange {
  std::string name;
  double present = 0.0;                   ///< The voltage in the description. Volt.
  bool passes = false;                    ///< At the present voltage.
  std::vector<Finding> present_findings;  ///< What fails there.
  /// Where no voltage passes: what fails at every one at which all works that should
  /// (or at every one, if there is no such), and so is no matter of the supply. `range`
  /// is then what passes but for these, unless nothing limits a current.
  std::vector<Finding> always;
  /// Around the present voltage if that passes; else, nearest to it.
  std::optional<PassingRange> range;
  std::vector<VoltageStretch> elsewhere;  ///< Other stretches that pass, upwards.
  std::vector<RangeTestimony> testimonies;
  /// good or fault: whether it passes now; else what the witnesses lack or differ in.
  Verdict verdict = Verdict::good;
};

/// The part whose voltage is moved: the one that `over` names as "part.voltage", or
/// where that is empty the only dc-supply; without one the only battery, else the only
/// voltage source. A complaint where there is none, or not one only.
[[nodiscard]] std::variant<int, Diagnostic> choose_supply(const Circuit& circuit,
                                                          std::string_view over);

/// The voltage of a dc-supply, battery (all its cells, without load) or voltage source
/// in a state. Volt.
[[nodiscard]] double supply_volts(const Circuit& circuit, const State& state, int part);

/// What has to be set of a part, as it is in a state, to give it another voltage: keys
/// and numbers. An unregulated supply's no-load voltage moves in proportion; a battery
/// keeps its internal resistance.
[[nodiscard]] std::vector<std::pair<std::string, double>> supply_settings(
    const Part& supply, double volts);

/// For each steady state (or those named in `only`) the supply voltages around the
/// present one over which every check passes.
///
/// Besides what `verify` holds against a state, what works at the present voltage (or,
/// by check_over_states, should) must go on working: LEDs light, lamps and other loads
/// get half their rated voltage, relays pull in for certain, regulators and controllers
/// are not starved. What else only all states together tell is asked with this state at
/// each voltage and the others as they are now; what holds of the whole description
/// counts at every voltage.
///
/// 0 to kMostRangeVolts is looked at in steps of kRangeStepVolts by the nodal witness,
/// and the ends are found by bisection to kRangeResolutionVolts, the states side by
/// side, each with an `another_near`. At the present voltage and on both sides of both
/// ends `engine` and `nodal` are then asked, on this thread; each must say the same as
/// the search and agree with the other.
///
/// @throws std::invalid_argument if `part` is none whose voltage can be moved.
[[nodiscard]] std::vector<StateRange> find_supply_range(
    const Circuit& circuit, int part, const RangeRules& rules,
    const Witnesses& witnesses, const std::vector<std::string>& only = {});

/// The voltages over which all states pass; nothing where there are none.
[[nodiscard]] std::optional<VoltageStretch> common_range(
    const std::vector<StateRange>& states);

}  // namespace benchproof
