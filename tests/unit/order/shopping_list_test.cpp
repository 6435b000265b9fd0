#include "core/order/shopping_list.h"

#include <cmath>
#include <stdexcept>

#include "tests/unit/check/bench.h"

using benchproof::built_in_catalogue;
using benchproof::Catalogue;
using benchproof::Circuit;
using benchproof::KindId;
using benchproof::Network;
using benchproof::OrderLine;
using benchproof::Series;
using benchproof::shopping_list;
using benchproof::ShoppingList;
using benchproof::Solution;
using benchproof::solve_nodal;
using benchproof::Unit;
using benchproof::Verification;
using benchproof::verify;
using benchproof::bench::Bench;
using benchproof::bench::read;
using benchproof::bench::verified;
using Catch::Contains;

namespace {

/// What to buy for a source across parts that all lie side by side, each named with its
/// two pins: "r1 a b".
struct Listed {
  Bench bench;
  ShoppingList list;
};

Listed listed(const std::string& text) {
  Listed result;
  result.bench = verified(text);
  result.list = shopping_list(result.bench.circuit, result.bench.verification);
  return result;
}

std::string resistors(const std::vector<std::string>& figures) {
  std::string parts = "[parts]\nv = { kind = \"voltage-source\", voltage = \"1 V\" }\n";
  std::string hot = "\"v.plus\"";
  std::string ground = "\"v.minus\"";
  for (std::size_t k = 0; k < figures.size(); ++k) {
    const std::string name = "r" + std::to_string(k);
    parts += name + " = { kind = \"resistor\", " + figures[k] + " }\n";
    hot += ", \"" + name + ".a\"";
    ground += ", \"" + name + ".b\"";
  }
  return parts + "[nets]\nhot = [" + hot + "]\nground = [" + ground + "]\n";
}

bool has_note(const OrderLine& line, const std::string& words) {
  return std::any_of(
      line.notes.begin(), line.notes.end(),
      [&](const std::string& note) { return note.find(words) != std::string::npos; });
}

}  // namespace

TEST_CASE("parts with the same figures are ordered together", "[order]") {
  const Listed l = listed(resistors({
      R"(value = "4k7", tolerance = "5%")",
      R"(value = "330R", tolerance = "5%")",
      R"(value = "4.7 kohm", tolerance = "5 %", label = "the other one")",
      R"(value = "4k7", tolerance = "1%")",
      R"(value = "4k7", tolerance = "5%", power = "0.5 W")",
      R"(value = "4k7")",
  }));
  REQUIRE(l.list.lines.size() == 5);
  CHECK(l.list.lines[0].parts == std::vector<int>{1, 3});
  CHECK(l.list.lines[0].pieces == 2);
  CHECK(l.list.lines[0].what == "4.7 kohm, 5 %");
  CHECK(l.list.lines[1].what == "330 ohm, 5 %");
  CHECK(l.list.lines[2].what == "4.7 kohm, 1 %");
  CHECK(l.list.lines[3].what == "4.7 kohm, 5 %, 0.5 W");
  CHECK(l.list.lines[4].what == "4.7 kohm");
  CHECK(l.list.pieces == 6);
  CHECK(l.list.not_bought == std::vector<int>{0});
}

TEST_CASE("how a part is used does not split a line, what it is does", "[order]") {
  const Listed l = listed(R"([parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "1 A", limit = "none" }
one  = { kind = "controller", type = "cmos-5v", outputs = ["red"] }
two  = { kind = "controller", type = "cmos-5v", outputs = ["green", "blue"] }
t1   = { kind = "trimmer", value = "10k", turn = 0.2 }
t2   = { kind = "trimmer", value = "10k", turn = 0.7 }
c1   = { kind = "capacitor", value = "10uF", rated = "16 V", polarised = true }
c2   = { kind = "capacitor", value = "10uF", rated = "16 V" }
[nets]
rail   = ["jack.plus", "one.vdd", "two.vdd", "t1.a", "t2.a", "c1.plus", "c2.a"]
ground = ["jack.minus", "one.vss", "two.vss", "t1.b", "t2.b", "c1.minus", "c2.b"]
open   = ["one.red", "two.green", "two.blue", "t1.wiper", "t2.wiper"]
)");
  REQUIRE(l.list.lines.size() == 5);
  CHECK(l.list.lines[0].what == "5 V, 1 A");
  CHECK(l.list.lines[1].pieces == 2);
  CHECK(l.list.lines[1].type == "cmos-5v");
  CHECK(l.list.lines[2].pieces == 2);
  CHECK(l.list.lines[3].what == "10 uF, 16 V, polarised");
  CHECK(l.list.lines[4].what == "10 uF, 16 V");
  // Common practice, no source.
  CHECK(has_note(l.list.lines[3], "polarised"));
  CHECK(!has_note(l.list.lines[4], "polarised"));
  CHECK(has_note(l.list.lines[1], "a class"));
}

