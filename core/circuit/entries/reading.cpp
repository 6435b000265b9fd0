#include "core/circuit/entries/reading.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <utility>

#include "core/circuit/entries/usual_names.h"

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

bool is_guess(const Reading& reading, const Span& span) {
  return std::any_of(reading.guessed.begin(), reading.guessed.end(),
                     [&](const Span& g) {
                       return g.in_change == span.in_change && g.file == span.file &&
                              g.begin <= span.begin && span.end <= g.end;
                     });
}

void complain(Reading& reading, const DiagnosticId& id, const Span& span,
              std::string message, std::string hint, std::string cause) {
  const bool is_meant = id.name == kKeyMissing.name &&
                        std::find(reading.strange.begin(), reading.strange.end(),
                                  span) != reading.strange.end();
  if (is_guess(reading, span) || is_meant) return;
  reading.diagnostics.push_back({std::string(id.name), span, std::move(message),
                                 std::move(hint), std::move(cause)});
}

std::string suggestion(Reading& reading, std::string_view name,
                       const std::vector<std::string>& candidates,
                       std::string_view what, std::size_t most) {
  return suggestion(reading.suggestions_left, name, candidates, what, most);
}

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
                 std::string_view target, std::string_view hint) {
  if (node.type == type) return true;
  std::string advice(hint);
  const bool is_text = node.type == TomlNode::Type::string;
  if (advice.empty() && type == TomlNode::Type::boolean && is_text)
    advice = "write true or false, without quotes";
  if (advice.empty() && type == TomlNode::Type::array && is_text)
    advice = R"(write a list: ["...", "..."])";
  complain(reading, kTomlType, node.span,
           fmt::format("{} must be {}, not {}", target, type_name(type),
                       type_name(node.type)),
           std::move(advice));
  return false;
}

namespace {

/// Adds what stands behind a misspelt key by the name that it likely means. Where that
/// is there already a table or list is added to it, and a single value is left out.
void add_guess(Reading& reading, std::vector<TomlEntry>& entries, TomlEntry guess) {
  const TomlNode::Type type = guess.value.type;
  const bool is_single = type != TomlNode::Type::table && type != TomlNode::Type::array;
  const auto there =
      std::find_if(entries.begin(), entries.end(),
                   [&guess](const TomlEntry& entry) { return entry.key == guess.key; });
  if (there == entries.end()) {
    reading.guessed.push_back(guess.key_span);
    if (is_single) reading.guessed.push_back(guess.value.span);
    entries.push_back(std::move(guess));
  } else if (!is_single && there->value.type == type) {
    for (TomlEntry& entry : guess.value.entries)
      if (find_entry(there->value, entry.key) == nullptr)
        there->value.entries.push_back(std::move(entry));
    for (TomlNode& item : guess.value.items)
      there->value.items.push_back(std::move(item));
  }
}

}  // namespace

KnownKeys known_keys(Reading& reading, const TomlNode& table,
                     const std::vector<std::string>& known, std::string_view where,
                     const std::function<std::string_view(std::string_view)>& meaning) {
  const auto is_known = [&known](const std::string& key) {
    return std::find(known.begin(), known.end(), key) != known.end();
  };
  KnownKeys keys;
  keys.given = &table;
  if (std::all_of(table.entries.begin(), table.entries.end(),
                  [&](const TomlEntry& entry) { return is_known(entry.key); }))
    return keys;
  std::vector<TomlEntry>& entries = keys.meant.emplace(table).entries;
  entries.clear();
  std::vector<TomlEntry> guesses;
  for (const TomlEntry& entry : table.entries) {
    if (is_known(entry.key)) {
      entries.push_back(entry);
      continue;
    }
    std::string near(meaning ? meaning(entry.key) : std::string_view());
    if (near.empty() && reading.suggestions_left-- > 0)
      near = nearest(entry.key, known);
    complain(reading, kKeyUnknown, entry.key_span,
             fmt::format("{} is not a key of {}", quoted(entry.key), where),
             names_hint(near, known, "keys"));
    if (near.empty())
      keys.has_stranger = true;
    else
      guesses.push_back({near, entry.key_span, entry.value});
  }
  for (TomlEntry& guess : guesses) add_guess(reading, entries, std::move(guess));
  if (keys.has_stranger) reading.strange.push_back(table.span);
  return keys;
}

const std::vector<std::string>& description_keys() {
  static const std::vector<std::string> keys = {
      "title",  "ambient",  "catalogue", "parts", "nets",       "paths", "blocks",
      "states", "variants", "expect",    "runs",  "tolerances", "board", "boards"};
  return keys;
}

void advise(Reading& reading, std::string_view need) {
  const auto last =
      std::find_if(reading.diagnostics.rbegin(), reading.diagnostics.rend(),
                   [](const Diagnostic& d) { return d.id == kKeyUnknown.name; });
  if (last != reading.diagnostics.rend()) last->hint += fmt::format("; {}", need);
}

std::vector<std::string> key_names(const Kind& kind) {
  std::vector<std::string> names = {"kind", "label", "shape", "legs"};
  for (const Key& key : kind.keys) names.emplace_back(key.name);
  return names;
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
  const std::string pins = fmt::format("pins: {}", fmt::join(part.pins, ", "));
  if (dot == std::string_view::npos) {
    complain(reading, kPinMalformed, span,
             fmt::format("{} is a part; which of its pins is meant?", quoted(text)),
             fmt::format("write \"{}.{}\"; {}", text,
                         part.pins.empty() ? "pin" : part.pins.front(), pins),
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

}  // namespace benchproof
