#include "core/circuit/readings/readings.h"

#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/judging/foreseeing.h"
#include "cli/commands/judging/progress.h"
#include "cli/commands/judging/witnesses.h"
#include "cli/commands/output.h"
#include "cli/render/diagnose/diagnosis_report.h"
#include "cli/render/verify/text.h"
#include "core/base/complaints.h"
#include "core/diagnose/foreseen/meters.h"
#include "core/diagnose/sheet.h"

namespace benchproof {
namespace {

struct ReadingsOptions {
  std::string file;
  VersionChoice version;
  std::string meter;  ///< Empty: the usual one.
  bool few = false;
  bool all = false;
  bool after_build = false;
  bool sheet = false;
  bool toml = false;
  bool json = false;
  bool csv = false;
};

/// The meter of that name.
/// @throws UsageError where there is none.
Meter named_meter(const std::string& name) {
  std::vector<std::string> names;
  for (const KnownMeter& known : built_in_meters()) {
    if (name.empty() || known.meter.name == name) return known.meter;
    names.push_back(known.meter.name);
  }
  throw UsageError("--meter",
                   fmt::format("there is no meter '{}'; {}", name,
                               names_hint(nearest(name, names), names, "meters")));
}

SheetReport report_of(const ReadingsOptions& options, const FileReport& file,
                      const Meter& meter, const Sheet& sheet) {
  SheetReport report{file, meter, sheet, {}, 0.0};
  if (options.after_build) {
    ShortSheet few = after_build(sheet);
    report.lines = std::move(few.lines);
    report.excluded = few.excluded;
    return report;
  }
  for (std::size_t k = 0; k < sheet.lines.size(); ++k)
    if (options.all ||
        (options.few ? sheet.lines[k].is_worth_taking : is_usual(sheet.lines[k])))
      report.lines.push_back(k);
  return report;
}

void check_forms(const ReadingsOptions& options) {
  const int forms = static_cast<int>(options.sheet) + static_cast<int>(options.toml) +
                    static_cast<int>(options.json) + static_cast<int>(options.csv);
  if (forms > 1)
    throw UsageError("--sheet", "one of --sheet, --toml, --csv and --json");
  const int choices = static_cast<int>(options.few) + static_cast<int>(options.all) +
                      static_cast<int>(options.after_build);
  if (choices > 1) throw UsageError("--few", "one of --few, --all and --after-build");
}

int run_readings(const ReadingsOptions& options) {
  check_forms(options);
  const Wishes asked = asked_version(options.version);
  const Meter meter = named_meter(options.meter);
  const Catalogue catalogue = built_in_catalogue();
  const FileReport file = read_description(options.file, catalogue, asked, {});
  if (!file.circuit) return refuse(file, options.json);
  StillSolving progress;
  const Sheet sheet = sheet_of(file, catalogue, meter);
  progress.end();
  const SheetReport report = report_of(options, file, meter, sheet);
  const std::string text =
      options.json  ? sheet_json(report) + "\n"
      : options.csv ? sheet_csv(report)
      : options.toml
          ? sheet_toml(report, options.meter)
          : sheet_text(report, options.sheet, wants_colour()) + safety_text();
  return write_last(text, kExitGood);
}

}  // namespace

Command readings_command() {
  const auto given = std::make_shared<ReadingsOptions>();
  Options options;
  add_description(options, given->file);
  options.flag("--after-build", "the five readings that together exclude most",
               given->after_build);
  options.flag("--few", "only the readings that are worth taking", given->few);
  options.flag("--all", "every reading there is", given->all);
  options.flag("--sheet", "with boxes to fill in on paper", given->sheet);
  options.flag("--toml", "a readings file to fill in", given->toml);
  add_data_formats(options, given->csv, given->json);
  options.text("--meter", "NAME", "the meter that is used", given->meter);
  add_version_choice(options, given->version);
  return {"readings", "what a meter and an eye must find once it is built",
          std::move(options), [given] { return run_readings(*given); }};
}

}  // namespace benchproof
