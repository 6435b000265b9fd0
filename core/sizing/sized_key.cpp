#include "core/sizing/sized_key.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/base/complaints.h"
#include "core/range/supply_range.h"

namespace benchproof {
namespace {

struct Bounds {
  double least;
  double most;
};

/// What the trade sells. Common practice, no source.
std::optional<Bounds> usual_bounds(KindId kind) {
  switch (kind) {
    case KindId::resistor:
    case KindId::trimmer:
      return Bounds{1.0, 10e6};
    case KindId::capacitor:
      return Bounds{1e-12, 0.1};
    case KindId::inductor:
      return Bounds{1e-6, 10.0};
    default:
      return std::nullopt;
  }
}

/// Between which values one is looked for (see read_sized_key).
Bounds bounds_of(const Part& part, const Key& key, std::optional<double> present) {
  const auto usual = key.name == "value" ? usual_bounds(part.kind) : std::nullopt;
  if (usual) return *usual;
  const double most = is_supply_voltage(part.kind, key.name)
                          ? std::min(key.most, kMostRangeVolts)  // As the reader.
                          : key.most;
  constexpr double kWide = 1e4;
  const bool is_wide =
      !key.least_allowed || most > kWide * (key.least > 0.0 ? key.least : 1.0);
  if (!is_wide) return {key.least, most};
  if (!present || !(*present > 0.0)) return {std::nan(""), std::nan("")};
  return {std::max(key.least, *present / 100.0), std::min(most, *present * 100.0)};
}

/// "there is no part 'x'; did you mean ...".
std::string with_suggestion(const std::string& complaint, std::string_view name,
                            const std::vector<std::string>& names,
                            std::string_view what) {
  int suggestions = 1;
  const std::string hint = suggestion(suggestions, name, names, what);
  return hint.empty() ? complaint : complaint + "; " + hint;
}

std::string no_part(const Circuit& circuit, const std::string& name) {
  std::vector<std::string> names;
  for (const Part& part : circuit.parts) names.push_back(part.name);
  return with_suggestion("there is no part " + quoted(name), name, names, "parts");
}

bool is_number(const Key& key) {
  return key.shape == Shape::quantity || key.shape == Shape::number;
}

std::string no_number(const Part& part, const std::string& name) {
  std::vector<std::string> names;
  for (const Key& key : kind(part.kind).keys)
    if (is_number(key)) names.emplace_back(key.name);
  return with_suggestion(
      fmt::format("{} has no number {}", quoted(part.name), quoted(name)), name, names,
      "keys");
}

}  // namespace

std::string with_slashes(const Circuit& circuit, std::string_view text) {
  std::string name(text);
  for (std::size_t dot = name.find('.'); dot != std::string::npos;
       dot = name.find('.', dot + 1)) {
    const std::string use = name.substr(0, dot);
    const bool is_use = std::any_of(circuit.uses.begin(), circuit.uses.end(),
                                    [&use](const auto& u) { return u.name == use; });
    if (!is_use) break;
    name[dot] = '/';
  }
  return name;
}

std::variant<SizedKey, std::string> read_sized_key(const Circuit& circuit,
                                                   std::string_view text) {
  const std::string whole = with_slashes(circuit, text);
  text = whole;
  const std::size_t dot = text.find('.');
  const std::string name(text.substr(0, dot));
  const auto found = std::find_if(circuit.parts.begin(), circuit.parts.end(),
                                  [&name](const Part& p) { return p.name == name; });
  if (found == circuit.parts.end()) return no_part(circuit, name);
  const Part& part = *found;
  SizedKey sized;
  sized.part = static_cast<int>(found - circuit.parts.begin());
  sized.key = dot == std::string_view::npos ? "value" : text.substr(dot + 1);
  const Key* key = find_key(kind(part.kind), sized.key);
  if (key != nullptr && key->is_whole)
    return fmt::format("'{}.{}' is a whole number; try some with --set", name,
                       sized.key);
  if (key == nullptr || !is_number(*key)) return no_number(part, sized.key);
  sized.unit = key->shape == Shape::quantity ? key->unit : Unit::none;
  sized.present = number_of(part, sized.key);
  const Bounds bounds = bounds_of(part, *key, sized.present);
  sized.least = bounds.least;
  sized.most = bounds.most;
  return sized;
}

bool is_supply_voltage(KindId kind, std::string_view key) {
  const bool is_supply = kind == KindId::dc_supply || kind == KindId::battery;
  return is_supply && (key == "voltage" || key == "no_load");
}

void put_value(Circuit& circuit, const SizedKey& key, double value) {
  circuit.parts[key.part].settings[key.key].value = value;
}

void put_values(Circuit& circuit, const std::vector<SizedKey>& keys,
                const std::vector<double>& values) {
  for (std::size_t k = 0; k < values.size(); ++k)
    put_value(circuit, keys[k], values[k]);
}

bool says(const State& state, const std::vector<SizedKey>& keys) {
  return std::any_of(keys.begin(), keys.end(), [&state](const SizedKey& key) {
    return state.settings.contains({key.part, key.key});
  });
}

}  // namespace benchproof
