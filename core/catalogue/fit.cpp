#include "core/catalogue/fit.h"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace benchproof {
namespace {

// The engine's own constants (CODATA 2014), so that both witnesses share vt.
constexpr double kBoltzmann = 1.38064852e-23;  // J/K
constexpr double kCharge = 1.6021766208e-19;   // C
constexpr double kKelvin = 273.15;             // K at 0 C
constexpr double kFitCelsius = 25.0;

double thermal_volts(double celsius) {
  return kBoltzmann * (celsius + kKelvin) / kCharge;
}

void require_positive(double value, const char* what) {
  if (!(std::isfinite(value) && value > 0)) {
    throw std::invalid_argument(
        fmt::format("{} must be positive and finite, not {}", what, value));
  }
}

/// The unknowns of a forward curve, and which of them are fitted.
struct Curve {
  double log_is = 0.0;
  double n = 1.0;
  double rs = 0.0;
};

double volts_of(const Curve& curve, double amps) {
  const double junction =
      curve.n * thermal_volts(kFitCelsius) * std::log1p(amps * std::exp(-curve.log_is));
  return junction + amps * curve.rs;
}

double sum_of_squares(std::span<const ForwardPoint> points, const Curve& curve) {
  double sum = 0.0;
  for (const ForwardPoint& point : points) {
    const double error = volts_of(curve, point.amps) - point.volts;
    sum += error * error;
  }
  return sum;
}

/// A start: V = n vt (ln I - ln is) + I rs, which is linear in (n, n ln is, rs).
Curve start_curve(std::span<const ForwardPoint> points, const ForwardShape& shape,
                  bool fit_n, bool fit_rs) {
  const double vt = thermal_volts(kFitCelsius);
  const auto rows = static_cast<Eigen::Index>(points.size());
  const int columns = 1 + (fit_n ? 1 : 0) + (fit_rs ? 1 : 0);
  Eigen::MatrixXd matrix(rows, columns);
  Eigen::VectorXd right(rows);
  for (Eigen::Index row = 0; row < rows; ++row) {
    const ForwardPoint& point = points[static_cast<std::size_t>(row)];
    int column = 0;
    matrix(row, column++) = -vt;
    right(row) = point.volts;
    if (fit_n) {
      matrix(row, column++) = vt * std::log(point.amps);
    } else {
      right(row) -= *shape.n * vt * std::log(point.amps);
    }
    if (fit_rs) {
      matrix(row, column) = point.amps;
    } else {
      right(row) -= point.amps * shape.rs.value_or(0.0);
    }
  }
  const Eigen::VectorXd solution = matrix.colPivHouseholderQr().solve(right);
  Curve curve;
  curve.n = fit_n ? solution(1) : *shape.n;
  curve.rs = fit_rs ? solution(columns - 1) : shape.rs.value_or(0.0);
  curve.log_is = solution(0) / curve.n;
  return curve;
}

/// Gauss-Newton over the open unknowns; a step is halved until the squares shrink.
Curve refine(std::span<const ForwardPoint> points, Curve curve, bool fit_n,
             bool fit_rs) {
  const double vt = thermal_volts(kFitCelsius);
  const auto rows = static_cast<Eigen::Index>(points.size());
  const int columns = 1 + (fit_n ? 1 : 0) + (fit_rs ? 1 : 0);
  Eigen::MatrixXd jacobian(rows, columns);
  Eigen::VectorXd residual(rows);
  double squares = sum_of_squares(points, curve);
  constexpr int kSteps = 100;
  for (int step = 0; step < kSteps; ++step) {
    for (Eigen::Index row = 0; row < rows; ++row) {
      const ForwardPoint& point = points[static_cast<std::size_t>(row)];
      const double ratio = point.amps * std::exp(-curve.log_is);
      int column = 0;
      jacobian(row, column++) = -curve.n * vt * ratio / (1.0 + ratio);
      if (fit_n) jacobian(row, column++) = vt * std::log1p(ratio);
      if (fit_rs) jacobian(row, column) = point.amps;
      residual(row) = volts_of(curve, point.amps) - point.volts;
    }
    const Eigen::VectorXd move = jacobian.colPivHouseholderQr().solve(-residual);
    bool moved = false;
    for (double share = 1.0; share > 1e-6; share /= 2) {
      Curve next = curve;
      next.log_is += share * move(0);
      if (fit_n) next.n += share * move(1);
      if (fit_rs) next.rs += share * move(columns - 1);
      const double next_squares = sum_of_squares(points, next);
      if (next_squares < squares) {
        curve = next;
        squares = next_squares;
        moved = true;
        break;
      }
    }
    if (!moved) break;
  }
  return curve;
}

double saturation(double amps, double junction_volts, double n) {
  return amps / std::expm1(junction_volts / (n * thermal_volts(kFitCelsius)));
}

}  // namespace

