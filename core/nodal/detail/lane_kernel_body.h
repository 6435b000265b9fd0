#pragma once

// Compiled once for each set of instructions (lane_kernel_*.cpp), see
// core/nodal/CMakeLists.txt and core/device/lanes.h.

#include <algorithm>
#include <type_traits>

#include "core/device/lanes.h"
#include "core/network/equations.h"
#include "core/nodal/detail/device_steps.h"
#include "core/nodal/detail/lane_kernel.h"

namespace benchproof::HWY_NAMESPACE {

/// Steps before a lane is given up.
constexpr int kMostSteps = 30;
/// Steps before what rounding leaves over is taken to keep them from settling, see
/// Newton::run.
constexpr int kCorrections = 8;
/// Multipliers beyond it make a step too poor.
constexpr double kMostGrowth = 1e6;

class Kernel final : public LaneKernel {
 public:
  explicit Kernel(const LaneProblem& problem)
      : layout_(problem.layout),
        settling_(problem.settling),
        s_(*layout_.structure),
        size_(static_cast<std::size_t>(layout_.size)),
        slots_(static_cast<std::size_t>(layout_.matrix.slots())),
        devices_(layout_),
        resistors_(s_.resistors.size()),
        inductors_(s_.inductors.size()),
        linear_(slots_),
        linear_right_(size_),
        right_(size_),
        step_(size_),
        next_(size_),
        settled_(Lanes(1.0) < 0.0) {
    memory_.x.resize(size_);
    memory_.diodes.resize(s_.diodes.size());
    memory_.bipolars.resize(s_.bipolars.size());
    memory_.mosfets.resize(s_.mosfets.size());
    memory_.regulators.resize(s_.regulators.size());
  }

  [[nodiscard]] std::size_t lanes() const override { return Lanes::kCount; }

  void solve(const LaneValues& values, const Memory& start,
             LaneResults& results) override {
    bind(values);
    start_at(start);
    const Elimination& elimination = layout_.matrix.elimination();
    work_.resize(static_cast<std::size_t>(elimination.slots()));
    std::fill(results.is_good.begin(), results.is_good.end(), 0.0);
    LaneMask told = Lanes(1.0) < 0.0;
    for (results.iterations = 0; results.iterations <= kMostSteps;
         ++results.iterations) {
      load(memory_.x);
      // What settled is told with what it leaves over by the equations where it is.
      const LaneMask now = settled_ && !told;
      if (results.iterations > 0 && any(now)) {
        tell(now, results);
        told = told || now;
        if (all(told)) return;
      }
      const bool corrects = results.iterations < kCorrections;
      if (!corrects) {
        load_right();
        (void)elimination.run(work_.data(), right_.data(), next_.data());
        load(next_);
      }
      const Lanes growth = elimination.run(work_.data(), right_.data(), step_.data());
      settled_ = growth <= kMostGrowth && follow(corrects);
    }
  }

 private:
  /// The `number`-th of a list of values.
  [[nodiscard]] static Lanes lanes_of(const std::vector<double>& values,
                                      std::size_t number) {
    return Lanes::load(values.data() + number * Lanes::kCount);
  }

  void bind(const LaneValues& values) {
    std::fill(linear_.begin(), linear_.end(), Lanes());
    std::fill(linear_right_.begin(), linear_right_.end(), Lanes());
    Lanes* a = linear_.data();
    Lanes* b = linear_right_.data();
    for (std::size_t k = 0; k < s_.resistors.size(); ++k) {
      resistors_[k] = resistor_stamp(lanes_of(values.ohms, k));
      put_matrix(resistors_[k], layout_.resistors[k], a);
    }
    for (std::size_t k = 0; k < s_.voltage_sources.size(); ++k) {
      const BranchStamp<Lanes> source = voltage_source_stamp(lanes_of(values.volts, k));
      put_matrix(source, layout_.voltage_sources[k], a);
      put_right(source, layout_.voltage_sources[k], b);
    }
    for (std::size_t k = 0; k < s_.current_sources.size(); ++k)
      put_right(current_source_stamp(lanes_of(values.amps, k)), s_.current_sources[k],
                b);
    for (std::size_t k = 0; k < s_.inductors.size(); ++k) {
      CoilAtOf<Lanes> coil;
      coil.ohms = lanes_of(values.coils, 3 * k);
      coil.siemens = lanes_of(values.coils, 3 * k + 1);
      coil.share = lanes_of(values.coils, 3 * k + 2);
      inductors_[k] = coil_at_rest(coil);
      put_matrix(inductors_[k], layout_.inductors[k], a);
    }
    const auto take = [](auto& devices, std::size_t count,
                         const std::vector<double>& from, const auto& each_number) {
      std::size_t number = 0;
      for (std::size_t k = 0; k < count; ++k) {
        typename std::decay_t<decltype(devices.devices())>::value_type device;
        each_number(device, [&](Lanes& lanes) { lanes = lanes_of(from, number++); });
        devices.put(k, device);
      }
    };
    take(devices_.diodes, s_.diodes.size(), values.diodes,
         [](auto& d, const auto& visit) { each_number_of_diode(d, visit); });
    take(devices_.bipolars, s_.bipolars.size(), values.bipolars,
         [](auto& d, const auto& visit) { each_number_of_bipolar(d, visit); });
    take(devices_.mosfets, s_.mosfets.size(), values.mosfets,
         [](auto& d, const auto& visit) { each_number_of_mos(d, visit); });
    take(devices_.regulators, s_.regulators.size(), values.regulators,
         [](auto& d, const auto& visit) { each_number_of_regulator(d, visit); });
  }

