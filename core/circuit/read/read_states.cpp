#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <set>

#include "core/circuit/entries/reading.h"
#include "core/circuit/entries/values.h"
#include "core/circuit/read/detail/steps.h"

namespace benchproof {
namespace {

using Level = OutputSetting::Level;

/// A state while it is read.
struct StateReading {
  State state;
  std::set<std::pair<int, std::string>> seen;  ///< Part and what of it is set already.
};

/// Something that a state changes: the text stands for it in messages.
struct Target {
  int part = -1;
  std::string name;  ///< Key or pin; empty for a switch itself.
  std::string text;
  Span span;
};

const Part& part_of(const Reading& reading, const Target& target) {
  return reading.circuit.parts[static_cast<std::size_t>(target.part)];
}

/// False, with a complaint, when the state has set the same thing already.
bool take_once(Reading& reading, StateReading& into, const Target& target) {
  if (into.seen.insert({target.part, target.name}).second) return true;
  complain(reading, kStateTwice, target.span,
           fmt::format("{} is set twice", target.text));
  return false;
}

std::optional<OutputSetting> read_pwm(Reading& reading, const TomlNode& node,
                                      const Target& target) {
  constexpr double kLeastHertz = 1e-3;
  constexpr double kMostHertz = 1e9;
  const KnownKeys keys = known_keys(reading, node, {"pwm", "frequency"}, target.text);
  OutputSetting setting;
  setting.level = Level::pwm;
  setting.span = node.span;
  bool is_good = true;
  const auto read = [&](std::string_view key, Unit unit, double& into) {
    const TomlEntry* entry = find_entry(keys.table(), key);
    if (entry == nullptr) {
      is_good = false;
      complain(reading, kKeyMissing, node.span,
               fmt::format("{} has no '{}'", target.text, key),
               R"(write { pwm = "30%", frequency = "500 Hz" })",
               fmt::format("no '{}'", key));
      return;
    }
    const std::string name = fmt::format("'{}' of {}", key, target.text);
    const auto value = read_quantity(reading, entry->value, unit, name);
    const bool is_duty = unit == Unit::fraction;
    const bool is_in_range =
        value && (is_duty ? *value > 0.0 && *value < 1.0
                          : *value >= kLeastHertz && *value <= kMostHertz);
    if (value && !is_in_range)
      complain(reading, kValueRange, entry->value.span,
               fmt::format("{} is {}", name, format_quantity(*value, unit)),
               is_duty
                   ? "it must lie between 0 and 100 %; 'low' and 'high' are the ends"
                   : "it must be at least 1 mHz and at most 1 GHz");
    if (is_in_range) into = *value;
    is_good = is_good && is_in_range;
  };
  read("pwm", Unit::fraction, setting.duty);
  read("frequency", Unit::hertz, setting.hertz);
  if (!is_good) return std::nullopt;
  return setting;
}

std::optional<OutputSetting> read_output(Reading& reading, const TomlNode& node,
                                         const Target& target) {
  if (node.type == TomlNode::Type::table) return read_pwm(reading, node, target);
  OutputSetting setting;
  setting.span = node.span;
  if (node.type == TomlNode::Type::string) {
    if (node.text == "low") return setting;
    setting.level = Level::high;
    if (node.text == "high") return setting;
    setting.level = Level::open;
    if (node.text == "open") return setting;
  }
  const std::string found = node.type == TomlNode::Type::string
                                ? quoted(node.text)
                                : std::string(type_name(node.type));
  complain(
      reading, kOutputLevel, node.span,
      fmt::format("{} cannot be {}", target.text, found),
      R"(an output is "low", "high", "open" or { pwm = "30%", frequency = "500 Hz" })");
  return std::nullopt;
}

void read_pin_target(Reading& reading, StateReading& into, const Target& target,
                     int pin, const TomlNode& node) {
  const Part& part = part_of(reading, target);
  const auto list = part.settings.find("outputs");
  bool is_output = false;
  if (part.kind == KindId::controller && list != part.settings.end()) {
    const auto& outputs = std::get<std::vector<std::string>>(list->second.value);
    is_output = std::find(outputs.begin(), outputs.end(), target.name) != outputs.end();
  }
  if (!is_output) {
    complain(reading, kStateTarget, target.span,
             fmt::format("{} is a pin that is no output", target.text),
             "a state sets a controller's outputs, switches, and keys of parts");
    return;
  }
  if (!take_once(reading, into, target)) return;
  if (const auto setting = read_output(reading, node, target))
    into.state.outputs[{target.part, pin}] = *setting;
}

/// The keys of a part that a state may change, and a controller's outputs.
std::vector<std::string> changeable(const Part& part) {
  std::vector<std::string> names;
  for (const Key& key : kind(part.kind).keys)
    if (!key.is_fixed) names.emplace_back(key.name);
  const auto list = part.settings.find("outputs");
  if (part.kind == KindId::controller && list != part.settings.end())
    for (const auto& name : std::get<std::vector<std::string>>(list->second.value))
      names.push_back(name);
  return names;
}

bool has_any_setting(const Part& part, const std::vector<std::string>& keys) {
  return std::any_of(keys.begin(), keys.end(), [&part](const std::string& key) {
    return part.settings.contains(key);
  });
}

void read_key_target(Reading& reading, StateReading& into, const Target& target,
                     const TomlNode& node) {
  const Part& part = part_of(reading, target);
  const Kind& part_kind = kind(part.kind);
  const Key* key = find_key(part_kind, target.name);
  if (target.name == "kind" || target.name == "label" || (key && key->is_fixed)) {
    complain(reading, kStateFixed, target.span,
             fmt::format("{} is the same in every state", target.text),
             "it says what the part is; describe another part instead");
    return;
  }
  if (key == nullptr) {
    complain(reading, kKeyUnknown, target.span,
             fmt::format("{} is not a key of kind '{}'", target.text, part_kind.name),
             suggestion(reading, target.name, changeable(part), "a state may set"));
    return;
  }
  const std::vector<std::string> one_of = split_words(part_kind.one_of);
  const bool is_choice =
      std::find(one_of.begin(), one_of.end(), key->name) != one_of.end();
  // A sensor of a type has the type's value at one light or heat, and others at others.
  const bool is_sensor =
      part_kind.id == KindId::light_resistor || part_kind.id == KindId::heat_resistor;
  if (is_choice && !is_sensor && !part.settings.contains(key->name)) {
    complain(reading, kKeyConflict, target.span,
             fmt::format("{} cannot be set: {} is not given by it", target.text,
                         quoted(part.name)),
             fmt::format("{} is given by one of: {}", quoted(part.name),
                         fmt::join(one_of, ", ")));
    return;
  }
  const std::vector<std::string> mates = split_words(key->only_with);
  if (!mates.empty() && !has_any_setting(part, mates)) {
    complain(reading, kKeyNeeds, target.span,
             fmt::format("{} means nothing without '{}'", target.text,
                         fmt::join(mates, "' or '")));
    return;
  }
  if (!take_once(reading, into, target)) return;
  if (auto setting = read_setting(reading, part.kind, *key, node, target.text))
    into.state.settings[{target.part, target.name}] = std::move(*setting);
}

void read_within_part(Reading& reading, StateReading& into, const Target& target,
                      const TomlNode& node) {
  if (!reading.notes[static_cast<std::size_t>(target.part)].is_understood) return;
  const Part& part = part_of(reading, target);
  const int pin = pin_index(part, target.name);
  const bool is_key = find_key(kind(part.kind), target.name) != nullptr;
  if (pin >= 0 && !is_key) {
    read_pin_target(reading, into, target, pin, node);
  } else {
    read_key_target(reading, into, target, node);
  }
}

/// A part by itself: a switch that is open or closed, or a table of what changes in it.
void read_whole_part(Reading& reading, StateReading& into, const Target& target,
                     const TomlNode& node) {
  const auto index = static_cast<std::size_t>(target.part);
  if (!reading.notes[index].is_understood) return;
  const Part& part = part_of(reading, target);
  if (node.type == TomlNode::Type::table) {
    for (const TomlEntry& entry : node.entries)
      read_within_part(reading, into,
                       {target.part, entry.key,
                        fmt::format("'{}.{}' in state {}", part.name, entry.key,
                                    quoted(into.state.name)),
                        entry.key_span},
                       entry.value);
    return;
  }
  if (part.kind != KindId::switch_) {
    complain(reading, kStateTarget, target.span,
             fmt::format("{} is a {}; what of it is to change?", target.text,
                         kind(part.kind).name),
             changeable(part).empty()
                 ? std::string()
                 : fmt::format("write \"{}.{}\"", part.name, changeable(part).front()));
    return;
  }
  if (!take_once(reading, into, target)) return;
  constexpr std::string_view kPositions = R"(a switch is "open" or "closed")";
  if (!expect_type(reading, node, TomlNode::Type::string, target.text, kPositions))
    return;
  if (node.text == "open" || node.text == "closed") {
    into.state.closed[target.part] = node.text == "closed";
    return;
  }
  complain(reading, kWordUnknown, node.span,
           fmt::format("{} cannot be {}", target.text, quoted(node.text)),
           std::string(kPositions));
}

void read_target(Reading& reading, StateReading& into, const TomlEntry& entry) {
  const std::size_t dot = entry.key.find('.');
  const std::string part_name = entry.key.substr(0, dot);
  const auto found = reading.part_index.find(part_name);
  if (found == reading.part_index.end()) {
    complain(reading, kPartUnknown, entry.key_span,
             fmt::format("there is no part {}", quoted(part_name)),
             suggestion(reading, part_name, reading.part_names, "parts"));
    return;
  }
  Target target{
      found->second, "",
      fmt::format("{} in state {}", quoted(entry.key), quoted(into.state.name)),
      entry.key_span};
  if (dot == std::string::npos) {
    read_whole_part(reading, into, target, entry.value);
  } else {
    target.name = entry.key.substr(dot + 1);
    read_within_part(reading, into, target, entry.value);
  }
}

/// The rules of parts hold with the state's values too; a battery of another charge is
/// another type.
void check_changed_parts(Reading& reading, State& state) {
  if (state.settings.empty()) return;
  std::vector<Part> parts = parts_in(reading.circuit, state);
  int last = -1;
  for (const auto& [target, setting] : state.settings) {
    if (target.first == last) continue;
    last = target.first;
    Part& part = parts[static_cast<std::size_t>(last)];
    if (part.kind == KindId::battery && part.type != nullptr) {
      part.type = find_battery(reading.catalogue, part);
      state.types[last] = part.type;
      if (part.type == nullptr)
        complain(reading, kTypeUnknown, setting.span,
                 fmt::format("the catalogue has no battery like {} of that charge",
                             quoted(part.name)));
    }
    check_part(reading, part);
  }
}

State read_state(Reading& reading, const TomlEntry& entry) {
  StateReading into;
  into.state.name = entry.key;
  into.state.span = entry.key_span;
  check_name(reading, entry.key, entry.key_span, "a state");
  if (!expect_type(reading, entry.value, TomlNode::Type::table,
                   fmt::format("state {}", quoted(entry.key))))
    return into.state;
  for (const TomlEntry& item : entry.value.entries) {
    const bool is_switch = reading.part_index.contains("steady") &&
                           item.value.type != TomlNode::Type::boolean;
    if (item.key == "steady" && !is_switch) {
      if (expect_type(reading, item.value, TomlNode::Type::boolean,
                      fmt::format("'steady' of state {}", quoted(entry.key))))
        into.state.steady = item.value.flag;
    } else {
      read_target(reading, into, item);
    }
  }
  if (phase_count(into.state) > kMostPhases)
    complain(reading, kPwmMany, entry.key_span,
             fmt::format("the PWM outputs of state {} make more than {} phases",
                         quoted(entry.key), kMostPhases),
             "give outputs the same frequency, or the same duty");
  check_changed_parts(reading, into.state);
  return into.state;
}

}  // namespace

void read_states(Reading& reading, const TomlEntry* states) {
  if (states != nullptr)
    for (const TomlEntry& entry : states->value.entries)
      reading.circuit.states.push_back(read_state(reading, entry));
  if (reading.circuit.states.empty()) {
    State steady;
    steady.name = "steady";
    reading.circuit.states.push_back(std::move(steady));
  }
  const bool is_any_judged =
      std::any_of(reading.circuit.states.begin(), reading.circuit.states.end(),
                  [](const State& state) { return state.steady; });
  if (!is_any_judged)
    complain(reading, kStatePassing, states->key_span,
             "every state says steady = false, so none is judged at rest",
             "leave 'steady' out of the states that the circuit stays in");
}

}  // namespace benchproof
