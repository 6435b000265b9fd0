#include "core/circuit/readings/readings.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <utility>

#include "core/base/pieces.h"
#include "core/circuit/entries/names.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/entries/values.h"
#include "core/circuit/readings/detail/reading_values.h"

namespace benchproof {
namespace {

/// The text behind a key of a reading, or nothing (after a complaint where it is none).
const TomlEntry* word_entry(Reading& reading, const TomlNode& table,
                            std::string_view key) {
  const TomlEntry* entry = find_entry(table, key);
  if (entry == nullptr) return nullptr;
  const bool is_text = expect_type(reading, entry->value, TomlNode::Type::string,
                                   fmt::format("'{}' of a reading", key));
  return is_text ? entry : nullptr;
}

/// The index of the part that an entry names, or -1 after a complaint.
int read_part_name(Reading& reading, const TomlNode& node) {
  const auto found = reading.part_index.find(node.text);
  if (found != reading.part_index.end()) return found->second;
  complain(reading, kPartUnknown, node.span,
           fmt::format("there is no part {}", quoted(node.text)),
           near_part(reading, node.text, node.span, false).hint);
  return -1;
}

const Part& part_at(const Reading& reading, int index) {
  return reading.circuit.parts[static_cast<std::size_t>(index)];
}

/// Reads the condition: power, state and what is out. False after a complaint.
bool read_condition(Reading& reading, const TomlNode& table, TakenReading& taken) {
  const std::size_t before = reading.diagnostics.size();
  const TomlEntry* power = word_entry(reading, table, "power");
  if (power != nullptr && power->value.text != "on" && power->value.text != "off")
    complain(reading, kWordUnknown, power->value.span,
             fmt::format("'power' cannot be {}", quoted(power->value.text)),
             R"(it is "on" or "off"; without it the power is on)");
  taken.question.powered = power == nullptr || power->value.text != "off";
  if (const TomlEntry* state = word_entry(reading, table, "state")) {
    if (read_state_index(reading, state->value) >= 0)
      taken.question.state = state->value.text;
  } else if (taken.question.powered && find_entry(table, "state") == nullptr) {
    const std::vector<State>& states = reading.circuit.states;
    std::vector<std::string> names;
    for (const State& each : states) names.push_back(each.name);
    if (states.size() == 1)
      taken.question.state = names.front();
    else
      complain(reading, kKeyMissing, table.span, "a reading has no 'state'",
               names_hint("", names, "states", names.size()) + R"(; or power = "off")",
               "no 'state'");
  }
  if (const TomlEntry* out = find_entry(table, "out");
      out != nullptr &&
      expect_type(reading, out->value, TomlNode::Type::array, "'out' of a reading")) {
    for (const TomlNode& item : out->value.items) {
      if (!expect_type(reading, item, TomlNode::Type::string, "a part in 'out'"))
        continue;
      if (read_part_name(reading, item) < 0) continue;
      if (std::find(taken.question.out.begin(), taken.question.out.end(), item.text) ==
          taken.question.out.end())
        taken.question.out.push_back(item.text);
    }
  }
  return reading.diagnostics.size() == before;
}

/// The one key that says what is asked, or nothing after a complaint. What cannot be
/// reached need not say: it is what is read there as a rule.
const AsksStyle* find_asked(Reading& reading, const TomlNode& table,
                            const TakenReading& taken) {
  const AsksStyle* found = nullptr;
  for (const AsksStyle& style : kAsksStyles) {
    const TomlEntry* entry = find_entry(table, style.key);
    if (entry == nullptr) continue;
    if (found != nullptr) {
      complain(reading, kKeyConflict, entry->key_span,
               fmt::format("a reading has both '{}' and '{}'", found->key, style.key),
               "write one [[reading]] for each");
      return nullptr;
    }
    found = &style;
  }
  if (found == nullptr && !taken.is_reached) {
    if (find_entry(table, "part") != nullptr)
      return &style_of(find_entry(table, "pin") != nullptr ? Asks::current
                                                           : Asks::looks);
    return &style_of(taken.question.powered ? Asks::voltage : Asks::resistance);
  }
  if (found == nullptr)
    complain(reading, kKeyMissing, table.span, "a reading tells nothing",
             "give one of: voltage, current, resistance, diode, looks",
             "a reading tells nothing");
  return found;
}

/// A pin as a reading names it: alone, or beside its part.
std::string written_pin(const TomlEntry* part, const TomlEntry& pin) {
  const std::string& text = pin.value.text;
  return part == nullptr || text.find('.') != std::string::npos
             ? text
             : fmt::format("{}.{}", part->value.text, text);
}

/// What to say to a pin where a net is to be named.
std::string net_of_pin_hint(const Reading& reading, const std::string& pin) {
  const std::string hint = nets_of_pins(reading, pin);
  return hint.empty() ? "it says whose current is meant" : hint;
}

/// Reads two nets between which something is measured, or a part of two pins that the
/// meter stands across. False after a complaint.
bool read_between(Reading& reading, const TomlNode& table, const AsksStyle& style,
                  TakenReading& taken) {
  const TomlEntry* net = word_entry(reading, table, "net");
  const TomlEntry* to = word_entry(reading, table, "to");
  const TomlEntry* part = word_entry(reading, table, "part");
  if (const TomlEntry* pin = find_entry(table, "pin"))
    complain(reading, kKeyNeeds, pin->key_span,
             fmt::format("'pin' means nothing beside '{}'", style.key),
             net_of_pin_hint(reading, written_pin(part, *pin)));
  if (net != nullptr && part != nullptr) {
    complain(reading, kKeyConflict, part->key_span,
             "a reading has both 'net' and 'part'", "give one of them");
    return false;
  }
  const auto name_of = [&reading](int index) {
    return reading.circuit.nets[static_cast<std::size_t>(index)].name;
  };
  if (part != nullptr) {
    const int index = read_part_name(reading, part->value);
    if (index < 0) return false;
    const Part& across = part_at(reading, index);
    if (across.nets.size() != 2 || across.nets[0] < 0 || across.nets[1] < 0) {
      complain(
          reading, kExpectMeaning, part->value.span,
          fmt::format("what stands across {} is not one number", quoted(across.name)),
          "name a 'net', with 'to' for the other one");
      return false;
    }
    taken.question.net = name_of(across.nets[0]);
    taken.question.to = across.nets[1] == 0 ? std::string() : name_of(across.nets[1]);
    return true;
  }
  if (net == nullptr) {
    if (find_entry(table, "net") == nullptr && find_entry(table, "part") == nullptr)
      complain(reading, kKeyMissing, table.span,
               fmt::format("a reading of a {} names no 'net'", style.key), "",
               "names no 'net'");
    return false;
  }
  const int from = read_net_name(reading, *net);
  const int other = to != nullptr ? read_net_name(reading, *to) : 0;
  if (from < 0 || other < 0) return false;
  if (from == other) {
    complain(reading, kExpectMeaning, (to != nullptr ? to : net)->value.span,
             fmt::format("both leads of the meter stand on {}", quoted(name_of(from))),
             "'to' names the net of the other lead, ground without it");
    return false;
  }
  taken.question.net = name_of(from);
  taken.question.to = other == 0 ? std::string() : name_of(other);
  return true;
}

/// Reads whose current or looks are told. False after a complaint.
bool read_part_subject(Reading& reading, const TomlNode& table, const AsksStyle& style,
                       TakenReading& taken) {
  for (const char* key : {"net", "to"})
    if (const TomlEntry* entry = find_entry(table, key))
      complain(reading, kKeyConflict, entry->key_span,
               fmt::format("'{}' means nothing beside '{}'", key, style.key),
               "name a 'part'");
  const TomlEntry* part = word_entry(reading, table, "part");
  if (part == nullptr) {
    if (find_entry(table, "part") == nullptr)
      complain(reading, kKeyMissing, table.span,
               fmt::format("a reading of {} names no 'part'", style.key), "",
               "names no 'part'");
    return false;
  }
  const int index = read_part_name(reading, part->value);
  if (index < 0) return false;
  const Part& subject = part_at(reading, index);
  taken.question.part = subject.name;
  const TomlEntry* pin = word_entry(reading, table, "pin");
  if (style.asks == Asks::looks) {
    if (pin != nullptr)
      complain(reading, kKeyNeeds, pin->key_span, "'pin' means nothing beside 'looks'");
    return pin == nullptr;
  }
  if (pin == nullptr) {
    if (subject.pins.size() <= 2) return true;
    complain(reading, kExpectPin, part->value.span,
             fmt::format("{} has {} pins; whose current is meant?",
                         quoted(subject.name), subject.pins.size()),
             fmt::format("add 'pin', one of: {}", fmt::join(subject.pins, ", ")));
    return false;
  }
  if (pin_index(subject, pin->value.text) < 0) {
    tell_no_pin(reading, subject, pin->value.text, pin->value.span);
    return false;
  }
  taken.question.pin = pin->value.text;
  return true;
}

/// Whether the power fits what is asked; complains otherwise.
bool check_power_for(Reading& reading, const AsksStyle& style, const TomlEntry& entry,
                     const TakenReading& taken) {
  const bool is_without = style.asks == Asks::resistance || style.asks == Asks::diode;
  if (is_without == !taken.question.powered) return true;
  complain(reading, kExpectMeaning, entry.key_span,
           is_without ? fmt::format("'{}' is measured with the power off", style.key)
                      : fmt::format("there is no {} with the power off", style.key),
           is_without ? R"(unplug it and add power = "off")"
                      : R"(leave out power = "off" and name a 'state')");
  return false;
}

bool read_looks(Reading& reading, const TomlNode& node, TakenReading& taken) {
  if (!expect_type(reading, node, TomlNode::Type::string, "'looks'")) return false;
  const auto found = reading.part_index.find(taken.question.part);
  if (found == reading.part_index.end()) return false;
  std::vector<std::string> words;
  for (const Looks looks : looks_of(part_at(reading, found->second).kind)) {
    words.emplace_back(word_of(looks));
    if (words.back() != node.text) continue;
    taken.looks = looks;
    return true;
  }
  complain(
      reading, kWordUnknown, node.span,
      fmt::format("{} cannot look {}", quoted(taken.question.part), quoted(node.text)),
      suggestion(reading, node.text, words, "looks"));
  return false;
}

bool read_figure(Reading& reading, const AsksStyle& style, const TomlEntry& entry,
                 TakenReading& taken) {
  const TomlNode& node = entry.value;
  if (node.type == TomlNode::Type::string && can_be_open(style.asks) &&
      node.text == "open") {
    taken.is_open = true;
    return true;
  }
  const std::string target = fmt::format("'{}'", style.key);
  if (node.type == TomlNode::Type::string && can_be_open(style.asks) &&
      lower_case(node.text) == "ol") {
    complain(reading, kValueMalformed, node.span,
             fmt::format("{}: 'OL' is what the meter shows", target), "write \"open\"");
    return false;
  }
  const auto value = read_quantity(reading, node, style.unit, target);
  if (!value) return false;
  if (std::string problem = range_problem(style.asks, *value); !problem.empty()) {
    complain(reading, kValueRange, node.span,
             fmt::format("{} is {}", target, format_quantity(*value, style.unit)),
             std::move(problem));
    return false;
  }
  taken.value = *value;
  taken.last_digit = last_digit_of(node.text, style.unit);
  return true;
}

/// Whether a reading is told to be out of reach.
bool is_out_of_reach(Reading& reading, const TomlNode& table) {
  const TomlEntry* entry = find_entry(table, "reached");
  return entry != nullptr &&
         expect_type(reading, entry->value, TomlNode::Type::boolean, "'reached'") &&
         !entry->value.flag;
}

void read_reading(Reading& reading, const TomlNode& item, ReadingsFile& file) {
  if (!expect_type(reading, item, TomlNode::Type::table, "a reading")) return;
  static const std::vector<std::string> known = {
      "state",   "power",   "out",        "net",   "to",    "part",   "pin",
      "voltage", "current", "resistance", "diode", "looks", "reached"};
  const KnownKeys keys =
      known_keys(reading, item, known, "a reading", meant_reading_key);
  const TomlNode& table = keys.table();
  TakenReading taken;
  taken.span = item.span;
  bool is_good = read_condition(reading, table, taken);
  taken.is_reached = !is_out_of_reach(reading, table);
  const AsksStyle* style = find_asked(reading, table, taken);
  if (style == nullptr) return;
  taken.question.asks = style->asks;
  const TomlEntry* entry = find_entry(table, style->key);
  if (entry != nullptr)
    is_good = check_power_for(reading, *style, *entry, taken) && is_good;
  const bool is_of_part = style->asks == Asks::looks || style->asks == Asks::current;
  const bool has_subject = is_of_part ? read_part_subject(reading, table, *style, taken)
                                      : read_between(reading, table, *style, taken);
  is_good = is_good && has_subject;
  if (!taken.is_reached) {
    if (is_good) file.readings.push_back(std::move(taken));
    return;
  }
  // A line of the sheet that nobody has filled in is no reading yet.
  const TomlNode& value = entry->value;
  if (value.type == TomlNode::Type::string && value.text.empty()) return;
  const bool has_value = style->asks == Asks::looks
                             ? read_looks(reading, value, taken)
                             : read_figure(reading, *style, *entry, taken);
  taken.span = value.span;
  if (is_good && has_value) file.readings.push_back(std::move(taken));
}

/// What the reader of a readings file knows of its circuit.
Reading reading_of(const Circuit& circuit, const Catalogue& catalogue,
                   const Limits& limits) {
  Reading reading{catalogue, limits};
  reading.circuit = circuit;
  reading.notes.assign(circuit.parts.size(), PartNotes{true, false});
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    reading.part_names.push_back(circuit.parts[k].name);
    reading.part_index.emplace(circuit.parts[k].name, static_cast<int>(k));
  }
  for (std::size_t k = 0; k < circuit.nets.size(); ++k)
    reading.net_index.emplace(circuit.nets[k].name, static_cast<int>(k));
  for (const auto& [name, net] : circuit.inner_names)
    reading.net_index.emplace(name, net);
  return reading;
}

void read_head_of(Reading& reading, const TomlNode& table, ReadingsFile& file) {
  if (const TomlEntry* circuit = find_entry(table, "circuit");
      circuit != nullptr &&
      expect_type(reading, circuit->value, TomlNode::Type::string, "'circuit'") &&
      check_text(reading, circuit->value.text, circuit->value.span, "'circuit'")) {
    file.circuit = circuit->value.text;
    file.circuit_span = circuit->value.span;
  }
  if (const TomlEntry* meter = find_entry(table, "meter")) file.meter = meter->value;
}

}  // namespace

