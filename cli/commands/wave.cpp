#include <fmt/format.h>
#include <fmt/ranges.h>
#include <langinfo.h>

#include <algorithm>
#include <clocale>
#include <cmath>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <tuple>
#include <utility>
#include <variant>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/judging/progress.h"
#include "cli/commands/judging/witnesses.h"
#include "cli/commands/output.h"
#include "cli/render/verify/text.h"
#include "cli/render/wave/wave_report.h"
#include "core/base/complaints.h"
#include "core/base/diagnostic.h"
#include "core/check/agree/run_agreement.h"
#include "core/check/expect/expectations.h"
#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"
#include "core/network/record.h"
#include "spice/session/engine_session.h"

namespace benchproof {
namespace {

struct WaveOptions {
  std::string file;
  std::string run;                 ///< Empty: the only one.
  std::vector<std::string> nets;   ///< Empty, with no parts either: those that move.
  std::vector<std::string> parts;  ///< "quay", or "chip.vdd" for one pin.
  std::string witness = "both";    ///< "engine", "nodal" or "both".
  std::string every;               ///< A time; empty: rows at every step.
  bool csv = false;
  bool json = false;
  VersionChoice version;
  bool allow_unsealed = false;

  [[nodiscard]] bool wants_engine() const { return witness != "nodal"; }
  [[nodiscard]] bool wants_nodal() const { return witness != "engine"; }
  [[nodiscard]] bool is_drawn() const { return !csv && !json; }
};

/// A time above 0, or nothing where none was given. Second.
std::optional<double> parse_every(const std::string& text) {
  if (text.empty()) return std::nullopt;
  const auto parsed = parse_quantity(text, Unit::second);
  const double* seconds = std::get_if<double>(&parsed);
  if (seconds == nullptr || !(*seconds > 0.0))
    throw UsageError("--every", "'" + text + "' is not a time, as in '10us'");
  return *seconds;
}

/// Complains about what was asked for on the command line.
void complain(std::vector<Diagnostic>& complaints, std::string message,
              std::string hint = {}) {
  complaints.push_back({"command-line", {}, std::move(message), std::move(hint)});
}

/// Complains about a name that is none of `known`; `what` is "net", "part" or "pin".
void complain_unknown(std::vector<Diagnostic>& complaints, const DiagnosticId& id,
                      std::string_view what, const std::string& name,
                      const std::vector<std::string>& known) {
  complaints.push_back(
      {std::string(id.name),
       {},
       fmt::format("there is no {} {}", what, benchproof::quoted(name)),
       names_hint(nearest(name, known), known, fmt::format("{}s", what))});
}

/// Whether a quantity is new; complains of one that was asked for before.
bool is_new(const std::vector<std::string>& names, std::size_t index,
            std::vector<Diagnostic>& complaints) {
  const auto end = names.begin() + static_cast<std::ptrdiff_t>(index);
  if (std::find(names.begin(), end, names[index]) == end) return true;
  complain(complaints,
           fmt::format("{} is asked for twice", benchproof::quoted(names[index])));
  return false;
}

template <typename List>
std::vector<std::string> names_of(const List& list) {
  std::vector<std::string> names;
  names.reserve(list.size());
  for (const auto& item : list) names.push_back(item.name);
  return names;
}

/// Where a name stands in a list; -1 where it does not.
template <typename List>
int index_of(const List& list, const std::string& name) {
  const auto found = std::find_if(list.begin(), list.end(), [&name](const auto& item) {
    return item.name == name;
  });
  return found == list.end() ? -1 : static_cast<int>(found - list.begin());
}

std::vector<WaveSubject> wanted_nets(const Circuit& circuit,
                                     const std::vector<std::string>& names,
                                     std::vector<Diagnostic>& complaints) {
  std::vector<WaveSubject> subjects;
  for (std::size_t k = 0; k < names.size(); ++k) {
    if (!is_new(names, k, complaints)) continue;
    const int net = find_net(circuit, names[k]);
    if (net < 0)
      complain_unknown(complaints, kNetUnknown, "net", names[k],
                       names_of(circuit.nets));
    else
      subjects.push_back({names[k], Unit::volt, net});
  }
  return subjects;
}

/// The current into a part of two pins, or into the pin that `text` names.
WaveSubject part_subject(const Part& part, int index, const std::string& text,
                         std::vector<Diagnostic>& complaints) {
  WaveSubject subject{text, Unit::ampere};
  subject.part = index;
  if (part.name.size() < text.size()) {
    const std::string pin = text.substr(part.name.size() + 1);
    subject.pin = pin_index(part, pin);
    if (subject.pin < 0)
      complain_unknown(complaints, kPinUnknown, "pin", pin, part.pins);
  } else if (part.pins.size() > 2) {
    complain(complaints, fmt::format("'{}' has more than two pins", part.name),
             fmt::format("name one, as in '{}.{}'", part.name, part.pins.front()));
  } else {
    subject.is_delivered = is_source(part.kind);
  }
  return subject;
}

std::vector<WaveSubject> wanted_parts(const Circuit& circuit,
                                      const std::vector<std::string>& texts,
                                      std::vector<Diagnostic>& complaints) {
  std::vector<WaveSubject> subjects;
  for (std::size_t k = 0; k < texts.size(); ++k) {
    if (!is_new(texts, k, complaints)) continue;
    const std::string name = texts[k].substr(0, texts[k].find('.'));
    const int part = index_of(circuit.parts, name);
    if (part < 0)
      complain_unknown(complaints, kPartUnknown, "part", name, names_of(circuit.parts));
    else
      subjects.push_back(part_subject(circuit.parts[part], part, texts[k], complaints));
  }
  return subjects;
}

/// The run to follow; nothing, with a complaint, where that is not clear.
const Run* wanted_run(const Circuit& circuit, const std::string& name,
                      std::vector<Diagnostic>& complaints) {
  if (!name.empty()) return &circuit.runs[index_of(circuit.runs, name)];
  if (circuit.runs.size() == 1) return &circuit.runs.front();
  if (circuit.runs.empty())
    complain(complaints, "the description has no runs");
  else
    complain(
        complaints, "there are several runs",
        fmt::format("choose with --run: {}", fmt::join(names_of(circuit.runs), ", ")));
  return nullptr;
}

/// Complains of a distance between rows that does not go with a run.
void check_every(const Run& run, double every, std::vector<Diagnostic>& complaints) {
  constexpr double kMostRows = 1e6;
  if (run.seconds / every > kMostRows)
    complain(complaints,
             fmt::format("--every would give {:.3g} rows", run.seconds / every),
             fmt::format("at most {:.0f}", kMostRows));
  if (every > run.seconds)
    complain(complaints,
             fmt::format("--every is longer than the run, which ends after {}",
                         short_text(run.seconds, Unit::second)));
}

/// The part of the command line that only a description gives a meaning.
struct WaveRequest {
  const Run* run = nullptr;
  std::vector<WaveSubject> subjects;  ///< Empty: what moves.
  std::vector<double> times;          ///< Empty: every step.
};

/// The multiples of `every` within the span. Second.
std::vector<double> multiples_within(double span, double every) {
  // Where a second is so many of them, its share is the nearest to what one writes:
  // 0.3, where 3 times 0.1 is 0.30000000000000004.
  const double a_second = std::round(1.0 / every);
  const bool is_share = a_second >= 1.0 && std::abs(a_second * every - 1.0) < 1e-12;
  const double count = std::floor(span / every * (1.0 + 1e-12));
  std::vector<double> times;
  for (double k = 0.0; k <= count; k += 1.0)
    times.push_back(std::min(is_share ? k / a_second : k * every, span));
  return times;
}

WaveRequest make_request(const Circuit& circuit, const WaveOptions& options,
                         std::optional<double> every,
                         std::vector<Diagnostic>& complaints) {
  WaveRequest request;
  request.run = wanted_run(circuit, options.run, complaints);
  request.subjects = wanted_nets(circuit, options.nets, complaints);
  for (WaveSubject& subject : wanted_parts(circuit, options.parts, complaints))
    request.subjects.push_back(std::move(subject));
  if (request.run == nullptr || !every) return request;
  check_every(*request.run, *every, complaints);
  if (complaints.empty())
    request.times = multiples_within(request.run->seconds, *every);
  return request;
}

/// The verdict on what the witnesses that were asked have said.
Verdict verdict_on(const RunResult& run) {
  const auto has_failed = [](const Waveform& waveform) {
    return waveform.status != SolveStatus::solved &&
           waveform.status != SolveStatus::not_asked;
  };
  if (has_failed(run.engine)) return Verdict::engine_failed;
  if (has_failed(run.nodal)) return Verdict::nodal_failed;
  const bool is_compared = run.engine.status == SolveStatus::solved &&
                           run.nodal.status == SolveStatus::solved;
  return is_compared && !run.agreement.agrees ? Verdict::disagreement : Verdict::good;
}

/// Has the witnesses that are wanted follow a run.
RunResult follow(const Circuit& circuit, const WaveRequest& request,
                 const WaveOptions& options, const Witnesses& by) {
  RunResult result;
  result.name = request.run->name;
  result.run = request.run;
  result.timeline = make_timeline(circuit, *request.run);
  result.engine.status = result.nodal.status = SolveStatus::not_asked;
  if (options.wants_engine() && options.wants_nodal()) {
    Hearing heard = hear(circuit, result.timeline, by.engine_in_time, by.nodal_in_time,
                         request.times);
    result.engine = std::move(heard.engine);
    result.nodal = std::move(heard.nodal);
    result.agreement = std::move(heard.agreement);
  } else if (options.wants_engine()) {
    result.engine = by.engine_in_time(result.timeline, {}, 0);
  } else {
    result.nodal = by.nodal_in_time(result.timeline, request.times, 0);
  }
  result.verdict = verdict_on(result);
  return result;
}

std::vector<Testimony> testimonies_of(const Circuit& circuit, const RunResult& run) {
  std::vector<Testimony> testimonies;
  const auto take = [&](const char* witness, const Waveform& waveform) {
    if (waveform.status == SolveStatus::solved)
      testimonies.push_back({witness, Record(circuit, run.timeline, waveform)});
  };
  take("engine", run.engine);
  take("nodal", run.nodal);
  return testimonies;
}

/// The nets that move, at most as many as `most`; the others are counted.
std::vector<WaveSubject> moving_nets(const Circuit& circuit, const Record& record,
                                     std::size_t most, std::size_t& left_out) {
  constexpr double kMoves = 1e-3;  // volt
  std::vector<WaveSubject> subjects;
  left_out = 0;
  for (std::size_t net = 1; net < circuit.nets.size(); ++net) {
    const Extremes e = extremes(record.volts(static_cast<int>(net)), record.whole());
    if (e.highest - e.lowest < kMoves) continue;
    if (subjects.size() < most)
      subjects.push_back({circuit.nets[net].name, Unit::volt, static_cast<int>(net)});
    else
      ++left_out;
  }
  return subjects;
}

/// Chooses what is shown of the testimonies, of which there is one at least.
void take_subjects(WaveReport& report, const WaveRequest& request, bool is_drawn) {
  constexpr std::size_t kMostStrips = 6;  // As many as a screen shows.
  const Circuit& circuit = *report.file.circuit;
  const Record& record = report.testimonies.back().record;
  report.subjects =
      !request.subjects.empty()
          ? request.subjects
          : moving_nets(circuit, record, is_drawn ? kMostStrips : circuit.nets.size(),
                        report.left_out);
  report.times = request.times.empty() ? record.seconds() : request.times;
}

/// Whether the reader's terminal or file takes UTF-8.
bool takes_utf8() {
  std::setlocale(LC_CTYPE, "");
  const bool is_utf8 = std::string_view(nl_langinfo(CODESET)) == "UTF-8";
  std::setlocale(LC_CTYPE, "C");
  return is_utf8;
}

/// Reads the description and the request. Puts complaints into the report, which then
/// has no circuit.
std::pair<FileReport, WaveRequest> read_with_request(const WaveOptions& options,
                                                     const Wishes& asked,
                                                     std::optional<double> every,
                                                     const Catalogue& catalogue) {
  std::vector<std::string> runs;
  if (!options.run.empty()) runs.push_back(options.run);
  FileReport file = read_description(options.file, catalogue, asked, {}, runs);
  WaveRequest request;
  if (!file.circuit) return {std::move(file), request};
  request = make_request(*file.circuit, options, every, file.complaints);
  if (!file.complaints.empty()) file.circuit.reset();
  return {std::move(file), std::move(request)};
}

/// Solves one run and writes its waveforms: drawn, as CSV or as JSON. Returns the exit
/// status.
int run_wave(const WaveOptions& options) {
  const Wishes asked = asked_version(options.version);
  const std::optional<double> every = parse_every(options.every);
  EngineSession session(engine_options(options.allow_unsealed));
  if (options.wants_engine()) session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  WaveReport report;
  WaveRequest request;
  std::tie(report.file, request) = read_with_request(options, asked, every, catalogue);
  if (!report.file.circuit) return refuse(report.file, options.json);

  const Circuit& circuit = *report.file.circuit;
  StillSolving progress;
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  report.file.runs.push_back(follow(circuit, request, options, by));
  session.finish();  // It ends while we write.
  progress.end();
  report.testimonies = testimonies_of(circuit, report.file.runs.front());
  write_error(failures_text(report.file) + disagreement_text(report) +
              seal_text(session));
  const int status = exit_status(verdict_of(report.file));
  if (!report.testimonies.empty())
    take_subjects(report, request, options.is_drawn());
  else if (!options.json)
    return status;
  if (options.json) return write_last(wave_json(report) + "\n", status);
  return write_last(options.csv ? wave_csv(report)
                                : wave_text(report, {takes_utf8(), drawing_columns()}),
                    status);
}

}  // namespace

Command wave_command() {
  const auto given = std::make_shared<WaveOptions>();
  Options options;
  add_description(options, given->file);
  options.text("--run", "NAME", "this run; needed where there are several", given->run)
      .names(Meaning::run);
  options
      .repeated("--nets", "NAMES", "these nets' voltages, comma between", given->nets)
      .names(Meaning::net)
      .separator = ',';
  options
      .repeated("--parts", "NAMES", "currents into parts or pins, comma between",
                given->parts)
      .names(Meaning::part_or_pin)
      .separator = ',';
  options.text("--witness", "NAME", "engine, nodal or both", given->witness).choices = {
      "engine", "nodal", "both"};
  options.text("--every", "TIME", "rows at multiples of this time, as 10us",
               given->every);
  add_data_formats(options, given->csv, given->json);
  add_version_choice(options, given->version);
  add_unsealed(options, given->allow_unsealed);
  return {"wave", "show the waveforms of a run", std::move(options),
          [given] { return run_wave(*given); }};
}

}  // namespace benchproof
