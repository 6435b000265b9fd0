#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/catalogue/figure_names.h"
#include "core/catalogue/read/detail/data_file.h"

namespace benchproof {
namespace {

constexpr std::string_view kTypical = "typical";
constexpr std::string_view kFigureForm =
    "a figure reads \"value | mark | source | condition\"";

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
    std::string near;
    if (file.suggestions_left-- > 0) near = nearest(written.source, names);
    if (!near.empty()) file.sources.find(near)->second.is_used = true;
    complain(file, kSourceUnknown, span_of(node, written.source),
             fmt::format("there is no source {}", quoted(written.source)),
             names.empty() ? "[sources] says what each name stands for"
                           : names_hint(near, names, "sources"));
  }
  return std::nullopt;
}

std::optional<Origin> origin_of(DataFile& file, const TomlNode& node,
                                const Written& written, std::string_view target) {
  std::vector<Mark> marks{Mark::verified, Mark::memory, Mark::practice, Mark::derived};
  if (file.author == Author::user) marks.push_back(Mark::given);
  const auto mark = std::find_if(marks.begin(), marks.end(), [&](Mark candidate) {
    return mark_word(candidate) == written.mark;
  });
  if (mark == marks.end()) {
    std::vector<std::string> names;
    names.reserve(marks.size());
    for (const Mark known : marks) names.emplace_back(mark_word(known));
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
/// further figure. A bound keeps to the rule of what it bounds.
std::optional<Rule> rule_of(KindId id, std::string_view name) {
  if (const auto bound = figure_bound(name); bound && !figure_bound(bound->figure))
    return rule_of(id, bound->figure);
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
  std::vector<std::string> names{"name",   "kind",         "family",      "words",
                                 "points", "points_least", "points_most", "curve_of"};
  for (const Key& key : kind(id).keys)
    if (rule_of(id, key.name)) names.emplace_back(key.name);
  for (const FigureName& further : figure_names()) names.emplace_back(further.name);
  for (const CurveName& curve : curve_names()) names.emplace_back(curve.name);
  return names;
}

}  // namespace

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

std::optional<CurvePoint> curve_point_of(DataFile& file, const CurveName& curve,
                                         const TomlNode& node) {
  const auto written = written_in(file, node, curve.name);
  if (!written) return std::nullopt;
  auto origin = origin_of(file, node, *written, curve.name);
  std::vector<CurveAxis> axes{curve.at};
  if (!curve.beside.symbol.empty()) axes.push_back(curve.beside);
  axes.push_back(curve.value);
  std::vector<double> numbers;
  std::string_view rest = written->value;
  for (const CurveAxis& axis : axes) {
    const std::string_view text = cut(rest, ',');
    if (text.empty()) break;
    const auto number =
        value_of(file, node, text, {axis.unit, 0, false, 1e9}, curve.name);
    if (!number) return std::nullopt;
    numbers.push_back(*number);
  }
  if (numbers.size() != axes.size() || !rest.empty() || written->is_typical) {
    std::vector<std::string_view> symbols;
    for (const CurveAxis& axis : axes) symbols.push_back(axis.symbol);
    complain(file, kFigureMalformed, span_of(node, written->value),
             fmt::format("{} is no point of '{}'", quoted(written->value), curve.name),
             fmt::format("a point reads \"{} | mark | source | condition\"",
                         fmt::join(symbols, ", ")));
    return std::nullopt;
  }
  if (!origin) return std::nullopt;
  if (!written->condition.empty())
    origin->source += fmt::format(" ({})", written->condition);
  return CurvePoint{numbers.front(), axes.size() > 2 ? numbers[1] : 0.0, numbers.back(),
                    origin->mark, std::move(origin->source)};
}

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

}  // namespace benchproof
