#include "core/diagnose/likelihood.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

using namespace benchproof;
using Catch::Matchers::WithinAbs;

namespace {

TakenReading read_as(Asks asks, double value, double last_digit = 0.0) {
  TakenReading taken;
  taken.question.asks = asks;
  taken.value = value;
  taken.last_digit = last_digit;
  return taken;
}

TakenReading seen_as(Looks looks) {
  TakenReading taken;
  taken.question.asks = Asks::looks;
  taken.looks = looks;
  return taken;
}

Shown figure(double value, double sigma) {
  Shown shown;
  shown.value = value;
  shown.sigma = sigma;
  return shown;
}

double probability(const Shown& shown, const TakenReading& taken) {
  return std::exp(fit_of(shown, taken).log_likelihood);
}

/// All that a meter may show together, by the trapezoidal rule over a figure that is
/// substituted by sinh, which lays points densely about `middle`.
double sum_over_figures(const Shown& shown, Asks asks, double middle, double scale) {
  constexpr int kPoints = 400'000;
  constexpr double kEnd = 22.0;
  double sum = 0.0;
  for (int k = 0; k <= kPoints; ++k) {
    const double t = -kEnd + 2.0 * kEnd * k / kPoints;
    const double x = middle + scale * std::sinh(t);
    sum += probability(shown, read_as(asks, x)) * scale * std::cosh(t) * 2.0 * kEnd /
           kPoints;
  }
  return sum;
}

}  // namespace

TEST_CASE("what a meter may show adds up to certainty", "[diagnose]") {
  // The axiom of a probability. The bound is what one of the narrow slips holds (a
  // tenth of kSlips): the rule's points lie too far apart there to add it up.
  constexpr double kAll = 0.1 * kSlips;
  CHECK_THAT(sum_over_figures(figure(4.98, 0.02), Asks::voltage, 4.98, 1e-3),
             WithinAbs(1.0, kAll));
  CHECK_THAT(sum_over_figures(figure(0.009, 2e-4), Asks::current, 0.009, 1e-6),
             WithinAbs(1.0, kAll));
}

TEST_CASE("of resistances the open one makes up what figures lack", "[diagnose]") {
  TakenReading open = read_as(Asks::resistance, 0.0);
  open.is_open = true;
  Shown overload;
  overload.open = true;
  CHECK_THAT(probability(overload, open), WithinAbs(1.0 - kSlips, 1e-15));
  CHECK(fit_of(figure(1000.0, 5.0), open).is_misfit);
  CHECK_FALSE(fit_of(overload, open).is_misfit);
  CHECK(fit_of(overload, read_as(Asks::resistance, 1000.0)).is_misfit);
}

TEST_CASE("a figure that is near is no slip, one that is far is", "[diagnose]") {
  const Shown shown = figure(5.0, 0.05);
  CHECK_FALSE(fit_of(shown, read_as(Asks::voltage, 5.1)).is_misfit);
  CHECK_FALSE(fit_of(shown, read_as(Asks::voltage, 5.25)).is_misfit);
  CHECK(fit_of(shown, read_as(Asks::voltage, 3.0)).is_misfit);
}

TEST_CASE("the usual slips are likelier than others", "[diagnose]") {
  const Shown shown = figure(4.7, 0.03);
  for (const double slip : {-4.7, 47.0, 0.47, 0.0047}) {
    CAPTURE(slip);
    const double near = probability(shown, read_as(Asks::voltage, 1.3 * slip));
    CHECK(probability(shown, read_as(Asks::voltage, slip)) > 3.0 * near);
  }
}

TEST_CASE("a roughly written figure is taken as one", "[diagnose]") {
  // "12 V" of 11.72 V: half a volt off would be twenty deviations of the meter.
  const Shown shown = figure(11.72, 0.05);
  const Fit rough = fit_of(shown, read_as(Asks::voltage, 12.0, 1.0));
  const Fit exact = fit_of(shown, read_as(Asks::voltage, 12.0, 0.001));
  CHECK_FALSE(rough.is_misfit);
  CHECK(rough.log_likelihood > exact.log_likelihood);
}

TEST_CASE("what is not known excludes nothing", "[diagnose]") {
  const Shown unknown = figure(std::numeric_limits<double>::quiet_NaN(), 0.0);
  for (const double volts : {-12.0, 0.0, 3.3, 24.0})
    CHECK_FALSE(fit_of(unknown, read_as(Asks::voltage, volts)).is_misfit);
  CHECK_FALSE(are_parted(Asks::voltage, unknown, figure(5.0, 0.01)));
}

TEST_CASE("a second reading of one place adds up to certainty, too", "[diagnose]") {
  // The axiom of a probability, given the first one.
  const Shown shown = figure(3.0, 0.3);
  const TakenReading first = read_as(Asks::voltage, 3.4);
  const Offset offset = learned(shown, first, {});
  REQUIRE(offset.is_known);
  double sum = 0.0;
  constexpr double kStep = 1e-4;
  for (double x = -3.0; x < 9.0; x += kStep)
    sum += kStep *
           std::exp(fit_of(shown, read_as(Asks::voltage, x), offset).log_likelihood);
  // What is left out are slips beyond the range that was added up.
  CHECK_THAT(sum, WithinAbs(1.0, kSlips));
}

