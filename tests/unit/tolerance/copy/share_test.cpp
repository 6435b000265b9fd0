#include <catch2/catch.hpp>
#include <cmath>

#include "core/tolerance/states/copies.h"

using namespace benchproof;
using Catch::WithinAbs;

TEST_CASE("the interval of a share is that of Clopper and Pearson",
          "[tolerance][share]") {
  struct Row {
    std::size_t hits;
    std::size_t trials;
    double least;
    double most;
  };
  // R. Newcombe, "Two-sided confidence intervals for the single proportion", Statistics
  // in Medicine 17 (1998), table I, method 5 (from memory); to half a unit of the last
  // digit.
  const Row row = GENERATE(Row{81, 263, 0.2527, 0.3676}, Row{15, 148, 0.0578, 0.1617},
                           Row{0, 20, 0.0, 0.1684}, Row{1, 29, 0.0009, 0.1776});
  const Share share = share_of(row.hits, row.trials);
  CHECK_THAT(share.share,
             WithinAbs(static_cast<double>(row.hits) / static_cast<double>(row.trials),
                       1e-15));
  CHECK_THAT(share.least, WithinAbs(row.least, 0.00005));
  CHECK_THAT(share.most, WithinAbs(row.most, 0.00005));
}

TEST_CASE("the interval's ends leave a fortieth outside each", "[tolerance][share]") {
  // By the sum of the binomial itself, in logarithms.
  const auto tail = [](std::size_t from, std::size_t to, std::size_t n, double p) {
    double sum = 0.0;
    for (std::size_t k = from; k <= to; ++k) {
      const double ways = std::lgamma(static_cast<double>(n + 1)) -
                          std::lgamma(static_cast<double>(k + 1)) -
                          std::lgamma(static_cast<double>(n - k + 1));
      sum += std::exp(ways + static_cast<double>(k) * std::log(p) +
                      static_cast<double>(n - k) * std::log1p(-p));
    }
    return sum;
  };
  for (const std::size_t n : {7U, 50U, 400U}) {
    for (std::size_t hits = 1; hits < n; hits += 1 + n / 9) {
      CAPTURE(n, hits);
      const Share share = share_of(hits, n);
      CHECK_THAT(tail(hits, n, n, share.least), WithinAbs(0.025, 1e-9));
      CHECK_THAT(tail(0, hits, n, share.most), WithinAbs(0.025, 1e-9));
    }
    CHECK(share_of(0, n).least == 0.0);
    CHECK(share_of(n, n).most == 1.0);
  }
  CHECK(share_of(0, 0).most == 1.0);
}
