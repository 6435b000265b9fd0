#pragma once

#include <string>

namespace benchproof {

/// Tells what the findings of an id mean ("list": every id, with a line each). Returns
/// the exit status: kExitRefused for an id that there is not.
[[nodiscard]] int run_explain(const std::string& check, bool json);

}  // namespace benchproof
