#pragma once

#include <array>

namespace benchproof {

/// A Runge-Kutta method for stiff and differential-algebraic systems: the first stage
/// is the step's start (explicit), each later one implicit in its own derivative with
/// the same factor, and the last one is the step's end (stiffly accurate).
struct Tableau {
  static constexpr int kMost = 6;                    ///< Stages.
  int stages = 0;                                    ///< At least 2.
  std::array<std::array<double, kMost>, kMost> a{};  ///< Row = stage.
  std::array<double, kMost> c{};         ///< Stage times, as shares of the step.
  std::array<double, kMost> embedded{};  ///< Weights of the method that is compared.
  int error_order =
      0;  ///< The difference of the two falls with the step's power of it.
};

/// ESDIRK4(3)6L[2]SA: fourth order, L-stable, stages of second order, with a third
/// order method embedded.
///
/// - C. A. Kennedy, M. H. Carpenter, "Additive Runge-Kutta schemes for
///   convection-diffusion-reaction equations", Appl. Numer. Math. 44 (2003) 139-181,
///   the implicit half of ARK4(3)6L[2]SA.
[[nodiscard]] Tableau esdirk4();

/// TR-BDF2: a trapezoidal step followed by a backward difference; second order,
/// L-stable, with a third order method embedded.
///
/// - R. E. Bank et al., "Transient simulation of silicon devices and circuits", IEEE
///   Trans. Electron Devices 32 (1985) 1992-2007.
/// - M. E. Hosea, L. F. Shampine, "Analysis and implementation of TR-BDF2", Appl.
/// Numer.
///   Math. 20 (1996) 21-37.
[[nodiscard]] Tableau tr_bdf2();

}  // namespace benchproof
