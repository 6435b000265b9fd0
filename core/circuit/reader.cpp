#include "core/circuit/reader.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/circuit/own_catalogue.h"
#include "core/circuit/reading.h"
#include "core/circuit/structure_check.h"

namespace benchproof {
namespace {

/// Ambient temperatures that one may ask for. Degrees Celsius.
constexpr double kColdest = -60.0;
constexpr double kHottest = 150.0;

void read_head(Reading& reading, const TomlNode& root, std::string_view file_name) {
  reading.circuit.title = printable(file_name);
  if (const TomlEntry* title = find_entry(root, "title")) {
    if (expect_type(reading, title->value, TomlNode::Type::string, "'title'") &&
        check_text(reading, title->value.text, title->value.span, "'title'"))
      reading.circuit.title = title->value.text;
  }
  if (const TomlEntry* ambient = find_entry(root, "ambient")) {
    const auto value =
        read_quantity(reading, ambient->value, Unit::celsius, "'ambient'");
    if (value && (*value < kColdest || *value > kHottest)) {
      complain(reading, kValueRange, ambient->value.span,
               fmt::format("'ambient' is {}", format_quantity(*value, Unit::celsius)),
               fmt::format("it must be from {} to {}",
                           format_quantity(kColdest, Unit::celsius),
                           format_quantity(kHottest, Unit::celsius)));
    } else if (value) {
      reading.circuit.ambient = *value;
    }
  }
  if (const TomlEntry* catalogue = find_entry(root, "catalogue")) {
    if (expect_type(reading, catalogue->value, TomlNode::Type::string, "'catalogue'") &&
        check_text(reading, catalogue->value.text, catalogue->value.span,
                   "'catalogue'") &&
        !is_beside(catalogue->value.text))
      complain(reading, kCataloguePath, catalogue->value.span,
               fmt::format("{} does not name a file beside the description",
                           quoted(catalogue->value.text)),
               "a name within the description's folder: no leading '/', no '..'");
  }
  if (const TomlEntry* variants = find_entry(root, "variants"))
    complain(reading, kNotYet, variants->key_span, "'variants' are not yet supported");
}

/// The table behind a key at the top. Nothing when it is not there; `is_needed` makes
/// that a complaint.
const TomlEntry* find_table(Reading& reading, const TomlNode& root,
                            std::string_view key, bool is_needed) {
  const TomlEntry* entry = find_entry(root, key);
  if (entry == nullptr && is_needed)
    complain(reading, kKeyMissing, {}, fmt::format("there is no table [{}]", key));
  if (entry == nullptr || !expect_type(reading, entry->value, TomlNode::Type::table,
                                       fmt::format("'{}'", key)))
    return nullptr;
  return entry;
}

/// Whether a table keeps to its limit; complains otherwise.
bool check_count(Reading& reading, const TomlEntry* table, std::size_t most) {
  if (table == nullptr || table->value.entries.size() <= most) return true;
  complain(reading, kTooLarge, table->key_span,
           fmt::format("there are {} {}; {} are allowed", table->value.entries.size(),
                       table->key, most));
  return false;
}

void read_all(Reading& reading, const TomlNode& root, std::string_view file_name,
              const std::vector<Change>& changes) {
  refuse_unknown_keys(reading, root,
                      {"title", "ambient", "catalogue", "parts", "nets", "states",
                       "variants", "expect", "runs"},
                      "a description");
  read_head(reading, root, file_name);
  const TomlEntry* parts = find_table(reading, root, "parts", true);
  const TomlEntry* nets = find_table(reading, root, "nets", true);
  const TomlEntry* states = find_table(reading, root, "states", false);
  const bool is_within_limits = check_count(reading, parts, reading.limits.parts) &&
                                check_count(reading, nets, reading.limits.nets) &&
                                check_count(reading, states, reading.limits.states);
  if (!is_within_limits || parts == nullptr || nets == nullptr) return;

  read_parts(reading, parts->value, changes);
  read_nets(reading, *nets);
  const bool is_joined_up = reading.diagnostics.empty();
  read_states(reading, states);
  if (const TomlEntry* runs = find_entry(root, "runs")) read_runs(reading, *runs);
  if (const TomlEntry* expect = find_entry(root, "expect"))
    read_expectations(reading, *expect);
  if (!is_joined_up) return;
  for (Diagnostic& diagnostic : check_structure(reading.circuit))
    reading.diagnostics.push_back(std::move(diagnostic));
}

}  // namespace

ReadResult read_circuit(std::string_view text, std::string_view file_name,
                        const Catalogue& catalogue, const std::vector<Change>& changes,
                        const Limits& limits) {
  Reading reading{catalogue, limits};
  if (text.size() > limits.bytes) {
    complain(reading, kTooLarge, {},
             fmt::format("the description has {} bytes; {} are allowed", text.size(),
                         limits.bytes));
    return {std::nullopt, std::move(reading.diagnostics)};
  }
  const auto tree = parse_toml(text, limits.nesting);
  if (const auto* diagnostic = std::get_if<Diagnostic>(&tree))
    return {std::nullopt, {*diagnostic}};
  read_all(reading, std::get<TomlNode>(tree), file_name, changes);
  // Types of a catalogue that is named wrongly are not looked for.
  if (find_entry(std::get<TomlNode>(tree), "catalogue") != nullptr &&
      !own_catalogue(text, limits))
    std::erase_if(reading.diagnostics,
                  [](const Diagnostic& d) { return d.id == kTypeUnknown.name; });
  if (reading.diagnostics.empty()) return {std::move(reading.circuit), {}};
  return {std::nullopt,
          first_complaints(std::move(reading.diagnostics), limits.complaints)};
}

}  // namespace benchproof
