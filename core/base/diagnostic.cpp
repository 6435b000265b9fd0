#include "core/base/diagnostic.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <tuple>

#include "core/base/pieces.h"

namespace benchproof {
namespace {

/// Bytes of a line shown, the dots for what is cut off included: with the line number
/// at most 80 columns. A cut leaves this many in front of the marked column.
constexpr std::size_t kBytesShown = 70;
constexpr std::size_t kBytesBefore = 28;
constexpr std::string_view kDots = "...";

/// Longer names are nobody's slip of the finger, and their distance costs time.
constexpr std::size_t kLongestName = 64;

/// One code point of a text: its value and how many bytes it takes.
struct CodePoint {
  std::uint32_t value = 0;
  std::size_t size = 1;
  bool is_valid = false;
};

bool is_continuation(char byte) {
  return (static_cast<unsigned char>(byte) & 0xC0U) == 0x80U;
}

/// Decodes the UTF-8 sequence at the front of a text that is not empty. Overlong forms,
/// surrogates and values past U+10FFFF are invalid and take one byte.
CodePoint decode_front(std::string_view text) {
  const auto lead = static_cast<unsigned char>(text.front());
  if (lead < 0x80U) return {lead, 1, true};
  std::size_t size = 0;
  std::uint32_t value = 0;
  std::uint32_t smallest = 0;
  if ((lead & 0xE0U) == 0xC0U) {
    size = 2, value = lead & 0x1FU, smallest = 0x80;
  } else if ((lead & 0xF0U) == 0xE0U) {
    size = 3, value = lead & 0x0FU, smallest = 0x800;
  } else if ((lead & 0xF8U) == 0xF0U) {
    size = 4, value = lead & 0x07U, smallest = 0x10000;
  } else {
    return {};
  }
  if (text.size() < size) return {};
  for (std::size_t i = 1; i < size; ++i) {
    if (!is_continuation(text[i])) return {};
    value = (value << 6U) | (static_cast<unsigned char>(text[i]) & 0x3FU);
  }
  const bool is_surrogate = value >= 0xD800 && value <= 0xDFFF;
  if (value < smallest || is_surrogate || value > 0x10FFFF) return {};
  return {value, size, true};
}

/// Whether a code point could move the cursor, hide text or turn its direction:
/// controls, what Unicode calls Default_Ignorable_Code_Point (version 15, from memory),
/// separators of lines, annotations, and what is no character.
bool is_unprintable(std::uint32_t value) {
  struct Range {
    std::uint32_t first;
    std::uint32_t last;
  };
  constexpr std::array kRanges{
      Range{0x00, 0x1F},       Range{0x7F, 0x9F},       Range{0x00AD, 0x00AD},
      Range{0x034F, 0x034F},   Range{0x061C, 0x061C},   Range{0x115F, 0x1160},
      Range{0x17B4, 0x17B5},   Range{0x180B, 0x180F},   Range{0x200B, 0x200F},
      Range{0x2028, 0x202E},   Range{0x2060, 0x206F},   Range{0x3164, 0x3164},
      Range{0xFDD0, 0xFDEF},   Range{0xFE00, 0xFE0F},   Range{0xFEFF, 0xFEFF},
      Range{0xFFA0, 0xFFA0},   Range{0xFFF0, 0xFFFB},   Range{0x1BCA0, 0x1BCA3},
      Range{0x1D173, 0x1D17A}, Range{0xE0000, 0xE0FFF},
  };
  constexpr std::uint32_t kNoCharacter = 0xFFFE;  // And the next, in every plane.
  return (value & kNoCharacter) == kNoCharacter ||
         std::any_of(kRanges.begin(), kRanges.end(), [value](const Range& range) {
           return value >= range.first && value <= range.last;
         });
}

/// The line numbered from 1, without its end and without a byte order mark; nothing
/// when the text has fewer lines.
std::optional<std::string_view> line_of(std::string_view source, int line) {
  constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
  if (line < 1) return std::nullopt;
  if (source.starts_with(kByteOrderMark)) source.remove_prefix(kByteOrderMark.size());
  std::size_t begin = 0;
  for (int i = 1; i < line; ++i) {
    const std::size_t feed = source.find('\n', begin);
    if (feed == std::string_view::npos) return std::nullopt;
    begin = feed + 1;
  }
  std::string_view rest = source.substr(begin);
  rest = rest.substr(0, rest.find('\n'));
  if (!rest.empty() && rest.back() == '\r') rest.remove_suffix(1);
  return rest;
}

/// Moves a cut in front of the sequence it would split.
std::size_t to_boundary(std::string_view text, std::size_t at) {
  for (int i = 0; i < 3 && at > 0 && at < text.size() && is_continuation(text[at]); ++i)
    --at;
  return at;
}

/// How many columns a printable text takes, one for each code point.
std::size_t columns(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char byte) { return !is_continuation(byte); }));
}

