#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/regress/case_record.h"

namespace benchproof {

/// What came of one look at a watched description, which was told already.
struct WatchRound {
  int status = 0;        ///< The exit status that it would have.
  bool is_good = false;  ///< Good, cautions included.
  /// What was found; nothing where the description was refused.
  std::optional<std::vector<CaseRecord>> records;
};

/// Looks at a description now, and again whenever it or a file that it names is saved,
/// and tells what changed since the last good look (before there is one, since the last
/// that had figures). Goes on until it is interrupted; the exit status is then that of
/// the last look. Returns only where it cannot watch.
[[nodiscard]] int watch_file(const std::string& file,
                             const std::function<WatchRound()>& look);

}  // namespace benchproof
