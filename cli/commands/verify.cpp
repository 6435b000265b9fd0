#include "cli/commands/verify.h"

#include <algorithm>
#include <string>

#include "cli/commands/output.h"
#include "cli/commands/progress.h"
#include "cli/commands/reading.h"
#include "cli/commands/witnesses.h"
#include "cli/render/json.h"
#include "cli/render/text.h"
#include "spice/session/engine_session.h"

namespace benchproof {
namespace {

/// Every variant of a description that was read, judged.
std::vector<FileReport> judge_variants(const FileReport& report,
                                       const Catalogue& catalogue,
                                       EngineSession& session,
                                       const VerifyOptions& options) {
  std::vector<FileReport> variants;
  if (!report.circuit) return variants;
  for (const Variant& variant : report.circuit->variants) {
    Asked asked = options.asked;
    asked.variant = variant.name;
    variants.push_back(read_version(report, catalogue, asked));
    if (variants.back().circuit)
      judge(variants.back(), session, options.states, options.runs);
  }
  return variants;
}

int exit_status(const FileReport& report) {
  return report.circuit ? exit_status(verdict_of(report)) : kExitRefused;
}

}  // namespace

int run_verify(const VerifyOptions& options) {
  EngineOptions engine_options;
  engine_options.allow_unsealed = options.allow_unsealed;
  EngineSession session(engine_options);
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  const TextOptions text_options{wants_colour(), options.by_hand};
  const bool is_list = options.json && options.files.size() > 1;

  int status = kExitGood;
  bool is_seal_told = false;
  bool is_advice = false;  // Something was judged.
  bool is_written = !is_list || write_result("[\n");
  for (std::size_t k = 0; k < options.files.size() && is_written; ++k) {
    FileReport report = read_description(options.files[k], catalogue, options.asked,
                                         options.states, options.runs);
    StillSolving progress;
    if (report.circuit) judge(report, session, options.states, options.runs);
    std::vector<FileReport> variants;
    if (options.all_variants)
      variants = judge_variants(report, catalogue, session, options);
    progress.end();
    const bool is_last = k + 1 == options.files.size();
    if (is_last) session.finish();  // It ends while we write.
    status = std::max(status, exit_status(report));
    write_error(complaints_text(report, wraps_errors()) + failures_text(report));
    for (const FileReport& variant : variants) {
      status = std::max(status, exit_status(variant));
      write_error(complaints_text(variant, wraps_errors()) + failures_text(variant));
    }
    if (!is_seal_told) {
      const std::string news = seal_text(session);
      write_error(news);
      is_seal_told = !news.empty();
    }
    if (options.json) {
      is_written =
          write_result(verify_json(report, variants) + (is_last ? "\n" : ",\n"));
    } else if (report.circuit) {
      if (is_advice) is_written = write_result("\n");
      is_written = is_written && write_result(verify_text(report, text_options));
      for (const FileReport& variant : variants)
        is_written =
            is_written && write_result("\n" + verify_text(variant, text_options));
      is_advice = true;
    }
  }
  if (is_list && is_written) is_written = write_result("]\n");
  if (is_advice && is_written) is_written = write_result(safety_text());
  return is_written ? status : std::max(status, kExitRefused);
}

}  // namespace benchproof
