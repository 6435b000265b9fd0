#include "core/nodal/detail/matrix.h"

#include <Eigen/Dense>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <random>
#include <utility>
#include <vector>

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

std::vector<std::pair<int, int>> entries_of(const Eigen::MatrixXd& a) {
  std::vector<std::pair<int, int>> entries;
  for (int r = 0; r < a.rows(); ++r) {
    for (int c = 0; c < a.cols(); ++c) {
      if (a(r, c) != 0.0) entries.emplace_back(r, c);
    }
  }
  return entries;
}

/// What Matrix says: the unknown without a pivot, or -1 and the solution.
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
  // Pivots are chosen by masks up to 64, beyond by KLU.
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

TEST_CASE("other values of one pattern are solved by the same pivots or by better ones",
          "[nodal][lu]") {
  constexpr std::uint64_t kSeed = 20261129;
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal;
  for (const int n : {2, 10, 30, 64, 90}) {
    const Eigen::MatrixXd pattern = sparse(n, 2 * n, random);
    Matrix matrix(n, entries_of(pattern));
    std::uniform_real_distribution<double> decade(-3.0, 3.0);
    for (int round = 0; round < 40; ++round) {
      Eigen::MatrixXd a = pattern;
      for (const auto& [r, c] : entries_of(pattern))
        a(r, c) *= std::pow(10.0, decade(random));
      const Eigen::VectorXd values = a.jacobiSvd().singularValues();
      const double condition = values(0) / values(n - 1);
      if (!(condition < 1e12)) continue;
      std::vector<double> slots(matrix.slots(), 0.0);
      for (const auto& [r, c] : entries_of(a)) slots[matrix.slot(r, c)] = a(r, c);
      Eigen::VectorXd b(n);
      for (int k = 0; k < n; ++k) b(k) = normal(random);
      Eigen::VectorXd x = Eigen::VectorXd::Zero(n);
      CAPTURE(kSeed, n, round, condition);
      REQUIRE(matrix.solve(slots.data(), b.data(), x.data()) == -1);
      const Eigen::VectorXd expected = Eigen::FullPivLU<Eigen::MatrixXd>(a).solve(b);
      // As above. A multiplier may be a million before pivots are chosen anew, so that
      // one step is not enough.
      REQUIRE(matrix.solve(slots.data(), b.data(), x.data()) == -1);
      CHECK((x - expected).norm() <= 10.0 * n * kEps * condition * expected.norm());
    }
  }
}

TEST_CASE("transposed systems of many right-hand sides, against Eigen's dense LU",
          "[nodal][lu]") {
  constexpr std::uint64_t kSeed = 20261130;
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal;
  for (const int n : {1, 3, 20, 64, 65, 100}) {
    const Eigen::MatrixXd pattern = sparse(n, 2 * n, random);
    Matrix matrix(n, entries_of(pattern));
    std::uniform_real_distribution<double> decade(-2.0, 2.0);
    for (int round = 0; round < 10; ++round) {
      const int sides = 1 + round;
      Eigen::MatrixXd a = pattern;
      for (const auto& [r, c] : entries_of(pattern))
        a(r, c) *= std::pow(10.0, decade(random));
      const Eigen::VectorXd values = a.jacobiSvd().singularValues();
      const double condition = values(0) / values(n - 1);
      if (!(condition < 1e12)) continue;
      std::vector<double> slots(matrix.slots(), 0.0);
      for (const auto& [r, c] : entries_of(a)) slots[matrix.slot(r, c)] = a(r, c);
      using Rows =
          Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;
      Rows right(n, sides);
      for (int k = 0; k < right.size(); ++k) right.data()[k] = normal(random);
      Rows y(n, sides);
      CAPTURE(kSeed, n, round, condition);
      REQUIRE(matrix.solve_transposed(slots.data(), sides, right.data(), y.data()) ==
              -1);
      const Eigen::MatrixXd expected =
          Eigen::FullPivLU<Eigen::MatrixXd>(a.transpose()).solve(right);
      // As above; poor pivots are mended by the second step.
      CHECK((y - expected).norm() <= 10.0 * n * kEps * condition * expected.norm());
    }
  }
}

TEST_CASE("a transposed system that is singular has no solution", "[nodal][lu]") {
  Matrix matrix(2, {{0, 0}, {0, 1}, {1, 0}, {1, 1}});
  const std::vector<double> slots(matrix.slots(), 1.0);
  const std::vector<double> right = {1.0, 2.0};
  std::vector<double> y(2);
  CHECK(matrix.solve_transposed(slots.data(), 1, right.data(), y.data()) >= 0);
}

