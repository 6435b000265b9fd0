#include "cli/render/diagram/diagram_picture.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/state_text.h"
#include "core/check/finding/told.h"
#include "core/check/finding/wording.h"
#include "core/check/rating/light.h"
#include "core/circuit/topology.h"
#include "core/draw/levels.h"
#include "core/order/shopping_list.h"

namespace benchproof {
namespace {

/// Words that say which part it is, where it has some: type, colour, chemistry.
std::string kind_words(const Part& part) {
  std::string words;
  for (const char* key : {"type", "colour", "chemistry", "size"}) {
    const std::string word = word_of(part, key);
    if (word.empty()) continue;
    const auto given = part.settings.find(key);
    if (given == part.settings.end()) continue;
    words += (words.empty() ? "" : " ") + printable(word);
  }
  return words;
}

/// As a meter shows it; floating where leakage alone sets it.
std::string volts_words(const StateResult& state, std::size_t net) {
  constexpr double kLeast = 0.5e-3;
  if (floats(state, net)) return "floating";
  const double volts = state.nodal.net_volts.at(net);
  return std::abs(volts) < kLeast ? "0 V" : figure_text(volts, Unit::volt);
}

/// The current through a part from top to bottom of its symbol. Ampere.
double downward_amps(const Part& part, const Symbol& symbol,
                     const std::vector<double>& pin_amps) {
  const MainPins pins = main_pins(part);
  return symbol.is_flipped ? pin_amps.at(pins.second) : pin_amps.at(pins.first);
}

PartInState part_in_state(const StateResult& state, const State& described,
                          std::size_t index, const Symbol& symbol) {
  constexpr double kDark = 1e-4;  // As the report on lamps has it.
  constexpr double kNone = 5e-9;  // Ampere; below it no direction is told.
  PartInState shown;
  const Part& part = state.parts.at(index);
  const std::vector<double>& amps = state.nodal.pin_amps.at(index);
  if (part.kind == KindId::controller) {
    shown.current = "takes " + cell_text(std::abs(amps.at(kVdd)), Unit::ampere);
    return shown;
  }
  const double down = downward_amps(part, symbol, amps);
  shown.current = cell_text(std::abs(down), Unit::ampere);
  if (std::abs(down) > kNone) shown.direction = down > 0.0 ? 1 : -1;
  if (const auto share =
          light_share(part, amps.at(0), state.nodal.part_watts.at(index)))
    shown.is_lit = *share >= kDark;
  if (part.kind == KindId::switch_)
    shown.is_closed = is_closed(described, static_cast<int>(index));
  return shown;
}

/// Takes a finding's subjects to the parts and nets of the circuit.
void mark_subjects(const Circuit& circuit, const Told& told, NumberedFinding& finding) {
  const auto find = [](const auto& list, std::string_view name) {
    const auto found = std::find_if(
        list.begin(), list.end(), [&](const auto& item) { return item.name == name; });
    return found == list.end() ? -1 : static_cast<int>(found - list.begin());
  };
  for (const ToldSubject& subject : told.subjects) {
    const Finding& worst = *subject.worst;
    if (const int part = find(circuit.parts, worst.part); part >= 0)
      finding.parts.push_back(part);
    else if (const int net = find(circuit.nets, worst.net); net >= 0)
      finding.nets.push_back(net);
  }
}

/// Gives each check about the same subjects one number, in whatever state it is.
class Numbers {
 public:
  [[nodiscard]] std::size_t of(const std::string& check, const std::string& subjects) {
    return numbers_.try_emplace({check, subjects}, numbers_.size() + 1).first->second;
  }

