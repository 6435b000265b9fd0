#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "core/check/rating/ratings.h"
#include "core/check/rest/check.h"
#include "core/verify/at_rest.h"

namespace benchproof {

/// Something that is measured of each copy in a state, with what it is held against.
struct Gauge {
  enum class Of { expectation, rating, light, alike, net };
  Of of = Of::net;
  std::string check;  ///< Id of a rating's finding, or "expectation".
  int part = -1;
  int pin = -1;
  int net = -1;
  std::vector<int> parts;  ///< Lamps that are to look alike.
  std::string quantity;
  Unit unit = Unit::none;
  std::optional<double> lower;  ///< A copy fails below it ...
  std::optional<double> upper;  ///< ... or above this.
  const Expectation* expectation = nullptr;
  const Rating* rating = nullptr;
};

[[nodiscard]] std::string_view word_of(Gauge::Of of);

/// Whether a value is past one of the limits, by more than the solvers' own blur.
[[nodiscard]] bool fails(const Gauge& gauge, double value);

/// All that is measured in a state: its expectations, ratings that can be faults, the
/// light of each lamp, how alike those of one type are, nets. In this order.
[[nodiscard]] std::vector<Gauge> gauges_of(const CheckInput& nominal);

/// The value of one; not a number where it is not known. What lights less than a
/// thousandth of its rating counts as dark. `alike` is how many times as bright the
/// brightest is; 1 where all are dark.
[[nodiscard]] double value_of(const Gauge& gauge, const CheckInput& input);

}  // namespace benchproof
