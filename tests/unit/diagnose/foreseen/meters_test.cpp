#include "core/diagnose/foreseen/meters.h"

#include <catch2/catch.hpp>
#include <string>
#include <variant>
#include <vector>

using namespace benchproof;
using Catch::Contains;

namespace {

TomlNode given_as(const std::string& text) {
  const auto tree = parse_toml("meter = " + text + "\n", 16);
  return find_entry(std::get<TomlNode>(tree), "meter")->value;
}

}  // namespace

TEST_CASE("the meters that are built in are without complaint", "[diagnose]") {
  const ReadMeters read = read_meters(meters_texts().front().second);
  for (const Diagnostic& d : read.diagnostics) UNSCOPED_INFO(d.message);
  CHECK(read.diagnostics.empty());
  REQUIRE(read.meters.size() >= 5);
  CHECK(read.meters.front().meter.name == "handheld");
  CHECK(read.meters.front().figures.size() == 10);  // It fills all others.
}

TEST_CASE("figures of meters are those of their sheets", "[diagnose]") {
  std::vector<Diagnostic> complaints;
  const TomlNode cheap = given_as("\"cheap\"");
  // M830 class, as remembered: 1 Mohm; Elenco M-1000D: 2 Mohm is the highest range.
  CHECK(meter_of(&cheap, complaints).input_ohms == 1e6);
  CHECK(meter_of(&cheap, complaints).most_ohms == 2e6);
  // PeakTech 1080 manual, page 31.
  const TomlNode low = given_as("\"low-diode-test\"");
  CHECK(meter_of(&low, complaints).diode_open_volts == 1.5);
  // Yato YT-73081 manual, page 12: 0.8 % and 5 digits; 10 mV on its 20 V range.
  const TomlNode five = given_as("\"five-digits\"");
  CHECK(meter_of(&five, complaints).volts.share == 0.008);
  CHECK(meter_of(&five, complaints).volts.absolute == 0.05);
  CHECK(complaints.empty());
}

TEST_CASE("a meter may be told in figures", "[diagnose]") {
  std::vector<Diagnostic> complaints;
  const TomlNode told =
      given_as(R"({ volts = "20 mV + 0.7%", input = "11 Mohm", ohms = "2%" })");
  const Meter meter = meter_of(&told, complaints);
  CHECK(complaints.empty());
  CHECK(meter.volts.share == 0.007);
  CHECK(meter.volts.absolute == 0.02);
  CHECK(meter.input_ohms == 11e6);
  CHECK(meter.ohms.share == 0.02);
  CHECK(meter.ohms.absolute == 0.0);
  CHECK(meter.diode_amps == built_in_meters().front().meter.diode_amps);
}

TEST_CASE("what is wrong with a meter is told with the nearest right thing",
          "[diagnose]") {
  std::vector<Diagnostic> complaints;
  const TomlNode name = given_as("\"handhelt\"");
  static_cast<void>(meter_of(&name, complaints));
  REQUIRE(complaints.size() == 1);
  CHECK(complaints[0].id == "meter-unknown");
  CHECK_THAT(complaints[0].hint, Contains("did you mean 'handheld'?"));
  complaints.clear();
  const TomlNode table = given_as(
      R"({ vols = "1%", volts = "20 mA", amps = "1% + 2% + 3 mA", input = 10, ohms = "1,5%" })");
  static_cast<void>(meter_of(&table, complaints));
  REQUIRE(complaints.size() == 5);
  CHECK_THAT(complaints[0].hint, Contains("did you mean 'volts'?"));
  CHECK_THAT(complaints[1].hint, Contains("0.5% + 20 mV"));
  for (const Diagnostic& d : complaints) CHECK(d.span.begin.line == 1);
}

TEST_CASE("a file of meters is told all that is wrong with it", "[diagnose]") {
  const ReadMeters read = read_meters(
      "[sources]\nbook = \"A book\"\n[[meter]]\nname = \"a\"\nvolts = \"1% | seen | "
      "book\"\ninput = \"1 Mohm | verified | boke\"\nohm = \"1%\"\n[[meter]]\nabout = "
      "\"x\"\n");
  std::vector<std::string> ids;
  for (const Diagnostic& d : read.diagnostics) ids.push_back(d.id);
  CHECK(ids == std::vector<std::string>{"source-unused", "mark-unknown",
                                        "source-unknown", "key-unknown",
                                        "key-missing"});
}
