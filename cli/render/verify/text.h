#pragma once

#include <string>

#include "cli/render/verify/report.h"

namespace benchproof {

struct TextOptions {
  bool colour = false;   ///< With the terminal's colours.
  bool by_hand = false;  ///< Hand rules in full; else they are counted.
};

/// The report on one description that was read, for people: at most kLineWidth columns,
/// ASCII but for the description's own words. A refused one gives nothing; see
/// complaints_text.
[[nodiscard]] std::string verify_text(const FileReport& report,
                                      const TextOptions& options);

/// What a refused description's complaints say, in full and without colour, and that
/// nothing was solved. Empty when there are none. Each complaint's message and hint is
/// one line, as programs like it, or `is_wrapped` to kLineWidth columns; its place is
/// never broken.
[[nodiscard]] std::string complaints_text(const FileReport& report, bool is_wrapped);

/// The complaints about a catalogue file alone, each in the same form.
[[nodiscard]] std::string complaints_text(const CatalogueReport& report,
                                          bool is_wrapped);

/// Which witnesses have no answer about a description that was read, and why; each
/// reason once. Empty when all have.
[[nodiscard]] std::string failures_text(const FileReport& report);

/// The line that every run ends with.
[[nodiscard]] std::string safety_text();

}  // namespace benchproof