double voltage_at(const DiodeModel& model, double amps, double celsius) {
  const double ratio = (celsius + kKelvin) / (model.tnom + kKelvin);
  const double vt = thermal_volts(celsius);
  const double is = model.is * std::exp((ratio - 1.0) * model.eg / (model.n * vt) +
                                        model.xti / model.n * std::log(ratio));
  return model.n * vt * std::log1p(amps / is) + amps * model.rs;
}

ForwardFit fit_forward(std::span<const ForwardPoint> points,
                       const ForwardShape& shape) {
  if (points.empty()) throw std::invalid_argument("a forward curve needs a point");
  for (const ForwardPoint& point : points) {
    require_positive(point.amps, "the current of a forward point");
    require_positive(point.volts, "the voltage of a forward point");
  }
  if (shape.n) require_positive(*shape.n, "n");
  if (shape.rs && !(std::isfinite(*shape.rs) && *shape.rs >= 0)) {
    throw std::invalid_argument("rs must be finite and not negative");
  }
  const bool fit_n = !shape.n;
  if (fit_n && points.size() < 2) {
    throw std::invalid_argument("one forward point needs n besides");
  }
  // Two points leave room for one of n and rs, n first.
  bool fit_rs = !shape.rs && (points.size() > 2 || (points.size() == 2 && !fit_n));

  Curve curve = start_curve(points, shape, fit_n, fit_rs);
  if (fit_rs) {
    if (curve.n > 0) curve = refine(points, curve, fit_n, fit_rs);
    if (curve.rs < 0) {
      fit_rs = false;
      curve = start_curve(points, shape, fit_n, fit_rs);
    }
  }
  if (!fit_rs && curve.n > 0) curve = refine(points, curve, fit_n, fit_rs);

  if (!(curve.n >= kLeastEmission && curve.n <= kMostEmission)) {
    throw std::invalid_argument(
        fmt::format("the points give n = {:.3g}, outside {} to {}", curve.n,
                    kLeastEmission, kMostEmission));
  }
  const double junction = points.back().volts - points.back().amps * curve.rs;
  require_positive(junction, "the junction's share of the forward voltage");

  ForwardFit fit;
  fit.model.is = std::exp(curve.log_is);
  fit.model.n = curve.n;
  fit.model.rs = curve.rs;
  fit.model.tnom = kFitCelsius;
  fit.model.xti = shape.xti;
  fit.model.eg = shape.eg;
  if (shape.drift) {
    fit.model.eg = junction - *shape.drift * (kFitCelsius + kKelvin) -
                   shape.xti * thermal_volts(kFitCelsius);
  }
  if (!(std::isnormal(fit.model.is) && std::isfinite(fit.model.eg))) {
    throw std::invalid_argument("the points give no finite saturation current");
  }
  for (const ForwardPoint& point : points) {
    const double error = voltage_at(fit.model, point.amps, kFitCelsius) - point.volts;
    fit.errors.push_back(error);
    fit.worst = std::max(fit.worst, std::abs(error));
  }
  return fit;
}

