#include "cli/render/words/glossary.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>
#include <string>

#include "cli/render/layout.h"
#include "core/verify/explanations.h"

using namespace benchproof;
using Catch::Contains;

namespace {

std::size_t count_lines(const std::string& text) {
  return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

void check_narrow(const std::string& text) {
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    INFO(line);
    CHECK(line.size() <= kLineWidth);
    CHECK(std::all_of(line.begin(), line.end(),
                      [](char c) { return c >= ' ' && c <= '~'; }));
  }
}

}  // namespace

TEST_CASE("each word has a screen of its own", "[render][words]") {
  const std::vector<Explanation> all = explanations();
  std::set<std::string> names;
  for (const Word& word : glossary()) {
    INFO(word.name);
    CHECK_FALSE(word.means.empty());
    CHECK_FALSE(word.example.empty());
    CHECK(word.means.back() == '.');
    CHECK(word.example.back() == '.');
    for (const std::string& name : names_of(word)) {
      INFO(name);
      CHECK_FALSE(name.empty());
      std::string small = name;
      std::transform(small.begin(), small.end(), small.begin(),
                     [](unsigned char c) { return std::tolower(c); });
      CHECK(names.insert(small).second);  // Means one thing.
      CHECK(find_word(name) == &word);
    }
    const std::string text = word_text(word, all);
    check_narrow(text);
    CHECK(count_lines(text) <= 22);
  }
}

TEST_CASE("what a word leads to is a word", "[render][words]") {
  for (const Word& word : glossary()) {
    INFO(word.name);
    std::istringstream see{std::string(word.see)};
    int count = 0;
    for (std::string other; std::getline(see, other, ','); ++count) {
      INFO(other);
      const Word* found = find_word(other);
      REQUIRE(found != nullptr);
      CHECK(found->name == other);
      CHECK(found != &word);
    }
    CHECK(count > 0);
  }
}

TEST_CASE("a word is found whatever its capitals, and in the plural",
          "[render][words]") {
  REQUIRE(find_word("dropout") != nullptr);
  CHECK(find_word("Dropout") == find_word("dropout"));
  CHECK(find_word("forward voltages") == find_word("Forward Voltage"));
  CHECK(find_word("GND") == find_word("ground"));
  CHECK(find_word("7805") == find_word("regulator"));
  CHECK(find_word("push-button") == find_word("push button"));
  CHECK(find_word("dropuot") == nullptr);
  CHECK(find_word("") == nullptr);
}

TEST_CASE("the list has every word and every id", "[render][words]") {
  const std::vector<Explanation> all = explanations();
  const std::string text = words_text(all);
  check_narrow(text);
  for (const Word& word : glossary())
    CHECK_THAT(text, Contains(std::string(word.name)));
  for (const Explanation& e : all) CHECK_THAT(text, Contains(std::string(e.check)));
  const auto json = nlohmann::json::parse(words_json(glossary(), all));
  CHECK(json.at("words").size() == glossary().size());
  CHECK(json.at("explanations").size() == all.size());
}

TEST_CASE("a word names the findings about it", "[render][words]") {
  const std::vector<Explanation> all = explanations();
  CHECK_THAT(word_text(*find_word("dropout"), all), Contains("regulator-dropout"));
  CHECK_THAT(word_text(*find_word("flicker"), all), Contains("flicker-risk"));
  CHECK_THAT(word_text(*find_word("shard"), all), !Contains("findings"));
}
