#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "core/base/quantity.h"

namespace benchproof {

/// A figure that types may have though no description key gives it.
struct FigureName {
  std::string_view name;
  Unit unit =
      Unit::none;  ///< Where it is none, the name says the unit, if there is one.
  std::string_view about;
  double least = 0.0;          ///< Smallest value allowed ...
  bool least_allowed = false;  ///< ... itself included or not.
  double most = 1e12;          ///< Largest value allowed, itself included.
};

[[nodiscard]] std::span<const FigureName> figure_names();
[[nodiscard]] const FigureName* find_figure_name(std::string_view name);

/// What a name bounds: `gain_least` is the least `gain` that is published, `gain_most`
/// the most. Any figure may have either.
struct FigureBound {
  std::string_view figure;  ///< "gain"
  bool is_least = true;
};

/// Nothing where the name ends in neither.
[[nodiscard]] std::optional<FigureBound> figure_bound(std::string_view name);

/// A number that a curve goes by or gives. Above 0.
struct CurveAxis {
  std::string_view symbol;  ///< As sheets have it: "IC".
  Unit unit = Unit::none;
};

/// A figure that goes by others, of which types have points.
struct CurveName {
  std::string_view name;
  CurveAxis at;
  CurveAxis beside;  ///< Without a symbol where the curve goes by one number only.
  CurveAxis value;
  std::string_view about;
};

[[nodiscard]] std::span<const CurveName> curve_names();
[[nodiscard]] const CurveName* find_curve_name(std::string_view name);

}  // namespace benchproof
