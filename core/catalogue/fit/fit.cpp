#include "core/catalogue/fit/fit.h"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <utility>

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

namespace {

/// The knee current that lets the gain fall as published.
double knee(const BipolarSheet& sheet) {
  double amps = std::numeric_limits<double>::infinity();
  for (const GainPoint& point : sheet.gains) {
    require_positive(point.collector_amps, "the current of a gain");
    require_positive(point.gain, "a gain");
    if (point.collector_amps <= sheet.gain_amps || point.gain >= sheet.gain) continue;
    amps = std::min(amps, point.collector_amps / (sheet.gain / point.gain - 1.0));
  }
  return amps;
}

/// The collector resistance that keeps to the published saturation voltages.
double collector_ohms(const BipolarModel& m, const BipolarSheet& sheet) {
  if (sheet.saturations.empty()) return 0.0;
  double ohms = std::numeric_limits<double>::infinity();
  for (const SaturationPoint& point : sheet.saturations) {
    require_positive(point.collector_amps, "the current of a saturation point");
    require_positive(point.base_amps, "the base current of a saturation point");
    require_positive(point.volts, "the voltage of a saturation point");
    const double left =
        point.volts - saturation_volts(m, point.collector_amps, point.base_amps);
    ohms = std::min(ohms, left / point.collector_amps);
  }
  return std::max(ohms, 0.0);
}

}  // namespace

// The law of core/device/bipolar.h without leaks and Early effect, solved by bisection
// for f: the base current tells r, and the collector current rises with f.
double saturation_volts(const BipolarModel& m, double collector_amps,
                        double base_amps) {
  const auto reverse = [&](double f) { return m.br * (base_amps - f / m.bf); };
  const auto excess = [&](double f) {
    const double r = reverse(f);
    const double high = 2.0 / (1.0 + std::sqrt(1.0 + 4.0 * f / m.ikf));
    return (f - r) * high - r / m.br - collector_amps;
  };
  double low = 0.0;
  double top = m.bf * base_amps;  // There r is 0: it is just not saturated.
  if (!(excess(top) > 0.0)) {
    throw std::invalid_argument(
        "a saturation point asks for more gain than is published");
  }
  for (int step = 0; step < 200; ++step) {
    const double middle = 0.5 * (low + top);
    (excess(middle) > 0.0 ? top : low) = middle;
  }
  return thermal_volts(kFitCelsius) *
             (std::log1p(low / m.is) - std::log1p(reverse(low) / m.is)) +
         collector_amps * m.rc;
}

BipolarModel fit_bipolar(const BipolarSheet& sheet) {
  require_positive(sheet.base_volts, "the base voltage");
  require_positive(sheet.collector_amps, "the collector current");
  require_positive(sheet.gain, "the gain");
  require_positive(sheet.reverse_gain, "the reverse gain");
  BipolarModel model;
  model.is_pnp = sheet.is_pnp;
  model.bf = sheet.gain;
  model.br = sheet.reverse_gain;
  model.ikf = knee(sheet);
  const double charge = 1.0 + sheet.collector_amps / model.ikf;
  model.is = saturation(sheet.collector_amps * charge, sheet.base_volts, 1.0);
  model.rc = collector_ohms(model, sheet);
  model.tnom = kFitCelsius;
  return model;
}

double on_ohms(const MosModel& model, double gate_volts, double drain_amps) {
  const double over = gate_volts - std::abs(model.vto);
  const double root = std::sqrt(over * over - 2.0 * drain_amps / model.kp);
  return 2.0 / (model.kp * (over + root)) + model.rd;
}

namespace {

/// kp of a channel that has so many ohms at the sheet's gate voltage and current.
double channel_kp(const MosSheet& sheet, double ohms) {
  const double over = sheet.gate_volts - sheet.threshold;
  if (sheet.drain_amps == 0.0) return 1.0 / (ohms * over);
  const double volts = sheet.drain_amps * ohms;
  return sheet.drain_amps / (over * volts - 0.5 * volts * volts);
}

/// How much of the on resistance may stay however high the gate's voltage is: the rest
/// is the channel's, which has to end at the threshold. Common practice, no source.
constexpr double kMostDrainShare = 0.9;

/// The least and the greatest share that a model has of the published resistances above
/// or below the sheet's gate voltage; 1 where there are none.
std::pair<double, double> shares(const MosModel& model, const MosSheet& sheet,
                                 bool is_above) {
  double least = 1.0;
  double most = 0.0;
  for (const OnPoint& p : sheet.further) {
    if (p.gate_volts == sheet.gate_volts) continue;
    if ((p.gate_volts > sheet.gate_volts) != is_above) continue;
    const double share = on_ohms(model, p.gate_volts, p.drain_amps) / p.resistance;
    least = std::min(least, share);
    most = std::max(most, share);
  }
  return {least, most};
}

/// Whether a model may have more drain resistance: it passes none of the points above,
/// and is further below one of them than below any of the lower ones.
bool may_stay(const MosModel& model, const MosSheet& sheet) {
  const auto [least, most] = shares(model, sheet, true);
  return most <= 1.0 && least <= shares(model, sheet, false).first;
}

}  // namespace

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
  if (sheet.drain_amps != 0.0) {
    require_positive(sheet.drain_amps, "the drain current");
    if (sheet.drain_amps * sheet.resistance >= overdrive) {
      throw std::invalid_argument("the on resistance is not in the triode region");
    }
  }
  bool has_further = false;
  for (const OnPoint& point : sheet.further) {
    require_positive(point.gate_volts, "the gate voltage of an on resistance");
    require_positive(point.drain_amps, "the drain current of an on resistance");
    require_positive(point.resistance, "an on resistance");
    has_further = has_further || point.gate_volts > sheet.gate_volts;
  }
  const auto put = [&](double drain) {
    model.rd = drain;
    model.kp = channel_kp(sheet, sheet.resistance - drain);
  };
  put(0.0);
  if (!has_further || !may_stay(model, sheet)) return model;
  double low = 0.0;
  double high = kMostDrainShare * sheet.resistance;
  for (int step = 0; step < 60; ++step) {
    const double middle = 0.5 * (low + high);
    put(middle);
    (may_stay(model, sheet) ? low : high) = middle;
  }
  put(low);
  return model;
}

}  // namespace benchproof
