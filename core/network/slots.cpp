#include "core/network/slots.h"

#include <algorithm>
#include <cassert>
#include <string_view>
#include <type_traits>

namespace benchproof {
namespace {

constexpr std::array<std::string_view, kValueLists> kListNames{
    "ohms", "farads", "stray_farads", "coils",   "volts",
    "amps", "diodes", "bipolars",     "mosfets", "regulators"};

/// What a list of values holds: plain numbers, or models.
template <class List>
using ElementOf = typename std::decay_t<List>::value_type;

template <class List>
constexpr bool kIsPlain = std::is_same_v<ElementOf<List>, double>;

/// Calls `visit(list)` with one of the lists.
template <class AnyValues, class Visit>
void with_list(AnyValues& values, ValueList list, const Visit& visit) {
  for_lists(values, values, [&](ValueList which, auto& of, auto&) {
    if (which == list) visit(of);
  });
}

/// `Number` is a double, or a constant one.
template <class Number, class AnyValues>
Number& number_in(AnyValues& values, const Slot& slot) {
  Number* found = nullptr;
  with_list(values, slot.list, [&](auto& of) {
    if constexpr (kIsPlain<decltype(of)>)
      found = &of[slot.index];
    else
      found = &(of[slot.index].*ElementOf<decltype(of)>::kNumbers[slot.number].member);
  });
  assert(found != nullptr && "every list is gone over");
  return *found;
}

}  // namespace

std::size_t slots_each(ValueList list) {
  std::size_t count = 1;
  const Values none;
  with_list(none, list, [&count](const auto& of) {
    if constexpr (!kIsPlain<decltype(of)>)
      count = ElementOf<decltype(of)>::kNumbers.size();
  });
  return count;
}

double& value_at(Values& values, const Slot& slot) {
  return number_in<double>(values, slot);
}

double value_at(const Values& values, const Slot& slot) {
  return number_in<const double>(values, slot);
}

std::string name_of(const Slot& slot) {
  std::string name(kListNames[static_cast<std::size_t>(slot.list)]);
  name += '[' + std::to_string(slot.index) + ']';
  const Values none;
  with_list(none, slot.list, [&](const auto& of) {
    if constexpr (!kIsPlain<decltype(of)>)
      name.append(".").append(ElementOf<decltype(of)>::kNumbers[slot.number].name);
  });
  return name;
}

SlotOrder::SlotOrder(const Structure& s) {
  const std::array<std::size_t, kValueLists> elements{
      s.resistors.size(), s.capacitors.size(),      s.strays.size(),
      s.inductors.size(), s.voltage_sources.size(), s.current_sources.size(),
      s.diodes.size(),    s.bipolars.size(),        s.mosfets.size(),
      s.regulators.size()};
  for (std::size_t list = 0; list < kValueLists; ++list) {
    each_[list] = slots_each(static_cast<ValueList>(list));
    first_[list + 1] = first_[list] + elements[list] * each_[list];
  }
}

std::size_t SlotOrder::place_of(const Slot& slot) const {
  const auto list = static_cast<std::size_t>(slot.list);
  return first_[list] + slot.index * each_[list] + slot.number;
}

Slot SlotOrder::slot_at(std::size_t place) const {
  // Of the lists that begin here the last: all before it are empty.
  const auto next = std::upper_bound(first_.begin(), first_.end(), place);
  const auto list = static_cast<std::size_t>(next - first_.begin()) - 1;
  const std::size_t within = place - first_[list];
  return {static_cast<ValueList>(list), within / each_[list], within % each_[list]};
}

}  // namespace benchproof
