// How parts look, by what they get. Where eyes draw borders is practice: only what lies
// far on either side of one is asked for.
#include "core/diagnose/foreseen/detail/looks.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "core/diagnose/likelihood.h"

using namespace benchproof;

namespace {

Part part_of(KindId kind, double volts, double amps) {
  Part part;
  part.kind = kind;
  part.pins = {"a", "b"};
  part.nets = {1, 0};
  part.settings["voltage"] = {volts, {}};
  part.settings["current"] = {amps, {}};
  return part;
}

Works with_amps(double amps) {
  Works works;
  works.amps = amps;
  return works;
}

void check(const Shown& shown, Looks looks, double least_sure = 0.95) {
  CHECK(shown.looks == looks);
  CHECK(shown.looks_sure >= least_sure);
  CHECK(shown.looks_sure <= 1.0);
}

}  // namespace

TEST_CASE("a lamp's light is held against what is meant", "[diagnose][looks]") {
  const Part led = part_of(KindId::led, 2.0, 20e-3);
  const auto light = [&led](double is, double meant) {
    return looks_of(led, with_amps(is), with_amps(meant));
  };
  check(light(0.0, 10e-3), Looks::dark, 1.0);
  check(light(1e-6, 10e-3), Looks::dark);
  check(light(10e-3, 10e-3), Looks::as_meant);
  check(light(2e-3, 10e-3), Looks::dim);
  check(light(40e-3, 10e-3), Looks::too_bright);
  check(light(0.0, 0.0), Looks::dark, 1.0);
  check(light(5e-3, 0.0), Looks::too_bright);
  // At the border itself nobody is sure, and copies that differ much make it wider.
  CHECK(light(5e-3, 10e-3).looks_sure < 0.6);
  Works apart = with_amps(4e-3);
  const double sure = looks_of(led, apart, with_amps(10e-3)).looks_sure;
  apart.scatter = 0.5;
  CHECK(looks_of(led, apart, with_amps(10e-3)).looks_sure < sure);
}

TEST_CASE("of a filament's dull glow one eye says dark, another dim",
          "[diagnose][looks]") {
  const Part lamp = part_of(KindId::lamp, 12.0, 50e-3);
  // A filament's resistance rises with its voltage, so that its power goes with about
  // the 1.55th power of it (common practice, no source).
  const auto at = [&lamp](double share, Looks told) {
    Works works;
    works.amps = 50e-3 * std::pow(share, 0.55);
    works.watts = 12.0 * share * works.amps;
    Works meant = with_amps(50e-3);
    meant.watts = 0.6;
    Question question;
    question.asks = Asks::looks;
    Shown said;
    said.looks = told;
    const Fit fit = fit_of(looks_of(lamp, works, meant), taken_of(question, said, 0.0));
    return std::exp(fit.log_likelihood);
  };
  CHECK(at(0.3, Looks::dark) > 0.05);
  CHECK(at(0.3, Looks::dim) > 0.05);
  CHECK(at(0.3, Looks::too_bright) < 0.5 * at(0.3, Looks::dark));
  CHECK(at(0.55, Looks::dark) < 0.02);
  CHECK(at(0.55, Looks::dim) > at(0.55, Looks::dark));
  CHECK(at(0.1, Looks::dark) > 0.9);
  CHECK(at(1.0, Looks::as_meant) > 0.9);
}

TEST_CASE("motors run, relays click, buzzers sound", "[diagnose][looks]") {
  for (const auto& [kind, looks] : {std::pair(KindId::motor, Looks::runs),
                                    std::pair(KindId::relay_coil, Looks::clicks),
                                    std::pair(KindId::buzzer, Looks::sounds)}) {
    const Part part = part_of(kind, 12.0, 40e-3);
    check(looks_of(part, with_amps(40e-3), {}), looks);
    check(looks_of(part, with_amps(-40e-3), {}), looks);
    check(looks_of(part, with_amps(2e-3), {}), Looks::still);
    check(looks_of(part, {}, {}), Looks::still, 1.0);
  }
}

TEST_CASE("what takes up much gets hot", "[diagnose][looks]") {
  Part resistor = part_of(KindId::resistor, 0.0, 0.0);
  Works works;
  works.watts = 3.0;
  check(looks_of(resistor, works, {}), Looks::hot);
  works.watts = 0.05;
  check(looks_of(resistor, works, {}), Looks::as_meant);
  Part can = part_of(KindId::capacitor, 0.0, 0.0);
  can.settings["polarised"] = {true, {}};
  works = {};
  works.volts = -12.0;
  check(looks_of(can, works, {}), Looks::hot, 1.0);
  works.volts = 12.0;
  check(looks_of(can, works, {}), Looks::as_meant, 1.0);
}
