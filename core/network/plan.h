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
#include "core/network/slots.h"

namespace benchproof {

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

/// A slot that something feeds, and how much its number moves by for each unit of it.
struct Feed {
  Slot slot;
  double rate = 0.0;
};

/// What moves with one number of a description.
struct Feeds {
  std::vector<Feed> slots;
  double celsius = 0.0;  ///< The network's temperature, by as much. Kelvin per unit.
};

/// What a part's key feeds in a state, to 1e-12 of each rate. Nothing of a key without
/// a number, or whose number decides which elements there are. Slots of a switch or an
/// output that the state turns off are not among them. Where lowering cuts a number off
/// (a trimmer at its end) the rate is the mean of both sides.
[[nodiscard]] Feeds feeds_of(const Plan& plan, const Circuit& circuit,
                             const std::vector<Part>& parts, const State& state,
                             int part, std::string_view key);

/// What the circuit's ambient temperature feeds: the network's temperature, and the
/// numbers that lowering moves with it. Per kelvin.
[[nodiscard]] Feeds ambient_feeds(const Plan& plan, const Circuit& circuit,
                                  const std::vector<Part>& parts, const State& state);

/// The slots among them.
[[nodiscard]] std::vector<Slot> slots_of(const Plan& plan, const Circuit& circuit,
                                         const std::vector<Part>& parts,
                                         const State& state, int part,
                                         std::string_view key);

}  // namespace benchproof
