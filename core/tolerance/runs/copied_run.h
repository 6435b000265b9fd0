#pragma once

#include <compare>
#include <cstddef>
#include <memory>
#include <string>
#include <vector>

#include "core/network/witnesses.h"
#include "core/tolerance/copy/gauges.h"
#include "core/tolerance/copy/spreads.h"
#include "core/verify/runs/verify_runs.h"

namespace benchproof {

/// A fault in a run that is no figure's.
struct RunFault {
  std::string check;
  std::string part;  ///< Name, or empty ...
  std::string net;   ///< ... as this.
  friend auto operator<=>(const RunFault&, const RunFault&) = default;
};

/// What one copy does in a run.
struct SeenRun {
  bool is_solved = false;
  std::string reason;          ///< Why it is not.
  std::vector<double> values;  ///< One a gauge; empty unless solved. See below.
  std::vector<bool> failed;    ///< Likewise.
  std::vector<RunFault> faults;
  bool works = false;  ///< It is solved, and `verify` finds no fault in it.
};

/// The same as both witnesses have it.
struct ConfirmedRun {
  SeenRun engine;
  SeenRun nodal;
  bool agrees = false;
};

/// A run of which copies are to be measured, and what is measured. Refers to all that
/// it is made of; nothing in it changes, so that threads may share it.
///
/// Gauges are the run's expectations (`stays` with two bounds is two of them) and those
/// ratings that come to a quarter of their limit as described: at every moment, or the
/// strain, what a part takes over some stretch of time as a share of what it bears for
/// so long. A level that is never reached has an infinite time. Whether a gauge fails
/// is what `verify` says, in whose way each copy is judged. Its other faults (brownout,
/// pins, supplies at their limit) hang on more than one figure and are told as they
/// are.
class CopiedRun {
 public:
  /// Asks the nodal witness about the run as described; see nominal().
  CopiedRun(const Circuit& circuit, int run, const std::vector<Spread>& spreads,
            const SolveInTime& nodal);

  [[nodiscard]] const Circuit& circuit() const { return circuit_; }
  [[nodiscard]] const Run& run() const;
  [[nodiscard]] const std::vector<Spread>& spreads() const { return spreads_; }
  [[nodiscard]] const std::vector<Gauge>& gauges() const { return gauges_; }
  [[nodiscard]] const SeenRun& nominal() const { return nominal_; }
  /// Points of the run as described: what solving it takes.
  [[nodiscard]] std::size_t points() const { return points_; }

  /// The copy with the spreads at these places, by the nodal witness, a power of ten
  /// less exact than `verify` asks it.
  [[nodiscard]] SeenRun seen(const double* places, const SolveInTime& nodal) const;
  /// By both witnesses, as exact as `verify` asks them.
  [[nodiscard]] ConfirmedRun confirmed(const double* places, const SolveInTime& engine,
                                       const SolveInTime& nodal) const;

 private:
  void add_expectations();
  void add_ratings(const Record& record);
  [[nodiscard]] SeenRun judged(const Circuit& there, const Timeline& timeline,
                               Hearing heard,
                               const std::shared_ptr<const Record>& seen) const;
  [[nodiscard]] double value(const Gauge& gauge, const Circuit& there,
                             const Record& record) const;

  const Circuit& circuit_;
  int run_ = 0;
  const std::vector<Spread>& spreads_;
  std::vector<Part> parts_;  ///< As the run's last state has them.
  std::vector<Gauge> gauges_;
  SeenRun nominal_;
  std::size_t points_ = 0;
};

}  // namespace benchproof