  void start_at(const Memory& start) {
    for (std::size_t k = 0; k < size_; ++k) memory_.x[k] = start.x[k];
    for (std::size_t k = 0; k < start.diodes.size(); ++k)
      memory_.diodes[k] = start.diodes[k];
    for (std::size_t k = 0; k < start.bipolars.size(); ++k)
      memory_.bipolars[k] = {start.bipolars[k].be, start.bipolars[k].bc};
    for (std::size_t k = 0; k < start.mosfets.size(); ++k)
      memory_.mosfets[k] = {start.mosfets[k].gs, start.mosfets[k].ds};
    for (std::size_t k = 0; k < start.regulators.size(); ++k)
      memory_.regulators[k] = {start.regulators[k].in, start.regulators[k].out,
                               start.regulators[k].amps};
    devices_.each([this](auto& kind) { kind.evaluate(memory_); });
  }

  /// Takes the step, which may be one from a solution from nothing. Returns which lanes
  /// are settled.
  [[nodiscard]] LaneMask follow(bool corrects) {
    LaneMask settled = Lanes(0.0) < 1.0;
    for (std::size_t k = 0; k < size_; ++k) {
      if (!corrects) step_[k] = next_[k] + step_[k] - memory_.x[k];
      next_[k] = memory_.x[k] + step_[k];
      const bool is_node = k < static_cast<std::size_t>(layout_.nodes);
      const double floor = is_node ? settling_.volts : settling_.amps;
      settled = settled && abs(step_[k]) <= floor + settling_.relative * abs(next_[k]);
    }
    devices_.each([&](auto& kind) {
      const LaneMask foretold = kind.follow(next_, settling_, memory_);
      settled = settled && foretold;
    });
    memory_.x.swap(next_);
    return settled;
  }

  /// The right-hand side itself.
  void load_right() {
    right_ = linear_right_;
    spare_.resize(slots_);
    devices_.each(
        [this](auto& kind) { kind.load(memory_, spare_.data(), right_.data()); });
  }

  /// The matrix, and on the right what the unknowns `x` leave over.
  void load(const std::vector<Lanes>& x) {
    for (std::size_t k = 0; k < slots_; ++k) work_[k] = linear_[k];
    for (std::size_t k = slots_; k < work_.size(); ++k) work_[k] = Lanes();
    for (std::size_t k = 0; k < size_; ++k) right_[k] = linear_right_[k];
    Lanes* left = right_.data();
    for (std::size_t k = 0; k < resistors_.size(); ++k)
      take_off(resistors_[k], s_.resistors[k], x, left);
    for (std::size_t k = 0; k < inductors_.size(); ++k)
      take_off(inductors_[k], layout_.inductors[k], s_.inductors[k], x, left);
    for (std::size_t k = 0; k < s_.voltage_sources.size(); ++k)
      take_off(BranchStamp<Lanes>{}, layout_.voltage_sources[k], s_.voltage_sources[k],
               x, left);
    devices_.each(
        [&](auto& kind) { kind.load_left(memory_, x, work_.data(), right_.data()); });
  }

  /// Writes these lanes where they are.
  void tell(LaneMask which, LaneResults& results) const {
    const auto put = [which](std::vector<double>& to, std::size_t number, Lanes lanes) {
      double* at = to.data() + number * Lanes::kCount;
      select(which, lanes, Lanes::load(at)).store(at);
    };
    for (std::size_t k = 0; k < size_; ++k) put(results.unknowns, k, memory_.x[k]);
    const auto diodes = devices_.diodes.currents(memory_);
    for (std::size_t k = 0; k < diodes.size(); ++k) put(results.diodes, k, diodes[k]);
    const auto put_threes = [&](std::vector<double>& to, const auto& threes) {
      for (std::size_t k = 0; k < threes.size(); ++k) {
        for (std::size_t end = 0; end < 3; ++end) put(to, 3 * k + end, threes[k][end]);
      }
    };
    put_threes(results.bipolars, devices_.bipolars.currents(memory_));
    put_threes(results.mosfets, devices_.mosfets.currents(memory_));
    put_threes(results.regulators, devices_.regulators.currents(memory_));
    LaneMask good = Lanes(0.0) < 1.0;
    for (std::size_t k = 0; k < static_cast<std::size_t>(layout_.nodes); ++k)
      good = good && abs(right_[k]) <= kResidualAmps;
    put(results.is_good, 0, select(good, Lanes(1.0), Lanes(0.0)));
  }

  const Layout& layout_;
  Settling settling_;
  const Structure& s_;
  std::size_t size_;
  std::size_t slots_;
  AllDevices<Lanes> devices_;
  MemoryOf<Lanes> memory_;
  std::vector<PairStamp<Lanes>> resistors_;
  std::vector<CoilStamp<Lanes>> inductors_;
  std::vector<Lanes> linear_;
  std::vector<Lanes> linear_right_;
  std::vector<Lanes> work_;
  std::vector<Lanes> right_;
  std::vector<Lanes> spare_;  ///< Entries that load_right has no use for.
  std::vector<Lanes> step_;
  std::vector<Lanes> next_;
  LaneMask settled_;  ///< By the step taken last.
};

}  // namespace benchproof::HWY_NAMESPACE
