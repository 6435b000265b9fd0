#pragma once

#include <array>
#include <limits>
#include <optional>
#include <string_view>

namespace benchproof {

/// Below this emission coefficient a model is no real junction but a textbook's ideal:
/// the temperature rule, which divides by it, has no meaning there, and its current is
/// not determined by voltages as precisely as others are.
inline constexpr double kLeastRealEmission = 0.5;

/// One of the numbers that a model's equations at rest go by, with its name.
template <class Model, class Number>
struct ModelNumber {
  std::string_view name;
  Number Model::*member;
};

// Models are templates over these numbers, so that the equations can tell how what they
// say moves with each of them (core/device/dual.h). kNumbers lists them.
//
// A model's capacitances are constant, hold at zero bias and have no effect at rest. No
// value: the model does not tell (core/circuit/capacitance.h says what holds then).

/// Parameters of a junction diode by the trade's usual names, in SI units. They hold at
/// `tnom`; core/device/ says how they move with temperature.
template <class Number>
struct DiodeModelOf {
  Number is = 1e-14;  ///< Saturation current. Ampere, > 0.
  Number n = 1.0;     ///< Emission coefficient, > 0.
  Number rs = 0.0;    ///< Series resistance. Ohm, >= 0.
  Number bv = std::numeric_limits<double>::infinity();  ///< Breakdown. Volt, > 0.
  Number ibv = 1e-3;   ///< Current at `bv`. Ampere, > 0.
  Number nbv = 1.0;    ///< Emission coefficient in breakdown, > 0.
  Number eg = 1.11;    ///< Activation energy. Electronvolt.
  Number xti = 3.0;    ///< Exponent of the saturation current's temperature rule.
  Number tnom = 27.0;  ///< Degrees Celsius.
  std::optional<double> cjo = {};  ///< Junction capacitance. Farad, >= 0.
  bool operator==(const DiodeModelOf&) const = default;

  static constexpr std::array<ModelNumber<DiodeModelOf, Number>, 9> kNumbers{{
      {"is", &DiodeModelOf::is},
      {"n", &DiodeModelOf::n},
      {"rs", &DiodeModelOf::rs},
      {"bv", &DiodeModelOf::bv},
      {"ibv", &DiodeModelOf::ibv},
      {"nbv", &DiodeModelOf::nbv},
      {"eg", &DiodeModelOf::eg},
      {"xti", &DiodeModelOf::xti},
      {"tnom", &DiodeModelOf::tnom},
  }};
};
using DiodeModel = DiodeModelOf<double>;

/// Parameters of a bipolar transistor: Ebers-Moll transport form with the Early effect
/// and a gain that falls at high current.
template <class Number>
struct BipolarModelOf {
  bool is_pnp = false;
  Number is = 1e-16;  ///< Transport saturation current. Ampere, > 0.
  Number bf = 100.0;  ///< Forward current gain, > 0.
  Number br = 1.0;    ///< Reverse current gain, > 0.
  Number nf = 1.0;    ///< Forward emission coefficient, > 0.
  Number nr = 1.0;    ///< Reverse emission coefficient, > 0.
  Number vaf = std::numeric_limits<double>::infinity();  ///< Early voltage. Volt, > 0.
  /// Knee current: the gain is bf / (1 + IC/ikf). Ampere, > 0. Ideal transistors have
  /// none.
  Number ikf = std::numeric_limits<double>::infinity();
  Number eg = 1.11;    ///< Activation energy. Electronvolt.
  Number xti = 3.0;    ///< Exponent of the saturation current's temperature rule.
  Number tnom = 27.0;  ///< Degrees Celsius.
  double rc = 0.0;     ///< Collector resistance. Ohm, >= 0.
  std::optional<double> cje = {};  ///< Base-emitter capacitance. Farad, >= 0.
  std::optional<double> cjc = {};  ///< Base-collector capacitance. Farad, >= 0.
  bool operator==(const BipolarModelOf&) const = default;

