#include <cmath>
#include <nlohmann/json.hpp>

#include "cli/render/json_parts.h"
#include "cli/render/size/size_advice.h"
#include "cli/render/size/size_report.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

constexpr int kSizeLayout = 1;

Json keys_json(const SizeReport& report) {
  Json keys = Json::array();
  for (const SizedKey& key : report.request.keys)
    keys.push_back({{"part", report.file.circuit->parts[key.part].name},
                    {"key", key.key},
                    {"unit", symbol(key.unit)},
                    {"present", number_json(key.present)},
                    {"least", key.least},
                    {"most", key.most}});
  return keys;
}

Json yield_json(const ValuesYield& yield) {
  return {{"share", yield.share.share},
          {"least", yield.share.least},
          {"most", yield.share.most},
          {"works", yield.works},
          {"copies", yield.copies}};
}

Json candidate_json(const SizeChoice& c) {
  return {{"values", c.values},
          {"engine", number_json(c.engine)},
          {"nodal", number_json(c.nodal)},
          {"never", std::isinf(c.nodal)},
          {"least", number_json(c.least)},
          {"most", number_json(c.most)},
          {"agrees", c.agrees},
          {"keeps", c.keeps},
          {"verdict", verdict_word(c.verdict)},
          {"faults", findings_json(c.faults)},
          {"cautions", findings_json(c.cautions)},
          {"yield", c.yield ? yield_json(*c.yield) : Json(nullptr)}};
}

}  // namespace

std::string size_json(const SizeReport& report) {
  const SizeRequest& request = report.request;
  const Sizing& sizing = report.sizing;
  const Circuit& circuit = *report.file.circuit;
  const Goal& goal = request.goal;
  Json json = {{"benchproof", kSizeLayout}, {"file", report.file.file}};
  json["title"] = circuit.title;
  json["keys"] = keys_json(report);
  json["same"] = request.is_same;
  json["goal"] = {{"figure", goal.figure},
                  {"relation", sign(goal.relation)},
                  {"value", goal.want},
                  {"unit", symbol(goal.unit)},
                  {"least", number_json(band_of(goal).least)},
                  {"most", number_json(band_of(goal).most)}};
  json["state"] =
      request.state < 0 ? Json(nullptr) : Json(circuit.states[request.state].name);
  json["run"] =
      request.state < 0 ? Json(circuit.runs[goal.subject.run].name) : Json(nullptr);
  json["series"] = request.series ? Json(series_word(*request.series)) : Json(nullptr);
  json["present"] = number_json(sizing.present);
  json["exact"] = sizing.exact ? Json(*sizing.exact) : Json(nullptr);
  json["jumps"] = sizing.jumps;
  json["others"] = sizing.others;
  json["reach"] = {{"least", number_json(sizing.reach_least)},
                   {"most", number_json(sizing.reach_most)}};
  json["outcome"] = outcome_word(advise(request, sizing).outcome);
  json["yield"] = request.yield ? Json{{"copies", request.yield->copies},
                                       {"seed", request.yield->seed}}
                                : Json(nullptr);
  json["candidates"] = Json::array();
  for (const SizeChoice& c : sizing.candidates)
    json["candidates"].push_back(candidate_json(c));
  json["recommended"] =
      sizing.recommended < 0 ? Json(nullptr) : Json(sizing.recommended);
  json["written"] = Json::array();
  for (const Written& w : report.written)
    json["written"].push_back(
        {{"line", w.line}, {"column", w.column}, {"from", w.from}, {"to", w.to}});
  return document_text(json);
}

}  // namespace benchproof