TEST_CASE("pivots are chosen anew where one has become too small", "[nodal][lu]") {
  Matrix matrix(2, {{0, 0}, {0, 1}, {1, 0}, {1, 1}});
  const auto solve_with = [&](double corner) {
    std::vector<double> slots(matrix.slots(), 1.0);
    slots[matrix.slot(0, 0)] = corner;
    const std::vector<double> b = {corner + 2.0, 3.0};  // Of the unknowns 1 and 2.
    std::vector<double> x(2, 0.0);
    REQUIRE(matrix.solve(slots.data(), b.data(), x.data()) == -1);
    CHECK(std::abs(x[0] - 1.0) <= 4 * kEps);
    CHECK(std::abs(x[1] - 2.0) <= 8 * kEps);
  };
  solve_with(10.0);
  CHECK(matrix.pivotings() == 1);
  solve_with(20.0);
  CHECK(matrix.pivotings() == 1);
  for (const double small : {1e-9, 0.0}) solve_with(small);
  CHECK(matrix.pivotings() == 2);
}

TEST_CASE("pivots are chosen once where they stay good", "[nodal][lu]") {
  // A ladder of conductances: its matrix is diagonally dominant whatever they are, and
  // no multiplier is above 1 [Higham 2002, "Accuracy and Stability of Numerical
  // Algorithms", sec. 9.5].
  constexpr int kSize = 30;
  Eigen::MatrixXd a = Eigen::MatrixXd::Zero(kSize, kSize);
  const auto join = [&a](int i, int j, double siemens) {
    a(i, i) += siemens;
    a(j, j) += siemens;
    a(i, j) -= siemens;
    a(j, i) -= siemens;
  };
  for (int k = 0; k < kSize; ++k) a(k, k) = 1.0;
  for (int k = 0; k + 1 < kSize; ++k) join(k, k + 1, 1.0);
  Matrix matrix(kSize, entries_of(a));
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> decade(-6.0, 6.0);
  for (int round = 0; round < 100; ++round) {
    a.setZero();
    for (int k = 0; k < kSize; ++k) a(k, k) = std::pow(10.0, decade(random));
    for (int k = 0; k + 1 < kSize; ++k) join(k, k + 1, std::pow(10.0, decade(random)));
    std::vector<double> slots(matrix.slots(), 0.0);
    for (const auto& [r, c] : entries_of(a)) slots[matrix.slot(r, c)] = a(r, c);
    const Eigen::VectorXd b = Eigen::VectorXd::Ones(kSize);
    Eigen::VectorXd x = Eigen::VectorXd::Zero(kSize);
    REQUIRE(matrix.solve(slots.data(), b.data(), x.data()) == -1);
    CHECK((a * x - b).norm() <= 1e-9 * a.norm() * x.norm());
  }
  CHECK(matrix.pivotings() == 1);
}

TEST_CASE("rows are exchanged where a diagonal entry is missing", "[nodal][lu]") {
  // Row 0 meets everybody, so that it is eliminated last; the rest is a permutation
  // with one diagonal entry.
  Eigen::MatrixXd a = Eigen::MatrixXd::Zero(5, 5);
  a << 1, 2, 3, 4, 5,  //
      6, 0, 7, 0, 0,   //
      0, 0, 0, 8, 0,   //
      0, 0, 0, 0, 9,   //
      0, 3, 0, 0, 0;
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
    Eigen::VectorXd x = Eigen::VectorXd::Zero(n);
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
    CHECK((named == 1 || named == 2));
  }
}

TEST_CASE("a system of no unknowns is solved", "[nodal][lu]") {
  Matrix none(0, {});
  CHECK(none.slots() == 0);
  CHECK(none.solve(nullptr, nullptr, nullptr) == -1);
  CHECK(none.solve_transposed(nullptr, 1, nullptr, nullptr) == -1);
}

TEST_CASE("what is not finite is not solved", "[nodal][lu]") {
  Eigen::MatrixXd a = Eigen::MatrixXd::Identity(3, 3);
  a(1, 1) = std::numeric_limits<double>::infinity();
  CHECK(solve(a, Eigen::VectorXd::Ones(3)).first == 1);
}

}  // namespace benchproof
