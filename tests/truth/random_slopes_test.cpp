#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <iostream>
#include <limits>
#include <map>
#include <random>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "core/device/constants.h"
#include "core/device/diode.h"
#include "core/nodal/nodal_solver.h"
#include "core/nodal/sensitivities.h"
#include "tests/truth/from_environment.h"
#include "tests/truth/quad_network.h"
#include "tests/truth/random_network.h"

// Slopes of random networks of all elements against central differences.
//
// A difference of two solutions in doubles has lost most digits of a slope that matters
// little. So the networks are solved to 31 digits here (QuadNetwork), and a number
// moves by 1e-14 of itself: rounding leaves 1e-17 of the largest voltage or current
// over the number. What the difference leaves out is less than what the slopes to both
// sides differ by.
//
// BENCHPROOF_SEED and BENCHPROOF_SAMPLES in the environment choose another series.

namespace benchproof {
namespace {

using test::Movable;
using test::Quad;
using test::QuadNetwork;

constexpr std::uint64_t kSeed = 20261125;
constexpr std::uint64_t kSamples = 2000;
constexpr int kSlots = 3;  ///< Of each network, beside its temperature.
constexpr double kStep = 1e-14;

/// What a slope may be off by, of itself.
constexpr double kShare = 1e-6;
/// And of a figure's scale, the largest voltage or current of the network, while the
/// number moves by all it is. Beside this, what rounding of the matrix makes of the
/// number's largest effect (see `Conductances`).
constexpr double kNothing = 1e-11;
/// Added to the largest current: as much of what the largest voltage would drive
/// through the largest conductance that kNothing of it are some roundings, 1e-15.
constexpr double kDriven = 1e-4;
/// And this, for networks without a current to speak of. Ampere.
constexpr double kLeastAmps = 1e-9;

/// Rounding of large conductances swallows small ones at the same node, and comes back
/// in all that these tell: an ideal junction's 0.05 A are 2e5 S, beside which 1e-5 S
/// are exact to 4e-6.
struct Conductances {
  double largest = 0.0;   ///< Of a resistor, junction or channel. Siemens.
  double smallest = 1.0;  ///< Of what is no leak.

  Conductances(const Network& network, const Solution& solution) {
    constexpr double kLeakOhms = 1e6;
    const Values& v = network.values;
    for (const double ohms : v.ohms) {
      largest = std::max(largest, 1.0 / ohms);
      if (ohms < kLeakOhms) smallest = std::min(smallest, 1.0 / ohms);
    }
    for (std::size_t k = 0; k < v.diodes.size(); ++k) {
      const double nvt = at(v.diodes[k], network.celsius).nvt;
      largest = std::max(largest, std::abs(solution.currents.diodes[k]) / nvt);
    }
    for (const auto& ends : solution.currents.bipolars) {
      const double amps = std::max(std::abs(ends[0]), std::abs(ends[1]));
      largest = std::max(largest, amps / thermal_voltage(network.celsius));
    }
    double volts = 0.0;
    for (const double v_at : solution.volts) volts = std::max(volts, std::abs(v_at));
    for (const MosModel& m : v.mosfets) largest = std::max(largest, m.kp * volts);
  }

  [[nodiscard]] double swallowed() const {
    return std::numeric_limits<double>::epsilon() * largest / smallest;
  }
};

/// Figures, and the scale of each.
struct Figures {
  std::vector<Differential> by;
  std::vector<double> scales;

  Differential& add(Differential differential, double scale) {
    scales.push_back(scale);
    return by.emplace_back(std::move(differential));
  }
};

/// A random network, with random questions.
class Sample {
 public:
  Sample(std::uint64_t seed, std::uint64_t index)
      : network_(test::random_network(seed, index)),
        s_(*network_.structure),
        random_(seed * 1'000'003 + index) {}

  [[nodiscard]] const Network& network() const { return network_; }

