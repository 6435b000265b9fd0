#include "core/board/places/outline.h"

#include <catch2/catch.hpp>
#include <cmath>

using namespace benchproof;

// Rounding: a few additions and products of numbers below 1.
constexpr double kRounding = 1e-12;

TEST_CASE("outlines are apart as plane geometry has it", "[board]") {
  const Outline disc = circle({0, 0}, 1.0);
  CHECK(std::abs(apart(disc, circle({3, 4}, 2.0)) - 2.0) < kRounding);
  const Outline square = box({2, -1}, {4, 1});
  CHECK(std::abs(apart(disc, square) - 1.0) < kRounding);
  CHECK(std::abs(apart(square, disc) - 1.0) < kRounding);
  CHECK(std::abs(apart(square, box({4.5, 0}, {6, 3})) - 0.5) < kRounding);
  CHECK(std::abs(apart(square, box({3.5, 0}, {6, 3})) + 0.5) < kRounding);
  CHECK(apart(square, circle({3, 0}, 0.1)) < -0.9);
}

TEST_CASE("a rectangle lies along its leads", "[board]") {
  const Outline tilted = rectangle({0, 0}, {3, 3}, std::sqrt(8.0), std::sqrt(2.0));
  const Bounds around = bounds(tilted);
  CHECK(std::abs(around.least.x) < kRounding);
  CHECK(std::abs(around.most.x - 3.0) < kRounding);
  CHECK(apart(tilted, circle({3, 0}, 0.5)) > 0.0);
  CHECK(apart(tilted, circle({1.5, 1.5}, 0.1)) < 0.0);
}
