#include "cli/render/size/size_advice.h"

#include <catch2/catch.hpp>
#include <limits>

namespace benchproof {
namespace {

constexpr double kNever = std::numeric_limits<double>::infinity();

/// A request for 4 V by one value of E24, at present 100 ohm.
SizeRequest request_for_4_volts() {
  SizeRequest request;
  request.goal.want = 4.0;
  request.goal.unit = Unit::volt;
  SizedKey key;
  key.key = "value";
  key.unit = Unit::ohm;
  key.least = 10.0;
  key.most = 1000.0;
  key.present = 100.0;
  key.series = Series::e24;
  request.keys = {key};
  return request;
}

SizeChoice choice(double value, double volts) {
  SizeChoice choice;
  choice.values = {value};
  choice.engine = choice.nodal = choice.least = choice.most = volts;
  choice.agrees = choice.keeps = true;
  return choice;
}

/// Two candidates, of which the second comes nearer to 4 V and the first is
/// recommended.
Sizing two_candidates() {
  Sizing sizing;
  sizing.exact = 104.0;
  sizing.candidates = {choice(100.0, 3.8), choice(110.0, 4.1)};
  sizing.recommended = 0;
  return sizing;
}

}  // namespace

TEST_CASE("advice names the candidate that came nearer", "[render][size]") {
  const SizeAdvice advice = advise(request_for_4_volts(), two_candidates());
  CHECK(advice.outcome == SizeOutcome::recommended);
  CHECK(advice.reason == SizeReason::nearest_of_series);
  CHECK(advice.series == std::vector<Series>{Series::e24});
  CHECK(advice.passed_over == 1);
  CHECK_FALSE(advice.every_value_meets);
}

TEST_CASE("advice without a recommendation says why", "[render][size]") {
  SizeRequest request = request_for_4_volts();
  Sizing sizing = two_candidates();
  sizing.recommended = -1;
  CHECK(advise(request, sizing).outcome == SizeOutcome::none_good);
  sizing.jumps = true;
  CHECK(advise(request, sizing).outcome == SizeOutcome::jumps_past);

  sizing = Sizing{};
  sizing.reach_least = -5.0;
  sizing.reach_most = -1.0;
  const SizeAdvice reversed = advise(request, sizing);
  CHECK(reversed.outcome == SizeOutcome::out_of_reach);
  CHECK(reversed.is_sign_suspect);
  sizing.reach_least = sizing.reach_most;
  CHECK(advise(request, sizing).outcome == SizeOutcome::constant);
  sizing.reach_least = sizing.reach_most = kNever;
  CHECK(advise(request, sizing).outcome == SizeOutcome::no_answer);
  sizing.misses = true;
  CHECK(advise(request, sizing).outcome == SizeOutcome::never_in_time);
  request.keys.push_back(request.keys.front());
  CHECK(advise(request, sizing).outcome == SizeOutcome::no_answer);
  sizing.has_no_choice = true;
  CHECK(advise(request, sizing).outcome == SizeOutcome::no_standard_value);
}

TEST_CASE("where every value does, the present one is advised", "[render][size]") {
  Sizing sizing = two_candidates();
  sizing.exact.reset();
  const SizeAdvice kept = advise(request_for_4_volts(), sizing);
  CHECK(kept.every_value_meets);
  CHECK(kept.reason == SizeReason::as_it_is);
  sizing.recommended = 1;
  CHECK(advise(request_for_4_volts(), sizing).reason == SizeReason::nearest_to_present);
}

}  // namespace benchproof
