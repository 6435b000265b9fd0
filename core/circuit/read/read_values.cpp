#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>

#include "core/catalogue/other_names.h"
#include "core/circuit/read/detail/reading.h"

namespace benchproof {
namespace {

/// Whether a value lies within a key's or parameter's range; complains otherwise.
template <typename Rule>
bool check_range(Reading& reading, double value, Unit unit, const Rule& rule,
                 const Span& span, std::string_view target) {
  const bool is_above = rule.least_allowed ? value >= rule.least : value > rule.least;
  if (std::isfinite(value) && is_above && value <= rule.most) return true;
  complain(reading, kValueRange, span,
           fmt::format("{} is {}", target, format_quantity(value, unit)),
           range_hint(rule.least, rule.least_allowed, rule.most, unit));
  return false;
}

/// `rule` tells the range of the key or parameter.
template <typename Rule>
std::optional<double> read_number(Reading& reading, const TomlNode& node,
                                  const Rule& rule, std::string_view target) {
  if (node.type == TomlNode::Type::number) return node.number;
  complain(
      reading, kTomlType, node.span,
      fmt::format("{} must be a plain number, not {}", target, type_name(node.type)),
      fmt::format("without quotes and unit; {}",
                  range_hint(rule.least, rule.least_allowed, rule.most, Unit::none)));
  return std::nullopt;
}

std::optional<std::string> read_choice(Reading& reading, const Key& key,
                                       const TomlNode& node, std::string_view target) {
  if (!expect_type(reading, node, TomlNode::Type::string, target)) return std::nullopt;
  const std::vector<std::string> choices = split_words(key.choices);
  if (std::string same = same_word(node.text, choices); !same.empty()) return same;
  complain(reading, kWordUnknown, node.span,
           fmt::format("{} cannot be {}", target, quoted(node.text)),
           suggestion(reading, node.text, choices, "choices"));
  return std::nullopt;
}

/// A list of pin names for a controller.
std::optional<std::vector<std::string>> read_names(Reading& reading, const Kind& kind,
                                                   const TomlNode& node,
                                                   std::string_view target) {
  if (!expect_type(reading, node, TomlNode::Type::array, target)) return std::nullopt;
  if (node.items.size() > reading.limits.pins) {
    complain(reading, kTooLarge, node.span,
             fmt::format("{} has {} names; a part may have {} pins", target,
                         node.items.size(), reading.limits.pins));
    return std::nullopt;
  }
  std::vector<std::string> names;
  bool is_good = true;
  for (const TomlNode& item : node.items) {
    if (!expect_type(reading, item, TomlNode::Type::string,
                     fmt::format("a name in {}", target)) ||
        !check_name(reading, item.text, item.span, "a pin")) {
      is_good = false;
      continue;
    }
    const bool is_key = item.text == "kind" || item.text == "label" ||
                        item.text == "shape" || item.text == "legs" ||
                        find_key(kind, item.text) != nullptr;
    if (item.text == "faces" || item.text == "flat") {
      complain(reading, kNameReserved, item.span,
               fmt::format("{} is a key of a place on a board", quoted(item.text)),
               "give a pin another name");
      is_good = false;
    }
    if (is_key) {
      complain(reading, kNameReserved, item.span,
               fmt::format("{} is a key of kind '{}'", quoted(item.text), kind.name),
               "give a pin another name");
      is_good = false;
    }
    names.push_back(item.text);
  }
  if (!is_good) return std::nullopt;
  return names;
}

/// Where a model keeps its parameters.
using Parameters = std::map<std::string_view, double, std::less<>>;

template <typename Parameter>  // A double, or one that a model need not tell.
void take(const Parameters& given, std::string_view name, Parameter& parameter) {
  if (const auto found = given.find(name); found != given.end())
    parameter = found->second;
}

DeviceModel make_model(KindId kind, const Parameters& given) {
  if (kind == KindId::transistor) {
    BipolarModel model;
    take(given, "is", model.is);
    take(given, "bf", model.bf);
    take(given, "br", model.br);
    take(given, "nf", model.nf);
    take(given, "nr", model.nr);
    take(given, "vaf", model.vaf);
    take(given, "ikf", model.ikf);
    take(given, "rc", model.rc);
    take(given, "eg", model.eg);
    take(given, "xti", model.xti);
    take(given, "tnom", model.tnom);
    take(given, "cje", model.cje);
    take(given, "cjc", model.cjc);
    return model;
  }
  if (kind == KindId::mosfet) {
    MosModel model;
    take(given, "vto", model.vto);
    take(given, "kp", model.kp);
    take(given, "lambda", model.lambda);
    take(given, "rd", model.rd);
    take(given, "rs", model.rs);
    take(given, "tnom", model.tnom);
    take(given, "cgs", model.cgs);
    take(given, "cgd", model.cgd);
    take(given, "cds", model.cds);
    return model;
  }
  DiodeModel model;
  take(given, "is", model.is);
  take(given, "n", model.n);
  take(given, "rs", model.rs);
  take(given, "bv", model.bv);
  take(given, "ibv", model.ibv);
  take(given, "nbv", model.nbv);
  take(given, "eg", model.eg);
  take(given, "xti", model.xti);
  take(given, "tnom", model.tnom);
  take(given, "cjo", model.cjo);
  return model;
}

std::optional<DeviceModel> read_model(Reading& reading, KindId kind,
                                      const TomlNode& node, std::string_view target) {
  if (!expect_type(reading, node, TomlNode::Type::table, target)) return std::nullopt;
  const auto known = model_parameters(kind);
  std::vector<std::string> names;
  for (const ModelParameter& parameter : known) names.emplace_back(parameter.name);
  const KnownKeys keys = known_keys(reading, node, names, target);
  Parameters given;
  for (const ModelParameter& parameter : known) {
    const TomlEntry* entry = find_entry(keys.table(), parameter.name);
    if (entry == nullptr) continue;
    const std::string name = fmt::format("'{}' of {}", parameter.name, target);
    const auto value = read_number(reading, entry->value, parameter, name);
    if (value &&
        check_range(reading, *value, Unit::none, parameter, entry->value.span, name))
      given[parameter.name] = *value;
  }
  return make_model(kind, given);
}

}  // namespace

std::optional<double> read_quantity(Reading& reading, const TomlNode& node, Unit unit,
                                    std::string_view target) {
  if (node.type == TomlNode::Type::number) {
    complain(reading, kNumberBare, node.span,
             fmt::format("{} is a bare number", target), how_to_write(unit),
             "a bare number");
    return std::nullopt;
  }
  if (!expect_type(reading, node, TomlNode::Type::string, target)) return std::nullopt;
  const auto result = parse_quantity(node.text, unit);
  if (const auto* value = std::get_if<double>(&result)) return *value;
  const auto& error = std::get<QuantityError>(result);
  complain(reading, id_of(error.kind), span_within(node, error.offset),
           fmt::format("{}: {}", target, error.message), error.hint, error.message);
  return std::nullopt;
}

std::optional<Setting> read_setting(Reading& reading, KindId kind_id, const Key& key,
                                    const TomlNode& node, std::string_view target) {
  switch (key.shape) {
    case Shape::quantity: {
      const auto value = read_quantity(reading, node, key.unit, target);
      if (!value) return std::nullopt;
      if (*value == 0.0 && key.name == "value" && key.unit == Unit::ohm) {
        complain(reading, kValueZero, node.span, fmt::format("{} is 0 ohm", target),
                 "join the two nets, or use a wire");
        return std::nullopt;
      }
      if (!check_range(reading, *value, key.unit, key, node.span, target))
        return std::nullopt;
      return Setting{*value, node.span};
    }
    case Shape::number: {
      const auto value = read_number(reading, node, key, target);
      if (!value || !check_range(reading, *value, Unit::none, key, node.span, target))
        return std::nullopt;
      if (key.is_whole && *value != std::floor(*value)) {
        complain(reading, kValueRange, node.span,
                 fmt::format("{} is {}", target, shortest(*value)),
                 "it must be a whole number");
        return std::nullopt;
      }
      return Setting{*value, node.span};
    }
    case Shape::flag:
      if (!expect_type(reading, node, TomlNode::Type::boolean, target))
        return std::nullopt;
      return Setting{node.flag, node.span};
    case Shape::word:
      if (auto choice = read_choice(reading, key, node, target))
        return Setting{std::move(*choice), node.span};
      return std::nullopt;
    case Shape::text:
      if (!expect_type(reading, node, TomlNode::Type::string, target) ||
          !check_text(reading, node.text, node.span, target))
        return std::nullopt;
      return Setting{node.text, node.span};
    case Shape::names:
      if (auto names = read_names(reading, kind(kind_id), node, target))
        return Setting{std::move(*names), node.span};
      return std::nullopt;
    case Shape::model:
      if (const auto model = read_model(reading, kind_id, node, target))
        return Setting{*model, node.span};
      return std::nullopt;
  }
  assert(false && "every shape is read");
  return std::nullopt;
}

}  // namespace benchproof
