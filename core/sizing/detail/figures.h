#pragma once

#include <cmath>
#include <optional>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/witnesses.h"
#include "core/sizing/detail/measure.h"
#include "core/sizing/size.h"

namespace benchproof {

/// The goal's figure as a function of the values, by the nodal witness.
class Figures {
 public:
  /// Request and witnesses must outlive it.
  Figures(const Circuit& circuit, const SizeRequest& request,
          const Witnesses& witnesses);
  Figures(const Figures&) = delete;
  Figures& operator=(const Figures&) = delete;

  /// What comes later than `within` in a run is not waited for.
  [[nodiscard]] double at(const std::vector<double>& values, double within = HUGE_VAL);
  /// One figure for each choice of values; runs are solved side by side.
  [[nodiscard]] std::vector<double> at_each(
      const std::vector<std::vector<double>>& choices, double within = HUGE_VAL);
  /// How far the figure is above what is wanted.
  [[nodiscard]] double off(const std::vector<double>& values) {
    return at(values) - request_.goal.want;
  }

 private:
  double at_rest(const std::vector<double>& values);
  [[nodiscard]] double in_run(const std::vector<double>& values, double within) const;

  const SizeRequest& request_;
  const Witnesses& witnesses_;
  Circuit circuit_;
  std::optional<RestFigure> rest_;  ///< Of `circuit_`; nothing for a run's goal.
};

}  // namespace benchproof
