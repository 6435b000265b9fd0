#include "core/check/rating/ratings.h"

#include <cstddef>
#include <set>
#include <string>
#include <tuple>

#include "core/catalogue/figure_names.h"
#include "tests/unit/check/bench.h"

using benchproof::kind;
using benchproof::Margin;
using benchproof::Over;
using benchproof::Rating;
using benchproof::RatingGroup;
using benchproof::Severity;
using benchproof::bench::filled;
using benchproof::bench::find;
using benchproof::bench::verified;

namespace {

template <typename Function>
void for_rows(Function&& function) {
  for (const RatingGroup& group : benchproof::rating_groups())
    for (const Rating& rating : group.ratings) function(group, rating);
}

/// Whether a description can give a kind that key, or a type that figure.
bool is_known_to(benchproof::KindId id, std::string_view name) {
  const auto keys = kind(id).keys;
  const bool is_key = std::any_of(keys.begin(), keys.end(),
                                  [name](const auto& key) { return key.name == name; });
  return name.empty() || is_key || benchproof::find_figure_name(name) != nullptr;
}

}  // namespace

TEST_CASE("every id of the table of ratings is explained", "[check][ratings]") {
  for_rows([](const RatingGroup&, const Rating& rating) {
    CAPTURE(rating.key, rating.rest.check, rating.run.check);
    CHECK_FALSE((rating.rest.check.empty() && rating.run.check.empty()));
    for (const std::string_view check :
         {rating.rest.check, rating.run.check, rating.rest.unless_told,
          rating.run.unless_told}) {
      CAPTURE(check);
      CHECK((check.empty() || benchproof::find_explanation(check) != nullptr));
    }
  });
}

TEST_CASE("every key of the table of ratings is a key or figure of each of its kinds",
          "[check][ratings]") {
  for_rows([](const RatingGroup& group, const Rating& rating) {
    CHECK((rating.limit != nullptr || !rating.key.empty()));
    for (const benchproof::KindId id : group.kinds) {
      for (const std::string_view key :
           {rating.key, rating.measure.mean_where, rating.rest.grade.caution_figure,
            rating.rest.grade.fault_figure, rating.run.where, rating.run.where_not,
            rating.bought.where_not}) {
        CAPTURE(kind(id).name, key);
        CHECK(is_known_to(id, key));
      }
    }
  });
}

TEST_CASE("no rating stands twice in the table", "[check][ratings]") {
  using Row = std::tuple<benchproof::KindId, std::string, std::string>;
  std::set<Row> at_rest;
  std::set<std::tuple<benchproof::KindId, std::string, std::string, bool>> in_runs;
  for_rows([&](const RatingGroup& group, const Rating& rating) {
    CAPTURE(rating.key, rating.rest.check, rating.run.check);
    const std::string key(rating.key);
    for (const benchproof::KindId id : group.kinds) {
      if (!rating.rest.check.empty())
        CHECK(at_rest.emplace(id, rating.rest.check, key).second);
      const bool is_lasting = rating.run.endurance != nullptr;
      if (!rating.run.check.empty())
        CHECK(in_runs.emplace(id, rating.run.check, key, is_lasting).second);
    }
  });
}

TEST_CASE("the rows of the table make sense by themselves", "[check][ratings]") {
  for_rows([](const RatingGroup&, const Rating& rating) {
    CAPTURE(rating.key, rating.rest.check, rating.run.check);
    CHECK_FALSE(rating.quantity.empty());
    // What is lowest counts where the part is on only, and is held to a lower bound.
    const bool is_lower = rating.bound == benchproof::Bound::lower;
    CHECK(is_lower == (rating.measure.over == Over::lowest));
    CHECK(is_lower == (rating.is_on != nullptr));
    // What is bought is judged, and by a figure that a description can give.
    if (!rating.bought.quantity.empty()) {
      CHECK_FALSE(rating.rest.check.empty());
      CHECK_FALSE(rating.key.empty());
    }
    const auto& grades = rating.bought.grades;
    CHECK(std::is_sorted(grades.begin(), grades.end()));
    // An id brings about the same whatever the kind.
    if (!rating.rest.check.empty())
      CHECK(benchproof::stress_of(rating.rest.check) == rating.rest.stress);
    if (!rating.run.check.empty())
      CHECK(benchproof::stress_in_run(rating.run.check) == rating.run.stress);
  });
}

TEST_CASE("every rating that is known keeps a margin, whatever else is told",
          "[check][ratings]") {
  // The chip is fed from a regulator at its current limit (78L05: 140 mA).
  const auto bench = verified(R"([parts]
v = { kind = "dc-supply", voltage = "9 V", current = "1 A" }
x = { kind = "regulator", type = "78L05" }
r = { kind = "resistor", value = "10R", power = "5 W" }
w = { kind = "wire", gauge = "AWG 22", length = "1 m" }
[nets]
in = ["v.plus", "w.a"]
far = ["w.b", "x.in"]
out = ["x.out", "r.a"]
ground = ["v.minus", "x.common", "r.b"]
)");
  const auto& state = bench.verification.states[0];
  REQUIRE(find(state, "regulator-limit", "x") != nullptr);
  std::set<std::string_view> kept;
  for (const Margin& margin : state.margins) kept.insert(margin.check);
  for (const std::string_view check :
       {"supply-current", "regulator-input", "regulator-dropout", "regulator-current",
        "regulator-junction", "resistor-power", "wire-current", "touch"}) {
    CAPTURE(check);
    CHECK(kept.contains(check));
  }
}

TEST_CASE("a limit's number and unit are its figure's", "[check][ratings]") {
  const benchproof::Catalogue catalogue = benchproof::built_in_catalogue();
  std::size_t known = 0;
  for (const benchproof::Type& type : catalogue.types()) {
    benchproof::Part part;
    part.kind = type.kind;
    part.type = &type;
    part.defaults = catalogue.defaults(type.kind);
    for (const bool has_sink : {false, true}) {
      if (has_sink) part.settings["heatsink"].value = 10.0;
      for (const double ambient : {-10.0, 25.0, 85.0, 160.0}) {
        for (const Rating* rating : benchproof::ratings_of(type.kind)) {
          CAPTURE(type.name, rating->rest.check, rating->run.check, has_sink, ambient);
          const auto figure = benchproof::limit_of(*rating, part, ambient);
          const auto number = benchproof::limit_number_of(*rating, part, ambient);
          REQUIRE(figure.has_value() == number.has_value());
          if (!figure) continue;
          REQUIRE(figure->value == *number);
          REQUIRE(figure->unit == benchproof::unit_of(*rating));
          if (rating->limit_number != nullptr) ++known;
        }
      }
    }
  }
  CHECK(known > 1000);
}
