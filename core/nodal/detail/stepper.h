#pragma once

#include <array>
#include <string>
#include <vector>

#include "core/nodal/detail/newton.h"
#include "core/nodal/detail/segments.h"
#include "core/nodal/transient.h"

namespace benchproof {

/// A moment of a run. Charges: volts of capacitors, then amps through inductances, then
/// volts of strays.
struct StepMoment {
  double seconds = 0.0;         ///< Since the segment's start.
  std::vector<double> charges;  ///< Volt, ampere.
  std::vector<double> rates;    ///< Their derivatives. Volt and ampere per second.
  std::vector<double> state;    ///< Unknowns, then junction voltages of diodes.
};

/// Takes single steps of the method; what step to take is for the caller to decide.
class Stepper {
 public:
  /// Keeps references to both.
  Stepper(const Timeline& timeline, const TransientOptions& options);

  /// The moment from which the next step starts.
  [[nodiscard]] const StepMoment& here() const { return here_; }
  [[nodiscard]] Segments& segments() { return segments_; }
  [[nodiscard]] const Newton& newton() const { return newton_; }
  [[nodiscard]] const Values& values() const { return network_.values; }

  /// Starts at rest. An empty string, or why there is no rest.
  [[nodiscard]] std::string start_at_rest();
  /// Starts with the timeline's charges, at the current segment's start; charges that
  /// cannot be (a capacitor across a source of another voltage) are evened out. False
  /// if the rest of the network cannot be solved.
  [[nodiscard]] bool start_with_charges(double shortest);

  /// Enters the next segment, at whose start the last step ended.
  void enter(std::size_t segment);

  /// One backward Euler step: `there` is solved for. False if Newton's method failed.
  /// `hard`: everything that finds operating points is tried.
  [[nodiscard]] bool creep(double seconds, bool hard);
  /// How far `there` is from `here`, over what a step's error may be. Strays may move
  /// as they like: what they have not reached by the end of a step as short as a
  /// creep's takes no time that counts.
  [[nodiscard]] double moved() const;

  struct Trial {
    bool is_solved = false;
    double error = 0.0;     ///< Of all charges the largest, over what it may be.
    std::size_t worst = 0;  ///< The charge whose error it is.
    double bend = 0.0;      ///< Over what it may be.
  };
  /// What carries a charge, as a person knows it.
  [[nodiscard]] std::string charge_name(std::size_t charge) const;

  /// One step of the method. After a failure Newton's restless() tells who it was.
  [[nodiscard]] Trial step(double seconds);

  /// Goes on from `there`; after a step `between` may then be asked for moments in it.
  void accept();
  /// Whether in that step each net went straight from its begin to its end.
  [[nodiscard]] bool is_straight() const;
  /// A moment within the step accepted last, `seconds` after the segment's start.
  [[nodiscard]] bool between(double seconds, StepMoment& moment);

 private:
  [[nodiscard]] bool charge_strays(double shortest);
  [[nodiscard]] bool solve(double seconds, const Companion& companion);
  [[nodiscard]] bool solve_hard(double seconds, const Companion& companion);
  void bind(double seconds, const Companion& companion);
  void read(const Companion& companion, StepMoment& moment) const;
  void foretell(double seconds, int stages);
  [[nodiscard]] double bend(const StepMoment& moment) const;
  [[nodiscard]] double allowed(std::size_t charge, double a, double b) const;

  const Timeline& timeline_;
  const TransientOptions& options_;
  Network network_;  ///< Its values move with time.
  Segments segments_;
  Newton newton_;
  Settling settling_;
  double bound_seconds_ = 0.0;   ///< Of the companions in the matrix.
  std::size_t first_stray_ = 0;  ///< Among the charges.

  StepMoment here_;
  StepMoment there_;
  StepMoment before_;  ///< Where the step accepted last began.
  StepMoment middle_;  ///< Its first implicit stage; state only.
  bool has_before_ = false;
  bool has_middle_ = false;
  bool has_crept_ = false;  ///< The step tried last was by backward Euler.
  Companion companion_;
  std::array<StepMoment, Tableau::kMost>
      stages_;                    ///< Of the step being tried; 0 unused.
  std::vector<double> foretold_;  ///< State.
};

}  // namespace benchproof
