#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <set>
#include <vector>

#include "core/catalogue/other_names.h"
#include "core/catalogue/read/figure_order.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/entries/usual_names.h"

namespace benchproof {
namespace {

/// One key of a part.
struct Given {
  std::string key;
  Span key_span;
  TomlNode value;
  std::string target;  ///< For messages: "'quay_r.value'".
};

/// The keys of a part but for those that every part has.
std::vector<Given> gather(std::string_view part, const TomlNode& table) {
  std::vector<Given> list;
  for (const TomlEntry& item : table.entries) {
    if (item.key == "kind" || item.key == "label" || item.key == "shape" ||
        item.key == "legs")
      continue;
    list.push_back(
        {item.key, item.key_span, item.value, fmt::format("'{}.{}'", part, item.key)});
  }
  return list;
}

const Given* find_given(const std::vector<Given>& list, std::string_view key) {
  const auto found = std::find_if(
      list.begin(), list.end(), [key](const Given& given) { return given.key == key; });
  return found == list.end() ? nullptr : &*found;
}

bool has_any(const std::vector<Given>& list, const std::vector<std::string>& keys) {
  return std::any_of(keys.begin(), keys.end(), [&list](const std::string& key) {
    return find_given(list, key) != nullptr;
  });
}

/// "'chemistry' and 'size'".
std::string both(const std::vector<std::string>& keys) {
  return fmt::format("'{}'", fmt::join(keys, "' and '"));
}

/// Tells the keys that a part needs and does not have.
void check_required(Reading& reading, const Kind& kind, const Part& part,
                    const std::vector<Given>& list, bool has_stranger) {
  std::vector<std::string> missing;
  std::vector<std::string> about;
  for (const std::string& key : split_words(kind.required)) {
    if (find_given(list, key) != nullptr) continue;
    missing.push_back(key);
    about.push_back(fmt::format("{}: {}", key, find_key(kind, key)->about));
    // Which value is wanted is what many do not know yet.
    if (kind.id == KindId::resistor && key == "value")
      about.back() +=
          "; to have it worked out put any, such as \"470R\", and ask 'benchproof "
          "size'";
  }
  if (missing.empty()) return;
  if (has_stranger)
    return advise(reading, fmt::format("a {} needs {}", kind.name, both(missing)));
  complain(reading, kKeyMissing, part.span,
           fmt::format("{} needs the key{} {}", quoted(part.name),
                       missing.size() > 1 ? "s" : "", both(missing)),
           fmt::format("{}", fmt::join(about, "; ")),
           fmt::format("{} without {}", kind.name, both(missing)));
}

/// Which keys must stand together, and which must not. `has_stranger`: one of the
/// part's keys means nothing that is known.
void check_company(Reading& reading, const Kind& kind, const Part& part,
                   const std::vector<Given>& list, bool has_stranger) {
  check_required(reading, kind, part, list, has_stranger);
  const std::vector<std::string> one_of = split_words(kind.one_of);
  const Given* first = nullptr;
  for (const Given& given : list) {
    if (std::find(one_of.begin(), one_of.end(), given.key) == one_of.end()) continue;
    if (first != nullptr)
      complain(reading, kKeyConflict, given.key_span,
               fmt::format("{} has both '{}' and '{}'", quoted(part.name), first->key,
                           given.key),
               fmt::format("give one of: {}", fmt::join(one_of, ", ")));
    if (first == nullptr) first = &given;
  }
  if (!one_of.empty() && first == nullptr) {
    if (has_stranger)
      advise(reading,
             fmt::format("a {} needs one of: {}", kind.name, fmt::join(one_of, ", ")));
    else
      complain(reading, kKeyMissing, part.span,
               fmt::format("{} does not say what it is", quoted(part.name)),
               fmt::format("give one of: {}", fmt::join(one_of, ", ")),
               fmt::format("{} that does not say what it is", kind.name));
  }

  for (const Key& key : kind.keys) {
    const Given* given = find_given(list, key.name);
    const std::vector<std::string> mates = split_words(key.only_with);
    if (given != nullptr && !mates.empty() && !has_any(list, mates) && !has_stranger)
      complain(reading, kKeyNeeds, given->key_span,
               fmt::format("'{}' of {} means nothing without '{}'", key.name,
                           quoted(part.name), fmt::join(mates, "' or '")),
               "", fmt::format("'{}' of a {} without its mate", key.name, kind.name));
    for (const std::string& mate : split_words(key.needed_with))
      if (const Given* other = find_given(list, mate);
          given == nullptr && other && !has_stranger)
        complain(reading, kKeyNeeds, other->key_span,
                 fmt::format("'{}' of {} needs '{}' beside it", mate, quoted(part.name),
                             key.name),
                 fmt::format("{}: {}", key.name, key.about),
                 fmt::format("'{}' of a {} without '{}'", mate, kind.name, key.name));
  }
  if (kind.id == KindId::controller && !has_stranger &&
      !has_any(list, {"outputs", "inputs", "analogue"}))
    complain(reading, kKeyMissing, part.span,
             fmt::format("{} has neither outputs nor inputs", quoted(part.name)),
             "list the pins' names: outputs = [\"lamp\"]");
}

const std::string* given_text(const Part& part, std::string_view key) {
  const auto found = part.settings.find(key);
  return found == part.settings.end() ? nullptr
                                      : std::get_if<std::string>(&found->second.value);
}

const Span& span_of(const Part& part, std::string_view key) {
  const auto found = part.settings.find(key);
  return found == part.settings.end() ? part.span : found->second.span;
}

/// What to say of a word that is none of the known ones: the nearest, or one that the
/// text holds besides others, as where a shop's title is copied.
std::string word_hint(Reading& reading, const std::string& text,
                      const std::vector<std::string>& known, std::string_view what,
                      std::size_t most = kMostListed) {
  std::string near;
  if (reading.suggestions_left-- > 0) {
    near = nearest(text, known);
    if (near.empty()) near = held_word(text, known);
  }
  return names_hint(near, known, what, most);
}

/// What to say of a type that the catalogue does not have.
std::string type_hint(Reading& reading, const Kind& kind, const std::string& name) {
  for (const std::string_view key : {"colour", "chemistry"}) {
    if (find_key(kind, key) == nullptr) continue;
    const std::string word = same_word(name, reading.catalogue.words(kind.id, key));
    if (!word.empty()) return fmt::format("write {} = \"{}\"", key, word);
  }
  return word_hint(reading, name, reading.catalogue.names(kind.id), "types");
}

/// Looks up the type that a part names, and puts the catalogue's name of it in place of
/// the part's.
void find_type(Reading& reading, const Kind& kind, Part& part) {
  const std::string* name = given_text(part, "type");
  if (name == nullptr) return;
  part.type = find_called(reading.catalogue, kind.id, *name);
  if (part.type != nullptr) {
    part.settings.find("type")->second.value = part.type->name;
    return;
  }
  complain(reading, kTypeUnknown, span_of(part, "type"),
           fmt::format("the catalogue has no {} {}", kind.name, quoted(*name)),
           type_hint(reading, kind, *name));
}

/// Looks up the class of parts that a part's words name: an LED's colour and size, a
/// battery's chemistry and size.
void find_type_by_words(Reading& reading, const Kind& kind, Part& part,
                        const std::vector<std::string>& keys) {
  std::map<std::string, std::string, std::less<>> words;
  for (const std::string& key : keys) {
    const std::string* text = given_text(part, key);
    if (text == nullptr) continue;
    const std::vector<std::string> known = reading.catalogue.words(kind.id, key);
    if (const std::string same = same_word(*text, known); !same.empty()) {
      words[key] = same;
      part.settings.find(key)->second.value = same;
      continue;
    }
    complain(
        reading, kTypeUnknown, span_of(part, key),
        fmt::format("the catalogue has no {} of {} {}", kind.name, key, quoted(*text)),
        word_hint(reading, *text, known, key, known.size()));
    return;
  }
  if (!words.contains(keys.front())) return;
  if (kind.id == KindId::battery && words.size() < keys.size()) return;
  part.type = kind.id == KindId::battery
                  ? find_battery(reading.catalogue, part)
                  : reading.catalogue.find_by_words(kind.id, words);
  if (part.type != nullptr) return;
  std::string wanted;
  for (const auto& [key, text] : words)
    wanted += fmt::format("{}{} {}", wanted.empty() ? "" : " and ", key, quoted(text));
  complain(reading, kTypeUnknown, span_of(part, keys.front()),
           fmt::format("the catalogue has no {} of {}", kind.name, wanted));
}

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

/// A parameter of a model that says the same as a key of the part.
struct Twin {
  KindId kind;
  std::string_view parameter;
  std::string_view key;
};
constexpr std::array kTwins = {
    Twin{KindId::diode, "cjo", "junction_capacitance"},
    Twin{KindId::zener, "cjo", "junction_capacitance"},
    Twin{KindId::led, "cjo", "junction_capacitance"},
    Twin{KindId::transistor, "cje", "emitter_capacitance"},
    Twin{KindId::transistor, "cjc", "collector_capacitance"},
    Twin{KindId::mosfet, "cgs", "input_capacitance"},
    Twin{KindId::mosfet, "cgd", "reverse_capacitance"},
    Twin{KindId::mosfet, "cds", "output_capacitance"},
};

/// Refuses a capacitance that the part's model tells already.
void check_twins(Reading& reading, const Part& part, const std::vector<Given>& list) {
  const Given* model = find_given(list, "model");
  if (model == nullptr || model->value.type != TomlNode::Type::table) return;
  for (const Twin& twin : kTwins) {
    const Given* given = find_given(list, twin.key);
    if (twin.kind != part.kind || given == nullptr ||
        find_entry(model->value, twin.parameter) == nullptr)
      continue;
    complain(reading, kKeyConflict, given->key_span,
             fmt::format("{} has both '{}' and the '{}' of its model",
                         quoted(part.name), twin.key, twin.parameter),
             "give one of them");
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

/// The kind that a part says it is, or likely means; null after a complaint that there
/// is none.
const Kind* read_kind(Reading& reading, const TomlEntry& entry, const Part& part) {
  const TomlEntry* kind_entry = find_entry(entry.value, "kind");
  std::vector<std::string> names;
  for (const Kind& kind : kinds()) names.emplace_back(kind.name);
  if (kind_entry == nullptr) {
    complain(reading, kKeyMissing, part.span,
             fmt::format("{} has no 'kind'", quoted(part.name)),
             fmt::format("kinds: {}", fmt::join(names, ", ")), "no kind");
    return nullptr;
  }
  if (!expect_type(reading, kind_entry->value, TomlNode::Type::string,
                   fmt::format("'{}.kind'", entry.key)))
    return nullptr;
  const std::string& word = kind_entry->value.text;
  if (const Kind* kind = find_kind(word)) return kind;
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
  const std::string target = fmt::format("'{}.label'", part.name);
  if (label != nullptr &&
      expect_type(reading, label->value, TomlNode::Type::string, target) &&
      check_text(reading, label->value.text, label->value.span, target))
    part.label = label->value.text;
}

/// Whether a key decides which pins a part has.
bool decides_pins(const Key& key) {
  return key.shape == Shape::names || key.name == "polarised" ||
         key.name == "adjustable";
}

/// Reads one part. False when its pins are not known.
bool read_part(Reading& reading, const TomlEntry& entry, Part& part) {
  if (!expect_type(reading, entry.value, TomlNode::Type::table, quoted(entry.key),
                   R"(write { kind = "resistor", value = "470R" })"))
    return false;
  const Kind* kind = read_kind(reading, entry, part);
  if (kind == nullptr) return false;
  part.kind = kind->id;
  part.defaults = reading.catalogue.defaults(kind->id);
  const bool is_lamp_of_class =
      kind->id == KindId::led && (find_entry(entry.value, "colour") != nullptr ||
                                  find_entry(entry.value, "type") != nullptr);
  bool tells_drop = false;
  const KnownKeys keys =
      known_keys(reading, entry.value, key_names(*kind),
                 fmt::format("kind '{}'", kind->name), [&](std::string_view word) {
                   const std::string_view meant =
                       word == "voltage" ? "drop" : meant_key(*kind, word);
                   if (!is_lamp_of_class || meant != "drop")
                     return meant_key(*kind, word);
                   tells_drop = true;
                   return std::string_view();
                 });
  if (tells_drop)
    advise(reading, "the forward voltage comes with the colour or type: leave it out");
  const bool has_count =
      keys.has_stranger &&
      std::any_of(entry.value.entries.begin(), entry.value.entries.end(),
                  [&](const auto& item) {
                    return find_key(*kind, item.key) == nullptr && is_count(item.key);
                  });
  if (has_count)
    advise(reading,
           "each part has a line of its own, lamp1, lamp2 ...; of many alike make a "
           "block, and a line for each use ('benchproof words block')");
  if (kind->id == KindId::switch_ && keys.has_stranger)
    advise(reading, "where a switch stands is said by states: [states.on]");
  read_label(reading, keys.table(), part);
  const std::vector<Given> list = gather(entry.key, keys.table());
  check_company(reading, *kind, part, list, keys.has_stranger);
  bool are_pins_known = kind->id != KindId::controller || !keys.has_stranger;
  for (const Given& given : list) {
    const Key* key = find_key(*kind, given.key);
    if (key == nullptr) continue;
    auto setting = read_setting(reading, kind->id, *key, given.value, given.target);
    if (!setting && decides_pins(*key)) are_pins_known = false;
    if (!setting) reading.misread_keys.emplace(part.name, given.key);
    if (setting) part.settings[given.key] = std::move(*setting);
  }
  find_type(reading, *kind, part);
  if (kind->id == KindId::led)
    find_type_by_words(reading, *kind, part, {"colour", "size"});
  if (kind->id == KindId::battery)
    find_type_by_words(reading, *kind, part, {"chemistry", "size"});
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

void refuse_above_60_volts(Reading& reading, double volts, const Span& span,
                           std::string_view what) {
  if (volts <= kMostSupplyVolts) return;
  complain(reading, kSupplyVoltage, span,
           fmt::format("{} is {}, above {}", what, format_quantity(volts, Unit::volt),
                       format_quantity(kMostSupplyVolts, Unit::volt, 2)),
           "this is for extra-low voltage only; above it, licensed practice and local "
           "codes come first");
}

void check_supply(Reading& reading, const Part& part) {
  const std::string name = quoted(part.name);
  const auto voltage = figure(part, "voltage");
  const auto no_load = figure(part, "no_load");
  const bool is_regulated = flag(part, "regulated", true);
  if (voltage)
    refuse_above_60_volts(reading, voltage->value, span_of(part, "voltage"),
                          fmt::format("the voltage of {}", name));
  if (!flag(part, "isolated", true))
    complain(reading, kSupplyMains, span_of(part, "isolated"),
             fmt::format("{} is not isolated from the mains", name),
             "touching any part of such a circuit can kill; use an isolated supply");
  if (is_regulated && no_load) {
    complain(reading, kSupplyNoLoad, span_of(part, "no_load"),
             fmt::format(
                 "{} is regulated, so it has no voltage of its own without load", name),
             "leave out 'no_load', or say regulated = false");
  } else if (!is_regulated && (!no_load || !figure(part, "current"))) {
    complain(reading, kSupplyNoLoad, span_of(part, "regulated"),
             fmt::format("{} is unregulated and needs 'no_load' and 'current'", name),
             "they give its source resistance: (no_load - voltage) / current");
  } else if (!is_regulated && voltage && no_load->value <= voltage->value) {
    complain(reading, kSupplyNoLoad, span_of(part, "no_load"),
             fmt::format("{} without load gives {}, not more than the {} at full load",
                         name, format_quantity(no_load->value, Unit::volt),
                         format_quantity(voltage->value, Unit::volt)));
  } else if (!is_regulated) {
    refuse_above_60_volts(reading, no_load->value, span_of(part, "no_load"),
                          fmt::format("the no-load voltage of {}", name));
  }
}

/// Where the last of the two keys stands that the part is given: a state's own stands
/// behind the part's.
const Span& later_span(const Part& part, std::string_view key, std::string_view other) {
  if (!part.settings.contains(key)) return span_of(part, other);
  const Span& first = span_of(part, key);
  const Span& second = span_of(part, other);
  if (!part.settings.contains(other) || first.in_change) return first;
  return second.in_change || second.begin > first.begin ? second : first;
}

/// Refuses figures that contradict each other, where the description gives one of them.
const Type* find_battery(const Catalogue& catalogue, const Part& part,
                         const std::string& charge) {
  return catalogue.find_by_words(KindId::battery,
                                 {{"chemistry", word_of(part, "chemistry")},
                                  {"size", word_of(part, "size")},
                                  {"charge", charge}});
}

void check_orders(Reading& reading, const Part& part) {
  for (const FigureOrder& order : figure_orders()) {
    if (order.kind != part.kind) continue;
    auto problem = order_problem(order, part.name, figure(part, order.key),
                                 figure(part, order.other));
    if (!problem) continue;
    complain(reading, kFigureOrder, later_span(part, order.key, order.other),
             std::move(problem->message), std::move(problem->hint));
  }
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

const Type* find_battery(const Catalogue& catalogue, const Part& part) {
  const std::string* charge = given_text(part, "charge");
  return find_battery(catalogue, part, charge != nullptr ? *charge : "fresh");
}

void check_part(Reading& reading, const Part& part) {
  if (part.kind == KindId::dc_supply) check_supply(reading, part);
  check_orders(reading, part);
  if (part.kind == KindId::battery) {
    const auto volts = figure(part, "open_circuit");
    const auto cells = figure(part, "cells");
    if (volts)
      refuse_above_60_volts(reading, volts->value * (cells ? cells->value : 1.0),
                            span_of(part, "cells"),
                            fmt::format("the voltage of {}", quoted(part.name)));
  }
}

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
    if (part.kind == KindId::battery && part.type != nullptr) {
      for (const char* charge : {"fresh", "half", "spent"})
        reading.circuit.charges[index][charge] =
            find_battery(reading.catalogue, part, charge);
    }
    drop_repeats(reading, known, first);
    reading.part_index[part.name] = index;
    reading.part_names.push_back(part.name);
    reading.circuit.parts.push_back(std::move(part));
    reading.notes.push_back({.is_understood = is_named && is_read});
  }
}

}  // namespace benchproof
