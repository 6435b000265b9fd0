#pragma once

#include "core/catalogue/model.h"

namespace benchproof {

/// A MOS model moved to one temperature.
///
/// Temperature rules [H. Shichman, D. Hodges, IEEE J. Solid-State Circuits 3 (1968)
/// 285; A. Vladimirescu, S. Liu, memorandum UCB/ERL M80/7 (1980); verified against the
/// engine to 1e-12]: kp goes with (T/tnom)^-1.5, the threshold moves with half the
/// change of band gap and surface potential.
struct MosAt {
  double sign = 1.0;       ///< 1 for n-channel, -1 for p-channel.
  double threshold = 0.0;  ///< In the n-channel sense. Volt.
  double kp = 0.0;         ///< A/V^2.
  double lambda = 0.0;     ///< 1/V.
};

[[nodiscard]] MosAt at(const MosModel& model, double celsius);

/// Drain current with its derivatives. Ampere and siemens.
struct MosConduction {
  double drain = 0.0;     ///< Into the drain (n-channel sense), out of the source.
  double by_gate = 0.0;   ///< d/d vgs
  double by_drain = 0.0;  ///< d/d vds
};

/// Square law in the n-channel sense, drain and source changing roles below vds = 0;
/// with o = vgs - threshold and b = kp (1 + lambda vds):
///
///   o <= 0: 0;   vds < o: b vds (o - vds/2);   else: b o^2 / 2
///
/// plus kJunctionLeak * vds, the leak of the drain junction. |v| is taken as at most
/// 1e30 V, so that any finite input gives a finite result.
[[nodiscard]] MosConduction conduct(const MosAt& transistor, double vgs, double vds);

}  // namespace benchproof
