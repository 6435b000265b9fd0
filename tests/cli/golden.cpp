#include "golden.h"

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <regex>
#include <sstream>
#include <vector>

namespace benchproof {
namespace {

struct Pieces {
  std::string words;  ///< The text with a mark for each number.
  std::vector<std::string> numbers;
};

/// A number stands alone or before a unit; digits within a name are part of the name.
Pieces split(const std::string& line) {
  static const std::regex number(R"((^|[^\w.:])(-?\d+(\.\d+)?)(?![\w:]))");
  Pieces pieces;
  auto rest = line.begin();
  for (std::sregex_iterator it(line.begin(), line.end(), number), end; it != end;
       ++it) {
    pieces.words.append(rest, (*it)[2].first);
    pieces.words += '#';
    pieces.numbers.push_back((*it)[2]);
    rest = (*it)[2].second;
  }
  pieces.words.append(rest, line.end());
  return pieces;
}

double last_digit(const std::string& number) {
  const std::size_t point = number.find('.');
  if (point == std::string::npos) return 1.0;
  return std::pow(10.0, -static_cast<double>(number.size() - point - 1));
}

/// Of a line of the golden file, and of the text.
bool is_equal(const std::string& expected, const std::string& found) {
  const Pieces a = split(expected);
  const Pieces b = split(found);
  if (a.words != b.words) return false;
  for (std::size_t k = 0; k < a.numbers.size(); ++k) {
    // Half a unit for the file's own rounding, half for the text's.
    const double bound = 1.0001 * last_digit(a.numbers[k]);
    if (std::abs(std::stod(a.numbers[k]) - std::stod(b.numbers[k])) > bound)
      return false;
  }
  return true;
}

}  // namespace

std::string golden_difference(const std::string& name, const std::string& text) {
  const std::string path =
      std::string(BENCHPROOF_SOURCE_DIR "/tests/cli/golden/") + name;
  if (std::getenv("BENCHPROOF_REWRITE_GOLDEN") != nullptr) {
    std::ofstream(path) << text;
    return "written: " + path;
  }
  std::ifstream expected(path);
  if (!expected) return "there is no " + path;
  std::ostringstream content;
  content << expected.rdbuf();
  return text_difference(path, content.str(), text);
}

std::string text_difference(const std::string& name, const std::string& expected,
                            const std::string& text) {
  std::istringstream wanted(expected);
  std::istringstream found(text);
  std::string expected_line;
  std::string found_line;
  for (int line = 1;; ++line) {
    const bool has_expected = static_cast<bool>(std::getline(wanted, expected_line));
    const bool has_found = static_cast<bool>(std::getline(found, found_line));
    if (!has_expected && !has_found) return {};
    if (has_expected && has_found && is_equal(expected_line, found_line)) continue;
    return name + ":" + std::to_string(line) + ": expected\n" +
           (has_expected ? expected_line : "(nothing)") + "\nbut found\n" +
           (has_found ? found_line : "(nothing)");
  }
}

}  // namespace benchproof
