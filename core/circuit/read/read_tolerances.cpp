#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "core/circuit/entries/names.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/entries/values.h"
#include "core/circuit/read/detail/steps.h"
#include "core/circuit/tolerance.h"

namespace benchproof {
namespace {

using Toml = TomlNode::Type;

/// What else than a part's value may stand in the table.
constexpr std::string_view kAmbient = "ambient";
constexpr std::string_view kTogether = "together";

/// What a tolerance is told of, and where that stands.
struct SpreadTarget {
  int part = -1;  ///< -1: the ambient temperature.
  std::string key;
  Unit unit = Unit::celsius;
  std::string text;
  Span span;
};

/// The keys of a part that copies may differ in: numbers that it has.
std::vector<std::string> spreadable(const Part& part) {
  std::vector<std::string> names;
  for (const Key& key : kind(part.kind).keys) {
    const bool is_number = key.shape == Shape::quantity || key.shape == Shape::number;
    if (is_number && !key.is_fixed && key.name != "tolerance" &&
        number_of(part, key.name))
      names.emplace_back(key.name);
  }
  for (std::string& name : bounded_figures(part)) names.push_back(std::move(name));
  return names;
}

/// The whole target that is likely meant by a key that nothing differs in.
std::string target_hint(Reading& reading, const std::string& part,
                        const std::string& key, const std::vector<std::string>& keys) {
  std::string near;
  if (reading.suggestions_left-- > 0) near = nearest(key, keys);
  if (!near.empty()) near = fmt::format("{}.{}", part, near);
  return names_hint(near, keys, fmt::format("of {} may differ", quoted(part)));
}

/// Of the keys that copies may differ in the one that they mostly do.
std::string usual_spread(const std::vector<std::string>& keys) {
  for (const std::string_view usual : {"value", "voltage", "forward", "gain"})
    if (std::find(keys.begin(), keys.end(), usual) != keys.end())
      return std::string(usual);
  return keys.front();
}

std::optional<SpreadTarget> read_target(Reading& reading, const TomlEntry& entry) {
  const auto is_ambient = [&] {
    return entry.key == kAmbient && !reading.part_index.contains(kAmbient);
  };
  if (is_ambient())
    return SpreadTarget{-1, std::string(kAmbient), Unit::celsius, "'ambient'",
                        entry.key_span};
  const std::size_t dot = entry.key.find('.');
  const std::string name = entry.key.substr(0, dot);
  const auto found = reading.part_index.find(name);
  if (found == reading.part_index.end()) {
    complain(reading, kPartUnknown, entry.key_span,
             fmt::format("there is no part {}", quoted(name)),
             near_part(reading, name, entry.key_span, false,
                       {std::string(kAmbient), std::string(kTogether)})
                 .hint);
    return std::nullopt;
  }
  const auto index = static_cast<std::size_t>(found->second);
  if (!reading.notes[index].is_understood) return std::nullopt;
  const Part& part = reading.circuit.parts[index];
  const std::vector<std::string> keys = spreadable(part);
  const std::string text = quoted(entry.key);
  if (dot == std::string::npos) {
    complain(reading, kChangeTarget, entry.key_span,
             fmt::format("{} is a part; what of it may differ?", text),
             keys.empty() ? std::string()
                          : fmt::format("write \"{}.{}\"", name, usual_spread(keys)));
    return std::nullopt;
  }
  const std::string key = entry.key.substr(dot + 1);
  if (reading.misread_keys.contains({name, key})) return std::nullopt;
  const auto unit = unit_of_target(part, key);
  if (!unit || std::find(keys.begin(), keys.end(), key) == keys.end()) {
    complain(reading, kChangeTarget, entry.key_span,
             fmt::format("{} is nothing that copies differ in", text),
             target_hint(reading, name, key, keys));
    return std::nullopt;
  }
  return SpreadTarget{found->second, key, *unit, text, entry.key_span};
}

/// A bound, a share or a value in the target's unit.
struct Bound {
  double value = 0.0;
  bool is_share = false;
};

std::optional<Bound> read_bound(Reading& reading, const TomlNode& node,
                                const SpreadTarget& target, std::string_view name) {
  const std::string what = fmt::format("'{}' of {}", name, target.text);
  if (target.unit == Unit::none && node.type == Toml::number)
    return Bound{node.number, false};
  const bool is_share = node.type == Toml::string && node.text.ends_with('%') &&
                        target.unit != Unit::fraction && target.unit != Unit::celsius;
  const auto value =
      read_quantity(reading, node, is_share ? Unit::fraction : target.unit, what);
  if (!value) return std::nullopt;
  return Bound{*value, is_share};
}

/// "5%": as far either way.
std::optional<Spreading> read_within(Reading& reading, const TomlNode& node,
                                     const SpreadTarget& target) {
  if (target.unit == Unit::celsius) {
    complain(reading, kUnitWrong, node.span,
             fmt::format("{} is a temperature, which does not differ by a share",
                         target.text),
             R"(write { min = "15 C", max = "35 C" })");
    return std::nullopt;
  }
  const auto share = read_quantity(reading, node, Unit::fraction, target.text);
  if (!share) return std::nullopt;
  if (*share > 0.0 && *share < 1.0)
    return Spreading{target.part, target.key, true, -*share, *share, false, node.span};
  complain(reading, kValueRange, node.span,
           fmt::format("{} may not differ by {}", target.text,
                       format_quantity(*share, Unit::fraction)),
           "it must be more than 0 % and less than 100 %");
  return std::nullopt;
}

bool read_distribution(Reading& reading, const TomlNode& node,
                       const SpreadTarget& target, bool& is_normal) {
  const TomlEntry* entry = find_entry(node, "distribution");
  if (entry == nullptr) return true;
  const std::string what = fmt::format("'distribution' of {}", target.text);
  if (!expect_type(reading, entry->value, Toml::string, what)) return false;
  is_normal = entry->value.text == "normal";
  if (is_normal || entry->value.text == "uniform") return true;
  complain(reading, kWordUnknown, entry->value.span,
           fmt::format("{} cannot be {}", what, quoted(entry->value.text)),
           suggestion(reading, entry->value.text, {"uniform", "normal"}, "choices"));
  return false;
}

/// The value of the target as it is described, if it is a plain number.
std::optional<double> nominal_of(const Reading& reading, const SpreadTarget& target) {
  if (target.part < 0) return reading.circuit.ambient;
  return number_of(reading.circuit.parts[static_cast<std::size_t>(target.part)],
                   target.key);
}

/// Whether the value as described lies between the bounds; complains otherwise.
bool check_bounds(Reading& reading, const Spreading& spreading,
                  const SpreadTarget& target) {
  const auto nominal = spreading.is_share ? 0.0 : nominal_of(reading, target);
  const bool is_around =
      !nominal || (spreading.least <= *nominal && *nominal <= spreading.most);
  const bool is_share_fine = !spreading.is_share || spreading.least > -1.0;
  if (spreading.least < spreading.most && is_around && is_share_fine) return true;
  complain(reading, kExpectBounds, spreading.span,
           fmt::format("the bounds of {} do not lie on both sides of its value",
                       target.text),
           R"(write "5%", or { min = "-20%", max = "+20%" }, or bounds with a unit)");
  return false;
}

std::optional<Spreading> read_bounds(Reading& reading, const TomlNode& node,
                                     const SpreadTarget& target) {
  Spreading spreading{target.part, target.key, false, 0.0, 0.0, false, node.span};
  const TomlEntry* least = find_entry(node, "min");
  const TomlEntry* most = find_entry(node, "max");
  if (least == nullptr || most == nullptr) {
    complain(
        reading, kKeyMissing, node.span,
        fmt::format("{} has no '{}'", target.text, least == nullptr ? "min" : "max"),
        R"(write { min = "-20%", max = "+20%" }, or { within = "5%" })");
    return std::nullopt;
  }
  const auto low = read_bound(reading, least->value, target, "min");
  const auto high = read_bound(reading, most->value, target, "max");
  if (!low || !high) return std::nullopt;
  if (low->is_share != high->is_share) {
    complain(
        reading, kKeyConflict, node.span,
        fmt::format("one bound of {} is a share and the other a value", target.text));
    return std::nullopt;
  }
  spreading.is_share = low->is_share;
  spreading.least = low->value;
  spreading.most = high->value;
  return spreading;
}

std::optional<Spreading> read_spreading(Reading& reading, const TomlNode& node,
                                        const SpreadTarget& target) {
  if (node.type == Toml::string) return read_within(reading, node, target);
  if (!expect_type(reading, node, Toml::table, target.text)) return std::nullopt;
  const KnownKeys keys =
      known_keys(reading, node, {"within", "min", "max", "distribution"}, target.text);
  const TomlNode& table = keys.table();
  const TomlEntry* within = find_entry(table, "within");
  for (const char* bound : {"min", "max"}) {
    const TomlEntry* entry = find_entry(table, bound);
    if (within == nullptr || entry == nullptr) continue;
    if (!is_guess(reading, entry->key_span))
      complain(reading, kKeyConflict, within->key_span,
               fmt::format("{} has 'within' and bounds", target.text),
               "give one of them");
    return std::nullopt;
  }
  auto spreading = within != nullptr ? read_within(reading, within->value, target)
                                     : read_bounds(reading, table, target);
  if (!spreading) return std::nullopt;
  if (!read_distribution(reading, table, target, spreading->is_normal) ||
      !check_bounds(reading, *spreading, target))
    return std::nullopt;
  return spreading;
}

/// Bounds that are values do not hold for what a state changes.
bool check_states(Reading& reading, const Spreading& spreading,
                  const SpreadTarget& target) {
  if (spreading.is_share || spreading.part < 0) return true;
  for (const State& state : reading.circuit.states) {
    if (!state.settings.contains({spreading.part, spreading.key})) continue;
    complain(reading, kKeyConflict, spreading.span,
             fmt::format("the bounds of {} are values, and state {} gives it another",
                         target.text, quoted(state.name)),
             R"(write shares: { min = "-5%", max = "+5%" })");
    return false;
  }
  return true;
}

/// One list of parts from one reel.
void read_reel(Reading& reading, const TomlNode& node, std::set<int>& taken) {
  std::vector<int> parts;
  bool is_good = true;
  for (const TomlNode& item : node.items) {
    if (!expect_type(reading, item, Toml::string, "a part in 'together'")) {
      is_good = false;
      continue;
    }
    const auto found = reading.part_index.find(item.text);
    if (found == reading.part_index.end()) {
      complain(reading, kPartUnknown, item.span,
               fmt::format("there is no part {}", quoted(item.text)),
               suggestion(reading, item.text, reading.part_names, "parts"));
      is_good = false;
    } else if (!taken.insert(found->second).second) {
      complain(reading, kStateTwice, item.span,
               fmt::format("{} stands in 'together' twice", quoted(item.text)));
      is_good = false;
    } else {
      parts.push_back(found->second);
    }
  }
  if (is_good && parts.size() < 2)
    complain(reading, kExpectBounds, node.span, "'together' takes two parts or more");
  else if (is_good)
    reading.circuit.reels.push_back(std::move(parts));
}

void read_together(Reading& reading, const TomlEntry& entry) {
  if (!expect_type(reading, entry.value, Toml::array, "'together'")) return;
  std::set<int> taken;
  const bool is_nested =
      !entry.value.items.empty() && entry.value.items.front().type == Toml::array;
  if (!is_nested) return read_reel(reading, entry.value, taken);
  for (const TomlNode& item : entry.value.items)
    if (expect_type(reading, item, Toml::array, "a list in 'together'"))
      read_reel(reading, item, taken);
}

}  // namespace

void read_tolerances(Reading& reading, const TomlNode& table) {
  for (const TomlEntry& entry : table.entries) {
    if (entry.key == kTogether && !reading.part_index.contains(kTogether)) {
      read_together(reading, entry);
      continue;
    }
    const auto target = read_target(reading, entry);
    if (!target) continue;
    auto spreading = read_spreading(reading, entry.value, *target);
    if (spreading && check_states(reading, *spreading, *target))
      reading.circuit.spreadings.push_back(*std::move(spreading));
  }
}

}  // namespace benchproof
