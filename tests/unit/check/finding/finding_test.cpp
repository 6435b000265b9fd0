#include "core/check/finding/finding.h"

#include <catch2/catch.hpp>
#include <vector>

using benchproof::Bound;
using benchproof::Finding;
using benchproof::margin;
using benchproof::Severity;
using Catch::Matchers::WithinAbs;

TEST_CASE("a margin is the room left over the limit", "[check][finding]") {
  Finding finding;
  CHECK_FALSE(margin(finding).has_value());
  finding.value = 15.0;
  CHECK_FALSE(margin(finding).has_value());
  finding.limit = 20.0;
  CHECK_THAT(*margin(finding), WithinAbs(0.25, 1e-15));
  finding.value = 25.0;
  CHECK_THAT(*margin(finding), WithinAbs(-0.25, 1e-15));
  finding.bound = Bound::lower;
  CHECK_THAT(*margin(finding), WithinAbs(0.25, 1e-15));
  finding.limit = -10.0;
  finding.value = -12.0;
  CHECK_THAT(*margin(finding), WithinAbs(-0.2, 1e-15));
  finding.limit = 0.0;
  CHECK_FALSE(margin(finding).has_value());
}

TEST_CASE("faults stand first, causes before what follows", "[check][finding]") {
  std::vector<Finding> findings(6);
  const char* names[] = {"note", "late", "cause", "caution", "follower", "second"};
  for (std::size_t i = 0; i < findings.size(); ++i) findings[i].check = names[i];
  findings[1].severity = Severity::fault;
  findings[1].follows = "cause";
  findings[2].severity = Severity::fault;
  findings[3].severity = Severity::caution;
  findings[4].severity = Severity::fault;
  findings[4].follows = "cause";
  findings[5].severity = Severity::fault;
  benchproof::sort_by_severity(findings);
  std::vector<std::string> order;
  for (const Finding& finding : findings) order.push_back(finding.check);
  CHECK(order == std::vector<std::string>{"cause", "second", "late", "follower",
                                          "caution", "note"});
}
