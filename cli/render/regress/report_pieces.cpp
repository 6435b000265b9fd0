#include "cli/render/regress/report_pieces.h"

#include <algorithm>
#include <string_view>

namespace benchproof {

std::optional<char> ReportPieces::take() {
  constexpr std::size_t kBytes = 1U << 16U;
  if (at_ == buffer_.size()) {
    buffer_.resize(kBytes);
    buffer_.resize(read_(buffer_.data(), kBytes));
    at_ = 0;
    if (buffer_.empty()) return std::nullopt;
  }
  return buffer_[at_++];
}

/// Keeps track of brackets and strings.
void ReportPieces::follow(char c) {
  if (is_in_string_) {
    if (depth_ == 1 && (c != '"' || is_escaped_)) word_ += c;
    if (c == '"' && !is_escaped_) is_in_string_ = false;
    is_escaped_ = c == '\\' && !is_escaped_;
    return;
  }
  if (c == '"') {
    is_in_string_ = true;
    if (depth_ == 1) word_.clear();
  }
  if (c == '{' || c == '[') ++depth_;
  if (c == '}' || c == ']') --depth_;
  if (c == ',' && depth_ == 1) word_.clear();
}

/// The circuit that begins within the list, or nothing at the list's end.
std::optional<std::string> ReportPieces::take_circuit() {
  constexpr int kWithinList = 2;
  std::string circuit;
  while (const auto c = take()) {
    if (circuit.empty() && std::string_view(" \t\r\n,").find(*c) != std::string::npos)
      continue;
    follow(*c);
    if (circuit.empty() && *c == ']') {
      rest_ += ']';
      is_in_list_ = false;
      return std::nullopt;
    }
    circuit += *c;
    if (depth_ == kWithinList && *c == '}' && !is_in_string_) return circuit;
    if (circuit.front() != '{' || circuit.size() > kMostBytes) break;
  }
  is_broken_ = true;
  return std::nullopt;
}

std::optional<std::string> ReportPieces::next() {
  while (!is_broken_) {
    if (is_in_list_) {
      if (auto circuit = take_circuit()) return circuit;
      continue;
    }
    const auto c = take();
    if (!c) return std::nullopt;
    const bool is_list =
        *c == '[' && !is_in_string_ && depth_ == 1 && word_ == "circuits";
    follow(*c);
    rest_ += *c;
    is_in_list_ = is_list;
    is_broken_ = rest_.size() > kMostBytes || depth_ < 0;
  }
  return std::nullopt;
}

}  // namespace benchproof
