#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/base/toml_tree.h"
#include "core/diagnose/foreseen/meter.h"

namespace benchproof {

/// A meter that the program knows, with the source of each of its figures.
struct KnownMeter {
  Meter meter;
  std::string about;  ///< In a few words.
  struct Told {
    std::string key;     ///< "volts"
    std::string value;   ///< "0.5% + 20 mV"
    std::string mark;    ///< "verified", "memory", "practice", "derived"
    std::string source;  ///< In full; empty for practice.
    std::string condition;
  };
  std::vector<Told> figures;  ///< Those that it tells itself.
};

/// What a file of meters came to.
struct ReadMeters {
  std::vector<KnownMeter> meters;  ///< In the file's order; the first fills the others.
  std::vector<Diagnostic> diagnostics;
};

/// Reads a file of the form of reference/meters/README.md. All complaints come in one
/// run, except that a TOML syntax error ends the reading.
[[nodiscard]] ReadMeters read_meters(std::string_view text);

/// The file of reference/meters/ as it was when the program was built: name and text.
/// Its source is written at build time.
[[nodiscard]] std::vector<std::pair<std::string, std::string_view>> meters_texts();

/// The meters of that file.
[[nodiscard]] const std::vector<KnownMeter>& built_in_meters();

/// The meter that stands behind `meter` in a readings file: a name, or a table of
/// figures. Adds to `complaints` what is wrong with it, and then gives what was
/// understood. Null: the usual one.
[[nodiscard]] Meter meter_of(const TomlNode* given,
                             std::vector<Diagnostic>& complaints);

}  // namespace benchproof
