#include "core/catalogue/read/read_types.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <stdexcept>
#include <utility>

#include "core/catalogue/read/detail/data_file.h"

namespace benchproof {

void complain(DataFile& file, const DiagnosticId& id, const Span& span,
              std::string message, std::string hint) {
  file.diagnostics.push_back(
      {std::string(id.name), span, std::move(message), std::move(hint)});
}

bool expect_type(DataFile& file, const TomlNode& node, TomlNode::Type type,
                 std::string_view target) {
  if (node.type == type) return true;
  complain(file, kTomlType, node.span,
           fmt::format("{} must be {}, not {}", quoted(target), type_name(type),
                       type_name(node.type)));
  return false;
}

/// A text that can be shown, of at most `most` characters and not empty.
bool expect_text(DataFile& file, const TomlNode& node, std::size_t most,
                 std::string_view target) {
  if (!expect_type(file, node, TomlNode::Type::string, target)) return false;
  std::string problem = node.text.empty()
                            ? fmt::format("{} is empty", quoted(target))
                            : text_problem(node.text, most, quoted(target));
  if (problem.empty()) return true;
  complain(file, kTextInvalid, node.span, std::move(problem));
  return false;
}

namespace {

/// Whether a figure anywhere in a file names a source, if only one that is not
/// understood: "12 V | verified | sheet".
bool names_source(const TomlNode& node, std::string_view source) {
  const std::size_t bar = node.text.rfind('|');
  if (node.type == TomlNode::Type::string && bar != std::string::npos) {
    std::string_view named = std::string_view(node.text).substr(bar + 1);
    const std::size_t first = named.find_first_not_of(' ');
    named.remove_prefix(std::min(first, named.size()));
    return named.substr(0, named.find_last_not_of(' ') + 1) == source;
  }
  return std::any_of(
             node.items.begin(), node.items.end(),
             [&](const TomlNode& item) { return names_source(item, source); }) ||
         std::any_of(node.entries.begin(), node.entries.end(),
                     [&](const TomlEntry& e) { return names_source(e.value, source); });
}

void read_tree(DataFile& file, const TomlNode& root) {
  const std::vector<std::string> tables{"sources", "family", "type"};
  for (const TomlEntry& entry : root.entries) {
    if (std::find(tables.begin(), tables.end(), entry.key) != tables.end()) continue;
    complain(file, kKeyUnknown, entry.key_span,
             fmt::format("{} is not a table of a catalogue file", quoted(entry.key)),
             suggestion(file.suggestions_left, entry.key, tables, "tables"));
    file.has_all_names = false;
  }
  if (const TomlEntry* sources = find_entry(root, "sources"))
    read_sources(file, sources->value);
  if (const TomlEntry* families = find_entry(root, "family"))
    read_families(file, *families);
  if (const TomlEntry* types = find_entry(root, "type")) read_drafts(file, *types);
  for (const auto& [name, source] : file.sources)
    if (!source.is_used && !names_source(root, name))
      complain(file, kSourceUnused, source.span,
               fmt::format("no figure names the source {}", quoted(name)));
  check_names(file);
  fit_drafts(file);
}

}  // namespace

ReadTypes read_types(std::string_view text, std::string_view file_name,
                     const Catalogue& known_types, Author author,
                     const CatalogueLimits& limits) {
  DataFile file{known_types, author, limits, std::string(file_name)};
  if (text.size() > limits.bytes) {
    complain(
        file, kTooLarge, {},
        fmt::format("the catalogue has more than the {} bytes allowed", limits.bytes));
    return {{}, std::move(file.diagnostics), false};
  }
  const auto tree = parse_toml(text, limits.nesting);
  if (const auto* diagnostic = std::get_if<Diagnostic>(&tree))
    return {{}, {*diagnostic}, false};
  read_tree(file, std::get<TomlNode>(tree));
  ReadTypes read;
  read.types.reserve(file.drafts.size());
  for (Draft& draft : file.drafts) read.types.push_back(std::move(draft.type));
  read.diagnostics = first_complaints(std::move(file.diagnostics), limits.complaints);
  read.has_all_names = file.has_all_names;
  return read;
}

Catalogue with_types(const Catalogue& known_types, std::vector<Type> more) {
  std::vector<Type> types(known_types.types().begin(), known_types.types().end());
  types.insert(types.end(), std::make_move_iterator(more.begin()),
               std::make_move_iterator(more.end()));
  return Catalogue(std::move(types));
}

Catalogue read_catalogue(
    std::span<const std::pair<std::string, std::string_view>> files) {
  Catalogue catalogue({});
  for (const auto& [name, text] : files) {
    ReadTypes read = read_types(text, name, catalogue, Author::project);
    if (!read.diagnostics.empty()) {
      const Diagnostic& first = read.diagnostics.front();
      throw std::runtime_error(
          fmt::format("{}: {}", place_text(first, name), first.message));
    }
    catalogue = with_types(catalogue, std::move(read.types));
  }
  return catalogue;
}

}  // namespace benchproof
