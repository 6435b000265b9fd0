#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <type_traits>

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

/// A number among a network's values.
struct Slot {
  ValueList list = ValueList::ohms;
  std::size_t index = 0;   ///< Of the element.
  std::size_t number = 0;  ///< Among the kNumbers of a model; else 0.
  friend bool operator==(const Slot&, const Slot&) = default;
};

/// How many slots each element of a list has.
[[nodiscard]] std::size_t slots_each(ValueList list);

/// The number in a slot.
/// @pre The slot is one of the values'.
[[nodiscard]] double& value_at(Values& values, const Slot& slot);
[[nodiscard]] double value_at(const Values& values, const Slot& slot);

/// A slot in the words of Values and the models: "ohms[3]", "diodes[0].is".
[[nodiscard]] std::string name_of(const Slot& slot);

/// All slots of a structure's values in a row: list by list, element by element, and of
/// a model number by number.
class SlotOrder {
 public:
  explicit SlotOrder(const Structure& structure);

  [[nodiscard]] std::size_t size() const { return first_.back(); }
  [[nodiscard]] std::size_t place_of(const Slot& slot) const;
  /// @pre place < size()
  [[nodiscard]] Slot slot_at(std::size_t place) const;

 private:
  std::array<std::size_t, kValueLists + 1> first_{};  ///< Of each list, and the end.
  std::array<std::size_t, kValueLists> each_{};       ///< How many each element has.
};

/// Calls `visit(list, of_a, of_b)` for each list of two sets of values.
template <typename A, typename B, typename Visit>
void for_lists(A& a, B& b, Visit&& visit) {
  visit(ValueList::ohms, a.ohms, b.ohms);
  visit(ValueList::farads, a.farads, b.farads);
  visit(ValueList::stray_farads, a.stray_farads, b.stray_farads);
  visit(ValueList::coils, a.coils, b.coils);
  visit(ValueList::volts, a.volts, b.volts);
  visit(ValueList::amps, a.amps, b.amps);
  visit(ValueList::diodes, a.diodes, b.diodes);
  visit(ValueList::bipolars, a.bipolars, b.bipolars);
  visit(ValueList::mosfets, a.mosfets, b.mosfets);
  visit(ValueList::regulators, a.regulators, b.regulators);
}

/// Calls `visit(slot, number_of_a, number_of_b)` for each slot of two sets of values of
/// one structure, in the order of SlotOrder.
template <typename A, typename B, typename Visit>
void for_slots(A& a, B& b, Visit&& visit) {
  for_lists(a, b, [&visit](ValueList list, auto& of_a, auto& of_b) {
    using Element = typename std::decay_t<decltype(of_a)>::value_type;
    for (std::size_t k = 0; k < of_a.size(); ++k) {
      if constexpr (std::is_same_v<Element, double>) {
        visit(Slot{list, k, 0}, of_a[k], of_b[k]);
      } else {
        for (std::size_t n = 0; n < Element::kNumbers.size(); ++n) {
          const auto member = Element::kNumbers[n].member;
          visit(Slot{list, k, n}, of_a[k].*member, of_b[k].*member);
        }
      }
    }
  });
}

}  // namespace benchproof
