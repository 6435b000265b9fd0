#pragma once

#include <string>
#include <vector>

#include "cli/render/verify/report.h"

namespace benchproof {

/// The report on one description as a JSON object, layout 1; without a final line feed.
///
/// Numbers are in SI units (degrees Celsius for temperatures) and read back as the same
/// doubles; what is not a finite number is null. Bytes of a file name that are not
/// UTF-8 become U+FFFD. A state's `nets` and `parts` are the averages over its PWM
/// phases, and null where the witnesses do not agree; `phases` has each phase by itself
/// where there are several or one is not agreed on. What a witness without an answer
/// would have said, and what would have been compared with it, is null. `variants` of
/// the description, where given, are its member of that name, each as it would be
/// alone.
[[nodiscard]] std::string verify_json(const FileReport& report,
                                      const std::vector<FileReport>& variants = {});

}  // namespace benchproof
