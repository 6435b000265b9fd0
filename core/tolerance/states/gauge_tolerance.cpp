#include "core/tolerance/states/gauge_tolerance.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "core/base/nine_digits.h"

namespace benchproof {
namespace {

constexpr double kLeastDriver = 0.01;

}  // namespace

double share_failing(const GaugeTolerance& gauge, std::size_t copies) {
  return copies == 0
             ? 0.0
             : static_cast<double>(gauge.copies.failed) / static_cast<double>(copies);
}

std::vector<Driver> drivers_of(const std::vector<Spread>& spreads,
                               const std::vector<double>& variances) {
  std::map<std::size_t, Driver> by_draw;
  for (std::size_t k = 0; k < spreads.size(); ++k)
    if (std::isfinite(variances[k]))
      by_draw.try_emplace(spreads[k].draw, Driver{k, variances[k]});
  double all = 0.0;
  std::vector<Driver> drivers;
  for (const auto& [draw, driver] : by_draw) {
    all += driver.share;
    drivers.push_back(driver);
  }
  for (Driver& driver : drivers) driver.share = all > 0.0 ? driver.share / all : 0.0;
  std::erase_if(drivers, [](const Driver& d) { return d.share < kLeastDriver; });
  std::stable_sort(drivers.begin(), drivers.end(),
                   [](const Driver& a, const Driver& b) {
                     return nine_digits(a.share) > nine_digits(b.share);
                   });
  return drivers;
}

}  // namespace benchproof
