#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/base/quantity.h"
#include "core/catalogue/catalogue.h"
#include "core/catalogue/model.h"

namespace benchproof {

/// A published figure that a type's model was made from, and what the model says there.
struct FitPoint {
  std::string name;  ///< "forward at 1.00 A", "slope at 5.00 mA" ...
  Unit unit = Unit::volt;
  double published = 0.0;
  double fitted = 0.0;
};

/// How a type's fitted model meets its published figures at 25 C, one row for each:
/// forward points; a zener's voltage, slope and knee; VBE of a bipolar transistor; RDS
/// on of a MOS transistor. Magnitudes, for p types too. Empty where the type has no
/// model.
[[nodiscard]] std::vector<FitPoint> fit_points(const Type& type);

/// The row that is off most, by its share of the published figure; null where there is
/// none. Points into `points`.
[[nodiscard]] const FitPoint* worst(const std::vector<FitPoint>& points);

/// fitted / published - 1.
[[nodiscard]] double error(const FitPoint& point);

/// A model's parameter by the trade's usual name, in SI units.
struct ModelValue {
  std::string_view name;
  double value = 0.0;
};

/// All parameters of a model but a breakdown that is at infinity, and a MOS
/// transistor's body diode.
[[nodiscard]] std::vector<ModelValue> model_values(const DiodeModel& model);
[[nodiscard]] std::vector<ModelValue> model_values(const BipolarModel& model);
[[nodiscard]] std::vector<ModelValue> model_values(const MosModel& model);

}  // namespace benchproof
