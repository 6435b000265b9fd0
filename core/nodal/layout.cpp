#include "core/nodal/detail/layout.h"

#include <initializer_list>

namespace benchproof {

Layout::Layout(std::shared_ptr<const Structure> given, bool in_time)
    : structure(std::move(given)),
      nodes(static_cast<int>(structure->nodes.size()) - 1),
      size(nodes +
           static_cast<int>(structure->voltage_sources.size() +
                            structure->inductors.size() + structure->regulators.size() +
                            (in_time ? structure->capacitors.size() : 0))),
      matrix(size, pattern(in_time)) {
  const Structure& s = *structure;
  for (const TwoEnds& e : s.resistors) resistors.push_back(pair(e.a, e.b));
  for (const TwoEnds& e : s.diodes) diodes.push_back(pair(e.a, e.b));
  for (const ThreeEnds& e : s.bipolars) bipolars.push_back(nine(e));
  for (const ThreeEnds& e : s.mosfets) mosfets.push_back(nine(e));
  for (int node = 0; node < nodes; ++node) diagonal.push_back(matrix.slot(node, node));
  int number = nodes;
  for (const auto* list : {&s.voltage_sources, &s.inductors}) {
    for (const TwoEnds& e : *list) {
      branches.push_back(branch(e, number));
      if (in_time && list == &s.inductors) {
        branches.back().self = matrix.slot(number, number);
      }
      ++number;
    }
  }
  for (const ThreeEnds& e : s.regulators) {
    RegulatorSlots r;
    for (int end = 0; end < 3; ++end) r.row[end] = entry(number, unknown(e.ends[end]));
    r.in_column = entry(unknown(e.ends[0]), number);
    r.out_column = entry(unknown(e.ends[2]), number);
    r.self = matrix.slot(number, number);
    r.quiescent = pair(e.ends[0], e.ends[1]);
    regulators.push_back(r);
    ++number;
  }
  if (!in_time) return;
  for (const TwoEnds& e : s.capacitors) {
    capacitors.push_back(branch(e, number));
    capacitors.back().self = matrix.slot(number, number);
    ++number;
  }
}

int Layout::entry(int row, int column) const {
  return row < 0 || column < 0 ? -1 : matrix.slot(row, column);
}

PairSlots Layout::pair(int a, int b) const {
  const int i = unknown(a);
  const int j = unknown(b);
  return {entry(i, i), entry(i, j), entry(j, i), entry(j, j)};
}

NineSlots Layout::nine(const ThreeEnds& e) const {
  NineSlots slots;
  for (int i = 0; i < 3; ++i) {
    for (int j = 0; j < 3; ++j) {
      slots[i][j] = entry(unknown(e.ends[i]), unknown(e.ends[j]));
    }
  }
  return slots;
}

BranchSlots Layout::branch(const TwoEnds& e, int number) const {
  BranchSlots b;
  b.ends = {entry(unknown(e.a), number), entry(unknown(e.b), number),
            entry(number, unknown(e.a)), entry(number, unknown(e.b))};
  return b;
}

std::vector<std::pair<int, int>> Layout::pattern(bool in_time) const {
  const Structure& s = *structure;
  std::vector<std::pair<int, int>> entries;
  const auto add = [&](int row, int column) {
    if (row >= 0 && column >= 0) entries.emplace_back(row, column);
  };
  const auto all = [&](std::initializer_list<int> ends) {
    for (const int i : ends) {
      for (const int j : ends) add(i, j);
    }
  };
  for (int node = 0; node < nodes; ++node) add(node, node);
  for (const auto* list : {&s.resistors, &s.diodes}) {
    for (const TwoEnds& e : *list) all({unknown(e.a), unknown(e.b)});
  }
  for (const auto* list : {&s.bipolars, &s.mosfets}) {
    for (const ThreeEnds& e : *list) {
      all({unknown(e.ends[0]), unknown(e.ends[1]), unknown(e.ends[2])});
    }
  }
  int branch = nodes;
  const auto add_branch = [&](const TwoEnds& e) {
    for (const int node : {unknown(e.a), unknown(e.b)}) {
      add(node, branch);
      add(branch, node);
    }
  };
  for (const auto* list : {&s.voltage_sources, &s.inductors}) {
    for (const TwoEnds& e : *list) {
      add_branch(e);
      if (in_time && list == &s.inductors) add(branch, branch);
      ++branch;
    }
  }
  for (const ThreeEnds& e : s.regulators) {
    all({unknown(e.ends[0]), unknown(e.ends[1])});
    for (const int node : e.ends) add(branch, unknown(node));
    add(unknown(e.ends[0]), branch);
    add(unknown(e.ends[2]), branch);
    add(branch, branch);
    ++branch;
  }
  if (!in_time) return entries;
  for (const TwoEnds& e : s.capacitors) {
    add_branch(e);
    add(branch, branch);
    ++branch;
  }
  return entries;
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
