#include "core/diagnose/ranking.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

using namespace benchproof;
using Catch::Matchers::WithinAbs;

namespace {

/// What suspects show at questions, by hand: [suspect][question].
using Table = std::vector<std::vector<Shown>>;

ShownAt at(const Table& table) {
  return [&table](std::size_t s, std::size_t q) -> const Shown& { return table[s][q]; };
}

Shown volts(double value, double sigma = 0.01) {
  Shown shown;
  shown.value = value;
  shown.sigma = sigma;
  return shown;
}

Shown looks(Looks as, double sure = 1.0) {
  Shown shown;
  shown.looks = as;
  shown.looks_sure = sure;
  return shown;
}

TakenReading read_volts(double value) {
  TakenReading taken;
  taken.question.net = "quay";
  taken.value = value;
  taken.last_digit = 0.001;
  return taken;
}

TakenReading seen(Looks as) {
  TakenReading taken;
  taken.question.asks = Asks::looks;
  taken.question.part = "quay1";
  taken.looks = as;
  return taken;
}

double probability_of(const std::vector<Ranked>& ranked, std::size_t suspect) {
  for (const Ranked& each : ranked)
    if (each.suspect == suspect) return each.probability;
  return -1.0;
}

}  // namespace

TEST_CASE("without readings the weights decide", "[diagnose]") {
  const std::vector<double> weights = {1.0, 3.0, 4.0};
  const Table table(3);
  const std::vector<Ranked> ranked = rank(weights, {}, at(table)).suspects;
  CHECK(ranked.front().suspect == 2);
  // Rounding alone: three numbers added.
  CHECK_THAT(probability_of(ranked, 0), WithinAbs(1.0 / 8.0, 1e-15));
  CHECK_THAT(probability_of(ranked, 1), WithinAbs(3.0 / 8.0, 1e-15));
  CHECK_THAT(probability_of(ranked, 2), WithinAbs(4.0 / 8.0, 1e-15));
}

TEST_CASE("one look moves the odds by Bayes' rule, but for a blunder", "[diagnose]") {
  // By hand: a dark lamp is told as dark in all but three slips of 0.005, and told as
  // dark by one such slip where it is lit: odds of 1 : 3 become 0.985 : 0.015. Of a
  // blunder they stay what they were.
  const std::vector<double> weights = {1.0, 3.0};
  const Table table = {{looks(Looks::dark)}, {looks(Looks::as_meant)}};
  const std::vector<TakenReading> readings = {seen(Looks::dark)};
  const Ranking ranking = rank(weights, readings, at(table));
  CHECK(ranking.suspects.front().suspect == 0);
  const double told = 1.0 * 0.985 / (1.0 * 0.985 + 3.0 * 0.005);
  CHECK_THAT(ranking.suspects.front().probability,
             WithinAbs((1.0 - kBlunders) * told + kBlunders * 0.25, 1e-12));
  CHECK(ranking.rests_on == std::optional<std::size_t>(0));
}

TEST_CASE("readings multiply the odds", "[diagnose]") {
  const std::vector<double> weights = {2.0, 5.0};
  const Table table = {{volts(3.0), volts(1.0), looks(Looks::dim, 0.7)},
                       {volts(3.05), volts(1.0), looks(Looks::dark, 0.8)}};
  const std::vector<TakenReading> all = {read_volts(3.02), read_volts(1.02),
                                         seen(Looks::dark)};
  // The odds by all readings but one (all of them: none is left out).
  const auto odds_without = [&](std::size_t left_out) {
    double odds = weights[0] / weights[1];
    for (std::size_t r = 0; r < all.size(); ++r)
      if (r != left_out)
        odds *= std::exp(fit_of(table[0][r], all[r]).log_likelihood -
                         fit_of(table[1][r], all[r]).log_likelihood);
    return odds;
  };
  const double odds = odds_without(all.size());
  REQUIRE(odds < 1.0);  // The second leads: the look speaks most for it.
  const double without = odds_without(2);
  const std::vector<Ranked> ranked = rank(weights, all, at(table)).suspects;
  CHECK_THAT(probability_of(ranked, 0),
             WithinAbs((1.0 - kBlunders) * odds / (1.0 + odds) +
                           kBlunders * without / (1.0 + without),
                       1e-12));
}

TEST_CASE("two normal laws of one width are weighed by their squares", "[diagnose]") {
  // The closed form without slips: log odds = (d2^2 - d1^2) / 2 for d in deviations.
  // The wide tenth and the slips add to both; near both figures they change the odds by
  // less than a tenth.
  const double deviation = deviation_of(Asks::voltage, volts(3.0, 0.2));
  const Table table = {{volts(3.0, 0.2)}, {volts(3.0 + deviation, 0.2)}};
  const std::vector<double> weights = {1.0, 1.0};
  const std::vector<TakenReading> readings = {read_volts(3.0)};
  const double closed = 1.0 / (1.0 + std::exp(-0.5));
  CHECK_THAT(probability_of(rank(weights, readings, at(table)).suspects, 0),
             WithinAbs(closed, 0.03));
}

TEST_CASE("a misread value does not lead astray for good", "[diagnose]") {
  // Three readings are those of the first; one is exactly that of the second.
  const std::vector<double> weights = {1.0, 1.0};
  const Table table = {{volts(5.0), volts(3.0), volts(2.0), volts(1.0)},
                       {volts(0.0), volts(0.0), volts(0.0), volts(0.0)}};
  const std::vector<TakenReading> readings = {read_volts(0.0), read_volts(3.01),
                                              read_volts(1.99), read_volts(1.0)};
  const std::vector<Ranked> ranked = rank(weights, readings, at(table)).suspects;
  CHECK(ranked.front().suspect == 0);
  CHECK(ranked.front().misfits == 1);
  CHECK(ranked.front().probability > 0.99);
}

