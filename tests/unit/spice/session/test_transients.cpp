// Transients through the sealed worker: what it accepts as one, and its bounds.
#include <algorithm>
#include <catch2/catch.hpp>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "scratch.h"
#include "spice/session/engine_session.h"

namespace {

using benchproof::EngineOptions;
using benchproof::EngineReply;
using benchproof::EngineRequest;
using benchproof::EngineSession;
using benchproof::EngineStatus;
using Catch::Contains;
using Catch::Matchers::WithinAbs;
namespace wire = benchproof::wire;

using Lines = std::vector<std::string>;

EngineOptions transient_options() {
  EngineOptions options;
  options.worker_path = scratch::worker_path();
  return options;
}

constexpr double kSpan = 10e-3;

EngineRequest transient(Lines elements, Lines vectors,
                        const std::string& tran = ".tran 1e-8 0.01 0 1e-4") {
  EngineRequest request;
  request.deck = std::move(elements);
  request.deck.insert(request.deck.begin(), "title");
  request.deck.insert(
      request.deck.end(),
      {".options reltol=1e-6 vntol=1e-8 abstol=1e-10 trtol=0.1", tran, ".end"});
  request.vectors = std::move(vectors);
  request.analysis = wire::Analysis::transient;
  request.span = kSpan;
  return request;
}

/// 1 kohm and 1 uF on a source that rises to 5 V over the first millisecond.
EngineRequest charging(Lines vectors = {"n2", "v1#branch"},
                       const std::string& tran = ".tran 1e-8 0.01 0 1e-4") {
  return transient({"v1 n1 0 pwl(0 0 1e-3 5)", "r1 n1 n2 1e3", "c1 n2 0 1e-6"},
                   std::move(vectors), tran);
}

/// The ramp's answer [calculus]: 5 V/ms (t - tau + tau exp(-t/tau)), tau = 1 ms, less
/// the same from 1 ms on.
double charged(double seconds) {
  const auto ramp = [](double t) {
    return t <= 0.0 ? 0.0 : 5e3 * (t + 1e-3 * std::expm1(-t / 1e-3));
  };
  return ramp(seconds) - ramp(seconds - 1e-3);
}

void check_is_charging(const EngineReply& reply) {
  CAPTURE(reply.message);
  REQUIRE(reply.status == EngineStatus::solved);
  REQUIRE(reply.values.size() % 3 == 0);
  REQUIRE(reply.values.size() / 3 >= 100);  // no step above a hundredth
  CHECK(reply.values.front() == 0.0);
  CHECK_THAT(reply.values[reply.values.size() - 3], WithinAbs(kSpan, 1e-12 * kSpan));
  CHECK(reply.reached == reply.values[reply.values.size() - 3]);
  CHECK(reply.is_sealed);
  for (std::size_t at = 0; at < reply.values.size(); at += 3) {
    const double seconds = reply.values[at];
    CAPTURE(seconds);
    // 1e-4 of the swing is what these options were measured to keep.
    REQUIRE_THAT(reply.values[at + 1], WithinAbs(charged(seconds), 5e-4));
    const double source = 5.0 * std::min(seconds / 1e-3, 1.0);
    REQUIRE_THAT(reply.values[at + 2],
                 WithinAbs((charged(seconds) - source) / 1e3, 5e-7));
  }
}

EngineRequest divider_at_rest() {
  return {scratch::divider_deck(), {"n2", "n1", "@r1[i]"}};
}

}  // namespace

TEST_CASE("a transient's points come through", "[engine][session][transient]") {
  EngineSession session(transient_options());
  check_is_charging(session.run(charging()));
  check_is_charging(session.run(charging()));
}

