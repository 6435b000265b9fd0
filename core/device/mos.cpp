#include "core/device/mos.h"

#include <cmath>

namespace benchproof {
namespace {

constexpr double kReference = 300.15;          // kelvin, where `phi` is 0.6 V
constexpr double kSurfacePotential = 0.6;      // volt
constexpr double kGapAtReference = 1.1150877;  // electronvolt

/// Band gap of silicon. Electronvolt.
double band_gap(double kelvin) {
  return 1.16 - 7.02e-4 * kelvin * kelvin / (kelvin + 1108.0);
}

/// How far the surface potential moves from the reference to `kelvin`, before scaling.
double potential_shift(double kelvin) {
  const double kt = kBoltzmann * kelvin / kElementaryCharge;
  const double kt_reference = kBoltzmann * kReference / kElementaryCharge;
  return -2.0 * kt *
         (1.5 * std::log(kelvin / kReference) - band_gap(kelvin) / (2.0 * kt) +
          kGapAtReference / (2.0 * kt_reference));
}

}  // namespace

MosAt at(const MosModel& model, double celsius) {
  const double kelvin = celsius + kZeroCelsius;
  const double nominal = model.tnom + kZeroCelsius;
  MosAt t;
  t.sign = model.is_p_channel ? -1.0 : 1.0;
  t.kp = model.kp * std::pow(kelvin / nominal, -1.5);
  t.lambda = model.lambda;
  const double at_reference =
      (kSurfacePotential - potential_shift(nominal)) / (nominal / kReference);
  const double potential = kelvin / kReference * at_reference + potential_shift(kelvin);
  const double moved = model.vto + 0.5 * (band_gap(nominal) - band_gap(kelvin)) +
                       t.sign * 0.5 * (potential - kSurfacePotential);
  t.threshold = t.sign * (celsius == model.tnom ? model.vto : moved);
  return t;
}

}  // namespace benchproof
