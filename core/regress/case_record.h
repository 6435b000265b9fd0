#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/quantity.h"
#include "core/circuit/circuit.h"
#include "core/verify/runs/verify_runs.h"
#include "core/verify/verify.h"

namespace benchproof {

/// A state at rest or a run, of one variant of a description.
struct CaseName {
  std::string variant;  ///< Empty: the description as it stands.
  bool is_run = false;
  std::string name;
  friend bool operator==(const CaseName&, const CaseName&) = default;
};

/// "state 'night'", "variant 'dim', run 'power up'".
[[nodiscard]] std::string case_text(const CaseName& name);

/// What is kept of a case: of a state every net's voltage and every pin's current (the
/// average, under PWM), the temperatures around it and of every junction, how long each
/// battery lasts and the frequency of each output; of a run each net's lowest and
/// highest voltage, its mean over the run and its last one, and each pin's lowest and
/// highest current.
enum class FigureSort {
  volts,
  amps,
  celsius,
  hours,
  hertz,
  least_volts,
  most_volts,
  mean_volts,
  last_volts,
  least_amps,
  most_amps
};

inline constexpr FigureSort kFigureSorts[] = {
    FigureSort::volts,      FigureSort::amps,       FigureSort::celsius,
    FigureSort::hours,      FigureSort::hertz,      FigureSort::least_volts,
    FigureSort::most_volts, FigureSort::mean_volts, FigureSort::last_volts,
    FigureSort::least_amps, FigureSort::most_amps};

/// The table that a sort of figure has in a record: "volts", "least-volts".
[[nodiscard]] std::string_view table_name(FigureSort sort);

[[nodiscard]] Unit unit_of(FigureSort sort);

struct KeptFigure {
  FigureSort sort = FigureSort::volts;
  /// A net, a part, or "part.pin" of a part with more than two; "ambient".
  std::string of;
  double value = 0.0;  ///< In unit_of(sort).
};

/// A case as it was found or recorded: the figures by sort, then in the description's
/// order.
struct CaseRecord {
  CaseName name;
  std::vector<std::string> findings;  ///< "caution led-current quay"; no notes.
  std::vector<KeptFigure> figures;
  /// "current of 'quay', at most 0.006": so that none is loosened or lost unseen.
  std::vector<std::string> expectations = {};
  /// Whether expectations and figures besides volts and amps of states and volts of
  /// runs were kept, too: older records have none.
  bool is_full = true;
};

/// Each state and run on which the witnesses agreed, as the nodal one has it.
[[nodiscard]] std::vector<CaseRecord> case_records(const Circuit& circuit,
                                                   const Verification& verification,
                                                   const std::vector<RunResult>& runs);

/// By how much a figure may differ from what was recorded: an absolute and a relative
/// part, added.
struct Tolerance {
  double volts = 10e-6;
  double amps = 100e-9;
  double relative = 1e-4;
  double run_volts = 2e-3;
  double run_relative = 2e-3;
  double run_amps = 2e-3;
  double run_amps_relative = 0.05;  ///< Peaks of currents go by single points.
  double kelvin = 0.5;
  double hours_relative = 0.01;
};

/// What a figure may differ by from a recorded value.
[[nodiscard]] double allowed(const Tolerance& tolerance, FigureSort sort,
                             double recorded);

/// One thing that is not as it was recorded.
struct Moved {
  std::string what;           ///< "net 'rail'", "most volts of net 'rail'", "a finding"
  Unit unit = Unit::none;     ///< Of a figure.
  std::optional<double> was;  ///< Nothing: it was not there.
  std::optional<double> is;   ///< Nothing: it is gone.
  double most = 0.0;          ///< By how much it may differ. In `unit`.
};

/// What differs by more than it may; what comes or goes first, then the figures that
/// moved most against what they may.
[[nodiscard]] std::vector<Moved> moved(const CaseRecord& recorded,
                                       const CaseRecord& now,
                                       const Tolerance& tolerance);

}  // namespace benchproof
