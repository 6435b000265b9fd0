#include "spice/session/patience.h"

#include <fmt/format.h>

namespace benchproof {

Patience::Patience(std::chrono::seconds at_most)
    : end_(Clock::now() + at_most),
      reason_(fmt::format("the time for one description, {} s, is used up",
                          at_most.count())) {}

}  // namespace benchproof
