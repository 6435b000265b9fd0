#include "core/circuit/readings/detail/reading_values.h"

#include <fmt/format.h>

#include <cmath>

#include "core/base/pieces.h"
#include "core/circuit/entries/usual_names.h"

// What may be read, and how it is written.

namespace benchproof {
namespace {

/// What a meter of this trade may show. In the unit of the quantity.
constexpr double kMostVolts = 1000.0;
constexpr double kMostAmps = 100.0;
constexpr double kMostOhms = 1e9;
constexpr double kMostDiodeVolts = 10.0;

/// The most that a meter may show, and whether it may be below 0.
struct ShownRange {
  double most;
  bool is_signed;
};
ShownRange range_of(Asks asks) {
  switch (asks) {
    case Asks::voltage:
      return {kMostVolts, true};
    case Asks::current:
      return {kMostAmps, true};
    case Asks::resistance:
      return {kMostOhms, false};
    case Asks::diode:
      return {kMostDiodeVolts, false};
    case Asks::looks:
      break;
  }
  return {0.0, false};
}

}  // namespace

bool can_be_open(Asks asks) { return asks == Asks::resistance || asks == Asks::diode; }

std::string range_problem(Asks asks, double value) {
  const ShownRange range = range_of(asks);
  const Unit unit = style_of(asks).unit;
  const double least = range.is_signed ? -range.most : 0.0;
  if (value >= least && value <= range.most) return {};
  return fmt::format("it must be from {} to {}", format_quantity(least, unit),
                     format_quantity(range.most, unit));
}

const AsksStyle& style_of(Asks asks) {
  for (const AsksStyle& style : kAsksStyles)
    if (style.asks == asks) return style;
  return kAsksStyles.front();
}

std::string_view word_of(Looks looks) {
  switch (looks) {
    case Looks::dark:
      return "dark";
    case Looks::dim:
      return "dim";
    case Looks::as_meant:
      return "as meant";
    case Looks::too_bright:
      return "too bright";
    case Looks::flickers:
      return "flickers";
    case Looks::hot:
      return "hot";
    case Looks::still:
      return "still";
    case Looks::runs:
      return "runs";
    case Looks::clicks:
      return "clicks";
    case Looks::sounds:
      return "sounds";
  }
  return "as meant";
}

std::vector<Looks> looks_of(KindId kind) {
  switch (kind) {
    case KindId::led:
    case KindId::lamp:
      return {Looks::dark,       Looks::dim,      Looks::as_meant,
              Looks::too_bright, Looks::flickers, Looks::hot};
    case KindId::motor:
      return {Looks::still, Looks::runs, Looks::as_meant, Looks::hot};
    case KindId::relay_coil:
      return {Looks::still, Looks::clicks, Looks::as_meant, Looks::hot};
    case KindId::buzzer:
      return {Looks::still, Looks::sounds, Looks::as_meant, Looks::hot};
    default:
      return {Looks::as_meant, Looks::hot};
  }
}

double last_digit_of(std::string_view text, Unit unit) {
  std::string one(text);
  std::size_t last = std::string::npos;
  for (std::size_t k = 0; k < one.size(); ++k) {
    const char c = one[k];
    if (c == 'e' || c == 'E') {
      // An exponent ends the digits that count.
      if (k + 1 < one.size() && last != std::string::npos &&
          std::string_view("+-0123456789").find(one[k + 1]) != std::string_view::npos)
        break;
    }
    if (c < '0' || c > '9') continue;
    one[k] = '0';
    last = k;
  }
  if (last == std::string::npos) return 0.0;
  one[last] = '1';
  const auto value = parse_quantity(one, unit);
  const double* digit = std::get_if<double>(&value);
  return digit != nullptr ? std::abs(*digit) : 0.0;
}

std::string put_value(TakenReading& reading, std::string_view text) {
  const AsksStyle& style = style_of(reading.question.asks);
  const std::string small = lower_case(text);
  if (can_be_open(reading.question.asks) && (small == "open" || small == "ol")) {
    reading.is_open = true;
    reading.value = reading.last_digit = 0.0;
    return {};
  }
  const auto value = parse_quantity(text, style.unit);
  if (const auto* error = std::get_if<QuantityError>(&value))
    return error->message + (error->hint.empty() ? "" : "; " + error->hint);
  const double number = std::get<double>(value);
  if (std::string problem = range_problem(reading.question.asks, number);
      !problem.empty())
    return fmt::format("{} cannot be: {}", format_quantity(number, style.unit),
                       problem);
  reading.is_open = false;
  reading.value = number;
  reading.last_digit = last_digit_of(text, style.unit);
  return {};
}

}  // namespace benchproof