TEST_CASE("no single reading makes anything nearly sure", "[diagnose]") {
  // What one reading says against the odds a second one has to say, too: of the same
  // net or another.
  const std::vector<double> weights = {0.02, 0.98};
  const Table table = {{volts(5.0), volts(3.0)}, {volts(0.0), volts(0.0)}};
  const std::vector<TakenReading> two = {read_volts(5.0), read_volts(3.0)};
  const Ranking one = rank(weights, std::span(two).first(1), at(table));
  CHECK(one.suspects.front().suspect == 0);
  CHECK(one.suspects.front().probability < 0.98);
  CHECK(one.rests_on == std::optional<std::size_t>(0));
  const Ranking both = rank(weights, two, at(table));
  CHECK(both.suspects.front().probability > 0.99);
  CHECK_FALSE(both.rests_on.has_value());
  const Table again = {{volts(5.0), volts(5.0)}, {volts(0.0), volts(0.0)}};
  const std::vector<TakenReading> twice = {read_volts(5.0), read_volts(5.0)};
  CHECK_FALSE(rank(weights, twice, at(again)).rests_on.has_value());
}

TEST_CASE("what is read three times at one place is not told three times",
          "[diagnose]") {
  // Lamps of two colours whose forward voltages scatter by 0.2 V, and one lamp that
  // lies between them. Were each reading by itself, the odds would go to the third
  // power.
  const std::vector<double> weights = {1.0, 1.0};
  const Table table = {{volts(2.35, 0.2), volts(2.35, 0.2), volts(2.33, 0.2)},
                       {volts(1.97, 0.2), volts(1.97, 0.2), volts(1.95, 0.2)}};
  std::vector<TakenReading> readings = {read_volts(1.96), read_volts(1.955),
                                        read_volts(1.94)};
  readings.back().question.state = "day";
  const auto odds = [&](std::size_t count) {
    const std::vector<Ranked> ranked =
        rank(weights, std::span(readings).first(count), at(table)).suspects;
    return probability_of(ranked, 1) / probability_of(ranked, 0);
  };
  const double once = odds(1);
  CHECK(once > 2.0);
  CHECK(odds(3) < 1.5 * once);
  CHECK(odds(3) < 0.3 * once * once * once);
}

TEST_CASE("a reading that could not be taken tells nothing", "[diagnose]") {
  const std::vector<double> weights = {1.0, 2.0};
  const Table table = {{volts(5.0)}, {volts(0.0)}};
  std::vector<TakenReading> readings = {read_volts(5.0)};
  readings.front().is_reached = false;
  CHECK_THAT(probability_of(rank(weights, readings, at(table)).suspects, 1),
             WithinAbs(2.0 / 3.0, 1e-15));
}

TEST_CASE("what readings cannot part is one group", "[diagnose]") {
  // The first two show the same, the third something else, the fourth the same as the
  // first within the meter's error.
  const std::vector<double> weights = {1.0, 4.0, 1.0, 1.0};
  const Table table = {{volts(0.0)}, {volts(0.0)}, {volts(5.0)}, {volts(0.02)}};
  const std::vector<TakenReading> readings = {read_volts(0.001)};
  const std::vector<Ranked> ranked = rank(weights, readings, at(table)).suspects;
  const std::vector<Group> groups = groups_of(ranked, readings, at(table));
  // The third one is there for a blunder's sake only.
  REQUIRE(groups.size() == 2);
  CHECK(groups.front().members.size() == 3);
  CHECK(groups.front().members.front().suspect == 1);
  CHECK(groups.front().probability > 1.0 - kBlunders);
  CHECK(groups.back().probability < kBlunders);
}

TEST_CASE("the information of a reading is that of a code", "[diagnose]") {
  // Equally probable suspects that a reading tells apart: log2 of how many. A slip
  // takes off less than h(0.01) + 0.01 log2(3) = 0.1 bit.
  const std::vector<Question> questions(3);
  const Table table = {{volts(0.0), volts(1.0), volts(2.0)},
                       {volts(5.0), volts(1.0), volts(2.0)},
                       {volts(0.0), volts(3.0), volts(2.0)},
                       {volts(5.0), volts(9.0), volts(2.0)}};
  const std::vector<double> weights(4, 1.0);
  const std::vector<Ranked> ranked = rank(weights, {}, at(table)).suspects;
  const auto all = [](std::size_t) { return true; };
  const std::vector<Promise> found =
      promises(ranked, questions, at(table), all, nullptr);
  REQUIRE(found.size() == 2);  // The third tells nothing.
  CHECK(found[0].question == 1);
  CHECK_THAT(found[0].bits, WithinAbs(1.5, 0.1));  // Two alone, two alike.
  CHECK(found[1].question == 0);
  CHECK_THAT(found[1].bits, WithinAbs(1.0, 0.1));
}

TEST_CASE("trouble is weighed against what is told", "[diagnose]") {
  std::vector<Question> questions(2);
  questions[0].out = {"chip"};
  const Table table = {{volts(0.0), volts(0.0)}, {volts(5.0), volts(5.0)}};
  const std::vector<double> weights(2, 1.0);
  const std::vector<Ranked> ranked = rank(weights, {}, at(table)).suspects;
  const auto all = [](std::size_t) { return true; };
  const auto none = [](std::size_t q) { return q != 1; };
  CHECK(promises(ranked, questions, at(table), all, nullptr).front().question == 1);
  CHECK(promises(ranked, questions, at(table), none, nullptr).front().question == 0);
}
