#pragma once

#include <limits>
#include <optional>

namespace benchproof {

/// Below this emission coefficient a model is no real junction but a textbook's ideal:
/// the temperature rule, which divides by it, has no meaning there, and its current is
/// not determined by voltages as precisely as others are.
inline constexpr double kLeastRealEmission = 0.5;

// A model's capacitances are constant, hold at zero bias and have no effect at rest. No
// value: the model does not tell (core/circuit/capacitance.h says what holds then).

/// Parameters of a junction diode by the trade's usual names, in SI units. They hold at
/// `tnom`; core/device/ says how they move with temperature.
struct DiodeModel {
  double is = 1e-14;  ///< Saturation current. Ampere, > 0.
  double n = 1.0;     ///< Emission coefficient, > 0.
  double rs = 0.0;    ///< Series resistance. Ohm, >= 0.
  double bv = std::numeric_limits<double>::infinity();  ///< Breakdown. Volt, > 0.
  double ibv = 1e-3;   ///< Current at `bv`. Ampere, > 0.
  double nbv = 1.0;    ///< Emission coefficient in breakdown, > 0.
  double eg = 1.11;    ///< Activation energy. Electronvolt.
  double xti = 3.0;    ///< Exponent of the saturation current's temperature rule.
  double tnom = 27.0;  ///< Degrees Celsius.
  std::optional<double> cjo = {};  ///< Junction capacitance. Farad, >= 0.
  bool operator==(const DiodeModel&) const = default;
};

/// Parameters of a bipolar transistor: Ebers-Moll transport form with the Early effect.
struct BipolarModel {
  bool is_pnp = false;
  double is = 1e-16;  ///< Transport saturation current. Ampere, > 0.
  double bf = 100.0;  ///< Forward current gain, > 0.
  double br = 1.0;    ///< Reverse current gain, > 0.
  double nf = 1.0;    ///< Forward emission coefficient, > 0.
  double nr = 1.0;    ///< Reverse emission coefficient, > 0.
  double vaf = std::numeric_limits<double>::infinity();  ///< Early voltage. Volt, > 0.
  double eg = 1.11;    ///< Activation energy. Electronvolt.
  double xti = 3.0;    ///< Exponent of the saturation current's temperature rule.
  double tnom = 27.0;  ///< Degrees Celsius.
  std::optional<double> cje = {};  ///< Base-emitter capacitance. Farad, >= 0.
  std::optional<double> cjc = {};  ///< Base-collector capacitance. Farad, >= 0.
  bool operator==(const BipolarModel&) const = default;
};

/// Whether a transistor is a textbook's ideal: junctions as steep as switches.
[[nodiscard]] inline bool is_ideal(const BipolarModel& m) {
  return (m.nf < m.nr ? m.nf : m.nr) < kLeastRealEmission;
}

/// Parameters of a MOS transistor (Shichman-Hodges, body tied to the source).
struct MosModel {
  bool is_p_channel = false;
  double vto = 0.0;     ///< Threshold. Volt; negative for an enhancement p-channel.
  double kp = 2e-5;     ///< Transconductance of the whole device. A/V^2, > 0.
  double lambda = 0.0;  ///< Channel-length modulation. 1/V, >= 0.
  double rd = 0.0;      ///< Drain resistance. Ohm, >= 0.
  double rs = 0.0;      ///< Source resistance. Ohm, >= 0.
  double tnom = 27.0;   ///< Degrees Celsius.
  std::optional<DiodeModel> body =
      {};  ///< The diode across the channel, where there is one.
  std::optional<double> cgs = {};  ///< Gate-source capacitance. Farad, >= 0.
  std::optional<double> cgd = {};  ///< Gate-drain capacitance. Farad, >= 0.
  std::optional<double> cds = {};  ///< Drain-source capacitance. Farad, >= 0.
  bool operator==(const MosModel&) const = default;
};

/// A coil: its inductance in series with its winding, and beside the inductance alone
/// what its core loses.
struct CoilModel {
  double henries = 1.0;  ///< > 0.
  double ohms = 0.0;     ///< Of the winding, >= 0.
  double siemens = 0.0;  ///< Of the core's loss, >= 0; 0 for none.
  bool operator==(const CoilModel&) const = default;
};

[[nodiscard]] inline bool is_wound(const CoilModel& m) { return m.ohms > 0.0; }

/// A series voltage regulator seen from its three pins.
struct RegulatorModel {
  double output = 5.0;      ///< Set voltage from common to out. Volt, > 0.
  double dropout = 2.0;     ///< Least difference from in to out. Volt, >= 0.
  double limit = 1.5;       ///< Current limit. Ampere, > 0.
  double quiescent = 0.0;   ///< Current into in that leaves at common. Ampere, >= 0.
  double resistance = 0.0;  ///< Output resistance (load regulation). Ohm, >= 0.
  double line = 0.0;        ///< Output change per volt of input. V/V.
  double line_reference = 0.0;  ///< Input at which `output` holds. Volt.
  /// All voltages and currents the other way round: in and out lie below common.
  bool is_negative = false;
  /// Its output is its input, which has its limit and nothing else of a regulator:
  /// current may flow back.
  bool follows = false;
  bool operator==(const RegulatorModel&) const = default;
};

}  // namespace benchproof
