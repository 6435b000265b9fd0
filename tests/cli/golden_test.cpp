#include "golden.h"

#include <catch2/catch.hpp>

using namespace benchproof;

namespace {

bool is_same(const std::string& expected, const std::string& found) {
  return text_difference("here", expected, found).empty();
}

}  // namespace

TEST_CASE("golden texts: a count is exact", "[golden]") {
  const auto [expected, found] = GENERATE(table<std::string, std::string>({
      {"by hand: 8 rules fit", "by hand: 9 rules fit"},
      {"20 parts, 16 nets, 3 states", "20 parts, 16 nets, 2 states"},
      {"expectations: 5 of 5 hold", "expectations: 4 of 5 hold"},
      {"refused with 2 complaints", "refused with 1 complaints"},
      {"(25 that only one has)", "(24 that only one has)"},
      {"0 rules", "1 rules"},
      {"IEEE Std 1789-2015", "IEEE Std 1788-2015"},
  }));
  CAPTURE(expected, found);
  CHECK(is_same(expected, expected));
  CHECK_FALSE(is_same(expected, found));
  CHECK_FALSE(is_same(found, expected));
}

TEST_CASE("golden texts: a whole value below 100 is as given, and exact", "[golden]") {
  const auto [expected, found] = GENERATE(table<std::string, std::string>({
      {"limit 12 mA", "limit 13 mA"},
      {"(5 V - 2.4 V)", "(6 V - 2.4 V)"},
      {"at 25 C", "at 24 C"},
      {"0 A", "1 A"},
  }));
  CAPTURE(expected, found);
  CHECK_FALSE(is_same(expected, found));
}

TEST_CASE("golden texts: a measured figure may differ by one in its last digit",
          "[golden]") {
  const auto [expected, near, far] =
      GENERATE(table<std::string, std::string, std::string>({
          {"12.0 mA", "12.1 mA", "12.2 mA"},
          {"966 mW", "967 mW", "968 mW"},
          {"-100 mA", "-101 mA", "-102 mA"},
          {"100 mA", "99.9 mA", "98.9 mA"},
          {"jack  -6 %  fine", "jack  -7 %  fine", "jack  -8 %  fine"},
          {"85 % of its rating", "84 % of its rating", "83 % of its rating"},
          {"0 %", "1 %", "2 %"},
          {"-24 points", "-23 points", "-22 points"},
          {"a ratio of 1.25 here", "a ratio of 1.26 here", "a ratio of 1.27 here"},
      }));
  CAPTURE(expected, near, far);
  CHECK(is_same(expected, near));
  CHECK_FALSE(is_same(expected, far));
}

TEST_CASE("golden texts: words, units and lines are exact", "[golden]") {
  CHECK_FALSE(is_same("12.0 mA", "12.0 uA"));
  CHECK_FALSE(is_same("quay1  12.0 mA", "quay2  12.0 mA"));
  CHECK_FALSE(is_same("harbour-light.toml:16", "harbour-light.toml:17"));
  CHECK_FALSE(is_same("one\ntwo", "one"));
  CHECK_FALSE(is_same("one", "one\ntwo"));
}
