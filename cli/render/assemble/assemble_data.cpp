#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "cli/render/assemble/assemble_report.h"
#include "cli/render/board/board_report.h"
#include "cli/render/csv.h"
#include "cli/render/json_parts.h"
#include "core/assemble/fitting.h"
#include "core/base/quantity.h"
#include "core/board/places/islands.h"
#include "core/catalogue/kind.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

constexpr int kAssembleLayout = 1;

const Circuit& circuit_of(const AssembleReport& report) { return *report.file.circuit; }

Json net_json(const Circuit& circuit, int net) {
  return net < 0 ? Json(nullptr) : Json(circuit.nets[net].name);
}

std::string pin_name(const Circuit& circuit, PinRef pin) {
  const Part& part = circuit.parts[pin.part];
  return part.name + "." + part.pins[pin.pin];
}

Json names_json(const Circuit& circuit, const std::vector<int>& parts) {
  Json names = Json::array();
  for (const int part : parts) names.push_back(circuit.parts[part].name);
  return names;
}

std::string_view asks_word(StageCheck::Asks asks) {
  switch (asks) {
    case StageCheck::Asks::voltage:
      return "voltage";
    case StageCheck::Asks::resistance:
      return "resistance";
    case StageCheck::Asks::looks:
      return "looks";
  }
  return {};
}

std::string_view sort_word(StageSort sort) {
  switch (sort) {
    case StageSort::supply:
      return "supply";
    case StageSort::regulator:
      return "regulator";
    case StageSort::socket:
      return "socket";
    case StageSort::chip:
      return "chip";
    case StageSort::branch:
      return "branch";
  }
  return {};
}

Json check_json(const Circuit& circuit, const StageChecks& checks,
                const StageCheck& check) {
  return {
      {"state", check.is_powered ? Json(circuit.states[checks.state].name) : nullptr},
      {"power", check.is_powered ? "on" : "off"},
      {"out", names_json(circuit, check.out)},
      {"asks", asks_word(check.asks)},
      {"net", net_json(circuit, check.net)},
      {"to", nullptr},
      {"part", check.part < 0 ? Json(nullptr) : Json(circuit.parts[check.part].name)},
      {"least", number_json(check.least)},
      {"most", number_json(check.most)},
      {"engine", number_json(check.engine)},
      {"nodal", number_json(check.nodal)},
      {"average", check.is_average},
      {"looks", text_json(check.looks)}};
}

Json checks_json(const Circuit& circuit, const StageChecks& checks) {
  Json list = Json::array();
  for (const auto* some : {&checks.off, &checks.on})
    for (const StageCheck& check : *some)
      list.push_back(check_json(circuit, checks, check));
  return list;
}

Json stage_json(const AssembleReport& report, std::size_t k) {
  const Circuit& circuit = circuit_of(report);
  const BuildStage& stage = report.assembly.order.stages[k];
  const StageChecks& checks = report.assembly.checks[k];
  return {{"name", stage_name(circuit, stage)},
          {"sort", sort_word(stage.sort)},
          {"parts", names_json(circuit, stage.parts)},
          {"powered", checks.not_powered.empty()},
          {"reason", text_json(checks.not_powered)},
          {"supplies", names_json(circuit, checks.sources)},
          {"closed", names_json(circuit, checks.closed)},
          {"out", names_json(circuit, checks.out)},
          {"checks", checks_json(circuit, checks)}};
}

/// The hole of a part's pin, where there is a board and it has one.
std::optional<Hole> hole_of(const AssembleReport& report, const BuildStep& step,
                            int pin) {
  if (report.assembly.board == nullptr) return std::nullopt;
  return step.board.holes[pin];
}

Json board_join_json(const AssembleReport& report, const Join& join) {
  const Board& board = *report.assembly.board;
  return {{"from", hole_name(board, join.from)},
          {"net", net_json(circuit_of(report), net_of_join(report, join))},
          {"to", hole_name(board, join.to)},
          {"as", join_word(join.kind)},
          {"colour", text_json(colour_of_join(report, join))},
          {"millimetres", number_json(1e3 * length_of(board, join))}};
}

Json step_json(const AssembleReport& report, const BuildStep& step) {
  const Circuit& circuit = circuit_of(report);
  const Part& part = circuit.parts[step.part];
  Json pins = Json::object();
  Json joins = Json::array();
  for (const BuildJoin& join : step.joins) {
    const auto hole = hole_of(report, step, join.pin);
    pins[part.pins[join.pin]] =
        hole ? Json(hole_name(*report.assembly.board, *hole)) : Json(nullptr);
    if (join.net < 0 || hole) continue;
    const bool is_first = join.to.part < 0;
    joins.push_back(
        {{"from", pin_name(circuit, {step.part, join.pin})},
         {"net", net_json(circuit, join.net)},
         {"to", is_first ? Json(nullptr) : Json(pin_name(circuit, join.to))},
         {"as", is_first ? Json(nullptr) : Json("wire")},
         {"colour", join.colour},
         {"millimetres", nullptr}});
  }
  for (const int index : step.board.joins)
    joins.push_back(board_join_json(report, report.assembly.board->joins[index]));
  return {{"part", part.name},
          {"kind", kind(part.kind).name},
          {"what", text_json(step.what)},
          {"seen", text_json(step.seen)},
          {"stage", step.stage},
          {"pins", std::move(pins)},
          {"mark", text_json(step.mark)},
          {"joins", std::move(joins)},
          {"length", step.metres > 0.0 ? number_json(step.metres) : Json(nullptr)},
          {"checks", Json::array()},
          {"caution", text_json(fmt::format("{}", fmt::join(step.cautions, "; ")))}};
}

}  // namespace

