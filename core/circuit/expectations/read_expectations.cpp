#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/circuit/entries/reading.h"
#include "core/circuit/expectations/detail/expectation_subject.h"

namespace benchproof {
namespace {

using Phase = Expectation::Phase;

constexpr std::string_view kReachesForm =
    R"(write { level = "4.5 V", before = "60 ms" })";
constexpr std::string_view kStaysForm = R"(write { above = "4.3 V", after = "60 ms" })";

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
                        (within.value.text.find('%') != std::string::npos ||
                         std::holds_alternative<double>(
                             parse_quantity(within.value.text, Unit::fraction)));
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
  if (!expect_type(reading, entry.value, TomlNode::Type::table, target, kForms))
    return false;
  const KnownKeys keys =
      known_keys(reading, entry.value, {"nominal", "within", "min", "max"}, target);
  const TomlNode& table = keys.table();
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
    if (keys.has_stranger) return false;  // Which may be meant to be them.
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

/// Whether bounds on a source's power say anything: what it delivers counts as less
/// than nothing, so that one above can hardly be passed. Complains if they do not.
bool check_power(Reading& reading, const TomlEntry& entry, const Expectation& e) {
  const bool is_of_source =
      e.part >= 0 && e.quantity == Quantity::power &&
      is_source(reading.circuit.parts[static_cast<std::size_t>(e.part)].kind);
  if (!is_of_source || e.least || !e.most || *e.most <= 0.0) return true;
  const std::string most = format_quantity(*e.most, Unit::watt);
  complain(
      reading, kExpectMeaning, entry.key_span,
      fmt::format("a power of at most {} is true of whatever {} delivers", most,
                  quoted(reading.circuit.parts[static_cast<std::size_t>(e.part)].name)),
      fmt::format("a part's power is what it takes up, a source's is negative: at "
                  "most {0} delivered is min = \"-{0}\"",
                  most));
  return false;
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
  const int index = read_state_index(reading, entry->value);
  if (index < 0) return judged;
  const State& found = states[static_cast<std::size_t>(index)];
  if (!found.steady) {
    complain(
        reading, kStatePassing, entry->value.span,
        fmt::format("state {} is only passed through, so nothing can be expected of "
                    "it at rest",
                    quoted(found.name)));
    return judged;
  }
  expectation.state = found.name;
  judged.push_back(&found);
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
const QuantityStyle* find_quantity(Reading& reading, const TomlNode& table,
                                   std::string_view choices) {
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
             fmt::format("give one of: {}", choices));
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

// --- what happens in time -----------------------------------------------------------

/// The quantity that a level is of: a net's voltage, or what its unit says of a part.
const QuantityStyle& style_of_level(const TomlNode& table, const TomlNode& level) {
  const auto is_style = [&level](const QuantityStyle& style) {
    return std::holds_alternative<double>(parse_quantity(level.text, style.unit));
  };
  const QuantityStyle& voltage = kQuantities[0];
  const QuantityStyle& current = kQuantities[1];
  const QuantityStyle& power = kQuantities[2];
  if (find_entry(table, "net") != nullptr || is_style(voltage)) return voltage;
  return is_style(power) ? power : current;
}

/// Reads the times of a demand, as far as they are there. False after a complaint.
bool read_times(
    Reading& reading, const TomlNode& table, const Run& run,
    const std::vector<std::pair<std::string_view, std::optional<double>*>>& times) {
  bool is_good = true;
  for (const auto& [key, into] : times) {
    const TomlEntry* entry = find_entry(table, key);
    if (entry == nullptr) continue;
    *into = read_time(reading, entry->value, run.seconds, fmt::format("'{}'", key));
    is_good = is_good && into->has_value();
  }
  return is_good;
}

/// Whether a later time comes after an earlier one; complains at `span` otherwise.
bool check_order(Reading& reading, std::string_view early, double from,
                 std::string_view late, double to, const Span& span) {
  if (from < to) return true;
  complain(reading, kExpectBounds, span,
           fmt::format("{} {} leaves no time before {} {}", early,
                       format_quantity(from, Unit::second), late,
                       format_quantity(to, Unit::second)));
  return false;
}

/// Reads { level, before, not-before, direction }. The quantity, or nothing after a
/// complaint.
const QuantityStyle* read_reaches(Reading& reading, const TomlNode& table,
                                  const TomlEntry& entry, const Run& run,
                                  Reaches& reaches) {
  if (!expect_type(reading, entry.value, TomlNode::Type::table, "'reaches'",
                   kReachesForm))
    return nullptr;
  const KnownKeys keys =
      known_keys(reading, entry.value, {"level", "before", "not-before", "direction"},
                 "'reaches'");
  const TomlNode& demand = keys.table();
  bool is_good =
      read_times(reading, demand, run,
                 {{"before", &reaches.before}, {"not-before", &reaches.not_before}});
  if (is_good && reaches.before && reaches.not_before)
    is_good = check_order(reading, "'not-before'", *reaches.not_before, "'before'",
                          *reaches.before, entry.key_span);
  if (const TomlEntry* way = find_entry(demand, "direction")) {
    const bool is_text =
        expect_type(reading, way->value, TomlNode::Type::string, "'direction'");
    reaches.rising = way->value.text == "rising";
    const bool is_known = reaches.rising || way->value.text == "falling";
    if (is_text && !is_known)
      complain(reading, kWordUnknown, way->value.span,
               fmt::format("'direction' cannot be {}", quoted(way->value.text)),
               R"(it is "rising" or "falling")");
    is_good = is_good && is_known;
  }
  const TomlEntry* level = find_entry(demand, "level");
  if (level == nullptr) {
    if (keys.has_stranger) return nullptr;
    complain(reading, kKeyMissing, entry.key_span, "'reaches' has no 'level'",
             std::string(kReachesForm));
    return nullptr;
  }
  const QuantityStyle& style = style_of_level(table, level->value);
  const auto value = read_key(reading, demand, "level", style.unit);
  if (value) reaches.level = *value;
  return is_good && value ? &style : nullptr;
}

/// Reads { above, below, after, until }. The quantity, or nothing after a complaint.
const QuantityStyle* read_stays(Reading& reading, const TomlNode& table,
                                const TomlEntry& entry, const Run& run, Stays& stays) {
  if (!expect_type(reading, entry.value, TomlNode::Type::table, "'stays'", kStaysForm))
    return nullptr;
  const KnownKeys keys =
      known_keys(reading, entry.value, {"above", "below", "after", "until"}, "'stays'");
  const TomlNode& demand = keys.table();
  std::optional<double> after;
  bool is_good =
      read_times(reading, demand, run, {{"after", &after}, {"until", &stays.until}});
  stays.after = after.value_or(0.0);
  if (is_good && run.seconds > 0.0)
    is_good = check_order(reading, "'after'", stays.after,
                          stays.until ? "'until'" : "the run's end at",
                          stays.until.value_or(run.seconds), entry.key_span);
  const TomlEntry* above = find_entry(demand, "above");
  const TomlEntry* below = find_entry(demand, "below");
  const TomlEntry* bound = above != nullptr ? above : below;
  if (bound == nullptr) {
    if (keys.has_stranger) return nullptr;
    complain(reading, kKeyMissing, entry.key_span, "'stays' has no bounds",
             std::string(kStaysForm));
    return nullptr;
  }
  const QuantityStyle& style = style_of_level(table, bound->value);
  stays.above = read_key(reading, demand, "above", style.unit);
  stays.below = read_key(reading, demand, "below", style.unit);
  if ((above && !stays.above) || (below && !stays.below)) return nullptr;
  if (above && below && *stays.above >= *stays.below) {
    complain(reading, kExpectBounds, entry.key_span,
             fmt::format("no room above {} and below {}",
                         format_quantity(*stays.above, style.unit),
                         format_quantity(*stays.below, style.unit)));
    return nullptr;
  }
  return is_good ? &style : nullptr;
}

/// Reads what of a quantity's course the bounds are for. False after a complaint.
bool read_figure(Reading& reading, const TomlNode& table, std::string_view quantity,
                 const Run& run, Expectation& expectation) {
  const TomlEntry* at = find_entry(table, "at");
  const TomlEntry* after = find_entry(table, "after");
  const TomlEntry* figure_entry = find_entry(table, "figure");
  if (at == nullptr && figure_entry == nullptr) {
    complain(reading, kKeyNeeds, find_entry(table, quantity)->key_span,
             fmt::format("'{}' in a run needs 'at' or 'figure'", quantity),
             R"(at = "50 ms", or figure = "average", "ripple", "peak", "least")");
    return false;
  }
  if (at != nullptr && (figure_entry != nullptr || after != nullptr)) {
    const TomlEntry& other = figure_entry != nullptr ? *figure_entry : *after;
    complain(reading, kKeyConflict, other.key_span,
             fmt::format("'{}' means nothing beside 'at'", other.key),
             "'at' is one time; 'figure' and 'after' are for a stretch of time");
    return false;
  }
  std::optional<double> from;
  std::optional<double> time;
  if (!read_times(reading, table, run, {{"at", &time}, {"after", &from}})) return false;
  expectation.at = time.value_or(0.0);
  expectation.after = from.value_or(0.0);
  if (at != nullptr) return true;
  if (after != nullptr && run.seconds > 0.0 &&
      !check_order(reading, "'after'", expectation.after, "the run's end at",
                   run.seconds, after->key_span))
    return false;
  if (text_entry(reading, table, "figure") == nullptr) return false;
  constexpr std::array<std::pair<std::string_view, RunFigure>, 4> kFigures = {{
      {"average", RunFigure::average},
      {"ripple", RunFigure::ripple},
      {"peak", RunFigure::peak},
      {"least", RunFigure::least},
  }};
  std::vector<std::string> words;
  for (const auto& [word, value] : kFigures) {
    words.emplace_back(word);
    if (figure_entry->value.text != word) continue;
    expectation.figure = value;
    return true;
  }
  complain(reading, kWordUnknown, figure_entry->value.span,
           fmt::format("'figure' cannot be {}", quoted(figure_entry->value.text)),
           suggestion(reading, figure_entry->value.text, words, "figures"));
  return false;
}

/// The run that an expectation is of, or null after a complaint.
const Run* read_run_name(Reading& reading, const TomlNode& table,
                         Expectation& expectation) {
  const TomlEntry* entry = text_entry(reading, table, "run");
  if (entry == nullptr) return nullptr;
  const std::string& name = entry->value.text;
  const auto found = reading.run_index.find(name);
  if (found != reading.run_index.end()) {
    expectation.run = found->second;
    return &reading.circuit.runs[static_cast<std::size_t>(found->second)];
  }
  if (!reading.has_all_runs) return nullptr;  // Told where the runs are read.
  std::vector<std::string> names;
  for (const Run& run : reading.circuit.runs) names.push_back(run.name);
  complain(reading, kRunUnknown, entry->value.span,
           fmt::format("there is no run {}", quoted(name)),
           suggestion(reading, name, names, "runs"));
  return nullptr;
}

/// Adds an expectation whose demand was understood, if what it is about is too.
void add(Reading& reading, const TomlNode& table, const TomlEntry& entry,
         const QuantityStyle* quantity, Expectation expectation) {
  if (quantity == nullptr) return;
  expectation.quantity = quantity->quantity;
  if (read_subject(reading, table, *quantity, entry, expectation) &&
      check_power(reading, entry, expectation))
    reading.circuit.expectations.push_back(std::move(expectation));
}

void read_bounds_in_run(Reading& reading, const TomlNode& table, const Run& run,
                        Expectation expectation) {
  const QuantityStyle* quantity =
      find_quantity(reading, table, "reaches, stays, voltage, current, power");
  if (quantity == nullptr) return;
  const TomlEntry& entry = *find_entry(table, quantity->key);
  if (quantity->quantity == Quantity::temperature) {
    complain(reading, kExpectMeaning, entry.key_span,
             "a temperature is not followed in a run",
             "ask for it in a state, where the part has had time to warm up");
    return;
  }
  const bool has_bounds = read_bounds(reading, entry, quantity->unit, expectation);
  const bool has_figure = read_figure(reading, table, quantity->key, run, expectation);
  add(reading, table, entry, has_bounds && has_figure ? quantity : nullptr,
      std::move(expectation));
}

/// Reads an expectation of a run. `reaches` and `stays` may stand in one table: they
/// become two expectations.
void read_of_run(Reading& reading, const TomlNode& table, Expectation expectation) {
  for (const std::string_view key : {"state", "phase"})
    if (const TomlEntry* entry = find_entry(table, key))
      complain(reading, kKeyConflict, entry->key_span,
               fmt::format("an expectation has both 'run' and '{}'", key),
               "a run enters states and plays PWM out by itself");
  const Run
      unknown{};  // Its expectations are read on, for what else is wrong with them.
  const Run* run = read_run_name(reading, table, expectation);
  if (run == nullptr) run = &unknown;
  const TomlEntry* reaches = find_entry(table, "reaches");
  const TomlEntry* stays = find_entry(table, "stays");
  if (reaches == nullptr && stays == nullptr)
    return read_bounds_in_run(reading, table, *run, std::move(expectation));

  const std::string_view demand = reaches != nullptr ? "reaches" : "stays";
  for (const std::string_view key :
       {"voltage", "current", "power", "temperature", "at", "figure", "after"})
    if (const TomlEntry* entry = find_entry(table, key))
      complain(
          reading, kKeyConflict, entry->key_span,
          fmt::format("'{}' stands beside '{}'", key, demand),
          key == "after" ? "put it into 'stays'" : "write one [[expect]] for each");
  if (reaches != nullptr) {
    Expectation one = expectation;
    const QuantityStyle* quantity =
        read_reaches(reading, table, *reaches, *run, one.reaches.emplace());
    add(reading, table, *reaches, quantity, std::move(one));
  }
  if (stays != nullptr) {
    const QuantityStyle* quantity =
        read_stays(reading, table, *stays, *run, expectation.stays.emplace());
    add(reading, table, *stays, quantity, std::move(expectation));
  }
}

/// Complains about keys that mean nothing without another one.
void refuse_without(Reading& reading, const TomlNode& table, std::string_view mate,
                    const std::vector<std::string>& keys) {
  for (const std::string& key : keys)
    if (const TomlEntry* entry = find_entry(table, key))
      complain(reading, kKeyNeeds, entry->key_span,
               fmt::format("'{}' means nothing without '{}'", key, mate));
}

void read_at_rest(Reading& reading, const TomlNode& table, Expectation expectation) {
  refuse_without(reading, table, "run", {"reaches", "stays", "at", "figure", "after"});
  const auto states = read_state_name(reading, table, expectation);
  read_phase(reading, table, states, expectation);
  const bool is_of_run = find_entry(table, "reaches") || find_entry(table, "stays");
  const QuantityStyle* quantity =
      is_of_run ? nullptr
                : find_quantity(reading, table, "voltage, current, power, temperature");
  if (quantity == nullptr) return;
  const TomlEntry& entry = *find_entry(table, quantity->key);
  expectation.quantity = quantity->quantity;
  const bool has_bounds = read_bounds(reading, entry, quantity->unit, expectation);
  if (read_subject(reading, table, *quantity, entry, expectation) && has_bounds &&
      check_power(reading, entry, expectation))
    reading.circuit.expectations.push_back(std::move(expectation));
}

void read_expectation(Reading& reading, const TomlNode& written) {
  if (!expect_type(reading, written, TomlNode::Type::table, "an expectation")) return;
  const KnownKeys keys = known_keys(
      reading, written,
      {"state",   "run",   "net",         "to",      "part",   "pin",  "voltage",
       "current", "power", "temperature", "reaches", "stays",  "at",   "figure",
       "after",   "phase", "finding",     "grade",   "source", "mark", "why"},
      "an expectation");
  const TomlNode& table = keys.table();
  if (find_entry(table, "finding") != nullptr)
    return read_expected_finding(reading, table);
  Expectation expectation;
  expectation.span = table.span;
  read_remarks(reading, table, expectation);
  if (find_entry(table, "run") != nullptr) {
    read_of_run(reading, table, std::move(expectation));
  } else {
    read_at_rest(reading, table, std::move(expectation));
  }
}

}  // namespace

std::vector<const TomlNode*> tables_of(Reading& reading, const TomlEntry& list) {
  const TomlNode& value = list.value;
  const bool is_single = value.type == TomlNode::Type::table;
  std::vector<const TomlNode*> tables;
  if (expect_type(reading, value, TomlNode::Type::array, quoted(list.key),
                  fmt::format("write [[{}]]", list.key)))
    for (const TomlNode& item : value.items) tables.push_back(&item);
  if (is_single && !value.entries.empty()) tables.push_back(&value);
  return tables;
}

void read_expectations(Reading& reading, const TomlEntry& list) {
  for (const TomlNode* item : tables_of(reading, list))
    read_expectation(reading, *item);
}

}  // namespace benchproof
