#include "core/base/complaints.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cassert>
#include <map>
#include <tuple>
#include <utility>
#include <variant>

namespace benchproof {
namespace {

std::size_t code_points(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(),
      [](char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U; }));
}

}  // namespace

std::string quoted(std::string_view text) {
  constexpr std::size_t kLongest = 64;
  std::size_t end = std::min(text.size(), kLongest);
  while (end > 0 && end < text.size() &&
         (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U)
    --end;
  return fmt::format("'{}{}'", text.substr(0, end), end < text.size() ? "..." : "");
}

std::string names_hint(std::string_view near,
                       const std::vector<std::string>& candidates,
                       std::string_view what, std::size_t most) {
  std::string hint;
  if (!near.empty()) hint = fmt::format("did you mean {}?", quoted(near));
  const bool is_long = candidates.size() > most;
  if (candidates.empty() || (is_long && !hint.empty())) return hint;
  const auto end = candidates.begin() +
                   static_cast<std::ptrdiff_t>(std::min(most, candidates.size()));
  hint += fmt::format("{}{}: {}", hint.empty() ? "" : " ", what,
                      fmt::join(candidates.begin(), end, ", "));
  if (is_long) hint += fmt::format(" and {} more", candidates.size() - most);
  return hint;
}

std::string suggestion(int& looks_left, std::string_view name,
                       const std::vector<std::string>& candidates,
                       std::string_view what, std::size_t most) {
  std::string near;
  if (looks_left > 0) {
    --looks_left;
    near = nearest(name, candidates);
  }
  return names_hint(near, candidates, what, most);
}

std::string text_problem(std::string_view text, std::size_t most,
                         std::string_view target) {
  if (printable(text) != text)
    return fmt::format("{} holds a control or invisible character", target);
  if (const std::size_t size = code_points(text); size > most)
    return fmt::format("{} has {} characters; {} are allowed", target, size, most);
  return {};
}

const DiagnosticId& id_of(QuantityError::Kind kind) {
  switch (kind) {
    case QuantityError::Kind::malformed:
      return kValueMalformed;
    case QuantityError::Kind::decimal_comma:
      return kValueComma;
    case QuantityError::Kind::no_unit:
      return kUnitMissing;
    case QuantityError::Kind::unknown_unit:
      return kUnitUnknown;
    case QuantityError::Kind::wrong_unit:
      return kUnitWrong;
    case QuantityError::Kind::out_of_range:
      return kValueRange;
  }
  assert(false && "every kind of mistake has an id");
  return kValueMalformed;
}

Span span_within(const TomlNode& node, std::size_t offset, std::size_t size) {
  const Span& span = node.span;
  const int quote = span.in_change ? 0 : 1;  // What is asked for stands bare.
  const bool is_verbatim = span.begin.line > 0 && span.begin.line == span.end.line &&
                           span.end.column - span.begin.column ==
                               static_cast<int>(node.text.size()) + 2 * quote;
  if (!is_verbatim || offset >= node.text.size()) return span;
  const std::size_t end = offset + std::min(size, node.text.size() - offset);
  return {{span.begin.line, span.begin.column + quote + static_cast<int>(offset)},
          {span.end.line, span.begin.column + quote + static_cast<int>(end)},
          span.in_change,
          span.file};
}

std::string how_to_write(Unit unit) {
  const auto result = parse_quantity("1", unit);
  const auto* error = std::get_if<QuantityError>(&result);
  return error != nullptr ? error->hint + ", in quotes" : std::string();
}

std::string range_hint(double least, bool least_allowed, double most, Unit unit) {
  return fmt::format("it must be {} {} and at most {}",
                     least_allowed ? "at least" : "above", format_quantity(least, unit),
                     format_quantity(most, unit));
}

std::vector<Diagnostic> one_of_each_cause(std::vector<Diagnostic> diagnostics) {
  constexpr std::size_t kMostHints = 4;
  using Cause = std::tuple<std::string, bool, std::string>;
  struct Place {
    std::size_t index = 0;             ///< In the result.
    std::vector<std::string> hints{};  ///< Told there so far.
  };
  std::map<Cause, Place> known;
  std::vector<Diagnostic> result;
  for (Diagnostic& diagnostic : diagnostics) {
    const Cause cause{diagnostic.id, diagnostic.span.in_change,
                      diagnostic.cause.empty() ? diagnostic.message : diagnostic.cause};
    const auto found = known.find(cause);
    if (diagnostic.span.begin.line < 1 || found == known.end()) {
      known[cause] = {result.size(), {diagnostic.hint}};
      result.push_back(std::move(diagnostic));
      continue;
    }
    Diagnostic& first = result[found->second.index];
    first.also.push_back(diagnostic.span);
    std::vector<std::string>& hints = found->second.hints;
    const bool is_new =
        std::find(hints.begin(), hints.end(), diagnostic.hint) == hints.end();
    if (diagnostic.hint.empty() || !is_new || hints.size() >= kMostHints) continue;
    first.hint += fmt::format("{}{}", first.hint.empty() ? "" : "; ", diagnostic.hint);
    hints.push_back(diagnostic.hint);
  }
  return result;
}

std::vector<Diagnostic> first_complaints(std::vector<Diagnostic> diagnostics,
                                         std::size_t most) {
  sort_by_position(diagnostics);
  diagnostics = one_of_each_cause(std::move(diagnostics));
  if (diagnostics.size() <= most) return diagnostics;
  const std::size_t left = diagnostics.size() - most;
  diagnostics.resize(most);
  diagnostics.push_back(
      {std::string(kMore.name), {}, fmt::format("and {} more complaints", left), ""});
  return diagnostics;
}

}  // namespace benchproof
