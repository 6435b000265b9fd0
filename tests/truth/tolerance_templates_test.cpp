// The search for worst cases against all corners of what matters most, copies against
// the engine, slopes against what copies show, on every template.

#include <Eigen/Dense>
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <vector>

#include "core/check/agree/agreement.h"
#include "core/tolerance/states/copies.h"
#include "core/tolerance/states/worst_case.h"
#include "spice/session/engine_session.h"
#include "spice/session/witness.h"
#include "tests/unit/tolerance/copied.h"

namespace benchproof {
namespace {

constexpr std::size_t kSteepest = BENCHPROOF_SANITIZED ? 6 : 12;

/// The draws that make most of a gauge's variance, each with its spreads.
std::vector<std::vector<std::size_t>> steepest(const std::vector<Spread>& spreads,
                                               const WorstCase& worst) {
  std::map<std::size_t, std::vector<std::size_t>> by_draw;
  for (std::size_t k = 0; k < spreads.size(); ++k)
    if (worst.variances[k] > 0.0) by_draw[spreads[k].draw].push_back(k);
  std::vector<std::vector<std::size_t>> draws;
  for (auto& [draw, list] : by_draw) draws.push_back(list);
  std::stable_sort(draws.begin(), draws.end(), [&](const auto& a, const auto& b) {
    return worst.variances[a.front()] > worst.variances[b.front()];
  });
  if (draws.size() > kSteepest) draws.resize(kSteepest);
  return draws;
}

/// The worst of all corners of these draws, all else at a side's places.
double exhaustive(Measurer& measurer,
                  const std::vector<std::vector<std::size_t>>& draws,
                  const std::vector<double>& places, std::size_t gauge, double sign) {
  double worst = -HUGE_VAL;
  measurer.measure(
      0, std::size_t{1} << draws.size(),
      [&](std::size_t corner, double* at) {
        std::copy(places.begin(), places.end(), at);
        for (std::size_t d = 0; d < draws.size(); ++d)
          for (const std::size_t k : draws[d])
            at[k] = ((corner >> d) & 1U) != 0 ? 1 : 0;
      },
      [&](const Measurer::Copy& copy) {
        worst = std::max(worst, sign * copy.values[gauge]);
      });
  return sign * worst;
}

}  // namespace

TEST_CASE("no corner of the twelve steepest values is worse than the one found",
          "[truth][tolerance]") {
  std::size_t held = 0;
  for (const Circuit& circuit : test::templates()) {
    const std::vector<Spread> spreads = spreads_of(circuit);
    test::for_states(circuit, spreads, [&](const CopiedState& state) {
      const std::vector<WorstCase> worst = worst_cases(state);
      Measurer measurer(state);
      for (std::size_t g = 0; g < worst.size(); ++g) {
        const Gauge& gauge = state.gauges()[g];
        const bool is_asked =
            gauge.of == Gauge::Of::expectation || gauge.of == Gauge::Of::alike;
        if (!is_asked) continue;
        const auto draws = steepest(spreads, worst[g]);
        CAPTURE(gauge.check, gauge.quantity, gauge.part, gauge.net, draws.size());
        // What Newton's method leaves: see copies_test.
        const double blur = 1e-9 + 1e-8 * std::abs(state.nominal()[g]);
        CHECK(worst[g].least.value <=
              exhaustive(measurer, draws, worst[g].least.places, g, -1.0) + blur);
        CHECK(worst[g].most.value >=
              exhaustive(measurer, draws, worst[g].most.places, g, 1.0) - blur);
        ++held;
      }
    });
  }
  CHECK(held > 60 / test::kOneOf);
}

TEST_CASE("the engine sees of copies what the batch does", "[truth][tolerance]") {
  constexpr std::size_t kCopies = 500 / test::kOneOf;
  EngineSession session;
  const std::vector<Circuit> circuits = test::templates();
  std::size_t asked = 0;
  for (std::size_t c = 0; asked < kCopies; ++c) {
    const Circuit& circuit = circuits[c % circuits.size()];
    const std::vector<Spread> spreads = spreads_of(circuit);
    Draw draw(spreads, 2);
    std::vector<double> places(spreads.size());
    test::for_states(circuit, spreads, [&](const CopiedState& state) {
      const std::size_t copy = asked++;
      draw.places(copy, places.data());
      const std::vector<Network> networks = state.networks(places.data());
      for (std::size_t phase = 0; phase < networks.size(); ++phase) {
        // By the batch, as copies are solved.
        BatchSolver batch(state.posed().phases()[phase].network);
        batch.solve(
            0, 1,
            [&](std::size_t, Network& network) {
              state.movers()[phase].move(places.data(), network);
            },
            [&](std::size_t, const Network& network, const Solution& solution) {
              const Solution engine = solve_with_engine(session, networks[phase]);
              const Agreement agreement = agree(circuit, network, engine, solution);
              CAPTURE(copy, agreement.reason);
              CHECK(agreement.agrees);
            });
      }
    });
  }
  CHECK(asked >= kCopies);
}

namespace {

/// The places of all draws in many copies, and what the gauges show, less their means.
struct Sample {
  std::vector<std::size_t> spreads;  ///< The first one of each draw.
  Eigen::MatrixXd places;            ///< [copy, draw]
  Eigen::MatrixXd values;            ///< [copy, gauge]
};

Sample sample_of(const CopiedState& state, std::size_t count) {
  const std::vector<Spread>& spreads = state.spreads();
  std::map<std::size_t, std::size_t> first;
  for (std::size_t k = 0; k < spreads.size(); ++k)
    first.try_emplace(spreads[k].draw, k);
  Sample sample;
  for (const auto& [draw, spread] : first)
    if (state.is_moved_by(spread)) sample.spreads.push_back(spread);
  const auto rows = static_cast<Eigen::Index>(count);
  sample.places.resize(rows, static_cast<Eigen::Index>(sample.spreads.size()));
  sample.values.resize(rows, static_cast<Eigen::Index>(state.gauges().size()));
  Draw draw(spreads, 9);
  Measurer measurer(state);
  Eigen::Index row = 0;
  measurer.measure(
      0, count, [&draw](std::size_t k, double* places) { draw.places(k, places); },
      [&](const Measurer::Copy& copy) {
        std::vector<double> places(spreads.size());
        draw.places(copy.index, places.data());
        for (std::size_t d = 0; d < sample.spreads.size(); ++d)
          sample.places(row, static_cast<Eigen::Index>(d)) = places[sample.spreads[d]];
        for (std::size_t g = 0; g < copy.values.size(); ++g)
          sample.values(row, static_cast<Eigen::Index>(g)) = copy.values[g];
        ++row;
      });
  sample.places.rowwise() -= sample.places.colwise().mean().eval();
  sample.values.rowwise() -= sample.values.colwise().mean().eval();
  return sample;
}

}  // namespace

TEST_CASE("what each value moves alone is what copies show of it where it is straight",
          "[truth][tolerance]") {
  // By least squares over copies. A figure counts as straight where less than a
  // thousandth of its variance is left about the plane. What is left comes of products
  // of two places: of one that is described to lie at its end, and one that has all its
  // range, c (x - 1/2)(y - 1/2) leaves c / 12 and moves the slope by c / 2, which is
  // sqrt(3) times as much of x's deviation; of n such, sqrt(3 n) times.
  constexpr std::size_t kCopies = 1'000;
  constexpr double kLeft = 1e-3;
  std::size_t held = 0, bent = 0;
  for (const Circuit& circuit : test::templates()) {
    const std::vector<Spread> spreads = spreads_of(circuit);
    test::for_states(circuit, spreads, [&](const CopiedState& state) {
      const std::vector<WorstCase> worst = worst_cases(state);
      const Sample sample = sample_of(state, kCopies);
      const Eigen::MatrixXd slopes =
          Eigen::LDLT<Eigen::MatrixXd>(sample.places.transpose() * sample.places)
              .solve(sample.places.transpose() * sample.values);
      const Eigen::MatrixXd rest = sample.values - sample.places * slopes;
      const auto draws = static_cast<double>(sample.spreads.size());
      for (std::size_t g = 0; g < worst.size(); ++g) {
        const Gauge& gauge = state.gauges()[g];
        if (gauge.of != Gauge::Of::expectation && gauge.of != Gauge::Of::net) continue;
        CAPTURE(gauge.check, gauge.quantity, gauge.part, gauge.net);
        const auto column = static_cast<Eigen::Index>(g);
        const double variance = sample.values.col(column).squaredNorm() / kCopies;
        if (!(variance > 1e-18)) continue;  // Nanovolts: what only leaks.
        const double left = rest.col(column).squaredNorm() / kCopies;
        if (left > kLeft * variance) {
          ++bent;
          continue;
        }
        // Beside Newton's blur, see copies_test.
        const double within =
            std::sqrt(3.0 * draws * left) + 1e-9 + 1e-8 * std::abs(state.nominal()[g]);
        for (std::size_t d = 0; d < sample.spreads.size(); ++d) {
          const auto row = static_cast<Eigen::Index>(d);
          const double of_place =
              std::sqrt(sample.places.col(row).squaredNorm() / kCopies);
          CAPTURE(spreads[sample.spreads[d]].target);
          const double alone = worst[g].moves[sample.spreads[d]];
          CHECK(std::abs(slopes(row, column) - alone) * of_place <= within);
          ++held;
        }
      }
    });
  }
  CHECK(held > 500 / test::kOneOf);
  CHECK(bent < held);
}

}  // namespace benchproof
