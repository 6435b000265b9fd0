#include <nlohmann/json.hpp>
#include <optional>

#include "cli/render/json_parts.h"
#include "cli/render/range/range_report.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

constexpr int kRangeLayout = 1;

std::string_view kind_word(RangeEnd::Kind kind) {
  switch (kind) {
    case RangeEnd::Kind::check:
      return "check";
    case RangeEnd::Kind::search:
      return "search";
    case RangeEnd::Kind::no_answer:
      return "no-answer";
  }
  return {};
}

Json end_json(const RangeEnd& end) {
  const bool is_search = end.kind == RangeEnd::Kind::search;
  return {{"voltage", end.volts},
          {"beyond", is_search ? Json(nullptr) : Json(end.beyond)},
          {"ended_by", kind_word(end.kind)},
          {"findings", findings_json(end.findings)},
          {"reason", text_json(end.reason)}};
}

Json whole_end_json(const RangeEnd& end, const std::optional<RangeEnd>& without) {
  Json json = end_json(end);
  json["without"] = without ? end_json(*without) : Json(nullptr);
  return json;
}

Json stretch_json(const VoltageStretch& stretch) {
  return {{"least", stretch.least}, {"most", stretch.most}};
}

Json state_json(const StateRange& state) {
  Json json = {{"name", state.name},
               {"verdict", verdict_word(state.verdict)},
               {"present", state.present},
               {"passes", state.passes},
               {"present_findings", findings_json(state.present_findings)},
               {"always", findings_json(state.always)},
               {"range", nullptr},
               {"elsewhere", Json::array()},
               {"testimonies", Json::array()}};
  if (state.range)
    json["range"] = {
        {"lower", whole_end_json(state.range->lower, state.range->lower_without)},
        {"upper", whole_end_json(state.range->upper, state.range->upper_without)}};
  for (const VoltageStretch& stretch : state.elsewhere)
    json["elsewhere"].push_back(stretch_json(stretch));
  for (const RangeTestimony& testimony : state.testimonies)
    json["testimonies"].push_back(
        {{"voltage", testimony.volts},
         {"verdict", verdict_word(testimony.verdict)},
         {"reason",
          testimony.reason.empty() ? Json(nullptr) : Json(testimony.reason)}});
  return json;
}

}  // namespace

std::string range_json(const RangeReport& report) {
  const Circuit& circuit = *report.file.circuit;
  const auto part = static_cast<std::size_t>(report.part);
  const auto common = common_range(report.states);
  Json json = {{"benchproof", kRangeLayout},
               {"title", circuit.title},
               {"file", report.file.file},
               {"variant", variant_json(report.file)},
               {"changes", changes_of(report.file)},
               {"verdict", verdict_word(verdict_of(report))},
               {"over", circuit.parts.at(part).name + ".voltage"},
               {"with_expectations", report.rules.expectations},
               {"cautious", report.rules.cautions},
               {"most", kMostRangeVolts},
               {"resolution", kRangeResolutionVolts},
               {"in_every_state", common ? stretch_json(*common) : Json(nullptr)},
               {"states", Json::array()}};
  for (const StateRange& state : report.states)
    json["states"].push_back(state_json(state));
  return document_text(json);
}

}  // namespace benchproof
