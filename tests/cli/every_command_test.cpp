// Every command over every file: what one file does to one command is found here, and
// with the sanitizers what it does to memory.
#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <regex>
#include <string>
#include <vector>

#include "tests/cli/descriptions.h"
#include "tests/cli/program.h"

using namespace benchproof;

namespace {

/// What a file's text has in the brackets of an expression, the first time.
std::optional<std::string> first(const std::string& path, const std::regex& wanted) {
  std::ifstream file(path);
  REQUIRE(file);
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  std::smatch found;
  if (!std::regex_search(text, found, wanted)) return std::nullopt;
  return found[1].str();
}

/// The name of the first resistor of a description, as these files write one.
std::optional<std::string> first_resistor(const std::string& path) {
  return first(path, std::regex(R"((\w+) *= *\{ *kind = "resistor")"));
}

/// The name of a description's first run.
std::optional<std::string> first_run(const std::string& path) {
  return first(path, std::regex(R"re(\[\[runs\]\][^\n]*\n *name *= *"([^"\n]*)")re"));
}

/// What a run of the program must never show.
void check_sound(const Ran& ran) {
  CHECK(ran.status >= 0);
  CHECK(ran.status <= 4);
  CHECK_THAT(ran.err, !Catch::Contains("internal error"));
  // A figure that was never there: numbers below 1e-300, or not a number.
  const std::regex made_up(R"(\de-3\d\d|\bnan\b)");
  // The plotting library that a page holds has words of its own.
  std::string own = ran.out;
  if (const std::size_t from = own.find("<script>/*! @license"); from != own.npos)
    own.erase(from, own.find("</script>", from) - from);
  CHECK_FALSE(std::regex_search(own, made_up));
}

/// Runs commands over every second description: of all commands over all of them, one
/// after the other, every so manieth, which is another command for each description.
void run_over_half(std::size_t first) {
  const std::size_t step = one_in(is_sanitized() ? 4 * sanitized_step() : 10);
  std::size_t number = 0;
  const std::vector<std::filesystem::path> paths = descriptions_in(
      {"circuits", "tests/mistakes", "tests/sound", "reference/worked"});
  REQUIRE(paths.size() > 150);
  for (std::size_t n = first; n < paths.size(); n += 2) {
    const std::string path = paths[n].string();
    std::vector<std::vector<std::string>> commands = {
        {"verify", path, "--by-hand"},
        {"range", path},
        {"shopping", path},
        {"draw", path},
        {"report", path, "--copies", "1000"},
        {"assemble", path, "--sheet"},
        {"compare", path, "--set", "ambient=30 C"},
        {"deck", path},
        {"wave", path, "--csv"},
        {"tidy", path}};
    if (const auto resistor = first_resistor(path))
      commands.push_back({"size", path, "--part", *resistor, "--want",
                          *resistor + " current <= 1 A", "--json"});
    // What is read off a circuit that is solved with every fault takes as long.
    if (n % 6 == 1) commands.push_back({"readings", path, "--after-build"});
    if (n % 6 == 4) commands.push_back({"diagnose", path, "--json"});
    // A large one is proposed for longer than all others together.
    if (path.find("harbour-street") == std::string::npos)
      commands.push_back({"board", path, "--propose"});
    if (const auto run = first_run(path))
      commands.push_back({"deck", path, "--run", *run});
    for (const std::vector<std::string>& command : commands) {
      if (number++ % step != 0) continue;
      CAPTURE(command);
      const Ran ran = run_program(command);
      CAPTURE(ran.out, ran.err);
      check_sound(ran);
    }
  }
}

}  // namespace

// Two, for two processors.
TEST_CASE("commands bear every other file", "[every]") { run_over_half(0); }

TEST_CASE("commands bear the other half of the files", "[every]") { run_over_half(1); }
