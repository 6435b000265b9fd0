#include "core/circuit/entries/values.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include "core/catalogue/other_names.h"

namespace benchproof {
namespace {

/// More than any part of the trade has, where a key's range is far wider; the ends keep
/// a slip of a thousand or a million from being judged as if it were meant. In the
/// unit; common practice, no source.
double most_of_trade(Unit unit) {
  switch (unit) {
    case Unit::ampere:
    case Unit::watt:
      return 1e4;
    case Unit::henry:
      return 100.0;
    default:
      return std::numeric_limits<double>::infinity();
  }
}

/// A range; `least` belongs to it or not.
struct Bounds {
  double least = 0.0;
  bool is_least_in = false;
  double most = 0.0;

  [[nodiscard]] bool hold(double value) const {
    return std::isfinite(value) && (is_least_in ? value >= least : value > least) &&
           value <= most;
  }
};

/// What is meant where another prefix would bring a quantity into its range: "did you
/// mean '1 mA'? ..."; empty where none does.
std::string prefix_hint(std::string_view text, Unit unit, const Bounds& bounds) {
  const std::size_t at = text.find_first_not_of("0123456789.+-eE ");
  if (at == std::string_view::npos || at + 1 >= text.size()) return {};
  constexpr std::string_view kPrefixes = "mMkun";
  if (kPrefixes.find(text[at]) == std::string_view::npos) return {};
  for (const char other : kPrefixes) {
    std::string changed(text);
    changed[at] = other;
    const auto value = parse_quantity(changed, unit);
    const double* number = std::get_if<double>(&value);
    if (other != text[at] && number != nullptr && bounds.hold(*number))
      return fmt::format(
          "did you mean {}? m is a thousandth, M a million, k a thousand, u a "
          "millionth; ",
          quoted(changed));
  }
  return {};
}

/// Whether a value lies within its range; complains otherwise. `text` is how it is
/// written.
bool check_bounds(Reading& reading, double value, Unit unit, const Bounds& bounds,
                  const TomlNode& node, std::string_view target) {
  if (bounds.hold(value)) return true;
  complain(reading, kValueRange, node.span,
           fmt::format("{} is {}", target, format_quantity(value, unit)),
           prefix_hint(node.text, unit, bounds) +
               range_hint(bounds.least, bounds.is_least_in, bounds.most, unit));
  return false;
}

/// Whether a value lies within a key's or parameter's range; complains otherwise.
template <typename Rule>
bool check_range(Reading& reading, double value, Unit unit, const Rule& rule,
                 const TomlNode& node, std::string_view target) {
  return check_bounds(reading, value, unit, {rule.least, rule.least_allowed, rule.most},
                      node, target);
}

/// The range of a key of a kind as it is told and held to. Ideal sources have any
/// value.
Bounds bounds_of(KindId kind, const Key& key, double value) {
  Bounds bounds{key.least, key.least_allowed, key.most};
  if (bounds.least >= 0.0) bounds.most = std::min(bounds.most, most_of_trade(key.unit));
  // What is above is refused for safety, in words of its own.
  const bool is_supply = kind == KindId::dc_supply && key.unit == Unit::volt;
  if (is_supply && !bounds.hold(value)) bounds.most = kMostSupplyVolts;
  return bounds;
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
        check_range(reading, *value, Unit::none, parameter, entry->value, name))
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
      if (!check_bounds(reading, *value, key.unit, bounds_of(kind_id, key, *value),
                        node, target))
        return std::nullopt;
      return Setting{*value, node.span};
    }
    case Shape::number: {
      const auto value = read_number(reading, node, key, target);
      if (!value || !check_range(reading, *value, Unit::none, key, node, target))
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

std::optional<double> read_time(Reading& reading, const TomlNode& node, double span,
                                std::string_view target) {
  const auto seconds = read_quantity(reading, node, Unit::second, target);
  if (!seconds) return std::nullopt;
  if (*seconds >= 0.0 && (span == 0.0 || *seconds <= span)) return seconds;
  complain(reading, kRunTime, node.span,
           fmt::format("{} is {}", target, format_quantity(*seconds, Unit::second)),
           span == 0.0 ? std::string("it must not be negative")
                       : fmt::format("the run lasts from 0 to {}",
                                     format_quantity(span, Unit::second)));
  return std::nullopt;
}

}  // namespace benchproof