/// The part of a line that an excerpt shows: bytes `from` up to `to`.
struct Window {
  std::size_t from = 0;
  std::size_t to = 0;
};

/// All of a line that fits, else what stands around byte `begin`.
Window window_around(std::string_view line, std::size_t begin) {
  if (line.size() <= kBytesShown) return {0, line.size()};
  constexpr std::size_t kCutOnce = kBytesShown - kDots.size();
  // A cut may move up to three bytes forward, which is room that it must leave.
  constexpr std::size_t kCutTwice = kCutOnce - 3;
  if (begin <= kCutOnce / 2) return {0, to_boundary(line, kCutOnce)};
  const std::size_t wanted = begin - kBytesBefore;
  if (wanted + kCutTwice >= line.size())
    return {to_boundary(line, line.size() - kCutTwice), line.size()};
  const std::size_t from = to_boundary(line, wanted);
  return {from, to_boundary(line, wanted + kCutTwice - kDots.size())};
}

/// The excerpt of a line and the marks under it.
std::string excerpt(std::string_view line, const Span& span) {
  const std::size_t begin =
      span.begin.column < 1
          ? 0
          : std::min(line.size(), static_cast<std::size_t>(span.begin.column) - 1);
  const auto [from, to] = window_around(line, begin);
  const std::string_view front = from > 0 ? kDots : "";
  const std::string number = fmt::format("{:>5}", span.begin.line);
  std::string shown = fmt::format("{} | {}{}{}\n", number, front,
                                  printable(line.substr(from, to - from)),
                                  to < line.size() ? kDots : "");
  if (span.begin.column < 1) return shown;

  const bool ends_here = span.end.line == span.begin.line;
  std::size_t end = ends_here
                        ? static_cast<std::size_t>(std::max(span.end.column, 1)) - 1
                        : (span.end.line > span.begin.line ? line.size() : begin);
  end = std::clamp(end, begin, to);
  const std::size_t indent =
      front.size() + columns(printable(line.substr(from, begin - from)));
  const std::size_t marked = columns(printable(line.substr(begin, end - begin)));
  return fmt::format("{}{} | {}^{}\n", shown, std::string(number.size(), ' '),
                     std::string(indent, ' '),
                     std::string(marked > 1 ? marked - 1 : 0, '~'));
}

/// "in 3 places: lines 7, 9, 12".
std::string places_text(const Diagnostic& diagnostic) {
  std::string lines = fmt::format("{}", diagnostic.span.begin.line);
  int last = diagnostic.span.begin.line;
  for (const Span& span : diagnostic.also) {
    if (span.begin.line != last) lines += fmt::format(", {}", span.begin.line);
    last = span.begin.line;
  }
  const bool is_one = last == diagnostic.span.begin.line;
  return fmt::format("in {} places: line{} {}", diagnostic.also.size() + 1,
                     is_one ? "" : "s", lines);
}

