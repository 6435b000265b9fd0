#include "cli/render/regress/regress_json.h"

#include <fmt/format.h>

#include <array>
#include <nlohmann/json.hpp>
#include <utility>

#include "cli/render/json_parts.h"
#include "cli/render/verify/report.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

constexpr int kRegressLayout = 1;

constexpr std::array kVerdicts = {Verdict::good,          Verdict::caution,
                                  Verdict::fault,         Verdict::disagreement,
                                  Verdict::engine_failed, Verdict::nodal_failed};
constexpr std::array kUnits = {Unit::none, Unit::volt, Unit::ampere, Unit::celsius,
                               Unit::hertz};
constexpr std::array kRecordings = {std::pair{Recording::none, "none"},
                                    std::pair{Recording::compared, "compared"},
                                    std::pair{Recording::written, "written"},
                                    std::pair{Recording::unchanged, "unchanged"},
                                    std::pair{Recording::withheld, "withheld"}};

/// Thrown where a text is not what this file writes; does not leave it.
struct NotOurs {};

std::optional<double> optional_from(const Json& json) {
  return json.is_null() ? std::nullopt : std::optional(json.get<double>());
}

Json name_json(const CaseName& name) {
  return {{"variant", text_json(name.variant)},
          {"kind", name.is_run ? "run" : "state"},
          {"name", name.name}};
}

CaseName name_from(const Json& json) {
  const Json& variant = json.at("variant");
  return {variant.is_null() ? std::string() : variant.get<std::string>(),
          json.at("kind") == "run", json.at("name").get<std::string>()};
}

Json moved_json(const Moved& moved) {
  return {{"what", moved.what},
          {"unit", symbol(moved.unit)},
          {"was", number_json(moved.was)},
          {"is", number_json(moved.is)},
          {"allowed", moved.most}};
}

Moved moved_from(const Json& json) {
  Moved moved;
  moved.what = json.at("what").get<std::string>();
  for (const Unit unit : kUnits)
    if (json.at("unit") == symbol(unit)) moved.unit = unit;
  moved.was = optional_from(json.at("was"));
  moved.is = optional_from(json.at("is"));
  moved.most = json.at("allowed").get<double>();
  return moved;
}

Json case_json(const CaseOutcome& outcome) {
  Json json = name_json(outcome.name);
  json["passed"] = passes(outcome);
  json["verdict"] = verdict_word(outcome.verdict);
  json["problems"] = outcome.problems;
  json["moved"] = Json::array();
  for (const Moved& each : outcome.moved) json["moved"].push_back(moved_json(each));
  json["expectations"] = outcome.expectations;
  json["published"] = outcome.published;
  json["nearest"] = nullptr;
  if (outcome.nearest)
    json["nearest"] = {{"margin", outcome.nearest->share},
                       {"what", outcome.nearest->what}};
  return json;
}

Verdict verdict_from(const Json& json) {
  for (const Verdict verdict : kVerdicts)
    if (json == verdict_word(verdict)) return verdict;
  throw NotOurs{};
}

CaseOutcome case_from(const Json& json) {
  CaseOutcome outcome;
  outcome.name = name_from(json);
  outcome.verdict = verdict_from(json.at("verdict"));
  outcome.problems = json.at("problems").get<std::vector<std::string>>();
  for (const Json& each : json.at("moved")) outcome.moved.push_back(moved_from(each));
  outcome.expectations = json.at("expectations").get<int>();
  outcome.published = json.at("published").get<int>();
  if (const Json& nearest = json.at("nearest"); !nearest.is_null())
    outcome.nearest = NearLimit{nearest.at("margin").get<double>(),
                                nearest.at("what").get<std::string>()};
  return outcome;
}

Json circuit_json(const CircuitOutcome& outcome) {
  Json json = {{"file", outcome.file},
               {"passed", passes(outcome)},
               {"outcome", outcome_word(outcome)},
               {"complaints", outcome.complaints},
               {"trouble", text_json(outcome.trouble)},
               {"unanswered", outcome.is_unanswered},
               {"recording", nullptr},
               {"kept", outcome.is_kept},
               {"gone", Json::array()},
               {"cases", Json::array()}};
  for (const auto& [recording, text] : kRecordings)
    if (recording == outcome.recording) json["recording"] = text;
  for (const CaseName& name : outcome.gone) json["gone"].push_back(name_json(name));
  for (const CaseOutcome& each : outcome.cases)
    json["cases"].push_back(case_json(each));
  return json;
}

