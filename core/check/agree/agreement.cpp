#include "core/check/agree/agreement.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "core/base/quantity.h"
#include "core/check/agree/detail/leaks.h"
#include "core/network/equations.h"

namespace benchproof {
namespace {

constexpr int kDigits = 9;

/// What two witnesses may differ by, of which one says `a` and the other `b`.
double allowed_between(double a, double b, double absolute) {
  return absolute + kAgreeShare * std::max(std::abs(a), std::abs(b));
}

/// |a - b| over what two witnesses may differ by: at most 1 agrees. Not a number, or an
/// infinity on either side, is infinitely far.
double distance(double a, double b, double allowed) {
  const double ratio = std::abs(a - b) / allowed;
  return std::isfinite(a) && std::isfinite(b) ? ratio : HUGE_VAL;
}

/// What rounding makes of the sum of currents at a node: a diode's series resistance is
/// a large conductance in the node's row, of which elimination leaves the small one of
/// a blocking junction, and with it one last digit of the large one [Higham 2002,
/// "Accuracy and Stability of Numerical Algorithms", sec. 9.3]. Ampere.
double rounded_off(const Network& network, const Solution& solution, std::size_t node) {
  const Structure& s = *network.structure;
  double amps = 0.0;
  for (std::size_t k = 0; k < s.diodes.size(); ++k) {
    const auto a = static_cast<std::size_t>(s.diodes[k].a);
    const auto b = static_cast<std::size_t>(s.diodes[k].b);
    const double ohms = network.values.diodes[k].rs;
    if ((a != node && b != node) || !(ohms > 0.0)) continue;
    amps += std::max(std::abs(solution.volts[a]), std::abs(solution.volts[b])) / ohms;
  }
  return std::numeric_limits<double>::epsilon() * amps;
}

/// What the 1 uV that voltages may differ by makes of the current of each resistor, as
/// far as that is a millionth of what flows at both its ends: 10 ohm beside a coil at
/// rest that carries 1.6 A have what rounding leaves across the coil. Ampere.
std::vector<double> left_open(const Network& network, const Solution& solution) {
  const Structure& s = *network.structure;
  std::vector<double> sum(s.nodes.size());
  std::vector<double> largest(s.nodes.size());
  sum_at_nodes(s, solution.currents, sum, largest);
  std::vector<double> open(s.resistors.size());
  for (std::size_t k = 0; k < open.size(); ++k) {
    const auto [a, b, origin] = s.resistors[k];
    open[k] = std::min(kAgreeVolts / network.values.ohms[k],
                       kAgreeShare * std::min(largest[a], largest[b]));
  }
  return open;
}

/// The worst of a number of comparisons.
struct Worst {
  double ratio = -1.0;
  std::string part;
  std::string pin;
  double engine = 0.0;
  double nodal = 0.0;
  double allowed = 0.0;
};

/// `open`: what is allowed besides. Ampere.
void compare(Worst& worst, const std::string& part, const std::string& pin,
             double engine, double nodal, double open) {
  const double allowed = allowed_between(engine, nodal, kAgreeAmps) + open;
  const double ratio = distance(engine, nodal, allowed);
  if (!(ratio > worst.ratio)) return;
  worst = {ratio, part, pin, engine, nodal, allowed};
}

/// The name of the part that an element stands for, and of the pin that an end is.
std::pair<std::string, std::string> names(const Circuit& circuit, const Origin& origin,
                                          std::size_t end) {
  if (origin.part < 0) return {"an element of no part", ""};
  const Part& part = circuit.parts[origin.part];
  const int pin = origin.pins[end];
  return {part.name, pin < 0 ? "" : part.pins[pin]};
}

/// `open`: of each resistor, see left_open.
void compare_elements(Worst& worst, const Circuit& circuit, const Structure& s,
                      const std::vector<double>& open, const Currents& engine,
                      const Currents& nodal) {
  for (const auto& list : kTwoEnded) {
    const auto& elements = s.*list.elements;
    for (std::size_t i = 0; i < elements.size(); ++i) {
      const auto [part, pin] = names(circuit, elements[i].origin, 0);
      compare(worst, part, pin, (engine.*list.amps)[i], (nodal.*list.amps)[i],
              &elements == &s.resistors ? open[i] : 0.0);
    }
  }
  for (const auto& list : kThreeEnded) {
    const auto& elements = s.*list.elements;
    for (std::size_t i = 0; i < elements.size(); ++i) {
      for (std::size_t end = 0; end < 3; ++end) {
        const auto [part, pin] = names(circuit, elements[i].origin, end);
        compare(worst, part, pin, (engine.*list.amps)[i][end],
                (nodal.*list.amps)[i][end], 0.0);
      }
    }
  }
}

void compare_pins(Worst& worst, const Circuit& circuit, const Structure& s,
                  const std::vector<double>& open, const Observation& engine,
                  const Observation& nodal) {
  std::vector<std::vector<double>> open_at(circuit.parts.size());
  for (std::size_t i = 0; i < circuit.parts.size(); ++i)
    open_at[i].resize(circuit.parts[i].pins.size());
  for (std::size_t k = 0; k < open.size(); ++k) {
    const Origin& origin = s.resistors[k].origin;
    for (const int pin : {origin.pins[0], origin.pins[1]}) {
      if (origin.part >= 0 && pin >= 0) open_at[origin.part][pin] += open[k];
    }
  }
  for (std::size_t i = 0; i < circuit.parts.size(); ++i) {
    const Part& part = circuit.parts[i];
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
      compare(worst, part.name, part.pins[pin], engine.pin_amps[i][pin],
              nodal.pin_amps[i][pin], open_at[i][pin]);
    }
  }
}

/// What a witness that did not solve has to say; empty if it solved.
std::string failure(const char* witness, const Network& network,
                    const Solution& solution) {
  const std::string why = solution.reason.empty() ? "no reason told" : solution.reason;
  switch (solution.status) {
    case SolveStatus::solved:
      if (is_complete(network, solution)) return {};
      return fmt::format("the {} witness left out voltages or currents", witness);
    case SolveStatus::no_convergence:
      return fmt::format("the {} witness found no solution: {}", witness, why);
    case SolveStatus::engine_failed:
      return fmt::format("the {} witness failed: {}", witness, why);
    case SolveStatus::not_asked:
      return fmt::format("the {} witness was not asked: {}", witness, why);
    case SolveStatus::engine_lost:
      return fmt::format("the {} witness was lost: {}", witness, why);
  }
  return {};
}

/// Why a witness's own solution breaks the network's equations; empty if it does not.
std::string broken_laws(const char* witness, const Residual& r, const Structure& s) {
  if (!(r.worst <= 1.0)) {
    return fmt::format(
        "the currents of the {} witness do not add up at '{}': {} are left over",
        witness, s.nodes[r.node], format_quantity(r.amps, Unit::ampere));
  }
  if (!(r.volts <= kResidualVolts)) {
    return fmt::format(
        "the {} witness breaks the equation of a source or regulator by {}", witness,
        format_quantity(r.volts, Unit::volt));
  }
  return {};
}

/// What the witnesses that did not solve have to say; empty if both solved.
std::string failures(const Network& network, const Solution& engine,
                     const Solution& nodal) {
  std::string reasons;
  for (const auto& [witness, solution] :
       {std::pair{"engine", &engine}, std::pair{"nodal", &nodal}}) {
    const std::string reason = failure(witness, network, *solution);
    if (reason.empty()) continue;
    reasons += (reasons.empty() ? "" : "; ") + reason;
  }
  return reasons;
}

/// Finds the node at which the witnesses differ most, as a share of what is allowed
/// there. Returns that share.
double compare_volts(const Network& network, const Solution& engine,
                     const Solution& nodal, Agreement& a) {
  const Structure& s = *network.structure;
  double worst = -1.0;
  for (std::size_t node = 1; node < s.nodes.size(); ++node) {
    double allowed =
        allowed_between(engine.volts[node], nodal.volts[node], kAgreeVolts);
    double ratio = distance(engine.volts[node], nodal.volts[node], allowed);
    if (ratio > 1.0 && std::isfinite(ratio)) {
      const double leak = current_between(network, engine.volts, nodal.volts, node) /
                          rounded_off(network, nodal, node);
      if (leak < ratio) {
        ratio = leak;
        allowed = std::abs(engine.volts[node] - nodal.volts[node]) / leak;
      }
    }
    if (!(ratio > worst)) continue;
    worst = ratio;
    a.net = s.nodes[node];
    a.engine_volts = engine.volts[node];
    a.nodal_volts = nodal.volts[node];
    a.difference = std::abs(a.engine_volts - a.nodal_volts);
    a.allowed = allowed;
  }
  return worst;
}

/// Where the witnesses differ: at a net, or in a current.
std::string difference_words(const Agreement& a, bool is_in_volts) {
  if (is_in_volts)
    return fmt::format("the witnesses differ at '{}': engine {}, nodal {}", a.net,
                       format_quantity(a.engine_volts, Unit::volt, kDigits),
                       format_quantity(a.nodal_volts, Unit::volt, kDigits));
  return fmt::format(
      "the witnesses differ in the current of '{}{}{}': engine "
      "{}, nodal {}",
      a.part, a.pin.empty() ? "" : ".", a.pin,
      format_quantity(a.engine_amps, Unit::ampere, kDigits),
      format_quantity(a.nodal_amps, Unit::ampere, kDigits));
}

}  // namespace