 private:
  std::map<std::pair<std::string, std::string>, std::size_t> numbers_;
};

void add_told(const Circuit& circuit, const Told& told, Numbers& numbers,
              std::vector<NumberedFinding>& list) {
  const Finding& first = worst(told);
  if (first.severity != Severity::note) {
    NumberedFinding finding;
    finding.severity = first.severity;
    finding.check = first.check;
    finding.words = plain_text(first.message);
    std::string subjects;
    for (const ToldSubject& subject : told.subjects)
      subjects += std::string(subject.name) + " ";
    if (told.subjects.size() > 1)
      finding.words += fmt::format("; the same of {} more", told.subjects.size() - 1);
    mark_subjects(circuit, told, finding);
    finding.number = numbers.of(first.check, subjects);
    list.push_back(std::move(finding));
  }
  for (const Told& result : told.results) add_told(circuit, result, numbers, list);
}

StateWords words_of(const FileReport& report, const StateResult& state,
                    const Diagram& diagram, Numbers& numbers) {
  const Circuit& circuit = *report.circuit;
  StateWords words;
  words.name = state.name;
  words.is_known = state.agrees;
  const std::vector<FindingsAt> all = {{state.name, state.findings}};
  for (const Told& told : told_together(all))
    add_told(circuit, told, numbers, words.findings);
  std::sort(words.findings.begin(), words.findings.end(),
            [](const auto& a, const auto& b) { return a.number < b.number; });
  if (!state.agrees) return words;
  const State& described = state_of(circuit, state);
  for (std::size_t k = 0; k < state.parts.size(); ++k)
    words.parts.push_back(
        part_in_state(state, described, k,
                      diagram.symbols.empty() ? Symbol{} : diagram.symbols.at(k)));
  for (std::size_t net = 0; net < circuit.nets.size(); ++net)
    words.volts.push_back(volts_words(state, net));
  return words;
}

/// How many findings of a state are about a part.
std::size_t marks_at(const StateWords& state, int part) {
  std::size_t marks = 0;
  for (const NumberedFinding& finding : state.findings)
    marks += static_cast<std::size_t>(
        std::count(finding.parts.begin(), finding.parts.end(), part));
  return marks;
}

DiagramNeeds needs_of(const FileReport& report, const DiagramPicture& picture) {
  const Circuit& circuit = *report.circuit;
  DiagramNeeds needs;
  needs.levels = net_levels(circuit, report.verification);
  constexpr double kArrow = 14.0;  // Beside a current.
  constexpr double kMark = 20.0;   // A number beside a net's name.
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    // Names are bold.
    double width = std::max(text_width(picture.parts[k].name) * 1.1,
                            text_width(picture.parts[k].value));
    for (const StateWords& state : picture.states)
      if (k < state.parts.size())
        width = std::max(width, text_width(state.parts[k].current) + kArrow);
    needs.part_widths.push_back(std::ceil(width));
    std::size_t marks = 0;
    for (const StateWords& state : picture.states)
      marks = std::max(marks, marks_at(state, static_cast<int>(k)));
    needs.part_marks.push_back(marks);
  }
  for (std::size_t net = 0; net < circuit.nets.size(); ++net) {
    double widest = 0.0;
    double mark = 0.0;
    for (const StateWords& state : picture.states) {
      if (net < state.volts.size())
        widest = std::max(widest, text_width(" " + state.volts[net]));
      for (const NumberedFinding& finding : state.findings)
        if (std::find(finding.nets.begin(), finding.nets.end(),
                      static_cast<int>(net)) != finding.nets.end())
          mark = kMark;
    }
    needs.net_widths.push_back(
        std::ceil(text_width(circuit.nets[net].name) + widest + mark));
  }
  return needs;
}

void add_states(const FileReport& report, DiagramPicture& picture) {
  Numbers numbers;
  picture.states.clear();
  for (const StateResult& state : report.verification.states)
    picture.states.push_back(words_of(report, state, picture.diagram, numbers));
}

}  // namespace

std::string value_words(const Part& part) {
  const auto number = [&](const char* key, Unit unit) -> std::string {
    const auto value = number_of(part, key);
    return value ? shop_text(*value, unit) : std::string();
  };
  if (std::string words = kind_words(part); !words.empty()) return words;
  switch (part.kind) {
    case KindId::resistor:
    case KindId::trimmer:
    case KindId::light_resistor:
    case KindId::heat_resistor:
      return number("value", Unit::ohm);
    case KindId::capacitor:
      return number("value", Unit::farad);
    case KindId::inductor:
      return number("value", Unit::henry);
    case KindId::zener:
    case KindId::dc_supply:
    case KindId::voltage_source:
    case KindId::lamp:
    case KindId::motor:
    case KindId::relay_coil:
    case KindId::buzzer:
      return number("voltage", Unit::volt);
    case KindId::battery:
      return number("voltage", Unit::volt);
    case KindId::current_source:
      return number("current", Unit::ampere);
    case KindId::fuse:
      return number("rated", Unit::ampere);
    case KindId::regulator:
      return number("output", Unit::volt);
    case KindId::wire:
      return number("length", Unit::metre);
    case KindId::diode:
    case KindId::led:
      return number("drop", Unit::volt);
    default:
      return {};
  }
}

DiagramPicture picture_of(const FileReport& report) {
  const Circuit& circuit = *report.circuit;
  DiagramPicture picture;
  for (const Part& part : circuit.parts)
    picture.parts.push_back({part.name, value_words(part)});
  // Once for how wide the words get, and once more to know which way is down.
  add_states(report, picture);
  picture.diagram = lay_out(circuit, needs_of(report, picture));
  add_states(report, picture);
  return picture;
}

}  // namespace benchproof
