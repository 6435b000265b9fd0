// The quantity reader: any text as each unit, and what it prints read back.

#include "core/base/quantity.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <variant>

#include "core/base/marking.h"
#include "core/check/rest/limits.h"
#include "tests/fuzz/target.h"

namespace benchproof::fuzz {
namespace {

constexpr Unit kUnits[] = {Unit::volt,         Unit::ampere,      Unit::watt,
                           Unit::ohm,          Unit::farad,       Unit::henry,
                           Unit::second,       Unit::hertz,       Unit::celsius,
                           Unit::fraction,     Unit::ampere_hour, Unit::kelvin_per_watt,
                           Unit::square_metre, Unit::metre,       Unit::none};

/// Beyond these powers of ten rounding to few digits may overflow or lose digits.
bool is_ordinary(double value) {
  return value == 0.0 || (std::abs(value) > 1e-290 && std::abs(value) < 1e290);
}

/// Half a unit of the last of so many digits, and a little for the way through binary.
bool is_near(double a, double b, int digits) {
  const double share = 0.5 * std::pow(10.0, 1 - digits) + 4e-16;
  return std::abs(a - b) <= share * std::max(std::abs(a), std::abs(b));
}

void check_value(double value, Unit unit) {
  demand(std::isfinite(value), "a quantity is finite");
  const auto shortest_back = parse_quantity(shortest(value), Unit::none);
  const double* exact = std::get_if<double>(&shortest_back);
  demand(exact != nullptr && *exact == value, "the shortest text reads back exactly");
  if (!is_ordinary(value)) return;
  for (const int digits : {1, 3, 6, 9, 17}) {
    const std::string text = format_quantity(value, unit, digits);
    const auto again = parse_quantity(text, unit);
    const double* back = std::get_if<double>(&again);
    demand(back != nullptr, "a printed quantity reads back");
    demand(is_near(*back, value, digits), "to the digits that were printed");
  }
  const auto short_again = parse_quantity(short_text(value, unit, 6), unit);
  const double* short_back = std::get_if<double>(&short_again);
  demand(short_back != nullptr && is_near(*short_back, value, 6),
         "the short form reads back");
  const bool has_code = unit == Unit::ohm || unit == Unit::farad || unit == Unit::henry;
  if (!has_code || !(value > 0.0)) return;
  const auto code_again = parse_quantity(letter_code(value, unit), unit);
  const double* code_back = std::get_if<double>(&code_again);
  demand(code_back != nullptr && is_near(*code_back, value, 6),
         "the letter code reads back");
}

}  // namespace
}  // namespace benchproof::fuzz

int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  using namespace benchproof;
  const std::string_view text = fuzz::text_of(bytes, size);
  for (const Unit unit : fuzz::kUnits) {
    const auto parsed = parse_quantity(text, unit);
    if (const double* value = std::get_if<double>(&parsed)) {
      fuzz::check_value(*value, unit);
      continue;
    }
    const auto& error = std::get<QuantityError>(parsed);
    fuzz::demand(error.offset <= text.size(), "an error stands within the text");
    fuzz::demand(!error.message.empty(), "an error says what is wrong");
  }
  return 0;
}
