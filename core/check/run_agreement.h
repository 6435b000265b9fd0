#pragma once

#include <string>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/timeline.h"

namespace benchproof {

/// What two waveforms may differ by: 1 mV + 1e-3 of the net's swing in the run.
inline constexpr double kWaveVolts = 1e-3;
inline constexpr double kWaveShare = 1e-3;
/// What two times of one event may differ by, over the span.
inline constexpr double kWaveTimeShare = 1e-3;
/// By how much of the span one waveform may lag where the other is steep: a flank has
/// no voltage that could be compared at one instant, only a time.
inline constexpr double kWaveShift = 1e-4;

/// Whether both witnesses tell the same waveforms. Figures are those of the node where
/// they differ most against what is allowed.
struct RunAgreement {
  bool agrees = false;
  std::string net;  ///< Or a point inside a part.
  double seconds = 0.0;
  double difference = 0.0;  ///< |engine - nodal|. Volt.
  double allowed = 0.0;     ///< Volt.
  double engine_volts = 0.0;
  double nodal_volts = 0.0;
  std::string reason;  ///< Empty if they agree.
};

/// Compares two waveforms at every time of the engine's, which the nodal waveform must
/// have among its own; and at the nodal witness's other times, where its voltage must
/// lie between those that the engine has before and after, so that nothing that happens
/// between two points of the engine's passes unseen. Both within what is allowed, at
/// that time or, each way, within kWaveShift of the span.
[[nodiscard]] RunAgreement agree(const Timeline& timeline, const Waveform& engine,
                                 const Waveform& nodal);

}  // namespace benchproof
