#include "core/circuit/read/reader.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <iterator>
#include <map>
#include <optional>
#include <set>
#include <tuple>
#include <utility>

#include "core/base/toml_repair.h"
#include "core/circuit/blocks/blocks.h"
#include "core/circuit/entries/own_catalogue.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/entries/values.h"
#include "core/circuit/expectations/read_expectations.h"
#include "core/circuit/paths/joints.h"
#include "core/circuit/read/detail/steps.h"
#include "core/circuit/structure_check.h"
#include "core/circuit/variants/changes.h"

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
}

/// The table behind a key at the top. Nothing when it is not there; `is_needed` makes
/// that a complaint.
const TomlEntry* find_table(Reading& reading, const TomlNode& root,
                            std::string_view key, bool is_needed) {
  const TomlEntry* entry = find_entry(root, key);
  if (entry == nullptr && is_needed) {
    const bool is_nets = key == "nets";
    complain(reading, kKeyMissing, {},
             is_nets ? "there is no table [paths] and no table [nets]"
                     : fmt::format("there is no table [{}]", key),
             is_nets
                 ? "[paths], and below it house = [\"plug.plus\", \"switch\", \"r1\", "
                   "\"lamp\", \"ground\", \"plug.minus\"]: each part in the order of "
                   "the current"
                 : "");
  }
  const bool is_list = entry != nullptr && entry->value.type == TomlNode::Type::array;
  if (entry == nullptr ||
      !expect_type(reading, entry->value, TomlNode::Type::table,
                   fmt::format("'{}'", key),
                   is_list ? fmt::format("write [{}]", key) : std::string()))
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

/// Whether all that the states would be told to come to keeps to its limit.
void check_figures(Reading& reading, const TomlEntry* states) {
  const std::size_t figures = figure_count(reading.circuit);
  if (states == nullptr || figures <= reading.limits.figures) return;
  complain(
      reading, kTooLarge, states->key_span,
      fmt::format("the phases of all states times {} parts make {}; {} are allowed",
                  reading.circuit.parts.size(), figures, reading.limits.figures));
}

/// A complaint about what a block holds comes again for each use of it: of those from
/// `first` on it is told for one.
void tell_once(Reading& reading, std::size_t first) {
  if (reading.uses.empty()) return;
  std::set<Told> known;
  const auto from = reading.diagnostics.begin() + static_cast<std::ptrdiff_t>(first);
  const auto rest =
      std::remove_if(from, reading.diagnostics.end(), [&known](const Diagnostic& d) {
        return d.span.file != 0 && !known.insert(told(d)).second;
      });
  reading.diagnostics.erase(rest, reading.diagnostics.end());
}

/// Where a block was not understood, its parts and nets are not to be called unknown,
/// nor nets poor that it may be joined to.
void drop_unknown_of_blocks(const Reading& reading,
                            std::vector<Diagnostic>& diagnostics) {
  const bool are_understood =
      std::all_of(reading.uses.begin(), reading.uses.end(),
                  [](const auto& use) { return use.second.is_understood; });
  if (are_understood) return;
  std::erase_if(diagnostics, [](const Diagnostic& d) {
    return d.id == kPartUnknown.name || d.id == kNetUnknown.name ||
           d.id == kNetDangling.name || d.id == kNetEmpty.name ||
           d.id == kGroundMissing.name;
  });
}

/// Notes what lists and paths name.
void note_mentioned(Reading& reading, const TomlNode& root) {
  for (const char* key : {"nets", "paths"}) {
    const TomlEntry* table = find_entry(root, key);
    if (table == nullptr) continue;
    for (const TomlEntry& list : table->value.entries)
      for (const TomlNode& item : list.value.items)
        reading.mentioned.insert(item.text.substr(0, item.text.find('.')));
  }
}

/// Reads nets and paths; `nets` is null where there are paths alone.
void read_wiring(Reading& reading, const TomlNode& root, const TomlEntry* nets) {
  note_mentioned(reading, root);
  if (!needs_joining(reading, root)) {
    if (nets != nullptr) read_nets(reading, *nets);
    return;
  }
  const Joined joined = join(reading, root);
  if (!check_count(reading, &joined.nets, reading.limits.nets)) return;
  read_nets(reading, joined.nets);
  for (const auto& [name, whole] : joined.other_names)
    if (const auto net = reading.net_index.find(whole);
        net != reading.net_index.end()) {
      reading.net_index[name] = net->second;
      reading.circuit.inner_names[name] = net->second;
    }
  std::set<std::pair<Position, Position>> doubted;
  for (const TomlEntry& entry : joined.nets.value.entries)
    if (joined.doubted.contains(entry.key))
      doubted.emplace(entry.key_span.begin, entry.key_span.end);
  std::erase_if(reading.diagnostics, [&doubted](const Diagnostic& d) {
    return (d.id == kNetDangling.name || d.id == kNetEmpty.name) &&
           doubted.contains({d.span.begin, d.span.end});
  });
}

void read_all(Reading& reading, const TomlNode& root, std::string_view file_name) {
  read_head(reading, root, file_name);
  const TomlEntry* parts = find_table(reading, root, "parts", true);
  const TomlEntry* paths = find_table(reading, root, "paths", false);
  const TomlEntry* nets =
      find_table(reading, root, "nets", find_entry(root, "paths") == nullptr);
  const TomlEntry* states = find_table(reading, root, "states", false);
  const bool is_within_limits = check_count(reading, parts, reading.limits.parts) &&
                                check_count(reading, nets, reading.limits.nets) &&
                                check_count(reading, states, reading.limits.states);
  if (!is_within_limits || parts == nullptr) return;

  reading.has_unread_wiring =
      (nets == nullptr && paths == nullptr) ||
      (nets == nullptr) != (find_entry(root, "nets") == nullptr) ||
      (paths == nullptr) != (find_entry(root, "paths") == nullptr);
  read_parts(reading, parts->value);
  std::size_t count = reading.diagnostics.size();
  read_wiring(reading, root, nets);
  tell_once(reading, count);
  const bool is_joined_up = reading.diagnostics.empty();
  count = reading.diagnostics.size();
  read_states(reading, states);
  check_figures(reading, states);
  if (const TomlEntry* runs = find_entry(root, "runs")) read_runs(reading, *runs);
  if (const TomlEntry* expect = find_entry(root, "expect"))
    read_expectations(reading, *expect);
  if (const TomlEntry* spread = find_table(reading, root, "tolerances", false))
    read_tolerances(reading, spread->value);
  read_boards(reading, root);
  tell_once(reading, count);
  drop_unknown_of_blocks(reading, reading.diagnostics);
  if (!is_joined_up) return;
  count = reading.diagnostics.size();
  reading.circuit.local_zeros = local_zeros(reading.circuit);
  for (Diagnostic& diagnostic : check_structure(reading.circuit))
    reading.diagnostics.push_back(std::move(diagnostic));
  tell_once(reading, count);
}

/// What to say of a file that is no description but another one of the program's: such
/// a file is easily named among others.
std::optional<Diagnostic> other_file(const TomlNode& root) {
  if (find_entry(root, "parts") != nullptr || find_entry(root, "nets") != nullptr)
    return std::nullopt;
  const auto is_table_list = [&root](std::string_view key) {
    const TomlEntry* entry = find_entry(root, key);
    return entry != nullptr && entry->value.type == TomlNode::Type::array;
  };
  if (const TomlEntry* layout = find_entry(root, "benchproof");
      layout != nullptr && is_table_list("case"))
    return Diagnostic{std::string(kOtherFile.name), layout->key_span,
                      "this is a record of results, not a description",
                      "regress finds it beside its description; name that one"};
  if (is_table_list("type"))
    return Diagnostic{std::string(kOtherFile.name), find_entry(root, "type")->key_span,
                      "this is a catalogue of types, not a description",
                      "a description names it: catalogue = \"...\""};
  if (is_table_list("reading"))
    return Diagnostic{std::string(kOtherFile.name),
                      find_entry(root, "reading")->key_span,
                      "these are readings of a circuit, not its description",
                      "'diagnose' takes the description first, then its readings"};
  return std::nullopt;
}

/// What all versions of a description are read with.
struct Reader {
  std::string_view file_name;
  const Catalogue& catalogue;
  const Limits& limits;
  const Expanded& expanded;  ///< With the blocks of the description.
  bool knows_types =
      true;  ///< False: the description's own catalogue is named wrongly.
};

/// Reads a description as it stands, in a variant or with changes.
Reading read_tree(const Reader& reader, const TomlNode& root) {
  Reading reading{reader.catalogue, reader.limits};
  reading.uses = reader.expanded.reading.uses;
  reading.made_names = reader.expanded.reading.made_names;
  reading.diagnostics = reader.expanded.reading.diagnostics;
  reading.guessed = reader.expanded.reading.guessed;
  reading.strange = reader.expanded.reading.strange;
  reading.circuit.uses = reader.expanded.uses;
  read_all(reading, root, reader.file_name);
  if (!reader.knows_types)
    std::erase_if(reading.diagnostics,
                  [](const Diagnostic& d) { return d.id == kTypeUnknown.name; });
  return reading;
}

/// The complaints that are not among `known` (both are put in order); each says in
/// which `version` of the description it holds.
std::vector<Diagnostic> only_in(std::string_view version,
                                std::vector<Diagnostic> diagnostics,
                                std::vector<Diagnostic> known) {
  const auto key = [](const Diagnostic& d) {
    return std::tie(d.span.in_change, d.span.begin, d.id, d.span.end, d.message,
                    d.hint);
  };
  const auto is_before = [&key](const Diagnostic& a, const Diagnostic& b) {
    return key(a) < key(b);
  };
  std::sort(diagnostics.begin(), diagnostics.end(), is_before);
  std::sort(known.begin(), known.end(), is_before);
  std::vector<Diagnostic> result;
  std::set_difference(diagnostics.begin(), diagnostics.end(), known.begin(),
                      known.end(), std::back_inserter(result), is_before);
  for (Diagnostic& diagnostic : result)
    if (!diagnostic.span.in_change) diagnostic.message += fmt::format(", {}", version);
  return result;
}

/// A complaint for each part that has other pins than in `base`.
std::vector<Diagnostic> other_pins(const Reading& base, const Reading& changed) {
  std::vector<Diagnostic> diagnostics;
  const std::size_t count =
      std::min(base.circuit.parts.size(), changed.circuit.parts.size());
  for (std::size_t i = 0; i < count; ++i) {
    const Part& before = base.circuit.parts[i];
    const Part& after = changed.circuit.parts[i];
    const bool is_known = base.notes[i].is_understood && changed.notes[i].is_understood;
    if (!is_known || before.pins == after.pins) continue;
    const auto type = after.settings.find("type");
    diagnostics.push_back(
        {std::string(kChangeWiring.name),
         type != after.settings.end() ? type->second.span : after.span,
         fmt::format("{} would have the pins {} in place of {}", quoted(after.name),
                     fmt::join(after.pins, ", "), fmt::join(before.pins, ", ")),
         "what changes the pins needs nets, and a description, of its own"});
  }
  return diagnostics;
}

/// A description with something laid over it.
struct Version {
  TomlNode root;
  Reading reading;
  std::vector<Diagnostic> news;  ///< What stands against it, but not against its base.
};

/// Reads what was laid over `base`; `name` as in "in variant 'dim'".
Version read_version(const Reader& reader, Changed changed, const Reading& base,
                     std::string_view name) {
  Reading reading = read_tree(reader, changed.root);
  std::vector<Diagnostic> all = other_pins(base, reading);
  if (all.empty()) all = reading.diagnostics;  // Else they only follow from that.
  all.insert(all.end(), changed.diagnostics.begin(), changed.diagnostics.end());
  drop_unknown_of_blocks(base, all);
  all = only_in(name, std::move(all), base.diagnostics);
  const auto is_elsewhere = [&changed](const Diagnostic& d) {
    return !d.span.in_change && !changed.lines.contains(d.span.begin.line);
  };
  // What is said of other places may only follow from what is wrong with a change.
  if (!std::all_of(all.begin(), all.end(), is_elsewhere))
    std::erase_if(all, is_elsewhere);
  return {std::move(changed.root), std::move(reading), std::move(all)};
}

/// The tables of the variants; empty after a complaint.
std::vector<const TomlEntry*> find_variants(Reading& reading, const TomlNode& root) {
  const TomlEntry* table = find_table(reading, root, "variants", false);
  if (table == nullptr || !check_count(reading, table, reading.limits.variants))
    return {};
  std::vector<const TomlEntry*> variants;
  for (const TomlEntry& entry : table->value.entries) {
    const bool is_named = check_name(reading, entry.key, entry.key_span, "a variant");
    const bool is_table = expect_type(reading, entry.value, TomlNode::Type::table,
                                      fmt::format("variant {}", quoted(entry.key)));
    if (is_named && is_table) variants.push_back(&entry);
    reading.circuit.variants.push_back({entry.key, changes_of(entry)});
  }
  return variants;
}

/// Whether all that the variants would be told to come to keeps to its limit.
void check_versions(Reading& reading, const TomlEntry* variants) {
  const std::size_t versions = 1 + reading.circuit.variants.size();
  const std::size_t figures = figure_count(reading.circuit) * versions;
  if (variants == nullptr || figures <= reading.limits.all_figures) return;
  complain(reading, kTooLarge, variants->key_span,
           fmt::format("the phases of all states times {} parts times {} versions make "
                       "{}; {} are allowed",
                       reading.circuit.parts.size(), versions, figures,
                       reading.limits.all_figures));
}

/// What comes from a block stands, for those who read of it, where the block is used:
/// a part always, an expectation where its own place is in another file.
void place_at_uses(Circuit& circuit) {
  if (circuit.uses.empty()) return;
  std::map<std::string, Span, std::less<>> places;
  for (const BlockUse& use : circuit.uses) places.emplace(use.name, use.span);
  const auto outer_use = [&places](const std::string& name) {
    const auto found = places.find(name.substr(0, name.find('/')));
    return found != places.end() ? found->second : Span{};
  };
  for (Part& part : circuit.parts)
    if (part.span.file != 0) part.span = outer_use(part.name);
  std::map<int, std::string> inner_of;
  for (const auto& [name, net] : circuit.inner_names) inner_of.emplace(net, name);
  for (Expectation& expectation : circuit.expectations) {
    if (expectation.span.file <= 0) continue;
    if (expectation.part >= 0) {
      expectation.span = circuit.parts[static_cast<std::size_t>(expectation.part)].span;
    } else {
      const auto inner = inner_of.find(expectation.net);
      expectation.span =
          outer_use(inner != inner_of.end()
                        ? inner->second
                        : circuit.nets[static_cast<std::size_t>(expectation.net)].name);
    }
  }
}

/// Reads a description from its tree; `text` is what it was parsed from.
ReadResult read_described(TomlNode described, std::string_view text,
                          std::string_view file_name, const Catalogue& catalogue,
                          const Wishes& asked, const Limits& limits) {
  if (auto complaint = other_file(described))
    return {std::nullopt, {std::move(*complaint)}};

  const bool is_alone = is_block(described);
  const Expanded expanded =
      expand(std::move(described), catalogue, limits, asked.files);
  const bool is_named_wrongly =
      find_entry(expanded.root, "catalogue") != nullptr && !own_catalogue(text, limits);
  if (is_alone && find_entry(expanded.root, "parts") == nullptr)
    return {std::nullopt,
            first_complaints(expanded.reading.diagnostics, limits.complaints)};
  const TomlNode& root = expanded.root;
  const Reader reader{file_name, catalogue, limits, expanded, !is_named_wrongly};
  Reading base = read_tree(reader, root);
  const std::vector<const TomlEntry*> variants = find_variants(base, root);
  const std::vector<Variant> all_variants = base.circuit.variants;
  std::vector<std::string> names;
  names.reserve(all_variants.size());
  for (const Variant& variant : all_variants) names.push_back(variant.name);
  if (!asked.variant.empty() &&
      std::find(names.begin(), names.end(), asked.variant) == names.end())
    complain(base, kVariantUnknown, {},
             fmt::format("there is no variant {}", quoted(asked.variant)),
             names.empty() ? "the description has no variants"
                           : suggestion(base, asked.variant, names, "variants"));
  check_versions(base, find_entry(root, "variants"));
  std::vector<Diagnostic> diagnostics = base.diagnostics;
  const auto take = [&diagnostics](const Version& version) {
    diagnostics.insert(diagnostics.end(), version.news.begin(), version.news.end());
  };
  std::optional<Version> wanted;
  for (const TomlEntry* entry : variants) {
    // Of a description with so many complaints no more would be told.
    if (diagnostics.size() > limits.complaints) break;
    Version version = read_version(reader, with_variant(root, *entry), base,
                                   fmt::format("in variant {}", quoted(entry->key)));
    take(version);
    version.reading.circuit.variant = entry->key;
    if (entry->key == asked.variant) wanted.emplace(std::move(version));
  }
  if (!asked.changes.empty() && diagnostics.size() <= limits.complaints) {
    Version version =
        read_version(reader, with_changes(wanted ? wanted->root : root, asked.changes),
                     wanted ? wanted->reading : base, "with what is set");
    take(version);
    version.reading.circuit.variant = asked.variant;
    wanted.emplace(std::move(version));
  }
  if (!diagnostics.empty())
    return {std::nullopt, first_complaints(std::move(diagnostics), limits.complaints)};
  Circuit circuit = std::move(wanted ? wanted->reading.circuit : base.circuit);
  circuit.variants = all_variants;
  place_at_uses(circuit);
  return {std::move(circuit), {}};
}

/// The complaints about a text that is not TOML, and those that stand besides against
/// what is likely meant by it.
ReadResult refused(RepairedToml repaired, std::string_view file_name,
                   const Catalogue& catalogue, const Limits& limits) {
  std::vector<Diagnostic> all = std::move(repaired.diagnostics);
  const TomlEntry* parts =
      repaired.root ? find_entry(*repaired.root, "parts") : nullptr;
  if (parts != nullptr && !parts->value.entries.empty()) {
    ReadResult meant =
        read_described(std::move(*repaired.root), "", file_name, catalogue, {}, limits);
    for (Diagnostic& more : meant.diagnostics) {
      // Its columns are those of the repaired line.
      if (repaired.lines.contains(more.span.begin.line))
        more.span.begin.column = more.span.end.column = 1;
      all.push_back(std::move(more));
    }
  }
  return {std::nullopt, first_complaints(std::move(all), limits.complaints)};
}

}  // namespace

ReadResult read_circuit(std::string_view text, std::string_view file_name,
                        const Catalogue& catalogue, const Wishes& asked,
                        const Limits& limits) {
  if (text.size() > limits.bytes)
    return {std::nullopt,
            {{std::string(kTooLarge.name),
              {},
              fmt::format("the description has {} bytes; {} are allowed", text.size(),
                          limits.bytes),
              ""}}};
  auto tree = parse_toml(text, limits.nesting);
  if (const auto* diagnostic = std::get_if<Diagnostic>(&tree))
    return refused(repair_toml(text, limits.nesting, *diagnostic), file_name, catalogue,
                   limits);
  return read_described(std::get<TomlNode>(std::move(tree)), text, file_name, catalogue,
                        asked, limits);
}

}  // namespace benchproof
