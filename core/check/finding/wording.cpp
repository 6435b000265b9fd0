#include "core/check/finding/wording.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace benchproof {
namespace {

constexpr std::string_view kPractice = "common practice, no source";

/// Cuts ".00" and ".50" down to what says something.
std::string without_zeros(const std::string& text) {
  const std::size_t end = std::min(text.find(' '), text.size());
  const std::size_t dot = text.find('.');
  if (dot == std::string::npos || dot > end ||
      text.find('e') < end)  // An exponent's zeros are none of these.
    return text;
  std::size_t last = end;
  while (last > dot + 1 && text[last - 1] == '0') --last;
  if (last == dot + 1) last = dot;
  return text.substr(0, last) + text.substr(end);
}

}  // namespace

Finding about(const Part& part, Severity severity, CheckId check) {
  Finding finding;
  finding.severity = severity;
  finding.check = check;
  finding.part = part.name;
  finding.span = part.span;
  return finding;
}

bool exceeds(double value, double limit) { return value > limit * (1 + kLimitShare); }

std::string source_of(const Figure& figure) {
  std::string source = figure.source.empty() ? std::string(kPractice) : figure.source;
  if (!figure.condition.empty()) source += " (" + figure.condition + ")";
  return source;
}

Figure practice(double value, Unit unit, std::string_view what) {
  return {value, unit, Mark::practice, std::string(kPractice), std::string(what)};
}

void set_limit(Finding& finding, std::string_view quantity, double value,
               const Figure& limit) {
  finding.quantity = quantity;
  finding.unit = limit.unit;
  finding.value = value;
  finding.limit = limit.value;
  finding.source = source_of(limit);
  finding.mark = limit.mark;
}

std::pair<std::string, std::string> two_texts(double value, double limit, Unit unit) {
  constexpr int kMostDigits = 9;
  std::pair<std::string, std::string> texts;
  for (int digits = 3; digits <= kMostDigits; ++digits) {
    texts = {found_text(value, unit, digits), short_text(limit, unit, digits)};
    if (texts.first != texts.second) break;
  }
  return texts;
}

std::string past_text(double value, const Figure& limit, std::string_view rating,
                      std::string_view part) {
  const auto [is, may] = two_texts(value, limit.value, limit.unit);
  if (limit.unit == Unit::celsius && value > kBurnsCelsius)
    return fmt::format("'{}' would burn, far above the {} {}", part, may, rating);
  return fmt::format("{} exceeds the {} {} of '{}'", is, may, rating, part);
}

bool is_next_to_nothing(double value, Unit unit) {
  const double size = std::abs(value);
  if (size == 0.0) return false;
  return (unit == Unit::volt && size < 1e-6) || (unit == Unit::ampere && size < 1e-9) ||
         (unit == Unit::watt && size < 1e-9);
}

std::string found_text(double value, Unit unit, int digits) {
  if (is_next_to_nothing(value, unit)) return "next to nothing";
  if (unit == Unit::celsius && value > kBurnsCelsius)
    return short_text(kBurnsCelsius, unit) + " and more";
  return short_text(value, unit, digits);
}

std::string short_text(double value, Unit unit, int digits) {
  return without_zeros(format_quantity(value, unit, digits));
}

void append(std::vector<Finding>& findings, std::optional<Finding> finding) {
  if (finding) findings.push_back(std::move(*finding));
}

}  // namespace benchproof
