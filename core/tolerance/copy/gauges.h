#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/check/rating/light.h"
#include "core/check/rating/ratings.h"
#include "core/check/rest/check_input.h"
#include "core/check/rest/rating_reader.h"
#include "core/verify/seen/at_rest.h"

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

/// What an expectation measures, without bounds.
[[nodiscard]] Gauge expectation_gauge(const Expectation& expectation);

/// What a rating measures of a part, at a pin of pins_of; without check, unit and
/// bounds.
[[nodiscard]] Gauge rating_gauge(const Rating& rating, int part, int pin);

/// Whether a value is past one of the limits, by more than the solvers' own blur.
[[nodiscard]] bool fails(const Gauge& gauge, double value);
/// The same with limits in the place of its own.
[[nodiscard]] bool fails(const Gauge& gauge, std::optional<double> lower,
                         std::optional<double> upper, double value);

/// All that is measured in a state: its expectations, ratings that can be faults, the
/// light of each lamp, how alike those of one type are, nets. In this order.
[[nodiscard]] std::vector<Gauge> gauges_of(const CheckInput& nominal);

/// Reads the gauges of a state from what was seen of its copies: what does not differ
/// between them is worked out once. What lights less than a thousandth of its rating
/// counts as dark.
class GaugeReader {
 public:
  /// The gauges and the parts of `nominal` must outlive it.
  GaugeReader(const std::vector<Gauge>& gauges, const CheckInput& nominal);

  /// The values of all gauges; not numbers where they are not known. That of lamps that
  /// are to look alike is how many times as bright the brightest is; 1 where all are
  /// dark.
  void read(const CheckInput& input, std::vector<double>& values) const;

 private:
  [[nodiscard]] double ratio(const Gauge& gauge, const CheckInput& input) const;
  [[nodiscard]] double light(int part, const CheckInput& input) const;

  const std::vector<Gauge>& gauges_;
  std::vector<std::optional<RatingReader>> ratings_;  ///< One a gauge; of ratings.
  std::vector<std::optional<Lamp>> lamps_;  ///< One a part; empty if none is asked for.
};

}  // namespace benchproof
