#pragma once

#include <sstream>
#include <string>
#include <vector>

namespace benchproof::test {

/// What stands between the blanks of a deck's line.
inline std::vector<std::string> words_of(const std::string& line) {
  std::istringstream stream(line);
  std::vector<std::string> words;
  for (std::string word; stream >> word;) words.push_back(word);
  return words;
}

}  // namespace benchproof::test
