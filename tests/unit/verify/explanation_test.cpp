#include "core/check/finding/explanation.h"

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <set>
#include <stdexcept>
#include <string>
#include <string_view>

#include "core/verify/explanations.h"

using benchproof::check_id;
using benchproof::Explanation;
using benchproof::explanations;
using benchproof::find_explanation;

namespace {

bool is_plain(std::string_view text) {
  return std::all_of(text.begin(), text.end(),
                     [](char c) { return c >= ' ' && c <= '~'; });
}

bool has(std::string_view text, std::string_view part) {
  return text.find(part) != std::string_view::npos;
}

}  // namespace

TEST_CASE("every finding has one explanation, with all of it said", "[explanation]") {
  std::set<std::string_view> seen;
  for (const Explanation& e : explanations()) {
    CAPTURE(e.check);
    CHECK(seen.insert(e.check).second);
    CHECK(std::all_of(e.check.begin(), e.check.end(),
                      [](char c) { return (c >= 'a' && c <= 'z') || c == '-'; }));
    for (const std::string_view field : {e.what, e.formula, e.limit, e.why, e.change}) {
      CAPTURE(field);
      CHECK_FALSE(field.empty());
      CHECK(is_plain(field));
      if (!field.empty()) CHECK(field.back() != '.');
    }
    // One line in the list of all: the longest id and a gap come before it.
    CHECK(e.what.size() <= 80);
  }
  CHECK(seen.size() >= 80);
}

TEST_CASE("every explanation says how far its limit can be trusted", "[explanation]") {
  constexpr std::array<std::string_view, 6> kWords = {
      "(verified)", "memory", "(practice)", "(given", "mark", "Kirchhoff"};
  for (const Explanation& e : explanations()) {
    CAPTURE(e.check, e.limit);
    CHECK(std::any_of(kWords.begin(), kWords.end(),
                      [&e](std::string_view word) { return has(e.limit, word); }));
  }
}

TEST_CASE("an id is found by its text, and nothing else is", "[explanation]") {
  REQUIRE(find_explanation("led-current") != nullptr);
  CHECK(find_explanation("led-current")->check == "led-current");
  CHECK(find_explanation("led-curren") == nullptr);
  CHECK(find_explanation("") == nullptr);
  CHECK(std::string_view(check_id("expectation")) == "expectation");
  CHECK_THROWS_AS(check_id("no-such"), std::invalid_argument);
}
