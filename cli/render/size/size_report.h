#pragma once

#include <string>
#include <vector>

#include "cli/render/verify/report.h"
#include "core/sizing/size.h"

namespace benchproof {

/// One value put into the description.
struct Written {
  int line = 0;
  int column = 0;
  std::string from;
  std::string to;
};

/// All that `size` has to say.
struct SizeReport {
  const FileReport& file;
  const SizeRequest& request;
  bool is_state_chosen = false;  ///< By the program, not by the user.
  /// Another state in which the goal is within reach, where it is not in this one.
  int reached_in = -1;
  Sizing sizing;
  std::vector<Written> written;
};

/// For people: at most kLineWidth columns.
[[nodiscard]] std::string size_text(const SizeReport& report, bool colour);

/// As a JSON object, layout 1, without a final line feed. Numbers as in verify_json.
[[nodiscard]] std::string size_json(const SizeReport& report);

}  // namespace benchproof
