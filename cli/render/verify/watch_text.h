#pragma once

#include <string>
#include <vector>

#include "core/regress/case_record.h"

namespace benchproof {

/// What is other in `now` than in `before`, case by case, for people; at most some
/// lines of each. "nothing" where all figures, findings and expectations are as they
/// were.
[[nodiscard]] std::string changes_text(const std::vector<CaseRecord>& before,
                                       const std::vector<CaseRecord>& now);

}  // namespace benchproof