/// Letters to insert, drop, change or swap with their neighbour to get from one name to
/// the other; anything above `most` stands for more than that. Only the band of the
/// table in which `most` edits can lead is filled in.
std::size_t edit_distance(std::string_view from, std::string_view to,
                          std::size_t most) {
  const std::size_t beyond = most + 1;
  const std::size_t width = to.size() + 1;
  std::vector<std::size_t> before_last(width, beyond);
  std::vector<std::size_t> last(width, beyond);
  for (std::size_t j = 0; j < std::min(width, beyond); ++j) last[j] = j;
  for (std::size_t i = 1; i <= from.size(); ++i) {
    std::vector<std::size_t> row(width, beyond);
    if (i <= most) row[0] = i;
    const std::size_t begin = i > most ? i - most : 1;
    const std::size_t end = std::min(width, i + most + 1);
    for (std::size_t j = begin; j < end; ++j) {
      const std::size_t changed = last[j - 1] + (from[i - 1] == to[j - 1] ? 0 : 1);
      row[j] = std::min({changed, last[j] + 1, row[j - 1] + 1});
      const bool is_swap =
          i > 1 && j > 1 && from[i - 1] == to[j - 2] && from[i - 2] == to[j - 1];
      if (is_swap) row[j] = std::min(row[j], before_last[j - 2] + 1);
    }
    before_last = std::move(last);
    last = std::move(row);
  }
  return last.back();
}

}  // namespace

void sort_by_position(std::vector<Diagnostic>& diagnostics) {
  const auto key = [](const Diagnostic& d) {
    // What stands in a block of the description stands in the description.
    const int file = std::max(d.span.file, 0);
    return std::make_tuple(d.span.in_change, file, d.span.begin, std::cref(d.id),
                           d.span.end, std::cref(d.message), std::cref(d.hint));
  };
  std::sort(
      diagnostics.begin(), diagnostics.end(),
      [&key](const Diagnostic& a, const Diagnostic& b) { return key(a) < key(b); });
  const auto repeats = std::unique(
      diagnostics.begin(), diagnostics.end(),
      [&key](const Diagnostic& a, const Diagnostic& b) { return key(a) == key(b); });
  diagnostics.erase(repeats, diagnostics.end());
}

std::string printable(std::string_view text) {
  std::string result;
  result.reserve(text.size());
  while (!text.empty()) {
    const CodePoint point = decode_front(text);
    if (point.is_valid && point.value == '\t') {
      result += ' ';
    } else if (!point.is_valid || is_unprintable(point.value)) {
      result += '?';
    } else {
      result += text.substr(0, point.size);
    }
    text.remove_prefix(point.size);
  }
  return result;
}

std::string place_text(const Diagnostic& diagnostic, std::string_view file_name) {
  const Position& at = diagnostic.span.begin;
  std::string place = printable(file_name);
  if (at.line > 0) place += fmt::format(":{}", at.line);
  if (at.line > 0 && at.column > 0) place += fmt::format(":{}", at.column);
  return place;
}

std::string to_text(const Diagnostic& diagnostic, std::string_view file_name,
                    std::string_view source) {
  std::string text =
      fmt::format("{}: error: {} [{}]\n", place_text(diagnostic, file_name),
                  printable(diagnostic.message), diagnostic.id);
  if (const auto line = line_of(source, diagnostic.span.begin.line))
    text += excerpt(*line, diagnostic.span);
  if (!diagnostic.hint.empty())
    text += fmt::format("  hint: {}\n", printable(diagnostic.hint));
  if (!diagnostic.also.empty()) text += fmt::format("  {}\n", places_text(diagnostic));
  return text;
}

std::string nearest(std::string_view name, std::span<const std::string> candidates) {
  if (name.empty() || name.size() > kLongestName) return {};
  const std::string wanted = lower_case(name);
  std::string letters = wanted;
  std::sort(letters.begin(), letters.end());
  const std::string* best = nullptr;
  std::size_t best_distance = kLongestName;
  bool best_is_swap = false;
  for (const std::string& candidate : candidates) {
    const std::size_t longer = std::max(candidate.size(), name.size());
    const std::size_t shorter = std::min(candidate.size(), name.size());
    if (longer > kLongestName || best_distance == 0) continue;
    const std::size_t allowed =
        std::min({std::max<std::size_t>(1, longer / 3), longer - 1, best_distance});
    if (longer - shorter > allowed) continue;
    std::string other = lower_case(candidate);
    const std::size_t distance = edit_distance(wanted, other, allowed);
    if (distance > allowed) continue;
    // Of two as near the one of the same letters: fingers change places.
    std::sort(other.begin(), other.end());
    const bool is_swap = other == letters;
    if (distance == best_distance && (best_is_swap || !is_swap)) continue;
    best = &candidate;
    best_distance = distance;
    best_is_swap = is_swap;
  }
  return best != nullptr ? *best : std::string();
}

}  // namespace benchproof
