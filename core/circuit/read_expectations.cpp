#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/circuit/reading.h"

namespace benchproof {
namespace {

using Phase = Expectation::Phase;

struct QuantityStyle {
  std::string_view key;
  Quantity quantity;
  Unit unit;
};

constexpr std::array<QuantityStyle, 4> kQuantities = {{
    {"voltage", Quantity::voltage, Unit::volt},
    {"current", Quantity::current, Unit::ampere},
    {"power", Quantity::power, Unit::watt},
    {"temperature", Quantity::temperature, Unit::celsius},
}};

/// The text behind a key, or nothing (after a complaint where it is not a text).
const TomlEntry* text_entry(Reading& reading, const TomlNode& table,
                            std::string_view key) {
  const TomlEntry* entry = find_entry(table, key);
  if (entry == nullptr) return nullptr;
  const bool is_text = expect_type(reading, entry->value, TomlNode::Type::string,
                                   fmt::format("'{}' of an expectation", key));
  return is_text ? entry : nullptr;
}

std::optional<double> read_key(Reading& reading, const TomlNode& table,
                               std::string_view key, Unit unit) {
  const TomlEntry* entry = find_entry(table, key);
  if (entry == nullptr) return std::nullopt;
  return read_quantity(reading, entry->value, unit, fmt::format("'{}'", key));
}

/// How far a value may be off: a share of the nominal value, or a quantity like it.
std::optional<double> read_within(Reading& reading, const TomlEntry& within,
                                  double nominal, Unit unit) {
  const Span& span = within.value.span;
  const bool is_share = within.value.type == TomlNode::Type::string &&
                        within.value.text.find('%') != std::string::npos;
  const auto value = read_quantity(reading, within.value,
                                   is_share ? Unit::fraction : unit, "'within'");
  if (!value) return std::nullopt;
  if (*value <= 0.0) {
    complain(reading, kExpectBounds, span, "'within' leaves no room",
             "it must be above 0");
    return std::nullopt;
  }
  if (is_share && nominal == 0.0) {
    complain(
        reading, kExpectBounds, span, "a percentage of 0 is 0",
        fmt::format("write 'within' as {}",
                    unit == Unit::volt ? "a voltage" : "a quantity of the same unit"));
    return std::nullopt;
  }
  return is_share ? *value * std::abs(nominal) : *value;
}

/// Reads { nominal, within } or { min, max }. False after a complaint.
bool read_bounds(Reading& reading, const TomlEntry& entry, Unit unit,
                 Expectation& expectation) {
  const std::string target = fmt::format("'{}'", entry.key);
  constexpr std::string_view kForms = "write { nominal, within } or { min, max }";
  const TomlNode& table = entry.value;
  if (!expect_type(reading, table, TomlNode::Type::table, target)) return false;
  refuse_unknown_keys(reading, table, {"nominal", "within", "min", "max"}, target);
  const bool has_nominal = find_entry(table, "nominal") != nullptr;
  const TomlEntry* within = find_entry(table, "within");
  const TomlEntry* least = find_entry(table, "min");
  const TomlEntry* most = find_entry(table, "max");
  if ((has_nominal || within) && (least || most)) {
    complain(reading, kKeyConflict, (least ? least : most)->key_span,
             fmt::format("{} mixes two ways of giving bounds", target),
             std::string(kForms));
    return false;
  }
  if (has_nominal != (within != nullptr) || (!has_nominal && !least && !most)) {
    complain(reading, kKeyMissing, entry.key_span,
             fmt::format("{} has no bounds", target), std::string(kForms));
    return false;
  }
  if (has_nominal) {
    const auto nominal = read_key(reading, table, "nominal", unit);
    if (!nominal) return false;
    const auto room = read_within(reading, *within, *nominal, unit);
    if (!room) return false;
    expectation.nominal = nominal;
    expectation.least = *nominal - *room;
    expectation.most = *nominal + *room;
    return true;
  }
  expectation.least = read_key(reading, table, "min", unit);
  expectation.most = read_key(reading, table, "max", unit);
  if ((least && !expectation.least) || (most && !expectation.most)) return false;
  if (least && most && *expectation.least > *expectation.most) {
    complain(reading, kExpectBounds, entry.key_span,
             fmt::format("'min' {} is above 'max' {}",
                         format_quantity(*expectation.least, unit),
                         format_quantity(*expectation.most, unit)));
    return false;
  }
  return true;
}

/// The index of a net by name, or -1 after a complaint.
int read_net_name(Reading& reading, const TomlEntry& entry) {
  const std::string& name = entry.value.text;
  const auto found = reading.net_index.find(name);
  if (found != reading.net_index.end()) return found->second;
  std::vector<std::string> names;
  for (const Net& net : reading.circuit.nets) names.push_back(net.name);
  complain(reading, kNetUnknown, entry.value.span,
           fmt::format("there is no net {}", quoted(name)),
           suggestion(reading, name, names, "nets"));
  return -1;
}

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

/// Reads what an expectation is about. False after a complaint, or when the part it
/// names was not understood.
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
             suggestion(reading, name, reading.part_names, "parts"));
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
  if (expectation.pin < 0)
    complain(reading, kPinUnknown, pin->value.span,
             fmt::format("{} has no pin {}", quoted(name), quoted(pin->value.text)),
             suggestion(reading, pin->value.text, part.pins, "pins"));
  return expectation.pin >= 0;
}

