#pragma once

#include <vector>

#include "core/base/point.h"

namespace benchproof {

/// What is allowed for rounding where places are compared. Metre.
inline constexpr double kHair = 1e-6;

/// What a body covers, seen from above: a circle, or a convex polygon.
struct Outline {
  Point centre;
  double radius = 0.0;         ///< Metre; of a circle, else 0.
  std::vector<Point> corners;  ///< Of a polygon, in order round; else empty.
};

/// A rectangle with its length along the direction from `from` to `to`. Metre.
[[nodiscard]] Outline rectangle(Point from, Point to, double length, double width);

/// A rectangle with its sides along the board's. Metre.
[[nodiscard]] Outline box(Point north_west, Point south_east);

[[nodiscard]] Outline circle(Point centre, double radius);

/// How far two outlines are apart, by which they overlap where it is negative. Metre.
/// Between corners of two polygons it may be less than the true distance.
[[nodiscard]] double apart(const Outline& a, const Outline& b);

/// The rectangle around an outline.
struct Bounds {
  Point least;
  Point most;
};
[[nodiscard]] Bounds bounds(const Outline& outline);

}  // namespace benchproof
