#include "spice/session/patience.h"

#include <catch2/catch.hpp>

#include "core/network/timeline.h"

using namespace benchproof;
using Catch::Contains;

TEST_CASE("a witness answers until the time for all questions is over",
          "[session][patience]") {
  int asked = 0;
  const Solve at_rest = [&asked](const Network&) {
    ++asked;
    Solution solution;
    solution.status = SolveStatus::solved;
    return solution;
  };
  const SolveInTime in_time = [&asked](const Timeline&, const std::vector<double>&,
                                       int) {
    ++asked;
    Waveform waveform;
    waveform.status = SolveStatus::solved;
    return waveform;
  };
  const SolveUntil until = [&in_time](const Timeline& timeline, const Watch&) {
    return in_time(timeline, {}, 0);
  };
  const Patience some(std::chrono::hours(1));
  const Patience none(std::chrono::seconds(0));
  constexpr SolveStatus kLate = SolveStatus::engine_lost;
  CHECK(some.bound(at_rest, kLate)({}).status == SolveStatus::solved);
  CHECK(some.bound(in_time, kLate)({}, {}, 0).status == SolveStatus::solved);
  CHECK(some.bound(until, kLate)({}, {}).status == SolveStatus::solved);
  CHECK(asked == 3);

  const Solution late = none.bound(at_rest, kLate)({});
  CHECK(late.status == kLate);
  CHECK_THAT(late.reason, Contains("0 s, is used up"));
  CHECK(none.bound(in_time, SolveStatus::no_convergence)({}, {}, 0).status ==
        SolveStatus::no_convergence);
  const Waveform unseen = none.bound(until, kLate)({}, {});
  CHECK(unseen.status == kLate);
  CHECK_THAT(unseen.reason, Contains("is used up"));
  CHECK(asked == 3);
}
