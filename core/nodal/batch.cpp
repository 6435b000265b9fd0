#include "core/nodal/batch.h"

#include <algorithm>
#include <optional>
#include <utility>

#include "core/network/equations.h"
#include "core/nodal/detail/lane_kernel.h"
#include "core/nodal/detail/newton.h"
#include "core/nodal/nodal_solver.h"

namespace benchproof {

LaneKernel::~LaneKernel() = default;

namespace {

LaneKernel* make_kernel(const LaneProblem& problem) {
#ifdef BENCHPROOF_AVX2
  if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma"))
    return make_avx2_kernel(problem);
#endif
  return make_plain_kernel(problem);
}

/// A device moved to its temperature, and what it was moved from: most copies have the
/// same models.
template <class Model, class Device>
struct Moved {
  Model model;
  double celsius = 0.0;
  Device device;
};

template <class Model, class Device, class Move>
const Device& moved(Moved<Model, Device>& known, const Model& model, double celsius,
                    const Move& move) {
  if (known.celsius != celsius || !(known.model == model))
    known = {model, celsius, move(model, celsius)};
  return known.device;
}

/// Writes what varies into one lane.
class Lane {
 public:
  Lane(std::size_t lane, std::size_t lanes, const Network& nominal)
      : network(nominal), lane_(lane), lanes_(lanes) {
    const Values& v = nominal.values;
    const double celsius = nominal.celsius;
    for (const auto& m : v.diodes) diodes_.push_back({m, celsius, at(m, celsius)});
    for (const auto& m : v.bipolars) bipolars_.push_back({m, celsius, at(m, celsius)});
    for (const auto& m : v.mosfets) mosfets_.push_back({m, celsius, at(m, celsius)});
  }

  Network network;

  void write(LaneValues& to) {
    const Values& v = network.values;
    const double celsius = network.celsius;
    const auto plain = [this](std::vector<double>& list,
                              const std::vector<double>& from) {
      for (std::size_t k = 0; k < from.size(); ++k) list[k * lanes_ + lane_] = from[k];
    };
    plain(to.ohms, v.ohms);
    plain(to.volts, v.volts);
    plain(to.amps, v.amps);
    for (std::size_t k = 0; k < v.coils.size(); ++k) {
      const CoilAt coil = at(v.coils[k]);
      const double three[] = {coil.ohms, coil.siemens, coil.share};
      for (std::size_t n = 0; n < 3; ++n)
        to.coils[(3 * k + n) * lanes_ + lane_] = three[n];
    }
    const auto move = [](const auto& m, double at_celsius) {
      return at(m, at_celsius);
    };
    std::size_t number = 0;
    std::vector<double>* list = &to.diodes;
    const auto put = [&](const double& value) {
      (*list)[number++ * lanes_ + lane_] = value;
    };
    for (std::size_t k = 0; k < v.diodes.size(); ++k)
      each_number_of_diode(moved(diodes_[k], v.diodes[k], celsius, move), put);
    number = 0;
    list = &to.bipolars;
    for (std::size_t k = 0; k < v.bipolars.size(); ++k)
      each_number_of_bipolar(moved(bipolars_[k], v.bipolars[k], celsius, move), put);
    number = 0;
    list = &to.mosfets;
    for (std::size_t k = 0; k < v.mosfets.size(); ++k)
      each_number_of_mos(moved(mosfets_[k], v.mosfets[k], celsius, move), put);
    number = 0;
    list = &to.regulators;
    for (const RegulatorModel& m : v.regulators) {
      const RegulatorAt device = at(m);
      each_number_of_regulator(device, put);
    }
  }

 private:
  std::size_t lane_;
  std::size_t lanes_;
  std::vector<Moved<DiodeModel, DiodeAt>> diodes_;
  std::vector<Moved<BipolarModel, BipolarAt>> bipolars_;
  std::vector<Moved<MosModel, MosAt>> mosfets_;
};

}  // namespace

struct BatchSolver::Impl {
  Impl(const Network& given, const Solution* known)
      : nominal(given),
        newton(nominal.structure, false),
        settling(settling_at_rest({})) {
    start(known != nullptr ? *known : alone(nominal));
  }

  /// What is found of one network by itself.
  Solution alone(const Network& network) {
    if (!scalar) scalar.emplace(nominal.structure);
    return scalar->operating_point(network);
  }