  static constexpr std::array<ModelNumber<BipolarModelOf, Number>, 10> kNumbers{{
      {"is", &BipolarModelOf::is},
      {"bf", &BipolarModelOf::bf},
      {"br", &BipolarModelOf::br},
      {"nf", &BipolarModelOf::nf},
      {"nr", &BipolarModelOf::nr},
      {"vaf", &BipolarModelOf::vaf},
      {"ikf", &BipolarModelOf::ikf},
      {"eg", &BipolarModelOf::eg},
      {"xti", &BipolarModelOf::xti},
      {"tnom", &BipolarModelOf::tnom},
  }};
};
using BipolarModel = BipolarModelOf<double>;

/// Whether a transistor is a textbook's ideal: junctions as steep as switches.
template <class Number>
[[nodiscard]] bool is_ideal(const BipolarModelOf<Number>& m) {
  return (m.nf < m.nr ? m.nf : m.nr) < kLeastRealEmission;
}

/// Parameters of a MOS transistor (Shichman-Hodges, body tied to the source).
template <class Number>
struct MosModelOf {
  bool is_p_channel = false;
  Number vto = 0.0;     ///< Threshold. Volt; negative for an enhancement p-channel.
  Number kp = 2e-5;     ///< Transconductance of the whole device. A/V^2, > 0.
  Number lambda = 0.0;  ///< Channel-length modulation. 1/V, >= 0.
  Number rd = 0.0;      ///< Drain resistance. Ohm, >= 0.
  Number rs = 0.0;      ///< Source resistance. Ohm, >= 0.
  Number tnom = 27.0;   ///< Degrees Celsius.
  std::optional<DiodeModel> body =
      {};  ///< The diode across the channel, where there is one.
  std::optional<double> cgs = {};  ///< Gate-source capacitance. Farad, >= 0.
  std::optional<double> cgd = {};  ///< Gate-drain capacitance. Farad, >= 0.
  std::optional<double> cds = {};  ///< Drain-source capacitance. Farad, >= 0.
  bool operator==(const MosModelOf&) const = default;

  static constexpr std::array<ModelNumber<MosModelOf, Number>, 6> kNumbers{{
      {"vto", &MosModelOf::vto},
      {"kp", &MosModelOf::kp},
      {"lambda", &MosModelOf::lambda},
      {"rd", &MosModelOf::rd},
      {"rs", &MosModelOf::rs},
      {"tnom", &MosModelOf::tnom},
  }};
};
using MosModel = MosModelOf<double>;

/// A coil: its inductance in series with its winding, and beside the inductance alone
/// what its core loses.
template <class Number>
struct CoilModelOf {
  Number henries = 1.0;  ///< > 0.
  Number ohms = 0.0;     ///< Of the winding, >= 0.
  Number siemens = 0.0;  ///< Of the core's loss, >= 0; 0 for none.
  bool operator==(const CoilModelOf&) const = default;

  static constexpr std::array<ModelNumber<CoilModelOf, Number>, 3> kNumbers{{
      {"henries", &CoilModelOf::henries},
      {"ohms", &CoilModelOf::ohms},
      {"siemens", &CoilModelOf::siemens},
  }};
};
using CoilModel = CoilModelOf<double>;

[[nodiscard]] inline bool is_wound(const CoilModel& m) { return m.ohms > 0.0; }

/// A series voltage regulator seen from its three pins.
template <class Number>
struct RegulatorModelOf {
  Number output = 5.0;      ///< Set voltage from common to out. Volt, > 0.
  Number dropout = 2.0;     ///< Least difference from in to out. Volt, >= 0.
  Number limit = 1.5;       ///< Current limit. Ampere, > 0.
  Number quiescent = 0.0;   ///< Current into in that leaves at common. Ampere, >= 0.
  Number resistance = 0.0;  ///< Output resistance (load regulation). Ohm, >= 0.
  Number line = 0.0;        ///< Output change per volt of input. V/V.
  Number line_reference = 0.0;  ///< Input at which `output` holds. Volt.
  /// All voltages and currents the other way round: in and out lie below common.
  bool is_negative = false;
  /// Its output is its input, which has its limit and nothing else of a regulator:
  /// current may flow back.
  bool follows = false;
  bool operator==(const RegulatorModelOf&) const = default;

  static constexpr std::array<ModelNumber<RegulatorModelOf, Number>, 7> kNumbers{{
      {"output", &RegulatorModelOf::output},
      {"dropout", &RegulatorModelOf::dropout},
      {"limit", &RegulatorModelOf::limit},
      {"quiescent", &RegulatorModelOf::quiescent},
      {"resistance", &RegulatorModelOf::resistance},
      {"line", &RegulatorModelOf::line},
      {"line_reference", &RegulatorModelOf::line_reference},
  }};
};
using RegulatorModel = RegulatorModelOf<double>;

}  // namespace benchproof
