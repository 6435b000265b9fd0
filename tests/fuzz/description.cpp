// The description reader: any text, with the user's own types, a variant and changes
// (see described.h). Complaints must stand within the texts and print safely; a circuit
// must hold together; a value put in by `replaced` must change nothing else, `tidy`
// nothing at all.

#include <algorithm>
#include <cmath>
#include <string>
#include <variant>
#include <vector>

#include "cli/commands/files/write_value.h"
#include "core/catalogue/kind.h"
#include "core/circuit/entries/own_catalogue.h"
#include "core/circuit/write/tidy.h"
#include "tests/fuzz/described.h"
#include "tests/fuzz/target.h"

namespace benchproof::fuzz {
namespace {

/// Whether a place is one of the text, or unknown.
bool is_within(const Position& place, std::string_view text) {
  if (place.line == 0) return place.column == 0;
  const auto lines = std::count(text.begin(), text.end(), '\n') + 1;
  return place.line >= 1 && place.line <= lines && place.column >= 0 &&
         static_cast<std::size_t>(place.column) <= text.size() + 1;
}

void check_complaint(const Diagnostic& d, std::string_view text) {
  demand(!d.id.empty() && !d.message.empty(), "a complaint has an id and a message");
  demand(d.span.end >= d.span.begin, "a span does not end before it begins");
  demand(is_within(d.span.begin, text) && is_within(d.span.end, text),
         "a complaint stands within the text");
  const std::string told = to_text(d, "harbour.toml", text);
  demand(told.ends_with('\n'), "a complaint ends its line");
  demand(
      std::none_of(told.begin(), told.end(),
                   [](unsigned char c) { return c != '\n' && (c < ' ' || c == 0x7f); }),
      "a complaint is printable");
}

void check_pins(const Circuit& circuit) {
  const int nets = static_cast<int>(circuit.nets.size());
  demand(nets > 0 && circuit.nets.front().name == "ground", "ground comes first");
  for (const Part& part : circuit.parts) {
    demand(part.nets.size() == part.pins.size(), "a net for each pin");
    for (const int net : part.nets)
      demand(net >= -1 && net < nets, "a net that is there");
  }
  for (std::size_t n = 0; n < circuit.nets.size(); ++n) {
    for (const PinRef& ref : circuit.nets[n].pins) {
      demand(ref.part >= 0 && ref.part < static_cast<int>(circuit.parts.size()),
             "a part that is there");
      const Part& part = circuit.parts[ref.part];
      demand(ref.pin >= 0 && ref.pin < static_cast<int>(part.pins.size()),
             "a pin that is there");
      demand(part.nets[ref.pin] == static_cast<int>(n), "pins and nets say the same");
    }
  }
}

void check_times(const Circuit& circuit) {
  const int states = static_cast<int>(circuit.states.size());
  for (const State& state : circuit.states) {
    demand(parts_in(circuit, state).size() == circuit.parts.size(), "the same parts");
    const auto stretches = phases(circuit, state);
    demand(!stretches.empty() && stretches.size() <= kMostPhases, "1 to 64 phases");
    double sum = 0.0;
    for (const Phase& phase : stretches) {
      demand(phase.share > 0.0, "a phase takes time");
      sum += phase.share;
    }
    demand(std::abs(sum - 1.0) < 1e-9, "the phases fill the time");
  }
  for (const Run& run : circuit.runs) {
    demand(std::isfinite(run.seconds) && run.seconds > 0.0, "a run takes time");
    demand(!run.steps.empty(), "a run has a step");
    demand(run.from >= kFromInitial && run.from < states, "a state that is there");
    double last = 0.0;
    for (const RunStep& step : run.steps) {
      demand(step.at >= last && step.at <= run.seconds && step.rise > 0.0,
             "steps come in order and within the run");
      demand(step.state >= kUnpowered && step.state < states, "a state that is there");
      last = step.at;
    }
  }
  for (const Expectation& e : circuit.expectations) {
    demand((e.net >= 0) != (e.part >= 0), "a net or a part");
    demand(e.net < static_cast<int>(circuit.nets.size()) &&
               e.to < static_cast<int>(circuit.nets.size()) &&
               e.part < static_cast<int>(circuit.parts.size()) &&
               e.run < static_cast<int>(circuit.runs.size()),
           "an expectation of what is there");
  }
}

/// A value of the description that `size` could be asked to choose.
struct Place {
  std::size_t part = 0;
  std::string key;
  Unit unit = Unit::none;
  Span span;
  double value = 0.0;
};

std::vector<Place> places_of(const Circuit& circuit) {
  constexpr std::size_t kMost = 4;
  std::vector<Place> places;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    for (const auto& [name, setting] : circuit.parts[k].settings) {
      const Key* key = find_key(kind(circuit.parts[k].kind), name);
      const double* value = std::get_if<double>(&setting.value);
      const bool is_one = key != nullptr && value != nullptr && *value > 0.0 &&
                          key->shape == Shape::quantity && !setting.span.in_change &&
                          setting.span.file == 0;  // Others may share a block's.
      if (is_one && places.size() < kMost)
        places.push_back({k, name, key->unit, setting.span, *value});
    }
  }
  return places;
}

/// Whether two circuits are the same in all settings of their parts but one.
void demand_same_but(const Circuit& a, const Circuit& b, const Place& but) {
  demand(a.parts.size() == b.parts.size() && a.nets.size() == b.nets.size(),
         "a written value leaves parts and nets alone");
  for (std::size_t k = 0; k < a.parts.size(); ++k) {
    const auto& before = a.parts[k].settings;
    const auto& after = b.parts[k].settings;
    demand(before.size() == after.size(), "a written value leaves keys alone");
    for (const auto& [name, setting] : before) {
      if (k == but.part && name == but.key) continue;
      const auto found = after.find(name);
      demand(found != after.end() && found->second.value == setting.value,
             "a written value leaves the others alone");
    }
  }
}

bool is_near(double a, double b) { return std::abs(a - b) <= 1e-9 * std::abs(b); }

/// Writes a value as `size --write` does and reads the result.
void check_written(const Described& input, const Circuit& circuit, const Place& place,
                   double value) {
  std::vector<Replacement> one{{place.span, value, place.unit, "", ""}};
  const std::string text = replaced(input.text, one);
  if (text.empty()) return;  // Not in quotes: it says so and writes nothing.
  demand(one[0].to.size() + input.text.size() == text.size() + one[0].from.size(),
         "only the value's text is replaced");
  Described changed = input;
  changed.text = text;
  const auto again = read(changed);
  const bool is_same = value == place.value;
  demand(again->result.circuit.has_value() || !is_same,
         "the same value, written anew, is still read");
  if (!again->result.circuit) return;
  const auto& settings = again->result.circuit->parts[place.part].settings;
  const auto found = settings.find(place.key);
  demand(found != settings.end(), "the value is still there");
  demand(is_near(std::get<double>(found->second.value), value),
         "the value that was written is read");
  demand_same_but(circuit, *again->result.circuit, place);
}

/// What is tidy must be the same circuit.
void check_tidy(const Described& input, const Circuit& circuit) {
  const Tidied tidied = tidy(input.text, circuit);
  demand(tidied.is_changed || tidied.text == input.text, "what is not tidied stays");
  if (!tidied.is_changed) return;
  Described changed = input;
  changed.text = tidied.text;
  const auto again = read(changed);
  demand(again->result.circuit.has_value(), "what is tidy is read");
  demand(same_wiring(circuit, *again->result.circuit), "what is tidy is the same");
}

}  // namespace
}  // namespace benchproof::fuzz

int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  using namespace benchproof;
  const fuzz::Described input = fuzz::described(fuzz::text_of(bytes, size));
  if (const auto own = own_catalogue(input.text))
    fuzz::demand(is_beside(own->path), "a catalogue stands beside its description");
  const auto read = fuzz::read(input);
  for (const Diagnostic& d : read->type_complaints)
    fuzz::check_complaint(d, *input.types);
  for (const Diagnostic& d : read->result.diagnostics)
    fuzz::check_complaint(d, d.span.in_change ? input.asked.text : input.text);
  fuzz::demand(read->result.circuit.has_value() == read->result.diagnostics.empty(),
               "a description is read or complained about");
  if (!read->result.circuit || !read->type_complaints.empty()) return 0;
  const Circuit& circuit = *read->result.circuit;
  fuzz::check_pins(circuit);
  fuzz::check_times(circuit);
  for (const fuzz::Place& place : fuzz::places_of(circuit)) {
    fuzz::check_written(input, circuit, place, place.value);
    fuzz::check_written(input, circuit, place, place.value * 0.47);
  }
  fuzz::check_tidy(input, circuit);
  return 0;
}
