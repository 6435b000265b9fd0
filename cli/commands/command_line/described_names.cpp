#include "cli/commands/command_line/described_names.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <optional>
#include <system_error>
#include <variant>

#include "cli/commands/files/reading.h"
#include "core/catalogue/kind.h"
#include "core/verify/explanations.h"

namespace benchproof {
namespace {

using Names = std::vector<CompletionWord>;

/// A path as the program would be given it: shells put the home folder in for a tilde.
std::string expanded(const std::string& path) {
  const char* home = std::getenv("HOME");
  return home != nullptr && path.starts_with("~/") ? home + path.substr(1) : path;
}

/// DescribedNames within one description.
class DescribedNames {
 public:
  explicit DescribedNames(const Circuit& circuit) : circuit_(circuit) {}

  [[nodiscard]] Names states() const {
    Names names;
    for (const State& state : circuit_.states)
      if (state.steady) names.push_back({state.name, ""});
    return names;
  }

  [[nodiscard]] Names runs() const {
    Names names;
    for (const Run& run : circuit_.runs) names.push_back({run.name, ""});
    return names;
  }

  [[nodiscard]] Names variants() const {
    Names names;
    for (const Variant& variant : circuit_.variants)
      names.push_back(
          {variant.name, fmt::format("{}", fmt::join(variant.changes, " "))});
    return names;
  }

  [[nodiscard]] Names nets() const {
    Names names;
    for (const Net& net : circuit_.nets) names.push_back({net.name, ""});
    return names;
  }

  [[nodiscard]] Names parts() const {
    Names names;
    for (const Part& part : circuit_.parts) names.push_back({part.name, about(part)});
    return names;
  }

  /// Parts; behind the dot of one its pins.
  [[nodiscard]] Names pins(std::string_view begun) const {
    const Part* part = find_part(before_dot(begun));
    if (part == nullptr) return parts();
    Names names;
    for (const std::string& pin : part->pins)
      names.push_back({part->name + "." + pin, ""});
    return names;
  }

  /// Parts; behind the dot of one its keys with a number.
  [[nodiscard]] Names numbers(std::string_view begun) const {
    const Part* part = find_part(before_dot(begun));
    if (part == nullptr) return parts();
    Names names;
    for (const Key& key : kind(part->kind).keys)
      if (key.shape == Shape::quantity || key.shape == Shape::number)
        names.push_back(
            {fmt::format("{}.{}", part->name, key.name), std::string(key.about)});
    return names;
  }

  [[nodiscard]] Names supplies() const {
    Names names;
    for (const Part& part : circuit_.parts)
      if (is_source(part.kind) && part.kind != KindId::current_source)
        names.push_back({part.name + ".voltage", about(part)});
    return names;
  }

  /// TARGET=VALUE as far as it is begun; see core/circuit/variants/changes.h.
  [[nodiscard]] Names changes(std::string_view begun) const {
    const std::size_t sign = begun.find('=');
    if (sign != std::string_view::npos) return values(begun.substr(0, sign));
    const std::string_view first = before_dot(begun);
    if (const Part* part = find_part(first))
      return keys_of(*part, part->name + ".", false);
    if (find_state(first) != nullptr)
      return within_state(std::string(first) + ".", begun.substr(first.size() + 1));
    Names names = {{"ambient=", "of all parts"}};
    for (const Part& part : circuit_.parts)
      names.push_back({part.name + ".", about(part)});
    for (const State& state : circuit_.states)
      names.push_back({state.name + ".", "a state"});
    return names;
  }

 private:
  /// What stands before a text's first dot; empty where there is none.
  static std::string_view before_dot(std::string_view text) {
    const std::size_t dot = text.find('.');
    return dot == std::string_view::npos ? std::string_view() : text.substr(0, dot);
  }

  static std::string about(const Part& part) {
    const std::string_view name = kind(part.kind).name;
    return part.label.empty() ? std::string(name)
                              : fmt::format("{}, {}", name, part.label);
  }

  [[nodiscard]] const Part* find_part(std::string_view name) const {
    const auto found = std::find_if(circuit_.parts.begin(), circuit_.parts.end(),
                                    [name](const Part& p) { return p.name == name; });
    return found == circuit_.parts.end() ? nullptr : &*found;
  }

  [[nodiscard]] const State* find_state(std::string_view name) const {
    const auto found = std::find_if(circuit_.states.begin(), circuit_.states.end(),
                                    [name](const State& s) { return s.name == name; });
    return found == circuit_.states.end() ? nullptr : &*found;
  }

  /// The keys of a part that a change or, with `in_state`, a state may set.
  static Names keys_of(const Part& part, const std::string& head, bool in_state) {
    Names names;
    for (const Key& key : kind(part.kind).keys)
      if (key.shape != Shape::names && key.shape != Shape::model &&
          !(in_state && key.is_fixed))
        names.push_back({fmt::format("{}{}=", head, key.name), std::string(key.about)});
    return names;
  }

