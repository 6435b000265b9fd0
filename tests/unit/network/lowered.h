#pragma once

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <initializer_list>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/base/quantity.h"
#include "core/circuit/read/reader.h"
#include "core/network/lower.h"

namespace benchproof::test {

/// A description, read and lowered in the first phase of its first
/// state.
struct Lowered {
  std::unique_ptr<Catalogue> catalogue;
  Circuit circuit;
  Network network;

  [[nodiscard]] int node(std::string_view name) const {
    const std::vector<std::string>& nodes = network.structure->nodes;
    const auto found = std::find(nodes.begin(), nodes.end(), name);
    REQUIRE(found != nodes.end());
    return static_cast<int>(found - nodes.begin());
  }
  [[nodiscard]] int part(std::string_view name) const {
    const auto found = std::find_if(circuit.parts.begin(), circuit.parts.end(),
                                    [&](const Part& p) { return p.name == name; });
    REQUIRE(found != circuit.parts.end());
    return static_cast<int>(found - circuit.parts.begin());
  }
};

inline Lowered lowered(const std::string& text) {
  Lowered l;
  l.catalogue = std::make_unique<Catalogue>(built_in_catalogue());
  ReadResult result = read_circuit(text, "test.toml", *l.catalogue);
  std::string complaints;
  for (const Diagnostic& d : result.diagnostics)
    complaints += to_text(d, "test.toml", text);
  CAPTURE(complaints);
  REQUIRE(result.circuit.has_value());
  l.circuit = std::move(*result.circuit);
  l.network =
      lower(l.circuit, phases(l.circuit, l.circuit.states.front()).front().state);
  return l;
}

/// One element in words: "resistor in[a] out[b]", each end's node with the pin of the
/// part that it is, "-" for none.
template <class Ends>
std::string in_words(const Lowered& l, std::string_view list, const Ends& ends,
                     const Origin& origin) {
  std::string line(list);
  std::size_t k = 0;
  for (const int node : ends) {
    const int pin = origin.pins[k++];
    line += " " + l.network.structure->nodes[node] + "[" +
            (pin < 0 ? "-" : l.circuit.parts[origin.part].pins[pin]) + "]";
  }
  return line;
}

/// The elements of one part in words, with the value of those that have a single one,
/// in the order of the lists in Structure.
inline std::vector<std::string> elements(const Lowered& l, std::string_view part) {
  const Structure& s = *l.network.structure;
  const Values& v = l.network.values;
  const int index = l.part(part);
  std::vector<std::string> words;
  const auto two = [&](std::string_view list, const std::vector<TwoEnds>& all,
                       const std::vector<double>* values) {
    for (std::size_t k = 0; k < all.size(); ++k) {
      if (all[k].origin.part != index) continue;
      words.push_back(in_words(l, list, std::array{all[k].a, all[k].b}, all[k].origin));
      if (values != nullptr) words.back() += " " + shortest((*values)[k]);
    }
  };
  const auto three = [&](std::string_view list, const std::vector<ThreeEnds>& all) {
    for (const ThreeEnds& e : all) {
      if (e.origin.part == index) words.push_back(in_words(l, list, e.ends, e.origin));
    }
  };
  two("resistor", s.resistors, &v.ohms);
  two("capacitor", s.capacitors, &v.farads);
  std::vector<double> henries;
  for (const CoilModel& coil : v.coils) henries.push_back(coil.henries);
  two("inductor", s.inductors, &henries);
  two("voltage source", s.voltage_sources, &v.volts);
  two("current source", s.current_sources, &v.amps);
  two("diode", s.diodes, nullptr);
  three("bipolar", s.bipolars);
  three("mosfet", s.mosfets);
  three("regulator", s.regulators);
  return words;
}

using Words = std::vector<std::string>;

}  // namespace benchproof::test
