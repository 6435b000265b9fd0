#include "cli/render/verify/json.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <utility>

#include "cli/render/json_parts.h"
#include "core/base/diagnostic.h"
#include "core/base/quantity.h"
#include "core/catalogue/kind.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

constexpr int kLayout = 1;

/// One figure as each witness has it.
Json pair_json(std::optional<double> engine, std::optional<double> nodal) {
  return {{"engine", number_json(engine)}, {"nodal", number_json(nodal)}};
}

/// An element of a list that is empty where a witness has no answer.
std::optional<double> value_if_any(const std::vector<double>& list, std::size_t index) {
  return index < list.size() ? std::optional(list[index]) : std::nullopt;
}

std::optional<double> pin_at(const Observation& seen, std::size_t part,
                             std::size_t pin) {
  return part < seen.pin_amps.size() ? value_if_any(seen.pin_amps[part], pin)
                                     : std::nullopt;
}

/// Adds a member without looking for it among the others: names are unique, and a
/// circuit may have thousands.
void append(Json& object, const std::string& name, Json value) {
  object.get_ref<Json::object_t&>().emplace_back(name, std::move(value));
}

Json nets_json(const Circuit& circuit, const Observation& engine,
               const Observation& nodal) {
  Json nets = Json::object();
  for (std::size_t k = 0; k < circuit.nets.size(); ++k)
    append(
        nets, circuit.nets[k].name,
        pair_json(value_if_any(engine.net_volts, k), value_if_any(nodal.net_volts, k)));
  return nets;
}

/// The names of the nets whose level leakage alone sets.
Json floating_json(const Circuit& circuit, const StateResult& state) {
  Json names = Json::array();
  for (std::size_t k = 0; k < state.floating.size(); ++k)
    if (state.floating[k]) names.push_back(circuit.nets[k].name);
  return names;
}

Json parts_json(const Circuit& circuit, const Observation& engine,
                const Observation& nodal) {
  Json parts = Json::object();
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    Json pins = Json::object();
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin)
      append(pins, part.pins[pin],
             pair_json(pin_at(engine, k, pin), pin_at(nodal, k, pin)));
    append(parts, part.name,
           {{"kind", kind(part.kind).name},
            {"pins", std::move(pins)},
            {"power", number_json(value_if_any(nodal.part_watts, k))},
            {"line", line_json(part.span)}});
  }
  return parts;
}

/// How far they are apart in voltages and currents, over what is allowed.
double share_apart(const Agreement& a) {
  return std::max(volts_share(a), amps_share(a));
}

/// Where a witness has no answer nothing was compared, and there are no figures.
Json agreement_json(const PhaseResult& phase) {
  const Agreement& a = phase.agreement;
  const bool is_compared = is_complete(phase.network, phase.engine) &&
                           is_complete(phase.network, phase.nodal);
  const auto compared = [is_compared](double value) {
    return is_compared ? std::optional(value) : std::nullopt;
  };
  const auto pair = [&compared](double engine, double nodal) {
    return pair_json(compared(engine), compared(nodal));
  };
  return {{"agrees", a.agrees},
          {"net", text_json(a.net)},
          {"difference", number_json(compared(a.difference))},
          {"share", number_json(compared(share_apart(a)))},
          {"residual",
           number_json(compared(std::max(a.engine_residual, a.nodal_residual)))},
          {"voltage", pair(a.engine_volts, a.nodal_volts)},
          {"part", text_json(a.part)},
          {"pin", text_json(a.pin)},
          {"current", pair(a.engine_amps, a.nodal_amps)},
          {"residuals", pair(a.engine_residual, a.nodal_residual)},
          {"reason", text_json(a.reason)}};
}

/// The phase whose agreement stands for the state: the first that does not agree, else
/// the one where they are farthest apart.
const PhaseResult& worst_phase(const StateResult& state) {
  return *std::max_element(state.phases.begin(), state.phases.end(),
                           [](const PhaseResult& a, const PhaseResult& b) {
                             if (a.agreement.agrees != b.agreement.agrees)
                               return a.agreement.agrees;
                             return a.agreement.agrees &&
                                    share_apart(a.agreement) < share_apart(b.agreement);
                           });
}

std::string_view status_word(SolveStatus status) {
  switch (status) {
    case SolveStatus::solved:
      return "solved";
    case SolveStatus::no_convergence:
      return "no-convergence";
    case SolveStatus::engine_failed:
      return "engine-failed";
    case SolveStatus::engine_lost:
      return "engine-lost";
    case SolveStatus::not_asked:
      return "not-asked";
  }
  return {};
}

Json witness_json(const Solution& solution) {
  return {{"status", status_word(solution.status)},
          {"reason", text_json(solution.reason)}};
}

