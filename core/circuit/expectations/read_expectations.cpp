#include "core/circuit/expectations/read_expectations.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/circuit/entries/names.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/expectations/detail/bounds.h"
#include "core/circuit/expectations/detail/of_run.h"

namespace benchproof {
namespace {

using Phase = Expectation::Phase;

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

void read_expectations(Reading& reading, const TomlEntry& list) {
  for (const TomlNode* item : tables_of(reading, list))
    read_expectation(reading, *item);
}

}  // namespace benchproof
