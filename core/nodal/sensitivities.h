#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <vector>

#include "core/network/differential.h"
#include "core/network/network.h"
#include "core/network/plan.h"
#include "core/network/slots.h"

namespace benchproof {

/// What figures of one operating point move by when a network's values do. SI units: of
/// a voltage by a resistance, volt per ohm.
class Slopes {
 public:
  Slopes(SlotOrder order, std::size_t figures);

  [[nodiscard]] const SlotOrder& order() const { return order_; }
  [[nodiscard]] std::size_t figures() const { return figures_; }

  /// The slopes of one figure by all slots in their order, and last by the network's
  /// temperature: order().size() + 1 of them.
  [[nodiscard]] const double* of(std::size_t figure) const {
    return slopes_.data() + figure * (order_.size() + 1);
  }
  [[nodiscard]] double* of(std::size_t figure) {
    return slopes_.data() + figure * (order_.size() + 1);
  }
  [[nodiscard]] double by(std::size_t figure, const Slot& slot) const {
    return of(figure)[order_.place_of(slot)];
  }
  [[nodiscard]] double by_celsius(std::size_t figure) const {
    return of(figure)[order_.size()];
  }
  /// By what feeds slots: a part's key, the ambient temperature.
  [[nodiscard]] double by(std::size_t figure, const Feeds& feeds) const;

 private:
  SlotOrder order_;
  std::size_t figures_;
  std::vector<double> slopes_;
};

/// The sensitivities of networks of one structure at rest.
///
/// With the network's equations F(x, p) = 0 of its unknowns x and its values p, a
/// figure f(x, p) has the slopes
///
///   df/dp = ∂f/∂p - y' ∂F/∂p,  where  (∂F/∂x)' y = (∂f/∂x)'
///
/// that is, one solution of the transposed system for each figure, and one
/// factorisation for all of them [Director 1969]. Each element's equation is
/// differentiated by its own values with dual numbers (core/device/dual.h).
///
/// - [Director 1969] S. W. Director, R. A. Rohrer, "The generalized adjoint network and
///                   network sensitivities", IEEE Trans. Circuit Theory 16, 318-323.
class Sensitivities {
 public:
  /// @throws std::invalid_argument on a missing structure.
  explicit Sensitivities(std::shared_ptr<const Structure> structure);
  ~Sensitivities();
  Sensitivities(Sensitivities&&) noexcept;
  Sensitivities& operator=(Sensitivities&&) noexcept;

  /// The slopes at `solution`, which must be the network's, of the figures that have
  /// these differentials there. They are as exact as the solution is; what is open or
  /// shorted at rest (farads, henries) has the slope 0. Where a figure has a corner
  /// (where a junction begins to break down) the slope is that of one side. Nothing
  /// where the network's equations do not determine its unknowns there.
  /// @throws std::invalid_argument if `network` is not of this structure, its values
  ///         break the rules of check_network, or `solution` or a differential is not
  ///         of its size.
  [[nodiscard]] std::optional<Slopes> at(const Network& network,
                                         const Solution& solution,
                                         const std::vector<Differential>& figures);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace benchproof
