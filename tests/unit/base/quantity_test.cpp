#include "core/base/quantity.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <cstring>
#include <limits>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

using benchproof::format_quantity;
using benchproof::parse_quantity;
using benchproof::QuantityError;
using benchproof::shortest;
using benchproof::symbol;
using benchproof::Unit;
using Catch::Matchers::WithinRel;
using Kind = QuantityError::Kind;

namespace {

const std::vector<Unit> kUnits = {
    Unit::volt,         Unit::ampere,   Unit::watt,        Unit::ohm,
    Unit::farad,        Unit::henry,    Unit::second,      Unit::hertz,
    Unit::celsius,      Unit::fraction, Unit::ampere_hour, Unit::kelvin_per_watt,
    Unit::square_metre, Unit::metre,    Unit::none};

double value_of(const std::string& text, Unit unit) {
  INFO("text: " << text);
  const auto result = parse_quantity(text, unit);
  if (const auto* error = std::get_if<QuantityError>(&result)) FAIL(error->message);
  return std::get<double>(result);
}

QuantityError error_of(const std::string& text, Unit unit) {
  INFO("text: " << text);
  const auto result = parse_quantity(text, unit);
  if (const auto* value = std::get_if<double>(&result)) FAIL("was read as " << *value);
  return std::get<QuantityError>(result);
}

}  // namespace

// The examples and letters of IEC 60062 as a public encyclopaedia gives them ("RKM
// code"); the doubles are the nearest ones to the decimal values.
TEST_CASE("the letter code of resistors", "[base][quantity]") {
  CHECK(value_of("R47", Unit::ohm) == 0.47);
  CHECK(value_of("4R7", Unit::ohm) == 4.7);
  CHECK(value_of("470R", Unit::ohm) == 470.0);
  CHECK(value_of("4K7", Unit::ohm) == 4700.0);
  CHECK(value_of("47K", Unit::ohm) == 47e3);
  CHECK(value_of("47K3", Unit::ohm) == 47300.0);
  CHECK(value_of("470K", Unit::ohm) == 470e3);
  CHECK(value_of("4M7", Unit::ohm) == 4.7e6);
  // G, T and L from memory.
  CHECK(value_of("1G5", Unit::ohm) == 1.5e9);
  CHECK(value_of("2T2", Unit::ohm) == 2.2e12);
  CHECK(value_of("4L7", Unit::ohm) == 0.0047);
  // Ours: a small k, a leading zero.
  CHECK(value_of("4k7", Unit::ohm) == 4700.0);
  CHECK(value_of("0R47", Unit::ohm) == 0.47);
  CHECK(value_of("4.7k", Unit::ohm) == 4700.0);
  CHECK(value_of("470 R", Unit::ohm) == 470.0);
}

// Letters of IEC 60062 for capacitors, from memory.
TEST_CASE("the letter code of capacitors and inductors", "[base][quantity]") {
  CHECK(value_of("2u2", Unit::farad) == 2.2e-6);
  CHECK(value_of("2\u00B52", Unit::farad) == 2.2e-6);
  CHECK(value_of("2\u03BC2", Unit::farad) == 2.2e-6);
  CHECK(value_of("p33", Unit::farad) == 0.33e-12);
  CHECK(value_of("3n3", Unit::farad) == 3.3e-9);
  CHECK(value_of("100n", Unit::farad) == 100e-9);
  CHECK(value_of("4m7", Unit::farad) == 4.7e-3);
  CHECK(value_of("1F5", Unit::farad) == 1.5);
  CHECK(value_of("22u", Unit::farad) == 22e-6);
  CHECK(value_of("2m2", Unit::henry) == 2.2e-3);
  CHECK(value_of("4u7", Unit::henry) == 4.7e-6);
  CHECK(value_of("1H5", Unit::henry) == 1.5);
}

