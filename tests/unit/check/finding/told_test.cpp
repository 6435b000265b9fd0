#include "core/check/finding/told.h"

#include <catch2/catch.hpp>
#include <string>
#include <vector>

using namespace benchproof;

namespace {

Finding found(Severity severity, std::string check, std::string part, double value,
              std::string follows = "") {
  Finding finding;
  finding.severity = severity;
  finding.check = std::move(check);
  finding.part = std::move(part);
  finding.value = value;
  finding.limit = 1.0;
  finding.follows = std::move(follows);
  return finding;
}

}  // namespace

TEST_CASE("what one check says of several parts and states is told once, of the worst",
          "[check][told]") {
  const std::vector<Finding> night = {found(Severity::note, "flicker", "buoy", 1.2),
                                      found(Severity::fault, "led-current", "a", 1.5),
                                      found(Severity::fault, "led-current", "b", 3.0)};
  const std::vector<Finding> day = {found(Severity::fault, "led-current", "a", 2.0)};
  const std::vector<FindingsAt> all = {{"night", night}, {"day", day}};
  const std::vector<Told> told = told_together(all);
  REQUIRE(told.size() == 2);
  CHECK(worst(told[0]).check == "led-current");
  REQUIRE(told[0].subjects.size() == 2);
  CHECK(told[0].subjects[0].name == "b");
  CHECK(told[0].subjects[1].worst->value == 2.0);
  CHECK(told[0].places == std::vector<std::string_view>{"night", "day"});
  CHECK(worst(told[1]).check == "flicker");
}

TEST_CASE("a graver finding stands for a lighter one of its check", "[check][told]") {
  const std::vector<Finding> here = {found(Severity::note, "inrush", "jack", 9.0)};
  const std::vector<Finding> there = {found(Severity::caution, "inrush", "jack", 2.0)};
  const std::vector<FindingsAt> all = {{"here", here}, {"there", there}};
  const std::vector<Told> told = told_together(all);
  REQUIRE(told.size() == 1);
  CHECK(worst(told[0]).severity == Severity::caution);
}

TEST_CASE("what follows stands below its first cause", "[check][told]") {
  const std::vector<Finding> here = {
      found(Severity::fault, "led-current", "a", 2.0),
      found(Severity::fault, "led-power", "a", 2.0, "led-current"),
      found(Severity::caution, "touch", "a", 2.0, "led-power"),
      found(Severity::caution, "touch", "b", 2.0)};
  const std::vector<FindingsAt> all = {{"here", here}};
  const std::vector<Told> told = told_together(all);
  REQUIRE(told.size() == 2);
  CHECK(worst(told[0]).check == "led-current");
  REQUIRE(told[0].results.size() == 2);
  CHECK(worst(told[0].results[0]).check == "led-power");
  CHECK(worst(told[0].results[1]).check == "touch");
  CHECK(worst(told[1]).part == "b");
}

TEST_CASE("a finding whose cause is not there, or is itself, stands for itself",
          "[check][told]") {
  const std::vector<Finding> here = {
      found(Severity::fault, "led-power", "a", 2.0, "led-current"),
      found(Severity::fault, "one", "a", 2.0, "other"),
      found(Severity::fault, "other", "a", 2.0, "one")};
  const std::vector<FindingsAt> all = {{"here", here}};
  std::size_t count = 0;
  for (const Told& told : told_together(all)) count += 1 + told.results.size();
  CHECK(count == 3);
}

TEST_CASE("each expectation stands for itself", "[check][told]") {
  std::vector<Finding> here = {found(Severity::fault, "expectation", "a", 2.0),
                               found(Severity::fault, "expectation", "a", 3.0)};
  here[0].span.begin.line = 10;
  here[1].span.begin.line = 20;
  const std::vector<FindingsAt> all = {{"here", here}};
  CHECK(told_together(all).size() == 2);
}

TEST_CASE("the cause of a finding is its own part's before another's",
          "[check][told]") {
  const std::vector<Finding> here = {
      found(Severity::fault, "led-current", "a", 2.0),
      found(Severity::fault, "led-current", "b", 2.0),
      found(Severity::fault, "led-power", "b", 2.0, "led-current"),
      found(Severity::fault, "led-power", "c", 2.0, "led-current"),
      found(Severity::fault, "led-power", "c", 2.0, "nothing")};
  CHECK(cause_among(here, here[2]) == &here[1]);
  CHECK(cause_among(here, here[3]) == &here[0]);
  CHECK(cause_among(here, here[4]) == nullptr);
  CHECK(cause_among(here, here[0]) == nullptr);
}
