#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>

namespace benchproof {

/// Takes a report of `regress --json` apart while it is read, so that no more than one
/// circuit of it is held.
class ReportPieces {
 public:
  /// Puts at most so many bytes of the text that follow into a place; 0 at its end.
  using Read = std::function<std::size_t(char* place, std::size_t most)>;

  /// No piece is longer. Byte.
  static constexpr std::size_t kMostBytes = 32U << 20U;

  explicit ReportPieces(Read read) : read_(std::move(read)) {}

  /// The text of the next circuit; nothing behind the last one, or where the text is
  /// none of a report (see `is_broken`).
  [[nodiscard]] std::optional<std::string> next();

  /// Behind the last circuit: the text as it would be without any.
  [[nodiscard]] const std::string& rest() const { return rest_; }

  /// A piece was longer than kMostBytes, or a list of circuits holds something else.
  [[nodiscard]] bool is_broken() const { return is_broken_; }

 private:
  std::optional<char> take();
  void follow(char c);
  std::optional<std::string> take_circuit();

  Read read_;
  std::string buffer_;
  std::size_t at_ = 0;
  std::string rest_;
  bool is_broken_ = false;
  bool is_in_list_ = false;  ///< Within the list of circuits.
  // Where in the text we are: in how many brackets, in a string, behind a backslash.
  int depth_ = 0;
  bool is_in_string_ = false;
  bool is_escaped_ = false;
  std::string word_;  ///< The last string within the outermost brackets.
};

}  // namespace benchproof