TEST_CASE("cells and lengths of wire add up", "[order]") {
  const Listed l = listed(R"([parts]
pack = { kind = "battery", chemistry = "alkaline", size = "AA", cells = 3 }
more = { kind = "battery", chemistry = "alkaline", size = "AA", charge = "half" }
to   = { kind = "wire", gauge = "AWG 26", length = "30 cm" }
from = { kind = "wire", gauge = "AWG 26", length = "1.2 m" }
r    = { kind = "resistor", value = "1k" }
[nets]
top    = ["pack.plus", "to.a"]
middle = ["pack.minus", "more.plus"]
hot    = ["to.b", "r.a"]
back   = ["r.b", "from.a"]
ground = ["more.minus", "from.b"]
)");
  REQUIRE(l.list.lines.size() == 3);
  CHECK(l.list.lines[0].pieces == 4);
  CHECK(l.list.lines[0].type == "alkaline AA");
  CHECK_THAT(l.list.lines[1].metres, Catch::Matchers::WithinRel(1.5, 1e-15));
  CHECK(l.list.pieces == 5);
}

// Series: IEC 60063 (see preferred_test.cpp); bands and codes: IEC 60062, as the
// samples of marking_test.cpp.
TEST_CASE("what a value is called and where it is sold", "[order]") {
  const Listed l = listed(resistors({
      R"(value = "47k", tolerance = "5%")",
      R"(value = "160R", tolerance = "5%")",
      R"(value = "1.05k", tolerance = "1%")",
      R"(value = "1.05k", tolerance = "5%")",
      R"(value = "1.01k", tolerance = "1%")",
      R"(value = "47k")",
      R"(value = "1.2345k", tolerance = "5%")",
  }));
  REQUIRE(l.list.lines.size() == 7);
  const auto value = [&](std::size_t k) { return *l.list.lines[k].value; };
  CHECK(value(0).series == Series::e12);
  CHECK(value(0).code == "47k");
  CHECK(value(0).unit == Unit::ohm);
  CHECK(value(0).bands ==
        std::vector<std::string_view>{"yellow", "violet", "orange", "gold"});
  CHECK(value(1).series == Series::e24);
  CHECK(value(2).series == Series::e96);
  CHECK(value(2).bands.size() == 5);
  CHECK(!has_note(l.list.lines[2], "E96"));
  CHECK(has_note(l.list.lines[3], "E96"));
  CHECK(!value(4).series);
  CHECK(value(4).nearest == std::vector<std::pair<Series, double>>{
                                {Series::e24, 1000.0}, {Series::e96, 1020.0}});
  CHECK(value(5).bands == value(0).bands);
  CHECK(has_note(l.list.lines[5], "5 % is assumed"));
  CHECK(!has_note(l.list.lines[0], "assumed"));
  CHECK(value(6).bands.empty());
  CHECK(value(6).code == "1k2345");
}

