#include "cli/commands/command_line/shared_options.h"

#include <algorithm>
#include <utility>
#include <variant>

#include "cli/commands/files/reading.h"

namespace benchproof {

void add_description(Options& options, std::string& file) {
  options.argument("FILE", "a description; - is standard input", file)
      .names(Meaning::description)
      .is_required = true;
}

Option& add_version_choice(Options& options, VersionChoice& choice) {
  options
      .repeated("--set", "TARGET=VALUE", "change a value; may be repeated",
                choice.changes)
      .names(Meaning::change);
  return options
      .text("--variant", "NAME", "this variant of the description", choice.variant)
      .names(Meaning::variant);
}

Wishes asked_version(const VersionChoice& choice) {
  auto asked = parse_asked(choice.variant, choice.changes);
  if (const auto* problem = std::get_if<std::string>(&asked))
    throw UsageError("--set", *problem);
  return std::get<Wishes>(std::move(asked));
}

void add_unsealed(Options& options, bool& allow) {
  options.flag("--allow-unsealed", "go on where the engine's worker cannot be sealed",
               allow);
}

void add_data_formats(Options& options, bool& csv, bool& json) {
  options.flag("--csv", "as CSV (RFC 4180)", csv);
  options.flag("--json", "as JSON", json).excludes = "--csv";
}

void check_files(const std::vector<std::string>& files) {
  if (std::count(files.begin(), files.end(), "-") > 1)
    throw UsageError("FILE", "standard input can be read only once");
}

}  // namespace benchproof
