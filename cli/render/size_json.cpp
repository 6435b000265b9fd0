#include <cmath>
#include <nlohmann/json.hpp>

#include "cli/render/json_parts.h"
#include "cli/render/size_report.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

constexpr int kLayout = 1;

Json number(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }

}  // namespace

std::string size_json(const SizeReport& report) {
  const SizeRequest& request = report.request;
  const Sizing& sizing = report.sizing;
  const Circuit& circuit = *report.file.circuit;
  const Goal& goal = request.goal;
  Json json = {{"benchproof", kLayout}, {"file", report.file.file}};
  json["title"] = circuit.title;
  json["keys"] = Json::array();
  for (const SizedKey& key : request.keys) {
    json["keys"].push_back(
        {{"part", circuit.parts[key.part].name},
         {"key", key.key},
         {"unit", symbol(key.unit)},
         {"present", key.present ? Json(*key.present) : Json(nullptr)},
         {"least", key.least},
         {"most", key.most}});
  }
  json["goal"] = {{"figure", goal.figure},
                  {"relation", sign(goal.relation)},
                  {"value", goal.want},
                  {"unit", symbol(goal.unit)}};
  json["state"] =
      request.state < 0 ? Json(nullptr) : Json(circuit.states[request.state].name);
  json["run"] =
      request.state < 0 ? Json(circuit.runs[goal.subject.run].name) : Json(nullptr);
  json["series"] = request.series ? Json(word(*request.series)) : Json(nullptr);
  json["present"] = number(sizing.present);
  json["exact"] = sizing.exact ? Json(*sizing.exact) : Json(nullptr);
  json["jumps"] = sizing.jumps;
  json["others"] = sizing.others;
  json["reach"] = {{"least", number(sizing.reach_least)},
                   {"most", number(sizing.reach_most)}};
  json["candidates"] = Json::array();
  for (const SizeChoice& c : sizing.candidates) {
    Json faults = Json::array();
    for (const Finding& finding : c.faults) faults.push_back(finding_json(finding));
    Json cautions = Json::array();
    for (const Finding& finding : c.cautions) cautions.push_back(finding_json(finding));
    json["candidates"].push_back({{"values", c.values},
                                  {"engine", number(c.engine)},
                                  {"nodal", number(c.nodal)},
                                  {"never", std::isinf(c.nodal)},
                                  {"least", number(c.least)},
                                  {"most", number(c.most)},
                                  {"agrees", c.agrees},
                                  {"keeps", c.keeps},
                                  {"verdict", word(c.verdict)},
                                  {"faults", faults},
                                  {"cautions", cautions}});
  }
  json["recommended"] =
      sizing.recommended < 0 ? Json(nullptr) : Json(sizing.recommended);
  json["written"] = Json::array();
  for (const Written& w : report.written)
    json["written"].push_back(
        {{"line", w.line}, {"column", w.column}, {"from", w.from}, {"to", w.to}});
  return document_text(json);
}

}  // namespace benchproof
