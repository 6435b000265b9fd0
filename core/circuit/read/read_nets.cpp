#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <iterator>
#include <set>

#include "core/base/pieces.h"
#include "core/circuit/entries/names.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/entries/reserved_names.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/read/detail/steps.h"

namespace benchproof {
namespace {

/// Where a pin was first named: a net, or the list of open pins.
using Places = std::map<PinRef, std::string>;

std::string pin_text(const Reading& reading, PinRef pin) {
  const Part& part = reading.circuit.parts[static_cast<std::size_t>(pin.part)];
  return fmt::format("'{}.{}'", part.name,
                     part.pins[static_cast<std::size_t>(pin.pin)]);
}

/// The parts whose pins a text may name that is no list: they are not missed as well.
void forgive_pins(Reading& reading, std::string_view text) {
  for (std::size_t i = 0; i < reading.part_names.size(); ++i)
    if (text.find(reading.part_names[i] + ".") != std::string_view::npos)
      reading.notes[i].has_pin_complaint = true;
}

/// Reads the pins of a list; each may stand in one list only.
std::vector<PinRef> read_list(Reading& reading, const TomlEntry& entry,
                              Places& places) {
  std::vector<PinRef> pins;
  const std::string target = quoted(entry.key);
  if (!expect_type(reading, entry.value, TomlNode::Type::array, target,
                   R"(write a list: ["jack.plus", "lamp.anode"])")) {
    if (entry.value.type == TomlNode::Type::string)
      forgive_pins(reading, entry.value.text);
    else
      reading.has_unread_wiring = true;
    return pins;
  }
  for (const TomlNode& item : entry.value.items) {
    if (item.type != TomlNode::Type::string) {
      expect_type(reading, item, TomlNode::Type::string,
                  fmt::format("a pin of {}", target));
      continue;
    }
    const auto pin = read_pin(reading, item.text, item.span);
    if (!pin || pin->pin < 0) continue;
    const auto [place, is_new] = places.emplace(*pin, entry.key);
    if (is_new) {
      pins.push_back(*pin);
      continue;
    }
    const std::string where =
        place->second == kOpen ? std::string("is listed as open")
                               : fmt::format("stands on net {}", quoted(place->second));
    complain(reading, kPinTwice, item.span,
             fmt::format("{} {} already", pin_text(reading, *pin), where),
             "every pin stands once, on one net or in 'open'");
  }
  return pins;
}

std::vector<std::string> without(const std::vector<std::string>& names,
                                 const std::string& name) {
  std::vector<std::string> others;
  std::copy_if(names.begin(), names.end(), std::back_inserter(others),
               [&name](const std::string& other) { return other != name; });
  return others;
}

/// A net with a single pin.
struct Dangling {
  const TomlEntry* entry = nullptr;
  std::string pin;  ///< As it is written.
};

void read_net(Reading& reading, const TomlEntry& entry, Places& places,
              std::vector<Dangling>& dangling) {
  const auto index = static_cast<std::size_t>(reading.net_index.at(entry.key));
  if (index > 0) check_name(reading, entry.key, entry.key_span, "a net");
  Net& net = reading.circuit.nets[index];
  net.pins = read_list(reading, entry, places);
  for (const PinRef pin : net.pins) {
    Part& part = reading.circuit.parts[static_cast<std::size_t>(pin.part)];
    part.nets[static_cast<std::size_t>(pin.pin)] = static_cast<int>(index);
  }
  if (entry.value.type != TomlNode::Type::array) return;
  const std::vector<TomlNode>& items = entry.value.items;
  if (items.empty()) {
    complain(reading, kNetEmpty, entry.key_span,
             fmt::format("net {} has no pins", quoted(entry.key)));
  } else if (items.size() == 1) {
    dangling.push_back({&entry, items.front().text});
  }
}

/// Complains about nets with a single pin. Two that may mean each other are one
/// mistake.
void check_dangling(Reading& reading, const std::vector<Dangling>& dangling,
                    const std::vector<std::string>& names) {
  std::map<std::string, std::string> meant;  // Net by net.
  for (const auto& [entry, pin] : dangling) {
    std::vector<std::string> others;
    std::string near;
    if (reading.suggestions_left-- > 0) {
      others = without(names, entry->key);
      near = nearest(entry->key, others);
    }
    meant[entry->key] = near;
    const bool is_pair = meant.contains(near) && meant[near] == entry->key;
    complain(
        reading, kNetDangling, entry->key_span,
        fmt::format("only pin {} stands on net {}", quoted(pin), quoted(entry->key)),
        is_pair ? "" : names_hint(near, others, "other nets"),
        near.empty() ? ""
                     : fmt::format("{} or {}", std::min(near, entry->key),
                                   std::max(near, entry->key)));
  }
}

/// The pins of a part that stand nowhere.
std::vector<std::string> missing_pins(const Reading& reading, std::size_t index,
                                      const Places& places) {
  const Part& part = reading.circuit.parts[index];
  std::vector<std::string> missing;
  for (std::size_t pin = 0; pin < part.pins.size(); ++pin)
    if (!places.contains({static_cast<int>(index), static_cast<int>(pin)}))
      missing.push_back(part.pins[pin]);
  return missing;
}

/// The name of what holds a part, and its own: "quay1/" and "r".
std::pair<std::string_view, std::string_view> apart(std::string_view name) {
  const std::size_t slash = name.rfind('/');
  const std::size_t size = slash == std::string_view::npos ? 0 : slash + 1;
  return {name.substr(0, size), name.substr(size)};
}

/// Whether a part that stands nowhere, or one pin of it, may be meant by an unknown
/// name.
bool may_be_meant(const Part& part, const UnknownName& unknown,
                  const std::vector<std::string>& missing) {
  if (apart(part.name).first != apart(unknown.name).first) return false;
  if (unknown.pin.empty()) return part.pins.size() == 2 && missing.size() == 2;
  const auto is_missing = [&missing](std::string_view pin) {
    return std::find(missing.begin(), missing.end(), pin) != missing.end();
  };
  return is_missing(unknown.pin) || is_missing(meant_pin(part, unknown.pin));
}

/// Whether a name says which thing is meant, of many of a kind, and the part is none of
/// them: a hole "a12" of a breadboard is not 'wire1'.
bool is_of_another_series(std::string_view name, std::string_view part) {
  return name.size() > 1 && std::all_of(name.begin() + 1, name.end(), is_digit) &&
         !part.starts_with(name.front());
}

/// Adds to what is told of an unknown name which part is likely meant.
void tell_meant(Reading& reading, const UnknownName& unknown, const Part& part) {
  if (is_of_another_series(apart(unknown.name).second, apart(part.name).second)) return;
  const std::string advice =
      fmt::format("did you mean {}? ", quoted(apart(part.name).second));
  for (Diagnostic& diagnostic : reading.diagnostics)
    if ((diagnostic.id == kPathWord.name || diagnostic.id == kPartUnknown.name) &&
        diagnostic.span == unknown.span && !diagnostic.hint.starts_with(advice))
      diagnostic.hint.insert(0, advice);
}

/// An unknown name likely means a part that stands nowhere: then that is one mistake.
void match_unknown_names(Reading& reading, const Places& places) {
  if (reading.unknown_names.empty()) return;
  const std::vector<Part>& parts = reading.circuit.parts;
  std::vector<std::vector<std::string>> missing;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const PartNotes& notes = reading.notes[i];
    missing.push_back(notes.is_understood && !notes.has_pin_complaint
                          ? missing_pins(reading, i, places)
                          : std::vector<std::string>());
  }
  std::map<std::string, std::size_t, std::less<>> meant;
  std::set<std::size_t> taken;
  for (const UnknownName& unknown : reading.unknown_names) {
    const auto known = meant.find(unknown.name);
    for (std::size_t i = 0; i < parts.size(); ++i) {
      const bool is_free =
          known != meant.end() ? known->second == i : !taken.contains(i);
      if (!is_free || !may_be_meant(parts[i], unknown, missing[i])) continue;
      meant.emplace(unknown.name, i);
      taken.insert(i);
      tell_meant(reading, unknown, parts[i]);
      break;
    }
  }
  for (const std::size_t part : taken) reading.notes[part].has_pin_complaint = true;
}

/// What to do with pins of a part that stand nowhere; they are quoted in full.
std::string place_hint(const Part& part, const std::vector<std::string>& missing) {
  const std::string minus = fmt::format("{}.minus", part.name);
  const bool is_minus =
      is_source(part.kind) && missing.size() == 1 && missing.front() == quoted(minus);
  return is_minus ? fmt::format(
                        "most often it is the ground: in a path \"ground\", "
                        "\"{}\"; else put it on a net, or list it in 'open'",
                        minus)
                  : "put the pin on a net, or list it in 'open'";
}

/// Complains about pins that stand nowhere, once for each part, and about nets with a
/// single pin: one of each is likely the one mistake that the pin is not on that net.
void check_all_pins_placed(Reading& reading, const Places& places,
                           std::vector<Dangling> dangling,
                           const std::vector<std::string>& names) {
  constexpr std::size_t kMostListed = 8;
  if (reading.has_unread_wiring) return;
  match_unknown_names(reading, places);
  std::vector<std::pair<const Part*, std::vector<std::string>>> nowhere;
  for (std::size_t i = 0; i < reading.circuit.parts.size(); ++i) {
    if (!reading.notes[i].is_understood || reading.notes[i].has_pin_complaint) continue;
    std::vector<std::string> missing = missing_pins(reading, i, places);
    if (!missing.empty())
      nowhere.emplace_back(&reading.circuit.parts[i], std::move(missing));
  }
  const bool is_one =
      nowhere.size() == 1 && nowhere.front().second.size() == 1 && dangling.size() == 1;
  for (auto& [part, missing] : nowhere) {
    const std::size_t count = missing.size();
    missing.resize(std::min(count, kMostListed));
    for (std::string& pin : missing) pin = fmt::format("'{}.{}'", part->name, pin);
    complain(reading, kPinNowhere, part->span,
             fmt::format("{}{}{} on no net", fmt::join(missing, ", "),
                         count > kMostListed ? " and more" : "",
                         count == 1 ? " stands" : " stand"),
             is_one ? fmt::format("net {} has the single pin {}: is it meant to stand "
                                  "there?",
                                  quoted(dangling.front().entry->key),
                                  quoted(dangling.front().pin))
                    : place_hint(*part, missing));
  }
  if (is_one) dangling.clear();
  check_dangling(reading, dangling, names);
}

/// The net that is likely meant to be the ground, where none has that name; null where
/// none is.
const TomlEntry* meant_ground(Reading& reading, const std::vector<TomlEntry>& entries) {
  const auto found =
      std::find_if(entries.begin(), entries.end(), [](const TomlEntry& entry) {
        return entry.key != kOpen && means_ground(entry.key);
      });
  if (found != entries.end()) return &*found;
  std::vector<std::string> names;
  for (const TomlEntry& entry : entries)
    if (!reading.made_names.contains(entry.key)) names.push_back(entry.key);
  std::string near;
  if (reading.suggestions_left-- > 0) near = nearest(kGround, names);
  for (const TomlEntry& entry : entries)
    if (!near.empty() && entry.key == near) return &entry;
  return nullptr;
}

/// What to do where no net is called ground: with the first source's minus, for most
/// often that is meant.
std::string ground_advice(const Reading& reading, const TomlEntry& nets) {
  for (const Part& part : reading.circuit.parts) {
    if (!is_source(part.kind) || pin_index(part, "minus") < 0) continue;
    const std::string minus = fmt::format("{}.minus", part.name);
    for (const TomlEntry& net : nets.value.entries)
      for (const TomlNode& item : net.value.items)
        if (item.text == minus && net.key != kOpen &&
            !reading.made_names.contains(net.key))
          return fmt::format("call {}, where {} stands, 'ground': {}", quoted(net.key),
                             quoted(minus), kGroundHint);
    return fmt::format(
        "the net at {} is most often it: in a path \"ground\", \"{}\", in [nets] "
        "ground = [\"{}\", ...]",
        quoted(minus), minus, minus);
  }
  return "name the net that all voltages are measured against 'ground'";
}

/// The net that is the ground; complains where none has that name.
const TomlEntry* find_ground(Reading& reading, const TomlEntry& nets) {
  if (const TomlEntry* ground = find_entry(nets.value, kGround)) return ground;
  const TomlEntry* meant = meant_ground(reading, nets.value.entries);
  if (reading.has_unread_wiring) return meant;
  complain(reading, kGroundMissing, meant != nullptr ? meant->key_span : nets.key_span,
           "there is no net 'ground'",
           meant != nullptr
               ? fmt::format("call {} 'ground': {}", quoted(meant->key), kGroundHint)
               : ground_advice(reading, nets));
  return meant;
}

}  // namespace

void read_nets(Reading& reading, const TomlEntry& nets) {
  const std::vector<TomlEntry>& entries = nets.value.entries;
  std::vector<std::string> names;
  const TomlEntry* ground = find_ground(reading, nets);
  reading.circuit.nets.push_back({std::string(kGround), {}, nets.key_span});
  reading.net_index[std::string(kGround)] = 0;
  for (const TomlEntry& entry : entries) {
    if (entry.key == kOpen) continue;
    names.push_back(entry.key);
    if (&entry == ground) {
      reading.net_index[entry.key] = 0;
      reading.circuit.nets.front().span = entry.key_span;
      continue;
    }
    reading.net_index[entry.key] = static_cast<int>(reading.circuit.nets.size());
    reading.circuit.nets.push_back({entry.key, {}, entry.key_span});
  }
  Places places;
  std::vector<Dangling> dangling;
  for (const TomlEntry& entry : entries) {
    if (entry.key == kOpen) {
      (void)read_list(reading, entry, places);
    } else {
      read_net(reading, entry, places, dangling);
    }
  }
  check_all_pins_placed(reading, places, std::move(dangling), names);
}

}  // namespace benchproof
