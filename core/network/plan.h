#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string_view>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/network.h"

namespace benchproof {

/// The lists of Values, in their order.
enum class ValueList {
  ohms,
  farads,
  stray_farads,
  coils,
  volts,
  amps,
  diodes,
  bipolars,
  mosfets,
  regulators,
};
inline constexpr std::size_t kValueLists = 10;

/// Where the elements of one part stand.
struct PartPlan {
  std::array<std::size_t, kValueLists> first{};  ///< In each list.
  std::array<std::size_t, kValueLists> count{};
  /// Which elements its values asked for: with or without series resistance ...
  std::uint32_t shape = 0;
};

/// What a network is for. In a run junctions and pins have capacitances, coils their
/// inductance and supplies a limit; none of these changes what is at rest, but for
/// supplies that are asked for more than they give.
enum class Purpose { rest, run };

/// How a circuit becomes a network: its structure, and where the values of each part
/// stand. It holds for every state of the circuit, and for other values of its parts as
/// long as these ask for the same elements.
struct Plan {
  std::shared_ptr<const Structure> structure;
  std::vector<PartPlan> parts;  ///< One per part.
  Purpose purpose = Purpose::rest;
};

/// The current that a regulated supply holds in runs where more is asked of it: 1.3
/// times the one on its label. Nothing where none is told, or `limit` is "none".
[[nodiscard]] std::optional<double> supply_limit(const Part& supply);

/// The plan of the circuit with these parts (see parts_in). `known`, where given, is
/// the structure of another plan: it is shared if the elements come out the same, so
/// that solvers keep their symbolic work.
[[nodiscard]] Plan make_plan(const Circuit& circuit, const std::vector<Part>& parts,
                             std::shared_ptr<const Structure> known = nullptr,
                             Purpose purpose = Purpose::rest);

/// The values of all parts in a state without PWM (see `phases`), `parts` being those
/// of the plan with other numbers at most. Whether the plan holds for them; if not,
/// what is in `values` is of no use.
[[nodiscard]] bool fill(const Plan& plan, const Circuit& circuit,
                        const std::vector<Part>& parts, const State& state,
                        Values& values);

/// Fills in one part's values; those of the others stay as they are. Whether the plan
/// holds for the part; if not, nothing is changed.
[[nodiscard]] bool fill_part(const Plan& plan, const Circuit& circuit,
                             const std::vector<Part>& parts, const State& state,
                             int part, Values& values);

/// A number among a network's values. Of device models `index` is the device's, and the
/// slot stands for its whole model.
struct Slot {
  ValueList list = ValueList::ohms;
  std::size_t index = 0;
  friend bool operator==(const Slot&, const Slot&) = default;
};

/// The slots that a part's key feeds in a state: those that move when its value does.
/// Empty for a key without a number. Slots of a switch or an output that the state
/// turns off are not among them.
[[nodiscard]] std::vector<Slot> slots_of(const Plan& plan, const Circuit& circuit,
                                         const std::vector<Part>& parts,
                                         const State& state, int part,
                                         std::string_view key);

}  // namespace benchproof
