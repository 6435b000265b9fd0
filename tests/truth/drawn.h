#pragma once

#include <cmath>
#include <random>

namespace benchproof::test {

/// Numbers for what is made at random, from a generator of the standard library's kind.
template <typename Random>
class Drawn {
 protected:
  explicit Drawn(Random random) : random_(random) {}

  int whole(int low, int high) {
    return std::uniform_int_distribution<int>(low, high)(random_);
  }
  double between(double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random_);
  }
  /// Evenly by its logarithm.
  double spread(double low, double high) {
    return std::exp(between(std::log(low), std::log(high)));
  }

 private:
  Random random_;
};

}  // namespace benchproof::test
