#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <iterator>

#include "core/circuit/read/detail/reading.h"

namespace benchproof {
namespace {

/// Where a pin was first named: a net, or the list of open pins.
using Places = std::map<PinRef, std::string>;

std::string pin_text(const Reading& reading, PinRef pin) {
  const Part& part = reading.circuit.parts[static_cast<std::size_t>(pin.part)];
  return fmt::format("'{}.{}'", part.name,
                     part.pins[static_cast<std::size_t>(pin.pin)]);
}

/// Reads the pins of a list; each may stand in one list only.
std::vector<PinRef> read_list(Reading& reading, const TomlEntry& entry,
                              Places& places) {
  std::vector<PinRef> pins;
  const std::string target = quoted(entry.key);
  if (!expect_type(reading, entry.value, TomlNode::Type::array, target)) return pins;
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

void read_net(Reading& reading, const TomlEntry& entry, Places& places,
              const std::vector<std::string>& names) {
  check_name(reading, entry.key, entry.key_span, "a net");
  const auto index = static_cast<std::size_t>(reading.net_index.at(entry.key));
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
    std::vector<std::string> others;
    if (reading.suggestions_left > 0) others = without(names, entry.key);
    complain(reading, kNetDangling, entry.key_span,
             fmt::format("only pin {} stands on net {}", quoted(items.front().text),
                         quoted(entry.key)),
             suggestion(reading, entry.key, others, "other nets"));
  }
}

/// Complains about pins that stand nowhere, once for each part.
void check_all_pins_placed(Reading& reading, const Places& places) {
  constexpr std::size_t kMostListed = 8;
  for (std::size_t i = 0; i < reading.circuit.parts.size(); ++i) {
    const Part& part = reading.circuit.parts[i];
    if (!reading.notes[i].is_understood || reading.notes[i].has_pin_complaint) continue;
    std::vector<std::string> missing;
    std::size_t count = 0;
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
      const PinRef ref{static_cast<int>(i), static_cast<int>(pin)};
      if (places.contains(ref)) continue;
      if (++count <= kMostListed) missing.push_back(pin_text(reading, ref));
    }
    if (count == 0) continue;
    complain(reading, kPinNowhere, part.span,
             fmt::format("{}{}{} on no net", fmt::join(missing, ", "),
                         count > kMostListed ? " and more" : "",
                         count == 1 ? " stands" : " stand"),
             "put the pin on a net, or list it in 'open'");
  }
}

}  // namespace

void read_nets(Reading& reading, const TomlEntry& nets) {
  const std::vector<TomlEntry>& entries = nets.value.entries;
  std::vector<std::string> names;
  const bool has_ground = find_entry(nets.value, kGround) != nullptr;
  reading.circuit.nets.push_back({std::string(kGround), {}, nets.key_span});
  reading.net_index[std::string(kGround)] = 0;
  for (const TomlEntry& entry : entries) {
    if (entry.key == kOpen) continue;
    names.push_back(entry.key);
    if (entry.key == kGround) {
      reading.circuit.nets.front().span = entry.key_span;
      continue;
    }
    reading.net_index[entry.key] = static_cast<int>(reading.circuit.nets.size());
    reading.circuit.nets.push_back({entry.key, {}, entry.key_span});
  }
  if (!has_ground)
    complain(reading, kGroundMissing, nets.key_span, "there is no net 'ground'",
             "name the net that all voltages are measured against 'ground'");

  Places places;
  for (const TomlEntry& entry : entries) {
    if (entry.key == kOpen) {
      (void)read_list(reading, entry, places);
    } else {
      read_net(reading, entry, places, names);
    }
  }
  check_all_pins_placed(reading, places);
}

}  // namespace benchproof
