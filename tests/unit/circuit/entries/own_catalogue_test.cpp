#include "core/circuit/entries/own_catalogue.h"

#include <catch2/catch.hpp>
#include <string>

namespace benchproof {
namespace {

TEST_CASE("a catalogue's name stays in the description's folder", "[circuit]") {
  for (const auto* inside : {"parts.toml", "mine/parts.toml", "./parts.toml", "..toml",
                             "a..b/parts.toml", "..."})
    CHECK(is_beside(inside));
  for (const auto* outside : {"", "/", "/etc/passwd", "..", "../parts.toml",
                              "a/../../parts.toml", "a/..", "folder/"})
    CHECK_FALSE(is_beside(outside));
}

TEST_CASE("a description's catalogue is found where it is named rightly", "[circuit]") {
  const auto own = own_catalogue("title = \"x\"\ncatalogue = \"mine.toml\"\n");
  REQUIRE(own.has_value());
  CHECK(own->path == "mine.toml");
  CHECK(own->span.begin == Position{2, 13});
  for (const auto* none :
       {"", "title = \"catalogue\"", "catalogue = 3", "catalogue = \"../x\"",
        R"(catalogue = "a\u0000b")", "[catalogue]\nx = \"y\"", "catalogue = \"",
        "[parts]\ncatalogue = \"x.toml\""})
    CHECK_FALSE(own_catalogue(none).has_value());
  Limits small;
  small.bytes = 10;
  CHECK_FALSE(own_catalogue("catalogue = \"mine.toml\"", small).has_value());
}

}  // namespace
}  // namespace benchproof
