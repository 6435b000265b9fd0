#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "core/network/timeline.h"
#include "spice/deck/deck.h"

namespace benchproof {

/// How exactly the engine follows a timeline. SI units; all > 0.
///
/// The defaults were chosen by measurement (see DEVELOPERS.md): with them the voltages
/// of a step, a ringing circuit, a rectifier, a power-up and PWM stay within 1e-4 of
/// their swing, in the least time that was found. They are for networks without strays:
/// see options_for.
struct TransientDeckOptions {
  /// The engine's two methods of second order. The trapezoidal one needs half the steps
  /// of the other; after each corner the engine takes steps of first order, which keeps
  /// it from ringing.
  enum class Method { trapezoidal, gear };

  /// When Newton's method may stop. Much smaller, the rounding of a large capacitor's
  /// current among short steps does not let it; much larger, a soft ideal junction is
  /// not where it says.
  double reltol = 1e-7;
  double vntol = 1e-9;    ///< Volt.
  double abstol = 1e-10;  ///< Ampere.
  /// A step's error may be so many times what the three figures above say: of a charge,
  /// trtol * reltol of itself.
  double trtol = 1.0;
  /// Ideal junctions (see kLeastRealEmission) are written with at least this emission
  /// coefficient. A step moves their voltage by some of n kT/q, and at 1e-5 and a
  /// quarter of a microvolt they are not settled within a step; at 1e-4 a drop is 60 uV
  /// off at 10 mA and 6 uV more at each decade.
  double least_emission = 1e-4;
  /// A capacitor's charge or an inductor's flux whose size is below that of the
  /// smallest capacitor or stray at so many volts, or of the smallest inductor at so
  /// many amperes, is held to the error of that size: where a current has died away the
  /// engine would else follow rounding noise, or give up over it.
  double least_volts = 1.0;
  double least_amps = 1e-4;
  double least_stray_volts = 1e3;
  /// The weight of a step's beginning in the trapezoidal method: a half is exact to
  /// second order; less damps what the method itself makes ring, the currents of
  /// capacitances that are much faster than its steps.
  double trapezoid = 0.5;
  Method method = Method::trapezoidal;
  /// A device whose voltages and current have moved by less than Newton's method may
  /// stop at goes on along its tangent, and is not evaluated.
  bool skips_settled = false;
  /// While a value goes straight from one corner to the next a step has to end some
  /// times on the way: in the microsecond of a switch so many times. >= 1.
  std::size_t flank_parts = 20;
  /// Longest step, as a share of the span; between two rows whoever reads them draws a
  /// straight line. <= 1.
  double longest = 0.0025;
  /// First step, as a share of the span. The engine does not judge its error; where
  /// charges are given, which may run off at once, it is at most first_charged long.
  /// Second.
  double first = 1e-6;
  double first_charged = 1e-9;
  /// Node voltages to start looking for rest from, ground first; empty: the engine's
  /// own start. Where the timeline does not begin at rest, strays begin at these.
  std::vector<double> start = {};
  /// Times at which a step must end, besides those of corners. Rising, within (0,
  /// span). Second.
  std::vector<double> also_at = {};
};

/// What was found best for a network by measurement (see DEVELOPERS.md): where strays
/// have to be followed through every flank, with the least exactness at which most runs
/// agree at the first question.
[[nodiscard]] TransientDeckOptions options_for(const Structure& structure);

/// Writes a timeline as a deck whose analysis is the transient of its span. Pure. Names
/// and numbers as in make_deck; besides:
///
/// - A source with a course is a PWL of its corners, and of some on its straight lines:
///   the engine judges its steps by charges alone, and would pass over what nets
///   without any do while a value moves.
/// - The k-th resistor, if it has a course, is a behavioural source br<k> whose
///   conductance is exp() of the voltage of node k<k>, a PWL (vk<k>) of the logarithm
///   of the conductance: between corners that is straight, as Course has it. Where the
///   last corners up to the span repeat in equal periods (PWM), a PULSE (vx<k>) in
///   series stands for them: the engine looks a PWL up from its front at every step,
///   which at 20,000 corners takes 25 times as long as all the rest.
/// - The current of a capacitor is asked for as a device's figure. That of a 0 V source
///   in series would have to settle as well, which among short steps the rounding of a
///   large capacitor's voltage does not let it.
/// - Times in `also_at` are the corners of a 0 V source (va1) that feeds nothing.
/// - A timeline that does not begin at rest has its charges as `ic` figures, and `uic`.
///
/// `vectors`: voltages of all nodes but ground, then the currents of capacitors,
/// inductors, voltage sources and regulators (as they leave `out`).
[[nodiscard]] Deck make_deck(const Timeline& timeline,
                             const TransientDeckOptions& options = {});

/// As for a network at rest. A resistor that moves is told by its source br<k>.
[[nodiscard]] std::string annotate(const Timeline& timeline, const Deck& deck,
                                   const std::vector<std::string>& part_names);

/// Puts the engine's points back into a waveform: one after the other, each its time
/// and then one value per name in `deck.vectors`. `status` is solved. It is not asked
/// what charges strays: that follows from its voltages, by straight lines between its
/// points. In the first row it is nothing where the timeline begins at rest, else what
/// it is in the second.
///
/// Where the timeline begins at rest the first row is that of time 0. Otherwise the
/// engine tells nothing of that moment, and the first row is that of its first step. A
/// last time that is the span to rounding is made the span.
/// @throws std::invalid_argument if the number of values does not fit.
[[nodiscard]] Waveform waveform_from(const Timeline& timeline, const Deck& deck,
                                     const std::vector<double>& points);

}  // namespace benchproof
