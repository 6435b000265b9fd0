#include "core/catalogue/catalogue.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <set>
#include <stdexcept>

#include "core/catalogue/detail/data_files.h"
#include "core/catalogue/figure_names.h"
#include "core/catalogue/read/read_types.h"

namespace benchproof {
namespace {

using Words = std::map<std::string, std::string, std::less<>>;

Catalogue catalogue_of(std::string_view text) {
  const std::vector<std::pair<std::string, std::string_view>> files{{"a.toml", text}};
  return read_catalogue(files);
}

TEST_CASE("a type takes its family's figures and its own", "[catalogue]") {
  const auto catalogue = catalogue_of(R"(
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

TEST_CASE("a figure has its least and most, a curve its points", "[catalogue]") {
  const auto catalogue = catalogue_of(R"(
[sources]
sheet = "A sheet, page 1"

[[type]]
kind = "led"
name = "l"
current = "20 mA | verified | sheet"
current_most = "30 mA | memory | sheet | pulsed"
n = "2 | practice"
points = ["10 mA, 2.0 V | verified | sheet | typ"]
points_least = ["10 mA, 1.8 V | verified | sheet | min"]
points_most = ["10 mA, 2.4 V | memory | sheet", "20 mA, 2.6 V | memory | sheet"]

[[type]]
kind = "battery"
name = "b"
words = { chemistry = "salt", size = "AA", charge = "fresh" }
open_circuit = "1.5 V | practice"
resistance = "1 ohm | practice"
capacities = ["10 mA, 0.8 Ah | verified | sheet", "1 A, 0.2 Ah | memory | sheet | 21 C"]
gains = ["2 mA, 5 V, 100 | practice"]
)");
  const Type& led = *catalogue.find(KindId::led, "l");
  const Figure& most = led.figures.at("current_most");
  CHECK(most.value == 0.03);
  CHECK(most.unit == Unit::ampere);
  CHECK(most.condition == "pulsed");
  REQUIRE(led.points_least.size() == 1);
  CHECK(led.points_least[0].volts == 1.8);
  CHECK(led.points_least[0].source == "A sheet, page 1 (min)");
  REQUIRE(led.points_most.size() == 2);
  CHECK(led.points_most[1].amps == 0.02);
  CHECK(led.points_most[1].mark == Mark::memory);

  const Type& battery = *catalogue.find(KindId::battery, "b");
  const FigureCurve& curve = battery.curves.at("capacities");
  REQUIRE(curve.size() == 2);
  CHECK(curve[1].at == 1.0);
  CHECK(curve[1].value == 0.2);
  CHECK(curve[1].source == "A sheet, page 1 (21 C)");
  CHECK(battery.curves.at("gains")[0].beside == 5.0);
  CHECK(battery.curves.at("gains")[0].value == 100.0);
}

TEST_CASE("between a curve's points it is straight in logarithms", "[catalogue]") {
  const FigureCurve curve{{0.01, 0, 0.8, Mark::verified, "a"},
                          {1.0, 0, 0.2, Mark::memory, "b"}};
  CHECK_FALSE(point_at({}, 1.0).has_value());
  CHECK(point_at(curve, 1e-6)->value == 0.8);
  CHECK(point_at(curve, 5.0)->value == 0.2);
  // Half of the way from 10 mA to 1 A is 100 mA, that from 0.8 to 0.2 is 0.4: a square
  // root and an exponential of rounded logarithms, some eps of each.
  CHECK_THAT(point_at(curve, 0.1)->value, Catch::Matchers::WithinRel(0.4, 1e-14));
  CHECK(point_at(curve, 0.05)->source == "a");
  CHECK(point_at(curve, 0.2)->source == "b");
  CHECK(point_at(curve, 0.2)->at == 0.2);
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
  CHECK_THROWS_AS(catalogue_of(bad.text), std::runtime_error);
  CHECK_THROWS_WITH(catalogue_of(bad.text), Catch::StartsWith(std::string(bad.message)));
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
      // A key of the kind with its unit and range, or a documented further figure, or
      // a bound of either.
      const auto bound = figure_bound(name);
      const std::string_view base = bound ? bound->figure : std::string_view(name);
      if (const Key* key = find_key(kind(type.kind), base)) {
        CHECK(figure.unit == key->unit);
        CHECK(figure.value <= key->most);
        CHECK((figure.value > key->least ||
               (key->least_allowed && figure.value == key->least)));
      } else {
        const FigureName* further = find_figure_name(base);
        REQUIRE(further != nullptr);
        CHECK(figure.unit == further->unit);
        CHECK_FALSE(further->about.empty());
        CHECK(figure.value <= further->most);
        CHECK((figure.value > further->least ||
               (further->least_allowed && figure.value == further->least)));
      }
    }
    for (const auto* points : {&type.points, &type.points_least, &type.points_most})
      for (const ForwardPoint& point : *points) CHECK_FALSE(point.source.empty());
    for (const auto& [name, curve] : type.curves)
      for (const CurvePoint& point : curve) CHECK_FALSE(point.source.empty());
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
