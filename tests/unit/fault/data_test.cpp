// Pinouts and weights as data: what is told of bad files, and what the project's hold.
#include <catch2/catch.hpp>

#include "core/fault/pinouts.h"
#include "core/fault/weights.h"
#include "tests/known_types.h"

using namespace benchproof;
using Catch::WithinRel;

namespace {

/// "line id" of each complaint.
std::vector<std::string> told(const std::vector<Diagnostic>& diagnostics) {
  std::vector<std::string> lines;
  for (const Diagnostic& d : diagnostics)
    lines.push_back(std::to_string(d.span.begin.line) + " " + d.id);
  return lines;
}

using Lines = std::vector<std::string>;

}  // namespace

TEST_CASE("all that is wrong with a file of pinouts is told in one run",
          "[fault][pinouts]") {
  const ReadPinouts read = read_pinouts(R"([[pinout]]
types = ["BC574"]
package = "TO-92"
seen = "flat face towards you"
leads = ["collector", "base", "emitter"]
mark = "verified"
source = "a sheet"

[[pinout]]
types = ["BC547"]
package = "TO-92"
seen = "flat face towards you"
leads = ["colector", "base", "base"]
mark = "sure"
source = ""
colour = "black"
)",
                                        known_types());
  CHECK(told(read.diagnostics) == Lines{"2 type-unknown", "13 pin-duplicate",
                                        "13 pin-nowhere", "13 pin-nowhere",
                                        "13 pin-unknown", "14 word-unknown",
                                        "15 text-invalid", "16 key-unknown"});
  const auto hint = [&read](std::size_t k) { return read.diagnostics[k].hint; };
  CHECK_THAT(hint(0), Catch::Contains("'BC547'"));
  CHECK_THAT(hint(4), Catch::Contains("'collector'"));
}

TEST_CASE("a file of pinouts that is no TOML, or has other lists, is refused",
          "[fault][pinouts]") {
  CHECK(told(read_pinouts("[[pinout]\n", known_types()).diagnostics) == Lines{"1 syntax"});
  CHECK(told(read_pinouts("[[pinot]]\n", known_types()).diagnostics) ==
        Lines{"1 key-unknown"});
  CHECK(told(read_pinouts("pinout = 3\n", known_types()).diagnostics) ==
        Lines{"1 toml-type"});
  CHECK(told(read_pinouts("pinout = [3]\n", known_types()).diagnostics) ==
        Lines{"1 toml-type"});
  CHECK(read_pinouts("", known_types()).diagnostics.empty());
}

TEST_CASE("makers that differ are told apart", "[fault][pinouts]") {
  const std::vector<Pinout> pinouts = built_in_pinouts(known_types());
  // Fairchild's sheet of the BC547, page 1: collector, base, emitter.
  const auto own = pinouts_of(pinouts, "BC547");
  REQUIRE(own.size() == 1);
  CHECK(own[0]->leads == std::vector<std::string>{"collector", "base", "emitter"});
  CHECK(own[0]->kind == KindId::transistor);
  // The 2N3904 is its mirror image, and a BC337 is told of in both ways.
  CHECK(pinouts_of(pinouts, "2N3904").at(0)->leads ==
        std::vector<std::string>{"emitter", "base", "collector"});
  CHECK(pinouts_of(pinouts, "BC337").size() == 2);
  CHECK(pinouts_of(pinouts, "2N7000").size() == 2);
  CHECK(pinouts_of(pinouts, "LM317").at(0)->leads ==
        std::vector<std::string>{"adjust", "out", "in"});
  for (const Pinout& pinout : pinouts) CHECK_FALSE(pinout.source.empty());
}

TEST_CASE("all that is wrong with a file of weights is told in one run",
          "[fault][weights]") {
  const ReadWeights read = read_weights(R"([[mistake]]
mode = "brige"
weight = -1
mark = "practice"
source = "a guess"

[[failure]]
kinds = ["resister"]
open = 2
mark = "verified"
source = "a book"
)");
  CHECK(told(read.diagnostics) == Lines{"1 key-missing", "2 word-unknown",
                                        "3 value-range", "7 key-missing",
                                        "8 kind-unknown", "9 value-range"});
  CHECK_THAT(read.diagnostics[1].hint, Catch::Contains("'bridge'"));
  CHECK_THAT(read.diagnostics[4].hint, Catch::Contains("'resistor'"));
}

TEST_CASE("every mode has a weight, and every kind its failures", "[fault][weights]") {
  const Weights weights = built_in_weights();
  for (const FaultMode mode : fault_modes()) {
    CAPTURE(word_of(mode));
    double sum = 0.0;
    for (const Weights::Mistake& m : weights.mistakes) {
      if (m.mode != mode) continue;
      sum += m.weight.value;
      CHECK_FALSE(m.weight.source.empty());
    }
    Part chip;
    chip.kind = KindId::controller;
    if (const auto fails = weights.of(mode, chip)) sum += fails->value;
    CHECK(sum > 0.0);
  }
  for (const Kind& each : kinds()) {
    CAPTURE(each.name);
    Part part;
    part.kind = each.id;
    CHECK(weights.of(FaultMode::open, part));
  }
}

TEST_CASE("shares of failures are those that are published", "[fault][weights]") {
  const Weights weights = built_in_weights();
  Part part;
  part.kind = KindId::resistor;
  // "Reliability Engineering: Basic Concepts and Applications in ICT", table 8.11: open
  // 80 %, short 10 %.
  const auto open = weights.of(FaultMode::open, part);
  const auto shorted = weights.of(FaultMode::short_, part);
  REQUIRE(open);
  REQUIRE(shorted);
  CHECK_THAT(open->value / shorted->value, WithinRel(8.0, 1e-12));
  CHECK(open->mark == Mark::verified);
  // PTC Practitioner's Guide, table A-1, aluminium electrolytic: short 50 %, open 30 %.
  part.kind = KindId::capacitor;
  part.settings["polarised"] = {true, {}};
  CHECK_THAT(weights.of(FaultMode::short_, part)->value /
                 weights.of(FaultMode::open, part)->value,
             WithinRel(5.0 / 3.0, 1e-12));
  CHECK_FALSE(weights.of(FaultMode::bridge, part));
}
