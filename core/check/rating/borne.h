#pragma once

#include <array>
#include <cassert>
#include <cstddef>
#include <limits>
#include <string_view>

#include "core/catalogue/catalogue.h"

namespace benchproof {

/// How many times its lasting rating a part bears for a time.
struct Borne {
  double seconds = 0.0;
  double times = 1.0;
};

/// The points of a curve in rising order of time, straight on paper with two
/// logarithmic scales, level before its first point and after its last.
class BorneCurve {
 public:
  constexpr BorneCurve() = default;
  template <std::size_t n>
  // NOLINTNEXTLINE(google-explicit-constructor): an array of points is such a curve.
  constexpr BorneCurve(const std::array<Borne, n>& points) {
    for (const Borne& point : points) add(point);
  }
  /// @pre Later than the last one.
  constexpr void add(Borne point) {
    assert(size_ < points_.size());
    points_[size_++] = point;
  }
  [[nodiscard]] constexpr const Borne* begin() const { return points_.data(); }
  [[nodiscard]] constexpr const Borne* end() const { return points_.data() + size_; }
  [[nodiscard]] constexpr const Borne& front() const { return points_[0]; }
  [[nodiscard]] constexpr const Borne& back() const { return points_[size_ - 1]; }

  /// How many times the rating is borne for a time.
  /// @pre The curve has a point.
  [[nodiscard]] double at(double seconds) const;

 private:
  std::array<Borne, 5> points_{};
  std::size_t size_ = 0;
};

/// What a part bears for a short while.
struct Endurance {
  BorneCurve curve;
  /// A caution begins at this share of what is borne ...
  double careful = 0.5;  // Common practice, no source.
  /// ... but not below so many times the rating.
  double from = 1.0;
  bool by_rms = false;  ///< What counts is the root of the mean square, not the mean.
  double least_seconds = 1e-6;  ///< Shorter stretches are another rating's business.
  /// Where the curve comes from.
  std::string_view source = "common practice, no source";
  Mark mark = Mark::practice;
  /// So are longer ones.
  double most_seconds = std::numeric_limits<double>::infinity();
};

/// Small semiconductors, up to their free-air rating. A junction heats with the root of
/// time at first, then with its leads and case ever slower: curves of transient thermal
/// resistance of small cases reach a tenth at 10 ms, half after some seconds. From
/// memory.
inline constexpr std::string_view kJunctionSource =
    "usual curves of transient thermal resistance, from memory";
inline constexpr std::array kSmallJunctionCurve = {Borne{10e-6, 100.0},
                                                   Borne{10.0, 1.0}};
/// Those of a case that a heat sink fits (their free-air rating is far below what the
/// case takes up for a while). From memory.
inline constexpr std::array kCasedJunctionCurve = {Borne{10e-6, 3162.0},
                                                   Borne{100.0, 1.0}};
/// Film resistors: the short-time overload test of IEC 60115-1 (2.5 times the rated
/// voltage, for 5 s), and the slope of makers' pulse curves below it. From memory.
inline constexpr std::array kResistorCurve = {Borne{1e-6, 300.0}, Borne{5.0, 6.25},
                                              Borne{30.0, 1.0}};
/// Quick-acting fuses open for certain: IEC 60127-2, sheet 2; shorter than 20 ms at the
/// same I2t. They hold for certain 4 times their rating for 10 ms, 0.28 of what this
/// curve has there, and 1.5 times it for an hour. From memory.
inline constexpr std::array kFuseCurve = {Borne{1e-6, 1414.0}, Borne{20e-3, 10.0},
                                          Borne{0.3, 4.0}, Borne{2.0, 2.75},
                                          Borne{1800.0, 2.1}};
inline constexpr double kFuseHolds = 0.28;
inline constexpr double kFuseHoldsFrom = 1.5;
/// Copper in PVC: 115 A for 1 s through 1 mm2 (IEC 60364-4-43) is 6.7 times what a
/// single wire carries in free air; for ever twice as much. The first from memory, the
/// second common practice, no source.
inline constexpr std::array kWireCurve = {Borne{10e-6, 2119.0}, Borne{1.0, 6.7},
                                          Borne{11.2, 2.0}};
/// Contacts that close on a load that takes more at first, or on a capacitor: below 1
/// ms they bear the same I2t, up to a hundred times their rating. Common practice, no
/// source.
inline constexpr std::array kContactCurve = {Borne{10e-6, 100.0}, Borne{1e-3, 10.0},
                                             Borne{1.0, 1.0}};
/// Windings: heat by the square of the current. Common practice, no source.
inline constexpr std::array kWindingCurve = {Borne{10e-3, 10.0}, Borne{10.0, 1.0}};
/// Voltages of loads: a filament follows within some tens of milliseconds, a winding
/// within seconds, a buzzer's electronics at once. Each ends at what is borne for ever.
/// Common practice, no source.
inline constexpr std::array kFilamentVoltsCurve = {Borne{10e-3, 2.0}, Borne{0.1, 1.3}};
inline constexpr std::array kWindingVoltsCurve = {Borne{10e-3, 4.0}, Borne{10.0, 1.3}};
inline constexpr std::array kBuzzerVoltsCurve = {Borne{1e-3, 1.3}};

}  // namespace benchproof
