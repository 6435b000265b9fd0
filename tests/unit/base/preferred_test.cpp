#include "core/base/preferred.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

using benchproof::decade_size;
using benchproof::find_series;
using benchproof::is_preferred;
using benchproof::preferred_at_least;
using benchproof::preferred_at_most;
using benchproof::preferred_between;
using benchproof::preferred_nearest;
using benchproof::Series;
using benchproof::series_word;
using Catch::Matchers::WithinRel;

namespace {

// The lists of IEC 60063:2015 as two independent public tables give them, read in full:
// https://en.wikipedia.org/wiki/E6_series_of_preferred_numbers and
// https://www.qsl.net/g4usp/Components/Component%20preferred%20values.htm
// E3 to E24 in tenths, the others in hundredths.
struct List {
  Series series;
  std::string name;
  int unit;  ///< What a decade begins with.
  std::vector<int> values;
};

const std::vector<List>& lists() {
  static const std::vector<List> all = {
      {Series::e3, "E3", 10, {10, 22, 47}},
      {Series::e6, "E6", 10, {10, 15, 22, 33, 47, 68}},
      {Series::e12, "E12", 10, {10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82}},
      {Series::e24, "E24", 10, {10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30,
                                33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91}},
      {Series::e48, "E48", 100, {100, 105, 110, 115, 121, 127, 133, 140, 147, 154,
                                 162, 169, 178, 187, 196, 205, 215, 226, 237, 249,
                                 261, 274, 287, 301, 316, 332, 348, 365, 383, 402,
                                 422, 442, 464, 487, 511, 536, 562, 590, 619, 649,
                                 681, 715, 750, 787, 825, 866, 909, 953}},
      {Series::e96, "E96", 100, {100, 102, 105, 107, 110, 113, 115, 118, 121, 124, 127,
                                 130, 133, 137, 140, 143, 147, 150, 154, 158, 162, 165,
                                 169, 174, 178, 182, 187, 191, 196, 200, 205, 210, 215,
                                 221, 226, 232, 237, 243, 249, 255, 261, 267, 274, 280,
                                 287, 294, 301, 309, 316, 324, 332, 340, 348, 357, 365,
                                 374, 383, 392, 402, 412, 422, 432, 442, 453, 464, 475,
                                 487, 499, 511, 523, 536, 549, 562, 576, 590, 604, 619,
                                 634, 649, 665, 681, 698, 715, 732, 750, 768, 787, 806,
                                 825, 845, 866, 887, 909, 931, 953, 976}},
      {Series::e192,
       "E192",
       100,
       {100, 101, 102, 104, 105, 106, 107, 109, 110, 111, 113, 114, 115, 117, 118,
        120, 121, 123, 124, 126, 127, 129, 130, 132, 133, 135, 137, 138, 140, 142,
        143, 145, 147, 149, 150, 152, 154, 156, 158, 160, 162, 164, 165, 167, 169,
        172, 174, 176, 178, 180, 182, 184, 187, 189, 191, 193, 196, 198, 200, 203,
        205, 208, 210, 213, 215, 218, 221, 223, 226, 229, 232, 234, 237, 240, 243,
        246, 249, 252, 255, 258, 261, 264, 267, 271, 274, 277, 280, 284, 287, 291,
        294, 298, 301, 305, 309, 312, 316, 320, 324, 328, 332, 336, 340, 344, 348,
        352, 357, 361, 365, 370, 374, 379, 383, 388, 392, 397, 402, 407, 412, 417,
        422, 427, 432, 437, 442, 448, 453, 459, 464, 470, 475, 481, 487, 493, 499,
        505, 511, 517, 523, 530, 536, 542, 549, 556, 562, 569, 576, 583, 590, 597,
        604, 612, 619, 626, 634, 642, 649, 657, 665, 673, 681, 690, 698, 706, 715,
        723, 732, 741, 750, 759, 768, 777, 787, 796, 806, 816, 825, 835, 845, 856,
        866, 876, 887, 898, 909, 920, 931, 942, 953, 965, 976, 988}},
  };
  return all;
}

/// A number of the list in a decade, as a person would write it: the nearest double.
double written(int number, int exponent) {
  return std::stod(std::to_string(number) + "e" + std::to_string(exponent));
}

const std::vector<Series> kAll = {Series::e3,  Series::e6,  Series::e12, Series::e24,
                                  Series::e48, Series::e96, Series::e192};

}  // namespace

TEST_CASE("each series is the published list, in every decade", "[base][preferred]") {
  for (const List& list : lists()) {
    INFO(list.name);
    CHECK(series_word(list.series) == list.name);
    CHECK(decade_size(list.series) == static_cast<int>(list.values.size()));
    for (const int exponent : {-15, -9, -3, -1, 0, 2, 5, 9}) {
      std::vector<double> expected;
      for (const int value : list.values) expected.push_back(written(value, exponent));
      const double first = written(list.unit, exponent);
      const double last = written(list.values.back(), exponent);
      CHECK(preferred_between(list.series, first, last) == expected);
    }
  }
}

// IEC 60063 as above: E48, E96 and E192 are round(100 * 10^(i/n)) but for 9.20 in E192.
TEST_CASE("the fine series follow the rounding rule", "[base][preferred]") {
  for (const Series series : {Series::e48, Series::e96, Series::e192}) {
    const int size = decade_size(series);
    const std::vector<double> values = preferred_between(series, 100.0, 999.0);
    REQUIRE(values.size() == static_cast<std::size_t>(size));
    for (int i = 0; i < size; ++i) {
      const double rule = std::round(100.0 * std::pow(10.0, double(i) / size));
      const bool is_exception = size == 192 && i == 185;
      CHECK(values[static_cast<std::size_t>(i)] == (is_exception ? 920.0 : rule));
    }
  }
}

