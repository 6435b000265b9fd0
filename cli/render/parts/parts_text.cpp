#include "cli/render/parts/parts_text.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <variant>
#include <vector>

#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"
#include "core/base/diagnostic.h"
#include "core/base/quantity.h"
#include "core/catalogue/figure_names.h"
#include "core/catalogue/fit/fit_check.h"
#include "core/shape/shape.h"

namespace benchproof {
namespace {

/// A figure in three digits, for lists.
std::string short_text(const Figure& figure) {
  if (figure.unit == Unit::none) return fmt::format("{:.4g}", figure.value);
  return figure_text(figure.value, figure.unit);
}

/// A figure in as many digits as its source has; those of computed ones are cut.
std::string full_text(double value, Unit unit) {
  constexpr int kMostDigits = 6;
  if (unit == Unit::none) return fmt::format("{:.{}g}", value, kMostDigits);
  for (int digits = 3; digits < kMostDigits; ++digits) {
    std::string text = figure_text(value, unit, digits);
    const auto read = parse_quantity(text, unit);
    const double* back = std::get_if<double>(&read);
    if (back != nullptr && std::abs(*back - value) <= 1e-9 * std::abs(value))
      return text;
  }
  return figure_text(value, unit, kMostDigits);
}

/// The figures by which one chooses among a kind's types: names of figures and words;
/// "forward" is the last point of the forward curve.
std::vector<std::string> telling(KindId id) {
  switch (id) {
    case KindId::light_resistor:
    case KindId::heat_resistor:
      return {"value", "power"};
    case KindId::diode:
      return {"current", "reverse", "forward"};
    case KindId::zener:
      return {"voltage", "test_current", "slope", "power"};
    case KindId::led:
      return {"forward", "current", "pulse", "reverse"};
    case KindId::transistor:
      return {"polarity", "current", "voltage", "power", "gain"};
    case KindId::mosfet:
      return {"channel", "current", "voltage", "on_resistance", "on_gate"};
    case KindId::regulator:
      return {"output", "current", "dropout", "input_max", "quiescent"};
    case KindId::controller:
      return {"class", "pin_limit", "total_limit", "operating_max", "brownout"};
    case KindId::battery:
      return {"open_circuit", "resistance", "capacity", "end_voltage"};
    default:
      return {"voltage", "current", "start_current"};
  }
}

std::string cell(const Type& type, const std::string& name) {
  if (name == "forward") {
    if (type.points.empty()) return "-";
    const ForwardPoint& last = type.points.back();
    return fmt::format("{} at {}", figure_text(last.volts, Unit::volt),
                       figure_text(last.amps, Unit::ampere));
  }
  if (const auto found = type.words.find(name); found != type.words.end())
    return printable(found->second);
  const auto found = type.figures.find(name);
  return found == type.figures.end() ? "-" : short_text(found->second);
}

std::string kind_list(KindId id, const std::vector<const Type*>& types) {
  const std::vector<std::string> names = telling(id);
  std::vector<TableRow> rows;
  std::string align = "l";
  std::vector<std::string> heads{"type"};
  for (const std::string& name : names) {
    align += name == "polarity" || name == "channel" || name == "class" ? 'l' : 'r';
    heads.push_back(name);
  }
  rows.push_back({std::move(heads)});
  for (const Type* type : types) {
    std::vector<std::string> cells{printable(type->name)};
    for (const std::string& name : names) cells.push_back(cell(*type, name));
    rows.push_back({std::move(cells)});
  }
  return fmt::format("{}: {}\n", kind(id).name, counted(types.size(), "type")) +
         table(rows, align, 2);
}

/// A text as TOML writes it.
std::string toml_text(std::string_view text) {
  std::string result = "\"";
  for (const char c : printable(text)) {
    if (c == '"' || c == '\\') result += '\\';
    result += c;
  }
  return result + "\"";
}

/// How a description asks for the type.
std::string asking(const Type& type) {
  std::string text = fmt::format("{{ kind = \"{}\"", kind(type.kind).name);
  if (type.kind != KindId::battery)
    return text + fmt::format(", type = {} }}", toml_text(type.name));
  for (const auto* key : {"chemistry", "size", "charge"})
    if (const auto found = type.words.find(key); found != type.words.end())
      text += fmt::format(", {} = {}", key, toml_text(found->second));
  return text + " }";
}

/// The sources of a type, each once, in the order in which they are met.
class Sources {
 public:
  std::string number(Mark mark, const std::string& source) {
    const std::string text = fmt::format("{} ({})", printable(source), mark_word(mark));
    auto found = std::find(texts_.begin(), texts_.end(), text);
    if (found == texts_.end()) found = texts_.insert(texts_.end(), text);
    return fmt::format("[{}]", found - texts_.begin() + 1);
  }

