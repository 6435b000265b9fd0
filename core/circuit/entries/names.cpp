#include "core/circuit/entries/names.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <utility>

#include "core/base/pieces.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/entries/usual_names.h"

namespace benchproof {

NearName near_part(Reading& reading, std::string_view name, const Span& span,
                   bool is_joined, const std::vector<std::string>& others) {
  if (reading.suggestions_left <= 0) return {};  // Looking takes time.
  const std::size_t slash = span.file != 0 ? name.rfind('/') : std::string_view::npos;
  const std::string scope(
      name.substr(0, slash == std::string_view::npos ? 0 : slash + 1));
  std::vector<std::string> candidates;
  const auto add = [&](const std::string& candidate) {
    if (!candidate.starts_with(scope)) return;
    std::string written = candidate.substr(scope.size());
    const bool is_inner = written.find('/') != std::string::npos;
    if (!is_inner || (!is_joined && scope.empty()))
      candidates.push_back(std::move(written));
  };
  for (const std::string& part : reading.part_names) add(part);
  for (const std::string& other : others) add(other);
  const std::string written(name.substr(scope.size()));
  // What a block holds comes again for each of its uses.
  const auto [known, is_new] =
      reading.nearest_names.emplace(std::tuple(span.file, span.begin, written), "");
  if (is_new && reading.suggestions_left-- > 0) {
    std::vector<std::string> ordered = candidates;
    if (is_joined)
      std::stable_partition(ordered.begin(), ordered.end(), [&](const auto& c) {
        return !reading.mentioned.contains(scope + c);
      });
    known->second = nearest(written, ordered);
  }
  const std::string& near = known->second;
  return {near.empty() ? std::string() : scope + near,
          names_hint(near, candidates, others.empty() ? "parts" : "names")};
}

void note_unknown(Reading& reading, std::string_view name, std::string_view pin,
                  const Span& span) {
  if (reading.unknown_names.size() < reading.limits.parts)
    reading.unknown_names.push_back({std::string(name), std::string(pin), span});
}

namespace {

/// A part's pin, written with another sign than a point between them: the part's name
/// and the pin's; nothing where no part of that name is.
std::optional<std::pair<std::string, std::string>> apart_by_other_sign(
    const Reading& reading, std::string_view text) {
  for (std::size_t at = 1; at + 1 < text.size(); ++at) {
    if (std::string_view(" :/,-_").find(text[at]) == std::string_view::npos) continue;
    const std::string name(text.substr(0, at));
    const std::string pin(text.substr(at + 1));
    const auto found = reading.part_index.find(name);
    if (found == reading.part_index.end()) continue;
    const Part& part = reading.circuit.parts[static_cast<std::size_t>(found->second)];
    if (pin_index(part, pin) >= 0 || !meant_pin(part, pin).empty())
      return std::pair{name, pin};
  }
  return std::nullopt;
}

/// Tells that there is no part of that name: what is meant by it, or likely is.
void tell_no_part(Reading& reading, std::string_view text, std::string_view name,
                  const Span& span) {
  const auto is_of = [&reading](const std::string& part) {
    const auto found = reading.part_index.find(part);
    if (found != reading.part_index.end())
      reading.notes[static_cast<std::size_t>(found->second)].has_pin_complaint = true;
  };
  if (const auto apart = apart_by_other_sign(reading, text)) {
    is_of(apart->first);
    return complain(reading, kPinMalformed, span,
                    fmt::format("{} names no pin", quoted(text)),
                    fmt::format("write \"{}.{}\"", apart->first, apart->second));
  }
  std::string hint;
  if (reading.net_index.contains(text) || means_ground(text)) {
    hint = fmt::format("{}; a net's list holds pins, such as \"{}\"",
                       means_ground(text) ? std::string(kGroundHint)
                                          : fmt::format("{} is a net", quoted(text)),
                       "lamp.anode");
  } else {
    NearName near = near_part(reading, name, span, true);
    is_of(near.name);
    hint = std::move(near.hint);
    if (near.name.empty() && name.size() < text.size())
      note_unknown(reading, name, text.substr(name.size() + 1), span);
  }
  complain(reading, kPartUnknown, span,
           fmt::format("there is no part {}", quoted(name)), std::move(hint));
}

}  // namespace

void tell_no_pin(Reading& reading, const Part& part, std::string_view pin,
                 const Span& span) {
  const std::string message =
      fmt::format("{} has no pin {}", quoted(part.name), quoted(pin));
  const std::string_view kind_name = kind(part.kind).name;
  if (const std::string_view meant = meant_pin(part, pin); !meant.empty())
    return complain(reading, kPinUnknown, span, message,
                    fmt::format("'{}' is '{}' here", pin, meant),
                    fmt::format("pins of a {} by another name", kind_name));
  const bool is_pole = pin == "plus" || pin == "minus" || pin == "+" || pin == "-";
  complain(
      reading, kPinUnknown, span, message,
      part.kind == KindId::capacitor && is_pole
          ? "its pins are plus and minus with polarised = true, else a and b"
          : suggestion(reading, pin, part.pins, "pins"),
      fmt::format("pin {} of a {} with {}", pin, kind_name, fmt::join(part.pins, " ")));
}

std::optional<PinRef> read_pin(Reading& reading, std::string_view text,
                               const Span& span) {
  const std::size_t dot = text.find('.');
  const std::string_view part_name = text.substr(0, dot);
  const auto found = reading.part_index.find(part_name);
  if (found == reading.part_index.end()) {
    tell_no_part(reading, text, part_name, span);
    return std::nullopt;
  }
  const auto index = static_cast<std::size_t>(found->second);
  const Part& part = reading.circuit.parts[index];
  if (!reading.notes[index].is_understood) return PinRef{found->second, -1};
  if (dot == std::string_view::npos) {
    complain(reading, kPinMalformed, span,
             fmt::format("{} is a part; which of its pins is meant?", quoted(text)),
             fmt::format("write \"{}.{}\"; pins: {}", text,
                         part.pins.empty() ? "pin" : part.pins.front(),
                         fmt::join(part.pins, ", ")),
             fmt::format("a {} in place of its pin", kind(part.kind).name));
    reading.notes[index].has_pin_complaint = true;
    return std::nullopt;
  }
  const std::string_view pin_name = text.substr(dot + 1);
  const int pin = pin_index(part, pin_name);
  if (pin < 0) {
    tell_no_pin(reading, part, pin_name, span);
    reading.notes[index].has_pin_complaint = true;
    return std::nullopt;
  }
  return PinRef{found->second, pin};
}

std::string nets_of_pins(const Reading& reading, const std::string& name) {
  const auto [written, pin] = split_at_dot(name);
  const auto found = reading.part_index.find(written);
  if (found == reading.part_index.end()) return "";
  const Part& part = reading.circuit.parts[static_cast<std::size_t>(found->second)];
  const std::string meant(pin.empty() ? std::string_view() : meant_pin(part, pin));
  std::vector<std::string> places;
  for (std::size_t k = 0; k < std::min(part.pins.size(), part.nets.size()); ++k) {
    if (!pin.empty() && part.pins[k] != meant) continue;
    if (part.nets[k] >= 0)
      places.push_back(fmt::format(
          "{}.{} is on the net '{}'", part.name, part.pins[k],
          reading.circuit.nets[static_cast<std::size_t>(part.nets[k])].name));
  }
  return fmt::format("{}", fmt::join(places, ", "));
}

int read_net_name(Reading& reading, const TomlEntry& entry) {
  const std::string& name = entry.value.text;
  const auto found = reading.net_index.find(name);
  if (found != reading.net_index.end()) return found->second;
  if (reading.has_unread_wiring) return -1;
  std::vector<std::string> names;
  for (const Net& net : reading.circuit.nets) names.push_back(net.name);
  std::string hint = nets_of_pins(reading, name);
  if (hint.empty())
    hint = means_ground(name) ? std::string(kGroundHint)
                              : suggestion(reading, name, names, "nets");
  complain(reading, kNetUnknown, entry.value.span,
           fmt::format("there is no net {}", quoted(name)), hint);
  return -1;
}

int read_state_index(Reading& reading, const TomlNode& name,
                     const std::vector<std::string>& others) {
  std::vector<std::string> names = others;
  for (std::size_t k = 0; k < reading.circuit.states.size(); ++k) {
    const std::string& known = reading.circuit.states[k].name;
    if (known == name.text) return static_cast<int>(k);
    names.push_back(known);
  }
  complain(reading, kStateUnknown, name.span,
           fmt::format("there is no state {}", quoted(name.text)),
           suggestion(reading, name.text, names, "states"));
  return -1;
}

}  // namespace benchproof
