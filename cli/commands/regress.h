#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/render/regress_report.h"

namespace benchproof {

struct RegressOptions {
  std::vector<std::string> paths;  ///< Folders and descriptions.
  std::vector<std::string> filters;
  std::vector<std::string> merged;  ///< Reports of shards, in place of `paths`.
  int jobs = 0;                     ///< Solving at a time; 0: as many as processors.
  Shard shard;
  bool record = false;
  std::string changed_since;  ///< "last", a file, or a local time; empty: all.
  std::string junit;          ///< A file for JUnit XML; empty: none.
  bool tap = false;
  bool json = false;
  bool all = false;
  bool allow_unsealed = false;
};

/// Proves every circuit of a library, and holds each to its recorded results. Returns
/// the exit status.
[[nodiscard]] int run_regress(const RegressOptions& options);

}  // namespace benchproof
