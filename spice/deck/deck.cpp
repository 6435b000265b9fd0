#include "spice/deck/deck.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <stdexcept>
#include <string>
#include <string_view>

#include "core/network/equations.h"
#include "spice/deck/detail/deck_lines.h"

namespace benchproof {

using namespace deck_lines;

namespace {

/// What makes up a solution at rest.
std::vector<std::string> vectors_of(const Network& network) {
  const Structure& s = *network.structure;
  std::vector<std::string> names;
  for (std::size_t k = 1; k < s.nodes.size(); ++k)
    names.push_back(node(static_cast<int>(k)));
  const auto ask = [&names](const char* element, std::size_t k, const char* figure) {
    names.push_back(fmt::format("{}{}{}", element, k + 1, figure));
  };
  for (std::size_t k = 0; k < s.inductors.size(); ++k)
    if (!is_wound(network.values.coils[k])) ask("l", k, "#branch");
  for (std::size_t k = 0; k < s.voltage_sources.size(); ++k) ask("v", k, "#branch");
  for (std::size_t k = 0; k < s.diodes.size(); ++k) ask("@d", k, "[id]");
  for (std::size_t k = 0; k < s.bipolars.size(); ++k) {
    if (is_two_diodes(network.values.bipolars[k])) {
      for (const char* half : {"vf", "vr"}) ask(half, k, "#branch");
    } else {
      for (const char* end : {"[ic]", "[ib]", "[ie]"}) ask("@q", k, end);
    }
  }
  for (std::size_t k = 0; k < s.mosfets.size(); ++k) ask("@m", k, "[id]");
  for (std::size_t k = 0; k < s.regulators.size(); ++k) {
    for (const char* source : {"vp", "vq"}) ask(source, k, "#branch");
  }
  return names;
}

}  // namespace

Deck make_deck(const Network& network, const DeckOptions& options) {
  const Structure& s = *network.structure;
  const Values& v = network.values;
  Deck deck;
  deck.vectors = vectors_of(network);
  std::vector<std::string>& lines = deck.lines;
  lines.emplace_back(kTitle);
  for (std::size_t k = 0; k < s.resistors.size(); ++k) {
    lines.push_back(two_ends("r", k, s.resistors[k], number(v.ohms[k])));
  }
  for (std::size_t k = 0; k < s.capacitors.size(); ++k) {
    lines.push_back(two_ends("c", k, s.capacitors[k], number(v.farads[k])));
  }
  // At rest a wound coil is a resistor: with its inductance, which is a short then, the
  // engine finds no way to the rest of some networks.
  for (std::size_t k = 0; k < s.inductors.size(); ++k) {
    const CoilModel& coil = v.coils[k];
    lines.push_back(is_wound(coil)
                        ? two_ends("rm", k, s.inductors[k], number(coil.ohms))
                        : two_ends("l", k, s.inductors[k], number(coil.henries)));
  }
  for (std::size_t k = 0; k < s.voltage_sources.size(); ++k) {
    lines.push_back(two_ends("v", k, s.voltage_sources[k], number(v.volts[k])));
  }
  for (std::size_t k = 0; k < s.current_sources.size(); ++k) {
    lines.push_back(current_source(k, s.current_sources[k], number(v.amps[k])));
  }
  add_devices(lines, network, Analysis::at_rest);
  lines.push_back(
      options_line(options.reltol, options.vntol, options.abstol, network.celsius));
  if (!options.start.empty()) add_nodesets(lines, s, options.start);
  lines.emplace_back(".end");
  return deck;
}

namespace {

using ToldValues = std::vector<double>::const_iterator;

/// The currents at a transistor's ends, from what the engine tells of it.
std::array<double, 3> bipolar_amps(const BipolarModel& m, ToldValues& next) {
  if (is_two_diodes(m)) {
    const double sense = m.is_pnp ? -1.0 : 1.0;
    const double forward = sense * *next++;
    const double reverse = sense * *next++;
    const double into = m.bf * forward - (m.br + 1.0) * reverse;
    return {into, forward + reverse, -into - forward - reverse};
  }
  const double collector = *next++;
  const double base = *next++;
  const double emitter = *next++;
  return {collector, base, emitter};
}

/// The currents of all devices, in the order in which the engine is asked for them.
void take_devices(const Network& network, ToldValues& next, Currents& c) {
  const Structure& s = *network.structure;
  for (std::size_t k = 0; k < s.diodes.size(); ++k) {
    const double told = *next++;
    // The engine tells a device's current as of the step before its last, which for an
    // ideal junction can be off by a part in a thousand. What its source carries is
    // exact.
    const bool is_ideal = network.values.diodes[k].n < kLeastRealEmission;
    const int source = is_ideal ? feeding_source(s, s.diodes[k]) : -1;
    c.diodes.push_back(source < 0 ? told : c.voltage_sources[source]);
  }
  for (const BipolarModel& m : network.values.bipolars)
    c.bipolars.push_back(bipolar_amps(m, next));
  for (const MosModel& m : network.values.mosfets) {
    // The engine tells a MOS current in the n-channel sense.
    const double drain = (m.is_p_channel ? -1.0 : 1.0) * *next++;
    c.mosfets.push_back({drain, 0.0, -drain});
  }
  for (std::size_t k = 0; k < s.regulators.size(); ++k) {
    const double passed = *next++;
    const double ground = *next++;
    c.regulators.push_back({passed + ground, -ground, -passed});
  }
}

}  // namespace

Solution from_vectors(const Network& network, const Deck& deck,
                      const std::vector<double>& values) {
  if (values.size() != deck.vectors.size()) {
    throw std::invalid_argument("a deck's answer with another number of values");
  }
  const Structure& s = *network.structure;
  Solution r;
  r.status = SolveStatus::solved;
  auto next = values.begin();
  r.volts.push_back(0.0);
  for (std::size_t k = 1; k < s.nodes.size(); ++k) r.volts.push_back(*next++);
  Currents& c = r.currents;
  // Ohm's law on the engine's voltages is what the engine would do, in a tenth of the
  // time that asking for a device's figure takes.
  for (std::size_t k = 0; k < s.resistors.size(); ++k) {
    const TwoEnds& e = s.resistors[k];
    c.resistors.push_back((r.volts[e.a] - r.volts[e.b]) / network.values.ohms[k]);
  }
  c.capacitors.assign(s.capacitors.size(), 0.0);
  c.strays.assign(s.strays.size(), 0.0);
  for (std::size_t k = 0; k < s.inductors.size(); ++k) {
    const TwoEnds& e = s.inductors[k];
    const CoilModel& coil = network.values.coils[k];
    c.inductors.push_back(is_wound(coil) ? (r.volts[e.a] - r.volts[e.b]) / coil.ohms
                                         : *next++);
  }
  for (std::size_t k = 0; k < s.voltage_sources.size(); ++k) {
    c.voltage_sources.push_back(*next++);
  }
  for (const double amps : network.values.amps) c.current_sources.push_back(-amps);
  take_devices(network, next, c);
  return r;
}

std::string annotate(const Network& network, const Deck& deck,
                     const std::vector<std::string>& part_names) {
  return annotated(network, deck, part_names);
}

}  // namespace benchproof