bool is_readings_file(const TomlNode& root) {
  const bool is_description = find_entry(root, "parts") != nullptr ||
                              find_entry(root, "nets") != nullptr ||
                              find_entry(root, "paths") != nullptr;
  return !is_description && (find_entry(root, "reading") != nullptr ||
                             find_entry(root, "meter") != nullptr);
}

ReadReadings read_readings(std::string_view text, const Circuit& circuit) {
  const Limits limits;
  if (text.size() > limits.bytes)
    return {std::nullopt,
            {{std::string(kTooLarge.name),
              {},
              fmt::format("the readings have {} bytes; {} are allowed", text.size(),
                          limits.bytes),
              ""}}};
  const auto tree = parse_toml(text, limits.nesting);
  if (const auto* diagnostic = std::get_if<Diagnostic>(&tree))
    return {std::nullopt, {*diagnostic}};
  const auto& root = std::get<TomlNode>(tree);
  for (const char* key : {"parts", "nets", "paths"})
    if (const TomlEntry* entry = find_entry(root, key))
      return {std::nullopt,
              {{std::string(kOtherFile.name), entry->key_span,
                "this is a description, not readings of a circuit",
                "'diagnose' takes the description first, then its readings"}}};
  const Catalogue none({});
  Reading reading = reading_of(circuit, none, limits);
  const KnownKeys keys =
      known_keys(reading, root, {"circuit", "meter", "reading"}, "a readings file");
  ReadingsFile file;
  read_head_of(reading, keys.table(), file);
  if (const TomlEntry* list = find_entry(keys.table(), "reading")) {
    const std::vector<const TomlNode*> tables = tables_of(reading, *list);
    if (tables.size() > kMostReadings)
      complain(reading, kTooLarge, list->key_span,
               fmt::format("there are {} readings; {} are allowed", tables.size(),
                           kMostReadings));
    else
      for (const TomlNode* item : tables) read_reading(reading, *item, file);
  }
  if (!reading.diagnostics.empty())
    return {std::nullopt,
            first_complaints(std::move(reading.diagnostics), limits.complaints)};
  return {std::move(file), {}};
}

}  // namespace benchproof
