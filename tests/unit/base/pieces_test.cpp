#include "core/base/pieces.h"

#include <catch2/catch.hpp>
#include <string>
#include <utility>
#include <vector>

namespace benchproof {
namespace {

using Texts = std::vector<std::string>;

TEST_CASE("a text's lines are as many as its ends of lines and one", "[base][pieces]") {
  CHECK(lines_of("") == Texts{""});
  CHECK(lines_of("one") == Texts{"one"});
  CHECK(lines_of("one\n") == Texts{"one", ""});
  CHECK(lines_of("\n\ntwo") == Texts{"", "", "two"});
  CHECK(lines_of("one\r\ntwo") == Texts{"one\r", "two"});
}

TEST_CASE("a text is split at its first dot", "[base][pieces]") {
  using Halves = std::pair<std::string, std::string>;
  CHECK(split_at_dot("quay.anode") == Halves{"quay", "anode"});
  CHECK(split_at_dot("quay.r.value") == Halves{"quay", "r.value"});
  CHECK(split_at_dot("quay") == Halves{"quay", ""});
  CHECK(split_at_dot("quay.") == Halves{"quay", ""});
}

TEST_CASE("pieces have no blanks around them", "[base][pieces]") {
  CHECK(pieces_between("0.5% + 20 mV", '+') == Texts{"0.5%", "20 mV"});
  CHECK(pieces_between("", '+') == Texts{""});
  CHECK(pieces_between("a+", '+') == Texts{"a", ""});
}

}  // namespace
}  // namespace benchproof
