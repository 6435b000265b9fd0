#include "cli/render/verify/hand_text.h"

#include <fmt/format.h>

#include <cmath>

#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"
#include "core/catalogue/catalogue.h"

namespace benchproof {
namespace {

constexpr int kDigits = 4;

/// "hand -4.9 %", "hand +0.2 K": by how much the rule is off.
std::string off_text(const HandResult& hand) {
  if (hand.unit == Unit::celsius) {
    const double kelvins = hand.hand - *hand.nodal;
    constexpr double kSameKelvins = 0.05;
    if (std::abs(kelvins) < kSameKelvins) return "hand the same";
    return fmt::format("hand {:+.1f} K", kelvins);
  }
  const auto share = deviation(hand);
  if (!share) return {};
  const double percent = 100.0 * *share;
  constexpr double kSame = 5e-3;
  if (std::abs(percent) < kSame) return "hand the same";
  return fmt::format("hand {:+.{}f} %", percent, std::abs(percent) < 1.0 ? 2 : 1);
}

std::string witnesses_line(const HandResult& hand) {
  if (!hand.engine || !hand.nodal)
    return "nothing at rest to hold it against; a run shows it";
  std::string line =
      fmt::format("engine {}, nodal {}", figure_text(*hand.engine, hand.unit, kDigits),
                  figure_text(*hand.nodal, hand.unit, kDigits));
  const std::string off = off_text(hand);
  return off.empty() ? line : line + "; " + off;
}

}  // namespace

std::string hand_texts(std::span<const HandResult> results) {
  std::string text;
  for (const HandResult& hand : results) {
    const std::string& name = hand.part.empty() ? hand.net : hand.part;
    text += wrapped(
        fmt::format("{}: {}  [{}]", name, plain_text(hand.title), hand.rule), 4, 6);
    text += wrapped(plain_text(hand.formula), 6, 10);
    text += wrapped("= " + plain_text(hand.numbers), 8, 10);
    text += wrapped(witnesses_line(hand), 6, 8);
    text += wrapped("neglects " + plain_text(hand.neglects), 6, 8);
    text += wrapped(
        fmt::format("source: {} ({})", plain_text(hand.source), mark_word(hand.mark)),
        6, 8);
  }
  return text;
}

}  // namespace benchproof
