// Completions as the program answers them, and in real shells on a terminal.
#include <algorithm>
#include <catch2/catch.hpp>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "tests/cli/folder.h"
#include "tests/cli/program.h"
#include "tests/cli/screen.h"
#include "tests/cli/typed_shell.h"

using namespace benchproof;
using Catch::Contains;

namespace {

/// The answer to what stands on a command line: the first line, and the words.
struct Answered {
  std::string files;
  std::vector<std::string> words;
};

Answered answer_to(std::vector<std::string> line) {
  line.insert(line.begin(), "completions-for");
  const Ran ran = run_program(line);
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  Answered answer;
  std::istringstream lines(ran.out);
  std::getline(lines, answer.files);
  for (std::string text; std::getline(lines, text);)
    answer.words.push_back(text.substr(0, text.find('\t')));
  return answer;
}

using Words = std::vector<std::string>;

Words words_for(std::vector<std::string> line) {
  return answer_to(std::move(line)).words;
}

bool has(const Words& words, const std::string& word) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

const std::string kLed = "circuits/led-single.toml";

}  // namespace

TEST_CASE("commands and options are completed", "[completion]") {
  CHECK(words_for({"ver"}) == Words{"verify"});
  CHECK(words_for({"verify", "--al"}) == Words{"--all-variants", "--allow-unsealed"});
  CHECK(words_for({"wave", "--witness", ""}) == Words{"engine", "nodal", "both"});
  CHECK(words_for({"wave", "--witness=no"}) == Words{"--witness=nodal"});
  CHECK(words_for({"manual", "wa"}) == Words{"wave"});
  CHECK(words_for({"nonsense", ""}).empty());
  CHECK(has(words_for({""}), "completions"));

  const Words left = words_for({"parts", "--csv", "--"});
  CHECK_FALSE(has(left, "--csv"));   // Given already,
  CHECK_FALSE(has(left, "--json"));  // and this cannot stand beside it.
  CHECK(has(left, "--catalogue"));
  CHECK(has(words_for({"verify", "--state", "night", "--"}), "--state"));
  CHECK(words_for({"verify", "--", "--s"}).empty());
}

TEST_CASE("files are the shell's to complete", "[completion]") {
  CHECK(answer_to({"verify", ""}).files == "descriptions");
  CHECK(answer_to({"regress", "circ"}).files == "descriptions");
  CHECK(answer_to({"regress", "circuits", "--junit", ""}).files == "any");
  CHECK(answer_to({"manual", "--folder", ""}).files == "folders");
  CHECK(answer_to({"verify", "--"}).files == "none");
  CHECK(answer_to({"wave", kDemo, "another"}).files == "none");
}

TEST_CASE("what the description has is completed", "[completion]") {
  CHECK(words_for({"verify", kDemo, "--state", "n"}) == Words{"night"});
  CHECK(words_for({"verify", kDemo, "--state=n"}) == Words{"--state=night"});
  CHECK(words_for({"wave", kDemo, "--run", "power"}) == Words{"power up"});
  CHECK(words_for({"wave", kDemo, "--nets", "rail,ra"}) ==
        Words{"rail,raw", "rail,rail"});
  CHECK(words_for({"wave", kDemo, "--parts", "chip.v"}) ==
        Words{"chip.vdd", "chip.vss"});
  CHECK(has(words_for({"size", kDemo, "--part", "quay1"}), "quay1_r"));
  CHECK(words_for({"range", kDemo, "--over", ""}) == Words{"jack.voltage"});
  CHECK(words_for({"verify", kLed, "--variant", "on"}) == Words{"on_9v", "on_12v"});
  CHECK(words_for({"compare", kLed, "--state", ""}) == Words{"steady"});
  CHECK(has(words_for({"verify", "--explain", "led"}), "led-bare"));
  CHECK(has(words_for({"parts", "1N58"}), "1N5819"));
}

TEST_CASE("a change is completed piece by piece", "[completion]") {
  const auto change = [](const std::string& begun) {
    return words_for({"verify", kDemo, "--set", begun});
  };
  CHECK(has(change(""), "quay1_r."));
  CHECK(change("nig") == Words{"night."});
  CHECK(change("quay1_r.va") == Words{"quay1_r.value="});
  CHECK(change("night.chip.ca") == Words{"night.chip.cabin="});
  CHECK(change("night.chip.cabin=") == Words{"night.chip.cabin=low",
                                             "night.chip.cabin=high",
                                             "night.chip.cabin=open"});
  CHECK(change("jack.regulated=") ==
        Words{"jack.regulated=true", "jack.regulated=false"});
  CHECK(change("jack.voltage=").empty());  // Any figure.
  CHECK(words_for({"compare", kDemo, "--set", "ambient=30C,quay1_r.va"}) ==
        Words{"ambient=30C,quay1_r.value="});
}

