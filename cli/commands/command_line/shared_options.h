#pragma once

#include <string>
#include <vector>

#include "cli/commands/command_line/options.h"
#include "core/circuit/read/reader.h"

namespace benchproof {

// Options that several commands have.

/// FILE: the one description that a command is about.
void add_description(Options& options, std::string& file);

/// The values of --variant and --set.
struct VersionChoice {
  std::string variant;               ///< Empty: none.
  std::vector<std::string> changes;  ///< "quay_r.value=470R" each.
};

/// Returns the option --variant.
Option& add_version_choice(Options& options, VersionChoice& choice);

/// @throws UsageError where a change is none.
[[nodiscard]] Wishes asked_version(const VersionChoice& choice);

/// --allow-unsealed
void add_unsealed(Options& options, bool& allow);

/// --csv and --json, of which one may be given.
void add_data_formats(Options& options, bool& csv, bool& json);

/// So many copies of a circuit may be made.
inline constexpr int kMostCopies = 100'000'000;

/// @throws UsageError where standard input is named more than once.
void check_files(const std::vector<std::string>& files);

}  // namespace benchproof
