#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace benchproof {

/// No line of a report is wider.
inline constexpr std::size_t kLineWidth = 80;

/// Columns that a valid UTF-8 text takes on a terminal: wide East Asian letters and
/// pictographs two, combining marks none, all else one.
[[nodiscard]] std::size_t columns_of(std::string_view text);

/// The text with blanks put behind (or in front of) it up to `width` columns.
[[nodiscard]] std::string padded(std::string_view text, std::size_t width);
[[nodiscard]] std::string right_aligned(std::string_view text, std::size_t width);

/// Breaks a text at blanks into lines of at most kLineWidth columns, the first indented
/// by `first` blanks and the others by `others`; a word longer than a line is cut. Each
/// line ends in a line feed. An empty text gives nothing.
[[nodiscard]] std::string wrapped(std::string_view text, std::size_t first,
                                  std::size_t others);

/// Like `wrapped`, with fields in place of words: breaks come between fields only, as
/// long as each fits in a line. `gap` blanks stand between them; empty ones are left
/// out.
[[nodiscard]] std::string joined(const std::vector<std::string>& fields,
                                 std::size_t gap, std::size_t first,
                                 std::size_t others);

/// Cells side by side in as many columns as fit, read downwards column by column.
[[nodiscard]] std::string in_columns(const std::vector<std::string>& cells,
                                     std::size_t indent);

/// One row of a table: cells, then fields that are wrapped in what is left of the line.
struct TableRow {
  std::vector<std::string> cells;
  std::vector<std::string> tail = {};
  std::size_t tail_gap = 2;  ///< Blanks between the tail's fields.
};

/// Rows with their cells below each other. `align` has 'l' or 'r' for each cell. A
/// first cell wider than kWidestName gets a line of its own.
[[nodiscard]] std::string table(const std::vector<TableRow>& rows,
                                std::string_view align, std::size_t indent);

inline constexpr std::size_t kWidestName = 20;

/// "1 fault", "2 faults".
[[nodiscard]] std::string counted(std::size_t count, std::string_view one);

}  // namespace benchproof