double volts_share(const Agreement& a) {
  return a.allowed > 0.0 ? a.difference / a.allowed : 0.0;
}

double amps_share(const Agreement& a) {
  return a.allowed_amps > 0.0 ? std::abs(a.engine_amps - a.nodal_amps) / a.allowed_amps
                              : 0.0;
}

bool is_complete(const Network& network, const Solution& solution) {
  const Structure& s = *network.structure;
  const Currents& c = solution.currents;
  const auto has_all = [&](const auto& lists) {
    return std::all_of(lists.begin(), lists.end(), [&](const auto& list) {
      return (c.*list.amps).size() == (s.*list.elements).size();
    });
  };
  return solution.status == SolveStatus::solved &&
         solution.volts.size() == s.nodes.size() && has_all(kTwoEnded) &&
         has_all(kThreeEnded);
}

Agreement agree(const Circuit& circuit, const Network& network, const Solution& engine,
                const Solution& nodal) {
  const Structure& s = *network.structure;
  Agreement a;
  a.reason = failures(network, engine, nodal);
  if (!a.reason.empty()) return a;

  const double volts_ratio = compare_volts(network, engine, nodal, a);
  const std::vector<double> open = left_open(network, nodal);
  Worst worst;
  compare_elements(worst, circuit, s, open, engine.currents, nodal.currents);
  compare_pins(worst, circuit, s, open, observe(circuit, network, engine),
               observe(circuit, network, nodal));
  a.part = worst.part;
  a.pin = worst.pin;
  a.engine_amps = worst.engine;
  a.nodal_amps = worst.nodal;
  a.allowed_amps = worst.allowed;

  const Residual engine_residual = residual(network, engine);
  const Residual nodal_residual = residual(network, nodal);
  a.engine_residual = engine_residual.amps;
  a.nodal_residual = nodal_residual.amps;

  if (volts_ratio > 1.0 || worst.ratio > 1.0) {
    a.reason = difference_words(a, volts_ratio > 1.0);
  } else {
    a.reason = broken_laws("engine", engine_residual, s);
    if (a.reason.empty()) a.reason = broken_laws("nodal", nodal_residual, s);
  }
  a.agrees = a.reason.empty();
  return a;
}

}  // namespace benchproof
