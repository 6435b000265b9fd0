#include "core/base/nine_digits.h"

#include <catch2/catch.hpp>
#include <limits>

namespace benchproof {
namespace {

TEST_CASE("what differs by rounding alone is equal in nine digits", "[base]") {
  for (const double value : {0.3, -4.59e-3, 1.0 / 3.0, 6.02214076e23, 1.6e-19}) {
    CAPTURE(value);
    CHECK(nine_digits(value * (1.0 + 1e-15)) == nine_digits(value));
    CHECK(nine_digits(value * (1.0 + 1e-7)) != nine_digits(value));
    CHECK(nine_digits(value) == Approx(value).epsilon(6e-9).margin(0.0));
  }
  CHECK(nine_digits(0.0) == 0.0);
  const double infinity = std::numeric_limits<double>::infinity();
  CHECK(nine_digits(infinity) == infinity);
  CHECK(nine_digits(5e-324) == 5e-324);
}

}  // namespace
}  // namespace benchproof
