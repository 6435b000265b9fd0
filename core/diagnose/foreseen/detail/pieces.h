#pragma once

#include <cstdint>
#include <initializer_list>
#include <span>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/diagnose/foreseen/detail/conditions.h"
#include "core/fault/fault.h"
#include "core/network/network.h"
#include "core/network/part_elements.h"
#include "core/network/plan.h"

namespace benchproof {

/// What a dead chip or regulator may let through from a node to ground.
struct Leak {
  int node = 0;
  double ohms = 0.0;
  friend bool operator==(const Leak&, const Leak&) = default;
};

/// A part as it stands in a condition, and what it becomes there at rest.
struct Piece {
  int place =
      -1;     ///< The part's index; that of a joint is not told apart from others'.
  Part part;  ///< With what the state changes.
  PartElements elements;  ///< The values of one phase, where all are the same.
  std::vector<Leak> leaks;
  /// Of the elements without their values, and of all that answers hang on.
  std::uint64_t structure = 0;
  std::uint64_t name = 0;

  [[nodiscard]] bool hangs_on_phases() const { return elements.values.size() > 1; }
  [[nodiscard]] const Values& values(std::size_t phase) const {
    return elements.values[hangs_on_phases() ? phase : 0];
  }
};

/// The circuit as meant in a condition.
struct Stage {
  std::vector<Piece> pieces;    ///< Of each part.
  std::vector<double> shares;   ///< Of each phase.
  std::uint64_t structure = 0;  ///< Stages of one structure have the same.
};

/// What a build of the circuit has otherwise than meant in a condition. What two builds
/// that touch different parts have otherwise, one that has both has.
struct BuildChange {
  std::vector<Piece> pieces;    ///< In the order of parts, joints last.
  std::vector<double> shares;   ///< Of each phase; empty: as meant.
  std::uint64_t name = 0;       ///< Of what it does; 0: nothing is otherwise.
  std::uint64_t structure = 0;  ///< The same of the structure alone.
};

/// A build of the circuit: what it has otherwise in each condition.
struct Build {
  std::vector<int> parts;  ///< That its faults touch, rising; without joints.
  /// Nets with electrolytics that have other pins than meant, rising.
  std::vector<int> nets;
  std::vector<BuildChange> changes;
};

/// Makes builds of a circuit, part by part: what its faults do not touch is as meant.
/// Refers to the circuit and the conditions.
class Builder {
 public:
  Builder(const Circuit& meant, const std::vector<Condition>& conditions);

  [[nodiscard]] const Stage& stage(std::size_t condition) const {
    return stages_[condition];
  }
  /// The circuit with these faults, one after the other.
  [[nodiscard]] Build build(std::span<const Fault* const> faults) const;
  /// Whether both builds' changes go together without anything else in a condition.
  [[nodiscard]] static bool are_apart(const Build& a, const Build& b,
                                      std::size_t condition);

 private:
  [[nodiscard]] Piece piece_of(std::size_t condition, const Circuit& built,
                               const Circuit& there, const State& state,
                               std::span<const State> phases, int index) const;
  [[nodiscard]] BuildChange change_of(std::size_t condition, const Circuit& built,
                                      const std::vector<int>& touched) const;

  const Circuit& meant_;
  const std::vector<Condition>& conditions_;
  bool has_electrolytics_ = false;
  std::vector<Stage> stages_;
  std::vector<std::vector<char>> is_asked_;  ///< [condition][part].
};

/// The pieces of a build: those of the circuit as meant with changes (null: none) that
/// are apart laid over them, and the joints after them, in an order of their own.
void put_together(const Stage& stage, std::initializer_list<const BuildChange*> changes,
                  std::vector<const Piece*>& pieces);

/// Makes one number of many: FNV-1a, word by word [Fowler, Noll, Vo], each word stirred
/// first as in SplitMix64 [Steele 2014, "Fast splittable pseudorandom number
/// generators"]. Two of 1e6 networks have one name by chance with a probability of
/// 3e-8.
class Name {
 public:
  void add(std::uint64_t word);
  void add(int value);
  void add(double value);
  [[nodiscard]] std::uint64_t value() const { return name_; }

 private:
  std::uint64_t name_ = 0xCBF29CE484222325ULL;
};

/// The plan of all pieces one after the other, as `make_plan` makes it of a circuit
/// with these nets.
[[nodiscard]] PiecePlan plan_of(const std::vector<Net>& nets,
                                const std::vector<const Piece*>& pieces);
/// The values of all pieces in a phase, into `values`.
void put_values(const std::vector<const Piece*>& pieces, std::size_t phase,
                Values& values);

}  // namespace benchproof