TEST_CASE("numbers with units", "[base][quantity]") {
  CHECK(value_of("500mA", Unit::ampere) == 0.5);
  CHECK(value_of("500 mA", Unit::ampere) == 0.5);
  CHECK(value_of("1e3 ohm", Unit::ohm) == 1000.0);
  CHECK(value_of("1E-3ohm", Unit::ohm) == 0.001);
  CHECK(value_of("4.7 kohm", Unit::ohm) == 4700.0);
  CHECK(value_of("4.7 k\u03A9", Unit::ohm) == 4700.0);
  CHECK(value_of("4.7 k\u2126", Unit::ohm) == 4700.0);
  CHECK(value_of("470\u03A9", Unit::ohm) == 470.0);
  CHECK(value_of("220uF", Unit::farad) == 220e-6);
  CHECK(value_of("220 \u00B5F", Unit::farad) == 220e-6);
  CHECK(value_of("220 \u03BCF", Unit::farad) == 220e-6);
  CHECK(value_of("12 V", Unit::volt) == 12.0);
  CHECK(value_of("+12 V", Unit::volt) == 12.0);
  CHECK(value_of("-12 V", Unit::volt) == -12.0);
  CHECK(value_of("\u221212 V", Unit::volt) == -12.0);
  CHECK(value_of("12\u00A0V", Unit::volt) == 12.0);
  CHECK(value_of("12\u202FV", Unit::volt) == 12.0);
  CHECK(value_of(" 12 V\t", Unit::volt) == 12.0);
  CHECK(value_of(".5 V", Unit::volt) == 0.5);
  CHECK(value_of("25 \u00B0C", Unit::celsius) == 25.0);
  CHECK(value_of("25 C", Unit::celsius) == 25.0);
  CHECK(value_of("-40\u00B0C", Unit::celsius) == -40.0);
  CHECK(value_of("5 %", Unit::fraction) == 0.05);
  CHECK(value_of("0.1%", Unit::fraction) == 0.001);
  CHECK(value_of("800 mAh", Unit::ampere_hour) == 0.8);
  CHECK(value_of("1.2 Ah", Unit::ampere_hour) == 1.2);
  CHECK(value_of("65 K/W", Unit::kelvin_per_watt) == 65.0);
  CHECK(value_of("65 \u00B0C/W", Unit::kelvin_per_watt) == 65.0);
  CHECK(value_of("30 cm", Unit::metre) == 0.3);
  CHECK(value_of("3 m", Unit::metre) == 3.0);
  CHECK(value_of("2 mm", Unit::metre) == 0.002);
  CHECK(value_of("20 ms", Unit::second) == 0.02);
  CHECK(value_of("500 Hz", Unit::hertz) == 500.0);
  CHECK(value_of("1.5e-3", Unit::none) == 1.5e-3);
  CHECK(value_of("0.14 mm2", Unit::square_metre) == 0.14e-6);
  CHECK(value_of("0.14mm\u00B2", Unit::square_metre) == 0.14e-6);
}

// BIPM, The International System of Units, 9th edition, table 7.
TEST_CASE("every prefix of SI that is read", "[base][quantity]") {
  const std::vector<std::pair<std::string, std::string>> prefixes = {
      {"f", "e-15"},     {"p", "e-12"},     {"n", "e-9"}, {"u", "e-6"},
      {"\u00B5", "e-6"}, {"\u03BC", "e-6"}, {"m", "e-3"}, {"", "e0"},
      {"k", "e3"},       {"M", "e6"},       {"G", "e9"},  {"T", "e12"}};
  const std::vector<std::pair<std::string, Unit>> units = {
      {"V", Unit::volt},   {"A", Unit::ampere}, {"W", Unit::watt},
      {"ohm", Unit::ohm},  {"F", Unit::farad},  {"H", Unit::henry},
      {"s", Unit::second}, {"Hz", Unit::hertz}, {"Ah", Unit::ampere_hour},
      {"m", Unit::metre}};
  for (const auto& [prefix, power] : prefixes) {
    for (const auto& [name, unit] : units) {
      for (const std::string number : {"1", "4.7", "0.33", "123.456"}) {
        for (const std::string gap : {"", " "}) {
          const std::string text = number + gap + prefix + name;
          CAPTURE(text);
          // std::stod of the C library rounds the decimal number correctly.
          CHECK(value_of(text, unit) == std::stod(number + power));
        }
      }
    }
  }
}

