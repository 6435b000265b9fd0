#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <span>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/input.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/files/write_file.h"
#include "cli/commands/judging/foreseeing.h"
#include "cli/commands/judging/progress.h"
#include "cli/commands/judging/witnesses.h"
#include "cli/commands/output.h"
#include "cli/render/diagnose/diagnosis_report.h"
#include "cli/render/json_parts.h"
#include "cli/render/layout.h"
#include "cli/render/verify/text.h"
#include "core/base/complaints.h"
#include "core/base/diagnostic.h"
#include "core/circuit/readings/readings.h"
#include "core/diagnose/diagnosis.h"
#include "core/diagnose/foreseen/meters.h"

namespace benchproof {
namespace {

struct DiagnoseCommandOptions {
  std::string file;
  std::string readings;  ///< Empty: none yet.
  VersionChoice version;
  bool ask = false;
  bool json = false;
  bool allow_unsealed = false;
};

/// A readings file with its text.
struct GivenReadings {
  std::string name;
  std::string text;
  ReadingsFile file;
  Meter meter;
  std::vector<Diagnostic> complaints;
};

std::string without_folders(const std::string& path) {
  return path.substr(path.find_last_of('/') + 1);
}

/// The description's name as it is seen from the folder of the readings.
std::string seen_from(const std::string& readings, const std::string& description) {
  namespace fs = std::filesystem;
  std::error_code failed;
  const fs::path folder = fs::absolute(readings, failed).parent_path();
  const fs::path seen = fs::relative(description, folder, failed);
  return failed || seen.empty() ? description : seen.generic_string();
}

/// Reads the readings behind a name; one that is not there is empty where
/// `may_be_new`.
GivenReadings read_given(const std::string& path, const Circuit& circuit,
                         bool may_be_new) {
  GivenReadings given;
  given.name = path;
  given.meter = built_in_meters().front().meter;
  if (path.empty()) return given;
  if (may_be_new && ::access(path.c_str(), F_OK) != 0) return given;
  Input input = read_input(path, Limits().bytes);
  given.name = input.name;
  if (!input.failure.empty()) {
    given.complaints.push_back({"file-unreadable", {}, input.failure, ""});
    return given;
  }
  given.text = std::move(input.bytes);
  ReadReadings read = read_readings(given.text, circuit);
  given.complaints = std::move(read.diagnostics);
  if (!read.file) return given;
  given.file = std::move(*read.file);
  given.meter =
      meter_of(given.file.meter ? &*given.file.meter : nullptr, given.complaints);
  return given;
}

/// Tells why readings were refused. Returns the exit status.
int refuse(const GivenReadings& given, bool json) {
  write_error(complaints_text(CatalogueReport{given.name, given.text, given.complaints},
                              wraps_errors()));
  if (!json) return kExitRefused;
  nlohmann::ordered_json document = {{"benchproof", 1},
                                     {"verdict", "refused"},
                                     {"complaints", nlohmann::ordered_json::array()}};
  for (const Diagnostic& complaint : given.complaints)
    document["complaints"].push_back(complaint_json(complaint, given.name));
  return write_last(document_text(document) + "\n", kExitRefused);
}

/// Tells that the readings say they are of another circuit.
void tell_other_circuit(const GivenReadings& given, const FileReport& file) {
  const std::string named = without_folders(given.file.circuit);
  if (named.empty() || named == without_folders(file.file)) return;
  write_error(wrapped(
      printable(fmt::format("benchproof: the readings in {} say that they are of '{}'; "
                            "they are taken for those of {}",
                            given.name, given.file.circuit, file.file)),
      0, 2));
}

/// What is needed to look at readings again and again.
class Bench {
 public:
  Bench(const FileReport& file, const Catalogue& built_in, const Meter& meter)
      : circuit_(*file.circuit), faults_(faults_of(file, built_in)), meter_(meter) {
    options_.predict = usual_prediction();
  }

  /// What the readings say. `often`: it will be asked again.
  [[nodiscard]] Diagnosis look(std::span<const TakenReading> readings, bool often) {
    if (often && !known_)
      known_ = foreseen(circuit_, faults_, meter_, options_.predict);
    options_.known = known_ ? &*known_ : nullptr;
    return diagnose(circuit_, faults_, meter_, readings, options_);
  }

