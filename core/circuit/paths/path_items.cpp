#include "core/circuit/paths/detail/path_items.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <optional>
#include <vector>

#include "core/circuit/entries/names.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/paths/detail/scopes.h"

namespace benchproof {
namespace {

constexpr std::size_t kMostNameShown = 30;

/// The node of a pin of a block's use, as of the net within the block.
int node_of_use(Joining& joining, const std::string& use, const std::string& pin,
                const Span& span) {
  const std::string inner = fmt::format("{}/{}", use, pin);
  joining.mentioned.insert(inner);
  return joining.graph.net(inner, span);
}

/// Tells that a path has to say at which of its pins it passes a thing.
void refuse_bare(Reading& reading, const TomlNode& item, const std::string& word,
                 const std::vector<std::string>& pins) {
  complain(reading, kPinMalformed, item.span,
           fmt::format("{} has {} {}, so a path has to say at which", quoted(word),
                       pins.size(), pins.size() == 1 ? "pin" : "pins"),
           fmt::format("pins: {}", fmt::join(pins, ", ")));
}

/// A part by itself, which has to have two pins.
PathItem bare_part(Joining& joining, const TomlNode& item, const std::string& word) {
  const int index = joining.reading.part_index.find(word)->second;
  const auto at = static_cast<std::size_t>(index);
  const Part& part = joining.reading.circuit.parts[at];
  PartNotes& notes = joining.reading.notes[at];
  if (!notes.is_understood) return {};
  if (part.pins.size() != 2) {
    notes.has_pin_complaint = true;
    refuse_bare(joining.reading, item, word, part.pins);
    return {};
  }
  joining.passed.emplace_back(index, item.span);
  const int enters = pin_node(joining, {index, 0}, item.span);
  return {enters, pin_node(joining, {index, 1}, item.span), false, true, word};
}

/// A block by itself, which has to have two pins.
PathItem bare_use(Joining& joining, const TomlNode& item, const std::string& word) {
  const Use& use = joining.reading.uses.find(word)->second;
  if (!use.is_understood) return {};
  if (use.pins.size() != 2) {
    joining.misread.insert(word);
    refuse_bare(joining.reading, item, word, use.pins);
    return {};
  }
  const int enters = node_of_use(joining, word, use.pins[0], item.span);
  return {enters, node_of_use(joining, word, use.pins[1], item.span), false, true,
          word};
}

PathItem net_item(Joining& joining, const TomlNode& item, const std::string& name,
                  std::string_view scope) {
  const bool is_inner = !scope.empty() && name.starts_with(scope);
  if (!check_name(joining.reading, is_inner ? name.substr(scope.size()) : name,
                  item.span, "a net"))
    return {};
  if (is_inner) joining.reading.made_names.insert(name);
  const int node = joining.graph.net(name, item.span);
  return {node, node, false, false, name};
}

/// A pin that is written without its dot: "adapter +", "adapter-".
std::optional<PathItem> undotted_pin(Joining& joining, const TomlNode& item,
                                     const std::string& word) {
  Reading& reading = joining.reading;
  const std::size_t blank = word.rfind(' ');
  const std::size_t sign = word.find_last_not_of("+-");
  const std::size_t cut = blank != std::string::npos ? blank + 1 : sign + 1;
  const std::string owner = word.substr(0, blank != std::string::npos ? blank : cut);
  const auto found = reading.part_index.find(owner);
  if (cut >= word.size() || found == reading.part_index.end()) return std::nullopt;
  const auto index = static_cast<std::size_t>(found->second);
  if (!reading.notes[index].is_understood) return PathItem{};
  const Part& part = reading.circuit.parts[index];
  const std::string name(meant_pin(part, word.substr(cut)));
  if (name.empty()) return std::nullopt;
  complain(reading, kPinMalformed, item.span,
           fmt::format("{} is no part and no net", quoted(word)),
           fmt::format("a pin is written with a dot: '{}.{}'", owner, name),
           "a pin without its dot");
  reading.guessed.push_back(item.span);
  const int node = pin_node(joining, {found->second, pin_index(part, name)}, item.span);
  return PathItem{node, node, true, false, owner};
}

/// What a word of a path may name besides a part: a block's use, or a net.
std::vector<std::string> other_words(const Joining& joining, const std::string& word,
                                     std::string_view scope) {
  if (joining.reading.suggestions_left <= 0) return {};
  std::vector<std::string> names;
  if (!scope.empty()) names.push_back(fmt::format("{}{}", scope, kGround));
  for (const auto& [name, use] : joining.reading.uses) names.push_back(name);
  for (const auto& [name, places] : joining.standing)
    if (places >= 2 && name != word && !joining.reading.part_index.contains(name))
      names.push_back(name);
  return names;
}

/// A word that is another name for the zero ("GND").
PathItem other_ground(Joining& joining, const TomlNode& item, std::string_view written,
                      std::string message) {
  const bool has_ground = joining.standing.at(std::string(kGround)) > 2;
  complain(joining.reading, has_ground ? kPathWord : kGroundMissing, item.span,
           has_ground ? std::move(message) : "there is no net 'ground'",
           fmt::format("call {} 'ground': {}", quoted(written), kGroundHint));
  return net_item(joining, text_node(std::string(kGround), item.span),
                  std::string(kGround), {});
}

/// A word of a path that names nothing, as what is likely meant by it.
PathItem unknown_word(Joining& joining, const TomlNode& item, const std::string& word,
                      std::string_view scope) {
  Reading& reading = joining.reading;
  std::string message =
      fmt::format("{} is no part, and stands nowhere else as a net", quoted(word));
  const std::string_view written = std::string_view(word).substr(scope.size());
  if (means_ground(written))
    return other_ground(joining, item, written, std::move(message));
  const NearName near =
      near_part(reading, word, item.span, true, other_words(joining, word, scope));
  if (near.name.empty() && reading.has_unread_wiring) return {};
  if (near.name.empty()) note_unknown(reading, word, "", item.span);
  complain(reading, kPathWord, item.span, std::move(message),
           fmt::format("{}; a net that is named here only is written 'net:{}'",
                       near.hint, printable(written.substr(0, kMostNameShown))));
  reading.guessed.push_back(item.span);
  if (near.name.empty()) return {};
  if (const auto part = reading.part_index.find(near.name);
      part != reading.part_index.end()) {
    reading.notes[static_cast<std::size_t>(part->second)].has_pin_complaint = true;
  } else if (reading.uses.contains(near.name)) {
    joining.misread.insert(near.name);
  } else {
    return net_item(joining, item, near.name, scope);
  }
  return {};
}

/// A word without a dot: a part, a block, or a net.
PathItem word_item(Joining& joining, const TomlNode& item, const std::string& word,
                   std::string_view scope) {
  if (joining.reading.part_index.contains(word)) return bare_part(joining, item, word);
  if (joining.reading.uses.contains(word)) return bare_use(joining, item, word);
  const auto stands = joining.standing.find(whole_name(word));
  if (stands != joining.standing.end() && stands->second >= 2)
    return net_item(joining, item, word, scope);
  if (auto meant = undotted_pin(joining, item, word)) return *std::move(meant);
  return unknown_word(joining, item, word, scope);
}

}  // namespace

int pin_node(Joining& joining, PinRef ref, const Span& span) {
  const Part& part = joining.reading.circuit.parts[static_cast<std::size_t>(ref.part)];
  return joining.graph.pin(ref, part, span);
}

PathItem pin_of_use(Joining& joining, const TomlNode& item, const std::string& use_name,
                    const std::string& pin) {
  const Use& use = joining.reading.uses.find(use_name)->second;
  if (!use.is_understood) return {};
  if (item.text.size() == use_name.size()) {
    joining.misread.insert(use_name);
    complain(
        joining.reading, kPinMalformed, item.span,
        fmt::format("{} is a block; which of its pins is meant?", quoted(use_name)),
        fmt::format("pins: {}", fmt::join(use.pins, ", ")));
    return {};
  }
  if (std::find(use.pins.begin(), use.pins.end(), pin) == use.pins.end()) {
    joining.misread.insert(use_name);
    complain(joining.reading, kPinUnknown, item.span,
             fmt::format("{} has no pin {}", quoted(use_name), quoted(pin)),
             suggestion(joining.reading, pin, use.pins, "pins"));
    return {};
  }
  const int node = node_of_use(joining, use_name, pin, item.span);
  return {node, node, true, false, use_name};
}

bool is_inside(Joining& joining, const TomlNode& item, std::string_view scope) {
  std::string_view text = item.text;
  if (text.starts_with(kNetMark)) text.remove_prefix(kNetMark.size());
  if (text.starts_with(scope)) text.remove_prefix(scope.size());
  const std::size_t slash = text.substr(0, text.find('.')).find('/');
  if (slash == std::string_view::npos) return false;
  const auto use =
      joining.reading.uses.find(fmt::format("{}{}", scope, text.substr(0, slash)));
  if (use == joining.reading.uses.end()) return false;
  complain(joining.reading, kBlockInside, item.span,
           fmt::format("{} is inside of block {}", quoted(text), quoted(use->first)),
           fmt::format("from outside only its pins are joined: {}",
                       fmt::join(use->second.pins, ", ")));
  return true;
}

PathItem path_item(Joining& joining, const TomlNode& item, std::string_view scope) {
  const std::string& text = item.text;
  if (is_inside(joining, item, scope)) return {};
  if (text.starts_with(kNetMark))
    return net_item(joining, item, text.substr(kNetMark.size()), scope);
  const std::size_t dot = text.find('.');
  if (dot == std::string::npos) return word_item(joining, item, text, scope);
  const std::string owner = text.substr(0, dot);
  if (joining.reading.uses.contains(owner))
    return pin_of_use(joining, item, owner, text.substr(dot + 1));
  const auto ref = read_pin(joining.reading, text, item.span);
  if (!ref || ref->pin < 0) return {};
  const int node = pin_node(joining, *ref, item.span);
  return {node, node, true, false, owner};
}

}  // namespace benchproof
