#include "core/regress/recorded.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <string>

using namespace benchproof;
using Catch::Contains;
using Catch::Matchers::WithinRel;

namespace {

Recorded example() {
  Recorded recorded;
  recorded.tolerance.volts = 2e-3;
  recorded.cases = {
      {{"", false, "night"},
       {"caution supply-current jack", "fault led-current quay"},
       {{FigureSort::volts, "rail", 5.0024837261},
        {FigureSort::volts, "quay-l", -1.5e-9},
        {FigureSort::amps, "reg.in", 0.0324317902},
        {FigureSort::amps, "hold", 3e-17}}},
      {{"dim", true, "power up"},
       {},
       {{FigureSort::most_volts, "rail", 5.1}, {FigureSort::mean_volts, "rail", 4.2}}}};
  return recorded;
}

std::vector<Diagnostic> complaints(const std::string& text) {
  const auto read = read_recorded(text);
  const auto* list = std::get_if<std::vector<Diagnostic>>(&read);
  return list != nullptr ? *list : std::vector<Diagnostic>{};
}

}  // namespace

TEST_CASE("what is recorded reads back to seven digits", "[regress]") {
  const Recorded before = example();
  const std::string text = recorded_text(before, "pier.toml");
  CHECK_THAT(text, Contains("pier.toml") && Contains("rail = 5.002484\n"));
  const auto read = read_recorded(text);
  REQUIRE(std::holds_alternative<Recorded>(read));
  const auto& after = std::get<Recorded>(read);
  CHECK(after.tolerance.volts == 2e-3);
  CHECK(after.tolerance.amps == Tolerance().amps);
  REQUIRE(after.cases.size() == 2);
  for (std::size_t k = 0; k < 2; ++k) {
    CHECK(after.cases[k].name == before.cases[k].name);
    CHECK(after.cases[k].findings == before.cases[k].findings);
    REQUIRE(after.cases[k].figures.size() == before.cases[k].figures.size());
    for (std::size_t i = 0; i < before.cases[k].figures.size(); ++i) {
      const KeptFigure& was = before.cases[k].figures[i];
      const KeptFigure& is = after.cases[k].figures[i];
      CHECK(is.sort == was.sort);
      CHECK(is.of == was.of);
      // Below the solvers' rounding noise it is nothing.
      if (was.of == "hold") {
        CHECK(is.value == 0.0);
      } else {
        CHECK_THAT(is.value, WithinRel(was.value, 5.1e-7));
      }
    }
  }
  // Once more it is the same text: nothing to show in a diff.
  CHECK(recorded_text(after, "pier.toml") == text);
}

TEST_CASE("a figure stands on a line of its own", "[regress]") {
  std::string before = recorded_text(example(), "pier.toml");
  Recorded changed = example();
  changed.cases[0].figures[0].value = 4.9;
  const std::string after = recorded_text(changed, "pier.toml");
  CHECK(std::count(before.begin(), before.end(), '\n') ==
        std::count(after.begin(), after.end(), '\n'));
  before.replace(before.find("rail = 5.002484"), 15, "rail = 4.9");
  CHECK(before == after);
}

TEST_CASE("a damaged record is told with its place", "[regress]") {
  CHECK_THAT(complaints("benchproof = 1\n[[case]]\nstate = ")[0].message,
             Contains("not TOML"));
  CHECK_THAT(complaints("")[0].message, Contains("'benchproof = 1' is missing"));
  CHECK_THAT(complaints("benchproof = 7")[0].message, Contains("only layout 1"));
  const auto list = complaints(
      "benchproof = 1\n"
      "tolerance = { volts = -1.0, amps = \"1 mA\", colour = 1.0 }\n"
      "[[case]]\n"
      "state = \"night\"\n"
      "run = \"night\"\n"
      "volts = { rail = \"5 V\", raw = nan }\n"
      "odd = 1\n"
      "[[case]]\n"
      "state = \"day\"\n"
      "[[case]]\n"
      "state = \"day\"\n");
  std::vector<int> lines;
  for (const Diagnostic& d : list) {
    lines.push_back(d.span.begin.line);
    for (const auto& span : d.also) lines.push_back(span.begin.line);
  }
  std::sort(lines.begin(), lines.end());
  CHECK(lines == std::vector<int>{2, 2, 2, 3, 6, 6, 7, 10});
}