TEST_CASE("a copy is off at one place by what was read there",
          "[diagnose][closed-form]") {
  // Of two normal variables with deviations a (the copy) and b (a reading) and a sum d,
  // the first has the mean d a^2 / (a^2 + b^2) and the deviation a b / sqrt(a^2 + b^2).
  const Shown shown = figure(3.0, 0.3);
  const Offset offset = learned(shown, read_as(Asks::voltage, 3.4), {});
  const double all = deviation_of(Asks::voltage, shown);
  const Shown again = shown_again(shown, read_as(Asks::voltage, 3.4));
  // The share of the copy follows from the two: it is one for both.
  const double copy = (again.value - 3.0) / offset.middle;
  const double reading = std::sqrt(all * all - copy * copy);
  CHECK_THAT(offset.middle, WithinAbs(0.4 * copy / (all * all), 1e-9));
  CHECK_THAT(offset.deviation, WithinAbs(reading / all, 1e-9));
  CHECK_THAT(again.value, WithinAbs(3.4, 0.02));
  // A slip tells nothing of the copy, nor does what no meter shows as a figure.
  CHECK_FALSE(learned(shown, read_as(Asks::voltage, 0.0), {}).is_known);
  TakenReading open = read_as(Asks::diode, 0.0);
  open.is_open = true;
  CHECK_FALSE(learned(shown, open, {}).is_known);
}

TEST_CASE("places are the same where the meter stands and as much is expected",
          "[diagnose]") {
  Question quay;
  quay.net = "quay";
  quay.state = "night";
  Question day = quay;
  day.state = "day";
  Question tested = quay;
  tested.powered = false;
  tested.asks = Asks::diode;
  Question buoy = quay;
  buoy.net = "buoy";
  const Shown shown = figure(3.0, 0.3);
  CHECK(is_same_place(quay, shown, day, figure(3.1, 0.3)));
  CHECK(is_same_place(quay, shown, tested, figure(2.8, 0.3)));
  CHECK_FALSE(is_same_place(quay, shown, day, figure(0.0, 0.3)));
  CHECK_FALSE(is_same_place(quay, shown, buoy, shown));
}

TEST_CASE("where meters end one shows a figure, another one open", "[diagnose]") {
  // Meters of 2000 counts end at 2 V of a diode test and the cheapest at 2 Mohm; see
  // reference/meters. 2.7 V is a white LED, 0.6 V a silicon junction.
  TakenReading open = read_as(Asks::diode, 0.0);
  open.is_open = true;
  CHECK_FALSE(fit_of(figure(2.7, 0.1), open).is_misfit);
  CHECK_FALSE(fit_of(figure(2.7, 0.1), read_as(Asks::diode, 2.68)).is_misfit);
  CHECK(fit_of(figure(0.6, 0.05), open).is_misfit);
  Shown overload;
  overload.open = true;
  CHECK_FALSE(are_parted(Asks::diode, overload, figure(2.7, 0.1)));
  CHECK(are_parted(Asks::diode, overload, figure(0.6, 0.05)));
  open.question.asks = Asks::resistance;
  CHECK_FALSE(fit_of(figure(10e6, 1e5), open).is_misfit);
  CHECK(fit_of(figure(1e6, 1e4), open).is_misfit);
}

TEST_CASE("what lamps may look like adds up to certainty", "[diagnose]") {
  for (const double sure : {1.0, 0.9, 0.6}) {
    for (const Looks shown_as :
         {Looks::dark, Looks::dim, Looks::as_meant, Looks::too_bright}) {
      Shown shown;
      shown.looks = shown_as;
      shown.looks_sure = sure;
      double sum = 0.0;
      for (const Looks looks :
           {Looks::dark, Looks::dim, Looks::as_meant, Looks::too_bright})
        sum += probability(shown, seen_as(looks));
      CAPTURE(sure, sum);
      // Of a sure eye three slips of 0.005 are taken off; of one that is not, less.
      CHECK_THAT(sum, WithinAbs(1.0, 0.016));
    }
  }
}

TEST_CASE("an eye that is not sure sees the neighbour", "[diagnose]") {
  Shown shown;
  shown.looks = Looks::dim;
  shown.looks_sure = 0.7;
  CHECK(probability(shown, seen_as(Looks::dark)) >
        3.0 * probability(shown, seen_as(Looks::too_bright)));
  CHECK(fit_of(shown, seen_as(Looks::dark)).is_misfit == false);
  shown.looks_sure = 1.0;
  CHECK(fit_of(shown, seen_as(Looks::as_meant)).is_misfit);
}

TEST_CASE("readings part what they can", "[diagnose]") {
  CHECK(are_parted(Asks::voltage, figure(5.0, 0.02), figure(0.0, 0.02)));
  CHECK_FALSE(are_parted(Asks::voltage, figure(5.0, 0.02), figure(5.03, 0.02)));
  Shown open;
  open.open = true;
  CHECK(are_parted(Asks::resistance, open, figure(1e3, 1.0)));
  CHECK_FALSE(are_parted(Asks::resistance, open, open));
}
