#pragma once

#include <span>
#include <stdexcept>
#include <string_view>

namespace benchproof {

/// The long form of a finding: what a person who asks for its id is told. Each stands
/// beside the check's code; no field is empty.
struct Explanation {
  std::string_view check;    ///< The finding's id, "led-current".
  std::string_view what;     ///< One line: what is looked at.
  std::string_view formula;  ///< What is computed, and held against which limit.
  std::string_view limit;    ///< Where the limit comes from, and its mark.
  std::string_view why;      ///< What happens beyond it.
  std::string_view change;   ///< What to do about it.
};

/// An id that has an explanation: there is no other way to make one.
class CheckId {
 public:
  /// Looks the id up in its file's table when the program is compiled; one that is not
  /// in it does not compile.
  consteval CheckId(std::span<const Explanation> table, std::string_view check) {
    for (const Explanation& row : table) {
      if (row.check == check) {
        text_ = row.check;
        return;
      }
    }
    throw std::invalid_argument("a finding's id that no table explains");
  }
  explicit constexpr CheckId(const Explanation& row) : text_(row.check) {}

  // NOLINTNEXTLINE(google-explicit-constructor): an id is its text.
  constexpr operator std::string_view() const { return text_; }

 private:
  std::string_view text_;
};

}  // namespace benchproof