TEST_CASE("a transient does not colour what follows", "[engine][session][transient]") {
  EngineSession session(transient_options());
  const EngineReply alone = session.run(divider_at_rest());
  REQUIRE(alone.status == EngineStatus::solved);
  const std::vector<double> first = session.run(charging()).values;
  // What one transient saves hides nothing of the next, nor of what is at rest, whether
  // it ends well or not.
  for (const EngineRequest& before :
       {charging({"n1"}), charging({"n7"}),
        transient({"v1 n1 0 pwl(0 0 1e-3 5)", "r1 n1 n2 foo("}, {"n2"}),
        charging(Lines(9000, "n1"), ".tran 1e-8 0.01 0 5e-6")}) {
    const EngineReply ended = session.run(before);
    CAPTURE(before.vectors.size(), ended.message);
    const EngineReply again = session.run(divider_at_rest());
    CHECK(again.status == EngineStatus::solved);
    CHECK(again.values == alone.values);
    // Nor what changes of a circuit that was held before it.
    EngineRequest changed = divider_at_rest();
    changed.deck[2] = "r1 n1 n2 7000";
    const EngineReply other = session.run(changed);
    REQUIRE(other.status == EngineStatus::solved);
    CHECK_THAT(other.values[0], WithinAbs(3.0, 1e-11));
    const EngineReply charge = session.run(charging());
    check_is_charging(charge);
    CHECK(charge.values == first);  // to the last bit
  }
}

TEST_CASE("what is no transient is told", "[engine][session][transient]") {
  struct Case {
    const char* what;
    EngineRequest request;
    const char* complaint;
  };
  EngineRequest at_rest = charging();
  at_rest.analysis = wire::Analysis::operating_point;
  EngineRequest unasked = charging();
  unasked.deck.erase(unasked.deck.end() - 2);
  EngineRequest short_of = charging();
  short_of.span = 2.0 * kSpan;
  const auto [what, request, complaint] = GENERATE_COPY(values<Case>({
      {"at rest", at_rest, "'.tran' is not a card"},
      {"not asked for", unasked, "holds no '.tran A B 0 C'"},
      {"shorter than asked for", short_of, "did not reach the end"},
      {"no such node", charging({"n2", "n7"}), "'n7' is missing"},
      {"an engine constant", charging({"n2", "pi"}), "'pi' is missing"},
      {"a device's last current", charging({"n2", "@r7[i]"}), "'@r7[i]' is missing"},
      {"nonsense", transient({"blah foo bar", "q"}, {"n1"}), "valid modelname"},
      {"no operating point",
       transient({"b1 n1 0 v=v(n1)*v(n1)+1", "r1 n1 0 1"}, {"n1"}), "aborted"},
  }));
  CAPTURE(what);
  EngineSession session(transient_options());
  const EngineReply reply = session.run(request);
  CHECK(reply.status == EngineStatus::not_solved);
  CHECK(reply.values.empty());
  CHECK_THAT(reply.message, Contains(complaint));
  check_is_charging(session.run(charging()));
}

TEST_CASE("where a transient finds no way on it says how far it came",
          "[engine][session][transient]") {
  // From where n2 reaches 1 V on, b1 is the root of a negative number.
  EngineRequest stuck = charging({"n2", "n3"});
  stuck.deck.insert(stuck.deck.begin() + 1,
                    {"b1 n3 0 v=sqrt(1-v(n2))*v(n3)*v(n3)+0.2", "r3 n3 0 1e3"});
  double seconds = 0.0;  // by bisection of the closed form
  for (double step = 0.5e-3; step > 1e-12; step /= 2.0) {
    if (charged(seconds + step) < 1.0) seconds += step;
  }
  EngineSession session(transient_options());
  const EngineReply reply = session.run(stuck);
  CHECK(reply.status == EngineStatus::not_solved);
  CHECK(reply.values.empty());
  // The last step that it took ended before, by less than the longest one.
  CHECK(reply.reached < seconds + 1e-6);
  CHECK(reply.reached > seconds - 1e-4);
  CHECK_THAT(reply.message, Contains("imestep"));
  check_is_charging(session.run(charging()));
}

