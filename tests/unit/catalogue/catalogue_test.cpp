#include "core/catalogue/catalogue.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <set>
#include <stdexcept>

#include "core/catalogue/detail/data_files.h"
#include "core/catalogue/figure_names.h"

namespace benchproof {
namespace {

using Words = std::map<std::string, std::string, std::less<>>;

Catalogue read(std::string_view text) {
  const std::vector<std::pair<std::string, std::string_view>> files{{"a.toml", text}};
  return read_catalogue(files);
}

TEST_CASE("a type takes its family's figures and its own", "[catalogue]") {
  const auto catalogue = read(R"(
[sources]
sheet = "A sheet, page 1"

[[family]]
kind = "led"
name = "f"
current = "1 A | verified | sheet | 25 C"
reverse = "50 V | memory | sheet"
n = "1.5 | practice"

[[type]]
family = "f"
name = "d1"
words = { colour = "grey" }
reverse = "100 V | derived | twice 50 V"
points = ["10 mA, 0.7 V | verified | sheet | max"]
)");
  const Type* type = catalogue.find(KindId::led, "d1");
  REQUIRE(type != nullptr);
  const Figure& current = type->figures.at("current");
  CHECK(current.value == 1.0);
  CHECK(current.unit == Unit::ampere);
  CHECK(current.mark == Mark::verified);
  CHECK(current.source == "A sheet, page 1");
  CHECK(current.condition == "25 C");
  CHECK(type->figures.at("reverse").value == 100.0);
  CHECK(type->figures.at("reverse").mark == Mark::derived);
  CHECK(type->figures.at("reverse").source == "twice 50 V");
  CHECK(type->figures.at("n").source == "common practice, no source");
  REQUIRE(type->points.size() == 1);
  CHECK(type->points[0].amps == 0.01);
  CHECK(type->points[0].volts == 0.7);
  CHECK(type->points[0].source == "A sheet, page 1 (max)");
  CHECK(std::holds_alternative<DiodeModel>(type->model));
  CHECK(catalogue.find(KindId::led, "f") == nullptr);
  CHECK(catalogue.find(KindId::diode, "d1") == nullptr);
}

TEST_CASE("data that breaks the rules is refused with its place", "[catalogue]") {
  // What each rule says is tested with read_types; here, that the build would stop.
  struct Case {
    std::string_view text;
    std::string_view message;
  };
  const Case bad =
      GENERATE(Case{"[[type]]\nkind = \"lamp\"\nname = \"r\"\nage = \"1 s | practice\"",
                    "a.toml:4:1: 'age' is not a figure of a lamp"},
               Case{"[[type]]\nkind = \"resistor\"\nname = \"default\"\n"
                    "power = \"1 V | practice\"",
                    "a.toml:4:"},
               Case{"[[type]]\nkind = \"resistor\"\nname = \"default\"\n"
                    "power = \"1 W | given\"",
                    "a.toml:4:16: there is no mark 'given'"},
               Case{"[[type]]\nkind =", "a.toml:2:"});
  CAPTURE(bad.text);
  CHECK_THROWS_AS(read(bad.text), std::runtime_error);
  CHECK_THROWS_WITH(read(bad.text), Catch::StartsWith(std::string(bad.message)));
}

TEST_CASE("a name may stand in one file only", "[catalogue]") {
  const std::string_view lamp =
      "[[type]]\nkind = \"lamp\"\nname = \"a\"\n"
      "voltage = \"12 V | practice\"\ncurrent = \"1 A | practice\"\n";
  const std::vector<std::pair<std::string, std::string_view>> files{{"a.toml", lamp},
                                                                    {"b.toml", lamp}};
  CHECK_THROWS_WITH(read_catalogue(files),
                    "b.toml:3:8: the catalogue has a lamp 'a' already");
}

TEST_CASE("types are found by words, the first in the data's order", "[catalogue]") {
  const Catalogue catalogue({
      {.name = "default", .kind = KindId::battery, .words = {{"size", "AA"}}},
      {.name = "b",
       .kind = KindId::battery,
       .words = {{"size", "AA"}, {"charge", "f"}}},
      {.name = "a",
       .kind = KindId::battery,
       .words = {{"size", "AA"}, {"charge", "s"}}},
      {.name = "c", .kind = KindId::fuse, .words = {{"size", "C"}}},
  });
  const auto find = [&](const Words& words) {
    return catalogue.find_by_words(KindId::battery, words);
  };
  REQUIRE(find({{"size", "AA"}}) != nullptr);
  CHECK(find({{"size", "AA"}})->name == "b");
  CHECK(find({{"size", "AA"}, {"charge", "s"}})->name == "a");
  CHECK(find({{"size", "C"}}) == nullptr);
  CHECK(find({{"size", "AA"}, {"age", "s"}}) == nullptr);
  CHECK(catalogue.defaults(KindId::battery)->name == "default");
  CHECK(catalogue.defaults(KindId::fuse) == nullptr);
  CHECK(catalogue.names(KindId::battery) == std::vector<std::string>{"b", "a"});
  CHECK(catalogue.words(KindId::battery, "charge") ==
        std::vector<std::string>{"f", "s"});
  CHECK(catalogue.words(KindId::battery, "size") == std::vector<std::string>{"AA"});
}

TEST_CASE("every file of reference/parts is built in as it stands", "[catalogue]") {
  std::set<std::string> on_disk;
  const std::filesystem::path folder =
      std::filesystem::path(BENCHPROOF_SOURCE_DIR) / "reference" / "parts";
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.path().extension() == ".toml") {
      on_disk.insert("reference/parts/" + entry.path().filename().string());
    }
  }
  std::set<std::string> built_in;
  for (const auto& [name, text] : data_files()) {
    built_in.insert(name);
    CHECK(text.size() == std::filesystem::file_size(
                             std::filesystem::path(BENCHPROOF_SOURCE_DIR) / name));
  }
  CHECK(built_in == on_disk);
}

