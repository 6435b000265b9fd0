#include "golden.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <regex>
#include <sstream>
#include <vector>

namespace benchproof {
namespace {

struct Number {
  std::string digits;  ///< As written, with its sign.
  double bound = 0.0;  ///< How far another text's number may lie from it.
};

struct Pieces {
  std::string words;  ///< The text with a mark for each number.
  std::vector<Number> numbers;
};

/// One unit of the last digit: half for the file's own rounding, half for the text's.
double last_digit(const std::string& number) {
  const std::size_t point = number.find('.');
  const auto decimals =
      point == std::string::npos ? 0 : static_cast<int>(number.size() - point) - 1;
  return 1.0001 * std::pow(10.0, -decimals);
}

/// Whether a number was measured. Reports print what was measured to three digits at
/// least, so that a whole number below 100 with a unit is a value as it was given;
/// shares alone are printed whole. `unit` is the word behind the number.
bool is_measured(const std::string& number, const std::string& unit) {
  static const std::regex shares("%|points");
  static const std::regex units("[fpnumkMGT]?(V|A|W|ohm|F|H|s|Hz|C|Ah|m)|K/W");
  if (number.find('.') != std::string::npos) return true;
  if (std::regex_match(unit, shares)) return true;
  return std::abs(std::stod(number)) >= 100 && std::regex_match(unit, units);
}

/// A number stands alone or before a unit; digits within a name are part of the name.
Pieces split(const std::string& line) {
  static const std::regex number(
      R"((^|[^\w.:])(-?\d+(\.\d+)?)(?![\w:])(?= ?([\w/%]*)))");
  Pieces pieces;
  auto rest = line.begin();
  for (std::sregex_iterator it(line.begin(), line.end(), number), end; it != end;
       ++it) {
    pieces.words.append(rest, (*it)[2].first);
    pieces.words += '#';
    const std::string digits = (*it)[2];
    const bool is_count = !is_measured(digits, (*it)[4]);
    pieces.numbers.push_back({digits, is_count ? 0.0 : last_digit(digits)});
    rest = (*it)[2].second;
  }
  pieces.words.append(rest, line.end());
  return pieces;
}

/// Of a line of the golden file, and of the text.
bool is_equal(const std::string& expected, const std::string& found) {
  const Pieces a = split(expected);
  const Pieces b = split(found);
  if (a.words != b.words) return false;
  return std::equal(a.numbers.begin(), a.numbers.end(), b.numbers.begin(),
                    [](const Number& wanted, const Number& other) {
                      return std::abs(std::stod(wanted.digits) -
                                      std::stod(other.digits)) <= wanted.bound;
                    });
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
