#include "core/board/places/outline.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace benchproof {
namespace {

double dot(Point a, Point b) { return a.x * b.x + a.y * b.y; }
Point less(Point a, Point b) { return {a.x - b.x, a.y - b.y}; }

/// The least and most of a polygon along a direction.
struct Reach {
  double least = std::numeric_limits<double>::infinity();
  double most = -std::numeric_limits<double>::infinity();
};
Reach reach(const Outline& polygon, Point along) {
  Reach reach;
  for (const Point& corner : polygon.corners) {
    const double at = dot(corner, along);
    reach.least = std::min(reach.least, at);
    reach.most = std::max(reach.most, at);
  }
  return reach;
}

/// The unit normal of a polygon's side.
Point normal(const Outline& polygon, std::size_t side) {
  const Point along =
      less(polygon.corners[(side + 1) % polygon.corners.size()], polygon.corners[side]);
  const double length = std::hypot(along.x, along.y);
  return {along.y / length, -along.x / length};
}

/// The widest gap over the directions of a's sides.
double gap_over_sides(const Outline& a, const Outline& b) {
  double widest = -std::numeric_limits<double>::infinity();
  for (std::size_t side = 0; side < a.corners.size(); ++side) {
    const Point across = normal(a, side);
    const Reach of_a = reach(a, across);
    const Reach of_b = reach(b, across);
    widest = std::max({widest, of_b.least - of_a.most, of_a.least - of_b.most});
  }
  return widest;
}

/// How far a point is outside of a polygon; negative inside.
double outside(const Outline& polygon, Point point) {
  double nearest = std::numeric_limits<double>::infinity();
  bool is_inside = true;
  double turn = 0.0;
  for (std::size_t side = 0; side < polygon.corners.size(); ++side) {
    const Point& from = polygon.corners[side];
    const Point along =
        less(polygon.corners[(side + 1) % polygon.corners.size()], from);
    const Point to = less(point, from);
    const double share = std::clamp(dot(to, along) / dot(along, along), 0.0, 1.0);
    nearest =
        std::min(nearest, std::hypot(to.x - share * along.x, to.y - share * along.y));
    const double cross = along.x * to.y - along.y * to.x;
    if (turn == 0.0) turn = cross;
    if (cross * turn < 0.0) is_inside = false;
  }
  return is_inside ? -nearest : nearest;
}

}  // namespace

Outline rectangle(Point from, Point to, double length, double width) {
  const Point centre = {(from.x + to.x) / 2, (from.y + to.y) / 2};
  Point along = less(to, from);
  const double size = std::hypot(along.x, along.y);
  along = size > 0.0 ? Point{along.x / size, along.y / size} : Point{1.0, 0.0};
  const Point across = {-along.y, along.x};
  Outline outline{centre, 0.0, {}};
  for (const auto& [l, w] : {std::pair{-1, -1}, {1, -1}, {1, 1}, {-1, 1}})
    outline.corners.push_back(
        {centre.x + (l * length * along.x + w * width * across.x) / 2,
         centre.y + (l * length * along.y + w * width * across.y) / 2});
  return outline;
}

Outline box(Point north_west, Point south_east) {
  return {{(north_west.x + south_east.x) / 2, (north_west.y + south_east.y) / 2},
          0.0,
          {north_west,
           {south_east.x, north_west.y},
           south_east,
           {north_west.x, south_east.y}}};
}

Outline circle(Point centre, double radius) { return {centre, radius, {}}; }

double apart(const Outline& a, const Outline& b) {
  if (a.corners.empty() && b.corners.empty())
    return std::hypot(a.centre.x - b.centre.x, a.centre.y - b.centre.y) - a.radius -
           b.radius;
  if (a.corners.empty()) return outside(b, a.centre) - a.radius;
  if (b.corners.empty()) return outside(a, b.centre) - b.radius;
  return std::max(gap_over_sides(a, b), gap_over_sides(b, a));
}

Bounds bounds(const Outline& outline) {
  if (outline.corners.empty())
    return {{outline.centre.x - outline.radius, outline.centre.y - outline.radius},
            {outline.centre.x + outline.radius, outline.centre.y + outline.radius}};
  Bounds around{outline.corners.front(), outline.corners.front()};
  for (const Point& corner : outline.corners) {
    around.least.x = std::min(around.least.x, corner.x);
    around.least.y = std::min(around.least.y, corner.y);
    around.most.x = std::max(around.most.x, corner.x);
    around.most.y = std::max(around.most.y, corner.y);
  }
  return around;
}

}  // namespace benchproof
