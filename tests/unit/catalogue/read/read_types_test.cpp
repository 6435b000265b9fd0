#include "core/catalogue/read/read_types.h"

#include <catch2/catch.hpp>
#include <random>
#include <string>
#include <vector>

#include "core/catalogue/detail/data_files.h"

namespace benchproof {
namespace {

using Catch::Contains;

// Every complaint has its own file in tests/diagnostics/; here is what they cannot
// show.

const Catalogue& built_in() {
  static const Catalogue catalogue = built_in_catalogue();
  return catalogue;
}

ReadTypes read(std::string_view text, const CatalogueLimits& limits = {}) {
  return read_types(text, "mine.toml", built_in(), Author::user, limits);
}

std::string first(const ReadTypes& read) {
  if (read.diagnostics.empty()) return "";
  const Diagnostic& d = read.diagnostics.front();
  return place_text(d, "") + " " + d.id + ": " + d.message;
}

constexpr std::string_view kLamp = R"([[type]]
kind = "lamp"
name = "mine"
voltage = "12 V | given"
current = "50 mA | given | measured with a meter | 12.0 V"
)";

TEST_CASE("a user's figure may be given without a source", "[catalogue]") {
  const ReadTypes mine = read(kLamp);
  REQUIRE(mine.diagnostics.empty());
  REQUIRE(mine.types.size() == 1);
  const Figure& volts = mine.types[0].figures.at("voltage");
  CHECK(volts.mark == Mark::given);
  CHECK(volts.source == "mine.toml");
  const Figure& amps = mine.types[0].figures.at("current");
  CHECK(amps.source == "measured with a meter");
  CHECK(amps.condition == "12.0 V");
  // Not so in the project's own data.
  const ReadTypes ours = read_types(kLamp, "a", built_in(), Author::project);
  CHECK(first(ours) == ":4:19 mark-unknown: there is no mark 'given'");
}

TEST_CASE("a figure that is typical says so in a word of its own", "[catalogue]") {
  const auto lamp = [](const std::string& current) {
    return read(
        "[[type]]\nkind = \"lamp\"\nname = \"a\"\nvoltage = \"12 V | given\"\n" +
        ("current = \"" + current + "\"\n"));
  };
  const auto is_typical = [&](const std::string& current) {
    return lamp(current).types.at(0).figures.at("current").is_typical;
  };
  CHECK(is_typical("50 mA | given | sheet | 25 C | typical"));
  CHECK(is_typical("50 mA | given |||typical"));
  CHECK_FALSE(is_typical("50 mA | given | sheet | 25 C"));
  CHECK_FALSE(is_typical("50 mA | given | sheet | typical operating current"));
  CHECK_THAT(first(lamp("50 mA | given | sheet | 25 C | usual")),
             Contains("figure-malformed"));
  CHECK_THAT(first(lamp("50 mA | given | sheet | 25 C | typical | 1")),
             Contains("figure-malformed"));
  // Points are not held as limits.
  CHECK_THAT(
      first(read("[[type]]\nkind = \"diode\"\nname = \"a\"\nn = \"1.5 | given\"\n"
                 "points = [\"1 A, 0.7 V | given | sheet | 25 C | typical\"]\n")),
      Contains("figure-malformed"));
}

TEST_CASE("types go behind those that there are", "[catalogue]") {
  ReadTypes mine = read(kLamp);
  const Catalogue all = with_types(built_in(), mine.types);
  CHECK(all.types().size() == built_in().types().size() + 1);
  REQUIRE(all.find(KindId::lamp, "mine") != nullptr);
  CHECK(all.find(KindId::lamp, "mine")->figures == mine.types[0].figures);
  CHECK(all.find(KindId::diode, "1N4001") != nullptr);
}

TEST_CASE("a mark under a figure shows the piece that is wrong", "[catalogue]") {
  // Columns counted by hand.
  CHECK(first(read("[[type]]\nkind = \"lamp\"\nname = \"a\"\n"
                   "voltage = \"12 V | given\"\ncurrent = \"1 V | given\"\n"))
            .starts_with(":5:14 unit-wrong"));
  const ReadTypes point = read(
      "[[type]]\nkind = \"diode\"\nname = \"a\"\nn = \"1.5 | given\"\n"
      "points = [\n  \"1 A, 0.7 W | given\",\n]\n");
  CHECK(first(point).starts_with(":6:13 unit-wrong"));
}

TEST_CASE("what follows from a mistake is not told again", "[catalogue]") {
  // The family's mistake is told once, and its types are named though not fitted.
  const ReadTypes mine = read(R"([[family]]
kind = "diode"
name = "f"
n = "1.5 | gven"

[[type]]
family = "f"
name = "a"
points = ["1 A, 0.7 V | given"]

[[type]]
kind = "diode"
name = "b"
curve_of = "a"
points = ["1 A, 0.7 V | given"]
)");
  CHECK(mine.diagnostics.size() == 1);
  CHECK(mine.types.size() == 2);
  CHECK(mine.has_all_names);
  CHECK_FALSE(read("[[type]]\nname = \"a\"\n").has_all_names);
  CHECK_FALSE(read("[[typo]]\nname = \"a\"\n").has_all_names);
  CHECK_FALSE(read("[[").has_all_names);
}

TEST_CASE("a catalogue file keeps to its limits", "[catalogue]") {
  CatalogueLimits limits;
  limits.bytes = 50;
  CHECK(first(read(kLamp, limits)).starts_with(" too-large"));
  limits = {};
  limits.types = 1;
  CHECK(first(read(std::string(kLamp) + "[[type]]\n", limits)) ==
        ":1:3 too-large: there are 2 entries 'type'; 1 are allowed");
  limits = {};
  limits.points = 1;
  CHECK_THAT(first(read("[[type]]\nkind = \"diode\"\nname = \"a\"\n"
                        "points = [\"1 A, 1 V | given\", \"2 A, 2 V | given\"]\n",
                        limits)),
             Contains("too-large: there are 2 points; 1 are allowed"));
  limits = {};
  limits.name_length = 3;
  CHECK_THAT(first(read(kLamp, limits)), Contains("text-invalid: 'name' has 4"));
  limits = {};
  limits.text_length = 20;
  CHECK_THAT(first(read(kLamp, limits)), Contains("text-invalid: 'current' has"));
  limits = {};
  limits.complaints = 2;
  const ReadTypes many = read("a = 1\nb = 1\nc = 1\nd = 1\n", limits);
  REQUIRE(many.diagnostics.size() == 3);
  CHECK(many.diagnostics.back().message == "and 2 more complaints");
  CHECK(first(read("a = [[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]]")).find("too-deep") !=
        std::string::npos);
  CHECK(first(read("a = \"\xff\"")).find("not-utf8") != std::string::npos);
  CHECK_THAT(first(read("[[type]]\nkind = \"lamp\"\nname = \"a\\u001b[31m\"\n")),
             Contains("text-invalid"));
}

TEST_CASE("many types are read in a moment", "[catalogue]") {
  // Under the byte limit, each with a curve to fit; quadratic work would take minutes.
  std::string text;
  int count = 0;
  while (text.size() < 300'000 && count < 2000)
    text += "[[type]]\nkind = \"diode\"\nname = \"d" + std::to_string(count++) +
            "\"\nn = \"1.5 | given\"\npoints = [\"1 A, 0.7 V | given\"]\n";
  const ReadTypes mine = read(text);
  CHECK(mine.diagnostics.empty());
  CHECK(mine.types.size() == static_cast<std::size_t>(count));
}

TEST_CASE("damaged catalogue files are refused or read, never more",
          "[catalogue][property]") {
  constexpr unsigned kSeed = 4711;
  CAPTURE(kSeed);
  std::mt19937 random(kSeed);
  std::vector<std::string> seeds;
  for (const auto& [name, data] : data_files())
    if (data.size() < 16000) seeds.emplace_back(data);
  REQUIRE(seeds.size() > 4);
  const std::string spice = "[]{}\"'=.,#\\\n|09-mMkVA\xFF";
  const Catalogue none({});
  int read_whole = 0;
  for (int i = 0; i < 400; ++i) {
    std::string text = seeds[random() % seeds.size()];
    for (std::size_t edits = 1 + random() % 4; edits > 0; --edits) {
      const std::size_t at = random() % text.size();
      switch (random() % 3) {
        case 0:
          text[at] = spice[random() % spice.size()];
          break;
        case 1:
          text.erase(at, 1 + random() % 8);
          break;
        default:
          text.insert(at, text.substr(random() % text.size(), random() % 40));
          break;
      }
    }
    CAPTURE(i, text);
    const ReadTypes got = read_types(text, "f", none, Author::project);
    if (got.diagnostics.empty()) ++read_whole;
    for (const Diagnostic& d : got.diagnostics) {
      REQUIRE_FALSE(d.message.empty());
      REQUIRE(d.span.end >= d.span.begin);
      REQUIRE(to_text(d, "f", text).size() < 4000);
    }
  }
  // Comments and sources' texts may change without harm.
  CHECK(read_whole > 10);
  CHECK(read_whole < 390);
}

}  // namespace
}  // namespace benchproof
