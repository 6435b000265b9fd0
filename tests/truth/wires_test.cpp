// Copper wires: ASTM B258 diameters and IACS resistivity against a published table.

#include <catch2/catch.hpp>
#include <cmath>
#include <string>
#include <variant>

#include "core/base/quantity.h"
#include "core/circuit/read/reader.h"
#include "core/network/lower.h"
#include "core/nodal/nodal_solver.h"

namespace benchproof {
namespace {

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

struct Row {
  int gauge;
  double inches;       ///< As printed: Kuphaldt, Lessons In Electric Circuits vol. V.
  double last_digit;   ///< Of the printed diameter.
  double ohms_per_km;  ///< As printed: https://wp.1728.org/?p=4314, 20 C.
};

constexpr Row kRows[] = {
    {16, 0.05082, 1e-5, 13.17},  {18, 0.0403, 1e-4, 20.94},
    {20, 0.03196, 1e-5, 33.29},  {21, 0.02846, 1e-5, 41.98},
    {22, 0.02535, 1e-5, 52.94},  {23, 0.02257, 1e-5, 66.78},
    {24, 0.0201, 1e-4, 84.2},    {25, 0.0179, 1e-4, 106.17},
    {26, 0.01594, 1e-5, 133.86}, {27, 0.0142, 1e-4, 168.82},
    {28, 0.01264, 1e-5, 212.87}, {29, 0.01126, 1e-5, 268.4},
    {30, 0.01003, 1e-5, 338.5},  {31, 0.008928, 1e-6, 426.73},
    {32, 0.00795, 1e-5, 538.25},
};

/// A kilometre of wire with 1 A through it: its ohms are its volts.
double ohms_per_km(int gauge, const char* ambient) {
  const std::string text =
      std::string("ambient = \"") + ambient +
      "\"\n[parts]\ni = { kind = \"current-source\", current = \"1 A\" }\n"
      "w = { kind = \"wire\", length = \"1000 m\", gauge = \"AWG " +
      std::to_string(gauge) +
      "\" }\n[nets]\nhot = [\"i.plus\", \"w.a\"]\nground = [\"i.minus\", \"w.b\"]\n";
  const Catalogue catalogue = built_in_catalogue();
  const ReadResult read = read_circuit(text, "wire.toml", catalogue);
  REQUIRE(read.circuit.has_value());
  const Network network = lower(*read.circuit, read.circuit->states[0]);
  const Solution solution = solve_nodal(network);
  REQUIRE(solution.status == SolveStatus::solved);
  return std::abs(solution.volts[1]);
}

}  // namespace

TEST_CASE("a gauge has the diameter that is printed", "[truth][wire]") {
  constexpr double kPi = 3.14159265358979323846;
  constexpr double kInch = 25.4e-3;
  for (const Row& row : kRows) {
    CAPTURE(row.gauge);
    const auto read =
        parse_quantity("AWG " + std::to_string(row.gauge), Unit::square_metre);
    REQUIRE(std::holds_alternative<double>(read));
    const double inches = std::sqrt(std::get<double>(read) * 4.0 / kPi) / kInch;
    // Half a unit of the last printed digit, and what its own rounding adds to it.
    CHECK_THAT(inches, WithinAbs(row.inches, 0.5001 * row.last_digit));
  }
}

TEST_CASE("a kilometre of wire has the resistance that is printed", "[truth][wire]") {
  for (const Row& row : kRows) {
    CAPTURE(row.gauge);
    // The table was made with diameters of four digits (up to 5e-4 of 1.003 each, twice
    // in the area): its worst row is 6e-4 from the rule.
    CHECK_THAT(ohms_per_km(row.gauge, "20 C"), WithinRel(row.ohms_per_km, 1e-3));
  }
}

// IEC 60028: 0.393 % for each degree from 20 C.
TEST_CASE("copper gains resistance with its temperature", "[truth][wire]") {
  const double cold = ohms_per_km(24, "20 C");
  CHECK_THAT(ohms_per_km(24, "70 C") / cold, WithinRel(1.0 + 50 * 0.00393, 1e-9));
}

}  // namespace benchproof
