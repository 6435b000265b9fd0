#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <set>
#include <vector>

#include "core/catalogue/other_names.h"
#include "core/catalogue/read/figure_order.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/entries/values.h"
#include "core/circuit/read/detail/part_reading.h"
#include "core/circuit/read/detail/steps.h"

namespace benchproof {
namespace {

/// Says of a given model which way round the device is, and whether it has a body
/// diode.
void complete_model(Part& part) {
  const auto found = part.settings.find("model");
  if (found == part.settings.end()) return;
  auto* device = std::get_if<DeviceModel>(&found->second.value);
  if (auto* bipolar = std::get_if<BipolarModel>(device)) {
    bipolar->is_pnp = word_of(part, "polarity") == "pnp";
  } else if (auto* mos = std::get_if<MosModel>(device)) {
    mos->is_p_channel = word_of(part, "channel") == "p";
    if (flag(part, "body", false)) mos->body = DiodeModel{};
  }
}

/// The pins of a part in the kind's order, outputs and inputs last. False after a
/// complaint about a name that stands twice.
bool name_pins(Reading& reading, const Kind& kind, Part& part) {
  part.pins = split_words(kind.pins);
  if (kind.id == KindId::capacitor && flag(part, "polarised", false))
    part.pins = {"plus", "minus"};
  const bool is_adjustable =
      flag(part, "adjustable", false) || word_of(part, "adjustable") == "yes";
  if (kind.id == KindId::regulator && is_adjustable)
    part.pins = {"in", "adjust", "out"};
  bool is_good = true;
  for (const std::string_view key : {"outputs", "inputs", "analogue"}) {
    const auto list = part.settings.find(key);
    if (list == part.settings.end()) continue;
    for (const std::string& name :
         std::get<std::vector<std::string>>(list->second.value)) {
      if (pin_index(part, name) >= 0) {
        complain(reading, kPinDuplicate, list->second.span,
                 fmt::format("{} has two pins {}", quoted(part.name), quoted(name)));
        is_good = false;
        continue;
      }
      part.pins.push_back(name);
    }
  }
  return is_good;
}

std::vector<std::string> kind_names() {
  std::vector<std::string> names;
  for (const Kind& kind : kinds()) names.emplace_back(kind.name);
  return names;
}

/// The kind that a part says it is, or likely means; null after a complaint that there
/// is none.
const Kind* read_kind(Reading& reading, const TomlEntry& entry, const Part& part) {
  const TomlEntry* kind_entry = find_entry(entry.value, "kind");
  if (kind_entry == nullptr) {
    complain(reading, kKeyMissing, part.span,
             fmt::format("{} has no 'kind'", quoted(part.name)),
             fmt::format("kinds: {}", fmt::join(kind_names(), ", ")), "no kind");
    return nullptr;
  }
  if (kind_entry->value.type != TomlNode::Type::string) {
    expect_type(reading, kind_entry->value, TomlNode::Type::string,
                fmt::format("'{}.kind'", entry.key));
    return nullptr;
  }
  const std::string& word = kind_entry->value.text;
  if (const Kind* kind = find_kind(word)) return kind;
  const std::vector<std::string> names = kind_names();
  const Kind* called = find_kind_called(word);
  for (const std::string& piece : split_words(word))
    if (called == nullptr) called = find_kind_called(piece);
  std::string near(called == nullptr ? "" : called->name);
  if (near.empty() && reading.suggestions_left-- > 0) near = nearest(word, names);
  complain(reading, kKindUnknown, kind_entry->value.span,
           fmt::format("there is no kind {}", quoted(word)),
           names_hint(near, names, "kinds", near.empty() ? names.size() : kMostListed));
  return find_kind(near);
}

void read_label(Reading& reading, const TomlNode& table, Part& part) {
  const TomlEntry* label = find_entry(table, "label");
  if (label == nullptr) return;
  const std::string target = fmt::format("'{}.label'", part.name);
  if (expect_type(reading, label->value, TomlNode::Type::string, target) &&
      check_text(reading, label->value.text, label->value.span, target))
    part.label = label->value.text;
}

/// Whether a key decides which pins a part has.
bool decides_pins(const Key& key) {
  return key.shape == Shape::names || key.name == "polarised" ||
         key.name == "adjustable";
}

/// The keys of a part, and what is meant by those that are none of its kind's;
/// complains of them, with what is likely wanted.
KnownKeys keys_of_part(Reading& reading, const Kind& kind, const TomlNode& table) {
  if (std::all_of(
          table.entries.begin(), table.entries.end(),
          [&kind](const TomlEntry& entry) { return is_key_name(kind, entry.key); }))
    return {&table};
  const bool is_lamp_of_class =
      kind.id == KindId::led &&
      (find_entry(table, "colour") != nullptr || find_entry(table, "type") != nullptr);
  bool tells_drop = false;
  KnownKeys keys =
      known_keys(reading, table, key_names(kind), fmt::format("kind '{}'", kind.name),
                 [&](std::string_view word) {
                   const std::string_view meant =
                       word == "voltage" ? "drop" : meant_key(kind, word);
                   if (!is_lamp_of_class || meant != "drop")
                     return meant_key(kind, word);
                   tells_drop = true;
                   return std::string_view();
                 });
  if (tells_drop)
    advise(reading, "the forward voltage comes with the colour or type: leave it out");
  if (!keys.has_stranger) return keys;
  if (std::any_of(table.entries.begin(), table.entries.end(), [&](const auto& item) {
        return find_key(kind, item.key) == nullptr && is_count(item.key);
      }))
    advise(reading,
           "each part has a line of its own, lamp1, lamp2 ...; of many alike make a "
           "block, and a line for each use ('benchproof words block')");
  if (kind.id == KindId::switch_)
    advise(reading, "where a switch stands is said by states: [states.on]");
  return keys;
}

/// Reads the values of a part. False when one is not understood that decides which pins
/// it has.
bool read_settings(Reading& reading, const Kind& kind,
                   const std::vector<GivenKey>& list, Part& part) {
  bool are_pins_known = true;
  for (const GivenKey& given : list) {
    const Key* key = find_key(kind, given.key);
    if (key == nullptr) continue;
    auto setting = read_setting(reading, kind.id, *key, given.value, given.target);
    if (!setting && decides_pins(*key)) are_pins_known = false;
    if (!setting) reading.misread_keys.emplace(part.name, given.key);
    if (setting) part.settings[given.key] = std::move(*setting);
  }
  return are_pins_known;
}

/// Reads one part. False when its pins are not known.
bool read_part(Reading& reading, const TomlEntry& entry, Part& part) {
  if (entry.value.type != TomlNode::Type::table)
    return expect_type(reading, entry.value, TomlNode::Type::table, quoted(entry.key),
                       R"(write { kind = "resistor", value = "470R" })");
  const Kind* kind = read_kind(reading, entry, part);
  if (kind == nullptr) return false;
  part.kind = kind->id;
  part.defaults = reading.catalogue.defaults(kind->id);
  const KnownKeys keys = keys_of_part(reading, *kind, entry.value);
  read_label(reading, keys.table(), part);
  const std::vector<GivenKey> list = given_keys(entry.key, keys.table());
  check_company(reading, *kind, part, list, keys.has_stranger);
  bool are_pins_known = read_settings(reading, *kind, list, part) &&
                        (kind->id != KindId::controller || !keys.has_stranger);
  find_type(reading, *kind, part);
  // A regulator of an unknown type may have either set of pins.
  if (kind->id == KindId::regulator && find_given(list, "type") && part.type == nullptr)
    are_pins_known = false;
  complete_model(part);
  check_twins(reading, part, list);
  if (!name_pins(reading, *kind, part)) are_pins_known = false;
  part.nets.assign(part.pins.size(), -1);
  if (are_pins_known) read_shape(reading, keys.table(), part);
  check_part(reading, part);
  return are_pins_known;
}

/// Of the complaints about a part, from `first` on, those go that were made of the same
/// part in another use of its block.
void drop_repeats(Reading& reading, std::set<Told>& known, std::size_t first) {
  std::vector<Told> added;
  const auto from = reading.diagnostics.begin() + static_cast<std::ptrdiff_t>(first);
  const auto rest =
      std::remove_if(from, reading.diagnostics.end(), [&](const Diagnostic& d) {
        if (d.span.file == 0) return false;
        added.push_back(told(d));
        return known.contains(added.back());
      });
  reading.diagnostics.erase(rest, reading.diagnostics.end());
  known.insert(added.begin(), added.end());
}

}  // namespace

void read_parts(Reading& reading, const TomlNode& table) {
  std::set<Told> known;
  for (const TomlEntry& entry : table.entries) {
    const bool is_named = check_name(reading, entry.key, entry.key_span, "a part");
    const std::size_t first = reading.diagnostics.size();
    Part part;
    part.name = entry.key;
    part.span = entry.key_span;
    const bool is_read = read_part(reading, entry, part);
    const auto index = static_cast<int>(reading.circuit.parts.size());
    if (part.kind == KindId::battery && part.type != nullptr)
      reading.circuit.charges[index] = batteries_by_charge(reading.catalogue, part);
    drop_repeats(reading, known, first);
    reading.part_index[part.name] = index;
    reading.part_names.push_back(part.name);
    reading.circuit.parts.push_back(std::move(part));
    reading.notes.push_back({.is_understood = is_named && is_read});
  }
}

}  // namespace benchproof
