#include "core/circuit/tolerance.h"

#include <algorithm>

namespace benchproof {
namespace {

/// The widest tolerance that parts of a series are sold with.
double sold_with(Series series) {
  switch (series) {
    case Series::e48:
      return 0.02;
    case Series::e96:
      return 0.01;
    case Series::e192:
      return 0.005;
    case Series::e3:
    case Series::e6:
    case Series::e12:
    case Series::e24:
      break;
  }
  return 1.0;
}

}  // namespace

std::optional<double> tolerance_of(const Part& part, std::string_view key,
                                   std::optional<Series> series) {
  const auto told = key == "value" ? number_of(part, "tolerance") : std::nullopt;
  if (!told || !series || part.settings.contains("tolerance")) return told;
  return std::min(*told, sold_with(*series));
}

}  // namespace benchproof