/// The states in which an expectation is judged; empty after a complaint.
std::vector<const State*> read_state_name(Reading& reading, const TomlNode& table,
                                          Expectation& expectation) {
  std::vector<const State*> judged;
  const std::vector<State>& states = reading.circuit.states;
  if (find_entry(table, "state") == nullptr) {
    for (const State& state : states)
      if (state.steady) judged.push_back(&state);
    return judged;
  }
  const TomlEntry* entry = text_entry(reading, table, "state");
  if (entry == nullptr) return judged;
  const std::string& name = entry->value.text;
  const auto found =
      std::find_if(states.begin(), states.end(),
                   [&name](const State& state) { return state.name == name; });
  if (found == states.end()) {
    std::vector<std::string> names;
    names.reserve(states.size());
    for (const State& state : states) names.push_back(state.name);
    complain(reading, kStateUnknown, entry->value.span,
             fmt::format("there is no state {}", quoted(name)),
             suggestion(reading, name, names, "states"));
    return judged;
  }
  if (!found->steady) {
    complain(
        reading, kStatePassing, entry->value.span,
        fmt::format("state {} is only passed through, so nothing can be expected of "
                    "it at rest",
                    quoted(name)));
    return judged;
  }
  expectation.state = name;
  judged.push_back(&*found);
  return judged;
}

void read_phase(Reading& reading, const TomlNode& table,
                const std::vector<const State*>& states, Expectation& expectation) {
  const TomlEntry* entry = text_entry(reading, table, "phase");
  if (entry == nullptr) return;
  if (entry->value.text == "on") {
    expectation.phase = Phase::on;
  } else if (entry->value.text == "off") {
    expectation.phase = Phase::off;
  } else {
    complain(reading, kWordUnknown, entry->value.span,
             fmt::format("'phase' cannot be {}", quoted(entry->value.text)),
             R"(it is "on" or "off")");
    return;
  }
  const bool is_pwm_anywhere =
      std::any_of(states.begin(), states.end(),
                  [](const State* state) { return phase_count(*state) > 1; });
  if (!states.empty() && !is_pwm_anywhere)
    complain(reading, kExpectPhase, entry->value.span,
             expectation.state.empty()
                 ? std::string("no state has a PWM output")
                 : fmt::format("state {} has no PWM output", quoted(expectation.state)),
             "leave out 'phase'");
}

/// The one quantity that an expectation asks for, or nothing after a complaint.
const QuantityStyle* find_quantity(Reading& reading, const TomlNode& table) {
  const QuantityStyle* found = nullptr;
  for (const QuantityStyle& style : kQuantities) {
    const TomlEntry* entry = find_entry(table, style.key);
    if (entry == nullptr) continue;
    if (found != nullptr) {
      complain(reading, kKeyConflict, entry->key_span,
               fmt::format("an expectation asks for both '{}' and '{}'", found->key,
                           style.key),
               "write one [[expect]] for each");
      return nullptr;
    }
    found = &style;
  }
  if (found == nullptr)
    complain(reading, kKeyMissing, table.span, "an expectation asks for nothing",
             "give one of: voltage, current, power, temperature");
  return found;
}

void read_remarks(Reading& reading, const TomlNode& table, Expectation& expectation) {
  for (const auto& [key, into] :
       {std::pair{"source", &expectation.source}, std::pair{"why", &expectation.why},
        std::pair{"mark", &expectation.mark}}) {
    const TomlEntry* entry = text_entry(reading, table, key);
    if (entry == nullptr) continue;
    const std::string target = fmt::format("'{}'", key);
    if (check_text(reading, entry->value.text, entry->value.span, target))
      *into = entry->value.text;
  }
  const std::vector<std::string> marks = {"verified", "memory", "practice"};
  const bool is_known =
      expectation.mark.empty() ||
      std::find(marks.begin(), marks.end(), expectation.mark) != marks.end();
  if (!is_known)
    complain(reading, kWordUnknown, find_entry(table, "mark")->value.span,
             fmt::format("'mark' cannot be {}", quoted(expectation.mark)),
             suggestion(reading, expectation.mark, marks, "marks"));
}

void read_expectation(Reading& reading, const TomlNode& table) {
  if (!expect_type(reading, table, TomlNode::Type::table, "an expectation")) return;
  for (const std::string_view key : {"run", "reaches", "stays"}) {
    const TomlEntry* entry = find_entry(table, key);
    if (entry == nullptr) continue;
    complain(reading, kNotYet, entry->key_span,
             fmt::format("expectations of runs ('{}') are not yet supported", key));
    return;
  }
  refuse_unknown_keys(reading, table,
                      {"state", "net", "to", "part", "pin", "voltage", "current",
                       "power", "temperature", "phase", "source", "mark", "why"},
                      "an expectation");
  Expectation expectation;
  expectation.span = table.span;
  read_remarks(reading, table, expectation);
  const auto states = read_state_name(reading, table, expectation);
  read_phase(reading, table, states, expectation);
  const QuantityStyle* quantity = find_quantity(reading, table);
  if (quantity == nullptr) return;
  const TomlEntry& entry = *find_entry(table, quantity->key);
  expectation.quantity = quantity->quantity;
  const bool has_bounds = read_bounds(reading, entry, quantity->unit, expectation);
  if (read_subject(reading, table, *quantity, entry, expectation) && has_bounds)
    reading.circuit.expectations.push_back(std::move(expectation));
}

}  // namespace

void read_expectations(Reading& reading, const TomlEntry& list) {
  if (!expect_type(reading, list.value, TomlNode::Type::array, "'expect'")) return;
  for (const TomlNode& item : list.value.items) read_expectation(reading, item);
}

}  // namespace benchproof