// Diameters and areas published for copper wire: AWG 16, 20, 26, 30 of Kuphaldt,
// Lessons In Electric Circuits vol. V, wire table (diameters in inch, four figures);
// the two ends of the scale are ASTM B258's definition.
TEST_CASE("wire gauges", "[base][quantity]") {
  const auto diameter_inch = [](const std::string& gauge) {
    return std::sqrt(value_of(gauge, Unit::square_metre) * 4 / std::acos(-1.0)) /
           0.0254;
  };
  // Half a unit of the last printed digit.
  CHECK_THAT(diameter_inch("AWG 16"), Catch::Matchers::WithinAbs(0.05082, 0.5e-5));
  CHECK_THAT(diameter_inch("AWG 20"), Catch::Matchers::WithinAbs(0.03196, 0.5e-5));
  CHECK_THAT(diameter_inch("AWG 26"), Catch::Matchers::WithinAbs(0.01594, 0.5e-5));
  CHECK_THAT(diameter_inch("AWG26"), Catch::Matchers::WithinAbs(0.01594, 0.5e-5));
  CHECK_THAT(diameter_inch("AWG 30"), Catch::Matchers::WithinAbs(0.01003, 0.5e-5));
  // Exact by definition; a few roundings of pow and sqrt.
  CHECK_THAT(diameter_inch("AWG 36"), WithinRel(0.005, 1e-14));
  CHECK_THAT(diameter_inch("AWG 0000"), WithinRel(0.46, 1e-14));
  CHECK(value_of("AWG 0", Unit::square_metre) < value_of("AWG 00", Unit::square_metre));
  CHECK(value_of("AWG 00", Unit::square_metre) <
        value_of("AWG 000", Unit::square_metre));

  CHECK(error_of("AWG", Unit::square_metre).kind == Kind::malformed);
  CHECK(error_of("AWG -1", Unit::square_metre).kind == Kind::malformed);
  CHECK(error_of("AWG 26.5", Unit::square_metre).kind == Kind::malformed);
  CHECK(error_of("AWG 57", Unit::square_metre).kind == Kind::out_of_range);
  CHECK(error_of("AWG 00000", Unit::square_metre).kind == Kind::out_of_range);
  CHECK(error_of("AWG 99999999999999999999", Unit::square_metre).kind ==
        Kind::out_of_range);
  CHECK(error_of("AWG 26", Unit::metre).kind == Kind::malformed);
}

TEST_CASE("a decimal comma is refused", "[base][quantity]") {
  for (const std::string text : {"4,7k", "4,7 kohm", "1,000 ohm", "4,7"}) {
    CAPTURE(text);
    const QuantityError error = error_of(text, Unit::ohm);
    CHECK(error.kind == Kind::decimal_comma);
    CHECK(error.offset == 1);
    CHECK_THAT(error.message, Catch::Contains("comma"));
    CHECK_THAT(error.hint, Catch::Contains("decimal point"));
  }
}

