#include "core/catalogue/search.h"

#include <algorithm>
#include <catch2/catch.hpp>

#include "core/catalogue/other_names.h"

namespace benchproof {
namespace {

const Catalogue& catalogue() {
  static const Catalogue small({
      {.name = "default", .kind = KindId::led},
      {.name = "red 5 mm",
       .kind = KindId::led,
       .words = {{"colour", "red"}, {"size", "5 mm"}}},
      {.name = "IR1", .kind = KindId::led, .words = {{"colour", "infrared"}}},
      {.name = "1N5819", .kind = KindId::diode},
      {.name = "twin", .kind = KindId::diode},
      {.name = "twin", .kind = KindId::zener},
  });
  return small;
}

std::vector<std::string> names(std::string_view words) {
  std::vector<std::string> list;
  for (const Type* type : search(catalogue(), words).types) list.push_back(type->name);
  return list;
}

using Names = std::vector<std::string>;

TEST_CASE("types are found by name, kind and words, in that order", "[catalogue]") {
  CHECK(names("1n5819") == Names{"1N5819"});
  CHECK(search(catalogue(), "1n5819").is_exact);
  CHECK(names("RED 5 MM") == Names{"red 5 mm"});
  CHECK(names("twin") == Names{"twin", "twin"});
  CHECK(search(catalogue(), "twin").is_exact);
  CHECK(names("led") == Names{"red 5 mm", "IR1"});
  CHECK_FALSE(search(catalogue(), "led").is_exact);
  CHECK(names("red") == Names{"red 5 mm"});  // not infrared
  CHECK(names("infra") == Names{"IR1"});
  CHECK(names("led red") == Names{"red 5 mm"});
  CHECK(names("5819") == Names{"1N5819"});
  CHECK(names("mm 5") == Names{"red 5 mm"});
  for (const auto* nothing : {"", " ", "default", "red diode", "nothing"})
    CHECK(names(nothing).empty());
}

TEST_CASE("a kind is found by what people call it", "[catalogue]") {
  for (const auto& [word, name] :
       {std::pair{"wall-wart", "dc-supply"}, std::pair{"Push Button", "switch"},
        std::pair{"resistor", "resistor"}}) {
    CAPTURE(word);
    const Kind* kind = find_kind_called(word);
    REQUIRE(kind != nullptr);
    CHECK(kind->name == name);
  }
  CHECK(find_kind_called("harbour") == nullptr);
  CHECK(names("rectifier") == Names{"1N5819", "twin"});
}

TEST_CASE("what is near a name is told", "[catalogue]") {
  const auto near = near_names(catalogue(), "1N5818");
  REQUIRE_FALSE(near.empty());
  CHECK(near.front() == "1N5819");
  CHECK(near_names(catalogue(), "diod").front() == "diode");
  CHECK(near_names(catalogue(), "xyzzyxyzzy").empty());
  CHECK(near_names(built_in_catalogue(), "BC547D").size() == 3);
}

TEST_CASE("keys beside a type are those that do not conflict with it", "[catalogue]") {
  const auto keys = [](KindId id) {
    Names list;
    for (const Key* key : keys_beside_type(kind(id))) list.emplace_back(key->name);
    return list;
  };
  CHECK(keys(KindId::lamp).empty());
  CHECK(keys(KindId::light_resistor) == Names{"power"});
  CHECK(keys(KindId::battery) == Names{"cells", "capacity"});
  const Names diode = keys(KindId::diode);
  CHECK(std::count(diode.begin(), diode.end(), "surge") == 1);
  CHECK(std::count(diode.begin(), diode.end(), "drop") == 0);
  CHECK(std::count(diode.begin(), diode.end(), "slope") == 0);
}

}  // namespace
}  // namespace benchproof
