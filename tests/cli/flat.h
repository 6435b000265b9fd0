#pragma once

#include <sstream>
#include <string>

namespace benchproof {

/// The text as one line, however it was broken.
inline std::string flat(const std::string& text) {
  std::istringstream words(text);
  std::string line;
  for (std::string word; words >> word;) line += (line.empty() ? "" : " ") + word;
  return line;
}

}  // namespace benchproof
