#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "core/assemble/build_order.h"
#include "core/circuit/circuit.h"
#include "core/diagnose/foreseen/meter.h"
#include "core/network/network.h"
#include "core/verify/verify.h"

namespace benchproof {

// How exact the meter is that the bands are for: a share, and digits of a range of so
// many counts. Ohms: Elenco M-1000D manual, pages 7 and 10; of volts cheap meters have
// from 0.5 % to 0.8 % (Yato YT-73081 manual, page 12).
inline constexpr double kMeterShare = 0.008;
inline constexpr double kMeterDigits = 2.0;
inline constexpr double kMeterCounts = 2000.0;

/// What that meter puts into a circuit, and from where on it shows no resistance: the
/// usual one of reference/meters.
[[nodiscard]] const Meter& sheets_meter();

/// An unpowered chip or regulator shows anything from here on; less is a short. Ohm.
/// Common practice, no source.
inline constexpr double kLeastOhmsOfChips = 100.0;

/// How far a reading of the meter may be off: volt or ohm, as the value.
[[nodiscard]] double meter_error(double value);

/// Something to look at or measure after a stage.
struct StageCheck {
  enum class Asks { voltage, resistance, looks };
  Asks asks = Asks::voltage;
  bool is_powered = true;
  std::vector<int> out;          ///< Controllers that are out of their sockets.
  int net = -1;                  ///< Measured against ground.
  int part = -1;                 ///< Looked at.
  std::optional<double> least;   ///< Volt or ohm, as copies and the meter have it.
  std::optional<double> most;    ///< Nothing of ohms: it may show none ("open").
  std::optional<double> engine;  ///< As described, by each witness; nothing where
  std::optional<double> nodal;   ///< the meter shows none.
  bool is_average = false;       ///< Of an output that is switched on and off.
  std::string looks;  ///< "as meant", "dark", "runs", "still", "clicks", "sounds".
};

/// All that is looked at after a stage.
struct StageChecks {
  std::vector<StageCheck> off;  ///< With nothing plugged in.
  std::vector<StageCheck> on;
  int state = -1;            ///< Index of the state of those with power; -1: none.
  std::vector<int> sources;  ///< What is plugged in.
  std::vector<int> closed;   ///< Switches that are closed in that state.
  std::vector<int> out;      ///< Controllers that are not in yet.
  std::string not_powered;   ///< Why nothing is plugged in yet; empty: it is.
};

/// The parts that are there after a stage, one flag each; controllers from the stage on
/// in which they are put in.
[[nodiscard]] std::vector<bool> there_after(const Circuit& circuit,
                                            const BuildOrder& order, std::size_t stage);

/// What is to be seen after a stage: the circuit as far as it is built, with the meter
/// on it, solved by both witnesses, which must agree; bands over all copies (each
/// spread at the end that moves the reading most, both witnesses asked there) and the
/// meter's error. `verification` is that of the whole circuit, whose state is chosen
/// in which the stage's parts do most. `owed` are nets of earlier stages that could not
/// be powered; they are measured too.
[[nodiscard]] StageChecks stage_checks(const Circuit& circuit, const BuildOrder& order,
                                       std::size_t stage,
                                       const Verification& verification,
                                       const Solve& engine, const Solve& nodal,
                                       const std::vector<int>& owed = {});

}  // namespace benchproof
