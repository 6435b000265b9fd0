#include "core/base/marking.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <map>
#include <random>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#include "core/base/preferred.h"

using benchproof::colour_bands;
using benchproof::letter_code;
using benchproof::parse_quantity;
using benchproof::preferred_between;
using benchproof::Series;
using benchproof::Unit;
using Catch::Matchers::WithinRel;

namespace {

std::string bands(double ohms, double tolerance) {
  std::string text;
  for (const std::string_view colour : colour_bands(ohms, tolerance))
    text += (text.empty() ? "" : " ") + std::string(colour);
  return text;
}

// Kuphaldt, Lessons In Electric Circuits vol. V, resistor colour codes (table read as
// an image); pink: change list of IEC 60062:2016. What a colour says as a digit, as a
// power of ten, and as a tolerance in percent (0: nothing).
struct Colour {
  int digit;
  int exponent;
  double percent;
};
const std::map<std::string, Colour>& colours() {
  static const std::map<std::string, Colour> table = {
      {"black", {0, 0, 0}},   {"brown", {1, 1, 1}},    {"red", {2, 2, 2}},
      {"orange", {3, 3, 0}},  {"yellow", {4, 4, 0}},   {"green", {5, 5, 0.5}},
      {"blue", {6, 6, 0.25}}, {"violet", {7, 7, 0.1}}, {"grey", {8, 8, 0}},
      {"white", {9, 9, 0}},   {"gold", {-1, -1, 5}},   {"silver", {-1, -2, 10}},
      {"pink", {-1, -3, 0}}};
  return table;
}

struct Reading {
  double ohms = 0.0;
  double percent = 0.0;
};

/// What a person reads off the bands with that table.
Reading read_bands(std::vector<std::string_view> list) {
  Reading reading;
  reading.percent = 20.0;
  if (list.size() > 3) {
    reading.percent = colours().at(std::string(list.back())).percent;
    list.pop_back();
  }
  int digits = 0;
  for (std::size_t k = 0; k + 1 < list.size(); ++k)
    digits = digits * 10 + colours().at(std::string(list[k])).digit;
  const int exponent = colours().at(std::string(list.back())).exponent;
  reading.ohms = digits * std::pow(10.0, exponent);
  return reading;
}

}  // namespace

// Worked samples of Kuphaldt, Lessons In Electric Circuits vol. V, resistor colour
// codes.
TEST_CASE("colour bands as a book reads them", "[base][marking]") {
  CHECK(bands(47e3, 0.05) == "yellow violet orange gold");
  CHECK(bands(5.2, 0.10) == "green red gold silver");
  CHECK(bands(97, 0.20) == "white violet black");
  CHECK(bands(3300, 0.001) == "orange orange black brown violet");
  CHECK(bands(1.58, 0.02) == "brown green grey silver red");
  CHECK(bands(6.15, 0.0025) == "blue brown green silver blue");
}

TEST_CASE("every standard value reads back from its bands", "[base][marking]") {
  const std::vector<std::pair<Series, double>> sold = {
      {Series::e6, 0.20},    {Series::e12, 0.10},    {Series::e24, 0.05},
      {Series::e48, 0.02},   {Series::e96, 0.01},    {Series::e24, 0.01},
      {Series::e192, 0.005}, {Series::e192, 0.0025}, {Series::e192, 0.001}};
  for (const auto& [series, tolerance] : sold) {
    for (const double ohms : preferred_between(series, 0.1, 22e6)) {
      CAPTURE(ohms, tolerance);
      const auto list = colour_bands(ohms, tolerance);
      // Two digits for 5 % and wider, three for 2 % and tighter (IEC 60062, read in
      // the same source); no band for 20 %.
      const std::size_t count = tolerance > 0.1 ? 3 : tolerance > 0.02 ? 4 : 5;
      REQUIRE(list.size() == count);
      const Reading reading = read_bands(list);
      CHECK_THAT(reading.ohms, WithinRel(ohms, 1e-14));
      CHECK_THAT(reading.percent, WithinRel(tolerance * 100.0, 1e-14));
    }
  }
}

TEST_CASE("three digits where the value needs them", "[base][marking]") {
  const auto list = colour_bands(475.0, 0.05);
  REQUIRE(list.size() == 5);
  CHECK_THAT(read_bands(list).ohms, WithinRel(475.0, 1e-14));
  CHECK(list.back() == "gold");
}

