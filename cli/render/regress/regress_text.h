#pragma once

#include <string>

#include "cli/render/regress/regress_report.h"

namespace benchproof {

struct RegressTextOptions {
  bool colour = false;
  bool all = false;  ///< Every circuit and everything that moved.
};

/// Writes the report for people, at most kLineWidth columns: what failed and why, the
/// counts, and what came nearest to its limit.
void put_regress_text(const RegressReport& report, const RegressTextOptions& options,
                      const PutText& put);

}  // namespace benchproof