TEST_CASE("what is wrong with a text is told", "[base][quantity]") {
  struct Case {
    std::string text;
    Unit unit;
    Kind kind;
    std::size_t offset;
    std::string message;
  };
  const std::vector<Case> cases = {
      {"", Unit::volt, Kind::malformed, 0, "empty"},
      {"  ", Unit::volt, Kind::malformed, 0, "empty"},
      {"abc", Unit::volt, Kind::malformed, 0, "number"},
      {"V", Unit::volt, Kind::malformed, 0, "number"},
      {"R", Unit::ohm, Kind::malformed, 0, "number"},
      {"-", Unit::volt, Kind::malformed, 0, "number"},
      {".", Unit::volt, Kind::malformed, 0, "number"},
      {"- 5 V", Unit::volt, Kind::malformed, 0, "number"},
      {"--5 V", Unit::volt, Kind::malformed, 0, "number"},
      {"\xFF\xFE", Unit::volt, Kind::malformed, 0, "number"},
      {"12", Unit::volt, Kind::no_unit, 2, "no unit"},
      {"470", Unit::ohm, Kind::no_unit, 3, "no unit"},
      {"12 k", Unit::volt, Kind::no_unit, 3, "prefix without its unit"},
      {"0.05", Unit::fraction, Kind::no_unit, 4, "no unit"},
      {"12 A", Unit::volt, Kind::wrong_unit, 3,
       "the unit of a current, not of a voltage"},
      {"12 kohm", Unit::farad, Kind::wrong_unit, 3, "resistance"},
      {"12 C", Unit::volt, Kind::wrong_unit, 3, "temperature"},
      {"10 V", Unit::none, Kind::wrong_unit, 3, "voltage"},
      {"10 foo", Unit::none, Kind::wrong_unit, 3, "plain number"},
      {"2u2", Unit::ohm, Kind::wrong_unit, 1,
       "'u' is not a code letter of a resistance"},
      {"4k7", Unit::farad, Kind::wrong_unit, 1, "code letter"},
      {"1 k ohm", Unit::ohm, Kind::unknown_unit, 2, "'k ohm'"},
      {"1 mhz", Unit::hertz, Kind::unknown_unit, 2, "'mhz'"},
      {"1 mf", Unit::farad, Kind::unknown_unit, 2, "'mf'"},
      {"1 f", Unit::farad, Kind::no_unit, 2, "prefix without its unit"},
      {"2 M", Unit::metre, Kind::no_unit, 2, "prefix without its unit"},
      {"12 VAC", Unit::volt, Kind::wrong_unit, 3, "'VAC' is a voltage that alternates"},
      {"230V~", Unit::volt, Kind::wrong_unit, 3, "alternates"},
      {"12 VDC", Unit::ampere, Kind::unknown_unit, 3, "'VDC'"},
      {"1/4 ohm", Unit::ohm, Kind::unknown_unit, 1, "'/4 ohm'"},
      {"1/0 W", Unit::watt, Kind::unknown_unit, 1, "'/0 W'"},
      {"1/4", Unit::watt, Kind::unknown_unit, 1, "'/4'"},
      {"26.5 AWG", Unit::square_metre, Kind::malformed, 0, "whole number"},
      {"5 min", Unit::second, Kind::unknown_unit, 2, "'min'"},
      {"3 h", Unit::second, Kind::unknown_unit, 2, "'h'"},
      {"1e V", Unit::volt, Kind::unknown_unit, 1, "'e V'"},
      {"0x10 V", Unit::volt, Kind::unknown_unit, 1, "x10"},
      {"1.2.3 V", Unit::volt, Kind::unknown_unit, 3, ".3 V"},
      {"10 000 ohm", Unit::ohm, Kind::malformed, 3, "gap"},
      {"4k7 ohm", Unit::ohm, Kind::malformed, 4, "'ohm' follows the letter code"},
      {"4k7J", Unit::ohm, Kind::malformed, 3, "'J' follows the letter code"},
      {"4.7k2", Unit::ohm, Kind::malformed, 3, "second decimal point"},
      {"1e3k2", Unit::ohm, Kind::malformed, 3, "second decimal point"},
      {"3V3", Unit::volt, Kind::malformed, 1, "letter code"},
      {"nan", Unit::ohm, Kind::out_of_range, 0, "finite"},
      {"NaN ohm", Unit::ohm, Kind::out_of_range, 0, "finite"},
      {"-inf V", Unit::volt, Kind::out_of_range, 0, "finite"},
      {"Infinity", Unit::none, Kind::out_of_range, 0, "finite"},
      {"1e309 V", Unit::volt, Kind::out_of_range, 0, "beyond"},
      {"1e308 kV", Unit::volt, Kind::out_of_range, 0, "beyond"},
      {"-1e999999999999999999999 V", Unit::volt, Kind::out_of_range, 0, "beyond"},
      {"1e-999999999999999999999 V", Unit::volt, Kind::out_of_range, 0, "beyond"},
      {"1e-320 pV", Unit::volt, Kind::out_of_range, 0, "beyond"},
  };
  for (const Case& c : cases) {
    CAPTURE(c.text);
    const QuantityError error = error_of(c.text, c.unit);
    CHECK(error.kind == c.kind);
    CHECK(error.offset == c.offset);
    CHECK_THAT(error.message, Catch::Contains(c.message));
    CHECK_FALSE(error.hint.empty());
  }
}

