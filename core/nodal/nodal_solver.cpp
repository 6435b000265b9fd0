#include "core/nodal/nodal_solver.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <string>
#include <utility>

#include "core/network/equations.h"
#include "core/nodal/detail/newton.h"

namespace benchproof {

struct NodalSolver::Impl {
  Impl(std::shared_ptr<const Structure> structure, NodalOptions given)
      : s(std::move(structure)),
        options(given),
        settling(settling_at_rest(given)),
        newton(s, false) {}

  [[nodiscard]] Solution result() const {
    Solution r = newton.solution();
    r.iterations = newton.iterations;
    if (const int node = newton.boundless_node(); node >= 0) {
      Solution boundless;
      boundless.iterations = newton.iterations;
      boundless.reason = "nothing limits the current at " +
                         newton.layout().name(Layout::unknown(node)) +
                         ": more than 1 GA would flow";
      return boundless;
    }
    return r;
  }

  Solution operating_point(const Network& network, const Solution* near) {
    newton.bind(network);
    newton.iterations = 0;
    if (newton.layout().size == 0) return result();
    if (near != nullptr) {
      newton.start_near(*near);
      if (newton.run(settling) == Outcome::settled) return result();
    }
    newton.start_cold();
    Outcome outcome = newton.run(settling);
    if (outcome == Outcome::settled) return result();
    const Memory last = newton.memory();
    outcome = newton.step_gmin(settling, options.continuation);
    if (outcome == Outcome::settled) return result();
    outcome = newton.step_sources(settling, options.continuation);
    if (outcome == Outcome::settled) return result();
    // Among very small resistances the currents' rounding may keep the steps above
    // their tolerance for ever. What obeys the equations a hundred times better than it
    // must, but for that rounding, is a solution all the same.
    newton.restore(last);
    Solution close = result();
    if (close.status == SolveStatus::solved) {
      const Residual r = residual(network, close);
      if (r.worst <= 0.5 && r.beyond_rounding <= 0.01 &&
          r.volts <= 0.01 * kResidualVolts)
        return close;
    }
    Solution failed;
    failed.status = SolveStatus::no_convergence;
    failed.iterations = newton.iterations;
    failed.reason = newton.layout().name(newton.restless()) +
                    (outcome == Outcome::singular ? " is not determined by the circuit"
                                                  : " would not settle") +
                    "; tried Newton's method, gmin stepping and source stepping";
    return failed;
  }

  std::shared_ptr<const Structure> s;
  NodalOptions options;
  Settling settling;
  Newton newton;
};

NodalSolver::NodalSolver(std::shared_ptr<const Structure> structure,
                         NodalOptions options) {
  if (!structure || structure->nodes.empty()) {
    throw std::invalid_argument("a nodal solver needs a structure with ground");
  }
  if (!(options.relative > 0.0) || !(options.volts > 0.0) || !(options.amps > 0.0) ||
      options.iterations < 1 || options.continuation < 1) {
    throw std::invalid_argument("a nodal solver's options must be above 0");
  }
  impl_ = std::make_unique<Impl>(std::move(structure), options);
}

NodalSolver::~NodalSolver() = default;
NodalSolver::NodalSolver(NodalSolver&&) noexcept = default;
NodalSolver& NodalSolver::operator=(NodalSolver&&) noexcept = default;

Solution NodalSolver::operating_point(const Network& network, const Solution* near) {
  if (network.structure != impl_->s) {
    throw std::invalid_argument("the network is of another structure than the solver");
  }
  check_network(network);
  if (near != nullptr && !impl_->newton.fits(*near)) {
    throw std::invalid_argument("a start that is no solution of the structure");
  }
  return impl_->operating_point(network, near);
}

Solution solve_nodal(const Network& network) {
  check_network(network);
  return NodalSolver(network.structure).operating_point(network);
}

}  // namespace benchproof