// The same source: eight values of E24 are not what the rule would give.
TEST_CASE("E24 is older than the rule", "[base][preferred]") {
  const std::vector<double> values = preferred_between(Series::e24, 10.0, 99.0);
  std::vector<double> apart;
  for (std::size_t i = 0; i < values.size(); ++i)
    if (values[i] != std::round(10.0 * std::pow(10.0, double(i) / 24)))
      apart.push_back(values[i]);
  CHECK(apart == std::vector<double>{27, 30, 33, 36, 39, 43, 47, 82});
}

TEST_CASE("neighbours of a value by search through the list", "[base][preferred]") {
  const unsigned seed = 60063;
  INFO("seed " << seed);
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> decades(-6.0, 8.0);
  for (const List& list : lists()) {
    for (int sample = 0; sample < 200; ++sample) {
      const double value = std::pow(10.0, decades(random));
      double below = 0.0;
      double above = std::numeric_limits<double>::infinity();
      for (int exponent = -10; exponent <= 9; ++exponent) {
        for (const int number : list.values) {
          const double candidate = written(number, exponent);
          if (candidate <= value) below = std::max(below, candidate);
          if (candidate >= value) above = std::min(above, candidate);
        }
      }
      CAPTURE(list.name, value);
      CHECK(preferred_at_most(list.series, value) == below);
      CHECK(preferred_at_least(list.series, value) == above);
      CHECK(preferred_nearest(list.series, value) ==
            (above / value < value / below ? above : below));
      CHECK(!is_preferred(list.series, value));
    }
  }
}

TEST_CASE("a value of the series is its own neighbour", "[base][preferred]") {
  for (const List& list : lists()) {
    for (const int number : list.values) {
      const double value = written(number, 1);
      // Arithmetic blurs: a few units in the last place, and up to 1e-9 of it.
      for (const double near :
           {value, std::nextafter(value, 0.0), std::nextafter(value, 1e9),
            value * (1 - 5e-10), value * (1 + 5e-10)}) {
        CAPTURE(list.name, near);
        CHECK(is_preferred(list.series, near));
        CHECK(preferred_at_most(list.series, near) == value);
        CHECK(preferred_at_least(list.series, near) == value);
        CHECK(preferred_nearest(list.series, near) == value);
      }
      CHECK(!is_preferred(list.series, value * (1 + 1e-8)));
      CHECK(!is_preferred(list.series, value * (1 - 1e-8)));
    }
  }
}

TEST_CASE("the next decade begins where one ends", "[base][preferred]") {
  CHECK(preferred_at_least(Series::e24, 9.2) == 10.0);
  CHECK(preferred_at_most(Series::e24, 9.99) == 9.1);
  CHECK(preferred_nearest(Series::e12, 9.3) == 10.0);
  CHECK(preferred_nearest(Series::e12, 9.0) == 8.2);
  CHECK(preferred_at_least(Series::e192, 0.989) == 1.0);
  CHECK(preferred_between(Series::e3, 9.0, 101.0) ==
        std::vector<double>{10.0, 22.0, 47.0, 100.0});
  CHECK(preferred_between(Series::e3, 11.0, 21.0).empty());
  CHECK(preferred_between(Series::e3, 100.0, 10.0).empty());
  CHECK(preferred_between(Series::e3, 22.0, 22.0) == std::vector<double>{22.0});
}

TEST_CASE("a coarse series is part of the next finer one", "[base][preferred]") {
  // E3 to E24 nest, and E48 to E192 do; E24 and E48 are two families (IEC 60063).
  for (const auto& [coarse, fine] :
       std::vector<std::pair<Series, Series>>{{Series::e3, Series::e6},
                                              {Series::e6, Series::e12},
                                              {Series::e12, Series::e24},
                                              {Series::e48, Series::e96},
                                              {Series::e96, Series::e192}}) {
    for (const double value : preferred_between(coarse, 1.0, 9.99))
      CHECK(is_preferred(fine, value));
  }
  CHECK(!is_preferred(Series::e192, 5600.0));
  CHECK(!is_preferred(Series::e96, 4700.0));
  CHECK(!is_preferred(Series::e24, 475.0));
}

TEST_CASE("series by name", "[base][preferred]") {
  for (const Series series : kAll) CHECK(find_series(series_word(series)) == series);
  CHECK(find_series("e96") == Series::e96);
  for (const char* name : {"", "E", "E1", "E240", "96", "E12 ", "F12", "e"})
    CHECK(!find_series(name));
}

TEST_CASE("what no value can be near to is refused", "[base][preferred]") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const double infinite = std::numeric_limits<double>::infinity();
  for (const double value : {0.0, -1.0, 1e-19, 1e19, nan, infinite, -infinite}) {
    CAPTURE(value);
    CHECK_THROWS_AS(preferred_at_most(Series::e12, value), std::invalid_argument);
    CHECK_THROWS_AS(preferred_at_least(Series::e12, value), std::invalid_argument);
    CHECK_THROWS_AS(preferred_nearest(Series::e12, value), std::invalid_argument);
    CHECK_THROWS_AS(is_preferred(Series::e12, value), std::invalid_argument);
    CHECK_THROWS_AS(preferred_between(Series::e12, value, 1.0), std::invalid_argument);
    CHECK_THROWS_AS(preferred_between(Series::e12, 1.0, value), std::invalid_argument);
  }
  for (const Series series : kAll) {
    CHECK(preferred_at_least(series, 1e-18) == 1e-18);
    CHECK(preferred_at_most(series, 1e18) == 1e18);
    CHECK_THAT(preferred_at_least(series, 9.99e17), WithinRel(1e18, 1e-15));
  }
}
