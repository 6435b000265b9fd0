#pragma once

#include <array>
#include <boost/multiprecision/cpp_bin_float.hpp>
#include <cstddef>
#include <memory>
#include <optional>
#include <vector>

#include "core/device/bipolar.h"
#include "core/device/diode.h"
#include "core/device/mos.h"
#include "core/network/differential.h"
#include "core/network/network.h"
#include "core/network/slots.h"

namespace benchproof {
class Newton;
}

namespace benchproof::test {

/// A number of 113 bits, 34 digits.
using Quad = boost::multiprecision::cpp_bin_float_quad;

/// A number of a network: that in a slot, or without one its temperature.
using Movable = std::optional<Slot>;

/// A network at rest in numbers of 34 digits. Kirchhoff's laws are put together here,
/// not taken from the nodal solver; of that only its tangents lead from one solution to
/// the next.
class QuadNetwork {
 public:
  /// Both must live as long as this. @pre `solution` is the network's.
  QuadNetwork(const Network& network, const Solution& solution);
  ~QuadNetwork();

  /// Moves a number away from what it is in the network, instead of the one moved last.
  void move(const Movable& number, const Quad& by);
  /// Solves the network from where it was when it was kept last, by steps with the
  /// tangents at the solution that it was made with. False where they do not lead to
  /// one.
  [[nodiscard]] bool solve();
  void keep() { kept_ = x_; }

  /// Where it stands, to the digits of a double. Currents of three ends are left out
  /// but for those of regulators.
  [[nodiscard]] Solution solution() const;
  /// The figures that have these differentials everywhere.
  [[nodiscard]] std::vector<Quad> figures(const std::vector<Differential>& by) const;

 private:
  struct Models {
    std::vector<Quad> ohms;
    std::vector<Quad> volts;
    std::vector<Quad> amps;
    std::vector<CoilModelOf<Quad>> coils;
    std::vector<DiodeModelOf<Quad>> diodes;
    std::vector<BipolarModelOf<Quad>> bipolars;
    std::vector<MosModelOf<Quad>> mosfets;
    std::vector<RegulatorModelOf<Quad>> regulators;
    Quad celsius;
    Quad open;  ///< In place of capacitances, which are nothing at rest.
  };
  struct Amps {
    std::vector<Quad> resistors;
    std::vector<Quad> inductors;
    std::vector<Quad> voltage_sources;
    std::vector<Quad> current_sources;
    std::vector<Quad> diodes;
    std::vector<std::array<Quad, 3>> bipolars;
    std::vector<std::array<Quad, 3>> mosfets;
    std::vector<std::array<Quad, 3>> regulators;
  };

  [[nodiscard]] Quad& number(const Movable& which);
  /// Moves the devices to the temperature that a number is of: all, or one.
  void bind(const Movable& number);
  [[nodiscard]] Quad volts(int node) const {
    return node == 0 ? Quad(0) : x_[node - 1];
  }
  [[nodiscard]] Quad across(const TwoEnds& e) const { return volts(e.a) - volts(e.b); }
  [[nodiscard]] Quad diode_amps(std::size_t k) const;
  [[nodiscard]] Quad mos_amps(std::size_t k) const;
  [[nodiscard]] Amps amps() const;
  [[nodiscard]] Quad figure(const Differential& by, const Amps& c) const;
  [[nodiscard]] std::vector<Quad> residual() const;

  const Network& network_;
  const Structure& s_;
  Models m_;
  std::vector<DiodeAtOf<Quad>> diodes_;
  std::vector<BipolarAtOf<Quad>> bipolars_;
  std::vector<MosAtOf<Quad>> mosfets_;
  Movable moved_;
  std::unique_ptr<Newton> newton_;
  std::vector<double> tangents_;
  std::vector<Quad> x_;  ///< Node voltages, then currents, in the nodal solver's order.
  std::vector<Quad> kept_;
  mutable std::vector<Quad> junctions_;  ///< Of diodes, where last looked at. Volt.
  mutable std::vector<Quad> drains_;     ///< What MOS transistors last carried. Ampere.
};

}  // namespace benchproof::test
