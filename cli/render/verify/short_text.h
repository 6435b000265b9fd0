#pragma once

#include <string>

#include "cli/render/verify/report.h"

namespace benchproof {

/// The short report on one description that was read, for people: the verdict, what is
/// to be mended or known, each cause with what follows from it, expectations that fail,
/// the nets of all states side by side, how bright each lamp is. At most kLineWidth
/// columns.
[[nodiscard]] std::string short_text(const FileReport& report, bool colour);

/// The line that tells where more is to be had.
[[nodiscard]] std::string more_text();

}  // namespace benchproof