  [[nodiscard]] std::string text() const {
    std::string all;
    for (std::size_t k = 0; k < texts_.size(); ++k)
      all +=
          wrapped(fmt::format("{:>4} {}", fmt::format("[{}]", k + 1), texts_[k]), 2, 7);
    return all;
  }

 private:
  std::vector<std::string> texts_;
};

std::string figures_text(const Type& type, Sources& sources) {
  const auto beside = keys_beside_type(kind(type.kind));
  std::vector<TableRow> rows;
  for (const auto& [name, f] : type.figures) {
    const bool is_key =
        std::any_of(beside.begin(), beside.end(),
                    [&named = name](const Key* key) { return key->name == named; });
    rows.push_back({{is_key ? "*" : "", name, full_text(f.value, f.unit),
                     sources.number(f.mark, f.source)},
                    split_words(printable(f.condition)),
                    1});
  }
  if (rows.empty()) return {};
  return "figures (a description's key overrides those with *)\n" +
         table(rows, "llrl", 2);
}

std::string points_text(const Type& type, Sources& sources) {
  if (type.points.empty()) return {};
  std::vector<TableRow> rows;
  const auto add = [&](const std::vector<ForwardPoint>& points, const char* bound) {
    for (const ForwardPoint& p : points)
      rows.push_back(
          {{full_text(p.amps, Unit::ampere), bound + full_text(p.volts, Unit::volt),
            sources.number(p.mark, p.source)}});
  };
  add(type.points, "");
  add(type.points_least, "at least ");
  add(type.points_most, "at most ");
  const bool is_body = type.kind == KindId::mosfet;
  const bool is_clamp = type.kind == KindId::controller;
  return fmt::format("points of the {}\n", is_body    ? "body diode's forward curve"
                                           : is_clamp ? "clamp diodes' forward curve"
                                                      : "forward curve") +
         table(rows, "rrl", 2);
}

/// The figures that go by others, point by point.
std::string curves_text(const Type& type, Sources& sources) {
  std::string text;
  for (const auto& [name, curve] : type.curves) {
    const CurveName* known = find_curve_name(name);
    if (known == nullptr || curve.empty()) continue;
    const bool has_two = !known->beside.symbol.empty();
    const auto cell = [](const CurveAxis& axis, double value) {
      return fmt::format("{} {}", axis.symbol, full_text(value, axis.unit));
    };
    std::vector<TableRow> rows;
    for (const CurvePoint& p : curve) {
      rows.push_back({{cell(known->at, p.at)}});
      if (has_two) rows.back().cells.push_back(cell(known->beside, p.beside));
      rows.back().cells.push_back(cell(known->value, p.value));
      rows.back().cells.push_back(sources.number(p.mark, p.source));
    }
    text += fmt::format("{}: {}\n", name, known->about) +
            table(rows, has_two ? "llll" : "lll", 2);
  }
  return text;
}

template <class Model>
std::string values_text(std::string_view what, const Model& model) {
  std::vector<std::string> fields{fmt::format("{}:", what)};
  for (const ModelValue& value : model_values(model))
    fields.push_back(fmt::format("{} {:.4g}", value.name, value.value));
  return joined(fields, 2, 2, 4);
}

std::string model_text(std::monostate) { return {}; }
std::string model_text(const DiodeModel& model) { return values_text("diode", model); }
std::string model_text(const BipolarModel& model) {
  return values_text(model.is_pnp ? "bipolar, pnp" : "bipolar, npn", model);
}
std::string model_text(const MosModel& model) {
  std::string text =
      values_text(model.is_p_channel ? "MOS, p-channel" : "MOS, n-channel", model);
  if (model.body) text += values_text("body diode", *model.body);
  return text;
}

/// The body and the leads of a type.
std::string shape_text(const Type& type, Sources& sources) {
  const ChosenShape chosen = built_in_shapes().choose(wish_of(type));
  const PartShape& shape = *chosen.shape;
  std::string text =
      wrapped(fmt::format("shape {}{}: {} {}", shape.name,
                          chosen.is_assumed ? ", as is usual" : "", shape.about,
                          sources.number(chosen.mark, chosen.source)),
              0, 2);
  text += wrapped("mark: " + shape.mark, 2, 4);
  if (const LeadOrder* order = built_in_shapes().order(type.name)) {
    std::vector<std::string> leads;
    for (std::size_t k = 0; k < order->pins.size(); ++k)
      leads.push_back(fmt::format("{} {}", k + 1, order->pins[k]));
    text += wrapped(
        fmt::format("leads, its front towards you, from the left: {} {}",
                    fmt::join(leads, ", "), sources.number(order->mark, order->source)),
        2, 4);
    if (!order->differs.empty())
      text += wrapped("makers differ: " + order->differs, 2, 4);
  }
  std::vector<TableRow> rows;
  for (const auto& [name, f] : shape.figures)
    rows.push_back(
        {{name, full_text(f.value, f.unit), sources.number(f.mark, f.source)},
         split_words(printable(f.condition)),
         1});
  return text + table(rows, "lrl", 2);
}

std::string fit_text(const Type& type) {
  const std::string model =
      std::visit([](const auto& m) { return model_text(m); }, type.model);
  if (model.empty()) return {};
  std::string text = "model, fitted to these figures (SI units)\n" + model;
  const std::vector<FitPoint> points = fit_points(type);
  std::vector<TableRow> rows;
  rows.reserve(points.size());
  for (const FitPoint& p : points)
    rows.push_back({{"", p.name, "published", full_text(p.published, p.unit), "model",
                     figure_text(p.fitted, p.unit)}});
  text += table(rows, "lllrlr", 0);
  constexpr double kNothing = 1e-5;
  if (const FitPoint* most = worst(points)) {
    const double share = error(*most);
    text += std::abs(share) < kNothing
                ? std::string("  worst error: below 0.001 %\n")
                : wrapped(fmt::format("worst error: {:+.2g} %, {}", share * 100.0,
                                      most->name),
                          2, 4);
  }
  return text;
}

}  // namespace

std::string kinds_text(const Catalogue& catalogue) {
  std::vector<TableRow> rows{{{"kind", "types", "among them"}}};
  std::vector<std::string> without;
  std::size_t count = 0;
  for (const Kind& kind : kinds()) {
    const std::vector<std::string> names = catalogue.names(kind.id);
    if (names.empty()) {
      without.emplace_back(kind.name);
      continue;
    }
    count += names.size();
    // As many names as fit beside kind and number, dots included.
    constexpr std::size_t kRoom = 50;
    std::string some = printable(names.front());
    std::size_t shown = 1;
    while (shown < names.size() &&
           columns_of(some) + columns_of(names[shown]) + 2 <= kRoom)
      some += ", " + printable(names[shown++]);
    if (shown < names.size()) some += " ...";
    rows.push_back({{std::string(kind.name), std::to_string(names.size()), some}});
  }
  return fmt::format("the catalogue has {} of {}\n", counted(count, "type"),
                     counted(rows.size() - 1, "kind")) +
         table(rows, "lrl", 2) +
         wrapped(fmt::format("Without types, told by their figures alone: {}.",
                             fmt::join(without, ", ")),
                 0, 2) +
         "'benchproof parts KIND' lists a kind, 'benchproof parts TYPE' shows all of "
         "one.\n";
}

std::string kind_text(const Kind& kind) {
  std::vector<TableRow> rows;
  for (const Key& key : kind.keys) {
    std::string about(key.about);
    if (!key.choices.empty()) about += fmt::format(" ({})", key.choices);
    rows.push_back({{std::string(key.name), std::string(symbol(key.unit))},
                    split_words(about),
                    1});
  }
  return fmt::format("{}: pins {}; the keys that a description may give it\n",
                     kind.name, fmt::join(split_words(kind.pins), ", ")) +
         table(rows, "ll", 2);
}

std::string types_text(const Found& found) {
  std::string text;
  for (const Kind& kind : kinds()) {
    std::vector<const Type*> types;
    for (const Type* type : found.types)
      if (type->kind == kind.id) types.push_back(type);
    if (!types.empty()) text += (text.empty() ? "" : "\n") + kind_list(kind.id, types);
  }
  return text;
}

std::string type_text(const Type& type) {
  const Kind& of = kind(type.kind);
  Sources sources;
  std::string text = fmt::format("{}, {}\n", printable(type.name), of.name) +
                     wrapped(asking(type), 2, 4);
  std::vector<std::string> words;
  for (const auto& [key, value] : type.words)
    words.push_back(fmt::format("{} {}", key, printable(value)));
  text += joined(words, 2, 2, 2);
  text += figures_text(type, sources);
  text += points_text(type, sources);
  text += curves_text(type, sources);
  text += fit_text(type);
  text += shape_text(type, sources);
  std::vector<std::string> keys;
  for (const Key* key : keys_beside_type(of))
    if (!type.figures.contains(key->name)) keys.emplace_back(key->name);
  if (!keys.empty())
    text +=
        wrapped(fmt::format("a description may add: {}", fmt::join(keys, ", ")), 0, 2);
  return text + "sources\n" + sources.text();
}

}  // namespace benchproof