TEST_CASE("a unit by another name is told which is meant", "[base][quantity]") {
  const auto hint = [](const char* text, Unit unit) {
    return error_of(text, unit).hint;
  };
  for (const char* small : {"10m", "10 m", "4m7"})
    CHECK_THAT(hint(small, Unit::ohm),
               Catch::Contains("'10 mohm'") && Catch::Contains("'10M'"));
  CHECK_THAT(hint("1 mhz", Unit::hertz),
             Catch::Contains("'mHz'") && Catch::Contains("'MHz'"));
  CHECK_THAT(hint("100 mf", Unit::farad),
             Catch::Contains("'uF'") && Catch::Contains("'mF'"));
  CHECK_THAT(hint("12 V AC", Unit::volt), Catch::Contains("this is for DC"));
  CHECK_THAT(hint("5 quux", Unit::volt), Catch::StartsWith("write a voltage like"));
  CHECK_THAT(hint("5 s s", Unit::volt), !Catch::Contains("did you mean"));
  CHECK_THAT(hint("330R,470R", Unit::ohm), Catch::StartsWith("one value stands here"));
}

TEST_CASE("a unit may be written as people do who are not strict", "[base][quantity]") {
  CHECK(value_of("5v", Unit::volt) == 5.0);
  CHECK(value_of("9V", Unit::volt) == 9.0);
  CHECK(value_of("5 volts", Unit::volt) == 5.0);
  CHECK(value_of("12 V DC", Unit::volt) == 12.0);
  CHECK(value_of("12VDC", Unit::volt) == 12.0);
  CHECK(value_of("12 Vdc", Unit::volt) == 12.0);
  CHECK(value_of("500 mv", Unit::volt) == 0.5);
  CHECK(value_of("20ma", Unit::ampere) == 0.02);
  CHECK(value_of("1 amp", Unit::ampere) == 1.0);
  CHECK(value_of("250 mw", Unit::watt) == 0.25);
  CHECK(value_of("1/4W", Unit::watt) == 0.25);
  CHECK(value_of("1/8 watt", Unit::watt) == 0.125);
  for (const char* ohms :
       {"470 Ohm", "470 ohms", "470Ohms", "470 OHM", "470r", "470 r"})
    CHECK(value_of(ohms, Unit::ohm) == 470.0);
  CHECK(value_of("4r7", Unit::ohm) == 4.7);
  CHECK(value_of("4.7 KOhm", Unit::ohm) == 4700.0);
  CHECK(value_of("10 K\u03A9", Unit::ohm) == 10e3);
  CHECK(value_of("10 uf", Unit::farad) == 10e-6);
  CHECK(value_of("100NF", Unit::farad) == 100e-9);
  CHECK(value_of("10 mh", Unit::henry) == 0.01);
  CHECK(value_of("20 msec", Unit::second) == 0.02);
  CHECK(value_of("1 khz", Unit::hertz) == 1000.0);
  CHECK(value_of("1 KHZ", Unit::hertz) == 1000.0);
  CHECK(value_of("25 celsius", Unit::celsius) == 25.0);
  CHECK(value_of("25c", Unit::celsius) == 25.0);
  CHECK(value_of("5 percent", Unit::fraction) == 0.05);
  CHECK(value_of("800MAH", Unit::ampere_hour) == 800e6);  // As it is written.
  CHECK(value_of("800 mah", Unit::ampere_hour) == 0.8);
  CHECK(value_of("26 AWG", Unit::square_metre) ==
        value_of("AWG 26", Unit::square_metre));
  CHECK(value_of("awg26", Unit::square_metre) ==
        value_of("AWG 26", Unit::square_metre));
}

