#include "core/catalogue/catalogue.h"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <array>
#include <set>
#include <stdexcept>
#include <utility>

#include "core/catalogue/figure_names.h"
#include "core/catalogue/fit.h"

namespace benchproof {
namespace {

/// A type as read, before its model is fitted.
struct Draft {
  Type type;
  std::string curve_of;  ///< The type whose n and rs its forward curve shares.
  std::string file;
  int line = 0;
};

[[noreturn]] void fail(std::string_view file, int line, const std::string& message) {
  throw std::runtime_error(fmt::format("{}:{}: {}", file, line, message));
}

/// One data file while it is read.
struct DataFile {
  std::string name;
  std::map<std::string, std::string, std::less<>> sources;
  std::set<std::string, std::less<>> used_sources;
  std::map<std::string, Type, std::less<>> families;
};

int line_of(const toml::node& node) {
  return static_cast<int>(node.source().begin.line);
}

/// A text in the parsed file, which the view must not outlive.
std::string_view text_of(const DataFile& file, const toml::node& node,
                         std::string_view what) {
  const toml::value<std::string>* text = node.as_string();
  if (text == nullptr || text->get().empty()) {
    fail(file.name, line_of(node), fmt::format("'{}' must be a text", what));
  }
  return text->get();
}

/// "value | mark | source | condition", without the blanks around them.
struct Written {
  std::string_view value;
  std::string_view mark;
  std::string_view source;     ///< May be empty.
  std::string_view condition;  ///< May be empty.
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

Written written_in(const DataFile& file, int line, std::string_view text) {
  Written written;
  written.value = cut(text, '|');
  written.mark = cut(text, '|');
  written.source = cut(text, '|');
  written.condition = cut(text, '|');
  if (written.value.empty() || written.mark.empty() || !text.empty()) {
    fail(file.name, line, "a figure reads \"value | mark | source | condition\"");
  }
  return written;
}

double quantity_of(const DataFile& file, int line, std::string_view text, Unit unit) {
  const auto parsed = parse_quantity(text, unit);
  if (const auto* error = std::get_if<QuantityError>(&parsed)) {
    fail(file.name, line, fmt::format("'{}': {}", text, error->message));
  }
  return std::get<double>(parsed);
}

/// Where a figure comes from: its mark, its source and its condition.
struct Origin {
  Mark mark = Mark::practice;
  std::string source;
  std::string condition;
};

Origin origin_of(DataFile& file, int line, const Written& written) {
  constexpr std::array kMarks{Mark::verified, Mark::memory, Mark::practice,
                              Mark::derived};
  const auto* mark = std::find_if(kMarks.begin(), kMarks.end(), [&](Mark candidate) {
    return word(candidate) == written.mark;
  });
  if (mark == kMarks.end()) {
    fail(file.name, line, fmt::format("unknown mark '{}'", written.mark));
  }
  Origin origin;
  origin.mark = *mark;
  origin.condition = written.condition;
  if (origin.mark == Mark::practice) {
    origin.source = written.source.empty()
                        ? "common practice, no source"
                        : fmt::format("practice: {}", written.source);
  } else if (origin.mark == Mark::derived) {
    if (written.source.empty()) fail(file.name, line, "a derived figure must say how");
    origin.source = written.source;
  } else {
    const auto source = file.sources.find(written.source);
    if (source == file.sources.end()) {
      fail(file.name, line, fmt::format("no source '{}' in this file", written.source));
    }
    origin.source = source->second;
    file.used_sources.emplace(written.source);
  }
  return origin;
}

/// The unit of a figure: that of the kind's key of this name, else of a further figure.
std::optional<Unit> unit_of(KindId id, std::string_view name) {
  const Key* key = find_key(kind(id), name);
  if (key != nullptr) {
    if (key->shape == Shape::quantity) return key->unit;
    if (key->shape == Shape::number) return Unit::none;
    return std::nullopt;
  }
  const FigureName* further = find_figure_name(name);
  if (further == nullptr) return std::nullopt;
  return further->unit;
}

Figure figure_of(DataFile& file, KindId id, std::string_view name,
                 const toml::node& node) {
  const int line = line_of(node);
  const auto unit = unit_of(id, name);
  if (!unit) fail(file.name, line, fmt::format("unknown figure '{}'", name));
  const Written written = written_in(file, line, text_of(file, node, name));
  Origin origin = origin_of(file, line, written);
  return {quantity_of(file, line, written.value, *unit), *unit, origin.mark,
          std::move(origin.source), std::move(origin.condition)};
}

/// "20 mA, 2.0 V | mark | source | condition"
ForwardPoint point_of(DataFile& file, const toml::node& node) {
  const int line = line_of(node);
  const Written written = written_in(file, line, text_of(file, node, "points"));
  Origin origin = origin_of(file, line, written);
  std::string_view volts = written.value;
  const std::string_view amps = cut(volts, ',');
  ForwardPoint point;
  point.amps = quantity_of(file, line, amps, Unit::ampere);
  point.volts = quantity_of(file, line, cut(volts, ','), Unit::volt);
  point.mark = origin.mark;
  point.source = std::move(origin.source);
  if (!origin.condition.empty()) point.source += " (" + origin.condition + ")";
  return point;
}

void read_words(const DataFile& file, const toml::node& node, Type& type) {
  const toml::table* table = node.as_table();
  if (table == nullptr) fail(file.name, line_of(node), "'words' must be a table");
  for (const auto& [key, value] : *table) {
    type.words.insert_or_assign(std::string(key.str()),
                                text_of(file, value, key.str()));
  }
}

void read_points(DataFile& file, const toml::node& node, Type& type) {
  const toml::array* array = node.as_array();
  if (array == nullptr) fail(file.name, line_of(node), "'points' must be a list");
  type.points.clear();
  for (const toml::node& point : *array) type.points.push_back(point_of(file, point));
}

/// Reads a `[[family]]` or `[[type]]` table; a type starts from its family.
Draft draft_of(DataFile& file, const toml::table& table) {
  Draft draft;
  draft.file = file.name;
  draft.line = line_of(table);
  const toml::node* name = table.get("name");
  if (name == nullptr) fail(file.name, draft.line, "an entry needs a 'name'");
  if (const toml::node* family = table.get("family")) {
    const auto found = file.families.find(text_of(file, *family, "family"));
    if (found == file.families.end()) {
      fail(file.name, line_of(*family), "no such family above");
    }
    draft.type = found->second;
  } else {
    const toml::node* written = table.get("kind");
    if (written == nullptr) fail(file.name, draft.line, "an entry needs a 'kind'");
    const Kind* known = find_kind(text_of(file, *written, "kind"));
    if (known == nullptr) fail(file.name, line_of(*written), "unknown kind");
    draft.type.kind = known->id;
  }
  draft.type.name = text_of(file, *name, "name");
  for (const auto& [key, node] : table) {
    const std::string_view word = key.str();
    if (word == "name" || word == "family") continue;
    if (word == "kind") {
      if (table.get("family") != nullptr) {
        fail(file.name, line_of(node), "the kind comes from the family");
      }
    } else if (word == "words") {
      read_words(file, node, draft.type);
    } else if (word == "points") {
      read_points(file, node, draft.type);
    } else if (word == "curve_of") {
      draft.curve_of = text_of(file, node, word);
    } else {
      draft.type.figures.insert_or_assign(std::string(word),
                                          figure_of(file, draft.type.kind, word, node));
    }
  }
  return draft;
}

const toml::array& tables_of(const DataFile& file, const toml::node& node,
                             std::string_view what) {
  const toml::array* array = node.as_array();
  if (array == nullptr || !array->is_homogeneous(toml::node_type::table)) {
    fail(file.name, line_of(node), fmt::format("'{}' must be a list of tables", what));
  }
  return *array;
}

void read_sources(DataFile& file, const toml::node& node) {
  const toml::table* table = node.as_table();
  if (table == nullptr) fail(file.name, line_of(node), "'sources' must be a table");
  for (const auto& [key, value] : *table) {
    file.sources.emplace(key.str(), text_of(file, value, key.str()));
  }
}

void read_file(const std::string& name, std::string_view text,
               std::vector<Draft>& drafts) {
  toml::table root;
  try {
    root = toml::parse(text, std::string_view(name));
  } catch (const toml::parse_error& error) {
    fail(name, static_cast<int>(error.source().begin.line),
         std::string(error.description()));
  }
  DataFile file;
  file.name = name;
  for (const auto& [key, node] : root) {
    if (key.str() != "sources" && key.str() != "family" && key.str() != "type") {
      fail(name, line_of(node), fmt::format("unknown table '{}'", key.str()));
    }
  }
  if (const toml::node* sources = root.get("sources")) read_sources(file, *sources);
  if (const toml::node* families = root.get("family")) {
    for (const toml::node& node : tables_of(file, *families, "family")) {
      Draft draft = draft_of(file, *node.as_table());
      if (!draft.curve_of.empty()) {
        fail(name, draft.line, "'curve_of' belongs to a type");
      }
      std::string family = draft.type.name;
      if (!file.families.emplace(family, std::move(draft.type)).second) {
        fail(name, draft.line, fmt::format("a second family '{}'", family));
      }
    }
  }
  if (const toml::node* types = root.get("type")) {
    for (const toml::node& node : tables_of(file, *types, "type")) {
      drafts.push_back(draft_of(file, *node.as_table()));
    }
  }
  for (const auto& [source, what] : file.sources) {
    if (!file.used_sources.contains(source)) {
      fail(name, 1, fmt::format("source '{}' is not used", source));
    }
  }
}

std::optional<double> known(const Type& type, std::string_view name) {
  const auto found = type.figures.find(name);
  if (found == type.figures.end()) return std::nullopt;
  return found->second.value;
}

double needed(const Type& type, std::string_view name) {
  const auto value = known(type, name);
  if (!value) throw std::invalid_argument(fmt::format("needs the figure '{}'", name));
  return *value;
}

/// Whether the words say the second of two polarities ("pnp" and not "npn").
bool is_second(const Type& type, std::string_view key, std::string_view first,
               std::string_view second) {
  const auto found = type.words.find(key);
  if (found != type.words.end()) {
    if (found->second == second) return true;
    if (found->second == first) return false;
  }
  throw std::invalid_argument(
      fmt::format("needs the word '{}', '{}' or '{}'", key, first, second));
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
  sheet.is_pnp = is_second(type, "polarity", "npn", "pnp");
  sheet.base_volts = needed(type, "base_volts");
  sheet.collector_amps = needed(type, "base_volts_current");
  sheet.gain = needed(type, "gain");
  sheet.reverse_gain = needed(type, "reverse_gain");
  return fit_bipolar(sheet);
}

MosModel mos_model(const Type& type) {
  MosSheet sheet;
  sheet.is_p_channel = is_second(type, "channel", "n", "p");
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

/// Kinds that a "default" entry gives figures but no model.
bool has_model(const Type& type) {
  return type.name != "default" || !type.points.empty();
}

void fit(Draft& draft) {
  try {
    if (has_model(draft.type)) draft.type.model = model_of(draft.type);
  } catch (const std::invalid_argument& error) {
    fail(draft.file, draft.line,
         fmt::format("'{}': {}", draft.type.name, error.what()));
  }
}

/// Takes n and rs from another type's fitted curve.
void share_curve(Draft& draft, std::span<const Draft> drafts) {
  const auto other = std::find_if(drafts.begin(), drafts.end(), [&](const Draft& d) {
    return d.type.kind == draft.type.kind && d.type.name == draft.curve_of;
  });
  const DiodeModel* model =
      other == drafts.end() ? nullptr : std::get_if<DiodeModel>(&other->type.model);
  if (model == nullptr || !other->curve_of.empty()) {
    fail(draft.file, draft.line,
         fmt::format("no type '{}' with a curve of its own", draft.curve_of));
  }
  const std::string source = fmt::format("fit of the points of {}", draft.curve_of);
  draft.type.figures.insert_or_assign(
      "n", Figure{model->n, Unit::none, Mark::derived, source, "25 C"});
  draft.type.figures.insert_or_assign(
      "rs", Figure{model->rs, Unit::ohm, Mark::derived, source, "25 C"});
}

}  // namespace

std::string_view word(Mark mark) {
  switch (mark) {
    case Mark::verified:
      return "verified";
    case Mark::memory:
      return "memory";
    case Mark::practice:
      return "practice";
    case Mark::given:
      return "given";
    case Mark::derived:
      return "derived";
  }
  return "";
}

Catalogue::Catalogue(std::vector<Type> types) : types_(std::move(types)) {}

const Type* Catalogue::find(KindId kind, std::string_view name) const {
  const auto found = std::find_if(types_.begin(), types_.end(), [&](const Type& type) {
    return type.kind == kind && type.name == name;
  });
  return found == types_.end() ? nullptr : &*found;
}

const Type* Catalogue::find_by_words(
    KindId kind, const std::map<std::string, std::string, std::less<>>& words) const {
  const auto has = [](const Type& type, const auto& word) {
    const auto found = type.words.find(word.first);
    return found != type.words.end() && found->second == word.second;
  };
  const auto found = std::find_if(types_.begin(), types_.end(), [&](const Type& type) {
    return type.kind == kind && type.name != "default" &&
           std::all_of(words.begin(), words.end(),
                       [&](const auto& word) { return has(type, word); });
  });
  return found == types_.end() ? nullptr : &*found;
}

const Type* Catalogue::defaults(KindId kind) const { return find(kind, "default"); }

std::vector<std::string> Catalogue::names(KindId kind) const {
  std::vector<std::string> names;
  for (const Type& type : types_) {
    if (type.kind == kind && type.name != "default") names.push_back(type.name);
  }
  return names;
}

std::vector<std::string> Catalogue::words(KindId kind, std::string_view word) const {
  std::vector<std::string> words;
  for (const Type& type : types_) {
    if (type.kind != kind) continue;
    const auto found = type.words.find(word);
    if (found != type.words.end() &&
        std::find(words.begin(), words.end(), found->second) == words.end()) {
      words.push_back(found->second);
    }
  }
  return words;
}

Catalogue read_catalogue(
    std::span<const std::pair<std::string, std::string_view>> files) {
  std::vector<Draft> drafts;
  for (const auto& [name, text] : files) read_file(name, text, drafts);

  std::set<std::pair<KindId, std::string_view>> seen;
  for (const Draft& draft : drafts) {
    if (!seen.emplace(draft.type.kind, draft.type.name).second) {
      fail(draft.file, draft.line,
           fmt::format("a second type '{}' of its kind", draft.type.name));
    }
  }
  for (Draft& draft : drafts) {
    if (draft.curve_of.empty()) fit(draft);
  }
  for (Draft& draft : drafts) {
    if (draft.curve_of.empty()) continue;
    share_curve(draft, drafts);
    fit(draft);
  }
  std::vector<Type> types;
  types.reserve(drafts.size());
  for (Draft& draft : drafts) types.push_back(std::move(draft.type));
  return Catalogue(std::move(types));
}

}  // namespace benchproof
