#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "cli/render/csv.h"
#include "cli/render/json_parts.h"
#include "cli/render/tolerance/tolerance_report.h"
#include "core/base/quantity.h"
#include "core/check/expect/run_expectations.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

Json optional_json(const std::optional<double>& value) { return number_json(value); }

Json spread_json(const Spread& spread, bool matters) {
  return {{"target", spread.target},
          {"unit", symbol(spread.unit)},
          {"nominal", spread.nominal},
          {"least", spread.least},
          {"most", spread.most},
          {"distribution", spread.is_normal ? "normal" : "uniform"},
          {"from", word_of(spread.from)},
          {"source", spread.source},
          {"mark", mark_word(spread.mark)},
          {"matters", matters}};
}

/// The values that make an end: of the spreads that move the gauge.
Json extreme_json(const ToleranceReport& report, const GaugeTolerance& gauge,
                  const Extreme& end) {
  Json values = Json::object();
  for (std::size_t k = 0; k < end.places.size(); ++k) {
    const Spread& spread = report.result.spreads[k];
    const double variance = gauge.worst.variances[k];
    if (std::isfinite(variance) && variance > 0.0)
      values[spread.target] = end.values[k];
  }
  return {{"value", number_json(end.value)},
          {"engine", optional_json(end.engine)},
          {"nodal", optional_json(end.nodal)},
          {"agrees", end.agrees},
          {"fails", end.fails},
          {"values", std::move(values)}};
}

Json gauge_json(const ToleranceReport& report, const GaugeTolerance& gauge,
                std::size_t copies) {
  const Circuit& circuit = *report.file.circuit;
  const Gauge& g = gauge.gauge;
  Json drivers = Json::array();
  for (const Driver& driver : gauge.drivers)
    drivers.push_back({{"target", report.result.spreads[driver.spread].target},
                       {"share", driver.share}});
  const auto part_name = [&circuit](int part) {
    return circuit.parts[static_cast<std::size_t>(part)].name;
  };
  return {{"of", word_of(g.of)},
          {"check", text_json(g.check)},
          {"part", g.part < 0 ? Json(nullptr) : Json(part_name(g.part))},
          {"pin", g.part < 0 || g.pin < 0
                      ? Json(nullptr)
                      : Json(circuit.parts[static_cast<std::size_t>(g.part)]
                                 .pins[static_cast<std::size_t>(g.pin)])},
          {"net", g.net < 0 ? Json(nullptr)
                            : Json(circuit.nets[static_cast<std::size_t>(g.net)].name)},
          {"quantity", g.quantity},
          {"unit", symbol(g.unit)},
          {"nominal", number_json(gauge.nominal)},
          {"lower_limit", optional_json(g.lower)},
          {"upper_limit", optional_json(g.upper)},
          {"fails", share_failing(gauge, copies)},
          {"mean", number_json(gauge.copies.mean)},
          {"deviation", number_json(gauge.copies.deviation)},
          {"p01", number_json(gauge.copies.histogram.at(0.01))},
          {"p99", number_json(gauge.copies.histogram.at(0.99))},
          {"copies_least", number_json(gauge.copies.least)},
          {"copies_most", number_json(gauge.copies.most)},
          {"least", extreme_json(report, gauge, gauge.worst.least)},
          {"most", extreme_json(report, gauge, gauge.worst.most)},
          {"drivers", std::move(drivers)}};
}

Json alike_json(const ToleranceReport& report, const GaugeTolerance& gauge) {
  Json parts = Json::array();
  for (const int part : gauge.gauge.parts)
    parts.push_back(report.file.circuit->parts[static_cast<std::size_t>(part)].name);
  return {{"parts", std::move(parts)},
          {"ratio_p99", number_json(gauge.copies.histogram.at(0.99))},
          {"ratio_most", number_json(gauge.worst.most.value)}};
}

Json state_json(const ToleranceReport& report, const StateTolerance& state) {
  Json figures = Json::array();
  Json alike = Json::array();
  for (const GaugeTolerance& gauge : state.gauges) {
    if (gauge.gauge.of == Gauge::Of::alike)
      alike.push_back(alike_json(report, gauge));
    else
      figures.push_back(gauge_json(report, gauge, report.result.copies));
  }
  return {{"name", state.name},
          {"verdict", verdict_word(state.verdict)},
          {"figures", std::move(figures)},
          {"alike", std::move(alike)}};
}

