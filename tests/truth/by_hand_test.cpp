// The rules by hand on published worked examples and on circuits of the catalogue's
// parts, beside both witnesses: what the rule says, what each witness says, and how far
// they may be apart by what the rule neglects.

#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <string>

#include "core/catalogue/catalogue.h"
#include "core/circuit/read/reader.h"
#include "core/nodal/nodal_solver.h"
#include "core/nodal/transient.h"
#include "core/verify/hand_rules.h"
#include "core/verify/runs/verify_runs.h"
#include "core/verify/verify.h"
#include "spice/session/engine_session.h"
#include "spice/session/witness.h"
#include "tests/files.h"
#include "tests/nodal_witness.h"

namespace benchproof {
namespace {

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace fs = std::filesystem;

const fs::path kRoot = BENCHPROOF_SOURCE_DIR;

/// Everything that the rules say of a description, states and runs.
std::vector<HandResult> heard(EngineSession& session, const Catalogue& catalogue,
                              const std::string& text) {
  const ReadResult read = read_circuit(text, "example.toml", catalogue);
  REQUIRE(read.circuit);
  const Solve engine = [&](const Network& network) {
    return solve_with_engine(session, network);
  };
  const Solve nodal = by_nodal;
  std::vector<HandResult> results;
  Verification verification = verify(*read.circuit, engine, nodal);
  put_by_hand(*read.circuit, verification);
  for (const StateResult& state : verification.states) {
    REQUIRE(state.agrees);
    results.insert(results.end(), state.by_hand.begin(), state.by_hand.end());
  }
  for (const RunResult& run :
       verify_runs(*read.circuit, engine_in_time(session), nodal_in_time)) {
    REQUIRE(run.agreement.agrees);
    results.insert(results.end(), run.by_hand.begin(), run.by_hand.end());
  }
  return results;
}

/// A published figure that a rule must give, and a witness within a share of it.
struct Example {
  const char* file;
  const char* rule;
  double published;
  double print;  ///< Half a unit of the last digit, or 2 ppm of an exact figure.
  double share;  ///< What the rule neglects, as a share of the figure.
};

// An ideal drop holds within 10 uV (DESIGN section 4), over what is left for the
// resistor; linear circuits to 1e-9. In time: what waveforms may differ by, 1e-3 of the
// swing, is 2.7e-3 of tau where the slope is 1/e of the swing over tau, and 5e-3 and
// 6e-3 at the levels of o13 and o14.
constexpr double kLinear = 1e-9;
constexpr double kDrop = 1e-5;
constexpr Example kExamples[] = {
    {"o01-five-in-series", "series-resistors", 0.1, 2e-7, kLinear},
    {"o02-three-in-parallel", "parallel-resistors", 6.0, 1.2e-5, kLinear},
    {"o20-series-3k-10k-5k", "series-resistors", 500e-6, 1e-9, kLinear},
    {"o21-parallel-10k-2k-1k", "parallel-resistors", 14.4e-3, 2.9e-8, kLinear},
    {"o22-divider-of-three", "series-resistors", 2e-3, 4e-9, kLinear},
    {"o23-current-divider", "parallel-resistors", 11e-3, 2.2e-8, kLinear},
    {"o34-led-on-6v", "led-resistor", 20e-3, 4e-8, kDrop},
    {"o35-led-on-24v", "led-resistor", 20e-3, 4e-8, kDrop},
    {"o51-led-on-9v", "led-resistor", 14.89e-3, 5.005e-6, kDrop},
    {"o52-led-on-50v", "led-resistor", 21.82e-3, 5.005e-6, kDrop},
    {"o45-diode-on-10v", "diode-resistor", 9.3e-3, 1.9e-8, kDrop},
    {"o36-zener-without-load", "zener-current", 32.4e-3, 6.5e-8, kDrop},
    {"o36-zener-without-load", "zener-power", 408.24e-3, 8.2e-7, kDrop},
    {"o37-zener-with-500-ohm", "zener-voltage", 12.6, 2.6e-5, kDrop},
    {"o37-zener-with-500-ohm", "zener-current", 7.2e-3, 1.5e-8, kDrop},
    {"o48-zener-at-20v", "zener-current", 12.2e-3, 5.005e-5, kDrop},
    {"o50-zener-with-1k-load", "zener-current", 19.63e-3, 5.005e-6, kDrop},
    {"o58-shunt-regulator", "zener-current", 262.5e-3, 5.3e-7, kDrop},
    {"o57-series-regulator", "regulator-heat", 1.334, 2.7e-6, kDrop},
    {"o13-charging-ramp", "rc-delay", 8.13, 5.005e-3, 5e-3 / 1.6},
    {"o14-wiper-timer", "rc-delay", 10.0, 5.005e-3, 6e-3 / 1.8},
    {"o15-rc-time-constant", "rc-time-constant", 750e-6, 1.5e-9, 2.7e-3},
    {"o31-rc-charging", "rc-time-constant", 1.0, 2e-6, 2.7e-3},
};

TEST_CASE("worked examples by hand and by both witnesses", "[truth][by-hand]") {
  EngineSession session;
  const Catalogue catalogue = built_in_catalogue();
  for (const Example& e : kExamples) {
    CAPTURE(e.file, e.rule);
    const auto results =
        heard(session, catalogue,
              text_of(kRoot / "reference/worked" / (std::string(e.file) + ".toml")));
    bool is_found = false;
    for (const HandResult& hand : results) {
      if (hand.rule != e.rule) continue;
      is_found = true;
      CHECK_THAT(hand.hand, WithinAbs(e.published, e.print));
      CHECK(hand.engine.has_value() == hand.nodal.has_value());
      if (!hand.engine) continue;
      CHECK_THAT(*hand.engine, WithinRel(hand.hand, e.share));
      CHECK_THAT(*hand.nodal, WithinRel(hand.hand, e.share));
    }
    CHECK(is_found);
  }
}

// What a rule neglects is a few percent in practice: the handbook's figures are for
// parts as they are sold. An LED far below its test current is the worst.
TEST_CASE("on the demo no rule is off by more than it says", "[truth][by-hand]") {
  EngineSession session;
  const Catalogue catalogue = built_in_catalogue();
  const auto results =
      heard(session, catalogue, text_of(kRoot / "circuits/harbour-light.toml"));
  CHECK(results.size() >= 10);
  for (const HandResult& hand : results) {
    CAPTURE(hand.rule, hand.part, hand.hand);
    CHECK_FALSE(hand.formula.empty());
    CHECK_FALSE(hand.numbers.empty());
    CHECK_FALSE(hand.neglects.empty());
    CHECK_FALSE(hand.source.empty());
    if (!hand.nodal) continue;
    // An amber LED at 1.28 of its 20 mA: n kT/q ln(20 / 1.28) = 0.283 V less, with n up
    // to 4 (Shah et al., see core/catalogue/fit/fit.h), of the 2.877 V that are left.
    // All others are nearer.
    CHECK_THAT(*hand.nodal, WithinRel(hand.hand, 0.283 / 2.877));
    // The witnesses among themselves: DESIGN section 8; in time 0.1 % of 60 ms.
    const double apart = hand.unit == Unit::second ? 60e-6 : 1e-9;
    CHECK_THAT(*hand.engine, WithinAbs(*hand.nodal, apart + 1e-6 * *hand.nodal));
  }
}

}  // namespace
}  // namespace benchproof
