#include "cli/render/plot.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"

namespace benchproof {
namespace {

constexpr std::size_t kLabelWidth = 10;  ///< Of the scale at the left.
constexpr std::size_t kRows = 4;         ///< Of characters, per strip.

/// Dots in a grid of characters, `wide` by `high` in each.
class Canvas {
 public:
  Canvas(std::size_t width, std::size_t wide, std::size_t high)
      : width_(width), wide_(wide), high_(high), cells_(width * kRows, 0) {}

  [[nodiscard]] std::size_t columns() const { return width_ * wide_; }
  [[nodiscard]] std::size_t rows() const { return kRows * high_; }

  /// Sets the dots of a column from one row to another; row 0 is at the bottom.
  void draw(std::size_t column, std::size_t low, std::size_t high) {
    for (std::size_t row = low; row <= high; ++row) {
      const std::size_t down = rows() - 1 - row;
      const std::size_t bit = (down % high_) * wide_ + column % wide_;
      cells_[down / high_ * width_ + column / wide_] |=
          static_cast<std::uint8_t>(1U << bit);
    }
  }

  [[nodiscard]] std::string line(std::size_t row) const {
    std::string text;
    for (std::size_t column = 0; column < width_; ++column) {
      const std::uint8_t cell = cells_[row * width_ + column];
      text += wide_ == 2 ? braille(cell) : ascii(cell);
    }
    text.erase(text.find_last_not_of(' ') + 1);
    return text;
  }

 private:
  /// Two by four dots, row by row, as a braille pattern, whose bits go column by
  /// column with the lowest row last [Unicode, block U+2800].
  static std::string braille(std::uint8_t cell) {
    if (cell == 0) return " ";
    constexpr std::array<unsigned, 8> kBits = {0x01, 0x08, 0x02, 0x10,
                                               0x04, 0x20, 0x40, 0x80};
    unsigned pattern = 0;
    for (std::size_t bit = 0; bit < kBits.size(); ++bit)
      if ((cell >> bit & 1U) != 0) pattern |= kBits[bit];
    const unsigned code = 0x2800U + pattern;
    return {static_cast<char>(0xE0U | code >> 12U),
            static_cast<char>(0x80U | (code >> 6U & 0x3FU)),
            static_cast<char>(0x80U | (code & 0x3FU))};
  }
  /// One by two dots.
  static std::string ascii(std::uint8_t cell) {
    constexpr std::string_view kMarks = " '.:";
    return {kMarks[cell & 3U]};
  }

  std::size_t width_ = 0;  ///< In characters.
  std::size_t wide_;
  std::size_t high_;
  std::vector<std::uint8_t> cells_;
};

struct Scale {
  double low = 0.0;
  double high = 0.0;
};

Scale scale_of(const Strip& strip, const Stretch& stretch) {
  Scale scale{HUGE_VAL, -HUGE_VAL};
  for (const Trace& trace : strip.traces) {
    const Extremes e = extremes(trace, stretch);
    scale.low = std::min(scale.low, e.lowest);
    scale.high = std::max(scale.high, e.highest);
  }
  return scale;
}

void draw(Canvas& canvas, const Trace& trace, const Scale& scale,
          const Stretch& stretch) {
  const double span = scale.high - scale.low;
  const auto row_of = [&](double value) {
    const double share = span > 0.0 ? (value - scale.low) / span : 0.5;
    return static_cast<std::size_t>(
        std::lround(share * static_cast<double>(canvas.rows() - 1)));
  };
  const std::vector<double>& t = *trace.seconds;
  std::size_t k = 0;
  const double width = stretch.length() / static_cast<double>(canvas.columns());
  for (std::size_t column = 0; column < canvas.columns(); ++column) {
    const double from = stretch.from + width * static_cast<double>(column);
    const double to = from + width;
    double low = value_at(trace, from);
    double high = low;
    const auto widen = [&](double value) {
      low = std::min(low, value);
      high = std::max(high, value);
    };
    widen(value_at(trace, to));
    while (k < t.size() && t[k] < from) ++k;
    for (std::size_t p = k; p < t.size() && t[p] <= to; ++p) widen(trace.values[p]);
    canvas.draw(column, row_of(low), row_of(high));
  }
}

std::string label(double value, Unit unit) {
  if (std::abs(value) < (unit == Unit::ampere ? 1e-9 : 1e-6))
    return figure_text(0.0, unit);
  return figure_text(value, unit);
}

/// The largest of 1, 2, 5 times a power of ten that makes at least four ticks.
double tick_of(double span) {
  const double decade = std::pow(10.0, std::floor(std::log10(span)));
  for (const double step : {1.0, 0.5, 0.2, 0.1})
    if (span / (step * decade) >= 4.0) return step * decade;
  return 0.1 * decade;
}

/// The axis: marks at round times, and their figures below as far as they have room.
std::string time_axis(const Stretch& stretch, std::size_t width) {
  std::string marks(width, '-');
  std::string figures(kLabelWidth + 1 + width, ' ');
  const double tick = tick_of(stretch.length());
  std::size_t free_from = 0;
  for (double n = std::ceil(stretch.from / tick - 1e-9);
       n * tick <= stretch.to * (1 + 1e-9); n += 1.0) {
    const double share = (n * tick - stretch.from) / stretch.length();
    const auto column =
        static_cast<std::size_t>(std::lround(share * static_cast<double>(width - 1)));
    marks[column] = '+';
    const std::string text = figure_text(n * tick, Unit::second);
    const std::size_t middle = kLabelWidth + 1 + column;
    const std::size_t start = std::min(middle - std::min(middle, text.size() / 2),
                                       figures.size() - text.size());
    if (start < free_from) continue;
    figures.replace(start, text.size(), text);
    free_from = start + text.size() + 1;
  }
  figures.erase(figures.find_last_not_of(' ') + 1);
  return std::string(kLabelWidth + 1, ' ') + marks + "\n" + figures + "\n";
}

}  // namespace

std::string plot(const std::vector<Strip>& strips, const Stretch& stretch, bool fine,
                 std::size_t columns) {
  const std::size_t width = columns - kLabelWidth - 2;
  std::string text;
  for (const Strip& strip : strips) {
    const Scale scale = scale_of(strip, stretch);
    Canvas canvas(width, fine ? 2 : 1, fine ? 4 : 2);
    for (const Trace& trace : strip.traces) draw(canvas, trace, scale, stretch);
    text +=
        wrapped(fmt::format("{}: {} to {}", strip.name, label(scale.low, strip.unit),
                            label(scale.high, strip.unit)),
                0, 2);
    for (std::size_t row = 0; row < kRows; ++row) {
      std::string at;
      if (row == 0) at = label(scale.high, strip.unit);
      const bool is_flat =
          label(scale.low, strip.unit) == label(scale.high, strip.unit);
      if (row == kRows - 1 && !is_flat) at = label(scale.low, strip.unit);
      text += right_aligned(at, kLabelWidth) + " " + canvas.line(row) + "\n";
    }
  }
  return text + time_axis(stretch, width);
}

}  // namespace benchproof
