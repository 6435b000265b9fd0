#include "cli/render/parts/parts_data.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <variant>

#include "cli/render/csv.h"
#include "cli/render/json_parts.h"
#include "core/base/quantity.h"
#include "core/catalogue/figure_names.h"
#include "core/catalogue/fit/fit_check.h"
#include "core/shape/shape.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;
constexpr int kPartsLayout = 1;

Json unit_json(Unit unit) { return text_json(symbol(unit)); }

std::string_view shape_word(Shape shape) {
  switch (shape) {
    case Shape::quantity:
      return "quantity";
    case Shape::number:
      return "number";
    case Shape::flag:
      return "flag";
    case Shape::word:
    case Shape::text:
      return "word";
    case Shape::names:
      return "names";
    case Shape::model:
      return "model";
  }
  return "";
}

Json kind_json(const Kind& kind, const Catalogue& catalogue) {
  Json json = {{"kind", kind.name},
               {"types", catalogue.names(kind.id).size()},
               {"pins", split_words(kind.pins)},
               {"keys", Json::array()}};
  for (const Key& key : kind.keys)
    json["keys"].push_back({{"key", key.name},
                            {"takes", shape_word(key.shape)},
                            {"unit", unit_json(key.unit)},
                            {"about", key.about}});
  return json;
}

std::string about(const Type& type, std::string_view name) {
  if (const auto bound = figure_bound(name))
    return fmt::format("{} published: {}", bound->is_least ? "least" : "most",
                       about(type, bound->figure));
  if (const Key* key = find_key(kind(type.kind), name)) return std::string(key->about);
  const FigureName* further = find_figure_name(name);
  return further != nullptr ? std::string(further->about) : std::string();
}

/// The points of a forward curve, or its least or most, with what each is called.
struct PointList {
  const char* key;
  const char* row;
  const std::vector<ForwardPoint>& points;
};
std::array<PointList, 3> point_lists(const Type& type) {
  return {{{"points", "forward", type.points},
           {"points_least", "forward_least", type.points_least},
           {"points_most", "forward_most", type.points_most}}};
}

template <class Model>
Json values_json(const Model& model) {
  Json json = Json::object();
  for (const ModelValue& value : model_values(model))
    json[std::string(value.name)] = value.value;
  return json;
}

Json model_json(std::monostate) { return nullptr; }
Json model_json(const DiodeModel& model) { return values_json(model); }
Json model_json(const BipolarModel& model) { return values_json(model); }
Json model_json(const MosModel& model) {
  Json json = values_json(model);
  json["body"] = model.body ? values_json(*model.body) : Json(nullptr);
  return json;
}

/// "IC = 0.15 A, VCE = 1 V"
std::string condition_of(const CurveName& curve, const CurvePoint& point) {
  const auto text = [](const CurveAxis& axis, double value) {
    return fmt::format("{} = {} {}", axis.symbol, shortest(value), symbol(axis.unit));
  };
  if (curve.beside.symbol.empty()) return text(curve.at, point.at);
  return fmt::format("{}, {}", text(curve.at, point.at),
                     text(curve.beside, point.beside));
}

Json axis_json(const CurveAxis& axis) {
  if (axis.symbol.empty()) return nullptr;
  return {{"symbol", axis.symbol}, {"unit", unit_json(axis.unit)}};
}

/// The figures that go by others.
Json curves_json(const Type& type) {
  Json json = Json::object();
  for (const auto& [name, curve] : type.curves) {
    const CurveName& known = *find_curve_name(name);
    Json& one = json[name] = {{"about", known.about},
                              {"at", axis_json(known.at)},
                              {"beside", axis_json(known.beside)},
                              {"value", axis_json(known.value)},
                              {"points", Json::array()}};
    for (const CurvePoint& p : curve) {
      Json point = {{"at", p.at}};
      if (!known.beside.symbol.empty()) point["beside"] = p.beside;
      point["value"] = p.value;
      point["mark"] = mark_word(p.mark);
      point["source"] = p.source;
      one["points"].push_back(std::move(point));
    }
  }
  return json;
}

