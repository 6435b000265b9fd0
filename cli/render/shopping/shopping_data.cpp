#include <fmt/format.h>
#include <fmt/ranges.h>

#include <nlohmann/json.hpp>

#include "cli/render/csv.h"
#include "cli/render/json_parts.h"
#include "cli/render/shopping/shopping_report.h"
#include "core/base/quantity.h"
#include "core/catalogue/kind.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

constexpr int kShoppingLayout = 1;
constexpr std::string_view kPractice = "common practice, no source";

std::vector<std::string> names_of(const ShoppingReport& report,
                                  const std::vector<int>& parts) {
  std::vector<std::string> names;
  names.reserve(parts.size());
  for (const int part : parts)
    names.push_back(report.file.circuit->parts.at(static_cast<std::size_t>(part)).name);
  return names;
}

Json value_json(const SoldValue& value) {
  Json json = {
      {"value", number_json(value.value)},
      {"unit", symbol(value.unit)},
      {"tolerance", number_json(value.tolerance)},
      {"code", value.code},
      {"series", value.series ? Json(series_word(*value.series)) : Json(nullptr)},
      {"nearest", Json::array()},
      {"bands", value.bands}};
  for (const auto& [series, standard] : value.nearest)
    json["nearest"].push_back(
        {{"series", series_word(series)}, {"value", number_json(standard)}});
  return json;
}

Json rating_json(const ShoppingReport& report, const LeastRating& r) {
  return {{"rating", r.key},
          {"quantity", r.quantity},
          {"unit", symbol(r.unit)},
          {"check", r.check},
          {"load", number_json(r.load)},
          {"part", names_of(report, {r.part}).front()},
          {"state", r.state},
          {"phase", text_json(r.phase)},
          {"share", number_json(r.share)},
          {"least", number_json(r.least)},
          {"sold", number_json(r.sold)},
          {"own", r.has ? number_json(r.has->value) : Json(nullptr)},
          {"own_mark", r.has ? Json(mark_word(r.has->mark)) : Json(nullptr)},
          {"enough", r.is_enough}};
}

Json order_line_json(const ShoppingReport& report, const OrderLine& line) {
  const bool is_wire = line.kind == KindId::wire;
  Json json = {{"kind", kind(line.kind).name},
               {"type", text_json(line.type)},
               {"what", line.what},
               {"pieces", line.pieces},
               {"length", is_wire ? number_json(line.metres) : Json(nullptr)},
               {"parts", names_of(report, line.parts)},
               {"value", line.value ? value_json(*line.value) : Json(nullptr)},
               {"ratings", Json::array()},
               {"notes", line.notes}};
  for (const LeastRating& rating : line.ratings)
    json["ratings"].push_back(rating_json(report, rating));
  return json;
}

Json faults_json(const Verification& verification) {
  Json faults = Json::array();
  for (const StateResult& state : verification.states) {
    for (const Finding& finding : state.findings) {
      if (!counts_as(finding, Severity::fault)) continue;
      Json json = finding_json(finding);
      json["state"] = state.name;
      faults.push_back(std::move(json));
    }
  }
  return faults;
}

/// "power 0.125 W; reverse voltage 5.02 V": what to ask for, each at least.
std::string ratings_text(const OrderLine& line) {
  std::vector<std::string> texts;
  for (const LeastRating& r : line.ratings) {
    const double needed = r.sold ? *r.sold : r.least;
    if (needed > 0.0)
      texts.push_back(fmt::format("{} {}", r.quantity, shop_text(needed, r.unit)));
  }
  return fmt::format("{}", fmt::join(texts, "; "));
}

std::string nearest_text(const SoldValue& value) {
  std::vector<std::string> texts;
  for (const auto& [series, standard] : value.nearest)
    texts.push_back(
        fmt::format("{} {}", series_word(series), shop_text(standard, value.unit)));
  return fmt::format("{}", fmt::join(texts, "; "));
}

}  // namespace

std::string shopping_json(const ShoppingReport& report) {
  const Circuit& circuit = *report.file.circuit;
  const ShoppingList& list = report.list;
  Json json = {{"benchproof", kShoppingLayout},
               {"title", circuit.title},
               {"file", report.file.file},
               {"variant", variant_json(report.file)},
               {"changes", changes_of(report.file)},
               {"verdict", verdict_word(report.file.verification.verdict)},
               {"rated", list.without_ratings.empty()},
               {"reason", text_json(list.without_ratings)},
               {"faults", faults_json(report.file.verification)},
               {"runs_not_looked_at", circuit.runs.size()},
               {"derating",
                {{"power", number_json(report.derating.power)},
                 {"voltage", number_json(report.derating.voltage)}}},
               {"pieces", list.pieces},
               {"lines", Json::array()},
               {"not_bought", names_of(report, list.not_bought)},
               {"sources",
                {{"series", "IEC 60063"},
                 {"bands", "IEC 60062"},
                 {"code", "IEC 60062"},
                 {"sold", kPractice},
                 {"notes", kPractice},
                 {"shapes", "reference/shapes, which marks each"}}}};
  for (const OrderLine& line : list.lines)
    json["lines"].push_back(order_line_json(report, line));
  return document_text(json);
}

std::string shopping_csv(const ShoppingReport& report) {
  std::string text =
      csv_row({"pieces", "length [m]", "kind", "type", "what", "parts", "value", "unit",
               "series", "nearest", "bands", "code", "least ratings", "notes"});
  for (const OrderLine& line : report.list.lines) {
    const SoldValue* value = line.value ? &*line.value : nullptr;
    text += csv_row(
        {std::to_string(line.pieces),
         line.kind == KindId::wire ? shortest(line.metres) : "",
         std::string(kind(line.kind).name), line.type, line.what,
         fmt::format("{}", fmt::join(names_of(report, line.parts), " ")),
         value != nullptr ? shortest(value->value) : "",
         value != nullptr ? std::string(symbol(value->unit)) : "",
         value != nullptr && value->series ? std::string(series_word(*value->series))
                                           : "",
         value != nullptr ? nearest_text(*value) : "",
         value != nullptr ? fmt::format("{}", fmt::join(value->bands, " ")) : "",
         value != nullptr ? value->code : "", ratings_text(line),
         fmt::format("{}", fmt::join(line.notes, "; "))});
  }
  return text;
}

}  // namespace benchproof
