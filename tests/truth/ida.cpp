#include "tests/truth/ida.h"

#include <ida/ida.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_context.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <cstdint>
#include <memory>
#include <stdexcept>
#include <string>
#include <type_traits>
#include <utility>

#include "core/device/regulator.h"
#include "core/network/edits.h"
#include "core/network/equations.h"

namespace benchproof::test {
namespace {

/// Where things stand among the unknowns.
struct Places {
  explicit Places(const Structure& s)
      : sources(static_cast<int>(s.nodes.size()) - 1),
        inductors(sources + static_cast<int>(s.voltage_sources.size())),
        regulators(inductors + static_cast<int>(s.inductors.size())),
        charges(regulators + static_cast<int>(s.regulators.size())),
        flows(charges + static_cast<int>(s.capacitors.size())),
        size(flows + static_cast<int>(s.capacitors.size())) {}
  int sources;
  int inductors;
  int regulators;
  int charges;  ///< Voltages of capacitors.
  int flows;    ///< Currents of capacitors.
  int size;
};

struct Problem {
  const Timeline* timeline;
  Places at;
  std::vector<double> sum;
  std::vector<double> largest;
};

/// The current at which a regulator drops `volts` below its target. As an unknown that
/// drop is as good as the current, and its corners are of one scale: with the current,
/// whose slope changes by 1e6 within 1e-10 A, IDA's iteration, which keeps its matrix
/// from step to step, takes any value for an answer.
double passed(const RegulatorModel& m, double volts) {
  const double none = pass(m, 0.0, 0.0, 0.0).error;
  const auto excess = [&](double amps) {
    return pass(m, 0.0, 0.0, amps).error - none - volts;
  };
  const double most = 1.0 + std::abs(volts) / m.resistance;
  std::uintmax_t iterations = 200;
  const auto [low, high] = boost::math::tools::toms748_solve(
      excess, -most, most, boost::math::tools::eps_tolerance<double>(52), iterations);
  return 0.5 * (low + high);
}

int residual_of(double seconds, N_Vector unknowns, N_Vector derivatives, N_Vector out,
                void* user) {
  auto& p = *static_cast<Problem*>(user);
  const double* y = N_VGetArrayPointer(unknowns);
  const double* dy = N_VGetArrayPointer(derivatives);
  double* r = N_VGetArrayPointer(out);
  const Network network = network_at(*p.timeline, seconds);
  const Structure& s = *network.structure;
  const Values& x = network.values;
  const Places& at = p.at;
  std::vector<double> v(s.nodes.size(), 0.0);
  std::copy(y, y + at.sources, v.begin() + 1);
  Currents branches;
  branches.voltage_sources.assign(y + at.sources, y + at.inductors);
  branches.inductors.assign(y + at.inductors, y + at.regulators);
  for (std::size_t k = 0; k < s.regulators.size(); ++k) {
    branches.regulators.push_back(
        {0.0, 0.0, -passed(x.regulators[k], y[at.regulators + k])});
  }
  Currents currents = currents_at(network, v, branches);
  currents.capacitors.assign(y + at.flows, y + at.size);
  p.sum.assign(s.nodes.size(), 0.0);
  p.largest.assign(s.nodes.size(), 0.0);
  sum_at_nodes(s, currents, p.sum, p.largest);
  for (std::size_t node = 1; node < s.nodes.size(); ++node) {
    r[node - 1] = p.sum[node];
  }
  for (std::size_t k = 0; k < s.voltage_sources.size(); ++k) {
    const TwoEnds& e = s.voltage_sources[k];
    r[at.sources + k] = v[e.a] - v[e.b] - x.volts[k];
  }
  for (std::size_t k = 0; k < s.inductors.size(); ++k) {
    const TwoEnds& e = s.inductors[k];
    const double inside = v[e.a] - v[e.b] - x.coils[k].ohms * y[at.inductors + k];
    // v = v_L + R (i + G v_L), v_L = L di/dt.
    const double inductance = 1.0 + x.coils[k].ohms * x.coils[k].siemens;
    r[at.inductors + k] =
        inside - inductance * x.coils[k].henries * dy[at.inductors + k];
  }
  for (std::size_t k = 0; k < s.regulators.size(); ++k) {
    const auto [in, common, outlet] = s.regulators[k].ends;
    r[at.regulators + k] =
        pass(x.regulators[k], v[in] - v[common], v[outlet] - v[common], 0.0).error +
        y[at.regulators + k];
  }
  for (std::size_t k = 0; k < s.capacitors.size(); ++k) {
    const TwoEnds& e = s.capacitors[k];
    r[at.charges + k] = v[e.a] - v[e.b] - y[at.charges + k];
    r[at.flows + k] = x.farads[k] * dy[at.charges + k] - y[at.flows + k];
  }
  return 0;
}

void demand(int flag, const char* what) {
  if (flag < 0) {
    throw std::runtime_error(std::string("IDA: ") + what + ": " + std::to_string(flag));
  }
}

void free_ida(void* memory) { IDAFree(&memory); }
void free_solver(SUNLinearSolver solver) { SUNLinSolFree(solver); }

}  // namespace

std::vector<std::vector<double>> solve_by_ida(const Timeline& timeline,
                                              const std::vector<double>& times,
                                              double relative, double absolute) {
  const Structure& s = *timeline.network.structure;
  Problem problem{&timeline, Places(s), {}, {}};
  const Places& at = problem.at;
  sundials::Context context;
  const auto vector = [&] {
    std::shared_ptr<std::remove_pointer_t<N_Vector>> v(N_VNew_Serial(at.size, context),
                                                       N_VDestroy);
    N_VConst(0.0, v.get());
    return v;
  };
  const auto y = vector();
  const auto dy = vector();
  const auto id = vector();
  double* is_differential = N_VGetArrayPointer(id.get());
  for (int k = at.inductors; k < at.regulators; ++k) is_differential[k] = 1.0;
  for (int k = at.charges; k < at.flows; ++k) is_differential[k] = 1.0;
  const std::shared_ptr<std::remove_pointer_t<SUNMatrix>> matrix(
      SUNDenseMatrix(at.size, at.size, context), SUNMatDestroy);
  const std::shared_ptr<std::remove_pointer_t<SUNLinearSolver>> linear(
      SUNLinSol_Dense(y.get(), matrix.get(), context), free_solver);
  const std::shared_ptr<void> ida(IDACreate(context), free_ida);
  demand(IDAInit(ida.get(), residual_of, 0.0, y.get(), dy.get()), "init");
  demand(IDASStolerances(ida.get(), relative, absolute), "tolerances");
  demand(IDASetLinearSolver(ida.get(), linear.get(), matrix.get()), "linear solver");
  demand(IDASetUserData(ida.get(), &problem), "user data");
  demand(IDASetId(ida.get(), id.get()), "ids");
  demand(IDASetSuppressAlg(ida.get(), 1), "error test");
  demand(IDASetMaxNumSteps(ida.get(), 1'000'000), "steps");
  demand(IDASetMaxNumItersIC(ida.get(), 50), "iterations");

  std::vector<double> bounds{0.0};
  for (const double corner : corners_of(timeline)) bounds.push_back(corner);
  bounds.push_back(timeline.span);
  std::vector<std::vector<double>> rows;
  std::size_t next = 0;
  const auto keep = [&] {
    const double* v = N_VGetArrayPointer(y.get());
    std::vector<double> row{0.0};
    row.insert(row.end(), v, v + at.sources);
    rows.push_back(std::move(row));
    ++next;
  };
  while (next < times.size() && times[next] == 0.0) keep();
  for (std::size_t k = 0; k + 1 < bounds.size(); ++k) {
    const double from = bounds[k];
    const double to = bounds[k + 1];
    demand(IDAReInit(ida.get(), from, y.get(), dy.get()), "start");
    demand(IDASetStopTime(ida.get(), to), "stop time");
    demand(IDACalcIC(ida.get(), IDA_YA_YDP_INIT, from + 1e-3 * (to - from)),
           "initial condition");
    demand(IDAGetConsistentIC(ida.get(), y.get(), dy.get()), "initial condition");
    double reached = from;
    while (reached < to) {
      const bool is_asked = next < times.size() && times[next] < to;
      demand(IDASolve(ida.get(), is_asked ? times[next] : to, &reached, y.get(),
                      dy.get(), IDA_NORMAL),
             "step");
      if (is_asked) {
        keep();
      } else {
        while (next < times.size() && times[next] == to) keep();
      }
    }
  }
  return rows;
}

}  // namespace benchproof::test