 private:
  const Circuit& circuit_;
  std::vector<Fault> faults_;
  Meter meter_;
  DiagnoseOptions options_;
  std::optional<Predictions> known_;
};

/// Asks for one reading after the other; each answer is in the file before the next
/// question.
class Asking {
 public:
  Asking(const FileReport& file, GivenReadings& given, Bench& bench)
      : circuit_(*file.circuit), given_(given), bench_(bench) {
    if (given.text.empty()) {
      given.file.circuit = seen_from(given.name, file.file);
      given.text = readings_text(given.file);
    }
  }

  /// Returns why an answer could not be saved, or nothing.
  std::string go_on() {
    static_cast<void>(write_result(
        wrapped(fmt::format(
                    "Each answer is saved in {}. Answer with what the meter shows "
                    "(\"4.98 V\", \"1k2\", \"open\") or how it looks. Other answers: "
                    "'back' takes the last one back, 'no' where it cannot be reached, "
                    "'done' ends, '?' helps.",
                    printable(given_.name)),
                0, 0) +
        measuring_cautions()));
    Diagnosis diagnosis = bench_.look(given_.file.readings, true);
    for (;;) {
      if (!asked_again_ && !diagnosis.next) break;
      const Question question = asked_again_ ? *asked_again_ : diagnosis.next->question;
      tell(diagnosis, question);
      const Reply reply = reply_to(question);
      if (reply == Reply::ends) break;
      if (reply == Reply::again) continue;
      if (!failure_.empty()) return failure_;
      diagnosis = bench_.look(given_.file.readings, true);
    }
    static_cast<void>(write_result("\n"));
    return {};
  }

 private:
  enum class Reply { taken, again, ends };

  void tell(const Diagnosis& diagnosis, const Question& question) const {
    std::string text = "\n" + diagnosis_so_far(diagnosis);
    text += wrapped(
        fmt::format("{}: {}", condition_words(question), asked_words(question)), 0, 2);
    if (question.asks == Asks::looks)
      text += wrapped(looks_choices(circuit_, question), 2, 2);
    static_cast<void>(write_result(text + "? "));
  }

  Reply reply_to(const Question& question) {
    std::string line;
    const bool is_read = static_cast<bool>(std::getline(std::cin, line));
    // On a terminal the line that was typed has ended there, too.
    if (::isatty(STDIN_FILENO) == 0) static_cast<void>(write_result("\n"));
    if (!is_read) return Reply::ends;
    const std::size_t from = line.find_first_not_of(" \t\r");
    const std::size_t to = line.find_last_not_of(" \t\r");
    line = from == std::string::npos ? "" : line.substr(from, to - from + 1);
    if (line == "done") return Reply::ends;
    if (line == "back") return go_back();
    TakenReading taken;
    taken.question = question;
    if (line == "no") {
      taken.is_reached = false;
      return keep(taken);
    }
    const std::string problem =
        line.empty() || line == "?" ? help(question) : put_answer(taken, line);
    if (problem.empty()) return keep(taken);
    static_cast<void>(write_result(wrapped(printable(problem), 2, 4)));
    return Reply::again;
  }

  [[nodiscard]] std::string help(const Question& question) const {
    switch (question.asks) {
      case Asks::voltage:
        return question.to.empty()
                   ? fmt::format(
                         "volts: red lead on '{}', black lead on ground; type "
                         "\"4.98 V\"",
                         question.net)
                   : fmt::format(
                         "volts: red lead on '{}', black lead on '{}'; type "
                         "\"4.98 V\"",
                         question.net, question.to);
      case Asks::current:
        return "amperes: open the lead and put the meter in between; type \"9.1 mA\"";
      case Asks::resistance:
        return "ohms, with the power off and capacitors empty; type \"1.2 kohm\" or "
               "\"open\"";
      case Asks::diode:
        return "diode test, with the power off, red lead on the first net; type "
               "\"0.62 V\" or \"open\"";
      case Asks::looks:
        break;
    }
    return "one of: " + looks_choices(circuit_, question);
  }

