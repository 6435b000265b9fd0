#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>

#include "core/draw/diagram.h"

namespace benchproof {
namespace {

/// Widths of the ASCII letters from the blank on, in thousandths of their size: those
/// of DejaVu Sans (advance widths in its file, version 2.37), of some letters those of
/// Verdana, where they are larger (from memory). These are wide among the fonts without
/// serifs.
constexpr std::array<int, 95> kWidths = {
    352,  401, 460, 838, 637, 951, 780, 275, 455, 455, 500, 838, 364, 455, 364, 455,
    637,  637, 637, 637, 637, 637, 637, 637, 637, 637, 455, 455, 838, 838, 838, 531,
    1000, 685, 687, 699, 771, 632, 576, 775, 752, 421, 455, 656, 558, 863, 749, 788,
    604,  788, 695, 635, 611, 732, 685, 989, 686, 611, 686, 455, 337, 455, 838, 636,
    500,  613, 635, 550, 635, 616, 353, 635, 634, 278, 345, 580, 278, 975, 634, 612,
    635,  635, 427, 521, 395, 634, 592, 818, 592, 592, 525, 637, 337, 637, 838,
};

}  // namespace

double text_width(std::string_view text) {
  double width = 0.0;
  for (const char letter : text) {
    const auto c = static_cast<unsigned char>(letter);
    if (c < 0x80)
      width += c < 0x20 ? 1.0 : kWidths[std::min<std::size_t>(c - 0x20U, 94)] / 1000.0;
    else if (c >= 0xC0)  // The first byte of a letter: two bytes are Latin or Greek.
      width += c < 0xE0 ? 0.85 : 1.05;
  }
  return width * kTextSize;
}

}  // namespace benchproof
