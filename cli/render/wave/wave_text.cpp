#include <fmt/format.h>

#include <utility>

#include "cli/render/csv.h"
#include "cli/render/layout.h"
#include "cli/render/plot.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/wave/wave_report.h"
#include "core/base/diagnostic.h"

namespace benchproof {
namespace {

Trace trace_of(const WaveSubject& subject, const Record& record) {
  if (subject.net >= 0) return record.volts(subject.net);
  Trace trace = record.amps(subject.part, subject.pin);
  if (subject.is_delivered)
    for (double& value : trace.values) value = -value;
  return trace;
}

}  // namespace

std::vector<WaveColumn> wave_columns(const WaveReport& report) {
  std::vector<WaveColumn> columns;
  for (const WaveSubject& s : report.subjects)
    for (const Testimony& t : report.testimonies)
      columns.push_back({s.name, s.unit, t.witness, trace_of(s, t.record)});
  return columns;
}

std::string wave_text(const WaveReport& report, const DrawingOptions& options) {
  const Run& run = *report.file.runs.front().run;
  std::vector<Strip> strips;
  for (const WaveSubject& s : report.subjects) {
    Strip strip{s.name, s.unit, {}};
    for (const Testimony& t : report.testimonies)
      strip.traces.push_back(trace_of(s, t.record));
    strips.push_back(std::move(strip));
  }
  std::string text = wrapped(fmt::format("run {}", run.name), 0, 2);
  text += plot(strips, {0.0, run.seconds}, options.is_utf8, options.columns);
  if (report.left_out > 0)
    text += fmt::format("{} more {}; --nets and --parts choose\n", report.left_out,
                        report.left_out == 1 ? "net moves" : "nets move");
  return text;
}

std::string wave_csv(const WaveReport& report) {
  const bool names_witness = report.testimonies.size() > 1;
  const std::vector<WaveColumn> columns = wave_columns(report);
  std::vector<std::string> fields = {"seconds"};
  for (const WaveColumn& c : columns)
    fields.push_back(fmt::format("{}{}{} [{}]", c.name, names_witness ? " " : "",
                                 names_witness ? c.witness : "", symbol(c.unit)));
  std::string text = csv_row(fields);
  for (const double seconds : report.times) {
    fields = {fmt::format("{}", seconds)};
    for (const WaveColumn& c : columns)
      fields.push_back(fmt::format("{}", value_at(c.trace, seconds) + 0.0));
    text += csv_row(fields);
  }
  return text;
}

std::string disagreement_text(const WaveReport& report) {
  const RunAgreement& agreement = report.file.runs.front().agreement;
  if (report.testimonies.size() < 2 || agreement.agrees) return {};
  return wrapped(
      fmt::format("benchproof: {}: {}", printable(report.file.file), agreement.reason),
      0, 2);
}

}  // namespace benchproof
