#pragma once

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

}  // namespace benchproof
