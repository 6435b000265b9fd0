#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>

#include "core/catalogue/read/detail/data_file.h"

namespace benchproof {
namespace {

/// A word that a kind's types may have though no key of a description gives it.
struct WordName {
  KindId kind;
  std::string_view name;
  std::string_view choices;  ///< Separated by spaces; empty: any.
};
constexpr std::array kWordNames{
    WordName{KindId::regulator, "adjustable", "yes"},
    WordName{KindId::controller, "class", ""},
};

/// The words that types of that kind may have, with their choices.
std::vector<WordName> word_names(KindId id) {
  std::vector<WordName> names;
  for (const Key& key : kind(id).keys) {
    const bool is_text = key.shape == Shape::text && key.name != "type";
    if (is_text || key.shape == Shape::word)
      names.push_back({id, key.name, key.choices});
  }
  for (const WordName& further : kWordNames)
    if (further.kind == id) names.push_back(further);
  return names;
}

/// Reads one word of a type; false after a complaint.
bool read_word(DataFile& file, const std::vector<WordName>& known,
               const TomlEntry& entry, Type& type) {
  const auto rule = std::find_if(known.begin(), known.end(), [&](const WordName& w) {
    return w.name == entry.key;
  });
  if (rule == known.end()) {
    std::vector<std::string> names;
    names.reserve(known.size());
    for (const WordName& w : known) names.emplace_back(w.name);
    complain(file, kKeyUnknown, entry.key_span,
             fmt::format("{} is not a word of a {}", quoted(entry.key),
                         kind(type.kind).name),
             suggestion(file.suggestions_left, entry.key, names, "words"));
    return false;
  }
  if (!expect_text(file, entry.value, file.limits.name_length, entry.key)) return false;
  const std::string& word = entry.value.text;
  const std::vector<std::string> choices = split_words(rule->choices);
  if (!choices.empty() &&
      std::find(choices.begin(), choices.end(), word) == choices.end()) {
    complain(file, kWordUnknown, entry.value.span,
             fmt::format("{} cannot be {}", quoted(entry.key), quoted(word)),
             suggestion(file.suggestions_left, word, choices, "choices"));
    return false;
  }
  type.words.insert_or_assign(entry.key, word);
  return true;
}

bool read_words(DataFile& file, const TomlNode& node, Type& type) {
  if (!expect_type(file, node, TomlNode::Type::table, "words")) return false;
  const std::vector<WordName> known = word_names(type.kind);
  bool is_good = true;
  for (const TomlEntry& entry : node.entries)
    is_good = read_word(file, known, entry, type) && is_good;
  return is_good;
}

/// Points of a forward curve that a type has, or its least or most.
std::vector<ForwardPoint>* points_of(Type& type, std::string_view key) {
  if (key == "points") return &type.points;
  if (key == "points_least") return &type.points_least;
  return key == "points_most" ? &type.points_most : nullptr;
}

/// Reads a list of points, each by `point_of`; false after a complaint.
template <class Point, class PointOf>
bool read_points(DataFile& file, const TomlEntry& entry, std::vector<Point>& points,
                 const PointOf& point_of) {
  const TomlNode& node = entry.value;
  if (!expect_type(file, node, TomlNode::Type::array, entry.key)) return false;
  if (node.items.size() > file.limits.points) {
    complain(file, kTooLarge, node.span,
             fmt::format("there are {} points; {} are allowed", node.items.size(),
                         file.limits.points));
    return false;
  }
  points.clear();
  bool is_good = true;
  for (const TomlNode& item : node.items) {
    auto point = point_of(item);
    if (point) points.push_back(std::move(*point));
    is_good = is_good && point.has_value();
  }
  return is_good;
}

/// Whether a description can ask for a type of the kind: by name, or by words.
bool takes_types(const Kind& kind) {
  return find_key(kind, "type") != nullptr || kind.id == KindId::battery;
}

/// What an entry begins with that names its family. Nothing after a complaint.
std::optional<Draft> from_family(DataFile& file, const TomlNode& name) {
  if (!expect_type(file, name, TomlNode::Type::string, "family")) return std::nullopt;
  const auto found = file.families.find(name.text);
  if (found != file.families.end()) {
    Draft draft;
    draft.type = found->second.type;
    draft.is_whole = found->second.is_whole;
    return draft;
  }
  std::vector<std::string> names;
  for (const auto& [known, family] : file.families) names.push_back(known);
  complain(file, kFamilyUnknown, name.span,
           fmt::format("there is no family {} above", quoted(name.text)),
           suggestion(file.suggestions_left, name.text, names, "families"));
  return std::nullopt;
}

/// What an entry begins with that names its kind. Nothing after a complaint that leaves
/// the kind unknown.
std::optional<Draft> from_kind(DataFile& file, const TomlNode& word,
                               std::string_view name) {
  if (!expect_type(file, word, TomlNode::Type::string, "kind")) return std::nullopt;
  const Kind* known = find_kind(word.text);
  if (known == nullptr) {
    std::vector<std::string> names;
    for (const Kind& k : kinds()) names.emplace_back(k.name);
    std::string near;
    if (file.suggestions_left-- > 0) near = nearest(word.text, names);
    complain(file, kKindUnknown, word.span,
             fmt::format("there is no kind {}", quoted(word.text)),
             names_hint(near, names, "kinds"));
    known = find_kind(near);
    if (known == nullptr) return std::nullopt;
  }
  Draft draft;
  draft.is_whole = known->name == word.text;  // Else it is read on as what it means.
  draft.type.kind = known->id;
  const bool is_default = file.author == Author::project && name == kDefaultType;
  if (!takes_types(*known) && !is_default) {
    complain(file, kKindTypeless, word.span,
             fmt::format("a {} has no types", known->name),
             "a description gives its figures as keys");
    draft.is_whole = false;
  }
  return draft;
}

/// What an entry begins with: its kind, with what its family says. Nothing where not
/// even the kind is known.
std::optional<Draft> begin_entry(DataFile& file, const TomlNode& table,
                                 std::string_view name) {
  const TomlEntry* family = find_entry(table, "family");
  const TomlEntry* written = find_entry(table, "kind");
  if (family == nullptr && written == nullptr) {
    complain(file, kKeyMissing, table.span,
             fmt::format("{} has neither 'kind' nor 'family'", quoted(name)));
    return std::nullopt;
  }
  if (family == nullptr) return from_kind(file, written->value, name);
  if (written != nullptr)
    complain(file, kKeyConflict, written->key_span,
             fmt::format("{} has both 'family' and 'kind'", quoted(name)),
             "the kind comes from the family");
  auto draft = from_family(file, family->value);
  if (draft && written != nullptr) draft->is_whole = false;
  return draft;
}

/// Reads what one key of an entry says; false after a complaint.
bool read_key(DataFile& file, const TomlEntry& entry, Draft& draft) {
  if (entry.key == "name" || entry.key == "family" || entry.key == "kind") return true;
  if (entry.key == "words") return read_words(file, entry.value, draft.type);
  if (auto* points = points_of(draft.type, entry.key))
    return read_points(file, entry, *points,
                       [&](const TomlNode& node) { return point_of(file, node); });
  if (const CurveName* curve = find_curve_name(entry.key))
    return read_points(
        file, entry, draft.type.curves[entry.key],
        [&](const TomlNode& node) { return curve_point_of(file, *curve, node); });
  if (entry.key == "curve_of") {
    draft.curve_span = entry.value.span;
    if (!expect_text(file, entry.value, file.limits.name_length, entry.key))
      return false;
    draft.curve_of = entry.value.text;
    return true;
  }
  auto figure = figure_of(file, draft.type.kind, entry);
  if (!figure) return false;
  draft.type.figures.insert_or_assign(entry.key, std::move(*figure));
  return true;
}

/// Reads a `[[family]]` or `[[type]]` table; a type starts from its family. Nothing
/// where not even name and kind are known.
std::optional<Draft> draft_of(DataFile& file, const TomlNode& table) {
  const TomlEntry* name = find_entry(table, "name");
  if (name == nullptr) {
    complain(file, kKeyMissing, table.span, "an entry needs a 'name'");
    return std::nullopt;
  }
  if (!expect_text(file, name->value, file.limits.name_length, "name"))
    return std::nullopt;
  auto draft = begin_entry(file, table, name->value.text);
  if (!draft) return std::nullopt;
  draft->type.name = name->value.text;
  draft->span = name->value.span;
  for (const TomlEntry& entry : table.entries)
    draft->is_whole = read_key(file, entry, *draft) && draft->is_whole;
  return draft;
}

/// The tables of a list of tables; none after a complaint.
std::vector<const TomlNode*> tables_of(DataFile& file, const TomlEntry& entry) {
  std::vector<const TomlNode*> tables;
  if (!expect_type(file, entry.value, TomlNode::Type::array, entry.key)) {
    file.has_all_names = false;
    return tables;
  }
  if (entry.value.items.size() > file.limits.types) {
    complain(file, kTooLarge, entry.key_span,
             fmt::format("there are {} entries '{}'; {} are allowed",
                         entry.value.items.size(), entry.key, file.limits.types));
    file.has_all_names = false;
    return tables;
  }
  for (const TomlNode& item : entry.value.items) {
    if (expect_type(file, item, TomlNode::Type::table, entry.key)) {
      tables.push_back(&item);
    } else {
      file.has_all_names = false;
    }
  }
  return tables;
}

}  // namespace

void read_sources(DataFile& file, const TomlNode& table) {
  if (!expect_type(file, table, TomlNode::Type::table, "sources")) return;
  for (const TomlEntry& entry : table.entries) {
    if (std::string problem =
            text_problem(entry.key, file.limits.name_length, "the name of a source");
        !problem.empty())
      complain(file, kTextInvalid, entry.key_span, std::move(problem));
    // A source with a bad text is known all the same, so that it is told once.
    expect_text(file, entry.value, file.limits.text_length, entry.key);
    file.sources.emplace(entry.key, Source{entry.value.text, entry.key_span});
  }
}

void read_families(DataFile& file, const TomlEntry& families) {
  for (const TomlNode* table : tables_of(file, families)) {
    auto draft = draft_of(file, *table);
    if (!draft) continue;
    if (!draft->curve_of.empty()) {
      complain(file, kKeyUnknown, draft->curve_span, "'curve_of' belongs to a type");
      draft->is_whole = false;
    }
    std::string name = draft->type.name;
    const bool is_new =
        file.families.emplace(name, Family{std::move(draft->type), draft->is_whole})
            .second;
    if (!is_new)
      complain(file, kTypeTwice, draft->span,
               fmt::format("there is a second family {}", quoted(name)));
  }
}

void read_drafts(DataFile& file, const TomlEntry& types) {
  for (const TomlNode* table : tables_of(file, types)) {
    if (auto draft = draft_of(file, *table)) {
      file.drafts.push_back(std::move(*draft));
    } else {
      file.has_all_names = false;
    }
  }
}

}  // namespace benchproof
