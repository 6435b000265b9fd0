#include "core/catalogue/other_names.h"

#include <catch2/catch.hpp>
#include <string>
#include <vector>

using namespace benchproof;

namespace {

std::string called(KindId kind, const std::string& name) {
  static const Catalogue catalogue = built_in_catalogue();
  const Type* type = find_called(catalogue, kind, name);
  return type == nullptr ? std::string() : type->name;
}

}  // namespace

TEST_CASE("a type is found by what is printed on the part", "[catalogue][names]") {
  CHECK(called(KindId::regulator, "7805") == "7805");
  CHECK(called(KindId::regulator, "LM7805") == "7805");
  CHECK(called(KindId::regulator, "MC7805") == "7805");
  CHECK(called(KindId::regulator, "uA7805") == "7805");
  CHECK(called(KindId::regulator, "\u00B5A7805") == "7805");
  CHECK(called(KindId::regulator, "lm7812ct") == "7812");
  CHECK(called(KindId::regulator, "L7905CV") == "7905");
  CHECK(called(KindId::regulator, "LM317T") == "LM317");
  CHECK(called(KindId::regulator, "LM78L05ACZ") == "78L05");
  // A maker whose own figures the catalogue has.
  CHECK(called(KindId::regulator, "L7805") == "L7805");
  CHECK(called(KindId::regulator, "L7805CV") == "L7805");
  CHECK(called(KindId::diode, "1n4148") == "1N4148");
  CHECK(called(KindId::diode, "IN4148") == "1N4148");
  CHECK(called(KindId::transistor, "2n2222a") == "2N2222A");
  CHECK(called(KindId::transistor, "PN2222A") == "PN2222A");
  CHECK(called(KindId::transistor, "BC547-B") == "BC547B");
}

TEST_CASE("a type whose figures may differ is not taken for another",
          "[catalogue][names]") {
  CHECK(called(KindId::regulator, "78M05").empty());
  CHECK(called(KindId::regulator, "LM78M05").empty());
  CHECK(called(KindId::regulator, "XY7805").empty());
  CHECK(called(KindId::regulator, "7805DT").empty());  // Another package.
  CHECK(called(KindId::regulator, "LM317L").empty());
  CHECK(called(KindId::regulator, "7850").empty());
  CHECK(called(KindId::transistor, "2N2222").empty());
  CHECK(called(KindId::diode, "1N4184").empty());
  CHECK(called(KindId::diode, "7805").empty());
  CHECK(called(KindId::diode, "").empty());
  CHECK(called(KindId::diode, "default").empty());
}

TEST_CASE("a word is the same whatever its capitals and blanks", "[catalogue][names]") {
  const std::vector<std::string> known = {"3 mm", "5 mm", "warm white"};
  CHECK(same_word("3mm", known) == "3 mm");
  CHECK(same_word("5 MM", known) == "5 mm");
  CHECK(same_word("Warm_White", known) == "warm white");
  CHECK(same_word("warm-white", known) == "warm white");
  CHECK(same_word("4 mm", known).empty());
  CHECK(same_word("", known).empty());
  CHECK(same_word("a b", {"a-b", "ab"}).empty());  // Either might be meant.
}
