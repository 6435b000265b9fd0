#include "cli/commands/files/write_value.h"

#include <sys/stat.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "cli/commands/files/input.h"
#include "cli/commands/files/write_file.h"
#include "core/base/marking.h"
#include "core/check/rest/limits.h"

namespace benchproof {
namespace {

constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";

/// The byte of a place in a text; nothing if there is no such place.
std::optional<std::size_t> byte_of(std::string_view text, const Position& place) {
  std::size_t at = text.starts_with(kByteOrderMark) ? kByteOrderMark.size() : 0;
  for (int line = 1; line < place.line; ++line) {
    at = text.find('\n', at);
    if (at == std::string_view::npos) return std::nullopt;
    ++at;
  }
  at += static_cast<std::size_t>(std::max(place.column, 1) - 1);
  if (place.line < 1 || at > text.size()) return std::nullopt;
  return at;
}

bool reads_back(std::string_view text, Unit unit, double value) {
  constexpr double kClose = 1e-9;
  const auto parsed = parse_quantity(text, unit);
  const double* read = std::get_if<double>(&parsed);
  return read != nullptr && std::abs(*read - value) <= kClose * std::abs(value);
}

/// A value in the manner of another: "330R" makes "4k7", "330 ohm" makes "4.7 kohm".
std::string in_manner_of(std::string_view written, double value, Unit unit) {
  const bool has_code = unit == Unit::ohm || unit == Unit::farad || unit == Unit::henry;
  const std::string sign = unit == Unit::ohm ? "ohm" : std::string(symbol(unit));
  const bool names_unit = written.find(sign) != std::string_view::npos ||
                          (unit == Unit::ohm && (written.ends_with("\xCE\xA9") ||
                                                 written.ends_with("\xE2\x84\xA6")));
  if (has_code && !names_unit) {
    std::string code = letter_code(value, unit);
    if (reads_back(code, unit, value)) return code;
  }
  const bool has_blank = written.find(' ') != std::string_view::npos;
  std::string text;
  for (int digits = 3; digits <= 17; ++digits) {
    text = short_text(value, unit, digits);
    if (!has_blank) std::erase(text, ' ');
    if (reads_back(text, unit, value)) break;
  }
  return text;
}

}  // namespace

std::string replaced(std::string_view text, std::vector<Replacement>& replacements) {
  std::string result(text);
  std::vector<Replacement*> order;
  order.reserve(replacements.size());
  for (Replacement& r : replacements) order.push_back(&r);
  // From the end, so that no place moves before its turn.
  std::sort(order.begin(), order.end(), [](const Replacement* a, const Replacement* b) {
    return a->span.begin > b->span.begin;
  });
  for (Replacement* r : order) {
    const auto begin = byte_of(text, r->span.begin);
    const auto end = byte_of(text, r->span.end);
    if (!begin || !end || *end <= *begin) return {};
    r->from = text.substr(*begin, *end - *begin);
    const char quote = r->from.front();
    if (r->unit == Unit::none) {
      r->to = shortest(r->value);
    } else {
      const bool is_quoted = r->from.size() >= 2 && (quote == '"' || quote == '\'') &&
                             r->from.back() == quote;
      if (!is_quoted) return {};
      const std::string inner = r->from.substr(1, r->from.size() - 2);
      r->to = quote + in_manner_of(inner, r->value, r->unit) + quote;
    }
    result.replace(*begin, *end - *begin, r->to);
  }
  return result;
}

std::string rewrite_file(const std::string& path, std::string_view before,
                         std::string_view after) {
  struct stat status = {};
  if (::stat(path.c_str(), &status) != 0)
    return with_system_error("it is not there any more");
  if (!S_ISREG(status.st_mode)) return "it is not a regular file";
  const Input now = read_input(path, before.size() + 1);
  if (!now.failure.empty() || now.bytes != before)
    return "it was changed by someone else meanwhile";
  return write_file(path, after);
}

}  // namespace benchproof
