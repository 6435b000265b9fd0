#include "core/tolerance/states/copied_state.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "core/check/agree/agreement.h"

namespace benchproof {
namespace {

constexpr std::size_t kBlock = 16;  // Copies whose observations are kept at a time.

/// The index of the ambient temperature's spread, or -1.
int ambient_spread(const std::vector<Spread>& spreads) {
  const auto found = std::find_if(spreads.begin(), spreads.end(),
                                  [](const Spread& s) { return s.part < 0; });
  return found == spreads.end() ? -1 : static_cast<int>(found - spreads.begin());
}

/// The limit of a gauge's rating at an ambient temperature, with its times.
void put_limit(const Part& part, double ambient, Gauge& gauge) {
  const auto limit = limit_number_of(*gauge.rating, part, ambient);
  if (!limit) return;
  if (gauge.upper) gauge.upper = fault_times(*gauge.rating, part) * *limit;
  if (gauge.lower) gauge.lower = *limit;
}

void take_average(const PosedState& posed, SeenState& seen) {
  std::vector<double> shares;
  for (const PosedPhase& phase : posed.phases()) shares.push_back(phase.phase.share);
  seen.average = average(seen.phases, shares);
  seen.strong.resize(seen.phases.size());
}

}  // namespace

GaugedState::GaugedState(const PosedState& posed, const std::vector<Spread>& spreads,
                         const SeenState& nominal, const IsWanted& is_wanted)
    : posed_(posed), spreads_(spreads) {
  const CheckInput input = check_input(posed, nominal);
  std::vector<Gauge> all = gauges_of(input);
  std::vector<double> values;
  GaugeReader(all, input).read(input, values);
  for (std::size_t k = 0; k < all.size(); ++k) {
    if (is_wanted && !is_wanted(all[k], values[k])) continue;
    gauges_.push_back(std::move(all[k]));
    nominal_.push_back(values[k]);
  }
}

CopiedState::CopiedState(const PosedState& posed, const std::vector<Spread>& spreads,
                         const SeenState& nominal)
    : GaugedState(posed, spreads, nominal), movers_(Mover::of(spreads, posed)) {}

bool CopiedState::is_moved_by(std::size_t spread) const {
  return std::any_of(movers_.begin(), movers_.end(), [spread](const Mover& mover) {
    return mover.is_moved_by(spread);
  });
}

std::vector<Network> CopiedState::networks(const double* places) const {
  std::vector<Network> networks;
  for (std::size_t phase = 0; phase < movers_.size(); ++phase) {
    networks.push_back(posed().phases()[phase].network);
    movers_[phase].move(places, networks.back());
  }
  return networks;
}

std::vector<std::vector<std::size_t>> draws_that_move(const CopiedState& state) {
  std::vector<std::vector<std::size_t>> moving;
  for (std::vector<std::size_t>& draw : by_draw(state.spreads()))
    if (std::any_of(draw.begin(), draw.end(),
                    [&state](std::size_t k) { return state.is_moved_by(k); }))
      moving.push_back(std::move(draw));
  return moving;
}

Measurer::Measurer(const CopiedState& state)
    : Measurer(state, [&state](std::size_t, const double* places, std::size_t phase,
                               Network& network) {
        state.movers()[phase].move(places, network);
      }) {}

Measurer::Measurer(const GaugedState& state, Put put,
                   const std::vector<const Solution*>& known)
    : state_(state),
      put_(std::move(put)),
      warmed_(ambient_spread(state.spreads()) < 0
                  ? std::nullopt
                  : std::optional(state.posed().circuit())),
      circuit_(warmed_ ? *warmed_ : state.posed().circuit()),
      stored_(state.posed().phases().size() - 1, std::vector<Observation>(kBlock)),
      solved_(stored_.size(), std::vector<char>(kBlock)),
      seen_(state.posed().phases().size()),
      input_{circuit_, state.posed().state(), state.posed().parts(), {}, average_},
      places_(kBlock * state.spreads().size()),
      gauges_(state.gauges()),
      reader_(gauges_, input_),
      by_ambient_(gauges_.size(), false),
      values_(gauges_.size()),
      failed_(gauges_.size()) {
  const std::vector<PosedPhase>& phases = state.posed().phases();
  for (std::size_t k = 0; k < phases.size(); ++k) {
    solvers_.emplace_back(phases[k].network, known.empty() ? nullptr : known[k]);
    shares_.push_back(phases[k].phase.share);
    input_.phases.push_back({phases[k].phase, seen_[k], nullptr});
  }
  const int ambient = ambient_spread(state.spreads());
  if (ambient < 0) return;
  const Spread& spread = state.spreads()[static_cast<std::size_t>(ambient)];
  for (std::size_t k = 0; k < gauges_.size(); ++k) {
    if (gauges_[k].rating == nullptr) continue;
    const Part& part = state.posed().parts()[static_cast<std::size_t>(gauges_[k].part)];
    Gauge cold = gauges_[k];
    Gauge warm = gauges_[k];
    put_limit(part, spread.least, cold);
    put_limit(part, spread.most, warm);
    by_ambient_[k] = cold.upper != warm.upper || cold.lower != warm.lower;
  }
}

void Measurer::measure(std::size_t first, std::size_t count, const Places& places,
                       const Look& look) {
  for (std::size_t done = 0; done < count; done += kBlock)
    measure_block(first + done, std::min(kBlock, count - done), places, look);
}

void Measurer::measure_block(std::size_t first, std::size_t count, const Places& places,
                             const Look& look) {
  const std::size_t width = state_.spreads().size();
  for (std::size_t k = 0; k < count; ++k) places(first + k, places_.data() + k * width);
  const auto solve = [&](std::size_t phase, const BatchSolver::Look& take) {
    solvers_[phase].solve(
        0, count,
        [&](std::size_t k, Network& network) {
          put_(first + k, places_.data() + k * width, phase, network);
        },
        take);
  };
  const auto see = [&](const Network& network, const Solution& solution,
                       Observation& seen) {
    const bool is_solved = is_complete(network, solution);
    if (is_solved) observe(circuit_, network, solution, seen);
    return is_solved;
  };
  const std::size_t last = solvers_.size() - 1;
  for (std::size_t phase = 0; phase < last; ++phase)
    solve(phase, [&](std::size_t k, const Network& network, const Solution& solution) {
      solved_[phase][k] = see(network, solution, stored_[phase][k]) ? 1 : 0;
    });
  // With the last phase a copy is complete.
  solve(last, [&](std::size_t k, const Network& network, const Solution& solution) {
    bool is_solved = see(network, solution, seen_[last]);
    for (std::size_t phase = 0; phase < last; ++phase) {
      is_solved = is_solved && solved_[phase][k] != 0;
      std::swap(seen_[phase], stored_[phase][k]);
    }
    look_at(places_.data() + k * width, first + k, is_solved, look);
  });
}

void Measurer::put_ambient(const double* places) {
  const int ambient = ambient_spread(state_.spreads());
  if (ambient < 0) return;
  const auto index = static_cast<std::size_t>(ambient);
  warmed_->ambient =
      value_at(state_.spreads()[index], state_.posed().parts(), places[index]);
  for (std::size_t k = 0; k < gauges_.size(); ++k)
    if (by_ambient_[k])
      put_limit(state_.posed().parts()[static_cast<std::size_t>(gauges_[k].part)],
                circuit_.ambient, gauges_[k]);
}

void Measurer::look_at(const double* places, std::size_t index, bool is_solved,
                       const Look& look) {
  if (is_solved) {
    put_ambient(places);
    average(seen_, shares_, average_);
    reader_.read(input_, values_);
  } else {
    std::fill(values_.begin(), values_.end(), std::numeric_limits<double>::quiet_NaN());
  }
  look({index, is_solved, values_, input_, *this});
}

const std::vector<bool>& Measurer::find_failed(bool is_solved) {
  for (std::size_t k = 0; k < gauges_.size(); ++k)
    failed_[k] = is_solved && fails(gauges_[k], values_[k]);
  return failed_;
}

BatchSolver::Counts Measurer::counts() const {
  BatchSolver::Counts sum;
  for (const BatchSolver& solver : solvers_) {
    sum.copies += solver.counts().copies;
    sum.handed_on += solver.counts().handed_on;
  }
  return sum;
}

std::optional<SeenState> seen_at(const CopiedState& state, const double* places,
                                 const Solve& witness) {
  SeenState seen;
  for (const Network& network : state.networks(places)) {
    const Solution solution = witness(network);
    if (!is_complete(network, solution)) return std::nullopt;
    seen.phases.push_back(observe(state.posed().circuit(), network, solution));
  }
  take_average(state.posed(), seen);
  return seen;
}

SeenByBoth seen_by_both(const GaugedState& state, const std::vector<Network>& networks,
                        const Solve& engine, const Solve& nodal) {
  const Circuit& circuit = state.posed().circuit();
  SeenByBoth both;
  both.is_solved = both.agrees = true;
  for (const Network& network : networks) {
    const Solution e = engine(network);
    const Solution n = nodal(network);
    if (!is_complete(network, e) || !is_complete(network, n)) return {};
    both.agrees = both.agrees && agree(circuit, network, e, n).agrees;
    both.engine.phases.push_back(observe(circuit, network, e));
    both.nodal.phases.push_back(observe(circuit, network, n));
  }
  for (SeenState* seen : {&both.engine, &both.nodal})
    take_average(state.posed(), *seen);
  return both;
}

Circuit circuit_at(const GaugedState& state, const double* places) {
  return circuit_at(state.spreads(), places, state.posed().circuit());
}

std::vector<double> values_at(const GaugedState& state, const double* places,
                              const SeenState& seen) {
  const Circuit circuit = circuit_at(state, places);
  CheckInput input = check_input(state.posed(), seen);
  std::vector<double> values;
  GaugeReader(state.gauges(), input)
      .read(check_input(circuit, input.state, input.parts, std::move(input.phases),
                        input.average),
            values);
  return values;
}

}  // namespace benchproof
