#include "core/circuit/expectations/detail/of_run.h"

#include <fmt/format.h>

#include <array>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/circuit/entries/values.h"
#include "core/circuit/expectations/detail/bounds.h"

// What is expected of a run: what happens in time.

namespace benchproof {
namespace {

constexpr std::string_view kReachesForm =
    R"(write { level = "4.5 V", before = "60 ms" })";
constexpr std::string_view kStaysForm = R"(write { above = "4.3 V", after = "60 ms" })";

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
  const auto value = read_bound(reading, demand, "level", style.unit);
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
  stays.above = read_bound(reading, demand, "above", style.unit);
  stays.below = read_bound(reading, demand, "below", style.unit);
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

}  // namespace

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

}  // namespace benchproof