  /// The voltages of all nodes, a current of every kind of element, and the sum of all
  /// over their scales.
  [[nodiscard]] Figures figures(const Solution& solution) {
    double volts = 0.0;
    for (const double v : solution.volts) volts = std::max(volts, std::abs(v));
    double amps = kLeastAmps;
    for_each_end(s_, solution.currents, [&amps](int, const Origin&, int, double i) {
      amps = std::max(amps, std::abs(i));
    });
    amps += kDriven * volts * Conductances(network_, solution).largest;
    Figures figures;
    for (int node = 1; node < static_cast<int>(s_.nodes.size()); ++node)
      figures.add(differential_of_volts(s_, node), volts);
    for (const auto& list : kTwoEnded) {
      const std::size_t count = (s_.*list.elements).size();
      if (count == 0) continue;
      Differential& d = figures.add(no_differential(s_), amps);
      (d.by_amps.*list.amps)[below(count)] = 1.0;
    }
    for (const auto& list : kThreeEnded) {
      const std::size_t count = (s_.*list.elements).size();
      if (count == 0) continue;
      Differential& d = figures.add(no_differential(s_), amps);
      (d.by_amps.*list.amps)[below(count)][below(3)] = 1.0;
    }
    Differential all = no_differential(s_);
    for (std::size_t f = 0; f < figures.by.size(); ++f)
      add(all, figures.by[f], 1.0 / figures.scales[f]);
    figures.add(std::move(all), static_cast<double>(figures.by.size()));
    return figures;
  }

  /// The temperature, and some slots.
  [[nodiscard]] std::vector<Movable> numbers(const SlotOrder& order) {
    std::vector<Movable> numbers{std::nullopt};
    for (int k = 0; k < kSlots; ++k)
      numbers.emplace_back(order.slot_at(below(order.size())));
    return numbers;
  }

 private:
  std::size_t below(std::size_t count) { return random_() % count; }