/// The body of a type, and which lead is which pin.
Json shape_json(const Type& type) {
  const ChosenShape chosen = built_in_shapes().choose(wish_of(type));
  Json json = {{"name", chosen.shape->name},   {"about", chosen.shape->about},
               {"mark", chosen.shape->mark},   {"leads", chosen.shape->leads},
               {"assumed", chosen.is_assumed}, {"source", chosen.source},
               {"figures", Json::object()},    {"order", nullptr}};
  for (const auto& [name, f] : chosen.shape->figures)
    json["figures"][name] = {{"value", f.value},
                             {"unit", unit_json(f.unit)},
                             {"condition", text_json(f.condition)},
                             {"mark", mark_word(f.mark)},
                             {"source", f.source}};
  if (const LeadOrder* order = built_in_shapes().order(type.name))
    json["order"] = {{"pins", order->pins},
                     {"mark", mark_word(order->mark)},
                     {"source", order->source},
                     {"differs", text_json(order->differs)}};
  return json;
}

Json type_json(const Type& type) {
  Json json = {{"name", type.name},
               {"kind", kind(type.kind).name},
               {"words", Json::object()},
               {"figures", Json::object()}};
  for (const auto& [key, word] : type.words) json["words"][key] = word;
  for (const auto& [name, f] : type.figures)
    json["figures"][name] = {{"value", f.value},
                             {"unit", unit_json(f.unit)},
                             {"condition", text_json(f.condition)},
                             {"mark", mark_word(f.mark)},
                             {"source", f.source},
                             {"about", about(type, name)}};
  for (const PointList& list : point_lists(type)) {
    Json& points = json[list.key] = Json::array();
    for (const ForwardPoint& p : list.points)
      points.push_back({{"current", p.amps},
                        {"voltage", p.volts},
                        {"mark", mark_word(p.mark)},
                        {"source", p.source}});
  }
  json["curves"] = curves_json(type);
  json["model"] = std::visit([](const auto& m) { return model_json(m); }, type.model);
  json["fit"] = Json::array();
  for (const FitPoint& p : fit_points(type))
    json["fit"].push_back({{"at", p.name},
                           {"unit", unit_json(p.unit)},
                           {"published", p.published},
                           {"model", p.fitted}});
  json["shape"] = shape_json(type);
  json["overrides"] = Json::array();
  for (const Key* key : keys_beside_type(kind(type.kind)))
    json["overrides"].push_back(key->name);
  return json;
}

}  // namespace

std::string kinds_json(const Catalogue& catalogue) {
  Json json = {{"benchproof", kPartsLayout}, {"kinds", Json::array()}};
  for (const Kind& kind : kinds()) json["kinds"].push_back(kind_json(kind, catalogue));
  return document_text(json);
}

std::string types_json(std::string_view asked, const Found& found,
                       const std::vector<std::string>& near) {
  Json json = {
      {"benchproof", kPartsLayout}, {"asked", asked}, {"types", Json::array()}};
  for (const Type* type : found.types) json["types"].push_back(type_json(*type));
  if (found.types.empty()) json["near"] = near;
  return document_text(json);
}

std::string refused_json(const CatalogueReport& report) {
  Json json = {{"benchproof", kPartsLayout},
               {"verdict", "refused"},
               {"complaints", Json::array()}};
  for (const Diagnostic& d : report.complaints)
    json["complaints"].push_back(complaint_json(d, report.file));
  return document_text(json);
}

std::string kinds_csv(const Catalogue& catalogue) {
  std::string text = csv_row({"kind", "types"});
  for (const Kind& kind : kinds())
    text += csv_row(
        {std::string(kind.name), std::to_string(catalogue.names(kind.id).size())});
  return text;
}

std::string types_csv(const Found& found) {
  std::string text = csv_row(
      {"kind", "type", "figure", "value", "unit", "condition", "mark", "source"});
  for (const Type* type : found.types) {
    const std::string kind_name(kind(type->kind).name);
    for (const auto& [key, value] : type->words)
      text += csv_row({kind_name, type->name, key, value, "", "", "", ""});
    for (const auto& [name, f] : type->figures)
      text += csv_row({kind_name, type->name, name, shortest(f.value),
                       std::string(symbol(f.unit)), f.condition,
                       std::string(mark_word(f.mark)), f.source});
    for (const PointList& list : point_lists(*type))
      for (const ForwardPoint& p : list.points)
        text += csv_row({kind_name, type->name, list.row, shortest(p.volts), "V",
                         shortest(p.amps) + " A", std::string(mark_word(p.mark)),
                         p.source});
    for (const auto& [name, curve] : type->curves)
      for (const CurvePoint& p : curve)
        text += csv_row({kind_name, type->name, name, shortest(p.value),
                         std::string(symbol(find_curve_name(name)->value.unit)),
                         condition_of(*find_curve_name(name), p),
                         std::string(mark_word(p.mark)), p.source});
  }
  return text;
}

}  // namespace benchproof
