#pragma once

#include <functional>
#include <memory>
#include <vector>

namespace benchproof::test {

/// IDA of SUNDIALS over F(t, y, y') = 0, a system of index 1: a variable-order,
/// variable-step method [A. C. Hindmarsh et al., "SUNDIALS: Suite of nonlinear and
/// differential/algebraic equation solvers", ACM Trans. Math. Softw. 31 (2005)
/// 363-396]. Matrices are dense, by differences.
class IdaIntegrator {
 public:
  /// Writes F(t, y, y') into `out`.
  using Residual = std::function<void(double seconds, const double* y,
                                      const double* rates, double* out)>;

  /// Starts from y = y' = 0. `is_differential` is one per unknown; the errors of others
  /// are not judged.
  /// @throws std::runtime_error, here and below, where IDA gives up.
  IdaIntegrator(Residual residual, const std::vector<bool>& is_differential,
                double relative, double absolute);
  ~IdaIntegrator();
  IdaIntegrator(const IdaIntegrator&) = delete;
  IdaIntegrator& operator=(const IdaIntegrator&) = delete;

  [[nodiscard]] const double* values() const;

  /// Goes on from the present values, which stay as they are, at `from`, where the
  /// equations have a corner; no step is to go beyond `stop`.
  void begin(double from, double stop);
  /// Makes algebraic unknowns and rates fit the others, by Newton's method.
  void make_consistent(double towards);
  /// Steps until `to` is reached, or once. Returns the time reached.
  double advance(double to);
  double step(double to);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace benchproof::test
