#include <nlohmann/json.hpp>
#include <string_view>

#include "cli/render/json_parts.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/wave/wave_report.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

/// Whether the witnesses agree; null unless both have testified.
Json agrees_json(const WaveReport& report) {
  if (report.testimonies.size() < 2) return nullptr;
  return report.file.runs.front().agreement.agrees;
}

Json failures_json(const RunResult& run) {
  Json failures = Json::array();
  const auto add_failure = [&failures](std::string_view witness,
                                       const Waveform& waveform) {
    if (waveform.status != SolveStatus::solved &&
        waveform.status != SolveStatus::not_asked)
      failures.push_back(
          {{"witness", witness}, {"reason", complaint_text(waveform.reason)}});
  };
  add_failure("engine", run.engine);
  add_failure("nodal", run.nodal);
  return failures;
}

Json traces_json(const WaveReport& report) {
  Json traces = Json::array();
  for (const WaveColumn& c : wave_columns(report)) {
    std::vector<double> values;
    values.reserve(report.times.size());
    for (const double seconds : report.times)
      values.push_back(value_at(c.trace, seconds));
    traces.push_back({{"name", c.name},
                      {"unit", symbol(c.unit)},
                      {"witness", c.witness},
                      {"values", values}});
  }
  return traces;
}

}  // namespace

std::string wave_json(const WaveReport& report) {
  const RunResult& run = report.file.runs.front();
  return document_text({{"benchproof", 1},
                        {"file", report.file.file},
                        {"variant", variant_json(report.file)},
                        {"changes", changes_of(report.file)},
                        {"run", run.name},
                        {"agrees", agrees_json(report)},
                        {"seconds", report.times},
                        {"traces", traces_json(report)},
                        {"failures", failures_json(run)}},
                       1);
}

}  // namespace benchproof