  Network network_;
  const Structure& s_;
  std::mt19937_64 random_;
};

std::string words(const Movable& number) {
  return number ? name_of(*number) : "celsius";
}

/// A number's name without its element's index: "diodes.is".
std::string kind_of(const Movable& number) {
  std::string name = words(number);
  const auto from = name.find('[');
  if (from != std::string::npos) name.erase(from, name.find(']') - from + 1);
  return name;
}

/// What a number is measured by: a temperature by its distance from absolute zero.
double size_of(const Network& network, const Movable& number) {
  if (!number || kind_of(number).ends_with("tnom")) return 300.0;
  const double value = std::abs(value_at(network.values, *number));
  return value == 0.0 ? 1.0 : value;
}

/// A number's effects on figures by central differences.
struct Differences {
  std::vector<double> slopes;
  std::vector<double> bends;  ///< How far the slopes to both sides differ.
};
std::optional<Differences> differences(QuadNetwork& quads, const Movable& number,
                                       double size, const Figures& figures) {
  const Quad step = Quad(kStep) * size;
  std::vector<std::vector<Quad>> seen;
  for (const Quad& by : {Quad(-step), Quad(0), step}) {
    quads.move(number, by);
    if (!quads.solve()) return std::nullopt;
    seen.push_back(quads.figures(figures.by));
  }
  Differences d;
  for (std::size_t f = 0; f < figures.by.size(); ++f) {
    const Quad below = (seen[1][f] - seen[0][f]) / step;
    const Quad above = (seen[2][f] - seen[1][f]) / step;
    d.slopes.push_back(static_cast<double>((below + above) / 2));
    d.bends.push_back(std::abs(static_cast<double>(above - below)));
  }
  return d;
}

/// What became of all comparisons.
struct Tally {
  std::map<std::string, int> told;  ///< By kind of number.
  int moved = 0;                    ///< Slopes that are more than nothing.
  int vague = 0;                    ///< Differences too inexact.
  std::vector<std::string> unsolved;
  std::vector<std::string> wrong;
};

/// Compares the slopes by one number.
void compare(const Network& network, const Movable& number, const Figures& figures,
             const double* slopes, double rounding, QuadNetwork& quads,
             const std::string& where, Tally& tally) {
  if (number && !std::isfinite(value_at(network.values, *number))) {
    // Nothing moves with a number that is infinite, and none can be moved.
    const auto moves = [](double slope) { return slope != 0.0; };
    if (std::any_of(slopes, slopes + figures.by.size(), moves))
      tally.wrong.push_back(where + " is infinite");
    return;
  }
  const double size = size_of(network, number);
  const auto found = differences(quads, number, size, figures);
  if (!found) {
    tally.unsolved.push_back(where + " moved");
    return;
  }
  double most = 0.0;  // By what share of its scale the number moves any figure.
  for (std::size_t f = 0; f < figures.by.size(); ++f)
    most = std::max(most, std::abs(found->slopes[f]) * size / figures.scales[f]);
  for (std::size_t f = 0; f < figures.by.size(); ++f) {
    const double slope = found->slopes[f];
    const double nothing = (kNothing + rounding * most) * figures.scales[f] / size;
    const double allowed = kShare * std::abs(slope) + nothing;
    if (found->bends[f] > allowed) {
      ++tally.vague;
      continue;
    }
    ++tally.told[kind_of(number)];
    if (std::abs(slope) > 1e3 * nothing) ++tally.moved;
    if (std::abs(slopes[f] - slope) <= allowed) continue;
    std::ostringstream line;
    line.precision(12);
    line << where << ", figure " << f << ": slope " << slopes[f] << ", difference "
         << slope << ", allowed " << allowed;
    tally.wrong.push_back(line.str());
  }
}

void compare(Sample sample, const std::string& where, Tally& tally) {
  const Network& network = sample.network();
  const Solution solution = solve_nodal(network);
  if (solution.status != SolveStatus::solved) {
    tally.unsolved.push_back(where + solution.reason);
    return;
  }
  const Figures figures = sample.figures(solution);
  QuadNetwork quads(network, solution);
  if (!quads.solve()) {
    tally.unsolved.push_back(where + "no solution to 31 digits");
    return;
  }
  quads.keep();
  // Slopes are as exact as the solution that they are asked at.
  Sensitivities sensitivities(network.structure);
  const auto slopes = sensitivities.at(network, quads.solution(), figures.by);
  if (!slopes) {
    tally.unsolved.push_back(where + "no slopes");
    return;
  }
  const double rounding = Conductances(network, solution).swallowed();
  for (const Movable& number : sample.numbers(slopes->order())) {
    std::vector<double> by_number;
    for (std::size_t f = 0; f < figures.by.size(); ++f)
      by_number.push_back(number ? slopes->by(f, *number) : slopes->by_celsius(f));
    compare(network, number, figures, by_number.data(), rounding, quads,
            where + words(number), tally);
  }
}

}  // namespace

TEST_CASE("slopes of random networks are those of central differences", "[random]") {
  const std::uint64_t seed = test::from_environment("BENCHPROOF_SEED", kSeed);
  const std::uint64_t samples = test::from_environment("BENCHPROOF_SAMPLES", kSamples);
  Tally tally;
  for (std::uint64_t k = 0; k < samples; ++k)
    compare(Sample(seed, k), "sample " + std::to_string(k) + ": ", tally);
  int told = 0;
  for (const auto& [name, count] : tally.told) told += count;
  std::cout << samples << " random networks of seed " << seed << ": " << told
            << " slopes by " << tally.told.size() << " kinds of number, " << tally.moved
            << " of them more than nothing; " << tally.vague
            << " differences too inexact, " << tally.unsolved.size() << " not solved, "
            << tally.wrong.size() << " wrong\n";
  for (const auto* list : {&tally.unsolved, &tally.wrong}) {
    for (const std::string& line : *list) std::cout << "  " << line << '\n';
  }
  CHECK(tally.wrong.empty());
  // One in a thousand each, as in the random networks' own test.
  CHECK(tally.unsolved.size() * 1000 <= samples);
  CHECK(tally.vague * 1000 <= told);
  if (samples >= kSamples) {
    // Every number of every list but strays, which stand in runs only; the temperature.
    CHECK(tally.told.size() == 40);
    CHECK(tally.moved * 4 > told);
  }
}

}  // namespace benchproof