int net_of_join(const AssembleReport& report, const Join& join) {
  const Islands islands = islands_of(*report.assembly.board);
  for (const BuildStep& step : report.assembly.steps) {
    const Part& part = circuit_of(report).parts[step.part];
    for (std::size_t pin = 0; pin < step.board.holes.size(); ++pin)
      if (step.board.holes[pin] &&
          islands.root(*step.board.holes[pin]) == islands.root(join.from))
        return part.nets[pin];
  }
  return -1;
}

std::string colour_of_join(const AssembleReport& report, const Join& join) {
  if (join.kind != JoinKind::wire) return {};
  if (!join.colour.empty()) return join.colour;
  const int net = net_of_join(report, join);
  return net < 0 ? "" : report.assembly.colours[net];
}

std::string stage_name(const Circuit& circuit, const BuildStage& stage) {
  const auto about = [&] { return circuit.parts[stage.about].name; };
  switch (stage.sort) {
    case StageSort::supply:
      return fmt::format("supply '{}'", about());
    case StageSort::regulator:
      return fmt::format("regulator '{}'", about());
    case StageSort::socket:
      return fmt::format("socket of '{}'", about());
    case StageSort::chip:
      return fmt::format("'{}' goes into its socket", about());
    case StageSort::branch:
      break;
  }
  std::vector<std::string> names;
  if (stage.pins.empty()) {
    for (const int part : stage.parts) {
      const KindId kind = circuit.parts[part].kind;
      if (kind == KindId::led || is_load(kind))
        names.push_back(circuit.parts[part].name);
    }
    if (names.empty() && !stage.parts.empty())
      names.push_back(circuit.parts[stage.parts.front()].name);
    return fmt::format("branch of {}", fmt::join(names, ", "));
  }
  for (const PinRef pin : stage.pins)
    names.push_back(fmt::format("'{}'", pin_name(circuit, pin)));
  const PinRef first = stage.pins.front();
  const bool is_output = is_output_pin(circuit.parts[first.part], first.pin);
  return fmt::format("{} {}", is_output ? "output" : "input",
                     fmt::join(names, " and "));
}

std::string assemble_json(const AssembleReport& report) {
  const Circuit& circuit = circuit_of(report);
  const Assembly& assembly = report.assembly;
  Json json = {
      {"benchproof", kAssembleLayout},
      {"title", circuit.title},
      {"file", report.file.file},
      {"variant", variant_json(report.file)},
      {"changes", changes_of(report.file)},
      {"verdict", verdict_word(report.file.verification.verdict)},
      {"meter",
       {{"share", kMeterShare},
        {"digits", kMeterDigits},
        {"counts", kMeterCounts},
        {"input", sheets_meter().input_ohms},
        {"resistance_test", sheets_meter().ohms_test_volts}}},
      {"board", report.assembly.board == nullptr ? Json(nullptr)
                                                 : Json(report.assembly.board->name)},
      {"board_findings", findings_json(report.board_findings)},
      {"cuts", report.assembly.board == nullptr
                   ? Json::array()
                   : Json(cut_names(*report.assembly.board))},
      {"before", general_cautions()},
      {"colours", Json::object()},
      {"stages", Json::array()},
      {"steps", Json::array()}};
  for (std::size_t n = 0; n < circuit.nets.size(); ++n)
    json["colours"][circuit.nets[n].name] = assembly.colours[n];
  for (std::size_t k = 0; k < assembly.order.stages.size(); ++k)
    json["stages"].push_back(stage_json(report, k));
  for (const BuildStep& step : assembly.steps)
    json["steps"].push_back(step_json(report, step));
  // The checks of a stage come after its last step; those of a chip that is put in,
  // after the last step before it.
  std::size_t last = 0;
  for (std::size_t k = 0; k < assembly.order.stages.size(); ++k) {
    for (std::size_t s = 0; s < assembly.steps.size(); ++s)
      if (assembly.steps[s].stage == k) last = s;
    if (json["steps"].empty()) break;
    for (Json& check : json["stages"][k]["checks"])
      json["steps"][last]["checks"].push_back(check);
  }
  return document_text(json);
}

std::string assemble_csv(const AssembleReport& report) {
  const Circuit& circuit = circuit_of(report);
  std::string text =
      csv_row({"step", "part", "pin", "net", "to", "as", "colour", "length [m]"});
  for (std::size_t k = 0; k < report.assembly.steps.size(); ++k) {
    const BuildStep& step = report.assembly.steps[k];
    const Part& part = circuit.parts[step.part];
    for (const BuildJoin& join : step.joins) {
      if (join.net < 0) continue;
      const auto hole = hole_of(report, step, join.pin);
      const bool is_first = !hole && join.to.part < 0;
      const std::string to = hole       ? hole_name(*report.assembly.board, *hole)
                             : is_first ? ""
                                        : pin_name(circuit, join.to);
      text += csv_row({std::to_string(k + 1), part.name, part.pins[join.pin],
                       circuit.nets[join.net].name, to,
                       is_first                     ? ""
                       : hole && !step.board.is_off ? "lead"
                                                    : "wire",
                       hole && !step.board.is_off ? "" : join.colour,
                       step.metres > 0.0 ? shortest(step.metres) : ""});
    }
    for (const int index : step.board.joins) {
      const Join& join = report.assembly.board->joins[index];
      const int net = net_of_join(report, join);
      text += csv_row({std::to_string(k + 1), "",
                       hole_name(*report.assembly.board, join.from),
                       net < 0 ? "" : circuit.nets[net].name,
                       hole_name(*report.assembly.board, join.to),
                       std::string(join_word(join.kind)), colour_of_join(report, join),
                       shortest(length_of(*report.assembly.board, join))});
    }
  }
  return text;
}

}  // namespace benchproof
