#include "core/circuit/circuit.h"

#include <algorithm>
#include <functional>
#include <set>

#include "core/base/quick_key.h"

namespace benchproof {
namespace {

using Level = OutputSetting::Level;

/// The outputs of a state that share one frequency.
struct PwmGroup {
  double hertz = 0.0;
  std::vector<std::pair<PinRef, double>> duties;  ///< Pin and its share of high.
};

std::vector<PwmGroup> pwm_groups(const State& state) {
  std::map<double, PwmGroup> groups;
  for (const auto& [pin, setting] : state.outputs) {
    if (setting.level != Level::pwm) continue;
    PwmGroup& group = groups[setting.hertz];
    group.hertz = setting.hertz;
    group.duties.emplace_back(pin, setting.duty);
  }
  std::vector<PwmGroup> list;
  list.reserve(groups.size());
  for (auto& [hertz, group] : groups) list.push_back(std::move(group));
  return list;
}

/// Where the outputs of a group switch off, as shares of the period, in rising order.
std::set<double> switch_off_times(const PwmGroup& group) {
  std::set<double> times;
  for (const auto& [pin, duty] : group.duties) times.insert(duty);
  return times;
}

/// Splits each phase by the times at which the group's outputs switch off.
std::vector<Phase> split(const std::vector<Phase>& phases, const PwmGroup& group) {
  std::set<double> ends = switch_off_times(group);
  ends.insert(1.0);
  std::vector<Phase> result;
  for (const Phase& phase : phases) {
    double begin = 0.0;
    for (const double end : ends) {
      Phase part = phase;
      part.share = phase.share * (end - begin);
      for (const auto& [pin, duty] : group.duties) {
        const bool is_high = duty > begin;
        part.state.outputs[pin].level = is_high ? Level::high : Level::low;
        (is_high ? part.all_off : part.all_on) = false;
      }
      result.push_back(std::move(part));
      begin = end;
    }
  }
  return result;
}

std::string pin_name(const Circuit& circuit, PinRef pin, bool with_part) {
  const Part& part = circuit.parts[static_cast<std::size_t>(pin.part)];
  const std::string& name = part.pins[static_cast<std::size_t>(pin.pin)];
  return with_part ? part.name + "." + name : name;
}

/// "on", "off", or what each PWM output does.
std::string phase_name(const Circuit& circuit, const Phase& phase,
                       const std::vector<PinRef>& pins) {
  if (phase.all_on) return "on";
  if (phase.all_off) return "off";
  const bool is_one_part = std::all_of(
      pins.begin(), pins.end(), [&](PinRef pin) { return pin.part == pins[0].part; });
  std::string name;
  for (const PinRef pin : pins) {
    const bool is_high = phase.state.outputs.at(pin).level == Level::high;
    if (!name.empty()) name += ", ";
    name += pin_name(circuit, pin, !is_one_part) + (is_high ? " on" : " off");
  }
  return name;
}

}  // namespace

namespace {

/// What the kind's default has by another figure: of a fuse the resistance by its
/// rating.
std::optional<CurvePoint> by_curve(const Part& part, std::string_view key) {
  if (part.kind != KindId::fuse || key != "resistance" || part.defaults == nullptr)
    return std::nullopt;
  const auto curve = part.defaults->curves.find("resistances");
  const auto rated = number_of(part, "rated");
  if (curve == part.defaults->curves.end() || !rated) return std::nullopt;
  return point_at(curve->second, *rated);
}

}  // namespace

std::optional<Figure> figure(const Part& part, std::string_view key) {
  if (const auto given = part.settings.find(QuickKey{key});
      given != part.settings.end()) {
    const auto* value = std::get_if<double>(&given->second.value);
    if (value == nullptr) return std::nullopt;
    const Key* rule = find_key(kind(part.kind), key);
    return Figure{*value, rule != nullptr ? rule->unit : Unit::none, Mark::given,
                  "description", ""};
  }
  for (const Type* type : {part.type, part.defaults}) {
    if (type == nullptr) continue;
    const auto found = type->figures.find(QuickKey{key});
    if (found != type->figures.end()) return found->second;
  }
  if (auto point = by_curve(part, key))
    return Figure{point->value, Unit::ohm, point->mark, std::move(point->source), ""};
  return std::nullopt;
}

std::optional<double> number_of(const Part& part, std::string_view key) {
  if (const auto given = part.settings.find(QuickKey{key});
      given != part.settings.end()) {
    const auto* value = std::get_if<double>(&given->second.value);
    return value == nullptr ? std::nullopt : std::optional(*value);
  }
  for (const Type* type : {part.type, part.defaults}) {
    if (type == nullptr) continue;
    const auto found = type->figures.find(QuickKey{key});
    if (found != type->figures.end()) return found->second.value;
  }
  if (const auto point = by_curve(part, key)) return point->value;
  return std::nullopt;
}

bool flag(const Part& part, std::string_view key, bool otherwise) {
  const auto given = part.settings.find(QuickKey{key});
  if (given == part.settings.end()) return otherwise;
  const bool* value = std::get_if<bool>(&given->second.value);
  return value != nullptr ? *value : otherwise;
}

std::string word_of(const Part& part, std::string_view key) {
  if (const auto given = part.settings.find(QuickKey{key});
      given != part.settings.end()) {
    const auto* value = std::get_if<std::string>(&given->second.value);
    return value != nullptr ? *value : std::string();
  }
  if (part.type == nullptr) return {};
  const auto found = part.type->words.find(QuickKey{key});
  return found != part.type->words.end() ? found->second : std::string();
}

bool is_source(KindId kind) {
  return kind == KindId::dc_supply || kind == KindId::battery ||
         kind == KindId::voltage_source || kind == KindId::current_source;
}

int pin_index(const Part& part, std::string_view pin) {
  const auto found = std::find(part.pins.begin(), part.pins.end(), pin);
  return found == part.pins.end() ? -1 : static_cast<int>(found - part.pins.begin());
}

int named_state(const Run& run, int step) {
  for (int k = step; k >= 0; --k) {
    const int state = run.steps[static_cast<std::size_t>(k)].state;
    if (state >= 0) return state;
  }
  if (run.from >= 0) return run.from;
  for (auto k = static_cast<std::size_t>(step) + 1; k < run.steps.size(); ++k)
    if (run.steps[k].state >= 0) return run.steps[k].state;
  return -1;
}

Part part_in(const Circuit& circuit, const State& state, int index) {
  Part part = circuit.parts[static_cast<std::size_t>(index)];
  const auto type = state.types.find(index);
  if (type != state.types.end()) part.type = type->second;
  for (auto it = state.settings.lower_bound({index, ""});
       it != state.settings.end() && it->first.first == index; ++it) {
    const auto& [target, setting] = *it;
    const std::string& key = target.second;
    const std::optional<double> base = number_of(part, key);
    part.settings[key] = setting;
    const auto no_load = part.settings.find("no_load");
    const bool moves_no_load = key == "voltage" && base && *base > 0.0 &&
                               no_load != part.settings.end() &&
                               !state.settings.contains({index, "no_load"});
    if (!moves_no_load) continue;
    const double ratio = std::get<double>(setting.value) / *base;
    no_load->second.value = std::get<double>(no_load->second.value) * ratio;
  }
  return part;
}

bool is_named(const std::vector<std::string>& only, std::string_view name) {
  return only.empty() || std::find(only.begin(), only.end(), name) != only.end();
}

std::vector<Part> parts_in(const Circuit& circuit, const State& state) {
  std::vector<Part> parts;
  parts.reserve(circuit.parts.size());
  for (std::size_t k = 0; k < circuit.parts.size(); ++k)
    parts.push_back(part_in(circuit, state, static_cast<int>(k)));
  return parts;
}

OutputSetting output(const State& state, PinRef pin) {
  const auto found = state.outputs.find(pin);
  return found != state.outputs.end() ? found->second : OutputSetting{};
}

std::size_t phase_count(const State& state) {
  std::size_t count = 1;
  for (const PwmGroup& group : pwm_groups(state)) {
    count *= switch_off_times(group).size() + 1;
    if (count > kMostPhases) return kMostPhases + 1;
  }
  return count;
}

std::size_t figure_count(const Circuit& circuit) {
  std::size_t phases = 0;
  for (const State& state : circuit.states) phases += phase_count(state);
  return phases * circuit.parts.size();
}

std::vector<Phase> phases(const Circuit& circuit, const State& state) {
  const std::vector<PwmGroup> groups = pwm_groups(state);
  std::vector<Phase> result(1);
  result[0].state = state;
  if (groups.empty()) return result;

  std::vector<PinRef> pins;
  for (const PwmGroup& group : groups) {
    for (const auto& [pin, duty] : group.duties) pins.push_back(pin);
    result = split(result, group);
  }
  std::sort(pins.begin(), pins.end());
  for (Phase& phase : result) phase.name = phase_name(circuit, phase, pins);
  return result;
}

}  // namespace benchproof
