#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/timeline.h"

namespace benchproof {

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

  [[nodiscard]] const std::vector<double>& seconds() const { return seconds_; }
  [[nodiscard]] Stretch whole() const { return {seconds_.front(), seconds_.back()}; }

  /// A net's voltage against ground; 0 for a net that is not there (-1). Volt.
  [[nodiscard]] Trace volts(int net) const;
  /// From one pin of a part to another; 0 where one of them is left open. Volt.
  [[nodiscard]] Trace volts(const Part& part, int pin, int other) const;
  /// Into a part at a pin. Ampere.
  [[nodiscard]] Trace amps(int part, int pin) const;
  /// What a part takes up. Watt.
  [[nodiscard]] Trace watts(int part) const;
  /// Over all nodes but ground and all points.
  [[nodiscard]] const Imbalance& imbalance() const { return imbalance_; }

 private:
  [[nodiscard]] const double* row(std::size_t point) const {
    return values_.data() + point * width_;
  }
  template <typename Function>
  [[nodiscard]] Trace trace(Function&& value) const;

  std::vector<double> seconds_;
  std::size_t width_ = 0;
  std::vector<std::size_t> first_pin_;  ///< Column of each part's first pin.
  std::size_t first_watts_ = 0;         ///< Column of the first part's power.
  std::vector<double> values_;          ///< Per point: nets, pins, powers.
  Imbalance imbalance_;
};

}  // namespace benchproof
