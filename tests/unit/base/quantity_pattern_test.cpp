#include "core/base/quantity_pattern.h"

#include <catch2/catch.hpp>
#include <regex>
#include <string>
#include <variant>

using namespace benchproof;

TEST_CASE("a pattern takes the texts that are read as its unit", "[quantity]") {
  const std::string text = GENERATE(
      "12 V", "3.3V", " 5 mV ", "-5 V", "+5 V", "1e3 V", "1e V", ".5 V", "5. V", ". V",
      "5", "", "V", "5 v", "12 VV", "20 mA", "0.25 W", "4.7 kohm", "470R", "4k7",
      "0R47", "R47", "4k7 ohm", "4.7k7", "10m", "10 m", "10 mohm", "10M", "1K",
      "220 uF", "2u2", "2p", "100 uH", "2m2", "20 ms", "500 Hz", "25 C", "-10 C", "5%",
      "5 m%", "800 mAh", "65 K/W", "65 C/W", "AWG 26", "AWG26", "AWG", "0.14 mm2",
      "30 cm", "1.5 m", "1 kcm", "4,7 V", "1 000 V", "nan V", "12 V x");
  const int k = GENERATE(range(0, static_cast<int>(Unit::none) + 1));
  const auto unit = static_cast<Unit>(k);
  CAPTURE(text, k);
  const bool is_read = std::holds_alternative<double>(parse_quantity(text, unit));
  // What is read although it is written loosely is none of the pattern's.
  const bool is_loose = text == "5 v";
  CHECK(std::regex_search(text, std::regex(quantity_pattern(unit))) ==
        (is_read && !is_loose));
}