DiodeModel fit_zener(const ZenerSheet& sheet) {
  require_positive(sheet.volts, "the zener voltage");
  require_positive(sheet.test_amps, "the test current");
  require_positive(sheet.slope, "the slope");
  require_positive(sheet.forward.amps, "the current of the forward point");
  require_positive(sheet.forward.volts, "the voltage of the forward point");
  require_positive(sheet.n, "n");
  constexpr double kLeastReverse = 0.5;   // Volt, see fit.h
  constexpr double kLeastJunction = 0.7;  // Volt, see fit.h
  if (sheet.volts - sheet.test_amps * sheet.slope <= kLeastReverse) {
    throw std::invalid_argument("the slope takes the whole zener voltage");
  }
  const double vt = thermal_volts(kFitCelsius);

  double rs = 0.0;
  if (sheet.knee_slope) {
    require_positive(*sheet.knee_slope, "the knee's slope");
    require_positive(sheet.knee_amps, "the knee's current");
    if (sheet.knee_amps >= sheet.test_amps) {
      throw std::invalid_argument("the knee's current must be below the test current");
    }
    const double knee_volts = (*sheet.knee_slope - sheet.slope) /
                              (1.0 / sheet.knee_amps - 1.0 / sheet.test_amps);
    rs = std::clamp(sheet.slope - knee_volts / sheet.test_amps, 0.0, sheet.slope);
  }

  const auto saturation_with = [&](double series) {
    const double junction =
        std::max(kLeastJunction, sheet.forward.volts - sheet.forward.amps * series);
    return saturation(sheet.forward.amps, junction, sheet.n);
  };
  // How much reverse voltage is left where the breakdown current has fallen to `is`.
  const auto left = [&](double series) {
    const double bv = sheet.volts - sheet.test_amps * series;
    const double nbv_vt = sheet.test_amps * (sheet.slope - series);
    return bv - nbv_vt * std::log(sheet.test_amps / saturation_with(series));
  };
  if (left(rs) < kLeastReverse) {
    double low = rs;  // too little is left here, enough at the other end
    double high = sheet.slope;
    for (int step = 0; step < 60; ++step) {
      const double middle = 0.5 * (low + high);
      (left(middle) < kLeastReverse ? low : high) = middle;
    }
    rs = high;
  }
  const double nbv = sheet.test_amps * (sheet.slope - rs) / vt;
  require_positive(nbv, "nbv");

  DiodeModel model;
  model.is = saturation_with(rs);
  model.n = sheet.n;
  model.rs = rs;
  model.bv = sheet.volts - sheet.test_amps * rs;
  model.ibv = sheet.test_amps;
  model.nbv = nbv;
  model.tnom = kFitCelsius;
  return model;
}

BipolarModel fit_bipolar(const BipolarSheet& sheet) {
  require_positive(sheet.base_volts, "the base voltage");
  require_positive(sheet.collector_amps, "the collector current");
  require_positive(sheet.gain, "the gain");
  require_positive(sheet.reverse_gain, "the reverse gain");
  BipolarModel model;
  model.is_pnp = sheet.is_pnp;
  model.is = saturation(sheet.collector_amps, sheet.base_volts, 1.0);
  model.bf = sheet.gain;
  model.br = sheet.reverse_gain;
  model.tnom = kFitCelsius;
  return model;
}

MosModel fit_mos(const MosSheet& sheet) {
  require_positive(sheet.threshold, "the threshold");
  require_positive(sheet.resistance, "the on resistance");
  require_positive(sheet.gate_volts, "the gate voltage");
  const double overdrive = sheet.gate_volts - sheet.threshold;
  require_positive(overdrive, "the gate voltage above the threshold");
  MosModel model;
  model.tnom = kFitCelsius;
  model.is_p_channel = sheet.is_p_channel;
  model.vto = sheet.is_p_channel ? -sheet.threshold : sheet.threshold;
  model.body = sheet.body;
  model.kp = 1.0 / (sheet.resistance * overdrive);
  if (sheet.drain_amps != 0.0) {
    require_positive(sheet.drain_amps, "the drain current");
    const double volts = sheet.drain_amps * sheet.resistance;
    if (volts >= overdrive) {
      throw std::invalid_argument("the on resistance is not in the triode region");
    }
    model.kp = sheet.drain_amps / (overdrive * volts - 0.5 * volts * volts);
  }
  return model;
}

}  // namespace benchproof
