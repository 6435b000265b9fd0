#include <nlohmann/json.hpp>
#include <optional>
#include <utility>

#include "cli/render/compare/compare_report.h"
#include "cli/render/compare/compare_words.h"
#include "cli/render/json_parts.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

constexpr int kCompareLayout = 1;

Json row_json(const ComparedRow& row) {
  Json json = {{"topic", topic_word(row.topic)},
               {"subjects", row.subjects},
               {"check", text_json(row.check)},
               {"limit_of", text_json(row.limit_of)},
               {"unit", symbol(row.unit)},
               {"values", Json::array()},
               {"difference", number_json(row.difference)},
               {"relative", number_json(row.relative)},
               {"change", extent_word(row.extent)}};
  for (const auto& value : row.values) json["values"].push_back(number_json(value));
  return json;
}

Json state_json(const ComparedState& state) {
  Json json = {{"name", state.name},
               {"withheld", text_json(state.withheld)},
               {"rows", Json::array()},
               {"findings", Json::array()}};
  for (const ComparedRow& row : state.rows) json["rows"].push_back(row_json(row));
  for (const ComparedFinding& each : state.findings) {
    Json finding = finding_json(each.finding);
    finding["in"] = each.in;
    for (std::size_t k = 0; k < each.in.size(); ++k)
      finding["messages"].push_back(each.in[k] ? Json(each.messages[k]) : Json());
    json["findings"].push_back(std::move(finding));
  }
  return json;
}

}  // namespace

std::string compare_json(const CompareReport& report) {
  Json json = {{"benchproof", kCompareLayout},
               {"verdict", verdict_word(report.comparison.verdict)},
               {"summary", report.comparison.summary},
               {"runs_not_looked_at", report.comparison.runs},
               {"compared", Json::array()},
               {"states", Json::array()}};
  for (std::size_t k = 0; k < report.versions.size(); ++k) {
    const FileReport& version = report.versions[k];
    json["compared"].push_back(
        {{"name", report.candidates[k].name},
         {"head", report.candidates[k].head},
         {"title", version.circuit->title},
         {"file", version.file},
         {"variant", variant_json(version)},
         {"changes", report.changes[k]},
         {"verdict", verdict_word(version.verification.verdict)}});
  }
  for (const ComparedState& state : report.comparison.states)
    json["states"].push_back(state_json(state));
  return document_text(json);
}

}  // namespace benchproof
