#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <iterator>

#include "core/circuit/read/detail/reading.h"
#include "core/circuit/read/detail/usual_names.h"

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
    forgive_pins(reading, entry.value.text);
    return pins;
  }
  for (const TomlNode& item : entry.value.items) {
    if (!expect_type(reading, item, TomlNode::Type::string,
                     fmt::format("a pin of {}", target)))
      continue;
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
  for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
    const PinRef ref{static_cast<int>(index), static_cast<int>(pin)};
    if (!places.contains(ref)) missing.push_back(pin_text(reading, ref));
  }
  return missing;
}

/// Complains about pins that stand nowhere, once for each part, and about nets with a
/// single pin: one of each is likely the one mistake that the pin is not on that net.
void check_all_pins_placed(Reading& reading, const Places& places,
                           std::vector<Dangling> dangling,
                           const std::vector<std::string>& names) {
  constexpr std::size_t kMostListed = 8;
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
    complain(reading, kPinNowhere, part->span,
             fmt::format("{}{}{} on no net", fmt::join(missing, ", "),
                         count > kMostListed ? " and more" : "",
                         count == 1 ? " stands" : " stand"),
             is_one ? fmt::format("net {} has the single pin {}: is it meant to stand "
                                  "there?",
                                  quoted(dangling.front().entry->key),
                                  quoted(dangling.front().pin))
                    : "put the pin on a net, or list it in 'open'");
  }
  if (is_one) dangling.clear();
  check_dangling(reading, dangling, names);
}

/// The net that is likely meant to be the ground, where none has that name; null where
/// none is.
const TomlEntry* meant_ground(const std::vector<TomlEntry>& entries) {
  const auto found =
      std::find_if(entries.begin(), entries.end(), [](const TomlEntry& entry) {
        return entry.key != kOpen && means_ground(entry.key);
      });
  return found == entries.end() ? nullptr : &*found;
}

/// The net that is the ground; complains where none has that name.
const TomlEntry* find_ground(Reading& reading, const TomlEntry& nets) {
  if (const TomlEntry* ground = find_entry(nets.value, kGround)) return ground;
  const TomlEntry* meant = meant_ground(nets.value.entries);
  complain(reading, kGroundMissing, meant != nullptr ? meant->key_span : nets.key_span,
           "there is no net 'ground'",
           meant != nullptr
               ? fmt::format("call {} 'ground': {}", quoted(meant->key), kGroundHint)
               : "name the net that all voltages are measured against 'ground': most "
                 "often that of the supply's minus");
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
