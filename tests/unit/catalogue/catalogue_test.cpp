#include "core/catalogue/catalogue.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <set>
#include <stdexcept>

#include "core/catalogue/data_files.h"
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
kind = "diode"
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
  const Type* type = catalogue.find(KindId::diode, "d1");
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
  CHECK(catalogue.find(KindId::diode, "f") == nullptr);
  CHECK(catalogue.find(KindId::led, "d1") == nullptr);
}

TEST_CASE("data that breaks the rules is refused with its place", "[catalogue]") {
  struct Case {
    std::string_view text;
    std::string_view message;
  };
  const Case bad = GENERATE(
      Case{"[[type]]\nkind = \"resistor\"\nname = \"r\"\nage = \"1 s | practice\"",
           "a.toml:4: unknown figure 'age'"},
      Case{"[[type]]\nkind = \"resistor\"\nname = \"r\"\npower = \"1 V | practice\"",
           "a.toml:4: '1 V'"},
      Case{"[[type]]\nkind = \"resistor\"\nname = \"r\"\npower = \"1 W\"",
           "a.toml:4: a figure reads"},
      Case{"[[type]]\nkind = \"resistor\"\nname = \"r\"\npower = \"1 W | guess\"",
           "a.toml:4: unknown mark 'guess'"},
      Case{"[[type]]\nkind = \"resistor\"\nname = \"r\"\npower = \"1 W | given\"",
           "a.toml:4: unknown mark 'given'"},
      Case{"[[type]]\nkind = \"resistor\"\nname = \"r\"\npower = \"1 W | verified\"",
           "a.toml:4: no source ''"},
      Case{"[[type]]\nkind = \"resistor\"\nname = \"r\"\npower = \"1 W | memory | x\"",
           "a.toml:4: no source 'x'"},
      Case{"[[type]]\nkind = \"resistor\"\nname = \"r\"\npower = \"1 W | derived\"",
           "a.toml:4: a derived figure must say how"},
      Case{"[[type]]\nkind = \"resistor\"\nname = \"r\"\npower = 1",
           "a.toml:4: 'power' must be a text"},
      Case{"[[type]]\nkind = \"resistor\"\nname = \"r\"\n"
           "power = \"1 W | practice || a | b\"",
           "a.toml:4: a figure reads"},
      Case{"[sources]\nx = \"X\"", "a.toml:1: source 'x' is not used"},
      Case{"[[type]]\nname = \"r\"", "a.toml:1: an entry needs a 'kind'"},
      Case{"[[type]]\nkind = \"resistor\"", "a.toml:1: an entry needs a 'name'"},
      Case{"[[type]]\nkind = \"valve\"\nname = \"v\"", "a.toml:2: unknown kind"},
      Case{"[[type]]\nfamily = \"f\"\nname = \"v\"", "a.toml:2: no such family above"},
      Case{"[parts]\nx = 1", "a.toml:1: unknown table 'parts'"},
      Case{"type = 1", "a.toml:1: 'type' must be a list of tables"},
      Case{"[[type]]\nkind =", "a.toml:2: "},
      Case{"[[type]]\nkind = \"fuse\"\nname = \"x\"\n[[type]]\nkind = \"fuse\"\n"
           "name = \"x\"",
           "a.toml:4: a second type 'x' of its kind"},
      Case{"[[type]]\nkind = \"diode\"\nname = \"d\"",
           "a.toml:1: 'd': a forward curve needs a point"},
      Case{"[[type]]\nkind = \"diode\"\nname = \"d\"\npoints = [\"1 mA | practice\"]",
           "a.toml:4: '': "},
      Case{"[[type]]\nkind = \"diode\"\nname = \"d\"\n"
           "points = [\"1 mA, 0.7 V | practice\"]",
           "a.toml:1: 'd': one forward point needs n besides"},
      Case{"[[type]]\nkind = \"led\"\nname = \"d\"\ncurve_of = \"e\"\n"
           "points = [\"1 mA, 0.7 V | practice\"]",
           "a.toml:1: no type 'e' with a curve of its own"},
      Case{"[[type]]\nkind = \"transistor\"\nname = \"q\"",
           "a.toml:1: 'q': needs the word 'polarity'"},
      Case{"[[type]]\nkind = \"zener\"\nname = \"z\"",
           "a.toml:1: 'z': needs one forward point"});
  CAPTURE(bad.text);
  CHECK_THROWS_AS(read(bad.text), std::runtime_error);
  CHECK_THROWS_WITH(read(bad.text), Catch::StartsWith(std::string(bad.message)));
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
