#include "cli/commands/wave.h"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <langinfo.h>

#include <algorithm>
#include <clocale>
#include <cmath>
#include <nlohmann/json.hpp>
#include <string_view>
#include <utility>

#include "cli/commands/output.h"
#include "cli/commands/progress.h"
#include "cli/commands/reading.h"
#include "cli/commands/witnesses.h"
#include "cli/render/csv.h"
#include "cli/render/findings_text.h"
#include "cli/render/json.h"
#include "cli/render/json_parts.h"
#include "cli/render/layout.h"
#include "cli/render/plot.h"
#include "cli/render/text.h"
#include "core/base/diagnostic.h"
#include "core/check/agree/run_agreement.h"
#include "core/check/expect/expectations.h"
#include "core/check/rest/limits.h"
#include "core/network/record.h"
#include "core/nodal/transient.h"
#include "spice/session/engine_session.h"
#include "spice/session/witness.h"

namespace benchproof {
namespace {

/// A quantity to show: a net's voltage, or the current into a part's pin (what a supply
/// delivers at plus).
struct Shown {
  std::string name;
  Unit unit = Unit::volt;
  int net = -1;
  int part = -1;
  int pin = 0;
  bool is_delivered = false;
};

Trace trace_of(const Shown& shown, const Record& record) {
  if (shown.net >= 0) return record.volts(shown.net);
  Trace trace = record.amps(shown.part, shown.pin);
  if (shown.is_delivered)
    for (double& value : trace.values) value = -value;
  return trace;
}

/// A complaint about what was asked for, on the command line.
void complain(std::vector<Diagnostic>& complaints, const std::string& id,
              std::string message, std::string hint = {}) {
  complaints.push_back({id, {}, std::move(message), std::move(hint)});
}

constexpr const char* kAsked = "command-line";

/// Complains about a name that is none of `known`.
void complain_unknown(std::vector<Diagnostic>& complaints, std::string_view what,
                      const std::string& name, const std::vector<std::string>& known) {
  const std::string near = nearest(name, known);
  complain(complaints, fmt::format("{}-unknown", what),
           fmt::format("there is no {} '{}'", what, printable(name)),
           near.empty() ? fmt::format("{}s: {}", what, fmt::join(known, ", "))
                        : fmt::format("did you mean '{}'?", near));
}

/// Whether a quantity is new; complains of one that was asked for before.
bool is_new(const std::vector<std::string>& names, std::size_t index,
            std::vector<Diagnostic>& complaints) {
  const auto end = names.begin() + static_cast<std::ptrdiff_t>(index);
  if (std::find(names.begin(), end, names[index]) == end) return true;
  complain(complaints, kAsked,
           fmt::format("'{}' is asked for twice", printable(names[index])));
  return false;
}

template <typename List>
std::vector<std::string> names_of(const List& list) {
  std::vector<std::string> names;
  names.reserve(list.size());
  for (const auto& item : list) names.push_back(item.name);
  return names;
}

std::vector<Shown> wanted_nets(const Circuit& circuit, const WaveOptions& options,
                               std::vector<Diagnostic>& complaints) {
  std::vector<Shown> shown;
  for (std::size_t k = 0; k < options.nets.size(); ++k) {
    const std::string& name = options.nets[k];
    if (!is_new(options.nets, k, complaints)) continue;
    const auto net = std::find_if(circuit.nets.begin(), circuit.nets.end(),
                                  [&name](const Net& n) { return n.name == name; });
    if (net == circuit.nets.end()) {
      complain_unknown(complaints, "net", name, names_of(circuit.nets));
      continue;
    }
    shown.push_back({name, Unit::volt, static_cast<int>(net - circuit.nets.begin())});
  }
  return shown;
}

std::vector<Shown> wanted_parts(const Circuit& circuit, const WaveOptions& options,
                                std::vector<Diagnostic>& complaints) {
  std::vector<Shown> shown;
  for (std::size_t k = 0; k < options.parts.size(); ++k) {
    const std::string& text = options.parts[k];
    if (!is_new(options.parts, k, complaints)) continue;
    const std::string name = text.substr(0, text.find('.'));
    const bool has_pin = name.size() < text.size();
    const auto part = std::find_if(circuit.parts.begin(), circuit.parts.end(),
                                   [&name](const Part& p) { return p.name == name; });
    if (part == circuit.parts.end()) {
      complain_unknown(complaints, "part", name, names_of(circuit.parts));
      continue;
    }
    Shown s{text, Unit::ampere};
    s.part = static_cast<int>(part - circuit.parts.begin());
    if (has_pin) {
      const std::string pin = text.substr(name.size() + 1);
      s.pin = pin_index(*part, pin);
      if (s.pin < 0) complain_unknown(complaints, "pin", pin, part->pins);
    } else if (part->pins.size() > 2) {
      complain(complaints, kAsked, fmt::format("'{}' has more than two pins", name),
               fmt::format("name one, as in '{}.{}'", name, part->pins.front()));
    } else {
      s.is_delivered = is_source(part->kind);
    }
    shown.push_back(std::move(s));
  }
  return shown;
}

/// Without a choice: the nets that move, at most as many as a screen shows.
std::vector<Shown> moving_nets(const Circuit& circuit, const Record& record,
                               std::size_t most, std::size_t& left_out) {
  constexpr double kMoves = 1e-3;  // volt
  std::vector<Shown> shown;
  left_out = 0;
  for (std::size_t net = 1; net < circuit.nets.size(); ++net) {
    const Extremes e = extremes(record.volts(static_cast<int>(net)), record.whole());
    if (e.highest - e.lowest < kMoves) continue;
    if (shown.size() < most) {
      shown.push_back({circuit.nets[net].name, Unit::volt, static_cast<int>(net)});
    } else {
      ++left_out;
    }
  }
  return shown;
}

/// The multiples of `every` within the span, or nothing.
std::vector<double> grid(double span, std::optional<double> every) {
  std::vector<double> times;
  if (!every) return times;
  // Where a second is so many of them, its share is the nearest to what one writes:
  // 0.3, where 3 times 0.1 is 0.30000000000000004.
  const double a_second = std::round(1.0 / *every);
  const bool is_share = a_second >= 1.0 && std::abs(a_second * *every - 1.0) < 1e-12;
  const double count = std::floor(span / *every * (1.0 + 1e-12));
  for (double k = 0.0; k <= count; k += 1.0)
    times.push_back(std::min(is_share ? k / a_second : k * *every, span));
  return times;
}

/// What one witness has to show.
struct Testimony {
  std::string witness;
  Record record;
};

/// A witness without an answer, and why.
struct Failure {
  std::string witness;
  std::string reason;
};

struct Column {
  std::string name;
  Unit unit = Unit::volt;
  std::string witness;
  Trace trace;
};

std::vector<Column> columns_of(const std::vector<Shown>& shown,
                               const std::vector<Testimony>& testimonies) {
  std::vector<Column> columns;
  for (const Shown& s : shown)
    for (const Testimony& t : testimonies)
      columns.push_back({s.name, s.unit, t.witness, trace_of(s, t.record)});
  return columns;
}

/// RFC 4180, one row per time; SI units; numbers that read back as they are, but for
/// the sign of a zero.
std::string csv_text(const std::vector<Column>& columns,
                     const std::vector<double>& times, bool names_witness) {
  std::vector<std::string> fields = {"seconds"};
  for (const Column& c : columns)
    fields.push_back(fmt::format("{}{}{} [{}]", c.name, names_witness ? " " : "",
                                 names_witness ? c.witness : "", symbol(c.unit)));
  std::string text = csv_row(fields);
  for (const double seconds : times) {
    fields = {fmt::format("{}", seconds)};
    for (const Column& c : columns)
      fields.push_back(fmt::format("{}", value_at(c.trace, seconds) + 0.0));
    text += csv_row(fields);
  }
  return text;
}

std::string json_text(const FileReport& report, const Run& run,
                      const std::vector<Column>& columns,
                      const std::vector<double>& times, const RunAgreement* agreement,
                      const std::vector<Failure>& failures) {
  nlohmann::ordered_json json = {{"benchproof", 1},
                                 {"file", report.file},
                                 {"variant", variant_json(report)},
                                 {"changes", changes_of(report)},
                                 {"run", run.name},
                                 {"agrees", nullptr},
                                 {"seconds", times},
                                 {"traces", nlohmann::ordered_json::array()},
                                 {"failures", nlohmann::ordered_json::array()}};
  for (const Failure& failure : failures)
    json["failures"].push_back(
        {{"witness", failure.witness}, {"reason", failure.reason}});
  if (agreement != nullptr) json["agrees"] = agreement->agrees;
  for (const Column& c : columns) {
    std::vector<double> values;
    values.reserve(times.size());
    for (const double seconds : times) values.push_back(value_at(c.trace, seconds));
    json["traces"].push_back({{"name", c.name},
                              {"unit", symbol(c.unit)},
                              {"witness", c.witness},
                              {"values", values}});
  }
  return document_text(json, 1) + "\n";
}

/// Whether the reader's terminal or file takes UTF-8.
bool takes_utf8() {
  std::setlocale(LC_CTYPE, "");
  const bool is_utf8 = std::string_view(nl_langinfo(CODESET)) == "UTF-8";
  std::setlocale(LC_CTYPE, "C");
  return is_utf8;
}

std::string plot_text(const Run& run, const std::vector<Shown>& shown,
                      const std::vector<Testimony>& testimonies, std::size_t left_out) {
  std::vector<Strip> strips;
  for (const Shown& s : shown) {
    Strip strip{s.name, s.unit, {}};
    for (const Testimony& t : testimonies)
      strip.traces.push_back(trace_of(s, t.record));
    strips.push_back(std::move(strip));
  }
  std::string text = wrapped(fmt::format("run {}", run.name), 0, 2);
  text += plot(strips, {0.0, run.seconds}, takes_utf8(), drawing_columns());
  if (left_out > 0)
    text += fmt::format("{} more {}; --nets and --parts choose\n", left_out,
                        left_out == 1 ? "net moves" : "nets move");
  return text;
}

const Run* wanted_run(const Circuit& circuit, const WaveOptions& options,
                      std::vector<Diagnostic>& complaints) {
  if (circuit.runs.empty()) {
    complain(complaints, kAsked, "the description has no runs");
    return nullptr;
  }
  if (options.run.empty() && circuit.runs.size() == 1) return &circuit.runs.front();
  if (options.run.empty()) {
    complain(
        complaints, kAsked, "there are several runs",
        fmt::format("choose with --run: {}", fmt::join(names_of(circuit.runs), ", ")));
    return nullptr;
  }
  const auto run =
      std::find_if(circuit.runs.begin(), circuit.runs.end(),
                   [&options](const Run& r) { return r.name == options.run; });
  if (run != circuit.runs.end()) return &*run;
  complain_unknown(complaints, "run", options.run, names_of(circuit.runs));
  return nullptr;
}

/// Refuses what was asked for of a description that is right, as data too if wanted.
int refuse_request(FileReport report, const std::vector<Diagnostic>& complaints,
                   const WaveOptions& options) {
  for (const Diagnostic& c : complaints) {
    write_error(wrapped(fmt::format("benchproof: {}: {}{}{}", printable(report.file),
                                    c.message, c.hint.empty() ? "" : "; ", c.hint),
                        0, 2));
  }
  report.complaints = complaints;
  report.circuit.reset();
  if (options.json) static_cast<void>(write_result(verify_json(report) + "\n"));
  return kExitRefused;
}

}  // namespace

int run_wave(const WaveOptions& options) {
  const Catalogue catalogue = built_in_catalogue();
  FileReport report = read_description(options.file, catalogue, options.asked, {});
  if (!report.circuit) return refuse(report, options.json);
  const Circuit& circuit = *report.circuit;

  std::vector<Diagnostic> complaints;
  const Run* run = wanted_run(circuit, options, complaints);
  std::vector<Shown> shown = wanted_nets(circuit, options, complaints);
  for (Shown& s : wanted_parts(circuit, options, complaints))
    shown.push_back(std::move(s));
  constexpr double kMostRows = 1e6;
  if (run != nullptr && options.every && run->seconds / *options.every > kMostRows)
    complain(
        complaints, kAsked,
        fmt::format("--every would give {:.3g} rows", run->seconds / *options.every),
        fmt::format("at most {:.0f}", kMostRows));
  if (run != nullptr && options.every && *options.every > run->seconds)
    complain(complaints, kAsked,
             fmt::format("--every is longer than the run, which ends after {}",
                         short_text(run->seconds, Unit::second)));
  if (!complaints.empty())
    return refuse_request(std::move(report), complaints, options);

  const Timeline timeline = make_timeline(circuit, *run);
  const bool wants_both = options.witness == "both";
  const bool wants_engine = options.witness != "nodal";
  const bool wants_nodal = options.witness != "engine";
  EngineOptions engine_options;
  engine_options.allow_unsealed = options.allow_unsealed;
  EngineSession session(engine_options);
  const std::vector<double> also_at = grid(run->seconds, options.every);
  Hearing heard;
  StillSolving progress;
  if (wants_both) {
    heard = hear(circuit, timeline, engine_in_time(session), nodal_in_time, also_at);
  } else if (wants_engine) {
    heard.engine = solve_with_engine(session, timeline);
  } else {
    heard.nodal = solve_nodal(timeline, also_at);
  }
  progress.end();

  std::vector<Testimony> testimonies;
  std::vector<Failure> failures;
  int status = kExitGood;
  const auto testify = [&](const char* witness, const Waveform& waveform) {
    if (waveform.status == SolveStatus::solved) {
      testimonies.push_back({witness, Record(circuit, timeline, waveform)});
      return;
    }
    write_error(wrapped(
        fmt::format("benchproof: {}: the {} witness has no answer: {}",
                    printable(report.file), witness, complaint_text(waveform.reason)),
        0, 2));
    failures.push_back({witness, complaint_text(waveform.reason)});
    status = kExitNoAnswer;
  };
  if (wants_engine) testify("engine", heard.engine);
  if (wants_nodal) testify("nodal", heard.nodal);
  if (testimonies.empty()) {
    if (!options.json) return status;
    const std::string text = json_text(report, *run, {}, {}, nullptr, failures);
    return write_result(text) ? status : std::max(status, kExitRefused);
  }
  const RunAgreement* agreement = testimonies.size() == 2 ? &heard.agreement : nullptr;
  if (agreement != nullptr && !agreement->agrees) {
    write_error(wrapped(
        fmt::format("benchproof: {}: {}", printable(report.file), agreement->reason), 0,
        2));
    status = kExitDisagreement;
  }

  std::size_t left_out = 0;
  const bool is_drawn = !options.csv && !options.json;
  if (shown.empty()) {
    constexpr std::size_t kMostStrips = 6;
    shown = moving_nets(circuit, testimonies.back().record,
                        is_drawn ? kMostStrips : circuit.nets.size(), left_out);
  }
  if (is_drawn) {
    const std::string text = plot_text(*run, shown, testimonies, left_out);
    return write_result(text) ? status : std::max(status, kExitRefused);
  }
  const std::vector<Column> columns = columns_of(shown, testimonies);
  const std::vector<double> times = options.every ? grid(run->seconds, options.every)
                                                  : testimonies.back().record.seconds();
  const std::string text =
      options.csv ? csv_text(columns, times, testimonies.size() > 1)
                  : json_text(report, *run, columns, times, agreement, failures);
  return write_result(text) ? status : std::max(status, kExitRefused);
}

}  // namespace benchproof
