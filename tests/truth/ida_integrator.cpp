#include "tests/truth/ida_integrator.h"

#include <ida/ida.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_context.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include <stdexcept>
#include <string>
#include <type_traits>
#include <utility>

namespace benchproof::test {
namespace {

void demand(int flag, const char* what) {
  if (flag < 0) {
    throw std::runtime_error(std::string("IDA: ") + what + ": " + std::to_string(flag));
  }
}

void free_ida(void* memory) { IDAFree(&memory); }
void free_solver(SUNLinearSolver solver) { SUNLinSolFree(solver); }

using Vector = std::shared_ptr<std::remove_pointer_t<N_Vector>>;

Vector zeros(std::size_t size, const sundials::Context& context) {
  Vector v(N_VNew_Serial(static_cast<sunindextype>(size), context), N_VDestroy);
  N_VConst(0.0, v.get());
  return v;
}

int call_residual(double seconds, N_Vector y, N_Vector rates, N_Vector out,
                  void* residual) {
  (*static_cast<IdaIntegrator::Residual*>(residual))(seconds, N_VGetArrayPointer(y),
                                                     N_VGetArrayPointer(rates),
                                                     N_VGetArrayPointer(out));
  return 0;
}

}  // namespace

struct IdaIntegrator::State {
  State(Residual equations, std::size_t size)
      : residual(std::move(equations)),
        y(zeros(size, context)),
        rates(zeros(size, context)),
        ids(zeros(size, context)),
        matrix(SUNDenseMatrix(static_cast<sunindextype>(size),
                              static_cast<sunindextype>(size), context),
               SUNMatDestroy),
        linear(SUNLinSol_Dense(y.get(), matrix.get(), context), free_solver),
        ida(IDACreate(context), free_ida) {}

  sundials::Context context;
  Residual residual;
  Vector y;
  Vector rates;
  Vector ids;
  std::shared_ptr<std::remove_pointer_t<SUNMatrix>> matrix;
  std::shared_ptr<std::remove_pointer_t<SUNLinearSolver>> linear;
  std::shared_ptr<void> ida;
};

IdaIntegrator::IdaIntegrator(Residual residual,
                             const std::vector<bool>& is_differential, double relative,
                             double absolute)
    : state_(std::make_unique<State>(std::move(residual), is_differential.size())) {
  State& s = *state_;
  double* ids = N_VGetArrayPointer(s.ids.get());
  for (std::size_t k = 0; k < is_differential.size(); ++k)
    ids[k] = is_differential[k] ? 1.0 : 0.0;
  void* ida = s.ida.get();
  demand(IDAInit(ida, call_residual, 0.0, s.y.get(), s.rates.get()), "init");
  demand(IDASStolerances(ida, relative, absolute), "tolerances");
  demand(IDASetLinearSolver(ida, s.linear.get(), s.matrix.get()), "linear solver");
  demand(IDASetUserData(ida, &s.residual), "user data");
  demand(IDASetId(ida, s.ids.get()), "ids");
  demand(IDASetSuppressAlg(ida, 1), "error test");
  demand(IDASetMaxNumSteps(ida, 1'000'000), "steps");
  demand(IDASetMaxNumItersIC(ida, 50), "iterations");
}

IdaIntegrator::~IdaIntegrator() = default;

const double* IdaIntegrator::values() const {
  return N_VGetArrayPointer(state_->y.get());
}

void IdaIntegrator::begin(double from, double stop) {
  State& s = *state_;
  demand(IDAReInit(s.ida.get(), from, s.y.get(), s.rates.get()), "start");
  demand(IDASetStopTime(s.ida.get(), stop), "stop time");
}

void IdaIntegrator::make_consistent(double towards) {
  State& s = *state_;
  demand(IDACalcIC(s.ida.get(), IDA_YA_YDP_INIT, towards), "initial condition");
  demand(IDAGetConsistentIC(s.ida.get(), s.y.get(), s.rates.get()),
         "initial condition");
}

double IdaIntegrator::advance(double to) {
  double reached = 0.0;
  State& s = *state_;
  demand(IDASolve(s.ida.get(), to, &reached, s.y.get(), s.rates.get(), IDA_NORMAL),
         "step");
  return reached;
}

double IdaIntegrator::step(double to) {
  double reached = 0.0;
  State& s = *state_;
  demand(IDASolve(s.ida.get(), to, &reached, s.y.get(), s.rates.get(), IDA_ONE_STEP),
         "step");
  return reached;
}

}  // namespace benchproof::test