TEST_CASE("the ratings of a line are the hardest of its parts and states", "[order]") {
  // Closed form: U^2 / R. At 6 V and 3 V over 100 ohm: 0.36 W and 0.09 W.
  const Listed l = listed(R"([parts]
high = { kind = "voltage-source", voltage = "3 V" }
low  = { kind = "voltage-source", voltage = "2 V" }
r1   = { kind = "resistor", value = "100R", power = "1 W" }
r2   = { kind = "resistor", value = "100R", power = "1 W" }
[nets]
h = ["high.plus", "r1.a"]
l = ["low.plus", "r2.a"]
ground = ["high.minus", "low.minus", "r1.b", "r2.b"]
[states.calm]
[states.busy]
"low.voltage" = "6 V"
[states.passing]
steady = false
"low.voltage" = "60 V"
)");
  REQUIRE(l.list.lines.size() == 1);
  REQUIRE(l.list.lines[0].ratings.size() == 1);
  const auto& rating = l.list.lines[0].ratings[0];
  CHECK_THAT(rating.load, Catch::Matchers::WithinRel(0.36, 1e-8));
  CHECK(rating.part == 3);
  CHECK(rating.state == "busy");
  CHECK(rating.sold == 1.0);
  CHECK(rating.is_enough);
}

TEST_CASE("values that states change are told", "[order]") {
  const Listed l = listed(R"([parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
r    = { kind = "resistor", value = "1k", tolerance = "5%" }
[nets]
hot    = ["jack.plus", "r.a"]
ground = ["jack.minus", "r.b"]
[states.usual]
[states.spare]
"jack.voltage" = "9 V"
)");
  CHECK(has_note(l.list.lines[0], "states also set its voltage to 9 V"));
  // Of the resistor there is only its shape to be told.
  CHECK(l.list.lines[1].notes.size() == 1);
  CHECK(has_note(l.list.lines[1], "axial 0.25 W"));
}

TEST_CASE("what parts look like is told, and where makers differ", "[order][shape]") {
  const Listed l = listed(R"([parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
reg  = { kind = "regulator", type = "78L05" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["quay"], legs = { vdd = 1, vss = 8, quay = 7 } }
r    = { kind = "resistor", value = "1k" }
tall = { kind = "resistor", value = "1k", shape = "axial 1 W" }
[nets]
hot    = ["jack.plus", "reg.in"]
rail   = ["reg.out", "chip.vdd"]
quay   = ["chip.quay", "r.a", "tall.a"]
ground = ["jack.minus", "reg.common", "chip.vss", "r.b", "tall.b"]
)");
  // Out, ground, in from the left, flat side to the front: TI LM78L05 (Rev. M), package
  // LP, as reference/pinouts has it.
  CHECK(has_note(l.list.lines[1], "1 out, 2 common, 3 in"));
  CHECK(has_note(l.list.lines[1], "makers differ"));
  CHECK(has_note(l.list.lines[2], "leg 1 at the dot"));
  CHECK(has_note(l.list.lines[2], "1 vdd, 7 quay, 8 vss"));
  // 12 mm of body and 2 mm for the bend of a lead.
  CHECK(has_note(l.list.lines[3], "axial 0.25 W"));
  CHECK(has_note(l.list.lines[3], "axial 1 W"));
  CHECK(has_note(l.list.lines[3], "standing on end 14 mm"));
}

TEST_CASE("without an agreed solution there are no ratings", "[order]") {
  const Catalogue catalogue = built_in_catalogue();
  const Circuit circuit = read(catalogue, resistors({R"(value = "1k")"}));
  const auto distorted = [](const Network& network) {
    Solution solution = solve_nodal(network);
    solution.volts.back() += 1e-3;
    return solution;
  };
  const Verification v = verify(circuit, distorted, solve_nodal);
  const ShoppingList list = shopping_list(circuit, v);
  CHECK_THAT(list.without_ratings, Contains("disagree") && Contains("'steady'"));
  REQUIRE(list.lines.size() == 1);
  CHECK(list.lines[0].ratings.empty());
  CHECK(list.lines[0].pieces == 1);
  CHECK(list.lines[0].value->series == Series::e12);

  const ShoppingList none = shopping_list(circuit, {});
  CHECK_THAT(none.without_ratings, Contains("no state"));
}

TEST_CASE("a share that means nothing is refused", "[order]") {
  const Bench bench = verified(resistors({R"(value = "1k")"}));
  for (const double share : {0.0, -0.5, 1.5, std::nan("")}) {
    CHECK_THROWS_AS(shopping_list(bench.circuit, bench.verification, {.power = share}),
                    std::invalid_argument);
    CHECK_THROWS_AS(
        shopping_list(bench.circuit, bench.verification, {.voltage = share}),
        std::invalid_argument);
  }
}
