#pragma once

#include <cmath>
#include <type_traits>

#include "core/catalogue/model.h"
#include "core/device/constants.h"
#include "core/device/exponential.h"

namespace benchproof {

/// A bipolar transistor model moved to one temperature.
///
/// Temperature rule [ngspice manual 39, BJT models; verified against the engine to
/// 1e-13]: is(T) = is * exp((T/tnom - 1) * eg / vt + xti * ln(T/tnom)), T in kelvin;
/// gains, Early voltage and knee current stay.
template <class Number>
struct BipolarAtOf {
  Number sign{1.0};  ///< 1 for NPN, -1 for PNP: turns every voltage and current.
  Number is{};       ///< Ampere.
  Number bf{};
  Number br{};
  Number nvt_forward{};    ///< nf kT/q. Volt.
  Number nvt_reverse{};    ///< nr kT/q. Volt.
  Number inverse_early{};  ///< 1/vaf. 1/V.
  Number inverse_knee{};   ///< 1/ikf; 0 of an ideal transistor. 1/A.
  Number leak_forward{};   ///< Leak that counts towards f below. Siemens.
  Number leak_reverse{};   ///< Leak that counts towards r below. Siemens.
  Number critical{};       ///< Junction voltage of the sharpest bend. Volt.
};
using BipolarAt = BipolarAtOf<double>;

template <class Number>
[[nodiscard]] BipolarAtOf<Number> at(const BipolarModelOf<Number>& model,
                                     std::type_identity_t<Number> celsius) {
  using std::log;
  const Number vt = thermal_voltage<Number>(celsius);
  const Number ratio = (celsius + kZeroCelsius) / (model.tnom + kZeroCelsius);
  BipolarAtOf<Number> t;
  t.sign = model.is_pnp ? -1.0 : 1.0;
  t.is = model.is;
  if (ratio != 1.0) {
    t.is = moved_saturation<Number>(
        model.is, (ratio - 1.0) * model.eg / vt + model.xti * log(ratio));
  }
  t.bf = model.bf;
  t.br = model.br;
  t.nvt_forward = model.nf * vt;
  t.nvt_reverse = model.nr * vt;
  t.inverse_early = 1.0 / model.vaf;
  t.inverse_knee = is_ideal(model) ? Number(0.0) : Number(1.0 / model.ikf);
  t.leak_forward = kJunctionLeak * (is_ideal(model) ? model.bf : Number(1.0));
  t.leak_reverse = kJunctionLeak * (is_ideal(model) ? model.br : Number(1.0));
  t.critical = critical_volts(t.is, t.nvt_forward);
  return t;
}

/// Collector and base current with their derivatives. Ampere and siemens.
template <class Number>
struct BipolarConductionOf {
  Number collector{};  ///< Into the collector (NPN sense).
  Number base{};       ///< Into the base (NPN sense).
  Number collector_by_be{};
  Number collector_by_bc{};
  Number base_by_be{};
  Number base_by_bc{};
};
using BipolarConduction = BipolarConductionOf<double>;

/// What high injection leaves of the transport current, h of `conduct`.
template <class Number>
struct HighInjection {
  Number share{1.0};
  Number fall{0.0};  ///< -dh/df. 1/A.
};

template <class Mask, class Number>
[[nodiscard]] HighInjection<Number> select(const Mask& mask,
                                           const HighInjection<Number>& a,
                                           const HighInjection<Number>& b) {
  return {select(mask, a.share, b.share), select(mask, a.fall, b.fall)};
}

/// What stands under the root is kept at or above 1e-3.
template <class Number>
[[nodiscard]] HighInjection<Number> high_injection(const Number& inverse_knee,
                                                   const Number& forward) {
  using std::sqrt;
  const Number charge = 1.0 + 4.0 * inverse_knee * forward;
  const auto is_low = charge < 1e-3;
  const Number root = sqrt(select(is_low, Number(1e-3), charge));
  const Number share = 2.0 / (1.0 + root);
  return {share, select(is_low, Number(0.0), share * share * inverse_knee / root)};
}

/// Ebers-Moll transport form with the Early effect and the base charge of high
/// injection, in the NPN sense:
///
///   f = is (exp(vbe/nvt_forward) - 1),  r = is (exp(vbc/nvt_reverse) - 1)
///   e = 1 - vbc/vaf,  h = 2 / (1 + sqrt(1 + 4 f / ikf))
///   collector = (f - r) e h - r/br,   base = f/bf + r/br
///
/// so that without the Early effect an active transistor carries bf/(1 + IC/ikf) times
/// its base current,
/// with the reverse law of `junction` below -3 nvt and a leak across both junctions: f
/// and r each carry kJunctionLeak times their voltage; in an ideal transistor (see
/// is_ideal) f/bf and r/br do, the currents of the two diodes that stand for it in the
/// deck [ngspice manual 39, BJT models (Gummel-Poon, of high injection the forward
/// part); H. Gummel, H. Poon, "An integral charge control model of bipolar
/// transistors", Bell Syst. Tech. J. 49 (1970) 827; from memory]. e, and what stands
/// under the root, are kept at or above 1e-3. Finite for any finite input.
template <class Number>
[[nodiscard]] BipolarConductionOf<Number> conduct(const BipolarAtOf<Number>& t,
                                                  std::type_identity_t<Number> vbe,
                                                  std::type_identity_t<Number> vbc) {
  const Number be = bounded(vbe, -kLargestVolts, kLargestVolts);
  const Number bc = bounded(vbc, -kLargestVolts, kLargestVolts);
  ConductionOf<Number> f = junction_law(t.is, t.nvt_forward, be);
  ConductionOf<Number> r = junction_law(t.is, t.nvt_reverse, bc);
  f = {f.amps + t.leak_forward * be, f.siemens + t.leak_forward};
  r = {r.amps + t.leak_reverse * bc, r.siemens + t.leak_reverse};
  const Number whole = 1.0 - bc * t.inverse_early;
  const auto is_cut = whole < 1e-3;
  const Number early = select(is_cut, Number(1e-3), whole);
  const Number early_slope = select(is_cut, Number(0.0), -t.inverse_early);
  const Number transport = f.amps - r.amps;
  const auto h = either(
      t.inverse_knee <= 0.0, [] { return HighInjection<Number>(); },
      [&] { return high_injection<Number>(t.inverse_knee, f.amps); });
  BipolarConductionOf<Number> c;
  c.collector = transport * early * h.share - r.amps / t.br;
  c.collector_by_be = early * f.siemens * (h.share - transport * h.fall);
  c.collector_by_bc =
      h.share * (transport * early_slope - r.siemens * early) - r.siemens / t.br;
  c.base = f.amps / t.bf + r.amps / t.br;
  c.base_by_be = f.siemens / t.bf;
  c.base_by_bc = r.siemens / t.br;
  return c;
}

}  // namespace benchproof
