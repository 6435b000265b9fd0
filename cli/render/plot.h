#pragma once

#include <string>
#include <vector>

#include "cli/render/layout.h"
#include "core/base/quantity.h"
#include "core/network/record.h"

namespace benchproof {

/// One strip of a plot: a quantity, as one or several traces over the same time.
struct Strip {
  std::string name;
  Unit unit = Unit::volt;
  std::vector<Trace> traces;  ///< At least one; drawn over each other.
};

/// Strips below each other over one axis of time, at most `columns` wide (30 at
/// least). Each
/// has its own scale, from its lowest to its highest value. Whatever a trace does
/// between two columns is drawn as the range it covers, so that no pulse is lost.
/// `fine` draws with the dots of Unicode's braille patterns (U+2800), else in ASCII.
[[nodiscard]] std::string plot(const std::vector<Strip>& strips, const Stretch& stretch,
                               bool fine, std::size_t columns = kLineWidth);

}  // namespace benchproof
