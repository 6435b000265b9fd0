#pragma once

#include <array>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "core/network/network.h"
#include "core/nodal/detail/matrix.h"

namespace benchproof {

/// The entries that a conductance between two nodes touches; -1 at ground.
struct PairSlots {
  int aa = -1;
  int ab = -1;
  int ba = -1;
  int bb = -1;
};

/// Entries (i, j) for the three ends of an element, -1 where one is ground.
using NineSlots = std::array<std::array<int, 3>, 3>;

/// The entries of an element whose current is an unknown of its own.
struct BranchSlots {
  int number = -1;  ///< Of the current among the unknowns, and of its row.
  PairSlots ends;   ///< aa, ab: column entries; ba, bb: row entries.
  int self = -1;    ///< Of coils, and of capacitors in time.
};

struct CoilSlots {
  BranchSlots branch;
  PairSlots across;
};

struct RegulatorSlots {
  int number = -1;  ///< Of the current among the unknowns, and of its row.
  std::array<int, 3> row{-1, -1, -1};
  int in_column = -1;
  int out_column = -1;
  int self = -1;
  PairSlots quiescent;
};

/// Where a structure's elements stand in the nodal system. Unknowns: the voltages of
/// all nodes but ground, then the currents of voltage sources, inductors and
/// regulators; in time also those of capacitors, so that a short step, which makes a
/// large conductance of a capacitor, costs no digits. Strays are too small for that.
class Layout {
 public:
  Layout(std::shared_ptr<const Structure> structure, bool in_time);

  /// Number of a node's voltage among the unknowns; -1 for ground.
  [[nodiscard]] static int unknown(int node) { return node - 1; }
  /// Numbers of the first currents of a kind among the unknowns.
  [[nodiscard]] int first_inductor() const {
    return nodes + static_cast<int>(structure->voltage_sources.size());
  }
  [[nodiscard]] int first_regulator() const {
    return first_inductor() + static_cast<int>(structure->inductors.size());
  }
  [[nodiscard]] int first_capacitor() const {
    return first_regulator() + static_cast<int>(structure->regulators.size());
  }

  /// An unknown as a person knows it: a net, a part, or what a current flows in.
  [[nodiscard]] std::string name(int unknown) const;

  const std::shared_ptr<const Structure> structure;
  const int nodes;  ///< Without ground.
  const int size;   ///< Unknowns.
  std::vector<PairSlots> resistors;
  std::vector<PairSlots> diodes;
  std::vector<NineSlots> bipolars;
  std::vector<NineSlots> mosfets;
  std::vector<BranchSlots> voltage_sources;
  std::vector<CoilSlots> inductors;
  std::vector<RegulatorSlots> regulators;
  std::vector<BranchSlots> capacitors;  ///< Empty unless in time.
  std::vector<PairSlots> strays;        ///< Empty unless in time.
  std::vector<int> diagonal;            ///< Per node but ground.
  Matrix matrix;

 private:
  [[nodiscard]] std::vector<std::pair<int, int>> pattern(bool in_time);
  template <class Find>
  void place(bool in_time, const Find& find);
};

/// The voltage of a node, ground included, among the unknowns `x`. Volt.
template <class Number>
[[nodiscard]] Number node_volts(const std::vector<Number>& x, int node) {
  return node == 0 ? Number(0.0) : x[Layout::unknown(node)];
}

}  // namespace benchproof
