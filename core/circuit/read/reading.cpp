#include "core/circuit/read/detail/reading.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <utility>

namespace benchproof {
namespace {

bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

bool is_name(std::string_view text, std::size_t most) {
  return !text.empty() && text.size() <= most && is_letter(text.front()) &&
         std::all_of(text.begin(), text.end(), [](char c) {
           return is_letter(c) || (c >= '0' && c <= '9') || c == '_' || c == '-';
         });
}

}  // namespace

void complain(Reading& reading, const DiagnosticId& id, const Span& span,
              std::string message, std::string hint) {
  reading.diagnostics.push_back(
      {std::string(id.name), span, std::move(message), std::move(hint)});
}

std::string suggestion(Reading& reading, std::string_view name,
                       const std::vector<std::string>& candidates,
                       std::string_view what, std::size_t most) {
  return suggestion(reading.suggestions_left, name, candidates, what, most);
}

bool check_name(Reading& reading, std::string_view name, const Span& span,
                std::string_view what) {
  if (reading.made_names.contains(name)) return true;
  if (!is_name(name, reading.limits.name_length)) {
    complain(
        reading, kNameInvalid, span,
        fmt::format("{} cannot be the name of {}", quoted(name), what),
        fmt::format("a name is a letter, then letters, digits, '_' or '-', at most {}",
                    reading.limits.name_length));
    return false;
  }
  for (const std::string_view reserved : {"open", "unpowered", "initial"}) {
    if (name != reserved) continue;
    complain(reading, kNameReserved, span,
             fmt::format("{} has a meaning of its own", quoted(name)),
             fmt::format("give {} another name", what));
    return false;
  }
  return true;
}

bool check_text(Reading& reading, const std::string& text, const Span& span,
                std::string_view target) {
  std::string problem = text_problem(text, reading.limits.text_length, target);
  if (problem.empty()) return true;
  complain(reading, kTextInvalid, span, std::move(problem));
  return false;
}

bool expect_type(Reading& reading, const TomlNode& node, TomlNode::Type type,
                 std::string_view target) {
  if (node.type == type) return true;
  complain(reading, kTomlType, node.span,
           fmt::format("{} must be {}, not {}", target, type_name(type),
                       type_name(node.type)));
  return false;
}

void refuse_unknown_keys(Reading& reading, const TomlNode& table,
                         const std::vector<std::string>& known,
                         std::string_view where) {
  for (const TomlEntry& entry : table.entries) {
    if (std::find(known.begin(), known.end(), entry.key) != known.end()) continue;
    complain(reading, kKeyUnknown, entry.key_span,
             fmt::format("{} is not a key of {}", quoted(entry.key), where),
             suggestion(reading, entry.key, known, "keys"));
  }
}

std::vector<std::string> key_names(const Kind& kind) {
  std::vector<std::string> names = {"kind", "label"};
  for (const Key& key : kind.keys) names.emplace_back(key.name);
  return names;
}

std::optional<PinRef> read_pin(Reading& reading, std::string_view text,
                               const Span& span) {
  const std::size_t dot = text.find('.');
  const std::string_view part_name = text.substr(0, dot);
  const auto found = reading.part_index.find(part_name);
  if (found == reading.part_index.end()) {
    complain(reading, kPartUnknown, span,
             fmt::format("there is no part {}", quoted(part_name)),
             suggestion(reading, part_name, reading.part_names, "parts"));
    return std::nullopt;
  }
  const auto index = static_cast<std::size_t>(found->second);
  const Part& part = reading.circuit.parts[index];
  if (!reading.notes[index].is_understood) return PinRef{found->second, -1};
  const std::string pins = fmt::format("pins: {}", fmt::join(part.pins, ", "));
  if (dot == std::string_view::npos) {
    complain(reading, kPinMalformed, span,
             fmt::format("{} is a part; which of its pins is meant?", quoted(text)),
             pins);
    reading.notes[index].has_pin_complaint = true;
    return std::nullopt;
  }
  const std::string_view pin_name = text.substr(dot + 1);
  const int pin = pin_index(part, pin_name);
  if (pin < 0) {
    complain(reading, kPinUnknown, span,
             fmt::format("{} has no pin {}", quoted(part.name), quoted(pin_name)),
             suggestion(reading, pin_name, part.pins, "pins"));
    reading.notes[index].has_pin_complaint = true;
    return std::nullopt;
  }
  return PinRef{found->second, pin};
}

}  // namespace benchproof