CircuitOutcome circuit_from(const Json& json) {
  CircuitOutcome outcome;
  outcome.file = json.at("file").get<std::string>();
  outcome.complaints = json.at("complaints").get<std::vector<std::string>>();
  if (const Json& trouble = json.at("trouble"); !trouble.is_null())
    outcome.trouble = trouble.get<std::string>();
  // Reports of earlier versions do not tell.
  outcome.is_unanswered = json.value("unanswered", false);
  outcome.is_kept = json.at("kept").get<bool>();
  for (const Json& name : json.at("gone")) outcome.gone.push_back(name_from(name));
  for (const Json& each : json.at("cases")) outcome.cases.push_back(case_from(each));
  for (const auto& [recording, text] : kRecordings)
    if (json.at("recording") == text) outcome.recording = recording;
  return outcome;
}

/// A text with blanks before each of its lines.
std::string indented(const std::string& text, std::size_t blanks) {
  const std::string indent(blanks, ' ');
  std::string result = indent;
  for (const char c : text) {
    result += c;
    if (c == '\n') result += indent;
  }
  return result;
}

}  // namespace

void put_regress_json(const RegressReport& report, const PutText& put) {
  const RegressHead& head = report.head;
  const RegressTally& sum = report.sum;
  const Json json = {{"benchproof", kRegressLayout},
                     {"regress",
                      {{"program", head.program},
                       {"paths", head.paths},
                       {"filters", head.filters},
                       {"shard", {{"part", head.shard.part}, {"of", head.shard.of}}},
                       {"left_alone", head.passed_over}}},
                     {"passed", sum.status == 0},
                     {"status", sum.status},
                     {"summary",
                      {{"circuits", sum.circuits},
                       {"passed", sum.passed},
                       {"kept", sum.kept},
                       {"states", sum.states},
                       {"runs", sum.runs},
                       {"variants", sum.variants},
                       {"expectations", sum.expectations},
                       {"published", sum.published},
                       {"compared", sum.compared},
                       {"written", sum.written}}},
                     {"circuits", Json::array()}};
  // The circuits go into the list that ends the document.
  constexpr std::string_view kEnd = "]\n}";
  std::string text = document_text(json);
  text.resize(text.size() - kEnd.size());
  put(text);
  bool is_first = true;
  report.each([&](const CircuitOutcome& circuit) {
    put((is_first ? "\n" : ",\n") + indented(document_text(circuit_json(circuit)), 4));
    is_first = false;
  });
  put((is_first ? "" : "\n  ") + std::string(kEnd));
}

std::variant<RegressHead, std::string> read_regress_head(std::string_view text) {
  try {
    const Json json = Json::parse(text);
    if (json.at("benchproof") != kRegressLayout)
      return fmt::format("its layout is not {}", kRegressLayout);
    RegressHead report;
    const Json& asked = json.at("regress");
    report.program = asked.at("program").get<std::string>();
    report.paths = asked.at("paths").get<std::vector<std::string>>();
    report.filters = asked.at("filters").get<std::vector<std::string>>();
    report.shard = {asked.at("shard").at("part").get<int>(),
                    asked.at("shard").at("of").get<int>()};
    if (report.shard.of < 1 || report.shard.of > kMostShards || report.shard.part < 1 ||
        report.shard.part > report.shard.of)
      throw NotOurs();
    report.passed_over = asked.at("left_alone").get<int>();
    if (!json.at("circuits").is_array()) throw NotOurs();
    return report;
  } catch (const Json::exception&) {
    return "it is not what 'regress --json' writes";
  } catch (const NotOurs&) {
    return "it is not what 'regress --json' writes";
  }
}

std::string outcome_json(const CircuitOutcome& outcome) {
  return document_text(circuit_json(outcome), -1);
}

std::optional<CircuitOutcome> read_outcome_json(std::string_view text) {
  try {
    return circuit_from(Json::parse(text));
  } catch (const Json::exception&) {
    return std::nullopt;
  } catch (const NotOurs&) {
    return std::nullopt;
  }
}

}  // namespace benchproof