TEST_CASE("what the colour code cannot say has no bands", "[base][marking]") {
  CHECK(bands(4712.0, 0.05).empty());
  CHECK(bands(470.0, 0.03).empty());
  CHECK(bands(470.0, 0.0).empty());
  CHECK(bands(0.0, 0.05).empty());
  CHECK(bands(-470.0, 0.05).empty());
  CHECK(bands(std::numeric_limits<double>::quiet_NaN(), 0.05).empty());
  CHECK(bands(std::numeric_limits<double>::infinity(), 0.05).empty());
  // Pink, the least power of ten, is 10^-3; white, the greatest, is 10^9.
  CHECK_THAT(read_bands(colour_bands(0.047, 0.05)).ohms, WithinRel(0.047, 1e-14));
  CHECK(bands(0.0047, 0.05).empty());
  CHECK(bands(0.047, 0.01).empty());
  CHECK_THAT(read_bands(colour_bands(99e9, 0.05)).ohms, WithinRel(99e9, 1e-14));
  CHECK(bands(1e11, 0.05).empty());
}

// The examples of IEC 60062 that a public encyclopaedia gives ("RKM code"), with a
// small k for its K.
TEST_CASE("letter codes of resistors", "[base][marking]") {
  CHECK(letter_code(0.47, Unit::ohm) == "R47");
  CHECK(letter_code(4.7, Unit::ohm) == "4R7");
  CHECK(letter_code(470, Unit::ohm) == "470R");
  CHECK(letter_code(4700, Unit::ohm) == "4k7");
  CHECK(letter_code(47e3, Unit::ohm) == "47k");
  CHECK(letter_code(47300, Unit::ohm) == "47k3");
  CHECK(letter_code(470e3, Unit::ohm) == "470k");
  CHECK(letter_code(4.7e6, Unit::ohm) == "4M7");
  // Ours.
  CHECK(letter_code(0.047, Unit::ohm) == "R047");
  CHECK(letter_code(999.9999, Unit::ohm) == "1k");
}

// Letters for capacitors from memory; those of inductors are our descriptions' own.
TEST_CASE("letter codes of capacitors and inductors", "[base][marking]") {
  CHECK(letter_code(2.2e-6, Unit::farad) == "2u2");
  CHECK(letter_code(100e-9, Unit::farad) == "100n");
  CHECK(letter_code(0.33e-12, Unit::farad) == "p33");
  CHECK(letter_code(4.7e-3, Unit::farad) == "4700u");  // As capacitors are sold.
  CHECK(letter_code(1.5, Unit::farad) == "1F5");
  CHECK(letter_code(100e-6, Unit::henry) == "100u");
  CHECK(letter_code(2.2e-3, Unit::henry) == "2m2");
}

TEST_CASE("a letter code reads back", "[base][marking]") {
  const unsigned seed = 60062;
  INFO("seed " << seed);
  std::mt19937 random(seed);
  std::uniform_int_distribution<int> digits(1, 999999);
  std::uniform_int_distribution<int> exponents(-6, 3);
  for (const Unit unit : {Unit::ohm, Unit::farad, Unit::henry}) {
    for (int sample = 0; sample < 500; ++sample) {
      std::ostringstream text;
      text << digits(random) << "e" << exponents(random);
      const double value = std::stod(text.str());
      const std::string code = letter_code(value, unit);
      CAPTURE(text.str(), code);
      const auto parsed = parse_quantity(code, unit);
      REQUIRE(std::holds_alternative<double>(parsed));
      CHECK_THAT(std::get<double>(parsed), WithinRel(value, 1e-14));
    }
  }
}

TEST_CASE("what has no letter code is refused", "[base][marking]") {
  CHECK_THROWS_AS(letter_code(12.0, Unit::volt), std::invalid_argument);
  CHECK_THROWS_AS(letter_code(0.0, Unit::ohm), std::invalid_argument);
  CHECK_THROWS_AS(letter_code(-1.0, Unit::ohm), std::invalid_argument);
  CHECK_THROWS_AS(letter_code(std::numeric_limits<double>::infinity(), Unit::farad),
                  std::invalid_argument);
}