  /// Reads an answer into a reading. Returns what is wrong with it, or nothing.
  [[nodiscard]] std::string put_answer(TakenReading& taken,
                                       const std::string& line) const {
    if (taken.question.asks != Asks::looks) return put_value(taken, line);
    std::vector<std::string> words;
    for (const Part& part : circuit_.parts)
      if (part.name == taken.question.part)
        for (const Looks looks : looks_of(part.kind)) {
          words.emplace_back(word_of(looks));
          if (words.back() != line) continue;
          taken.looks = looks;
          return {};
        }
    return fmt::format("{} is no answer here; {}", benchproof::quoted(line),
                       names_hint(nearest(line, words), words, "answers"));
  }

  Reply keep(const TakenReading& taken) {
    before_.push_back(given_.text);
    given_.text +=
        (given_.text.empty() || given_.text.ends_with("\n") ? "\n" : "\n\n") +
        reading_text(taken, false);
    given_.file.readings.push_back(taken);
    asked_again_.reset();
    failure_ = write_file(given_.name, given_.text, Durability::synced);
    return Reply::taken;
  }

  Reply go_back() {
    if (given_.file.readings.empty()) {
      static_cast<void>(write_result("  there is no answer to take back\n"));
      return Reply::again;
    }
    asked_again_ = given_.file.readings.back().question;
    given_.file.readings.pop_back();
    if (!before_.empty()) {
      given_.text = std::move(before_.back());
      before_.pop_back();
    } else {
      given_.text = readings_text(given_.file);
    }
    failure_ = write_file(given_.name, given_.text, Durability::synced);
    return Reply::taken;
  }

  const Circuit& circuit_;
  GivenReadings& given_;
  Bench& bench_;
  std::vector<std::string> before_;  ///< The file's text before each answer.
  std::optional<Question> asked_again_;
  std::string failure_;
};

/// Where --ask keeps answers: beside the description, with its name.
std::string usual_readings(const std::string& file) {
  const std::string ending = ".toml";
  std::string stem = file;
  if (stem.ends_with(ending)) stem.resize(stem.size() - ending.size());
  return stem + ".readings.toml";
}

int run_diagnose(const DiagnoseCommandOptions& options) {
  if (options.file == "-" && (options.readings == "-" || options.ask))
    throw UsageError("FILE", "standard input can be read once only");
  if (options.ask && (options.readings == "-" || options.json))
    throw UsageError("--ask",
                     "needs a file for the answers, and stands without --json");
  const Wishes asked = asked_version(options.version);
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  const FileReport file = read_description(options.file, catalogue, asked, {});
  if (!file.circuit) return refuse(file, options.json);
  const std::string path = options.ask && options.readings.empty()
                               ? usual_readings(options.file)
                               : options.readings;
  GivenReadings given = read_given(path, *file.circuit, options.ask);
  if (!given.complaints.empty()) return refuse(given, options.json);
  tell_other_circuit(given, file);
  Bench bench(file, catalogue, given.meter);
  if (options.ask) {
    Asking asking(file, given, bench);
    if (const std::string failure = asking.go_on(); !failure.empty()) {
      write_error(
          wrapped(printable(fmt::format("benchproof: {}: {}", path, failure)), 0, 2));
      return kExitRefused;
    }
  }
  StillSolving progress;
  Diagnosis diagnosis = bench.look(given.file.readings, false);
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  confirm(*file.circuit, given.meter, given.file.readings, by.engine, diagnosis);
  session.finish();  // It ends while we write.
  progress.end();
  write_error(seal_text(session));
  const DiagnosisReport report{file, given.meter, given.file.readings, diagnosis};
  const std::string text = options.json
                               ? diagnosis_json(report) + "\n"
                               : diagnosis_text(report, wants_colour()) + safety_text();
  return write_last(text, diagnosis.explained ? kExitGood : kExitFault);
}

}  // namespace

Command diagnose_command() {
  const auto given = std::make_shared<DiagnoseCommandOptions>();
  Options options;
  add_description(options, given->file);
  options
      .argument("READINGS", "a file of readings; - is standard input", given->readings)
      .names(Meaning::file);
  options.flag("--ask", "ask for readings one after the other and save each answer",
               given->ask);
  options.flag("--json", "as JSON", given->json);
  add_version_choice(options, given->version);
  add_unsealed(options, given->allow_unsealed);
  return {"diagnose", "which fault explains what is read", std::move(options),
          [given] { return run_diagnose(*given); }};
}

}  // namespace benchproof
