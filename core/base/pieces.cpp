#include "core/base/pieces.h"

namespace benchproof {
namespace {

std::string without_blanks_around(std::string_view text) {
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
  return std::string(text);
}

}  // namespace

std::vector<std::string> pieces_between(std::string_view text, char sign) {
  std::vector<std::string> pieces;
  for (;;) {
    const std::size_t end = text.find(sign);
    pieces.push_back(without_blanks_around(text.substr(0, end)));
    if (end == std::string_view::npos) return pieces;
    text.remove_prefix(end + 1);
  }
}

std::pair<std::string, std::string> split_at_dot(const std::string& text) {
  const std::size_t dot = text.find('.');
  if (dot == std::string::npos) return {text, ""};
  return {text.substr(0, dot), text.substr(dot + 1)};
}

std::vector<std::string> lines_of(std::string_view text) {
  std::vector<std::string> lines;
  for (;;) {
    const std::size_t end = text.find('\n');
    lines.emplace_back(text.substr(0, end));
    if (end == std::string_view::npos) return lines;
    text.remove_prefix(end + 1);
  }
}

std::string lower_case(std::string_view text) {
  std::string result(text);
  for (char& c : result)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return result;
}

}  // namespace benchproof