Json run_json(const ToleranceReport& report, const RunTolerance& run) {
  const std::size_t copies = report.result.runs.copies;
  Json figures = Json::array();
  for (const GaugeTolerance& gauge : run.gauges) {
    figures.push_back(gauge_json(report, gauge, copies));
    const Expectation* expectation = gauge.gauge.expectation;
    figures.back()["demand"] =
        expectation == nullptr ? Json(nullptr) : Json(demand_text(*expectation));
  }
  Json faults = Json::array();
  for (const SpoiledRun& spoiled : run.faults)
    faults.push_back({{"check", spoiled.fault.check},
                      {"part", text_json(spoiled.fault.part)},
                      {"net", text_json(spoiled.fault.net)},
                      {"copies", spoiled.copies}});
  return {{"name", run.name},
          {"verdict", verdict_word(run.verdict)},
          {"unsolved", run.unsolved},
          {"reason", text_json(run.reason)},
          {"figures", std::move(figures)},
          {"faults", std::move(faults)}};
}

/// The copies that went through runs; null where none did.
Json in_runs_json(const RunsTolerance& runs) {
  if (runs.runs.empty()) return nullptr;
  return {{"copies", runs.copies},
          {"works", runs.works},
          {"works_in_all", runs.works_in_all},
          {"share", runs.yield.share},
          {"least", runs.yield.least},
          {"most", runs.yield.most},
          {"by_both", runs.asked_both},
          {"by_both_fail", runs.fail_both},
          {"left_out", runs.left_out}};
}

}  // namespace

std::string tolerance_json(const ToleranceReport& report) {
  const ToleranceResult& r = report.result;
  Json json = {
      {"benchproof", 1},
      {"title", report.file.circuit->title},
      {"file", report.file.file},
      {"variant", variant_json(report.file)},
      {"changes", changes_of(report.file)},
      {"copies", r.copies},
      {"seed", r.seed},
      {"verdict", verdict_word(verdict_of(report.file))},
      {"yield",
       {{"share", r.yield.share}, {"least", r.yield.least}, {"most", r.yield.most}}},
      {"works", r.works},
      {"in_runs", in_runs_json(r.runs)},
      {"unsolved", r.unsolved},
      {"judged_again",
       {{"copies", r.again.asked},
        {"fail", r.again.fail},
        {"by_both", r.again.asked_both},
        {"by_both_fail", r.again.fail_both}}},
      {"handed_on", r.handed_on},
      {"left_out", r.left_out},
      {"spreads", Json::array()},
      {"states", Json::array()},
      {"runs", Json::array()},
      {"helps", Json::array()}};
  for (std::size_t k = 0; k < r.spreads.size(); ++k)
    json["spreads"].push_back(spread_json(r.spreads[k], r.matters[k]));
  for (const StateTolerance& state : r.states)
    json["states"].push_back(state_json(report, state));
  for (const RunTolerance& run : r.runs.runs)
    json["runs"].push_back(run_json(report, run));
  for (const Help& help : r.helps)
    json["helps"].push_back({{"change", help.change}, {"share", help.share}});
  return document_text(json);
}

std::string tolerance_csv(const ToleranceReport& report) {
  const auto text_of = [](double value) {
    return std::isfinite(value) ? fmt::format("{}", value) : std::string();
  };
  const auto limit_text = [&](const std::optional<double>& limit) {
    return limit ? text_of(*limit) : std::string();
  };
  std::string text =
      csv_row({"state", "of", "figure", "unit", "described", "lower limit",
               "upper limit", "share failing", "least", "1 %", "mean", "99 %", "most",
               "driver", "share of driver", "run"});
  const auto add = [&](const std::vector<GaugeTolerance>& gauges,
                       const std::string& state, const std::string& run,
                       std::size_t copies) {
    for (const GaugeTolerance& gauge : gauges) {
      const Gauge& g = gauge.gauge;
      const Histogram& h = gauge.copies.histogram;
      const bool is_driven = !gauge.drivers.empty();
      text += csv_row(
          {state, std::string(word_of(g.of)), gauge_name(*report.file.circuit, g),
           std::string(symbol(g.unit)), text_of(gauge.nominal), limit_text(g.lower),
           limit_text(g.upper), text_of(share_failing(gauge, copies)),
           text_of(gauge.worst.least.value), text_of(h.at(0.01)),
           text_of(gauge.copies.mean), text_of(h.at(0.99)),
           text_of(gauge.worst.most.value),
           is_driven ? report.result.spreads[gauge.drivers.front().spread].target : "",
           is_driven ? text_of(gauge.drivers.front().share) : "", run});
    }
  };
  for (const StateTolerance& state : report.result.states)
    add(state.gauges, state.name, "", report.result.copies);
  for (const RunTolerance& run : report.result.runs.runs)
    add(run.gauges, "", run.name, report.result.runs.copies);
  return text;
}

}  // namespace benchproof