TEST_CASE("zero keeps its exponent harmless", "[base][quantity]") {
  CHECK(value_of("0 V", Unit::volt) == 0.0);
  CHECK(value_of("0e-999999 V", Unit::volt) == 0.0);
  CHECK(value_of("0R", Unit::ohm) == 0.0);
}

TEST_CASE("m is milli and M is mega", "[base][quantity]") {
  CHECK(value_of("1 mohm", Unit::ohm) == 1e-3);
  CHECK(value_of("1 Mohm", Unit::ohm) == 1e6);
  CHECK(value_of("1L", Unit::ohm) == 1e-3);
  CHECK(value_of("1M", Unit::ohm) == 1e6);
  CHECK(value_of("1 mOhm", Unit::ohm) == 1e-3);
  CHECK(value_of("1 MOhm", Unit::ohm) == 1e6);
  CHECK(value_of("1 MHZ", Unit::hertz) == 1e6);
  CHECK(value_of("1 MA", Unit::ampere) == 1e6);
}

TEST_CASE("engineering form", "[base][quantity]") {
  CHECK(format_quantity(0.0123, Unit::ampere) == "12.3 mA");
  CHECK(format_quantity(4700, Unit::ohm) == "4.70 kohm");
  CHECK(format_quantity(-4700, Unit::ohm) == "-4.70 kohm");
  CHECK(format_quantity(999.6, Unit::ohm) == "1.00 kohm");
  CHECK(format_quantity(999.4, Unit::ohm) == "999 ohm");
  CHECK(format_quantity(0.9996, Unit::volt) == "1.00 V");
  CHECK(format_quantity(0.9994, Unit::volt) == "999 mV");
  CHECK(format_quantity(123.4, Unit::ohm, 1) == "100 ohm");
  CHECK(format_quantity(5, Unit::volt, 5) == "5.0000 V");
  CHECK(format_quantity(1e-15, Unit::ampere) == "1.00 fA");
  CHECK(format_quantity(2e-18, Unit::ampere) == "2.00e-18 A");
  CHECK(format_quantity(2e12, Unit::ohm) == "2.00 Tohm");
  CHECK(format_quantity(2e15, Unit::ohm) == "2000 Tohm");
  CHECK(format_quantity(2e20, Unit::ohm) == "2.00e+20 ohm");
  CHECK(format_quantity(0, Unit::volt) == "0 V");
  CHECK(format_quantity(-0.0, Unit::volt) == "0 V");
  CHECK(format_quantity(0.05, Unit::fraction) == "5.00 %");
  CHECK(format_quantity(-0.127, Unit::fraction, 2) == "-13 %");
  CHECK(format_quantity(25, Unit::celsius) == "25.0 \u00B0C");
  CHECK(format_quantity(1234.5, Unit::celsius) == "1230 \u00B0C");
  CHECK(format_quantity(0.14e-6, Unit::square_metre) == "0.140 mm2");
  CHECK(format_quantity(1.5, Unit::metre, 2) == "1.5 m");
  CHECK(format_quantity(3600, Unit::second, 2) == "3600 s");
  CHECK(format_quantity(0.5, Unit::none) == "0.500");
  CHECK(format_quantity(100, Unit::none) == "100");
  CHECK(format_quantity(1e-12, Unit::none) == "1.00e-12");
  CHECK(format_quantity(std::nan(""), Unit::volt) == "nan V");
  CHECK(format_quantity(-std::numeric_limits<double>::infinity(), Unit::ohm) ==
        "-inf ohm");
  CHECK_THROWS_AS(format_quantity(1, Unit::volt, 0), std::invalid_argument);
  CHECK_THROWS_AS(format_quantity(1, Unit::volt, 18), std::invalid_argument);
}