  /// Lets the lanes start at the nominal solution.
  void start(const Solution& solution) {
    if (solution.status != SolveStatus::solved || newton.layout().size == 0) return;
    newton.bind(nominal);
    newton.start_near(solution);
    if (newton.run(settling) != Outcome::settled) return;
    kernel.reset(make_kernel({newton.layout(), settling}));
    const std::size_t lanes = kernel->lanes();
    filled.reserve(lanes);
    for (std::size_t lane = 0; lane < lanes; ++lane)
      filled.emplace_back(lane, lanes, nominal);
    const Structure& s = *nominal.structure;
    values.ohms.resize(s.resistors.size() * lanes);
    values.volts.resize(s.voltage_sources.size() * lanes);
    values.amps.resize(s.current_sources.size() * lanes);
    values.coils.resize(3 * s.inductors.size() * lanes);
    values.diodes.resize(sizeof(DiodeAt) / sizeof(double) * s.diodes.size() * lanes);
    values.bipolars.resize(sizeof(BipolarAt) / sizeof(double) * s.bipolars.size() *
                           lanes);
    values.mosfets.resize(sizeof(MosAt) / sizeof(double) * s.mosfets.size() * lanes);
    values.regulators.resize(sizeof(RegulatorAt) / sizeof(double) *
                             s.regulators.size() * lanes);
    results.unknowns.resize(static_cast<std::size_t>(newton.layout().size) * lanes);
    results.diodes.resize(s.diodes.size() * lanes);
    results.bipolars.resize(3 * s.bipolars.size() * lanes);
    results.mosfets.resize(3 * s.mosfets.size() * lanes);
    results.regulators.resize(3 * s.regulators.size() * lanes);
    results.is_good.resize(lanes);
    solution_.status = SolveStatus::solved;
    Currents& c = solution_.currents;
    solution_.volts.resize(s.nodes.size());
    c.resistors.resize(s.resistors.size());
    c.capacitors.resize(s.capacitors.size());
    c.strays.resize(s.strays.size());
    c.inductors.resize(s.inductors.size());
    c.voltage_sources.resize(s.voltage_sources.size());
    c.current_sources.resize(s.current_sources.size());
    c.diodes.resize(s.diodes.size());
    c.bipolars.resize(s.bipolars.size());
    c.mosfets.resize(s.mosfets.size());
    c.regulators.resize(s.regulators.size());
  }

  /// One lane's solution.
  const Solution& read(std::size_t lane, const Network& network) {
    const Structure& s = *nominal.structure;
    const Layout& layout = newton.layout();
    const std::size_t lanes = kernel->lanes();
    const auto of = [&](const std::vector<double>& list, std::size_t number) {
      return list[number * lanes + lane];
    };
    solution_.iterations = results.iterations;
    std::vector<double>& volts = solution_.volts;
    for (std::size_t k = 1; k < volts.size(); ++k)
      volts[k] = of(results.unknowns, k - 1);
    Currents& c = solution_.currents;
    for (std::size_t k = 0; k < c.resistors.size(); ++k) {
      const TwoEnds& e = s.resistors[k];
      c.resistors[k] = (volts[e.a] - volts[e.b]) / network.values.ohms[k];
    }
    const auto branches = [&](std::vector<double>& to, int first) {
      for (std::size_t k = 0; k < to.size(); ++k)
        to[k] = of(results.unknowns, static_cast<std::size_t>(first) + k);
    };
    branches(c.voltage_sources, layout.nodes);
    branches(c.inductors, layout.first_inductor());
    for (std::size_t k = 0; k < c.current_sources.size(); ++k)
      c.current_sources[k] = -network.values.amps[k];
    for (std::size_t k = 0; k < c.diodes.size(); ++k)
      c.diodes[k] = of(results.diodes, k);
    const auto threes = [&](auto& to, const std::vector<double>& from) {
      for (std::size_t k = 0; k < to.size(); ++k) {
        for (std::size_t end = 0; end < 3; ++end) to[k][end] = of(from, 3 * k + end);
      }
    };
    threes(c.bipolars, results.bipolars);
    threes(c.mosfets, results.mosfets);
    threes(c.regulators, results.regulators);
    return solution_;
  }

  void solve(std::size_t first, std::size_t count, const Fill& fill, const Look& look) {
    counts.copies += count;
    if (!kernel) {
      Network network = nominal;
      for (std::size_t k = first; k < first + count; ++k) {
        fill(k, network);
        hand_on(k, network, look);
      }
      return;
    }
    const std::size_t lanes = kernel->lanes();
    for (std::size_t done = 0; done < count; done += lanes) {
      const std::size_t here = std::min(lanes, count - done);
      for (std::size_t lane = 0; lane < lanes; ++lane) {
        // The last one stands for those that are not there.
        fill(first + done + std::min(lane, here - 1), filled[lane].network);
        filled[lane].write(values);
      }
      kernel->solve(values, newton.memory(), results);
      for (std::size_t lane = 0; lane < here; ++lane) {
        const std::size_t k = first + done + lane;
        const Network& network = filled[lane].network;
        if (results.is_good[lane] != 0.0) {
          look(k, network, read(lane, network));
        } else {
          hand_on(k, network, look);
        }
      }
    }
  }

  void hand_on(std::size_t k, const Network& network, const Look& look) {
    ++counts.handed_on;
    look(k, network, alone(network));
  }

  Network nominal;
  Newton newton;
  std::optional<NodalSolver> scalar;  ///< Made when it is first asked for.
  Settling settling;
  std::unique_ptr<LaneKernel> kernel;  ///< Null where the nominal one has no solution.
  std::vector<Lane> filled;
  LaneValues values;
  LaneResults results;
  Solution solution_;
  Counts counts;
};

BatchSolver::BatchSolver(const Network& nominal, const Solution* known) {
  check_network(nominal);
  impl_ = std::make_unique<Impl>(nominal, known);
}

BatchSolver::~BatchSolver() = default;
BatchSolver::BatchSolver(BatchSolver&&) noexcept = default;
BatchSolver& BatchSolver::operator=(BatchSolver&&) noexcept = default;

std::size_t BatchSolver::lanes() const {
  return impl_->kernel ? impl_->kernel->lanes() : 1;
}

void BatchSolver::solve(std::size_t first, std::size_t count, const Fill& fill,
                        const Look& look) {
  impl_->solve(first, count, fill, look);
}

BatchSolver::Counts BatchSolver::counts() const { return impl_->counts; }

}  // namespace benchproof