Json phase_json(const Circuit& circuit, const PhaseResult& phase) {
  return {{"name", phase.phase.name},
          {"share", number_json(phase.phase.share)},
          {"agreement", agreement_json(phase)},
          {"engine", witness_json(phase.engine)},
          {"nodal", witness_json(phase.nodal)},
          {"nets", nets_json(circuit, phase.engine_seen, phase.nodal_seen)},
          {"parts", parts_json(circuit, phase.engine_seen, phase.nodal_seen)}};
}

std::string_view quantity_word(Quantity quantity) {
  switch (quantity) {
    case Quantity::voltage:
      return "voltage";
    case Quantity::current:
      return "current";
    case Quantity::power:
      return "power";
    case Quantity::temperature:
      return "temperature";
  }
  return {};
}

std::string_view phase_word(Expectation::Phase phase) {
  switch (phase) {
    case Expectation::Phase::average:
      return "average";
    case Expectation::Phase::on:
      return "on";
    case Expectation::Phase::off:
      return "off";
  }
  return {};
}

/// The subject of an expectation: quantity, net, part and pin.
Json subject_json(const Circuit& circuit, const Expectation& e) {
  const auto net_name = [&](int net) {
    return net < 0 ? Json(nullptr)
                   : Json(circuit.nets.at(static_cast<std::size_t>(net)).name);
  };
  const Part* part =
      e.part < 0 ? nullptr : &circuit.parts.at(static_cast<std::size_t>(e.part));
  const bool has_pin = part != nullptr && e.pin >= 0;
  return {{"quantity", quantity_word(e.quantity)},
          {"net", net_name(e.net)},
          {"to", net_name(e.to)},
          {"part", part == nullptr ? Json(nullptr) : Json(part->name)},
          {"pin", has_pin ? Json(part->pins.at(static_cast<std::size_t>(e.pin)))
                          : Json(nullptr)}};
}

/// Whether an expectation holds, and why it is asked.
void add_judgement(Json& json, bool holds, const Expectation& e) {
  json["holds"] = holds;
  json["source"] = text_json(e.source);
  json["mark"] = text_json(e.mark);
  json["why"] = text_json(e.why);
  json["line"] = line_json(e.span);
}

Json expectation_json(const Circuit& circuit, const ExpectationResult& result) {
  const Expectation& e = *result.expectation;
  Json json = subject_json(circuit, e);
  json["phase"] = phase_word(e.phase);
  json["min"] = number_json(e.least);
  json["max"] = number_json(e.most);
  json["nominal"] = number_json(e.nominal);
  json["engine"] = number_json(result.engine);
  json["nodal"] = number_json(result.nodal);
  add_judgement(json, result.holds, e);
  return json;
}

Json hand_json(const HandResult& hand) {
  return {{"rule", hand.rule},
          {"part", text_json(hand.part)},
          {"net", text_json(hand.net)},
          {"quantity", hand.quantity},
          {"unit", symbol(hand.unit)},
          {"formula", hand.formula},
          {"numbers", hand.numbers},
          {"hand", number_json(hand.hand)},
          {"solved", number_json(hand.nodal)},
          {"engine", number_json(hand.engine)},
          {"nodal", number_json(hand.nodal)},
          {"deviation", number_json(deviation(hand))},
          {"title", hand.title},
          {"neglects", hand.neglects},
          {"source", hand.source},
          {"mark", mark_word(hand.mark)}};
}

Json state_json(const Circuit& circuit, const StateResult& state) {
  const PhaseResult& worst = worst_phase(state);
  Json json = {{"name", state.name},
               {"verdict", verdict_word(state.verdict)},
               {"agreement", agreement_json(worst)},
               {"engine", witness_json(worst.engine)},
               {"nodal", witness_json(worst.nodal)},
               {"nets", nets_json(circuit, state.engine, state.nodal)},
               {"floating", floating_json(circuit, state)},
               {"parts", parts_json(circuit, state.engine, state.nodal)},
               {"phases", Json::array()},
               {"findings", Json::array()},
               {"expectations", Json::array()},
               {"by_hand", Json::array()}};
  if (state.phases.size() > 1 || !state.agrees)
    for (const PhaseResult& phase : state.phases)
      json["phases"].push_back(phase_json(circuit, phase));
  json["findings"] = findings_json(state.findings);
  for (const ExpectationResult& result : state.expectations)
    json["expectations"].push_back(expectation_json(circuit, result));
  for (const HandResult& hand : state.by_hand)
    json["by_hand"].push_back(hand_json(hand));
  return json;
}

Json measure_json(const RunMeasure& measure) {
  return {{"value", number_json(measure.value)},
          {"time", number_json(measure.seconds)}};
}

