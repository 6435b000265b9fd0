#pragma once

#include <cstddef>
#include <memory>
#include <string>
#include <vector>

#include "core/check/agree/agreement.h"
#include "core/circuit/circuit.h"
#include "core/network/record.h"
#include "core/network/timeline.h"

namespace benchproof {

/// What two waveforms may differ by: 1 mV + 1e-3 of the net's swing in the run. Where
/// coils ring 3e-3: how much is left of what rings after many periods is told by every
/// step together. In a flank, whose microsecond is made up, 10 mV + 1e-2.
inline constexpr double kWaveVolts = 1e-3;
inline constexpr double kWaveShare = 1e-3;
inline constexpr double kRingShare = 3e-3;
inline constexpr double kFlankVolts = 1e-2;
inline constexpr double kFlankShare = 1e-2;
/// What two currents may differ by: 1 uA + 1e-3 of the pin's swing in the run, where
/// coils ring 1e-2; in a flank 1e-2 of its greatest current: how a junction's
/// capacitance and what stands beside it share a current that moves is nobody's figure.
inline constexpr double kWaveAmps = 1e-6;
/// What less than this joins to a net is no leak. Ohm.
inline constexpr double kLeastLeakOhms = 1e8;
/// What two times of one event may differ by, over the span.
inline constexpr double kWaveTimeShare = 1e-3;
/// By how much of the span one waveform may lag where the other is steep: a flank has
/// no voltage that could be compared at one instant, only a time.
inline constexpr double kWaveShift = 1e-4;
/// Times that an engine may be asked for because it passed something over.
inline constexpr std::size_t kMostPassedOver = 400;
/// Figures (points times a row's width) that both may have to tell of one timeline
/// before witnesses that differ are asked no more. About five seconds' work, the
/// comparing included.
inline constexpr std::size_t kMostTold = 20'000'000;

/// Whether both witnesses tell the same waveforms. Figures are those of the node and
/// the moment where they differ most against what is allowed.
struct RunAgreement {
  bool agrees = false;
  std::string net;
  double seconds = 0.0;
  double difference = 0.0;  ///< |engine - nodal|. Volt.
  double allowed = 0.0;     ///< What it may be there. Volt.
  double engine_volts = 0.0;
  double nodal_volts = 0.0;
  std::string reason;  ///< Empty if they agree.
  /// Times of the nodal witness between two of the engine's at which its voltage is
  /// not between theirs: the first kMostPassedOver, and one more if there are more.
  /// Where there are none and they differ, those about the moment told.
  std::vector<double> passed_over;
};

/// How far two witnesses are apart at most, over what is allowed there: at most 1 where
/// they agree.
[[nodiscard]] double share_of(const RunAgreement& agreement);

class Flips;

/// Compares the nets of two waveforms (what is inside of a part is nobody's figure) at
/// every time of the engine's, which the nodal waveform must
/// have among its own; and at the nodal witness's other times, where its voltage must
/// lie between those that the engine has before and after, so that nothing that happens
/// between two points of the engine's passes unseen. Both within what is allowed, at
/// that time or, each way, within kWaveShift of the span. A net that leakage alone
/// sets, between junctions that block, may differ by what moves the sum of its currents
/// by kWaveAmps, all other nodes held. A circuit that flips by itself (a Schmitt
/// trigger on a slow ramp) may do so as much later as what moves it takes to move by
/// what its own voltage may differ by, at most kWaveTimeShare of the span: at a flip a
/// moment is compared, not the voltages of those that flip. Differences below
/// kLittleShare of what is allowed are not looked at so closely.
[[nodiscard]] RunAgreement agree(const Timeline& timeline, const Waveform& engine,
                                 const Waveform& nodal);

/// The first current into a part at which the witnesses differ by more than they may,
/// in words; empty if there is none. The engine's current is held against the nodal
/// witness's at its time and within kWaveShift of the span of it, or their means over
/// that are: where a clamp begins to conduct, the millivolts that voltages may differ
/// by are a multiple of a current that lasts a microsecond. So they are across a
/// transistor of milliohms; what else meets at its net then tells its current. The
/// nodal one is not held against the engine's: what the engine says of a capacitor's
/// current at a corner is that of the step before. What charges strays is left out, and
/// so are switches: their voltage is too small to tell a current. At the run's flips,
/// where they are given, the times may be further apart.
[[nodiscard]] std::string differing_current(const Circuit& circuit,
                                            const Timeline& timeline,
                                            const Record& engine, const Record& nodal,
                                            const Flips* flips = nullptr);

/// Both witnesses about one timeline.
struct Hearing {
  Waveform engine;
  Waveform nodal;
  RunAgreement agreement;
  std::shared_ptr<const Record> by_engine;  ///< Null unless both followed it.
  std::shared_ptr<const Record> by_nodal;
  /// How each came out when asked last: where it had no answer while both were asked
  /// again, nobody knows whether they would agree.
  SolveStatus engine_last = SolveStatus::solved;
  SolveStatus nodal_last = SolveStatus::solved;
};

/// Asks the engine, then the nodal witness at the engine's times and those in `also_at`
/// (rising, within the span) besides its own. The engine judges its steps by charges
/// alone; where a net bends between two of its points it is asked again, to have
/// points there. Where they still differ both are asked more exactly: what a ringing
/// circuit's period is off by adds up. Besides, the currents of both are compared, and
/// the nodal witness's must add up to nothing at every node at every time.
///
/// Asking again ends where that would take more than kMostTold, a question more exact
/// by ten counting twice (at the engine's second order it takes 2.2 times the points),
/// or where a witness has no answer; `reason` then says so, and what was told last
/// before stands.
[[nodiscard]] Hearing hear(const Circuit& circuit, const Timeline& timeline,
                           const SolveInTime& engine, const SolveInTime& nodal,
                           const std::vector<double>& also_at);

}  // namespace benchproof
