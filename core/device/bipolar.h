#pragma once

#include "core/catalogue/model.h"

namespace benchproof {

/// A bipolar transistor model moved to one temperature.
///
/// Temperature rule [ngspice manual 39, BJT models; verified against the engine to
/// 1e-13]: is(T) = is * exp((T/tnom - 1) * eg / vt + xti * ln(T/tnom)), T in kelvin;
/// gains and Early voltage stay.
struct BipolarAt {
  double sign = 1.0;  ///< 1 for NPN, -1 for PNP: turns every voltage and current.
  double is = 0.0;    ///< Ampere.
  double bf = 0.0;
  double br = 0.0;
  double nvt_forward = 0.0;    ///< nf kT/q. Volt.
  double nvt_reverse = 0.0;    ///< nr kT/q. Volt.
  double inverse_early = 0.0;  ///< 1/vaf. 1/V.
  double leak_forward = 0.0;   ///< Leak that counts towards f below. Siemens.
  double leak_reverse = 0.0;   ///< Leak that counts towards r below. Siemens.
  double critical = 0.0;       ///< Junction voltage of the sharpest bend. Volt.
};

[[nodiscard]] BipolarAt at(const BipolarModel& model, double celsius);

/// Collector and base current with their derivatives. Ampere and siemens.
struct BipolarConduction {
  double collector = 0.0;  ///< Into the collector (NPN sense).
  double base = 0.0;       ///< Into the base (NPN sense).
  double collector_by_be = 0.0;
  double collector_by_bc = 0.0;
  double base_by_be = 0.0;
  double base_by_bc = 0.0;
};

/// Ebers-Moll transport form with the Early effect, in the NPN sense:
///
///   f = is (exp(vbe/nvt_forward) - 1),  r = is (exp(vbc/nvt_reverse) - 1)
///   collector = (f - r) (1 - vbc/vaf) - r/br,   base = f/bf + r/br
///
/// with the reverse law of `junction` below -3 nvt and a leak across both junctions: f
/// and r each carry kJunctionLeak times their voltage; in an ideal transistor (see
/// is_ideal) f/bf and r/br do, the currents of the two diodes that stand for it in the
/// deck [ngspice manual 39, BJT models (Gummel-Poon without high injection)]. (1 -
/// vbc/vaf) is kept at or above 1e-3. Finite for any finite input.
[[nodiscard]] BipolarConduction conduct(const BipolarAt& transistor, double vbe,
                                        double vbc);

}  // namespace benchproof
