#include "core/shape/shape.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <stdexcept>
#include <string>

using namespace benchproof;

TEST_CASE("every type of the catalogue has a shape with all that its form needs",
          "[shape]") {
  const Catalogue catalogue = built_in_catalogue();
  for (const Type& type : catalogue.types()) {
    CAPTURE(type.name);
    const ChosenShape chosen = built_in_shapes().choose(wish_of(type));
    REQUIRE(chosen.shape != nullptr);
    CHECK_FALSE(chosen.source.empty());
    if (chosen.shape->form == ShapeForm::row && type.name != "default")
      CHECK(built_in_shapes().order(type.name) != nullptr);
  }
}

TEST_CASE("every kind has a shape", "[shape]") {
  for (const Kind& kind : kinds()) {
    CAPTURE(kind.name);
    const ChosenShape chosen = built_in_shapes().choose({kind.id});
    REQUIRE(chosen.shape != nullptr);
    CHECK(chosen.is_assumed);
  }
}

TEST_CASE("a shape has the figures of its form, each with source and mark", "[shape]") {
  for (const PartShape& shape : built_in_shapes().all()) {
    CAPTURE(shape.name);
    CHECK_FALSE(shape.about.empty());
    CHECK_FALSE(shape.mark.empty());
    for (const auto& [name, figure] : shape.figures) {
      CAPTURE(name);
      CHECK(figure.value > 0.0);
      CHECK_FALSE(figure.source.empty());
    }
    if (shape.form == ShapeForm::loose) continue;
    CHECK(shape.size("lead") > 0.0);
    if (shape.form == ShapeForm::axial) {
      CHECK(shape.size("holes") * kPitch > shape.size("length"));
      CHECK(shape.size("diameter") > 0.0);
    } else {
      CHECK(shape.size("height") > 0.0);
      CHECK(shape.size("spacing") > 0.0);
    }
  }
}

TEST_CASE("sizes are those of the sheets", "[shape]") {
  // Vishay TO-220AB outline, document 95222: E 10.51 mm, A 4.65 mm at most.
  const PartShape& tab = *built_in_shapes().find("TO-220");
  CHECK(std::abs(tab.size("width") - 10.51e-3) < 1e-9);
  CHECK(std::abs(tab.size("before") + tab.size("behind") - 4.65e-3) < 0.2e-3);
  // Vishay Sprague 515D: can of 8 x 11.5 mm, leads 3.5 mm apart.
  const PartShape& can = *built_in_shapes().find("can 8x11.5");
  CHECK(std::abs(can.size("diameter") - 8e-3) < 1e-9);
  CHECK(std::abs(can.size("spacing") - 3.5e-3) < 1e-9);
}

TEST_CASE("leads are in the order of the sheets", "[shape]") {
  const auto pins = [](const char* type) {
    return built_in_shapes().order(type)->pins;
  };
  using Pins = std::vector<std::string>;
  // TI LM78Lxx, ST L78L00: mirror image of the TO-220 type.
  CHECK(pins("78L05") == Pins{"out", "common", "in"});
  CHECK(pins("7805") == Pins{"in", "common", "out"});
  // Fairchild BC547; utilitiesbunker for the 2N3904.
  CHECK(pins("BC547") == Pins{"collector", "base", "emitter"});
  CHECK(pins("2N3904") == Pins{"emitter", "base", "collector"});
  CHECK_FALSE(built_in_shapes().order("2N2222A TO-92")->differs.empty());
}

TEST_CASE("an electrolytic gets a larger can for more charge", "[shape]") {
  double last = 0.0;
  for (const double micro : {10.0, 100.0, 470.0, 1000.0, 4700.0}) {
    ShapeWish wish{KindId::capacitor};
    wish.polarised = true;
    wish.farads = micro * 1e-6;
    wish.volts = 25.0;
    const double size = built_in_shapes().choose(wish).shape->size("diameter");
    CHECK(size >= last);
    last = size;
  }
  CHECK(last >= 16e-3);
}

TEST_CASE("data that breaks the rules is refused with its line", "[shape]") {
  const std::string rest =
      "\n[[use]]\nshape = \"a\"\ntypes = [\"t\"]\nmark = \"memory\"\nsource = \"s\"\n"
      "[[order]]\ntypes = [\"t\"]\nleads = [\"x\"]\nmark = \"memory\"\nsource = "
      "\"s\"\n";
  const std::string head =
      "[sources]\ns = \"sheet\"\n[[shape]]\nname = \"a\"\nform = \"axial\"\nabout = "
      "\"b\"\nmark = \"c\"\n";
  CHECK_NOTHROW(Shapes(head + "length = \"3 mm | verified | s\"" + rest));
  CHECK_THROWS_AS(Shapes(head + "length = \"3 mm\"" + rest), std::runtime_error);
  CHECK_THROWS_AS(Shapes(head + "length = \"3 V | verified | s\"" + rest),
                  std::runtime_error);
  CHECK_THROWS_AS(Shapes(head + "length = \"3 mm | verified | t\"" + rest),
                  std::runtime_error);
  CHECK_THROWS_AS(Shapes(head + "girth = \"3 mm | verified | s\"" + rest),
                  std::runtime_error);
}
