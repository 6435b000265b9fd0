#include "core/sizing/goal.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>
#include <vector>

#include "core/base/complaints.h"
#include "core/base/quantity.h"
#include "core/check/expect/expectations.h"
#include "core/circuit/topology.h"
#include "core/sizing/sized_key.h"

namespace benchproof {
namespace {

using Words = std::vector<std::string>;

Words words_in(std::string_view text) {
  Words words;
  std::string word;
  for (const char letter : text) {
    if (letter != ' ' && letter != '\t') {
      word += letter;
    } else if (!word.empty()) {
      words.push_back(std::move(word));
      word.clear();
    }
  }
  if (!word.empty()) words.push_back(word);
  return words;
}

int part_index(const Circuit& circuit, std::string_view name) {
  for (std::size_t k = 0; k < circuit.parts.size(); ++k)
    if (circuit.parts[k].name == name) return static_cast<int>(k);
  return -1;
}

/// What is said of a name that no net, or no part, has.
std::string unknown(const Circuit& circuit, const std::string& name, bool is_net) {
  std::vector<std::string> names;
  if (is_net) {
    for (const Net& net : circuit.nets) names.push_back(net.name);
  } else {
    for (const Part& part : circuit.parts) names.push_back(part.name);
  }
  int suggestions = 1;
  const std::string hint =
      suggestion(suggestions, name, names, is_net ? "nets" : "parts");
  return fmt::format("there is no {} {}{}{}", is_net ? "net" : "part", quoted(name),
                     hint.empty() ? "" : "; ", hint);
}

/// A mistake in the goal, in words.
struct Mistake {
  std::string words;
};

/// What can be wanted at rest, by the word that asks for it.
struct MeasureWord {
  std::string_view word;
  Goal::Measure measure;
  Quantity quantity;
  Unit unit;
};

constexpr std::array<MeasureWord, 6> kMeasureWords = {{
    {"voltage", Goal::Measure::quantity, Quantity::voltage, Unit::volt},
    {"current", Goal::Measure::quantity, Quantity::current, Unit::ampere},
    {"power", Goal::Measure::quantity, Quantity::power, Unit::watt},
    {"temperature", Goal::Measure::quantity, Quantity::temperature, Unit::celsius},
    {"brightness", Goal::Measure::brightness, Quantity::current, Unit::fraction},
    {"time-constant", Goal::Measure::time_constant, Quantity::voltage, Unit::second},
}};

constexpr std::string_view kForm =
    "a goal is written as in \"quay current = 8 mA\": a net or part; voltage, current, "
    "power, temperature, brightness, time-constant or 'reaches LEVEL'; =, <= or >=; a "
    "value";

double value_of(std::string_view text, Unit unit) {
  const auto parsed = parse_quantity(text, unit);
  if (const double* value = std::get_if<double>(&parsed)) return *value;
  const auto& error = std::get<QuantityError>(parsed);
  throw Mistake{fmt::format("{}: {}{}{}", quoted(text), error.message,
                            error.hint.empty() ? "" : "; ", error.hint)};
}

/// Nets of the subject.
void take_nets(const Circuit& circuit, const Words& words, Goal& goal) {
  goal.subject.net = find_net(circuit, words[0]);
  if (goal.subject.net < 0) throw Mistake{unknown(circuit, words[0], true)};
  if (words.size() == 1) return;
  const int to = find_net(circuit, words[2]);
  if (to < 0) throw Mistake{unknown(circuit, words[2], true)};
  goal.subject.to = to == 0 ? -1 : to;
}

/// A part, or a part's pin, of the subject.
void take_part(const Circuit& circuit, const std::string& written,
               const MeasureWord& wanted, Goal& goal) {
  const std::string name = with_slashes(circuit, written);
  const std::size_t dot = name.find('.');
  goal.subject.part = part_index(circuit, name.substr(0, dot));
  if (goal.subject.part < 0)
    throw Mistake{unknown(circuit, name.substr(0, dot), false)};
  const Part& part = circuit.parts[goal.subject.part];
  if (dot != std::string::npos) {
    goal.subject.pin = pin_index(part, name.substr(dot + 1));
    if (goal.subject.pin < 0)
      throw Mistake{fmt::format("'{}' has no pin {}; it has: {}", part.name,
                                quoted(name.substr(dot + 1)),
                                fmt::join(part.pins, ", "))};
    if (wanted.quantity != Quantity::current)
      throw Mistake{fmt::format("a pin has no {} of its own", wanted.word)};
  }
  const bool has_two_pins = part.pins.size() == 2;
  if (wanted.quantity == Quantity::current && !has_two_pins && goal.subject.pin < 0)
    throw Mistake{
        fmt::format("'{}' has {} pins; write whose current is meant, as {}.{}",
                    part.name, part.pins.size(), part.name, part.pins[0])};
  if (wanted.quantity == Quantity::voltage && !has_two_pins)
    throw Mistake{fmt::format("'{}' has {} pins; ask for the voltage of a net",
                              part.name, part.pins.size())};
  if (wanted.measure == Goal::Measure::brightness &&
      (part.kind != KindId::led || !figure(part, "current")))
    throw Mistake{fmt::format("'{}' is no LED with a rated current", part.name)};
  if (wanted.measure == Goal::Measure::time_constant && part.kind != KindId::capacitor)
    throw Mistake{fmt::format("'{}' is no capacitor; only those have a time constant",
                              part.name)};
  if (wanted.quantity == Quantity::temperature && !figure(part, "thermal_resistance"))
    throw Mistake{fmt::format("the temperature of '{}' is not known", part.name)};
}

void take_crossing(const Circuit& circuit, const Words& words, std::size_t at,
                   std::string_view run, Goal& goal) {
  if (run.empty()) throw Mistake{"'reaches' needs the run it is looked for in: --run"};
  const auto found = std::find_if(circuit.runs.begin(), circuit.runs.end(),
                                  [run](const Run& r) { return r.name == run; });
  if (found == circuit.runs.end()) {
    std::vector<std::string> names;
    for (const Run& r : circuit.runs) names.push_back(r.name);
    int suggestions = 1;
    const std::string hint = suggestion(suggestions, run, names, "runs");
    throw Mistake{fmt::format("there is no run {}{}{}", quoted(run),
                              hint.empty() ? "" : "; ", hint)};
  }
  Words level(words.begin() + static_cast<std::ptrdiff_t>(at) + 1, words.end());
  Reaches reaches;
  if (!level.empty() && level.back() == "falling") {
    reaches.rising = false;
    level.pop_back();
  }
  if (level.empty()) throw Mistake{"'reaches' needs a level, as in 'reaches 2.5 V'"};
  reaches.level = value_of(fmt::format("{}", fmt::join(level, " ")), Unit::volt);
  goal.measure = Goal::Measure::crossing;
  goal.unit = Unit::second;
  goal.subject.run = static_cast<int>(found - circuit.runs.begin());
  goal.subject.reaches = reaches;
  take_nets(circuit,
            Words(words.begin(), words.begin() + static_cast<std::ptrdiff_t>(at)),
            goal);
  goal.figure = fmt::format(
      "the time at which {} reaches {}{}", subject_of(circuit, goal.subject),
      format_quantity(reaches.level, Unit::volt), reaches.rising ? "" : " falling");
}

bool is_net_pair(const Words& words) {
  return words.size() == 1 || (words.size() == 3 && words[1] == "to");
}

/// Reads the relation. Returns where the subject ends and where the value begins.
std::pair<std::size_t, std::size_t> take_relation(std::string_view text, Goal& goal) {
  const std::size_t sign = text.find_first_of("<>=");
  if (sign == std::string_view::npos) throw Mistake{std::string(kForm)};
  if (text[sign] == '=') return {sign, sign + 1};
  if (sign + 1 >= text.size() || text[sign + 1] != '=')
    throw Mistake{fmt::format("'{}' alone is no relation; write <= or >=", text[sign])};
  goal.relation =
      text[sign] == '<' ? Goal::Relation::at_most : Goal::Relation::at_least;
  return {sign, sign + 2};
}

/// Reads what is measured at rest, and of what.
void take_measure(const Circuit& circuit, Words words, Goal& goal) {
  const auto measure =
      std::find_if(kMeasureWords.begin(), kMeasureWords.end(),
                   [&words](const MeasureWord& m) { return m.word == words.back(); });
  if (measure == kMeasureWords.end())
    throw Mistake{fmt::format("{} is nothing that can be wanted; {}",
                              quoted(words.back()), kForm)};
  words.pop_back();
  if (!is_net_pair(words)) throw Mistake{std::string(kForm)};
  goal.measure = measure->measure;
  goal.unit = measure->unit;
  goal.subject.quantity = measure->quantity;
  const bool is_net = measure->measure == Goal::Measure::quantity &&
                      measure->quantity == Quantity::voltage &&
                      (words.size() == 3 || find_net(circuit, words[0]) >= 0);
  if (is_net)
    take_nets(circuit, words, goal);
  else if (words.size() == 1)
    take_part(circuit, words[0], *measure, goal);
  else
    throw Mistake{fmt::format("two nets have no {} between them", measure->word)};
  goal.figure =
      fmt::format("the {} of {}", measure->word, subject_of(circuit, goal.subject));
  if (is_delivered(circuit, goal)) goal.figure += ", delivered";
}

/// Reads how far off an equation's value may be: a share of it, or a quantity like it.
void take_band(const std::string& text, Goal& goal) {
  if (goal.relation != Goal::Relation::equal)
    throw Mistake{fmt::format("'within' goes with =; {} is a bound by itself",
                              sign(goal.relation))};
  if (text.empty())
    throw Mistake{"'within' needs how far off is fine, as in 'within 10%'"};
  const bool is_share = text.back() == '%';
  const double size = value_of(text, is_share ? Unit::fraction : goal.unit);
  if (is_share && goal.want == 0.0)
    throw Mistake{"of 0 there is no share: say how far off is fine as a quantity"};
  const double room = is_share ? size * std::abs(goal.want) : size;
  if (!(room > 0.0)) throw Mistake{"'within' takes a figure above 0"};
  goal.band = GoalBand{goal.want - room, goal.want + room};
}

/// Reads the value wanted, in the unit of what is measured.
void take_value(const Circuit& circuit, std::string_view text, Goal& goal) {
  const Words words = words_in(text);
  const auto within = std::find(words.begin(), words.end(), "within");
  goal.want =
      value_of(fmt::format("{}", fmt::join(words.begin(), within, " ")), goal.unit);
  if (within != words.end())
    take_band(fmt::format("{}", fmt::join(within + 1, words.end(), " ")), goal);
  if (goal.unit == Unit::second && !(goal.want > 0.0))
    throw Mistake{"a time is wanted that is above 0"};
  if (goal.measure != Goal::Measure::crossing) return;
  const Run& run = circuit.runs[goal.subject.run];
  if (goal.want > run.seconds)
    throw Mistake{fmt::format("run {} lasts {}; a time within it can be wanted",
                              quoted(run.name),
                              format_quantity(run.seconds, Unit::second))};
}

Goal take_goal(const Circuit& circuit, std::string_view text, std::string_view run) {
  Goal goal;
  const auto [subject_end, value_begin] = take_relation(text, goal);
  const Words words = words_in(text.substr(0, subject_end));
  if (words.size() < 2) throw Mistake{std::string(kForm)};
  const auto reaches = std::find(words.begin(), words.end(), "reaches");
  if (reaches == words.end()) {
    take_measure(circuit, words, goal);
  } else {
    if (!is_net_pair(Words(words.begin(), reaches))) throw Mistake{std::string(kForm)};
    take_crossing(circuit, words, static_cast<std::size_t>(reaches - words.begin()),
                  run, goal);
  }
  take_value(circuit, text.substr(value_begin), goal);
  return goal;
}

}  // namespace

std::variant<Goal, std::string> read_goal(const Circuit& circuit, std::string_view text,
                                          std::string_view run) {
  try {
    return take_goal(circuit, text, run);
  } catch (const Mistake& mistake) {
    return mistake.words;
  }
}

bool is_delivered(const Circuit& circuit, const Goal& goal) {
  if (goal.measure != Goal::Measure::quantity || goal.subject.part < 0 ||
      goal.subject.quantity != Quantity::power)
    return false;
  const KindId id = circuit.parts[goal.subject.part].kind;
  return id == KindId::dc_supply || id == KindId::battery;
}

std::string_view sign(Goal::Relation relation) {
  switch (relation) {
    case Goal::Relation::equal:
      return "=";
    case Goal::Relation::at_most:
      return "<=";
    case Goal::Relation::at_least:
      return ">=";
  }
  return {};
}

double blur(const Goal& goal) { return 1e-9 * std::abs(goal.want); }

GoalBand band_of(const Goal& goal) {
  switch (goal.relation) {
    case Goal::Relation::equal:
      return goal.band.value_or(GoalBand{});
    case Goal::Relation::at_most:
      return {std::nullopt, goal.want};
    case Goal::Relation::at_least:
      return {goal.want, std::nullopt};
  }
  return {};
}

std::optional<GoalBand> expected_band(const Circuit& circuit, const Goal& goal,
                                      std::string_view state) {
  if (goal.measure != Goal::Measure::quantity || is_delivered(circuit, goal))
    return std::nullopt;
  const Expectation& wanted = goal.subject;
  GoalBand band;
  for (const Expectation& e : circuit.expectations) {
    const bool is_same = e.run < 0 && e.phase == Expectation::Phase::average &&
                         (e.state.empty() || e.state == state) && e.net == wanted.net &&
                         e.to == wanted.to && e.part == wanted.part &&
                         e.pin == wanted.pin && e.quantity == wanted.quantity;
    if (!is_same) continue;
    if (e.least) band.least = std::max(*e.least, band.least.value_or(*e.least));
    if (e.most) band.most = std::min(*e.most, band.most.value_or(*e.most));
  }
  const bool has_want = (!band.least || *band.least <= goal.want) &&
                        (!band.most || goal.want <= *band.most);
  if ((!band.least && !band.most) || !has_want) return std::nullopt;
  return band;
}

bool keeps_to(const Goal& goal, double value) {
  constexpr double kRounding = 1e-9;
  const double room = kRounding * std::abs(goal.want);
  const GoalBand band = band_of(goal);
  if (goal.relation == Goal::Relation::equal && std::isinf(value)) return false;
  if (!band.least && !band.most) return true;
  return (!band.least || value >= *band.least - room) &&
         (!band.most || value <= *band.most + room);
}

}  // namespace benchproof