TEST_CASE("the program holds what the data files say", "[catalogue]") {
  // Written out as constants at build time; read and fitted anew here.
  const auto built_in = built_in_catalogue();
  const auto read = read_catalogue(data_files());
  REQUIRE(built_in.types().size() == read.types().size());
  for (std::size_t k = 0; k < read.types().size(); ++k) {
    CAPTURE(read.types()[k].name);
    CHECK((built_in.types()[k] == read.types()[k]));
  }
}

TEST_CASE("every figure says where it comes from", "[catalogue]") {
  const auto catalogue = built_in_catalogue();
  for (const Type& type : catalogue.types()) {
    CAPTURE(kind(type.kind).name, type.name);
    CHECK((type.name == "default" || !type.figures.empty()));
    for (const auto& [name, figure] : type.figures) {
      CAPTURE(name);
      CHECK(std::isfinite(figure.value));
      CHECK_FALSE(figure.source.empty());
      CHECK(figure.mark != Mark::given);
      // A key of the kind with its unit and range, or a documented further figure.
      if (const Key* key = find_key(kind(type.kind), name)) {
        CHECK(figure.unit == key->unit);
        CHECK(figure.value <= key->most);
        CHECK((figure.value > key->least ||
               (key->least_allowed && figure.value == key->least)));
      } else {
        const FigureName* further = find_figure_name(name);
        REQUIRE(further != nullptr);
        CHECK(figure.unit == further->unit);
        CHECK_FALSE(further->about.empty());
        CHECK(figure.value <= further->most);
        CHECK((figure.value > further->least ||
               (further->least_allowed && figure.value == further->least)));
      }
    }
    for (const ForwardPoint& point : type.points) CHECK_FALSE(point.source.empty());
  }
}

TEST_CASE("every documented further figure is used", "[catalogue]") {
  const auto catalogue = built_in_catalogue();
  for (const FigureName& further : figure_names()) {
    CAPTURE(further.name);
    CHECK(std::any_of(catalogue.types().begin(), catalogue.types().end(),
                      [&](const Type& t) { return t.figures.contains(further.name); }));
  }
}

}  // namespace
}  // namespace benchproof
