#include "cli/render/layout.h"

#include <algorithm>
#include <cstdint>

namespace benchproof {
namespace {

bool is_continuation(char byte) {
  return (static_cast<unsigned char>(byte) & 0xC0U) == 0x80U;
}

/// Length of the code point at the front of a text that is not empty.
std::size_t front_size(std::string_view text) {
  std::size_t size = 1;
  while (size < text.size() && is_continuation(text[size])) ++size;
  return size;
}

std::uint32_t decode(std::string_view point) {
  const auto lead = static_cast<unsigned char>(point.front());
  if (point.size() == 1) return lead;
  std::uint32_t value = lead & (0xFFU >> (point.size() + 1));
  for (const char byte : point.substr(1))
    value = (value << 6U) | (static_cast<unsigned char>(byte) & 0x3FU);
  return value;
}

/// The main ranges of Unicode's East Asian Width (annex 11) and of combining marks;
/// from memory.
std::size_t columns_of_point(std::uint32_t value) {
  const auto within = [value](std::uint32_t first, std::uint32_t last) {
    return value >= first && value <= last;
  };
  if (within(0x0300, 0x036F) || within(0x20D0, 0x20FF) || within(0xFE00, 0xFE0F))
    return 0;
  const bool is_wide =
      within(0x1100, 0x115F) || within(0x2E80, 0xA4CF) || within(0xAC00, 0xD7A3) ||
      within(0xF900, 0xFAFF) || within(0xFE30, 0xFE6F) || within(0xFF00, 0xFF60) ||
      within(0xFFE0, 0xFFE6) || within(0x1F300, 0x1FAFF) || within(0x20000, 0x3FFFD);
  return is_wide ? 2 : 1;
}

/// Bytes at the front of a text that fill at most `width` columns; one code point at
/// least.
std::size_t bytes_within(std::string_view text, std::size_t width) {
  std::size_t bytes = 0;
  std::size_t used = 0;
  while (bytes < text.size()) {
    const std::size_t size = front_size(text.substr(bytes));
    used += columns_of_point(decode(text.substr(bytes, size)));
    if (used > width && bytes > 0) break;
    bytes += size;
  }
  return bytes;
}

std::vector<std::string> words_of(std::string_view text) {
  std::vector<std::string> words;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    if (end > 0) words.emplace_back(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return words;
}

void trim_end(std::string& text) {
  while (text.ends_with(' ')) text.pop_back();
}

}  // namespace

std::size_t columns_of(std::string_view text) {
  std::size_t columns = 0;
  while (!text.empty()) {
    const std::size_t size = front_size(text);
    columns += columns_of_point(decode(text.substr(0, size)));
    text.remove_prefix(size);
  }
  return columns;
}

std::string padded(std::string_view text, std::size_t width) {
  const std::size_t columns = columns_of(text);
  return std::string(text) + std::string(width > columns ? width - columns : 0, ' ');
}

std::string right_aligned(std::string_view text, std::size_t width) {
  const std::size_t columns = columns_of(text);
  return std::string(width > columns ? width - columns : 0, ' ') + std::string(text);
}

std::string joined(const std::vector<std::string>& fields, std::size_t gap,
                   std::size_t first, std::size_t others) {
  std::string text;
  std::string line(first, ' ');
  std::size_t used = first;
  bool is_line_empty = true;
  const auto end_line = [&] {
    trim_end(line);
    text += line + "\n";
    line.assign(others, ' ');
    used = others;
    is_line_empty = true;
  };
  for (const std::string& field : fields) {
    std::string_view rest = field;
    if (rest.empty()) continue;
    std::string bare(rest);
    trim_end(bare);
    const std::size_t needed = (is_line_empty ? 0 : gap) + columns_of(bare);
    if (!is_line_empty && used + needed > kLineWidth) end_line();
    while (used + columns_of(bare) > kLineWidth) {
      const std::size_t bytes = bytes_within(rest, kLineWidth - used);
      line += rest.substr(0, bytes);
      rest.remove_prefix(bytes);
      bare = rest;
      end_line();
    }
    if (!is_line_empty) line.append(gap, ' ');
    used += (is_line_empty ? 0 : gap) + columns_of(rest);
    line += rest;
    is_line_empty = false;
  }
  if (!is_line_empty) end_line();
  return text;
}

std::string wrapped(std::string_view text, std::size_t first, std::size_t others) {
  return joined(words_of(text), 1, first, others);
}

std::string in_columns(const std::vector<std::string>& cells, std::size_t indent) {
  constexpr std::size_t kGap = 3;
  std::size_t widest = 1;
  for (const std::string& cell : cells) widest = std::max(widest, columns_of(cell));
  const std::size_t fit =
      std::max<std::size_t>(1, (kLineWidth - indent + kGap) / (widest + kGap));
  const std::size_t lines = (cells.size() + fit - 1) / fit;
  std::string text;
  for (std::size_t line = 0; line < lines; ++line) {
    std::vector<std::string> fields;
    for (std::size_t k = line; k < cells.size(); k += lines)
      fields.push_back(padded(cells[k], widest));
    text += joined(fields, kGap, indent, indent);
  }
  return text;
}

std::string table(const std::vector<TableRow>& rows, std::string_view align,
                  std::size_t indent) {
  constexpr std::size_t kGap = 2;
  std::vector<std::size_t> widths(align.size(), 0);
  for (const TableRow& row : rows) {
    for (std::size_t k = 0; k < row.cells.size(); ++k) {
      const std::size_t columns = columns_of(row.cells[k]);
      if (k > 0 || columns <= kWidestName) widths[k] = std::max(widths[k], columns);
    }
  }
  std::string text;
  for (const TableRow& row : rows) {
    std::string line(indent, ' ');
    for (std::size_t k = 0; k < row.cells.size(); ++k) {
      if (k > 0) line.append(kGap, ' ');
      std::string_view cell = row.cells[k];
      if (k == 0 && columns_of(cell) > widths[0]) {
        text += wrapped(cell, indent, indent);
        cell = "";
      }
      line +=
          align[k] == 'r' ? right_aligned(cell, widths[k]) : padded(cell, widths[k]);
    }
    const std::size_t hang = columns_of(line) + kGap;
    const std::string tail = joined(row.tail, row.tail_gap, hang, hang);
    if (!tail.empty()) {
      text += line + tail.substr(hang - kGap);
      continue;
    }
    trim_end(line);
    text += line + "\n";
  }
  return text;
}

std::string counted(std::size_t count, std::string_view one) {
  return std::to_string(count) + " " + std::string(one) + (count == 1 ? "" : "s");
}

}  // namespace benchproof
