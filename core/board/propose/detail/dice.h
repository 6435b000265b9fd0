#pragma once

#include <cstdint>

namespace benchproof::proposing {

/// The same numbers on every machine (Steele, Lea, Flood, "Fast splittable pseudorandom
/// number generators", OOPSLA 2014).
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : state_(seed) {}
  std::uint64_t next() {
    state_ += 0x9E3779B97F4A7C15ULL;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31U);
  }
  int upto(int count) {
    return count <= 1 ? 0 : static_cast<int>(next() % static_cast<unsigned>(count));
  }
  double share() { return static_cast<double>(next() >> 11U) * 0x1.0p-53; }

 private:
  std::uint64_t state_;
};

}  // namespace benchproof::proposing
