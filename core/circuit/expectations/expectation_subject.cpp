#include "core/circuit/expectations/detail/expectation_subject.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "core/circuit/entries/names.h"
#include "core/circuit/entries/reading.h"

namespace benchproof {
namespace {

bool has_junction(KindId kind) {
  return kind == KindId::diode || kind == KindId::zener || kind == KindId::led ||
         kind == KindId::transistor || kind == KindId::mosfet ||
         kind == KindId::regulator;
}

/// Whether the quantity can be asked of the part, and of one of its pins.
bool check_part_quantity(Reading& reading, const Part& part,
                         const QuantityStyle& quantity, const TomlEntry& entry,
                         const TomlEntry* pin) {
  const std::string name = quoted(part.name);
  const bool has_two_pins = part.pins.size() == 2;
  if (quantity.quantity == Quantity::voltage && !has_two_pins) {
    complain(reading, kExpectMeaning, entry.key_span,
             fmt::format("{} has {} pins; the voltage across it is not one number",
                         name, part.pins.size()),
             "ask for the voltage of a 'net', with 'to' for a difference");
    return false;
  }
  if (quantity.quantity == Quantity::temperature &&
      (!has_junction(part.kind) || !figure(part, "thermal_resistance"))) {
    complain(reading, kExpectMeaning, entry.key_span,
             fmt::format("the temperature of {} is not known", name),
             has_junction(part.kind)
                 ? "give its 'thermal_resistance'"
                 : "it is computed for diodes, transistors and regulators");
    return false;
  }
  if (quantity.quantity == Quantity::current && !has_two_pins && pin == nullptr) {
    complain(
        reading, kExpectPin, entry.key_span,
        fmt::format("{} has {} pins; whose current is meant?", name, part.pins.size()),
        fmt::format("add 'pin', one of: {}", fmt::join(part.pins, ", ")));
    return false;
  }
  if (quantity.quantity != Quantity::current && pin != nullptr) {
    complain(reading, kExpectMeaning, pin->key_span,
             fmt::format("'pin' means nothing beside '{}'", quantity.key),
             "it says whose current is meant");
    return false;
  }
  return true;
}

}  // namespace

const TomlEntry* text_entry(Reading& reading, const TomlNode& table,
                            std::string_view key) {
  const TomlEntry* entry = find_entry(table, key);
  if (entry == nullptr) return nullptr;
  const bool is_text = expect_type(reading, entry->value, TomlNode::Type::string,
                                   fmt::format("'{}' of an expectation", key));
  return is_text ? entry : nullptr;
}

bool read_subject(Reading& reading, const TomlNode& table,
                  const QuantityStyle& quantity, const TomlEntry& entry,
                  Expectation& expectation) {
  const TomlEntry* net = find_entry(table, "net");
  const TomlEntry* part_entry = find_entry(table, "part");
  const TomlEntry* pin = find_entry(table, "pin");
  const TomlEntry* to = find_entry(table, "to");
  if (net != nullptr && part_entry != nullptr) {
    complain(reading, kKeyConflict, part_entry->key_span,
             "an expectation has both 'net' and 'part'", "give one of them");
    return false;
  }
  if (net == nullptr && part_entry == nullptr) {
    complain(reading, kKeyMissing, table.span,
             "an expectation names no 'net' or 'part'");
    return false;
  }
  if (net != nullptr) {
    if (pin != nullptr)
      complain(reading, kKeyNeeds, pin->key_span, "'pin' means nothing without 'part'");
    if (quantity.quantity != Quantity::voltage) {
      complain(reading, kExpectMeaning, entry.key_span,
               fmt::format("a net has no {}", quantity.key),
               fmt::format("ask for the {} of a 'part'", quantity.key));
      return false;
    }
    if (text_entry(reading, table, "net") == nullptr) return false;
    expectation.net = read_net_name(reading, *net);
    if (to == nullptr) return expectation.net >= 0;
    if (text_entry(reading, table, "to") == nullptr) return false;
    const int other = read_net_name(reading, *to);
    expectation.to = other == 0 ? -1 : other;
    return expectation.net >= 0 && other >= 0;
  }
  if (to != nullptr)
    complain(reading, kKeyNeeds, to->key_span, "'to' means nothing without 'net'");
  if (text_entry(reading, table, "part") == nullptr) return false;
  const std::string& name = part_entry->value.text;
  const auto found = reading.part_index.find(name);
  if (found == reading.part_index.end()) {
    complain(reading, kPartUnknown, part_entry->value.span,
             fmt::format("there is no part {}", quoted(name)),
             near_part(reading, name, part_entry->value.span, false).hint);
    return false;
  }
  expectation.part = found->second;
  const auto index = static_cast<std::size_t>(expectation.part);
  if (!reading.notes[index].is_understood) return false;
  const Part& part = reading.circuit.parts[index];
  if (!check_part_quantity(reading, part, quantity, entry, pin)) return false;
  if (pin == nullptr) return true;
  if (text_entry(reading, table, "pin") == nullptr) return false;
  expectation.pin = pin_index(part, pin->value.text);
  if (expectation.pin < 0) tell_no_pin(reading, part, pin->value.text, pin->value.span);
  return expectation.pin >= 0;
}

}  // namespace benchproof