  static std::vector<std::string> outputs_of(const Part& part) {
    const auto list = part.settings.find("outputs");
    return list == part.settings.end()
               ? std::vector<std::string>()
               : std::get<std::vector<std::string>>(list->second.value);
  }

  /// What a change may name behind a state's name and dot, `head`.
  [[nodiscard]] Names within_state(const std::string& head,
                                   std::string_view begun) const {
    Names names;
    const Part* part = find_part(before_dot(begun));
    if (part != nullptr) {
      const std::string whole = head + part->name + ".";
      for (const std::string& output : outputs_of(*part))
        names.push_back({whole + output + "=", "an output"});
      const Names keys = keys_of(*part, whole, true);
      names.insert(names.end(), keys.begin(), keys.end());
      return names;
    }
    for (const Part& any : circuit_.parts) {
      if (any.kind == KindId::switch_)
        names.push_back({head + any.name + "=", "a switch"});
      names.push_back({head + any.name + ".", about(any)});
    }
    return names;
  }

  /// The words that may stand behind a target's sign of equality.
  [[nodiscard]] Names values(std::string_view target) const {
    std::string_view rest = target;
    const bool is_in_state = find_state(before_dot(target)) != nullptr &&
                             find_part(before_dot(target)) == nullptr;
    if (is_in_state) rest.remove_prefix(before_dot(target).size() + 1);
    const std::string_view owner = before_dot(rest);
    const Part* part = find_part(owner.empty() ? rest : owner);
    if (part == nullptr) return {};
    const std::string_view name =
        owner.empty() ? std::string_view() : rest.substr(owner.size() + 1);
    Names words;
    for (const std::string& word : words_of(*part, name, is_in_state))
      words.push_back({fmt::format("{}={}", target, word), ""});
    return words;
  }

  /// The words that a key, an output or (without a name) a switch may be set to.
  [[nodiscard]] static std::vector<std::string> words_of(const Part& part,
                                                         std::string_view name,
                                                         bool is_in_state) {
    if (name.empty())
      return part.kind == KindId::switch_ ? std::vector<std::string>{"open", "closed"}
                                          : std::vector<std::string>{};
    const std::vector<std::string> outputs = outputs_of(part);
    const bool is_output =
        std::find(outputs.begin(), outputs.end(), name) != outputs.end();
    if (is_in_state && is_output) return {"low", "high", "open"};
    const Key* key = find_key(kind(part.kind), name);
    if (key == nullptr) return {};
    if (key->shape == Shape::flag) return {"true", "false"};
    return split_words(key->choices);
  }

  const Circuit& circuit_;
};

Names findings() {
  Names names = {{"list", "all ids"}};
  for (const Explanation& row : explanations())
    names.push_back({std::string(row.check), std::string(row.what)});
  return names;
}

Names known_parts() {
  Names names;
  const Catalogue catalogue = built_in_catalogue();
  for (const Kind& kind : kinds()) {
    names.push_back({std::string(kind.name), "a kind"});
    for (const std::string& type : catalogue.names(kind.id))
      names.push_back({type, std::string(kind.name)});
  }
  return names;
}

Names names_within(const Circuit& circuit, Meaning meaning, std::string_view begun) {
  const DescribedNames names(circuit);
  switch (meaning) {
    case Meaning::state:
      return names.states();
    case Meaning::run:
      return names.runs();
    case Meaning::variant:
      return names.variants();
    case Meaning::net:
      return names.nets();
    case Meaning::part_or_pin:
      return names.pins(begun);
    case Meaning::part_or_key:
      return names.numbers(begun);
    case Meaning::supply:
      return names.supplies();
    case Meaning::change:
    case Meaning::changes:
      return names.changes(begun);
    default:
      return {};
  }
}

/// Whether names of that meaning stand in a description.
bool is_described(Meaning meaning) {
  return meaning >= Meaning::state && meaning <= Meaning::changes;
}

}  // namespace

Names described_names(Meaning meaning, const std::vector<std::string>& files,
                      std::string_view begun) {
  if (meaning == Meaning::finding) return findings();
  if (meaning == Meaning::known_part) return known_parts();
  if (!is_described(meaning)) return {};
  const Catalogue catalogue = built_in_catalogue();
  for (const std::string& file : files) {
    // Anything else might keep the shell waiting.
    std::error_code unknown;
    if (!std::filesystem::is_regular_file(expanded(file), unknown)) continue;
    const FileReport report = read_description(expanded(file), catalogue, {}, {});
    if (report.circuit) return names_within(*report.circuit, meaning, begun);
  }
  return {};
}

}  // namespace benchproof
