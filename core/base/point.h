#pragma once

namespace benchproof {

/// A place on a plane, in the unit of whoever draws or measures there.
struct Point {
  double x = 0.0;
  double y = 0.0;
};

}  // namespace benchproof
