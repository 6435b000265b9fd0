#include "core/diagnose/foreseen/detail/conditions.h"

#include <algorithm>
#include <optional>

#include "core/circuit/topology.h"

namespace benchproof {
namespace {

int find_part(const Circuit& circuit, std::string_view name) {
  const auto found =
      std::find_if(circuit.parts.begin(), circuit.parts.end(),
                   [name](const Part& part) { return part.name == name; });
  return found == circuit.parts.end() ? -1
                                      : static_cast<int>(found - circuit.parts.begin());
}

int find_state(const Circuit& circuit, std::string_view name) {
  const auto found =
      std::find_if(circuit.states.begin(), circuit.states.end(),
                   [name](const State& state) { return state.name == name; });
  return found == circuit.states.end()
             ? -1
             : static_cast<int>(found - circuit.states.begin());
}

/// The index of what is in the list, where it comes if it is not.
template <typename Item, typename Is>
std::size_t place_of(std::vector<Item>& list, Item item, const Is& is) {
  const auto found = std::find_if(list.begin(), list.end(), is);
  if (found != list.end()) return static_cast<std::size_t>(found - list.begin());
  list.push_back(std::move(item));
  return list.size() - 1;
}

/// The condition that a question is asked in, with nothing asked yet.
std::optional<Condition> condition_of(const Circuit& circuit,
                                      const Question& question) {
  Condition condition;
  condition.powered = question.powered;
  condition.state = find_state(circuit, question.state);
  if (condition.state < 0 && (question.powered || !question.state.empty()))
    return std::nullopt;
  for (const std::string& name : question.out) {
    const int part = find_part(circuit, name);
    if (part < 0) return std::nullopt;
    condition.out.push_back(part);
  }
  std::sort(condition.out.begin(), condition.out.end());
  return condition;
}

std::optional<Asked> asked_of(const Circuit& circuit, const Question& question,
                              std::size_t index, std::vector<Probe>& probes) {
  Asked asked;
  asked.question = index;
  asked.asks = question.asks;
  if (question.asks == Asks::current || question.asks == Asks::looks) {
    asked.part = find_part(circuit, question.part);
    if (asked.part < 0) return std::nullopt;
    if (!question.pin.empty())
      asked.pin = pin_index(circuit.parts[asked.part], question.pin);
    if (asked.pin < 0) return std::nullopt;
    return asked;
  }
  const int a = find_net(circuit, question.net);
  const int b = question.to.empty() ? 0 : find_net(circuit, question.to);
  if (a < 0 || b < 0) return std::nullopt;
  const Probe probe{a, b};
  asked.probe =
      place_of(probes, probe, [&probe](const Probe& p) { return p == probe; });
  return asked;
}

/// What cold filaments are off by, each for itself.
void add_cold_filaments(const Circuit& circuit,
                        std::vector<DrawDeviations>& deviations) {
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    if (circuit.parts[k].kind != KindId::lamp) continue;
    Deviation cold;
    cold.part = static_cast<int>(k);
    cold.list = ValueList::ohms;
    cold.by = kColdFilamentOff;
    cold.nominal = 1.0;
    deviations.push_back({cold});
  }
}

}  // namespace

std::vector<Condition> conditions_of(const Circuit& circuit,
                                     const std::vector<Question>& questions,
                                     bool spread) {
  std::vector<Condition> conditions;
  std::vector<Probe> powered;
  std::vector<Probe> unpowered;
  for (std::size_t k = 0; k < questions.size(); ++k) {
    const Question& question = questions[k];
    auto condition = condition_of(circuit, question);
    if (!condition) continue;
    const auto asked =
        asked_of(circuit, question, k, question.powered ? powered : unpowered);
    if (!asked) continue;
    const Condition like = *condition;
    const std::size_t place =
        place_of(conditions, std::move(*condition), [&like](const Condition& c) {
          return c.powered == like.powered && c.state == like.state &&
                 c.out == like.out;
        });
    conditions[place].asked.push_back(*asked);
  }
  std::stable_sort(
      conditions.begin(), conditions.end(),
      [](const Condition& a, const Condition& b) { return a.powered && !b.powered; });
  for (Condition& condition : conditions) {
    condition.probes = condition.powered ? powered : unpowered;
    if (!spread) continue;
    const std::size_t state = std::max(0, condition.state);
    if (state < circuit.states.size())
      condition.deviations = deviations_of(circuit, circuit.states[state]);
    if (!condition.powered && !condition.deviations.empty())
      add_cold_filaments(circuit, condition.deviations.front());
  }
  return conditions;
}

}  // namespace benchproof