TEST_CASE("what cannot be read has no names", "[completion]") {
  CHECK(words_for({"verify", "circuits", "--state", ""}).empty());
  CHECK(words_for({"verify", "no-such.toml", "--state", ""}).empty());
  CHECK(words_for({"verify", "/dev/zero", "--state", ""}).empty());
  CHECK(words_for({"verify", "-", "--state", ""}).empty());
  CHECK(words_for({"verify", "tests/diagnostics/key-unknown.toml", "--state", ""})
            .empty());
}

TEST_CASE("a completion does not keep anybody waiting", "[completion]") {
  // The most that goes unnoticed while typing; a busy machine is given ten times as
  // much. A witness of the demo's runs takes longer than both.
  constexpr std::chrono::milliseconds kUnnoticed(100);
  auto best = std::chrono::steady_clock::duration::max();
  for (int k = 0; k < 10 && best > kUnnoticed; ++k) {
    const auto begin = std::chrono::steady_clock::now();
    (void)words_for({"verify", kDemo, "--run", ""});
    best = std::min(best, std::chrono::steady_clock::now() - begin);
  }
  const int times = is_sanitized() ? 10 : 1;
  CHECK(best < times * kUnnoticed);
}

namespace {

/// A line typed, with tabs, and the words that the program is then given.
struct TypedLine {
  std::string keys;
  std::string words;
};

const std::vector<TypedLine> kLines = {
    {"ver\t--js\t", "verify|--json"},
    {"verify circuits/led-si\t--st\tst\t",
     "verify|circuits/led-single.toml|--state|steady"},
    {"wave circuits/harbour-light.toml --run 'power u\t",
     "wave|circuits/harbour-light.toml|--run|power up"},
    {"wave circuits/harbour-light.toml --run power\\ u\t--nets rail,raw\t",
     "wave|circuits/harbour-light.toml|--run|power up|--nets|rail,raw"},
    {"verify circuits/harbour-light.toml --set nig\tch\tca\thi\t",
     "verify|circuits/harbour-light.toml|--set|night.chip.cabin=high"},
    {"wave --witness=no\t", "wave|--witness=nodal"},
    {"regress --junit tests/cons\tdiv\t",
     "regress|--junit|tests/consumer/divider.toml"}};

/// A shell to be tried, and how it reads the script.
struct Tried {
  std::string name;
  std::vector<std::string> start;
  std::string setup;
};

const std::vector<Tried> kShells = {
    {"bash",
     {"/bin/bash", "--norc", "--noprofile", "-i"},
     "source <(benchproof completions bash)"},
    {"zsh",
     {"/bin/zsh", "-f", "-i"},
     "autoload -U compinit && compinit -u -D && source <(benchproof completions zsh)"},
    {"fish",
     {"/usr/bin/fish", "--no-config", "-i"},
     "benchproof completions fish | source"}};

/// Puts a program into a folder that passes questions of shells on, and says which
/// words it was given otherwise.
void put_listener(const std::filesystem::path& folder) {
  const std::filesystem::path path = folder / "benchproof";
  std::ofstream(path) << "#!/bin/sh\n"
                         "case $1 in completions*) exec " BENCHPROOF_BIN_DIR
                         "/benchproof \"$@\" ;; esac\n"
                         "line=\nfor word; do line=$line$word'|'; done\n"
                         "echo \"given<$line>\"\n";
  std::filesystem::permissions(path, std::filesystem::perms::owner_all);
}

}  // namespace

TEST_CASE("shells complete on a terminal", "[completion][terminal]") {
  const Tried& tried = GENERATE(from_range(kShells));
  CAPTURE(tried.name);
  if (!std::filesystem::exists(tried.start.front())) {
    WARN("not installed, so not tried: " + tried.name);
    return;
  }
  const Folder home;
  put_listener(home.path());
  TypedShell shell(tried.start, home.path());
  shell.type(tried.setup + "\r");
  shell.type("echo rea''dy\r");
  REQUIRE(shell.shows("ready"));
  for (const TypedLine& line : kLines) {
    CAPTURE(line.keys);
    shell.type("benchproof " + line.keys + "\r");
    const bool is_given = shell.shows("given<" + line.words + "|>");
    CAPTURE(shell.screen());
    REQUIRE(is_given);
  }
}
