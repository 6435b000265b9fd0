#include "core/nodal/tableau.h"

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

namespace benchproof {
namespace {

using Catch::WithinAbs;

/// Sums of at most 36 products of figures below 1.
constexpr double kRounding = 36 * std::numeric_limits<double>::epsilon();

/// The weights of the method, or of the one embedded in it.
std::array<double, Tableau::kMost> weights(const Tableau& t, bool embedded) {
  return embedded ? t.embedded : t.a[t.stages - 1];
}

/// Sum over stages of weights times f(stage).
template <typename F>
double sum(const Tableau& t, const std::array<double, Tableau::kMost>& b, F f) {
  double total = 0.0;
  for (int i = 0; i < t.stages; ++i) total += b[i] * f(i);
  return total;
}

/// What is missing in the conditions of an order (1 to 4), the largest of them. Source:
/// J. C. Butcher, "Coefficients for the study of Runge-Kutta integration processes", J.
/// Austral. Math. Soc. 3 (1963) 185-201 (from memory): one condition per rooted tree.
double missing(const Tableau& t, bool embedded, int order) {
  const auto b = weights(t, embedded);
  const auto& c = t.c;
  const auto times_a = [&](auto f) {
    return [&t, f](int i) { return sum(t, t.a[i], f); };
  };
  const auto power = [&](int p) {
    return [&c, p](int i) { return std::pow(c[i], p); };
  };
  const auto off = [&](auto f, double wanted) {
    return std::abs(sum(t, b, f) - wanted);
  };
  switch (order) {
    case 1:
      return off(power(0), 1.0);
    case 2:
      return off(power(1), 1.0 / 2.0);
    case 3:
      return std::max(off(power(2), 1.0 / 3.0), off(times_a(power(1)), 1.0 / 6.0));
    default:
      return std::max(
          {off(power(3), 1.0 / 4.0),
           off([&](int i) { return c[i] * times_a(power(1))(i); }, 1.0 / 8.0),
           off(times_a(power(2)), 1.0 / 12.0),
           off(times_a(times_a(power(1))), 1.0 / 24.0)});
  }
}

/// The stability function at minus infinity, where the first stage is explicit: from
/// y_last = 1 + z sum a K with the last row of stages; computed at a large -z.
double damping(const Tableau& t, double z) {
  std::array<double, Tableau::kMost> y{};
  y[0] = 1.0;
  for (int i = 1; i < t.stages; ++i) {
    double known = 1.0;
    for (int j = 0; j < i; ++j) known += z * t.a[i][j] * y[j];
    y[i] = known / (1.0 - z * t.a[i][i]);
  }
  return y[t.stages - 1];
}

void check_form(const Tableau& t) {
  REQUIRE(t.stages >= 2);
  REQUIRE(t.stages <= Tableau::kMost);
  CHECK(t.c[0] == 0.0);
  CHECK(t.c[t.stages - 1] == 1.0);
  for (int i = 0; i < t.stages; ++i) {
    CAPTURE(i);
    CHECK_THAT(sum(t, t.a[i], [](int) { return 1.0; }), WithinAbs(t.c[i], kRounding));
    if (i > 0) CHECK(t.a[i][i] == t.a[t.stages - 1][t.stages - 1]);
    for (int j = i + 1; j < Tableau::kMost; ++j) CHECK(t.a[i][j] == 0.0);
    // Second order within each stage.
    CHECK_THAT(sum(t, t.a[i], [&](int j) { return t.c[j]; }),
               WithinAbs(0.5 * t.c[i] * t.c[i], kRounding));
  }
}

}  // namespace

TEST_CASE("the fourth-order method obeys its order conditions", "[nodal][tableau]") {
  const Tableau t = esdirk4();
  check_form(t);
  for (int order = 1; order <= 4; ++order) {
    CAPTURE(order);
    CHECK(missing(t, false, order) <= kRounding);
    if (order <= 3) CHECK(missing(t, true, order) <= kRounding);
  }
  // The embedded one is of third order and no more: there is something to compare.
  CHECK(missing(t, true, 4) > 1e-3);
  CHECK(t.error_order == 4);
}

TEST_CASE("TR-BDF2 obeys its order conditions", "[nodal][tableau]") {
  const Tableau t = tr_bdf2();
  check_form(t);
  for (int order = 1; order <= 3; ++order) {
    CAPTURE(order);
    if (order <= 2) CHECK(missing(t, false, order) <= kRounding);
    CHECK(missing(t, true, order) <= kRounding);
  }
  CHECK(missing(t, false, 3) > 1e-3);
  CHECK(t.error_order == 3);
}

TEST_CASE("stiff parts die out: the methods are L-stable", "[nodal][tableau]") {
  for (const Tableau& t : {esdirk4(), tr_bdf2()}) {
    CAPTURE(t.stages);
    // Towards 0 as 1/z.
    CHECK(std::abs(damping(t, -1e6)) < 1e-4);
    CHECK(std::abs(damping(t, -1e9)) < 1e-7);
    // Nothing on the negative axis grows.
    for (double z = -1e-3; z > -1e6; z *= 1.1) CHECK(std::abs(damping(t, z)) < 1.0);
  }
}

}  // namespace benchproof
