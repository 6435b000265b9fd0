#pragma once

#include <cstddef>
#include <exception>
#include <string>
#include <string_view>

namespace benchproof {

/// The exit statuses of the program. Of several files the highest counts.
inline constexpr int kExitGood = 0;          ///< Cautions included.
inline constexpr int kExitFault = 1;         ///< A check failed.
inline constexpr int kExitRefused = 2;       ///< The description or the command line.
inline constexpr int kExitNoAnswer = 3;      ///< A witness has no answer.
inline constexpr int kExitDisagreement = 4;  ///< The witnesses disagree.

/// Makes sure that descriptors 0 to 2 are open, so that nothing else gets these numbers
/// and then our output, and that a reader who has gone does not end the program.
void prepare_streams();

/// How wide a drawing may be: what the terminal on standard output has, within 60 to
/// 100 columns; 80 where it is none.
[[nodiscard]] std::size_t drawing_columns();

/// Whether standard output takes colour: a terminal that can, and no NO_COLOR.
[[nodiscard]] bool wants_colour();

/// Whether standard error is a terminal, where lines are broken for people.
[[nodiscard]] bool wraps_errors();

/// Writes all of a text. False when it did not get through, other than because the
/// reader has gone, which is the reader's choice; the reason is told on standard error.
[[nodiscard]] bool write_result(std::string_view text);

/// Writes the last text of a command. Returns `status`, or where it did not get through
/// at least kExitRefused.
[[nodiscard]] int write_last(std::string_view text, int status);

/// An error that nobody foresaw, in words.
[[nodiscard]] std::string exception_text(const std::exception& error);

/// Writes a text to standard error; nobody can be told if that fails.
void write_error(std::string_view text);

}  // namespace benchproof
