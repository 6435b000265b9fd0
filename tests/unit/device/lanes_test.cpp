#include "core/device/lanes.h"

#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>

#include "core/device/bipolar.h"
#include "core/device/diode.h"

// Compiled for the vectors of newer processors; on others there is nothing to test. The
// C library's functions are what lanes are held against.

namespace benchproof {
namespace {

using HWY_NAMESPACE::Lanes;

constexpr std::size_t kLanes = Lanes::kCount;
using Array = std::array<double, kLanes>;

bool is_supported() { return __builtin_cpu_supports("avx2") != 0; }

Array stored(const Lanes& lanes) {
  Array a;
  lanes.store(a.data());
  return a;
}

/// The worst relative error of a function over a range, against the C library's.
template <class OfLanes, class OfDouble>
double worst_error(double from, double to, bool by_ratio, const OfLanes& of_lanes,
                   const OfDouble& of_double) {
  std::mt19937_64 random(20261201);
  std::uniform_real_distribution<double> share(0.0, 1.0);
  double worst = 0.0;
  for (int round = 0; round < 100'000; ++round) {
    Array x;
    for (double& value : x) {
      const double s = share(random);
      value = by_ratio ? from * std::pow(to / from, s) : from + (to - from) * s;
    }
    const Array y = stored(of_lanes(Lanes::load(x.data())));
    for (std::size_t k = 0; k < kLanes; ++k) {
      const double right = of_double(x[k]);
      const double off = std::abs(y[k] - right);
      if (off > 1e-300) worst = std::max(worst, off / std::abs(right));
    }
  }
  return worst;
}

}  // namespace

TEST_CASE("lanes' functions are those of the C library", "[lanes]") {
  if (!is_supported()) return;
  CHECK(kLanes == 4);
  // Over all that the device equations ask for: exponents up to kLargestExponent, and
  // down to where nothing is left.
  CHECK(worst_error(
            -700.0, 300.0, false, [](Lanes x) { return exp(x); },
            [](double x) { return std::exp(x); }) <= 1e-15);
  CHECK(worst_error(
            1e-12, 1e12, true, [](Lanes x) { return log(x); },
            [](double x) { return std::log(x); }) <= 1e-12);
  CHECK(worst_error(
            -40.0, 40.0, false, [](Lanes x) { return tanh(x); },
            [](double x) { return std::tanh(x); }) <= 1e-12);
}

TEST_CASE("each lane goes its own way through the device equations", "[lanes]") {
  if (!is_supported()) return;
  DiodeModel model;
  model.is = 1e-12;
  model.n = 1.4;
  model.bv = 12.0;
  const DiodeAt diode = at(model, 40.0);
  DiodeAtOf<Lanes> lanes;
  lanes.is = diode.is;
  lanes.nvt = diode.nvt;
  lanes.breakdown = diode.breakdown;
  lanes.nvt_breakdown = diode.nvt_breakdown;
  // Forward, beyond the exponential's range, blocking, and broken down.
  const Array volts = {0.71, 40.0, -3.3, -12.2};
  const ConductionOf<Lanes> found = junction(lanes, Lanes::load(volts.data()));
  const Array amps = stored(found.amps);
  const Array siemens = stored(found.siemens);
  for (std::size_t k = 0; k < kLanes; ++k) {
    CAPTURE(volts[k]);
    const Conduction alone = junction(diode, volts[k]);
    CHECK(std::abs(amps[k] - alone.amps) <= 1e-13 * std::abs(alone.amps));
    CHECK(std::abs(siemens[k] - alone.siemens) <= 1e-13 * std::abs(alone.siemens));
  }
}

TEST_CASE("masks of lanes", "[lanes]") {
  if (!is_supported()) return;
  const Array values = {-1.0, 0.0, 1.0, std::numeric_limits<double>::quiet_NaN()};
  const Lanes x = Lanes::load(values.data());
  CHECK(any(x < 0.0));
  CHECK_FALSE(all(x < 0.0));
  CHECK_FALSE(all(x <= 1.0));  // One is no number.
  CHECK(all(x <= 1.0 || !(x <= 1.0)));
  CHECK(stored(select(x > 0.0, 7.0, 5.0)) == Array{5.0, 5.0, 7.0, 5.0});
  // What is no number stays.
  CHECK(std::isnan(stored(larger(0.0, x))[3]));
}

}  // namespace benchproof
