#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "core/circuit/entries/names.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/entries/values.h"
#include "core/circuit/read/detail/steps.h"

namespace benchproof {
namespace {

using Level = OutputSetting::Level;

/// How long a run may be, and how fast its supplies may move. Second.
constexpr double kShortestSpan = 1e-6;
constexpr double kLongestSpan = 3600.0;
constexpr double kShortestRise = 1e-9;

/// The shortest time for which an output may hold still in a run: a few times the
/// microsecond that it takes to change. Second.
constexpr double kShortestPulse = 4e-6;

/// What may change within a run: what lowers to resistances, and to the voltages and
/// currents of supplies and sources. A charge to begin with counts only at the start.
struct Movable {
  KindId kind;
  std::string_view keys;
};
constexpr std::array kMovable = {
    Movable{KindId::resistor, "value"},
    Movable{KindId::trimmer, "value turn"},
    Movable{KindId::light_resistor, "value"},
    Movable{KindId::heat_resistor, "value"},
    Movable{KindId::capacitor, "initial"},
    Movable{KindId::inductor, "initial"},
    Movable{KindId::switch_, "resistance"},
    Movable{KindId::controller, "resistance_high resistance_low draw"},
    Movable{KindId::dc_supply, "voltage current no_load"},
    Movable{KindId::battery, "cells charge"},
    Movable{KindId::fuse, "resistance"},
    Movable{KindId::lamp, "voltage current"},
    Movable{KindId::motor, "voltage current"},
    Movable{KindId::relay_coil, "voltage current"},
    Movable{KindId::buzzer, "voltage current"},
    Movable{KindId::wire, "gauge length"},
    Movable{KindId::voltage_source, "voltage"},
    Movable{KindId::current_source, "current"},
};

bool is_movable(KindId kind, std::string_view key) {
  return std::any_of(kMovable.begin(), kMovable.end(), [&](const Movable& row) {
    if (row.kind != kind) return false;
    const std::vector<std::string> keys = split_words(row.keys);
    return std::find(keys.begin(), keys.end(), key) != keys.end();
  });
}

/// "run 'power up'", or "the run" where it has no name.
std::string called(const std::string& name) {
  return name.empty() ? "the run" : "run " + quoted(name);
}

std::string target_of(std::string_view key, const std::string& run) {
  return fmt::format("'{}' of {}", key, called(run));
}

/// Reads a time of at least `least` and at most an hour.
std::optional<double> read_duration(Reading& reading, const TomlNode& node,
                                    double least, std::string_view target) {
  const auto value = read_quantity(reading, node, Unit::second, target);
  if (!value) return std::nullopt;
  if (*value >= least && *value <= kLongestSpan) return value;
  complain(reading, kValueRange, node.span,
           fmt::format("{} is {}", target, format_quantity(*value, Unit::second, 6)),
           fmt::format("it must be at least {} and at most 3600 s",
                       format_quantity(least, Unit::second, 1)));
  return std::nullopt;
}

/// The run's name; empty after a complaint, except about a second run of one name.
std::string read_name(Reading& reading, const TomlNode& table) {
  const TomlEntry* entry = find_entry(table, "name");
  if (entry == nullptr) {
    complain(reading, kKeyMissing, table.span, "a run has no 'name'");
    return {};
  }
  if (!expect_type(reading, entry->value, TomlNode::Type::string, "'name' of a run"))
    return {};
  const std::string& name = entry->value.text;
  const bool is_good = !name.empty() && name.size() <= reading.limits.name_length &&
                       name.front() != ' ' && name.back() != ' ' &&
                       std::all_of(name.begin(), name.end(),
                                   [](char c) { return c >= ' ' && c <= '~'; });
  if (!is_good) {
    complain(reading, kNameInvalid, entry->value.span,
             fmt::format("{} cannot be the name of a run", quoted(name)),
             fmt::format("a run's name is 1 to {} printable ASCII characters, without "
                         "a space at either end",
                         reading.limits.name_length));
    return {};
  }
  if (reading.run_index.contains(name))
    complain(reading, kRunTwice, entry->value.span,
             fmt::format("there are two runs {}", quoted(name)));
  return name;
}

/// The state that stands behind a step's or run's `state`: nothing after a complaint.
std::optional<int> read_entered(Reading& reading, const TomlEntry& entry,
                                const std::string& run) {
  const TomlNode& node = entry.value;
  if (!expect_type(reading, node, TomlNode::Type::string, target_of(entry.key, run)))
    return std::nullopt;
  if (node.text == "unpowered") return kUnpowered;
  if (entry.key == "from" && node.text == "initial") return kFromInitial;
  const int state = read_state_index(
      reading, node,
      entry.key == "from" ? std::vector<std::string>{"unpowered", "initial"}
                          : std::vector<std::string>{"unpowered"});
  return state < 0 ? std::nullopt : std::optional(state);
}

/// Reads `state` and `rise` of a step, or of a run that is one step.
bool read_entry_and_rise(Reading& reading, const TomlNode& table, const Run& run,
                         RunStep& step) {
  bool is_good = true;
  if (const TomlEntry* rise = find_entry(table, "rise")) {
    const auto seconds =
        read_duration(reading, rise->value, kShortestRise, target_of("rise", run.name));
    if (seconds) step.rise = *seconds;
    is_good = seconds.has_value();
    if (seconds && run.seconds > 0.0 && *seconds > run.seconds) {
      complain(reading, kRunTime, rise->value.span,
               fmt::format("{} is {}, longer than the run, which ends after {}",
                           target_of("rise", run.name),
                           format_quantity(*seconds, Unit::second),
                           format_quantity(run.seconds, Unit::second)),
               "shorten it, or look for longer: 'span'");
      is_good = false;
    }
  }
  const TomlEntry* entry = find_entry(table, "state");
  if (entry == nullptr) return false;
  step.span = entry->value.span;
  const auto state = read_entered(reading, *entry, run.name);
  if (state) step.state = *state;
  return is_good && state;
}

/// Reads the steps of a run. False after a complaint.
bool read_steps(Reading& reading, const TomlEntry& list, Run& run) {
  const std::string target = target_of("steps", run.name);
  if (!expect_type(reading, list.value, TomlNode::Type::array, target)) return false;
  const std::vector<TomlNode>& items = list.value.items;
  if (items.empty() || items.size() > reading.limits.steps) {
    complain(reading, items.empty() ? kRunSteps : kTooLarge, list.value.span,
             items.empty() ? fmt::format("{} is empty", target)
                           : fmt::format("{} has {} steps; {} are allowed", target,
                                         items.size(), reading.limits.steps),
             items.empty() ? R"(write [{ at = "0 s", state = "..." }, ...])" : "");
    return false;
  }
  bool is_good = true;
  for (const TomlNode& written : items) {
    if (!expect_type(reading, written, TomlNode::Type::table,
                     fmt::format("a step of {}", called(run.name)))) {
      is_good = false;
      continue;
    }
    const KnownKeys keys =
        known_keys(reading, written, {"at", "state", "rise"}, "a step of a run");
    const TomlNode& item = keys.table();
    RunStep step;
    is_good = read_entry_and_rise(reading, item, run, step) && is_good;
    const TomlEntry* at = find_entry(item, "at");
    for (const std::string_view key : {"at", "state"})
      if (find_entry(item, key) == nullptr)
        complain(reading, kKeyMissing, item.span,
                 fmt::format("a step of {} has no '{}'", called(run.name), key),
                 R"(write { at = "20 ms", state = "night", rise = "1 ms" })");
    const auto seconds = at == nullptr ? std::nullopt
                                       : read_time(reading, at->value, run.seconds,
                                                   target_of("at", run.name));
    if (!seconds) {
      is_good = false;
      continue;
    }
    step.at = *seconds;
    if (run.seconds > 0.0 && step.at == run.seconds) {
      complain(
          reading, kRunTime, at->value.span,
          fmt::format("a step at the end of {} has no time left", called(run.name)));
      is_good = false;
    }
    if (!run.steps.empty() && step.at <= run.steps.back().at) {
      complain(reading, kRunSteps, at->value.span,
               fmt::format("a step at {} comes after one at {}",
                           format_quantity(step.at, Unit::second),
                           format_quantity(run.steps.back().at, Unit::second)),
               "put the steps in order of time, one for each time");
      is_good = false;
    }
    run.steps.push_back(step);
  }
  return is_good;
}

/// Reads what happens: `state` with `rise`, or `steps`. False after a complaint.
bool read_happenings(Reading& reading, const TomlNode& table, Run& run) {
  const TomlEntry* steps = find_entry(table, "steps");
  const TomlEntry* state = find_entry(table, "state");
  if (steps != nullptr) {
    bool is_alone = true;
    for (const std::string_view key : {"state", "rise"}) {
      const TomlEntry* entry = find_entry(table, key);
      if (entry == nullptr) continue;
      complain(reading, kKeyConflict, entry->key_span,
               fmt::format("{} has both 'steps' and '{}'", called(run.name), key),
               fmt::format("put '{}' into the steps", key));
      is_alone = false;
    }
    return read_steps(reading, *steps, run) && is_alone;
  }
  if (state == nullptr)
    complain(reading, kKeyMissing, table.span,
             fmt::format("{} does not say what happens", called(run.name)),
             R"(give the 'state' that is entered, or 'steps')");
  RunStep step;
  const bool is_good = read_entry_and_rise(reading, table, run, step);
  run.steps.push_back(step);
  return is_good;
}

// --- what the states of a run may differ in -----------------------------------------

/// What a key of a part is in a state: as the state, the description or the type says.
std::optional<Setting::Value> value_in(const Circuit& circuit, const State& state,
                                       const std::pair<int, std::string>& target) {
  const Part& part = circuit.parts[static_cast<std::size_t>(target.first)];
  if (const auto own = state.settings.find(target); own != state.settings.end())
    return own->second.value;
  if (const auto given = part.settings.find(target.second);
      given != part.settings.end())
    return given->second.value;
  if (const auto known = figure(part, target.second)) return known->value;
  return std::nullopt;
}

bool is_same(const std::optional<Setting::Value>& a,
             const std::optional<Setting::Value>& b) {
  if (!a || !b) return a.has_value() == b.has_value();
  if (a->index() != b->index()) return false;
  if (const auto* number = std::get_if<double>(&*a))
    return *number == std::get<double>(*b);
  if (const auto* flag = std::get_if<bool>(&*a)) return *flag == std::get<bool>(*b);
  if (const auto* text = std::get_if<std::string>(&*a))
    return *text == std::get<std::string>(*b);
  return true;  // Lists and models are the same in every state.
}

std::string in_words(const std::optional<Setting::Value>& value, Unit unit) {
  if (!value) return "not given";
  if (const auto* number = std::get_if<double>(&*value))
    return format_quantity(*number, unit);
  if (const auto* flag = std::get_if<bool>(&*value)) return *flag ? "true" : "false";
  const auto* text = std::get_if<std::string>(&*value);
  return text != nullptr ? quoted(*text) : "something else";
}

/// Whether a difference of this key is one that a run can pass through. A chip that
/// draws nothing is without the resistance that one that draws something has.
bool may_differ(const Part& part, std::string_view key,
                const std::optional<Setting::Value>& a,
                const std::optional<Setting::Value>& b) {
  const auto draws = [](const std::optional<Setting::Value>& value) {
    return value && std::get<double>(*value) > 0.0;
  };
  return is_movable(part.kind, key) && (key != "draw" || draws(a) == draws(b));
}

/// Complains about everything that differs between the run's first state and the one
/// named at `span` but cannot change within a run.
void check_difference(Reading& reading, const Run& run, const State& first,
                      const State& other, const Span& span) {
  const Circuit& circuit = reading.circuit;
  std::set<std::pair<int, std::string>> targets;
  for (const State* state : {&first, &other})
    for (const auto& [target, setting] : state->settings) targets.insert(target);
  for (const auto& target : targets) {
    const Part& part = circuit.parts[static_cast<std::size_t>(target.first)];
    const auto before = value_in(circuit, first, target);
    const auto after = value_in(circuit, other, target);
    if (is_same(before, after) || may_differ(part, target.second, before, after))
      continue;
    const Key* key = find_key(kind(part.kind), target.second);
    const Unit unit = key != nullptr ? key->unit : Unit::none;
    complain(reading, kRunFixed, span,
             fmt::format("'{}.{}' is {} in state {} and {} in state {}, but cannot "
                         "change within {}",
                         part.name, target.second, in_words(before, unit),
                         quoted(first.name), in_words(after, unit), quoted(other.name),
                         called(run.name)),
             "within a run only outputs, switches, resistances, and voltages and "
             "currents of supplies and sources change");
  }
}

void check_states(Reading& reading, const Run& run, const Span& from) {
  const std::vector<State>& states = reading.circuit.states;
  std::vector<std::pair<int, Span>> named;
  if (run.from >= 0) named.emplace_back(run.from, from);
  for (const RunStep& step : run.steps)
    if (step.state >= 0) named.emplace_back(step.state, step.span);
  std::set<int> checked;
  for (const auto& [state, span] : named)
    if (checked.insert(state).second)
      check_difference(reading, run, states[static_cast<std::size_t>(named[0].first)],
                       states[static_cast<std::size_t>(state)], span);
}

/// Complains about PWM that is too fast to be played out, or too much of it.
void check_pwm(Reading& reading, const Run& run) {
  double corners = 0.0;
  std::set<std::pair<int, PinRef>> told;
  for (std::size_t k = 0; k < run.steps.size(); ++k) {
    const RunStep& step = run.steps[k];
    const double end = k + 1 < run.steps.size() ? run.steps[k + 1].at : run.seconds;
    const int named = named_state(run, static_cast<int>(k));
    if (named < 0) continue;
    const State& state = reading.circuit.states[static_cast<std::size_t>(named)];
    for (const auto& [pin, setting] : state.outputs) {
      if (setting.level != Level::pwm) continue;
      // Two changes in a period, each a line between two corners.
      corners += 4.0 * (end - step.at) * setting.hertz;
      const double high = setting.duty / setting.hertz;
      const double low = (1.0 - setting.duty) / setting.hertz;
      if (std::min(high, low) >= kShortestPulse * (1.0 - 1e-9)) continue;
      if (!told.insert({named, pin}).second) continue;
      const Part& part = reading.circuit.parts[static_cast<std::size_t>(pin.part)];
      complain(reading, kRunPwm, step.span,
               fmt::format("'{}.{}' of state {} is {} for {} at a time", part.name,
                           part.pins[static_cast<std::size_t>(pin.pin)],
                           quoted(state.name), high < low ? "high" : "low",
                           format_quantity(std::min(high, low), Unit::second)),
               "a run follows pulses and gaps of at least 4 us; give the run a lower "
               "frequency, or judge the state at rest");
    }
  }
  corners = std::round(corners);
  if (corners > static_cast<double>(reading.limits.pwm_corners) && told.empty())
    complain(reading, kRunPwm, run.span,
             fmt::format("the PWM of {} makes {:.0f} corners; {} are allowed",
                         called(run.name), corners, reading.limits.pwm_corners),
             "four in each period of each output; shorten 'span', or give the run a "
             "state of lower frequency");
  const double before = reading.corners;
  reading.corners += corners + 2.0 * static_cast<double>(run.steps.size());
  const auto most = static_cast<double>(reading.limits.all_corners);
  if (before <= most && reading.corners > most)
    complain(reading, kTooLarge, run.span,
             fmt::format("with {} all runs make more than {} corners", called(run.name),
                         reading.limits.all_corners),
             "split the runs over several descriptions");
}

void read_run(Reading& reading, const TomlNode& written) {
  if (!expect_type(reading, written, TomlNode::Type::table, "a run")) {
    reading.has_all_runs = false;
    return;
  }
  const KnownKeys keys = known_keys(
      reading, written, {"name", "state", "steps", "from", "rise", "span"}, "a run");
  const TomlNode& table = keys.table();
  Run run;
  run.name = read_name(reading, table);
  run.span = table.span;
  if (const TomlEntry* span = find_entry(table, "span")) {
    const auto seconds =
        read_duration(reading, span->value, kShortestSpan, target_of("span", run.name));
    if (seconds) run.seconds = *seconds;
  } else {
    complain(reading, kKeyMissing, table.span,
             fmt::format("{} has no 'span'", called(run.name)),
             R"(how long it is looked at: span = "200 ms")");
  }
  bool is_good = run.seconds > 0.0;
  const TomlEntry* from = find_entry(table, "from");
  if (from != nullptr) {
    const auto state = read_entered(reading, *from, run.name);
    is_good = is_good && state;
    if (state) run.from = *state;
  }
  is_good = read_happenings(reading, table, run) && is_good;
  if (is_good && run.from == kFromInitial && run.steps.front().at > 0.0) {
    complain(reading, kRunSteps, run.steps.front().span,
             fmt::format("{} begins from 'initial' charges, so its first step must "
                         "be at 0",
                         called(run.name)));
    is_good = false;
  }
  if (is_good) {
    check_states(reading, run, from != nullptr ? from->value.span : run.span);
    check_pwm(reading, run);
  }
  if (run.name.empty()) reading.has_all_runs = false;
  reading.run_index.try_emplace(run.name,
                                static_cast<int>(reading.circuit.runs.size()));
  reading.circuit.runs.push_back(std::move(run));
}

}  // namespace

void read_runs(Reading& reading, const TomlEntry& list) {
  reading.has_all_runs = false;
  const std::vector<const TomlNode*> tables = tables_of(reading, list);
  const bool is_list = list.value.type == TomlNode::Type::array;
  if (tables.empty() && !is_list) return;
  if (list.value.items.size() > reading.limits.runs) {
    complain(reading, kTooLarge, list.key_span,
             fmt::format("there are {} runs; {} are allowed", list.value.items.size(),
                         reading.limits.runs));
    return;
  }
  reading.has_all_runs = true;
  for (const TomlNode* item : tables) read_run(reading, *item);
}

}  // namespace benchproof