TEST_CASE("a waveform of many frames comes whole, and above the limit it is refused",
          "[engine][session][transient]") {
  // A name that is asked for a thousand times costs the engine one vector, and the
  // socket a thousand.
  constexpr std::size_t kCopies = 1000;
  const Lines names(kCopies, "n2");
  EngineSession session(transient_options());
  const EngineReply large = session.run(charging(names, ".tran 1e-8 0.01 0 1e-6"));
  CAPTURE(large.message);
  REQUIRE(large.status == EngineStatus::solved);
  constexpr std::size_t kWidth = kCopies + 1;
  REQUIRE(large.values.size() % kWidth == 0);
  REQUIRE(large.values.size() > 9 * wire::kMaxFrameValues);
  for (std::size_t at = 0; at < large.values.size(); at += kWidth) {
    REQUIRE_THAT(large.values[at + 1], WithinAbs(charged(large.values[at]), 5e-4));
    REQUIRE(large.values[at + kCopies] == large.values[at + 1]);
  }

  const EngineReply larger = session.run(charging(names, ".tran 1e-8 0.01 0 2e-7"));
  CHECK(larger.status == EngineStatus::too_large);
  CHECK(larger.values.empty());
  CHECK(larger.message == "the waveform takes more than 16760 points of 1001 figures");
  // Stopped there: 16,760 steps of at most 0.2 us.
  CHECK(larger.reached > 0.0);
  CHECK(larger.reached < 16'761 * 2e-7);
  check_is_charging(session.run(charging()));
}

TEST_CASE("the largest waveform fits the worker's memory",
          "[engine][session][transient]") {
  // Sixty nodes of their own: what the engine keeps is as large as what it sends. Just
  // below the limit of 2^24 figures.
  Lines elements{"v1 n0 0 1"};
  Lines vectors;
  for (int k = 1; k <= 60; ++k) {
    const std::string at = std::to_string(k);
    elements.push_back("r" + at + " n" + std::to_string(k - 1) + " n" + at + " 1");
    vectors.push_back("n" + at);
  }
  elements.emplace_back("r61 n60 0 1");
  const double points = 0.97 * wire::kMaxValues / 61.0;
  char tran[64];
  std::snprintf(tran, sizeof tran, ".tran 1e-8 0.01 0 %.6e", kSpan / points);
  EngineOptions patient =
      transient_options();  // Its bounds in memory are meant, not in time.
  patient.deadline = std::chrono::seconds(120);
  EngineSession session(patient);
  const EngineReply reply = session.run(transient(elements, vectors, tran));
  CAPTURE(reply.message);
  REQUIRE(reply.status == EngineStatus::solved);
  CHECK(reply.values.size() > wire::kMaxValues / 100 * 96);
  // A chain of 61 equal resistors from 1 V; to reltol.
  const std::size_t last = reply.values.size() - 61;
  for (std::size_t k = 1; k <= 60; ++k) {
    const double volts = 1.0 - static_cast<double>(k) / 61.0;
    CHECK_THAT(reply.values[last + k], WithinAbs(volts, 1e-6));
  }
  check_is_charging(session.run(charging()));
}

TEST_CASE("many transients do not fill the worker", "[engine][session][transient]") {
  EngineSession session(transient_options());
  const auto resident_kilobytes = [&session] {
    const auto status = "/proc/" + std::to_string(session.worker_pid()) + "/status";
    return std::stol(scratch::field_of(status, "VmRSS:"));
  };
  for (int warm = 0; warm < 50; ++warm)
    REQUIRE(session.run(charging()).status == EngineStatus::solved);
  const pid_t worker = session.worker_pid();
  const long before = resident_kilobytes();
  for (int k = 0; k < 500; ++k)
    REQUIRE(session.run(charging()).status == EngineStatus::solved);
  CHECK(session.worker_pid() == worker);
  // 200 points of 3 figures are 5 kB: kept, they would be 2.4 MB.
  constexpr long kGrowth = 1000;
  CHECK(resident_kilobytes() - before < kGrowth);
}