Json run_expectation_json(const Circuit& circuit, const RunExpectationResult& result) {
  const Expectation& e = *result.expectation;
  Json json = subject_json(circuit, e);
  json["asked"] = demand_text(e);
  json["engine"] = measure_json(result.engine);
  json["nodal"] = measure_json(result.nodal);
  add_judgement(json, result.holds, e);
  return json;
}

Json run_json(const Circuit& circuit, const RunResult& run) {
  const RunAgreement& a = run.agreement;
  const bool is_compared = run.engine.status == SolveStatus::solved &&
                           run.nodal.status == SolveStatus::solved;
  const auto compared = [is_compared](double value) {
    return number_json(is_compared ? std::optional(value) : std::nullopt);
  };
  Json json = {
      {"name", run.name},
      {"verdict", verdict_word(run.verdict)},
      {"span", number_json(run.run->seconds)},
      {"agreement",
       {{"agrees", a.agrees},
        {"net", text_json(a.net)},
        {"time", compared(a.seconds)},
        {"difference", compared(a.difference)},
        {"allowed", compared(a.allowed)},
        {"share", compared(share_of(a))},
        {"voltage",
         {{"engine", compared(a.engine_volts)}, {"nodal", compared(a.nodal_volts)}}},
        {"reason", text_json(a.reason)}}},
      {"engine",
       {{"status", status_word(run.engine.status)},
        {"reason", text_json(run.engine.reason)},
        {"points", run.engine_points}}},
      {"nodal",
       {{"status", status_word(run.nodal.status)},
        {"reason", text_json(run.nodal.reason)},
        {"points", run.nodal_points}}},
      {"expectations", Json::array()},
      {"findings", Json::array()},
      {"by_hand", Json::array()}};
  for (const RunExpectationResult& result : run.expectations)
    json["expectations"].push_back(run_expectation_json(circuit, result));
  json["findings"] = findings_json(run.findings);
  for (const HandResult& hand : run.by_hand) json["by_hand"].push_back(hand_json(hand));
  return json;
}

Json expected_json(const Circuit& circuit, const ExpectedFindingResult& result) {
  const ExpectedFinding& e = *result.expected;
  return {{"finding", e.check},
          {"part", text_json(e.part)},
          {"net", text_json(e.net)},
          {"grade", text_json(e.grade)},
          {"state", text_json(e.state)},
          {"run", e.run < 0 ? Json() : Json(circuit.runs[e.run].name)},
          {"holds", result.count > 0},
          {"count", result.count},
          {"why", text_json(e.why)},
          {"line", line_json(e.span)}};
}

Json one_mistake_json(const std::optional<OneMistake>& found) {
  if (!found) return nullptr;
  Json json = {{"faults", found->faults}, {"causes", Json::array()}};
  for (const OneMistake::Cause& cause : found->causes)
    json["causes"].push_back({{"mistake", cause.mistake},
                              {"remedy", cause.remedy},
                              {"parts", cause.parts}});
  return json;
}

Json report_json(const FileReport& report) {
  Json json = {{"benchproof", kLayout}};
  if (!report.circuit) {
    json["file"] = report.file;
    json["verdict"] = "refused";
    json["complaints"] = Json::array();
    for (const Diagnostic& complaint : report.own_catalogue.complaints)
      json["complaints"].push_back(
          complaint_json(complaint, report.own_catalogue.file));
    for (const Diagnostic& complaint : report.complaints)
      json["complaints"].push_back(
          complaint_json(complaint, text_of(report, complaint).name));
    return json;
  }
  json["title"] = report.circuit->title;
  json["file"] = report.file;
  json["variant"] = variant_json(report);
  json["changes"] = changes_of(report);
  json["verdict"] = verdict_word(verdict_of(report));
  json["ambient"] = number_json(report.circuit->ambient);
  json["states"] = Json::array();
  for (const StateResult& state : report.verification.states)
    json["states"].push_back(state_json(*report.circuit, state));
  json["one_mistake"] = one_mistake_json(report.one_mistake);
  json["runs"] = Json::array();
  for (const RunResult& run : report.runs)
    json["runs"].push_back(run_json(*report.circuit, run));
  json["expected_findings"] = Json::array();
  for (const ExpectedFindingResult& result : report.expected)
    json["expected_findings"].push_back(expected_json(*report.circuit, result));
  return json;
}

}  // namespace

std::string verify_json(const FileReport& report,
                        const std::vector<FileReport>& variants) {
  Json json = report_json(report);
  for (const FileReport& variant : variants)
    json["variants"].push_back(report_json(variant));
  return document_text(json);
}

}  // namespace benchproof