TEST_CASE("what is printed reads back", "[base][quantity][property]") {
  constexpr unsigned kSeed = 20240611;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> exponent(-20.0, 20.0);
  for (const Unit unit : kUnits) {
    for (int i = 0; i < 300; ++i) {
      const double sign = i % 2 == 0 ? 1.0 : -1.0;
      const double value = sign * std::pow(10.0, exponent(random));
      const int digits = 1 + i % 17;
      const std::string text = format_quantity(value, unit, digits);
      CAPTURE(text, value, digits);
      // Half a unit of the last printed digit, and the rounding of a double.
      const double bound = 0.5 * std::pow(10.0, 1 - digits) * (1 + 1e-12) +
                           4 * std::numeric_limits<double>::epsilon();
      CHECK_THAT(value_of(text, unit), WithinRel(value, bound));
      // Printing what was read changes nothing more (17 digits are more than a double
      // holds, so there the last one may).
      if (digits <= 15)
        CHECK(format_quantity(value_of(text, unit), unit, digits) == text);
    }
  }
}

TEST_CASE("the shortest text is the same double", "[base][quantity][property]") {
  CHECK(shortest(0.1) == "0.1");
  CHECK(shortest(1e-12) == "1e-12");
  CHECK(shortest(4700) == "4700");
  CHECK(shortest(std::numeric_limits<double>::quiet_NaN()) == "nan");
  CHECK(shortest(-std::numeric_limits<double>::quiet_NaN()) == "nan");
  CHECK(shortest(std::numeric_limits<double>::infinity()) == "inf");
  CHECK(shortest(-std::numeric_limits<double>::infinity()) == "-inf");
  constexpr unsigned kSeed = 7;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  for (int i = 0; i < 2000; ++i) {
    double value = 0.0;
    const std::uint64_t bits = random();
    static_assert(sizeof value == sizeof bits);
    std::memcpy(&value, &bits, sizeof value);
    if (!std::isfinite(value)) continue;
    const std::string text = shortest(value);
    CAPTURE(text);
    // std::strtod of the C library is the outside reader.
    CHECK(std::strtod(text.c_str(), nullptr) == value);
  }
}

TEST_CASE("random bytes never do more than be refused", "[base][quantity][property]") {
  constexpr unsigned kSeed = 99;
  CAPTURE(kSeed);
  std::mt19937 random(kSeed);
  const std::string alphabet = "0123456789.,eE+-kKmMuRpnVAohm \xC2\xB5\xCE\xBC\xFF%/";
  std::size_t read = 0;
  for (int i = 0; i < 20000; ++i) {
    std::string text;
    for (std::size_t size = random() % 9; size > 0; --size)
      text += alphabet[random() % alphabet.size()];
    const Unit unit = kUnits[random() % kUnits.size()];
    CAPTURE(text);
    const auto result = parse_quantity(text, unit);
    if (const auto* value = std::get_if<double>(&result)) {
      ++read;
      REQUIRE(std::isfinite(*value));
    } else {
      const auto& error = std::get<QuantityError>(result);
      REQUIRE(error.offset <= text.size());
      REQUIRE_FALSE(error.message.empty());
    }
  }
  CHECK(read > 100);
}

TEST_CASE("usual symbols", "[base][quantity]") {
  CHECK(symbol(Unit::volt) == "V");
  CHECK(symbol(Unit::ohm) == "ohm");
  CHECK(symbol(Unit::fraction) == "%");
  CHECK(symbol(Unit::none).empty());
}
