#include <algorithm>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/explain.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/judging/progress.h"
#include "cli/commands/judging/witnesses.h"
#include "cli/commands/output.h"
#include "cli/commands/watch.h"
#include "cli/render/verify/json.h"
#include "cli/render/verify/short_text.h"
#include "cli/render/verify/text.h"
#include "core/regress/case_record.h"
#include "spice/session/engine_session.h"

namespace benchproof {
namespace {

struct VerifyOptions {
  std::vector<std::string> files;
  std::optional<std::string> explained;  ///< The id of a finding, or "list".
  VersionChoice version;
  std::vector<std::string> states;  ///< States to judge ...
  std::vector<std::string> runs;    ///< ... and runs; both empty: all there are.
  bool json = false;
  bool all_variants = false;  ///< Each variant too, after the description.
  bool full = false;          ///< Every figure, with its source.
  bool by_hand = false;       ///< The hand rules, too; implies `full`.
  bool allow_unsealed = false;
  bool watch = false;  ///< Again whenever the file is saved.
};

/// One description and, where they are wanted, its variants, judged.
struct Judged {
  FileReport report;
  std::vector<FileReport> variants;
};

/// Every variant of a description that was read, judged.
std::vector<FileReport> judge_variants(const FileReport& report,
                                       const Catalogue& catalogue,
                                       EngineSession& session, const Wishes& asked,
                                       const VerifyOptions& options) {
  std::vector<FileReport> variants;
  if (!report.circuit) return variants;
  for (const Variant& variant : report.circuit->variants) {
    Wishes in_variant = asked;
    in_variant.variant = variant.name;
    variants.push_back(read_version(report, catalogue, in_variant));
    if (variants.back().circuit)
      judge_in_full(variants.back(), session, options.states, options.runs);
  }
  return variants;
}

Judged judge_file(const std::string& file, const Catalogue& catalogue,
                  EngineSession& session, const Wishes& asked,
                  const VerifyOptions& options) {
  Judged judged{read_description(file, catalogue, asked, options.states, options.runs),
                {}};
  const StillSolving progress;
  if (judged.report.circuit) {
    judge_in_full(judged.report, session, options.states, options.runs);
    if (options.states.empty() && options.runs.empty()) explain(judged.report, session);
  }
  if (options.all_variants)
    judged.variants = judge_variants(judged.report, catalogue, session, asked, options);
  return judged;
}

int exit_status(const FileReport& report) {
  return report.circuit ? exit_status(verdict_of(report)) : kExitRefused;
}

/// Tells what is wrong with a description and what has no answer. Returns the exit
/// status.
int tell_troubles(const Judged& judged) {
  int status = kExitGood;
  const auto tell = [&status](const FileReport& report) {
    status = std::max(status, exit_status(report));
    write_error(complaints_text(report, wraps_errors()) + failures_text(report));
  };
  tell(judged.report);
  for (const FileReport& variant : judged.variants) tell(variant);
  return status;
}

/// The reports on a description and its variants, for people. Empty where it was
/// refused.
std::string judged_text(const Judged& judged, const VerifyOptions& options) {
  if (!judged.report.circuit) return {};
  const bool colour = wants_colour();
  const auto text_of = [&](const FileReport& report) {
    return options.full || options.by_hand
               ? verify_text(report, {colour, options.by_hand})
               : short_text(report, colour);
  };
  std::string text = text_of(judged.report);
  for (const FileReport& variant : judged.variants) text += "\n" + text_of(variant);
  return text;
}

/// Verifies each file and writes what was found; a bad one does not stop the others.
/// Returns the exit status.
int verify_files(const VerifyOptions& options, const Wishes& asked) {
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  const bool is_list = options.json && options.files.size() > 1;

  int status = kExitGood;
  bool is_seal_told = false;
  bool is_advice = false;  // Something was judged.
  bool is_written = !is_list || write_result("[\n");
  for (std::size_t k = 0; k < options.files.size() && is_written; ++k) {
    const Judged judged =
        judge_file(options.files[k], catalogue, session, asked, options);
    const bool is_last = k + 1 == options.files.size();
    if (is_last) session.finish();  // It ends while we write.
    status = std::max(status, tell_troubles(judged));
    if (!is_seal_told) {
      const std::string news = seal_text(session);
      write_error(news);
      is_seal_told = !news.empty();
    }
    if (options.json) {
      is_written = write_result(verify_json(judged.report, judged.variants) +
                                (is_last ? "\n" : ",\n"));
    } else if (judged.report.circuit) {
      is_written = write_result((is_advice ? "\n" : "") + judged_text(judged, options));
      is_advice = true;
    }
  }
  if (is_list && is_written) is_written = write_result("]\n");
  if (is_advice && is_written)
    is_written = write_result((options.full || options.by_hand ? "" : more_text()) +
                              safety_text());
  return is_written ? status : std::max(status, kExitRefused);
}

/// Verifies a file again and again, as it is saved.
int verify_while_watching(const VerifyOptions& options, const Wishes& asked) {
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();
  const Catalogue catalogue = built_in_catalogue();
  bool is_seal_told = false;
  const auto look = [&] {
    const Judged judged =
        judge_file(options.files.front(), catalogue, session, asked, options);
    WatchRound round;
    round.status = tell_troubles(judged);
    const std::string news = is_seal_told ? std::string() : seal_text(session);
    write_error(news);
    is_seal_told = is_seal_told || !news.empty();
    static_cast<void>(write_result(judged_text(judged, options)));
    round.is_good = round.status == kExitGood;
    if (const FileReport& report = judged.report; report.circuit)
      round.records = case_records(*report.circuit, report.verification, report.runs);
    return round;
  };
  return watch_file(options.files.front(), look);
}

void check_watch(const VerifyOptions& options) {
  if (options.files.size() != 1 || options.files.front() == "-")
    throw UsageError("--watch", "takes one FILE, and not standard input");
  if (options.json || options.explained)
    throw UsageError("--watch", "stands without --json and --explain");
}

/// An explanation needs no file; beside one it is text only.
void check_explained(const VerifyOptions& options) {
  if (!options.explained && options.files.empty()) throw UsageError("FILE is required");
  if (options.explained && !options.files.empty() && options.json)
    throw UsageError("--explain", "takes no FILE together with --json");
}

/// Verifies the files, if there are any, and then explains an id, if one is asked for.
int run_verify(const VerifyOptions& options) {
  const Wishes asked = asked_version(options.version);
  check_files(options.files);
  check_explained(options);
  if (options.watch) {
    check_watch(options);
    return verify_while_watching(options, asked);
  }
  if (!options.explained) return verify_files(options, asked);
  if (options.files.empty()) return run_explain(*options.explained, options.json);
  const int status = verify_files(options, asked);
  if (!write_result("\n")) return std::max(status, kExitRefused);
  return std::max(status, run_explain(*options.explained, false));
}

}  // namespace

Command verify_command() {
  const auto given = std::make_shared<VerifyOptions>();
  Options options;
  options.argument("FILE", "descriptions; - is standard input", given->files)
      .names(Meaning::description);
  options
      .text("--explain", "ID", "what an id of a finding means; 'list': all ids",
            given->explained)
      .names(Meaning::finding);
  options.flag("--json", "as JSON; several files make a list", given->json);
  options.repeated("--state", "NAME", "only this state; may be repeated", given->states)
      .names(Meaning::state);
  options.repeated("--run", "NAME", "only this run; may be repeated", given->runs)
      .names(Meaning::run);
  add_version_choice(options, given->version).excludes = "--all-variants";
  options.flag("--all-variants", "each variant too, after the plain description",
               given->all_variants);
  options.flag("--watch", "again whenever the file is saved; Ctrl-C ends",
               given->watch);
  options.flag("--full", "every current, power and source", given->full);
  options.flag("--by-hand", "in full, with the handbook rules that fit",
               given->by_hand);
  add_unsealed(options, given->allow_unsealed);
  return {"verify", "prove a circuit: ratings, expectations, verdict",
          std::move(options), [given] { return run_verify(*given); }};
}

}  // namespace benchproof
