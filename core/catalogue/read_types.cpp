#include "core/catalogue/read_types.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "core/base/complaints.h"
#include "core/base/toml_tree.h"
#include "core/catalogue/figure_names.h"
#include "core/catalogue/fit.h"
#include "core/catalogue/fit_check.h"

namespace benchproof {
namespace {

constexpr std::string_view kDefault = "default";
constexpr std::string_view kTypical = "typical";
constexpr std::string_view kFigureForm =
    "a figure reads \"value | mark | source | condition\"";

/// A type as read, before its model is fitted.
struct Draft {
  Type type;
  std::string curve_of;  ///< The type whose n and rs its forward curve shares.
  Span curve_span;
  Span span;
  bool is_whole = true;  ///< Nothing of it earned a complaint.
};

struct Source {
  std::string text;
  Span span;
  bool is_used = false;
};

struct Family {
  Type type;
  bool is_whole = true;
};

/// One data file while it is read.
struct DataFile {
  const Catalogue& known;
  Author author;
  const CatalogueLimits& limits;
  std::string name;
  std::map<std::string, Source, std::less<>> sources = {};
  std::map<std::string, Family, std::less<>> families = {};
  std::vector<Draft> drafts = {};
  std::vector<Diagnostic> diagnostics = {};
  bool has_all_names = true;
  int suggestions_left = kMostSuggestions;
};

void complain(DataFile& file, const DiagnosticId& id, const Span& span,
              std::string message, std::string hint = "") {
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

// --- figures ------------------------------------------------------------------------

/// "value | mark | source | condition | typical", without the blanks around them. Views
/// into the node's text.
struct Written {
  std::string_view value;
  std::string_view mark;
  std::string_view source;     ///< May be empty.
  std::string_view condition;  ///< May be empty.
  bool is_typical = false;     ///< The word behind the condition.
};

/// Cuts the text at the first `sign` and returns what stood before, without blanks.
std::string_view cut(std::string_view& text, char sign) {
  const auto at = std::min(text.find(sign), text.size());
  std::string_view before = text.substr(0, at);
  text.remove_prefix(std::min(at + 1, text.size()));
  const auto first = std::min(before.find_first_not_of(' '), before.size());
  before.remove_prefix(first);
  return before.substr(0, before.find_last_not_of(' ') + 1);
}

/// Where a piece of a node's text stands.
Span span_of(const TomlNode& node, std::string_view piece) {
  if (piece.empty()) return node.span;
  return span_within(node, static_cast<std::size_t>(piece.data() - node.text.data()),
                     piece.size());
}

std::optional<Written> written_in(DataFile& file, const TomlNode& node,
                                  std::string_view target) {
  if (node.type == TomlNode::Type::number) {
    complain(file, kNumberBare, node.span,
             fmt::format("{} is a bare number", quoted(target)),
             std::string(kFigureForm));
    return std::nullopt;
  }
  if (!expect_text(file, node, file.limits.text_length, target)) return std::nullopt;
  std::string_view text = node.text;
  Written written;
  written.value = cut(text, '|');
  written.mark = cut(text, '|');
  written.source = cut(text, '|');
  written.condition = cut(text, '|');
  const bool has_more = !text.empty();
  if (has_more) written.is_typical = cut(text, '|') == kTypical;
  const bool is_whole = text.empty() && (written.is_typical || !has_more);
  if (is_whole && !written.value.empty() && !written.mark.empty()) return written;
  complain(file, kFigureMalformed, node.span,
           written.mark.empty()
               ? fmt::format("{} has no mark", quoted(target))
               : fmt::format("{} has pieces too few or too many", quoted(target)),
           std::string(kFigureForm));
  return std::nullopt;
}

/// What a value must keep to.
struct Rule {
  Unit unit = Unit::none;
  double least = 0.0;
  bool least_allowed = false;
  double most = 1e30;
  bool is_whole = false;
};

std::optional<double> value_of(DataFile& file, const TomlNode& node,
                               std::string_view text, const Rule& rule,
                               std::string_view target) {
  const auto parsed = parse_quantity(text, rule.unit);
  if (const auto* error = std::get_if<QuantityError>(&parsed)) {
    const std::size_t offset = std::min(error->offset, text.size());
    const std::string_view rest = text.substr(offset);
    complain(file, id_of(error->kind), span_of(node, rest.empty() ? text : rest),
             fmt::format("{}: {}", quoted(target), error->message), error->hint);
    return std::nullopt;
  }
  const double value = std::get<double>(parsed);
  const bool is_above = rule.least_allowed ? value >= rule.least : value > rule.least;
  if (std::isfinite(value) && is_above && value <= rule.most) {
    if (!rule.is_whole || value == std::floor(value)) return value;
    complain(file, kValueRange, span_of(node, text),
             fmt::format("{} is {}", quoted(target), shortest(value)),
             "it must be a whole number");
    return std::nullopt;
  }
  complain(file, kValueRange, span_of(node, text),
           fmt::format("{} is {}", quoted(target), format_quantity(value, rule.unit)),
           range_hint(rule.least, rule.least_allowed, rule.most, rule.unit));
  return std::nullopt;
}

/// Where a figure comes from: its mark and its source.
struct Origin {
  Mark mark = Mark::practice;
  std::string source;
};

/// The source of a figure that was read or remembered: a name in [sources].
std::optional<std::string> named_source(DataFile& file, const TomlNode& node,
                                        const Written& written,
                                        std::string_view target) {
  const auto found = file.sources.find(written.source);
  if (found != file.sources.end()) {
    found->second.is_used = true;
    return found->second.text;
  }
  std::vector<std::string> names;
  for (const auto& [name, source] : file.sources) names.push_back(name);
  if (written.source.empty()) {
    complain(file, kSourceMissing, span_of(node, written.mark),
             fmt::format("{} is marked '{}' and names no source", quoted(target),
                         written.mark),
             file.author == Author::user ? "name a key of [sources], or mark it 'given'"
                                         : "name a key of [sources]");
  } else {
    complain(file, kSourceUnknown, span_of(node, written.source),
             fmt::format("there is no source {}", quoted(written.source)),
             names.empty()
                 ? "[sources] says what each name stands for"
                 : suggestion(file.suggestions_left, written.source, names, "sources"));
  }
  return std::nullopt;
}

std::optional<Origin> origin_of(DataFile& file, const TomlNode& node,
                                const Written& written, std::string_view target) {
  std::vector<Mark> marks{Mark::verified, Mark::memory, Mark::practice, Mark::derived};
  if (file.author == Author::user) marks.push_back(Mark::given);
  const auto mark = std::find_if(marks.begin(), marks.end(), [&](Mark candidate) {
    return word(candidate) == written.mark;
  });
  if (mark == marks.end()) {
    std::vector<std::string> names;
    names.reserve(marks.size());
    for (const Mark known : marks) names.emplace_back(word(known));
    complain(file, kMarkUnknown, span_of(node, written.mark),
             fmt::format("there is no mark {}", quoted(written.mark)),
             suggestion(file.suggestions_left, written.mark, names, "marks"));
    return std::nullopt;
  }
  switch (*mark) {
    case Mark::practice:
      return Origin{*mark, written.source.empty()
                               ? "common practice, no source"
                               : fmt::format("practice: {}", written.source)};
    case Mark::given:
      return Origin{*mark,
                    written.source.empty() ? file.name : std::string(written.source)};
    case Mark::derived:
      if (!written.source.empty()) return Origin{*mark, std::string(written.source)};
      complain(file, kSourceMissing, span_of(node, written.mark),
               fmt::format("{} is derived and does not say how", quoted(target)));
      return std::nullopt;
    case Mark::verified:
    case Mark::memory:
      break;
  }
  auto source = named_source(file, node, written, target);
  if (!source) return std::nullopt;
  return Origin{*mark, std::move(*source)};
}

/// What a figure of that name must keep to: the rule of the kind's key, else that of a
/// further figure.
std::optional<Rule> rule_of(KindId id, std::string_view name) {
  const auto of = [](const auto& row, Unit unit) {
    return Rule{unit, row.least, row.least_allowed, row.most};
  };
  if (const Key* key = find_key(kind(id), name)) {
    if (key->shape != Shape::quantity && key->shape != Shape::number)
      return std::nullopt;
    Rule rule = of(*key, key->shape == Shape::quantity ? key->unit : Unit::none);
    rule.is_whole = key->is_whole;
    return rule;
  }
  const FigureName* further = find_figure_name(name);
  if (further == nullptr) return std::nullopt;
  return of(*further, further->unit);
}

/// The names of all that an entry of that kind may hold.
std::vector<std::string> entry_keys(KindId id) {
  std::vector<std::string> names{"name",  "kind",   "family",
                                 "words", "points", "curve_of"};
  for (const Key& key : kind(id).keys)
    if (rule_of(id, key.name)) names.emplace_back(key.name);
  for (const FigureName& further : figure_names()) names.emplace_back(further.name);
  return names;
}

std::optional<Figure> figure_of(DataFile& file, KindId id, const TomlEntry& entry) {
  const auto rule = rule_of(id, entry.key);
  if (!rule) {
    complain(
        file, kKeyUnknown, entry.key_span,
        fmt::format("{} is not a figure of a {}", quoted(entry.key), kind(id).name),
        suggestion(file.suggestions_left, entry.key, entry_keys(id), "keys"));
    return std::nullopt;
  }
  const auto written = written_in(file, entry.value, entry.key);
  if (!written) return std::nullopt;
  auto origin = origin_of(file, entry.value, *written, entry.key);
  const auto value = value_of(file, entry.value, written->value, *rule, entry.key);
  if (!value || !origin) return std::nullopt;
  return Figure{*value,
                rule->unit,
                origin->mark,
                std::move(origin->source),
                std::string(written->condition),
                written->is_typical};
}

/// "20 mA, 2.0 V | mark | source | condition"
std::optional<ForwardPoint> point_of(DataFile& file, const TomlNode& node) {
  constexpr Rule kAmps{Unit::ampere, 0, false, 1e6};
  constexpr Rule kVolts{Unit::volt, 0, false, 1e4};
  const auto written = written_in(file, node, "points");
  if (!written) return std::nullopt;
  auto origin = origin_of(file, node, *written, "points");
  std::string_view volts = written->value;
  const std::string_view amps = cut(volts, ',');
  const std::string_view only_volts = cut(volts, ',');
  if (only_volts.empty() || !volts.empty() || written->is_typical) {
    complain(file, kFigureMalformed, span_of(node, written->value),
             fmt::format("{} is no point of a forward curve", quoted(written->value)),
             "a point reads \"20 mA, 2.0 V | mark | source | condition\"");
    return std::nullopt;
  }
  const auto a = value_of(file, node, amps, kAmps, "points");
  const auto v = value_of(file, node, only_volts, kVolts, "points");
  if (!a || !v || !origin) return std::nullopt;
  if (!written->condition.empty())
    origin->source += fmt::format(" ({})", written->condition);
  return ForwardPoint{*a, *v, origin->mark, std::move(origin->source)};
}

// --- entries ------------------------------------------------------------------------

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

bool read_words(DataFile& file, const TomlNode& node, Type& type) {
  if (!expect_type(file, node, TomlNode::Type::table, "words")) return false;
  const std::vector<WordName> known = word_names(type.kind);
  bool is_good = true;
  for (const TomlEntry& entry : node.entries) {
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
      is_good = false;
      continue;
    }
    if (!expect_text(file, entry.value, file.limits.name_length, entry.key)) {
      is_good = false;
      continue;
    }
    const std::vector<std::string> choices = split_words(rule->choices);
    if (!choices.empty() &&
        std::find(choices.begin(), choices.end(), entry.value.text) == choices.end()) {
      complain(
          file, kWordUnknown, entry.value.span,
          fmt::format("{} cannot be {}", quoted(entry.key), quoted(entry.value.text)),
          suggestion(file.suggestions_left, entry.value.text, choices, "choices"));
      is_good = false;
      continue;
    }
    type.words.insert_or_assign(entry.key, entry.value.text);
  }
  return is_good;
}

bool read_points(DataFile& file, const TomlNode& node, Type& type) {
  if (!expect_type(file, node, TomlNode::Type::array, "points")) return false;
  if (node.items.size() > file.limits.points) {
    complain(file, kTooLarge, node.span,
             fmt::format("there are {} points; {} are allowed", node.items.size(),
                         file.limits.points));
    return false;
  }
  type.points.clear();
  bool is_good = true;
  for (const TomlNode& item : node.items) {
    auto point = point_of(file, item);
    if (point) type.points.push_back(std::move(*point));
    is_good = is_good && point.has_value();
  }
  return is_good;
}

/// Whether a description can ask for a type of the kind: by name, or by words.
bool takes_types(const Kind& kind) {
  return find_key(kind, "type") != nullptr || kind.id == KindId::battery;
}

/// The kind of an entry, with what its family says. Nothing after a complaint.
std::optional<Draft> begin_entry(DataFile& file, const TomlNode& table,
                                 std::string_view name) {
  Draft draft;
  const TomlEntry* family = find_entry(table, "family");
  const TomlEntry* written = find_entry(table, "kind");
  if (family != nullptr && written != nullptr) {
    complain(file, kKeyConflict, written->key_span,
             fmt::format("{} has both 'family' and 'kind'", quoted(name)),
             "the kind comes from the family");
    draft.is_whole = false;
  }
  if (family != nullptr) {
    if (!expect_type(file, family->value, TomlNode::Type::string, "family"))
      return std::nullopt;
    const auto found = file.families.find(family->value.text);
    if (found == file.families.end()) {
      std::vector<std::string> names;
      for (const auto& [known, type] : file.families) names.push_back(known);
      complain(
          file, kFamilyUnknown, family->value.span,
          fmt::format("there is no family {} above", quoted(family->value.text)),
          suggestion(file.suggestions_left, family->value.text, names, "families"));
      return std::nullopt;
    }
    draft.type = found->second.type;
    draft.is_whole = draft.is_whole && found->second.is_whole;
    return draft;
  }
  if (written == nullptr) {
    complain(file, kKeyMissing, table.span,
             fmt::format("{} has neither 'kind' nor 'family'", quoted(name)));
    return std::nullopt;
  }
  if (!expect_type(file, written->value, TomlNode::Type::string, "kind"))
    return std::nullopt;
  const Kind* known = find_kind(written->value.text);
  if (known == nullptr) {
    std::vector<std::string> names;
    for (const Kind& k : kinds()) names.emplace_back(k.name);
    complain(file, kKindUnknown, written->value.span,
             fmt::format("there is no kind {}", quoted(written->value.text)),
             suggestion(file.suggestions_left, written->value.text, names, "kinds"));
    return std::nullopt;
  }
  draft.type.kind = known->id;
  const bool is_default = file.author == Author::project && name == kDefault;
  if (!takes_types(*known) && !is_default) {
    complain(file, kKindTypeless, written->value.span,
             fmt::format("a {} has no types", known->name),
             "a description gives its figures as keys");
    draft.is_whole = false;
  }
  return draft;
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
  for (const TomlEntry& entry : table.entries) {
    bool is_good = true;
    if (entry.key == "name" || entry.key == "family" || entry.key == "kind") continue;
    if (entry.key == "words") {
      is_good = read_words(file, entry.value, draft->type);
    } else if (entry.key == "points") {
      is_good = read_points(file, entry.value, draft->type);
    } else if (entry.key == "curve_of") {
      is_good = expect_text(file, entry.value, file.limits.name_length, entry.key);
      if (is_good) draft->curve_of = entry.value.text;
      draft->curve_span = entry.value.span;
    } else {
      auto figure = figure_of(file, draft->type.kind, entry);
      is_good = figure.has_value();
      if (figure) draft->type.figures.insert_or_assign(entry.key, std::move(*figure));
    }
    draft->is_whole = draft->is_whole && is_good;
  }
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

// --- what stands beside what --------------------------------------------------------

std::string folded(std::string_view text) {
  std::string result(text);
  for (char& c : result)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return result;
}

/// What a description names the type by: a battery's words, else its name. Upper and
/// lower case are the same, so that no two types are told apart by that alone.
std::pair<KindId, std::string> call_of(const Type& type) {
  if (type.kind != KindId::battery || type.name == kDefault)
    return {type.kind, folded(type.name)};
  std::string words;
  for (const auto& [key, value] : type.words)
    words += fmt::format("{}={}\n", key, value);
  return {type.kind, folded(words)};
}

void check_names(DataFile& file) {
  std::map<std::pair<KindId, std::string>, std::string> taken;
  for (const Type& type : file.known.types()) taken[call_of(type)] = type.name;
  std::map<std::pair<KindId, std::string>, std::string> own;
  for (Draft& draft : file.drafts) {
    const Type& type = draft.type;
    const std::string& name = type.name;
    const std::string_view kind_name = kind(type.kind).name;
    if (file.author == Author::user && name == kDefault) {
      complain(file, kNameReserved, draft.span, "'default' cannot be a type's name");
      continue;
    }
    if (const auto found = taken.find(call_of(type)); found != taken.end()) {
      complain(file, kTypeKnown, draft.span,
               fmt::format("the catalogue has a {} {} already", kind_name,
                           quoted(found->second)),
               type.kind == KindId::battery
                   ? "give it another chemistry or size: a name means one thing"
                   : "give it a name of its own: a name means one thing");
    }
    if (!own.emplace(call_of(type), name).second)
      complain(file, kTypeTwice, draft.span,
               fmt::format("there is a second {} {}", kind_name, quoted(name)));
  }
}

/// What a type of each kind cannot do without, separated by spaces.
struct Needs {
  std::string_view figures;
  std::string_view words;
};

Needs needs_of(const Type& type) {
  switch (type.kind) {
    case KindId::light_resistor:
    case KindId::heat_resistor:
      return {"value", ""};
    case KindId::zener:
      return {"voltage test_current slope n", ""};
    case KindId::transistor:
      return {"base_volts base_volts_current gain reverse_gain", "polarity"};
    case KindId::mosfet:
      return {"threshold on_resistance on_gate", "channel"};
    case KindId::regulator:
      // The default of `quiescent` is no adjust pin's current.
      return {type.words.contains("adjustable") ? "output quiescent" : "output", ""};
    case KindId::battery:
      return {"open_circuit resistance", "chemistry size charge"};
    case KindId::lamp:
    case KindId::motor:
    case KindId::relay_coil:
    case KindId::buzzer:
      return {"voltage current", ""};
    default:
      return {"", ""};
  }
}

void check_needs(DataFile& file, Draft& draft) {
  const Type& type = draft.type;
  if (!draft.is_whole || type.name == kDefault) return;
  const auto lacks = [&](std::string_view what, std::string_view name,
                         std::string_view about) {
    complain(file, kKeyMissing, draft.span,
             fmt::format("{} needs the {} '{}'", quoted(type.name), what, name),
             about.empty() ? "" : fmt::format("{}: {}", name, about));
    draft.is_whole = false;
  };
  const Needs needs = needs_of(type);
  for (const std::string& name : split_words(needs.words))
    if (!type.words.contains(name))
      lacks("word", name, find_key(kind(type.kind), name)->about);
  for (const std::string& name : split_words(needs.figures)) {
    if (type.figures.contains(name)) continue;
    const Key* key = find_key(kind(type.kind), name);
    const FigureName* further = find_figure_name(name);
    lacks("figure", name,
          key != nullptr ? key->about : (further != nullptr ? further->about : ""));
  }
  const bool has_knee = type.figures.contains("knee_slope");
  if (type.kind == KindId::zener && has_knee && !type.figures.contains("knee_current"))
    lacks("figure", "knee_current", find_figure_name("knee_current")->about);
}

// --- device models ------------------------------------------------------------------

std::optional<double> known(const Type& type, std::string_view name) {
  const auto found = type.figures.find(name);
  if (found == type.figures.end()) return std::nullopt;
  return found->second.value;
}

/// A figure that check_needs has seen.
double needed(const Type& type, std::string_view name) {
  return type.figures.find(name)->second.value;
}

DiodeModel forward_model(const Type& type) {
  ForwardShape shape;
  shape.n = known(type, "n");
  shape.rs = known(type, "rs");
  shape.eg = known(type, "eg_electronvolts").value_or(shape.eg);
  shape.xti = known(type, "xti").value_or(shape.xti);
  shape.drift = known(type, "drift_volts_per_kelvin");
  return fit_forward(type.points, shape).model;
}

DiodeModel zener_model(const Type& type) {
  if (type.points.size() != 1) throw std::invalid_argument("needs one forward point");
  ZenerSheet sheet;
  sheet.volts = needed(type, "voltage");
  sheet.test_amps = needed(type, "test_current");
  sheet.slope = needed(type, "slope");
  sheet.knee_slope = known(type, "knee_slope");
  if (sheet.knee_slope) sheet.knee_amps = needed(type, "knee_current");
  sheet.forward = type.points.front();
  sheet.n = needed(type, "n");
  return fit_zener(sheet);
}

BipolarModel bipolar_model(const Type& type) {
  BipolarSheet sheet;
  sheet.is_pnp = type.words.at("polarity") == "pnp";
  sheet.base_volts = needed(type, "base_volts");
  sheet.collector_amps = needed(type, "base_volts_current");
  sheet.gain = needed(type, "gain");
  sheet.reverse_gain = needed(type, "reverse_gain");
  return fit_bipolar(sheet);
}

MosModel mos_model(const Type& type) {
  MosSheet sheet;
  sheet.is_p_channel = type.words.at("channel") == "p";
  sheet.threshold = needed(type, "threshold");
  sheet.resistance = needed(type, "on_resistance");
  sheet.gate_volts = needed(type, "on_gate");
  sheet.drain_amps = known(type, "on_current").value_or(0.0);
  if (!type.points.empty()) sheet.body = forward_model(type);
  return fit_mos(sheet);
}

/// The model of a type from its own figures; none for a kind that needs none.
DeviceModel model_of(const Type& type) {
  switch (type.kind) {
    case KindId::diode:
    case KindId::led:
      return forward_model(type);
    case KindId::controller:  // its clamp diodes
      if (type.points.empty()) return {};
      return forward_model(type);
    case KindId::zener:
      return zener_model(type);
    case KindId::transistor:
      return bipolar_model(type);
    case KindId::mosfet:
      return mos_model(type);
    default:
      return {};
  }
}

/// Throws where a parameter lies outside of what a description's `model` may have.
void check_parameters(KindId id, const std::vector<ModelValue>& values) {
  for (const ModelParameter& rule : model_parameters(id)) {
    const auto found =
        std::find_if(values.begin(), values.end(),
                     [&](const ModelValue& v) { return v.name == rule.name; });
    if (found == values.end()) continue;
    const double value = found->value;
    const bool is_above = rule.least_allowed ? value >= rule.least : value > rule.least;
    if (std::isnan(value) || !is_above || value > rule.most)
      throw std::invalid_argument(
          fmt::format("these figures give a model with {} = {:.4g}, which must be {} "
                      "{:g} and at most {:g}",
                      rule.name, value, rule.least_allowed ? "at least" : "above",
                      rule.least, rule.most));
  }
}

void check_model(const DiodeModel& model) {
  check_parameters(KindId::diode, model_values(model));
}
void check_model(const BipolarModel& model) {
  check_parameters(KindId::transistor, model_values(model));
}
void check_model(const MosModel& model) {
  check_parameters(KindId::mosfet, model_values(model));
  if (model.body) check_model(*model.body);
}
void check_model(std::monostate) {}

/// Kinds that a "default" entry gives figures but no model.
bool has_model(const Type& type) {
  return type.name != kDefault || !type.points.empty();
}

void fit(DataFile& file, Draft& draft) {
  if (!draft.is_whole || !has_model(draft.type)) return;
  try {
    const DeviceModel model = model_of(draft.type);
    std::visit([](const auto& m) { check_model(m); }, model);
    draft.type.model = model;
  } catch (const std::invalid_argument& error) {
    complain(file, kModelUnfit, draft.span,
             fmt::format("{}: {}", quoted(draft.type.name), error.what()));
    draft.is_whole = false;
  }
}

/// Takes n and rs from another type's fitted curve.
void share_curve(DataFile& file, Draft& draft) {
  const auto other =
      std::find_if(file.drafts.begin(), file.drafts.end(), [&](const Draft& d) {
        return d.type.kind == draft.type.kind && d.type.name == draft.curve_of;
      });
  const bool is_own = other != file.drafts.end();
  if (is_own && !other->is_whole) {  // Told already.
    draft.is_whole = false;
    return;
  }
  const Type* type =
      is_own ? &other->type : file.known.find(draft.type.kind, draft.curve_of);
  const DiodeModel* model =
      type != nullptr ? std::get_if<DiodeModel>(&type->model) : nullptr;
  if (model == nullptr || (is_own && !other->curve_of.empty())) {
    complain(file, kCurveUnknown, draft.curve_span,
             fmt::format("there is no {} {} with a curve of its own",
                         kind(draft.type.kind).name, quoted(draft.curve_of)));
    draft.is_whole = false;
    return;
  }
  const std::string source = fmt::format("fit of the points of {}", draft.curve_of);
  draft.type.figures.insert_or_assign(
      "n", Figure{model->n, Unit::none, Mark::derived, source, "25 C"});
  draft.type.figures.insert_or_assign(
      "rs", Figure{model->rs, Unit::ohm, Mark::derived, source, "25 C"});
}

void fit_all(DataFile& file) {
  for (Draft& draft : file.drafts) {
    check_needs(file, draft);
    if (draft.curve_of.empty()) fit(file, draft);
  }
  for (Draft& draft : file.drafts) {
    if (draft.curve_of.empty() || !draft.is_whole) continue;
    share_curve(file, draft);
    fit(file, draft);
  }
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
  if (const TomlEntry* types = find_entry(root, "type")) {
    for (const TomlNode* table : tables_of(file, *types)) {
      if (auto draft = draft_of(file, *table)) {
        file.drafts.push_back(std::move(*draft));
      } else {
        file.has_all_names = false;
      }
    }
  }
  for (const auto& [name, source] : file.sources)
    if (!source.is_used)
      complain(file, kSourceUnused, source.span,
               fmt::format("no figure names the source {}", quoted(name)));
  check_names(file);
  fit_all(file);
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

}  // namespace benchproof
