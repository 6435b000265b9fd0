#include "core/order/buyers_notes.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>

#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"
#include "core/order/shape_notes.h"

namespace benchproof {
namespace {

const Part& first_part(const Circuit& circuit, const OrderLine& line) {
  return circuit.parts[static_cast<std::size_t>(line.parts.front())];
}

bool is_given(const Part& part, std::string_view key) {
  return part.settings.contains(key);
}

/// What its kind wants done with it before it is fitted.
void note_care(const Part& part, std::vector<BuyersNote>& notes) {
  if (part.kind == KindId::mosfet)
    notes.emplace_back(
        "leave it in its bag until it is fitted: static charge kills it");
}

/// What the description leaves open.
void note_choice(const Part& part, std::vector<BuyersNote>& notes) {
  if (is_given(part, "model") || is_given(part, "drop") ||
      (part.kind == KindId::zener && is_given(part, "voltage")))
    notes.emplace_back("described by figures, not by a type: choose one that has them");
  if (is_given(part, "colour"))
    notes.emplace_back("any of this colour: judged by the lowest published ratings");
  if (part.kind == KindId::controller && word_of(part, "type").starts_with("cmos-"))
    notes.emplace_back("a class, not a type: choose a chip whose pins can do as much");
  if (part.kind == KindId::fuse)
    notes.emplace_back(
        "quick-acting was assumed; one much larger than the least does not protect");
  if (part.kind == KindId::dc_supply)
    notes.emplace_back("isolated from the mains, with a plug that fits");
}

void note_resistor(const Part& part, const OrderLine& line,
                   std::vector<BuyersNote>& notes) {
  if (part.kind != KindId::resistor || !line.value) return;
  constexpr double kLoose = 0.02;
  const SoldValue& value = *line.value;
  if (!is_given(part, "tolerance") && value.tolerance)
    notes.push_back(fmt::format("no tolerance is given; {} is assumed",
                                short_text(*value.tolerance, Unit::fraction)));
  if (value.series == Series::e96 && value.tolerance.value_or(0.0) > kLoose)
    notes.emplace_back("values of E96 are usually sold with 1 %");
}

/// What a diode across a coil takes over when that is switched off: no state shows it.
void note_flyback(const Circuit& circuit, const OrderLine& line,
                  std::vector<BuyersNote>& notes) {
  if (line.kind != KindId::diode) return;
  double most = 0.0;
  const Part* coil = nullptr;
  for (const int index : line.parts) {
    const Part& diode = circuit.parts[static_cast<std::size_t>(index)];
    for (const Part& part : circuit.parts) {
      const bool is_wound = is_load(part.kind) && part.kind != KindId::lamp;
      if (!is_wound || diode.nets[0] < 0 || diode.nets[1] < 0 ||
          !std::is_permutation(diode.nets.begin(), diode.nets.end(), part.nets.begin()))
        continue;
      const double amps = std::max(number_of(part, "current").value_or(0.0),
                                   number_of(part, "start_current").value_or(0.0));
      if (amps > most) coil = &part;
      most = std::max(most, amps);
    }
  }
  if (coil != nullptr)
    notes.push_back(
        fmt::format("current {} or more: it takes over that of '{}' when that is "
                    "switched off",
                    short_text(most, Unit::ampere, 3), coil->name));
}

/// What a fuse has to bear for a moment: no state shows it.
void note_inrush(const Circuit& circuit, const OrderLine& line,
                 std::vector<BuyersNote>& notes) {
  constexpr double kLargeFarads = 100e-6;  // Common practice, no source.
  if (line.kind != KindId::fuse) return;
  double farads = 0.0;
  double start = 0.0;
  for (const Part& part : circuit.parts) {
    if (part.kind == KindId::capacitor)
      farads += number_of(part, "value").value_or(0.0);
    start = std::max(start, number_of(part, "start_current").value_or(0.0));
  }
  if (farads >= kLargeFarads ||
      start > number_of(first_part(circuit, line), "rated").value_or(start))
    notes.push_back(fmt::format(
        "it has to bear the inrush too{}{}: a slow one (T), or play a run of the plug",
        farads >= kLargeFarads
            ? fmt::format(", into {}", shop_text(farads, Unit::farad))
            : "",
        start > 0.0 ? fmt::format(", and a start current of {}",
                                  short_text(start, Unit::ampere, 3))
                    : ""));
}

/// Values that states change: one part cannot be both.
void note_states(const Circuit& circuit, const OrderLine& line,
                 std::vector<BuyersNote>& notes) {
  if (line.kind == KindId::light_resistor || line.kind == KindId::heat_resistor) return;
  constexpr std::size_t kMost = 4;
  std::map<std::string, std::vector<std::string>> values;  // By key, without doubles.
  for (const State& state : circuit.states) {
    for (const auto& [target, setting] : state.settings) {
      const auto& [part, key] = target;
      const bool is_here =
          std::find(line.parts.begin(), line.parts.end(), part) != line.parts.end();
      const Key* rule = find_key(kind(line.kind), key);
      const auto* number = std::get_if<double>(&setting.value);
      const bool is_use = key == "turn" || key == "initial";
      if (!is_here || is_use || rule == nullptr || number == nullptr) continue;
      std::vector<std::string>& list = values[key];
      const std::string text = short_text(*number, rule->unit, 4);
      if (std::find(list.begin(), list.end(), text) == list.end()) list.push_back(text);
    }
  }
  for (auto& [key, list] : values) {
    const std::size_t more = list.size() > kMost ? list.size() - kMost : 0;
    if (more > 0) list.resize(kMost);
    notes.push_back(fmt::format("states also set its {} to {}{}", key,
                                fmt::join(list, ", "),
                                more > 0 ? fmt::format(" and {} more", more) : ""));
  }
}

}  // namespace

std::vector<BuyersNote> buyers_notes(const Circuit& circuit, const OrderLine& line) {
  const Part& part = first_part(circuit, line);
  std::vector<BuyersNote> notes = shape_notes(circuit, line);
  note_care(part, notes);
  note_choice(part, notes);
  note_resistor(part, line, notes);
  note_states(circuit, line, notes);
  note_flyback(circuit, line, notes);
  note_inrush(circuit, line, notes);
  return notes;
}

}  // namespace benchproof
