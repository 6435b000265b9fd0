#pragma once

#include <cstddef>
#include <memory>
#include <span>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/timeline.h"

namespace benchproof {

struct Several;
struct Observation;

/// A stretch of time.
struct Stretch {
  double from = 0.0;  ///< Second.
  double to = 0.0;
  [[nodiscard]] double length() const { return to - from; }
};

/// A quantity's course, straight between its points.
struct Trace {
  const std::vector<double>* seconds = nullptr;
  std::vector<double> values;  ///< One per point.
};

/// The value at a time, clamped to the trace's ends.
[[nodiscard]] double value_at(const Trace& trace, double seconds);

/// The times at which the trace crosses a level upwards (`rising`) or downwards: one
/// that begins on the far side has to come back before it can cross.
[[nodiscard]] std::vector<double> crossings(const Trace& trace, double level,
                                            bool rising);

/// Highest and lowest value over a stretch, and when first (to a millionth of what lies
/// between them); the mean and the root of the mean square over it.
struct Extremes {
  double highest = 0.0;
  double highest_at = 0.0;
  double lowest = 0.0;
  double lowest_at = 0.0;
  double mean = 0.0;
  double rms = 0.0;
};
[[nodiscard]] Extremes extremes(const Trace& trace, const Stretch& stretch);

/// The stretches within `within` during which the trace is above a level (or below, if
/// not `above`).
[[nodiscard]] std::vector<Stretch> beyond(const Trace& trace, double level, bool above,
                                          const Stretch& within);

/// Where the currents of a witness add up worst.
struct Imbalance {
  double worst = 0.0;    ///< What is left over, over what may be (see Residual).
  double amps = 0.0;     ///< What is left over. Ampere.
  int node = 0;          ///< Of the network.
  double seconds = 0.0;  ///< When.
};

/// A run as one witness saw it: every net's voltage and every pin's current at every
/// point of its waveform.
class Record {
 public:
  /// @pre waveform.status is solved.
  Record(const Circuit& circuit, const Timeline& timeline, const Waveform& waveform);

  /// A course made up of what was observed at some times (rising): no witness has
  /// stepped through it, so it has no strays and no imbalance.
  Record(const Circuit& circuit, std::vector<double> seconds,
         const std::vector<Observation>& seen);

  [[nodiscard]] const std::vector<double>& seconds() const { return seconds_; }
  [[nodiscard]] Stretch whole() const { return {seconds_.front(), seconds_.back()}; }

  /// A net's voltage against ground; 0 for a net that is not there (-1). Volt.
  [[nodiscard]] Trace volts(int net) const;
  /// From one pin of a part to another; 0 where one of them is left open. Volt.
  [[nodiscard]] Trace volts(const Part& part, int pin, int other) const;
  /// Into a part at a pin. Ampere.
  [[nodiscard]] Trace amps(int part, int pin) const;
  /// The same without what charges the strays there. Ampere.
  [[nodiscard]] Trace conducted(int part, int pin) const;
  /// What a part takes up. Watt.
  [[nodiscard]] Trace watts(int part) const;
  /// Over all nodes but ground and all points.
  [[nodiscard]] const Imbalance& imbalance() const { return imbalance_; }

 private:
  void lay_out(const Circuit& circuit, const std::vector<bool>& passing,
               const std::vector<TwoEnds>& strays);
  void clear(std::size_t first, std::size_t count);
  void look_at_block(const Structure& structure, const CurrentsOf<Several>& currents,
                     std::size_t first, std::size_t count);
  [[nodiscard]] std::size_t pin_of(int part, int pin) const {
    return first_pin_[part] + static_cast<std::size_t>(pin);
  }
  [[nodiscard]] std::size_t net_column(int net) const {
    return static_cast<std::size_t>(net + 1);
  }
  [[nodiscard]] double* column(std::size_t k) {
    return figures_.get() + k * seconds_.size();
  }
  [[nodiscard]] std::span<const double> column(std::size_t k) const {
    return {figures_.get() + k * seconds_.size(), seconds_.size()};
  }
  [[nodiscard]] Trace trace(std::size_t k) const;

  std::vector<double> seconds_;
  /// One column after the other, each with one value per point: nothing, every net's
  /// voltage, then the currents of pins and of the strays there.
  std::unique_ptr<double[]> figures_;
  std::size_t columns_ = 0;
  std::vector<std::size_t> first_pin_;    ///< Of each part, among all pins.
  std::vector<int> pin_nets_;             ///< Of each pin, -1 where it is left open.
  std::vector<std::size_t> pin_columns_;  ///< Of each pin; 0 where it is left open.
  /// Of each pin, whether its columns are those of the pin before, turned.
  std::vector<bool> is_turned_;
  std::vector<std::size_t> stray_columns_;  ///< Of each pin; 0 where it has none.
  Imbalance imbalance_;
};

}  // namespace benchproof
