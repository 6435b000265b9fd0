#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <type_traits>

#include "core/catalogue/model.h"
#include "core/device/constants.h"
#include "core/device/exponential.h"

namespace benchproof {

/// A MOS model moved to one temperature.
///
/// Temperature rules [H. Shichman, D. Hodges, IEEE J. Solid-State Circuits 3 (1968)
/// 285; A. Vladimirescu, S. Liu, memorandum UCB/ERL M80/7 (1980); verified against the
/// engine to 1e-12]: kp goes with (T/tnom)^-1.5, the threshold moves with half the
/// change of band gap and surface potential.
template <class Number>
struct MosAtOf {
  Number sign{1.0};    ///< 1 for n-channel, -1 for p-channel.
  Number threshold{};  ///< In the n-channel sense. Volt.
  Number kp{};         ///< A/V^2.
  Number lambda{};     ///< 1/V.
  Number rd{};         ///< Ohm.
  Number rs{};         ///< Ohm.
};
using MosAt = MosAtOf<double>;

inline constexpr double kMosReference = 300.15;     ///< Kelvin.
inline constexpr double kSurfacePotential = 0.6;    ///< At the reference. Volt.
inline constexpr double kReferenceGap = 1.1150877;  ///< There. Electronvolt.

/// Band gap of silicon. Electronvolt.
template <class Number>
[[nodiscard]] Number band_gap(Number kelvin) {
  return 1.16 - 7.02e-4 * kelvin * kelvin / (kelvin + 1108.0);
}

/// How far the surface potential moves from the reference to `kelvin`, before scaling.
/// Volt.
template <class Number>
[[nodiscard]] Number potential_shift(Number kelvin) {
  using std::log;
  const Number kt = kBoltzmann * kelvin / kElementaryCharge;
  const double kt_reference = kBoltzmann * kMosReference / kElementaryCharge;
  return -2.0 * kt *
         (1.5 * log(kelvin / kMosReference) - band_gap(kelvin) / (2.0 * kt) +
          kReferenceGap / (2.0 * kt_reference));
}

template <class Number>
[[nodiscard]] MosAtOf<Number> at(const MosModelOf<Number>& model,
                                 std::type_identity_t<Number> celsius) {
  using std::pow;
  const Number kelvin = celsius + kZeroCelsius;
  const Number nominal = model.tnom + kZeroCelsius;
  MosAtOf<Number> t;
  t.sign = model.is_p_channel ? -1.0 : 1.0;
  t.kp = model.kp * pow(kelvin / nominal, -1.5);
  t.lambda = model.lambda;
  t.rd = model.rd;
  t.rs = model.rs;
  const Number at_reference =
      (kSurfacePotential - potential_shift(nominal)) / (nominal / kMosReference);
  const Number potential =
      kelvin / kMosReference * at_reference + potential_shift(kelvin);
  const Number moved = model.vto + 0.5 * (band_gap(nominal) - band_gap(kelvin)) +
                       t.sign * 0.5 * (potential - kSurfacePotential);
  t.threshold = t.sign * (celsius == model.tnom ? model.vto : moved);
  return t;
}

/// Drain current with its derivatives. Ampere and siemens.
template <class Number>
struct MosConductionOf {
  Number drain{};     ///< Into the drain (n-channel sense), out of the source.
  Number by_gate{};   ///< d/d vgs
  Number by_drain{};  ///< d/d vds
};
using MosConduction = MosConductionOf<double>;

template <class Mask, class Number>
[[nodiscard]] MosConductionOf<Number> select(const Mask& mask,
                                             const MosConductionOf<Number>& a,
                                             const MosConductionOf<Number>& b) {
  return {select(mask, a.drain, b.drain), select(mask, a.by_gate, b.by_gate),
          select(mask, a.by_drain, b.by_drain)};
}

/// The square law of `channel` where vds >= 0, without the leak.
template <class Number>
[[nodiscard]] MosConductionOf<Number> forward_channel(const MosAtOf<Number>& t,
                                                      Number vgs, Number vds) {
  using Result = MosConductionOf<Number>;
  const Number over = vgs - t.threshold;
  const Number slope = t.kp * (1.0 + t.lambda * vds);
  const auto linear = [&]() -> Result {
    const Number shape = vds * (over - 0.5 * vds);
    return {slope * shape, slope * vds, slope * (over - vds) + t.kp * t.lambda * shape};
  };
  const auto saturated = [&]() -> Result {
    const Number shape = 0.5 * over * over;
    return {slope * shape, slope * over, t.kp * t.lambda * shape};
  };
  return either(
      over <= 0.0, [] { return Result(); },
      [&] { return either(vds < over, linear, saturated); });
}

/// The channel alone, without the resistances in series with it: the square law in the
/// n-channel sense, drain and source changing roles below vds = 0;
/// with o = vgs - threshold and b = kp (1 + lambda vds):
///
///   o <= 0: 0;   vds < o: b vds (o - vds/2);   else: b o^2 / 2
///
/// plus kJunctionLeak * vds, the leak of the drain junction. |v| is taken as at most
/// 1e30 V, so that any finite input gives a finite result.
template <class Number>
[[nodiscard]] MosConductionOf<Number> channel(const MosAtOf<Number>& t,
                                              std::type_identity_t<Number> vgs,
                                              std::type_identity_t<Number> vds) {
  using Result = MosConductionOf<Number>;
  const Number gs = bounded(vgs, -kLargestVolts, kLargestVolts);
  const Number ds = bounded(vds, -kLargestVolts, kLargestVolts);
  Result c = either(
      ds >= 0.0, [&] { return forward_channel<Number>(t, gs, ds); },
      [&]() -> Result {
        const Result r = forward_channel<Number>(t, gs - ds, -ds);
        return {-r.drain, -r.by_gate, r.by_gate + r.by_drain};
      });
  c.drain = c.drain + kJunctionLeak * ds;
  c.by_drain = c.by_drain + kJunctionLeak;
  return c;
}

/// What drives a MOS transistor, in the n-channel sense. Volt.
template <class Number>
struct MosVolts {
  Number gs{};
  Number ds{};
};

/// What the channel sees of the terminals' voltages while `drain` flows: vgs - rs drain
/// and vds - (rd + rs) drain.
template <class Number>
[[nodiscard]] MosVolts<Number> behind_resistances(const MosAtOf<Number>& t,
                                                  const MosVolts<Number>& ends,
                                                  std::type_identity_t<Number> drain) {
  return {ends.gs - t.rs * drain, ends.ds - (t.rd + t.rs) * drain};
}

/// How much of what the channel alone would have moves the terminals' current, for the
/// resistances answer: 1 / (1 + rs by_gate + (rd + rs) by_drain), from 0 to 1.
template <class Number>
[[nodiscard]] Number share_behind_resistances(const MosAtOf<Number>& t,
                                              const MosConductionOf<Number>& channel) {
  return 1.0 / (1.0 + t.rs * channel.by_gate + (t.rd + t.rs) * channel.by_drain);
}

/// The whole transistor, its resistances included, at its terminals' voltages: solves
/// drain = channel(vgs - rs drain, vds - (rd + rs) drain) to rounding. One number, not
/// lanes. Finite for any finite input.
template <class Number>
[[nodiscard]] MosConductionOf<Number> conduct(const MosAtOf<Number>& t,
                                              std::type_identity_t<Number> vgs,
                                              std::type_identity_t<Number> vds) {
  using Result = MosConductionOf<Number>;
  using std::abs;
  const Number rounding = 4.0 * std::numeric_limits<Number>::epsilon();
  const Number ohms = t.rd + t.rs;
  if (ohms == 0.0) return channel(t, vgs, vds);
  const MosVolts<Number> ends{bounded(vgs, -kLargestVolts, kLargestVolts),
                              bounded(vds, -kLargestVolts, kLargestVolts)};
  // The channel gives the less the more flows, so that there is one answer. It lies
  // between 0 and what the channel alone would carry, and no further out than the
  // resistances alone would let flow: Newton from there, inside a bracket that shrinks.
  const Number alone = channel(t, ends.gs, ends.ds).drain;
  const Number most = ends.ds / ohms;
  Number low = ends.ds < 0.0 ? std::max<Number>(alone, most) : Number(0.0);
  Number high = ends.ds < 0.0 ? Number(0.0) : std::min<Number>(alone, most);
  Number drain = ends.ds < 0.0 ? low : high;
  Result c;
  Number share{1.0};
  for (int i = 0; i < 400; ++i) {
    const MosVolts<Number> inside = behind_resistances<Number>(t, ends, drain);
    c = channel(t, inside.gs, inside.ds);
    share = share_behind_resistances(t, c);
    const Number excess = drain - c.drain;
    (excess > 0.0 ? high : low) = drain;
    Number next = drain - excess * share;
    if (!(next > low && next < high)) {
      // Rounding alone leads out of the bracket beside the answer.
      if (abs(next - drain) <= rounding * abs(drain)) break;
      next = 0.5 * (low + high);
    }
    if (next == drain) break;
    drain = next;
  }
  return {drain, c.by_gate * share, c.by_drain * share};
}

}  // namespace benchproof
