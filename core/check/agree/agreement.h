#pragma once

#include <string>

#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/observation.h"

namespace benchproof {

/// What two witnesses may differ by at rest.
inline constexpr double kAgreeVolts = 1e-6;
inline constexpr double kAgreeAmps = 1e-9;
inline constexpr double kAgreeShare = 1e-6;
/// A difference below this share of what is allowed, at rest or in a run, is little: no
/// place is told.
inline constexpr double kLittleShare = 0.01;

/// The comparison of two witnesses on one network.
struct Agreement {
  bool agrees = false;
  std::string net;            ///< Where the voltages differ most (relative to what is
                              ///< allowed); an inner node by its own name.
  double engine_volts = 0.0;  ///< There.
  double nodal_volts = 0.0;
  double difference = 0.0;  ///< |engine - nodal| there. Volt.
  double allowed = 0.0;     ///< What it may be there. Volt.
  std::string part;         ///< Where the currents differ most, or empty.
  std::string pin;
  double engine_amps = 0.0;
  double nodal_amps = 0.0;
  double allowed_amps = 0.0;     ///< What they may differ by there.
  double engine_residual = 0.0;  ///< Largest sum of currents at a node. Ampere.
  double nodal_residual = 0.0;
  std::string
      reason;  ///< Empty when they agree; else one line that says what does not.
};

/// How far two witnesses are apart at most, over what is allowed there: at most 1 where
/// they agree.
[[nodiscard]] double volts_share(const Agreement& agreement);
[[nodiscard]] double amps_share(const Agreement& agreement);

/// Whether a solution is solved and has a voltage for every node and a current for
/// every element of the network. Whether they are numbers is not looked at.
[[nodiscard]] bool is_complete(const Network& network, const Solution& solution);

/// |dV| <= 1 uV + 1e-6 |V| at every node, or no more than moves the sum of its currents
/// (all other nodes held) by what rounding does, one last digit of |V| over the series
/// resistances of the diodes there: between two that block leakage alone sets the
/// voltage, and 1 fA is 0.5 uV. Never at a node of a source, coil or regulator. |dI| <=
/// 1 nA + 1e-6 |I| in every element and at every pin; in a resistance 1 uV over it
/// more, as far as that is 1e-6 of what flows at both its ends. Each witness's own
/// residual is within its bound (see residual). Both solutions must be solved. What is
/// not a finite number agrees with nothing.
[[nodiscard]] Agreement agree(const Circuit& circuit, const Network& network,
                              const Solution& engine, const Solution& nodal);

}  // namespace benchproof
