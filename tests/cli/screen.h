#pragma once

#include <algorithm>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "program.h"

namespace benchproof {

inline const std::string kDemo = "circuits/harbour-light.toml";

/// Checks that a screen fits in 80 columns.
inline void check_columns(const std::string& text) {
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    INFO(line);
    CHECK(line.size() <= 80);
  }
}

/// Checks that a screen fits in 80 columns of printable ASCII.
inline void check_width(const std::string& text) {
  check_columns(text);
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    INFO(line);
    CHECK(std::all_of(line.begin(), line.end(),
                      [](char c) { return c >= ' ' && c <= '~'; }));
  }
}

/// What the program prints as JSON.
inline nlohmann::json json_of(std::vector<std::string> arguments,
                              const RunOptions& options = {}) {
  arguments.emplace_back("--json");
  const Ran ran = run_program(arguments, options);
  CAPTURE(ran.out, ran.err);
  return nlohmann::json::parse(ran.out);
}

/// A text with the first place of another text changed.
inline std::string with(std::string text, const std::string& from,
                        const std::string& to) {
  return text.replace(text.find(from), from.size(), to);
}

}  // namespace benchproof
