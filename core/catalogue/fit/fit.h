#pragma once

#include <optional>
#include <span>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/catalogue/model.h"

namespace benchproof {

/// The voltage across a diode that carries `amps` (> 0) forward:
///
///     V = n vt ln(I / is + 1) + I rs
///
/// `celsius` moves the saturation current by the rule of the ngspice manual, chapter 7:
/// is (T/tnom)^(xti/n) exp((T/tnom - 1) eg / (n vt)), with vt = kT/q at T.
[[nodiscard]] double voltage_at(const DiodeModel& model, double amps, double celsius);

/// What is known of a forward curve besides its points.
struct ForwardShape {
  /// Emission coefficient, if not to be fitted.
  std::optional<double> n = {};
  /// Series resistance, if not to be fitted. Ohm, >= 0.
  std::optional<double> rs = {};
  double eg = 1.11;  ///< Activation energy. Electronvolt.
  double xti = 3.0;  ///< Exponent of the saturation current's rule.
  /// dV/dT at the last point's current, which then replaces eg. V/K.
  std::optional<double> drift = {};
};

struct ForwardFit {
  DiodeModel model;            ///< tnom is 25, no breakdown.
  std::vector<double> errors;  ///< Per point: model minus published. Volt.
  double worst = 0.0;          ///< Largest magnitude among them. Volt.
};

/// Bounds of a believable emission coefficient. Silicon junctions have 1 to 2; light
/// emitting ones reach 4 and more over wide ranges of current (Shah et al.,
/// "Experimental analysis and theoretical model for anomalously high ideality factors
/// in AlGaN/GaN p-n junction diodes", J. Appl. Phys. 94, 2003; from memory).
inline constexpr double kLeastEmission = 0.5;
inline constexpr double kMostEmission = 6.0;

/// Finds `is`, and `n` and `rs` where the shape leaves them open, from points at 25 C.
///
/// - One point: n must be given, rs is 0 unless given; the curve passes through it.
/// - Two points: n is fitted, with rs as given or 0; if n is given and rs is not, rs is
///   fitted; the curve passes through both, unless that needs a negative rs.
/// - Three and more: least squares in volts, every point of equal weight, over ln is, n
///   and rs >= 0, those that are not given (Gauss-Newton with step halving).
///
/// With `drift`, eg follows from dV/dT = (Vj - eg - xti vt) / T, which is the rule
/// above differentiated at constant current; Vj is the junction's share of the voltage.
/// @throws std::invalid_argument where there are too few points for what is open, where
///         a point is not positive and finite, or where n leaves its bounds.
[[nodiscard]] ForwardFit fit_forward(std::span<const ForwardPoint> points,
                                     const ForwardShape& shape);

/// A zener's published breakdown.
struct ZenerSheet {
  double volts = 0.0;                     ///< VZ at the test current. Volt, > 0.
  double test_amps = 0.0;                 ///< IZT. Ampere, > 0.
  double slope = 0.0;                     ///< rz, dV/dI at IZT. Ohm, > 0.
  std::optional<double> knee_slope = {};  ///< rzk, dV/dI at the knee current. Ohm.
  double knee_amps = 1e-3;                ///< IZK. Ampere, > 0, below IZT.
  ForwardPoint forward;                   ///< One point of the forward curve.
  double n = 1.5;  ///< Emission coefficient of the forward curve.
};

/// A diode with breakdown that has V = VZ and dV/dI = rz at IZT, by
/// rz(I) = nbv vt / I + rs.
///
/// Where rzk is known, nbv and rs are those that meet it too, if rs comes out >= 0;
/// else rs is 0 and nbv meets rz alone (published knees are often steeper than any such
/// curve). The exponential must reach `is` before the reverse voltage falls below 0.5
/// V, or it would run into the forward curve: where it does not, nbv is lowered and rs
/// takes the rest of rz. Then bv = VZ - IZT rs at ibv = IZT.
///
/// `rs` stands in the forward path as well: the junction keeps at least 0.7 V of the
/// forward point, so a zener with a large rs shows a higher forward voltage than its
/// sheet (never a lower one).
/// @throws std::invalid_argument for figures that are not positive and finite, or where
///         VZ - IZT rz leaves less than 0.5 V.
[[nodiscard]] DiodeModel fit_zener(const ZenerSheet& sheet);

/// The least gain that is published at a collector current.
struct GainPoint {
  double collector_amps = 0.0;
  double gain = 0.0;
};

/// The largest collector-emitter voltage that is published of a saturated transistor.
struct SaturationPoint {
  double collector_amps = 0.0;
  double base_amps = 0.0;
  double volts = 0.0;
};

/// A bipolar transistor's published figures. Magnitudes, for a PNP too.
struct BipolarSheet {
  bool is_pnp = false;
  double base_volts = 0.0;      ///< VBE at `collector_amps`. Volt.
  double collector_amps = 0.0;  ///< Ampere.
  double gain = 0.0;          ///< hFE; the least published one is the cautious choice.
  double gain_amps = 0.0;     ///< Collector current of `gain`. Ampere.
  double reverse_gain = 1.0;  ///< Seldom published.
  std::vector<GainPoint> gains = {};
  std::vector<SaturationPoint> saturations = {};
};

/// The collector-emitter voltage of a transistor that is saturated by a base current,
/// at 25 C; magnitudes, for a PNP too.
/// @throws std::invalid_argument where the base current does not saturate it.
[[nodiscard]] double saturation_volts(const BipolarModel& model, double collector_amps,
                                      double base_amps);

/// nf = nr = 1, bf is the gain given, and there is no Early effect (no sheet of
/// reference/parts/ publishes one); tnom is 25.
///
/// - ikf is the greatest with which the gain, bf / (1 + IC/ikf), passes none of `gains`
///   above `gain_amps`; infinite where none of them is below bf.
/// - is = IC (1 + IC/ikf) / (exp(VBE / vt) - 1).
/// - rc is the greatest with which the voltage of the saturated junctions and IC rc
///   pass none of `saturations`; 0 where the junctions alone do, or there are none.
///
/// @throws std::invalid_argument for figures that are not positive and finite, or a
///         saturation point whose base current is too small for its collector current.
[[nodiscard]] BipolarModel fit_bipolar(const BipolarSheet& sheet);

/// The largest on resistance that is published at a gate voltage and a drain current.
struct OnPoint {
  double gate_volts = 0.0;
  double drain_amps = 0.0;
  double resistance = 0.0;
};

/// A MOS transistor's published figures. Magnitudes, for a p-channel too.
struct MosSheet {
  bool is_p_channel = false;
  double threshold =
      0.0;  ///< VGS(th); the highest published one is the cautious choice.
  double resistance = 0.0;  ///< RDS(on). Ohm.
  double gate_volts = 0.0;  ///< VGS of RDS(on), above the threshold. Volt.
  double drain_amps = 0.0;  ///< ID of RDS(on); 0: small against saturation. Ampere.
  std::vector<OnPoint> further = {};
  std::optional<DiodeModel> body = {};
};

/// VDS / ID of a transistor that is on, at 25 C: rd and the channel in its triode
/// region, ID = kp ((VGS - vto) VDS - VDS^2 / 2), for ID = 0 the limit. Magnitudes, for
/// a p-channel too. Ohm; not a number where the channel does not carry that current.
[[nodiscard]] double on_ohms(const MosModel& model, double gate_volts,
                             double drain_amps);

/// kp and rd such that `on_ohms` is RDS(on) at the published gate voltage and current.
/// rd is what of the resistance stays however high the gate's voltage is: the greatest
/// with which it passes none of the further points at higher gate voltages, up to nine
/// tenths of RDS(on), and comes no further below the lower ones than below those. 0
/// where there are none above. lambda and rs are 0.
/// @throws std::invalid_argument for figures that are not positive and finite, a gate
///         voltage at or below the threshold, or a point outside the triode region.
[[nodiscard]] MosModel fit_mos(const MosSheet& sheet);

}  // namespace benchproof
