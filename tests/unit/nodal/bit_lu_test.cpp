#include "core/nodal/detail/bit_lu.h"

#include <Eigen/Dense>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <random>
#include <utility>
#include <vector>

#include "core/nodal/detail/matrix.h"

namespace benchproof {
namespace {

constexpr double kEps = std::numeric_limits<double>::epsilon();

/// A random sparse matrix: its diagonal and `extra` further entries, over six decades.
Eigen::MatrixXd sparse(int n, int extra, std::mt19937_64& random) {
  std::uniform_int_distribution<int> place(0, n - 1);
  std::uniform_real_distribution<double> decade(-3.0, 3.0);
  std::bernoulli_distribution sign;
  const auto value = [&] {
    return std::pow(10.0, decade(random)) * (sign(random) ? 1.0 : -1.0);
  };
  Eigen::MatrixXd a = Eigen::MatrixXd::Zero(n, n);
  for (int k = 0; k < n; ++k) a(k, k) = value();
  for (int k = 0; k < extra; ++k) a(place(random), place(random)) = value();
  return a;
}

std::vector<std::uint64_t> pattern_of(const Eigen::MatrixXd& a) {
  std::vector<std::uint64_t> pattern(a.rows(), 0);
  for (int r = 0; r < a.rows(); ++r) {
    for (int c = 0; c < a.cols(); ++c) {
      if (a(r, c) != 0.0) pattern[r] |= std::uint64_t{1} << c;
    }
  }
  return pattern;
}

std::vector<std::pair<int, int>> entries_of(const Eigen::MatrixXd& a) {
  std::vector<std::pair<int, int>> entries;
  for (int r = 0; r < a.rows(); ++r) {
    for (int c = 0; c < a.cols(); ++c) {
      if (a(r, c) != 0.0) entries.emplace_back(r, c);
    }
  }
  return entries;
}

/// What BitLu or Matrix says: the unknown without a pivot, or -1 and the solution.
std::pair<int, Eigen::VectorXd> solve(const Eigen::MatrixXd& a, Eigen::VectorXd b) {
  Matrix matrix(static_cast<int>(a.rows()), entries_of(a));
  std::vector<double> slots(matrix.slots(), 0.0);
  for (const auto& [r, c] : entries_of(a)) slots[matrix.slot(r, c)] = a(r, c);
  Eigen::VectorXd x = Eigen::VectorXd::Zero(a.rows());
  const int singular = matrix.solve(slots.data(), b.data(), x.data());
  return {singular, x};
}

}  // namespace

TEST_CASE("random sparse systems against Eigen's dense LU", "[nodal][lu]") {
  constexpr std::uint64_t kSeed = 20240611;
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal;
  // 64 is BitLu's largest, beyond it is the sparse solver.
  for (const int n : {1, 2, 3, 7, 20, 40, 63, 64, 65, 100}) {
    for (int round = 0; round < 8; ++round) {
      const Eigen::MatrixXd a = sparse(n, round * n / 2, random);
      const Eigen::FullPivLU<Eigen::MatrixXd> dense(a);
      const double condition = n == 1 ? 1.0
                                      : a.jacobiSvd().singularValues()(0) /
                                            a.jacobiSvd().singularValues()(n - 1);
      if (!(condition < 1e13)) continue;
      Eigen::VectorXd b(n);
      for (int k = 0; k < n; ++k) b(k) = normal(random);
      const auto [singular, x] = solve(a, b);
      CAPTURE(kSeed, n, round, condition);
      REQUIRE(singular == -1);
      const Eigen::VectorXd expected = dense.solve(b);
      // n eps cond of the largest unknown [Higham 2002, "Accuracy and Stability of
      // Numerical Algorithms", sec. 9.3]; times 10, as a pivot may be a tenth of the
      // column's largest entry.
      const double bound = 10.0 * n * kEps * condition * expected.norm();
      CHECK((x - expected).norm() <= bound);
    }
  }
}

TEST_CASE("entries stand where the index says, whatever the order", "[nodal][lu]") {
  // Row 0 meets everybody, so that it is eliminated last; the rest is a permutation
  // that needs rows exchanged: no diagonal entry but one.
  Eigen::MatrixXd a = Eigen::MatrixXd::Zero(5, 5);
  a << 1, 2, 3, 4, 5,  //
      6, 0, 7, 0, 0,   //
      0, 0, 0, 8, 0,   //
      0, 0, 0, 0, 9,   //
      0, 3, 0, 0, 0;
  const BitLu lu(pattern_of(a));
  CHECK(lu.size() == 5);
  CHECK(lu.entries() == 25);
  std::vector<bool> taken(25, false);
  for (int r = 0; r < 5; ++r) {
    for (int c = 0; c < 5; ++c) {
      const int at = lu.index(r, c);
      REQUIRE((at >= 0 && at < 25));
      CHECK_FALSE(taken[at]);
      taken[at] = true;
    }
  }
  // Unknowns 1 .. 5 by hand.
  Eigen::VectorXd x(5);
  x << 1, 2, 3, 4, 5;
  const auto [singular, found] = solve(a, a * x);
  REQUIRE(singular == -1);
  CHECK((found - x).norm() <= 10.0 * 5 * kEps * 100.0 * x.norm());
}

TEST_CASE("a singular system names an unknown that is not determined", "[nodal][lu]") {
  const int n = GENERATE(4, 80);
  Eigen::MatrixXd a = Eigen::MatrixXd::Identity(n, n);
  const Eigen::VectorXd b = Eigen::VectorXd::Ones(n);
  CAPTURE(n);
  SECTION("an unknown that stands in no equation") {
    Matrix matrix(n, entries_of(a));
    std::vector<double> slots(matrix.slots(), 0.0);
    for (int k = 0; k < n; ++k) slots[matrix.slot(k, k)] = k == 2 ? 0.0 : 1.0;
    Eigen::VectorXd right = b;
    Eigen::VectorXd x(n);
    CHECK(matrix.solve(slots.data(), right.data(), x.data()) == 2);
    // The solver serves again after that.
    std::fill(slots.begin(), slots.end(), 0.0);
    for (int k = 0; k < n; ++k) slots[matrix.slot(k, k)] = 2.0;
    right = b;
    CHECK(matrix.solve(slots.data(), right.data(), x.data()) == -1);
    CHECK(x.isApproxToConstant(0.5));
  }
  SECTION("two unknowns of which only the sum is told") {
    a(1, 2) = a(2, 1) = a(1, 1) = a(2, 2) = 1.0;
    const int named = solve(a, b).first;
    CHECK(named >= 0);
    // The sparse solver does not tell which; see matrix.cpp.
    if (n <= BitLu::kMost) CHECK((named == 1 || named == 2));
  }
}

TEST_CASE("a system of no unknowns is solved", "[nodal][lu]") {
  Matrix none(0, {});
  CHECK(none.slots() == 0);
  CHECK(none.solve(nullptr, nullptr, nullptr) == -1);
}

TEST_CASE("what is not finite is not solved", "[nodal][lu]") {
  Eigen::MatrixXd a = Eigen::MatrixXd::Identity(3, 3);
  a(1, 1) = std::numeric_limits<double>::infinity();
  CHECK(solve(a, Eigen::VectorXd::Ones(3)).first == 1);
}

}  // namespace benchproof
