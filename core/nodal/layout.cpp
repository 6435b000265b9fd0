#include "core/nodal/detail/layout.h"

#include <array>
#include <cstddef>

namespace benchproof {
namespace {

/// Asks `find` for every entry that an element touches, and gathers the slots that it
/// returns. Branches are numbered in the order in which they are asked for.
template <class Find>
struct Places {
  const Find& find;
  int number;  ///< Of the next branch current among the unknowns.

  [[nodiscard]] int entry(int row, int column) const {
    return row < 0 || column < 0 ? -1 : find(row, column);
  }
  [[nodiscard]] PairSlots pair(int a, int b) const {
    const int i = Layout::unknown(a);
    const int j = Layout::unknown(b);
    return {entry(i, i), entry(i, j), entry(j, i), entry(j, j)};
  }
  [[nodiscard]] NineSlots nine(const ThreeEnds& e) const {
    NineSlots slots;
    for (int i = 0; i < 3; ++i) {
      for (int j = 0; j < 3; ++j) {
        slots[i][j] = entry(Layout::unknown(e.ends[i]), Layout::unknown(e.ends[j]));
      }
    }
    return slots;
  }
  BranchSlots branch(const TwoEnds& e, bool has_self) {
    BranchSlots b;
    b.number = number++;
    const int i = Layout::unknown(e.a);
    const int j = Layout::unknown(e.b);
    b.ends = {entry(i, b.number), entry(j, b.number), entry(b.number, i),
              entry(b.number, j)};
    if (has_self) b.self = entry(b.number, b.number);
    return b;
  }
  CoilSlots coil(const TwoEnds& e) { return {branch(e, true), pair(e.a, e.b)}; }
  RegulatorSlots regulator(const ThreeEnds& e) {
    const auto [in, common, out] = e.ends;
    RegulatorSlots r;
    r.number = number++;
    for (int end = 0; end < 3; ++end) {
      r.row[end] = entry(r.number, Layout::unknown(e.ends[end]));
    }
    r.in_column = entry(Layout::unknown(in), r.number);
    r.out_column = entry(Layout::unknown(out), r.number);
    r.self = entry(r.number, r.number);
    r.quiescent = pair(in, common);
    return r;
  }
};

}  // namespace

Layout::Layout(std::shared_ptr<const Structure> given, bool in_time)
    : structure(std::move(given)),
      nodes(static_cast<int>(structure->nodes.size()) - 1),
      size(nodes +
           static_cast<int>(structure->voltage_sources.size() +
                            structure->inductors.size() + structure->regulators.size() +
                            (in_time ? structure->capacitors.size() : 0))),
      matrix(size, pattern(in_time)) {
  if (size > kMostByMasks) {
    place(in_time, [this](int row, int column) { return matrix.slot(row, column); });
    return;
  }
  // Of small ones a table is the quickest way from an entry to its slot.
  std::array<int, std::size_t{kMostByMasks} * kMostByMasks> table;
  const Pattern& p = matrix.pattern();
  for (int c = 0; c < size; ++c) {
    for (int e = p.first[c]; e < p.first[c + 1]; ++e) table[p.rows[e] * size + c] = e;
  }
  place(in_time, [&](int row, int column) { return table[row * size + column]; });
}

/// Every entry that an element touches, repeats included.
std::vector<std::pair<int, int>> Layout::pattern(bool in_time) {
  std::vector<std::pair<int, int>> entries;
  const Structure& s = *structure;
  entries.reserve(nodes + 4 * (s.resistors.size() + s.diodes.size() + s.strays.size()) +
                  9 * (s.bipolars.size() + s.mosfets.size() + s.inductors.size() +
                       s.regulators.size()) +
                  5 * (s.voltage_sources.size() + s.capacitors.size()));
  place(in_time, [&entries](int row, int column) {
    entries.emplace_back(row, column);
    return -1;
  });
  return entries;
}

template <class Find>
void Layout::place(bool in_time, const Find& find) {
  const Structure& s = *structure;
  Places<Find> places{find, nodes};
  const auto fill = [](auto& slots, const auto& elements, const auto& slots_of) {
    slots.resize(elements.size());
    for (std::size_t k = 0; k < slots.size(); ++k) slots[k] = slots_of(elements[k]);
  };
  const auto pair = [&](const TwoEnds& e) { return places.pair(e.a, e.b); };
  const auto nine = [&](const ThreeEnds& e) { return places.nine(e); };
  diagonal.resize(nodes);
  for (int node = 0; node < nodes; ++node) diagonal[node] = places.entry(node, node);
  fill(resistors, s.resistors, pair);
  fill(diodes, s.diodes, pair);
  fill(bipolars, s.bipolars, nine);
  fill(mosfets, s.mosfets, nine);
  fill(voltage_sources, s.voltage_sources,
       [&](const TwoEnds& e) { return places.branch(e, false); });
  fill(inductors, s.inductors, [&](const TwoEnds& e) { return places.coil(e); });
  fill(regulators, s.regulators,
       [&](const ThreeEnds& e) { return places.regulator(e); });
  if (!in_time) return;
  fill(capacitors, s.capacitors,
       [&](const TwoEnds& e) { return places.branch(e, true); });
  fill(strays, s.strays, pair);
}

std::string Layout::name(int index) const {
  const Structure& s = *structure;
  const auto net = [&](int node) { return "net '" + s.nodes[node] + "'"; };
  // An inner node, "part:what", is told by its part: it stands in no description.
  const auto part_around = [&](int node) {
    if (node < s.nets) return std::string();
    const std::string& inner = s.nodes[node];
    return "part '" + inner.substr(0, inner.find(':')) + "'";
  };
  if (index < nodes) {
    const std::string part = part_around(index + 1);
    return part.empty() ? net(index + 1) : "a point inside " + part;
  }
  // A branch: told by the nets it joins, or by the part that it lies in.
  auto k = static_cast<std::size_t>(index - nodes);
  const auto between = [&](const std::string& what, int a, int b) {
    std::string part = part_around(a);
    if (part.empty()) part = part_around(b);
    return "the current of the " + what +
           (part.empty() ? " between " + net(a) + " and " + net(b) : " inside " + part);
  };
  if (k < s.voltage_sources.size()) {
    const TwoEnds& e = s.voltage_sources[k];
    return between("voltage source", e.a, e.b);
  }
  k -= s.voltage_sources.size();
  if (k < s.inductors.size()) {
    return between("inductor", s.inductors[k].a, s.inductors[k].b);
  }
  k -= s.inductors.size();
  if (k < s.regulators.size()) {
    return between("regulator", s.regulators[k].ends[0], s.regulators[k].ends[2]);
  }
  const TwoEnds& e = s.capacitors[k - s.regulators.size()];
  return between("capacitor", e.a, e.b);
}

}  // namespace benchproof
