#include <array>
#include <cstdint>

#include "core/draw/diagram.h"

namespace benchproof {
namespace {

/// Widths of ASCII letters as a share of their size, in groups: for each letter no less
/// than in DejaVu Sans (the table of advance widths in its file, version 2.37), a wide
/// font among those without serifs.
double ascii_width(unsigned char c) {
  constexpr std::string_view kNarrow = " !'(),.:;I[]fijlt|";
  constexpr std::string_view kWide = "MWmw%@#&^";
  if (kNarrow.find(static_cast<char>(c)) != std::string_view::npos) return 0.42;
  if (kWide.find(static_cast<char>(c)) != std::string_view::npos) return 1.0;
  if (c >= 'A' && c <= 'Z') return 0.79;
  if (c == '+' || c == '=' || c == '<' || c == '>' || c == '~') return 0.84;
  return 0.64;
}

}  // namespace

double text_width(std::string_view text) {
  double width = 0.0;
  for (const char letter : text) {
    const auto c = static_cast<unsigned char>(letter);
    if (c < 0x80)
      width += ascii_width(c);
    else if (c >= 0xC0)  // The first byte of a letter: two bytes are Latin or Greek.
      width += c < 0xE0 ? 0.85 : 1.05;
  }
  return width * kTextSize;
}

}  // namespace benchproof
