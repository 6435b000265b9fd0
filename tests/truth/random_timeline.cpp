#include "tests/truth/random_timeline.h"

#include <cmath>
#include <memory>
#include <random>

#include "tests/truth/random_network.h"

namespace benchproof::test {

Timeline random_timeline(std::uint64_t seed, std::uint64_t index) {
  std::mt19937_64 random(seed * 1'000'003 + index);
  const auto between = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  const auto below = [&](int count) {
    return std::uniform_int_distribution<int>(0, count - 1)(random);
  };

  Timeline t;
  t.network = random_network(seed, index);
  t.span = std::pow(10.0, between(-4.0, 0.0));
  auto structure = std::make_shared<Structure>(*t.network.structure);
  Values& values = t.network.values;
  if (structure->capacitors.empty()) {
    const int count = 1 + below(2);
    for (int k = 0; k < count; ++k) {
      const int a = below(structure->nets - 1) + 1;
      structure->capacitors.push_back({a, below(a), {}});
      values.farads.push_back(std::pow(10.0, between(-9.0, -3.0)));
    }
  }
  for (std::size_t k = 0; k < structure->voltage_sources.size(); ++k) {
    const TwoEnds& source = structure->voltage_sources[k];
    if (source.a >= structure->nets || source.b >= structure->nets) continue;
    const double volts = values.volts[k];
    t.volts.push_back({static_cast<int>(k),
                       {{0.2 * t.span, volts},
                        {0.21 * t.span, volts * between(0.0, 1.0)},
                        {0.7 * t.span, volts * between(0.0, 1.0)}}});
  }
  if (!structure->resistors.empty()) {
    const int k = below(static_cast<int>(structure->resistors.size()));
    const double ohms = values.ohms[k];
    t.ohms.push_back({k,
                      {{0.4 * t.span, ohms},
                       {0.4 * t.span + kSwitchSeconds, ohms * between(10.0, 1e5)},
                       {0.6 * t.span, ohms * 1e3},
                       {0.6 * t.span + kSwitchSeconds, ohms}}});
  }
  t.network.structure = std::move(structure);
  return t;
}

}  // namespace benchproof::test
