#pragma once

#include <array>
#include <cstddef>
#include <functional>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "core/catalogue/model.h"

namespace benchproof {

/// Which part an element stands for, and which of the part's pins each of its ends is.
/// -1: an end inside the part, or a part that is not there (tests).
struct Origin {
  int part = -1;
  std::array<int, 3> pins{-1, -1, -1};
  friend bool operator==(const Origin&, const Origin&) = default;
};

/// An element with two ends. Currents count from `a` through the element to `b`.
struct TwoEnds {
  int a = 0;
  int b = 0;
  Origin origin;
  friend bool operator==(const TwoEnds&, const TwoEnds&) = default;
};

/// An element with three ends; what each is, its list in Structure says.
struct ThreeEnds {
  std::array<int, 3> ends{0, 0, 0};
  Origin origin;
  friend bool operator==(const ThreeEnds&, const ThreeEnds&) = default;
};

/// Nodes and ideal elements without values: what stays the same when a value changes.
/// Node 0 is ground.
struct Structure {
  std::vector<std::string> nodes;  ///< Names: nets first, then "part:inner" ones.
  int nets = 0;                    ///< The first `nets` nodes are nets of the circuit.
  std::vector<TwoEnds> resistors;
  std::vector<TwoEnds> capacitors;  ///< Open at rest.
  /// Capacitances of junctions and pins, in runs only.
  std::vector<TwoEnds> strays;
  std::vector<TwoEnds> inductors;        ///< Their winding alone at rest.
  std::vector<TwoEnds> voltage_sources;  ///< a = plus, b = minus.
  std::vector<TwoEnds> current_sources;  ///< Leaves at a = plus into the circuit.
  std::vector<TwoEnds> diodes;           ///< a = anode, b = cathode.
  std::vector<ThreeEnds> bipolars;       ///< collector, base, emitter.
  std::vector<ThreeEnds> mosfets;        ///< drain, gate, source.
  std::vector<ThreeEnds> regulators;     ///< in, common, out.
  friend bool operator==(const Structure&, const Structure&) = default;
};

/// The values of a structure's elements, list by list in the same order. SI units.
struct Values {
  std::vector<double> ohms;          ///< Resistors, > 0.
  std::vector<double> farads;        ///< Capacitors, > 0.
  std::vector<double> stray_farads;  ///< Strays, > 0.
  std::vector<CoilModel> coils;      ///< Inductors.
  std::vector<double> volts;         ///< Voltage sources.
  std::vector<double> amps;          ///< Current sources.
  std::vector<DiodeModel> diodes;
  std::vector<BipolarModel> bipolars;
  std::vector<MosModel> mosfets;  ///< `body` is an element of its own: unused.
  std::vector<RegulatorModel> regulators;
};

/// A circuit in one state, lowered for solving: what both witnesses are given.
struct Network {
  std::shared_ptr<const Structure> structure;
  Values values;
  double celsius = 25.0;  ///< Temperature of every element.
};

/// The current of every element. Two ends: from a to b through the element, so that a
/// delivering voltage source is negative. Three ends: into the element at each end.
template <class Number>
struct CurrentsOf {
  std::vector<Number> resistors;
  std::vector<Number> capacitors;
  std::vector<Number> strays;
  std::vector<Number> inductors;
  std::vector<Number> voltage_sources;
  std::vector<Number> current_sources;
  std::vector<Number> diodes;
  std::vector<std::array<Number, 3>> bipolars;
  std::vector<std::array<Number, 3>> mosfets;
  std::vector<std::array<Number, 3>> regulators;
};
using Currents = CurrentsOf<double>;

/// A list of elements beside that of their currents. What has to go over all elements
/// goes over kTwoEnded and kThreeEnded: a new list of elements is named there once.
template <class Element, class Number, class Amps>
struct ElementList {
  std::vector<Element> Structure::*elements;
  std::vector<Amps> CurrentsOf<Number>::*amps;
};
template <class Number>
inline constexpr std::array<ElementList<TwoEnds, Number, Number>, 7> kTwoEndedOf{{
    {&Structure::resistors, &CurrentsOf<Number>::resistors},
    {&Structure::capacitors, &CurrentsOf<Number>::capacitors},
    {&Structure::strays, &CurrentsOf<Number>::strays},
    {&Structure::inductors, &CurrentsOf<Number>::inductors},
    {&Structure::voltage_sources, &CurrentsOf<Number>::voltage_sources},
    {&Structure::current_sources, &CurrentsOf<Number>::current_sources},
    {&Structure::diodes, &CurrentsOf<Number>::diodes},
}};
template <class Number>
inline constexpr std::array<ElementList<ThreeEnds, Number, std::array<Number, 3>>, 3>
    kThreeEndedOf{{
        {&Structure::bipolars, &CurrentsOf<Number>::bipolars},
        {&Structure::mosfets, &CurrentsOf<Number>::mosfets},
        {&Structure::regulators, &CurrentsOf<Number>::regulators},
    }};
inline constexpr auto kTwoEnded = kTwoEndedOf<double>;
inline constexpr auto kThreeEnded = kThreeEndedOf<double>;

/// Calls `visit(node, origin, end, amps)` for each end of every element: `amps` flows
/// from the node into the element, and `end` is the index among the origin's pins.
template <class Number, class Visit>
void for_each_end(const Structure& structure, const CurrentsOf<Number>& currents,
                  const Visit& visit) {
  for (const auto& list : kTwoEndedOf<Number>) {
    const auto& elements = structure.*list.elements;
    const auto& amps = currents.*list.amps;
    for (std::size_t k = 0; k < elements.size(); ++k) {
      visit(elements[k].a, elements[k].origin, 0, amps[k]);
      visit(elements[k].b, elements[k].origin, 1, -amps[k]);
    }
  }
  for (const auto& list : kThreeEndedOf<Number>) {
    const auto& elements = structure.*list.elements;
    const auto& amps = currents.*list.amps;
    for (std::size_t k = 0; k < elements.size(); ++k) {
      for (int end = 0; end < 3; ++end)
        visit(elements[k].ends[end], elements[k].origin, end, amps[k][end]);
    }
  }
}

enum class SolveStatus {
  solved,
  no_convergence,  ///< The method gave up; `reason` names the net and what was tried.
  engine_failed,   ///< The engine ran and did not deliver; `reason` holds its words.
  engine_lost,     ///< No engine, or it crashed, hung or was refused.
  not_asked,       ///< Nothing limits a current: there is nothing to ask for.
};

/// What one witness testifies about one network at rest.
struct Solution {
  SolveStatus status = SolveStatus::no_convergence;
  std::vector<double> volts;  ///< One per node, ground first (0). Volt.
  Currents currents;          ///< Ampere.
  int iterations = 0;         ///< Newton steps; 0 where not known.
  std::string reason;         ///< Empty when solved.
};

/// What a witness (a Solution, or a Waveform) says where it has no answer.
template <typename Answer>
[[nodiscard]] Answer no_answer(SolveStatus status, std::string reason) {
  Answer answer;
  answer.status = status;
  answer.reason = std::move(reason);
  return answer;
}

/// A witness. Either serves every analysis; a test may pass a lambda.
using Solve = std::function<Solution(const Network&)>;

}  // namespace benchproof
