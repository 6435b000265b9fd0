#include "core/base/quick_key.h"

#include <catch2/catch.hpp>
#include <map>
#include <string>
#include <vector>

namespace benchproof {
namespace {

// Names that begin alike, one another's beginnings, an empty one, letters beyond ASCII
// (which std::string orders as unsigned) and an embedded zero.
const std::vector<std::string> kNames = {"",
                                         "a",
                                         "current",
                                         "current_max",
                                         "currents",
                                         "curve",
                                         "power",
                                         "power_at",
                                         "powers",
                                         "pulse",
                                         "Pulse",
                                         "\xC3\xA9t",
                                         "z",
                                         "\x7F",
                                         "\xFF",
                                         "voltage",
                                         std::string("a\0", 2),
                                         std::string("a\0b", 3)};

TEST_CASE("a key is found where its text is", "[base][quick-key]") {
  // Each name is looked up among all others, so that a wrong order loses its way.
  for (const std::string& left_out : kNames) {
    std::map<std::string, std::string, std::less<>> map;
    for (const std::string& name : kNames)
      if (name != left_out) map.emplace(name, name);
    for (const std::string& name : kNames) {
      CAPTURE(name, left_out);
      CHECK(map.find(QuickKey{name}) == map.find(name));
    }
  }
}

TEST_CASE("a key stands where std::string puts it", "[base][quick-key]") {
  for (const std::string& a : kNames)
    for (const std::string& b : kNames) {
      CAPTURE(a, b);
      CHECK((a < QuickKey{b}) == (a < b));
      CHECK((QuickKey{a} < b) == (a < b));
    }
}

}  // namespace
}  // namespace benchproof
