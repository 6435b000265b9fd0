#include <algorithm>
#include <nlohmann/json.hpp>

#include "cli/render/csv.h"
#include "cli/render/diagnose/diagnosis_report.h"
#include "cli/render/json_parts.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

constexpr int kDiagnosisLayout = 1;

/// So many pairs of faults are listed of a group, the most probable ones: behind a
/// fault that explains everything most others may hide.
constexpr std::size_t kMostPairs = 20;

Json fault_json(const Fault& fault) {
  return {{"id", fault.id},        {"mode", word_of(fault.mode)},
          {"parts", fault.parts},  {"pins", fault.pins},
          {"nets", fault.nets},    {"words", fault.words},
          {"remedy", fault.remedy}};
}

Json cause_json(const Diagnosis& diagnosis, const Cause& cause) {
  std::string words;
  std::string remedy;
  Json faults = Json::array();
  for (const Fault* fault : faults_in(diagnosis, cause.suspect)) {
    words += (words.empty() ? "" : ", and ") + fault->words;
    remedy += (remedy.empty() ? "" : "; ") + fault->remedy;
    faults.push_back(fault_json(*fault));
  }
  if (words.empty()) words = "as meant";
  return {{"words", words},
          {"remedy", remedy},
          {"probability", cause.probability},
          {"faults", std::move(faults)}};
}

Json question_json(const Question& question) {
  return {{"state", text_json(question.state)},
          {"power", question.powered ? "on" : "off"},
          {"out", question.out},
          {"asks", style_of(question.asks).key},
          {"net", text_json(question.net)},
          {"to", text_json(question.to)},
          {"part", text_json(question.part)},
          {"pin", text_json(question.pin)}};
}

Json next_json(const NextReading& next) {
  Json json = question_json(next.question);
  json["bits"] = next.bits;
  json["again"] = next.is_again;
  json["would_show"] = Json::array();
  for (const WouldShow& would : next.would_show)
    json["would_show"].push_back(
        {{"group", would.group},
         {"open", would.is_open},
         {"least", number_json(would.least)},
         {"most", number_json(would.most)},
         {"looks", would.looks ? Json(word_of(*would.looks)) : Json(nullptr)}});
  return json;
}

Json line_document(const Sheet& sheet, const SheetLine& line) {
  Json json = question_json(line.question);
  const bool is_looks = line.question.asks == Asks::looks;
  json["open"] = line.is_open;
  json["least"] = number_json(line.least);
  json["most"] = number_json(line.most);
  json["looks"] = is_looks ? Json(word_of(line.looks)) : Json(nullptr);
  json["parts"] = line.parts;
  json["points_to"] = Json::array();
  for (const std::size_t f : line.points_to)
    json["points_to"].push_back(sheet.faults[f].id);
  json["worth_taking"] = line.is_worth_taking;
  return json;
}

std::string shortest_or_empty(const std::optional<double>& value) {
  return value ? shortest(*value) : std::string();
}

/// Whether two faults at once were looked at.
bool has_pairs(const Diagnosis& diagnosis) {
  return diagnosis.looked_at_pairs ||
         std::any_of(diagnosis.groups.begin(), diagnosis.groups.end(),
                     [](const LikelyGroup& group) {
                       return std::any_of(group.causes.begin(), group.causes.end(),
                                          [](const Cause& cause) {
                                            return cause.suspect.second >= 0;
                                          });
                     });
}

}  // namespace

std::string diagnosis_json(const DiagnosisReport& report) {
  const Diagnosis& diagnosis = report.diagnosis;
  Json json = {{"benchproof", kDiagnosisLayout},
               {"file", report.file.file},
               {"variant", variant_json(report.file)},
               {"meter", report.meter.name},
               {"readings", diagnosis.readings},
               {"explained", diagnosis.explained},
               {"pairs", has_pairs(diagnosis)},
               {"dangers", diagnosis.dangers},
               {"groups", Json::array()}};
  for (const LikelyGroup& group : diagnosis.groups) {
    Json causes = Json::array();
    std::size_t pairs = 0;
    for (const Cause& cause : group.causes)
      if (cause.suspect.second < 0 || ++pairs <= kMostPairs)
        causes.push_back(cause_json(diagnosis, cause));
    const std::size_t more = group.causes.size() - causes.size();
    json["groups"].push_back(
        {{"probability", group.probability},
         {"confirmed", group.confirmed ? Json(*group.confirmed) : Json(nullptr)},
         {"misread", group.misfits},
         {"causes", std::move(causes)},
         {"more", more}});
  }
  json["next"] = diagnosis.next ? next_json(*diagnosis.next) : Json(nullptr);
  return document_text(json);
}

std::string sheet_json(const SheetReport& report) {
  Json json = {
      {"benchproof", kDiagnosisLayout},
      {"file", report.file.file},
      {"variant", variant_json(report.file)},
      {"meter", report.meter.name},
      {"faults", report.sheet.faults.size()},
      {"told_apart", report.sheet.classes},
      {"excluded", report.excluded > 0.0 ? Json(report.excluded) : Json(nullptr)},
      {"readings", Json::array()},
      {"alike", Json::array()}};
  for (const std::size_t k : report.lines)
    json["readings"].push_back(line_document(report.sheet, report.sheet.lines[k]));
  for (const std::vector<int>& alike : report.sheet.alike) {
    Json ids = Json::array();
    for (const int f : alike)
      ids.push_back(f < 0 ? Json("as meant")
                          : Json(report.sheet.faults[static_cast<std::size_t>(f)].id));
    json["alike"].push_back(std::move(ids));
  }
  return document_text(json);
}

std::string sheet_csv(const SheetReport& report) {
  std::string text =
      csv_row({"power", "state", "out", "asks", "net", "to", "part", "pin", "least",
               "most", "shows", "worth_taking", "points_to"});
  for (const std::size_t k : report.lines) {
    const SheetLine& line = report.sheet.lines[k];
    const Question& question = line.question;
    std::string out;
    for (const std::string& part : question.out) out += (out.empty() ? "" : " ") + part;
    std::string faults;
    for (const std::size_t f : line.points_to)
      faults += (faults.empty() ? "" : "; ") + report.sheet.faults[f].id;
    const std::string shows = line.is_open ? "open"
                              : question.asks == Asks::looks
                                  ? std::string(word_of(line.looks))
                                  : std::string();
    text += csv_row({question.powered ? "on" : "off", question.state, out,
                     std::string(style_of(question.asks).key), question.net,
                     question.to, question.part, question.pin,
                     shortest_or_empty(line.least), shortest_or_empty(line.most), shows,
                     line.is_worth_taking ? "yes" : "no", faults});
  }
  return text;
}

}  // namespace benchproof
