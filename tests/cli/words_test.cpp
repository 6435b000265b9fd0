#include <algorithm>
#include <catch2/catch.hpp>
#include <cctype>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "folder.h"
#include "program.h"
#include "screen.h"
#include "tests/files.h"

using namespace benchproof;
using Catch::Contains;

namespace {

// Words of help texts and of the tables of the pages that need no explanation.
const std::string kPlain =
    "about across add after after-build again against alike all all-variants "
    "allow-unsealed also an and another answer answers any are as ask asked assemble "
    "at bash be before begin begins behind below benchproof beside between blocks "
    "board both boxes build building built buy buzzers by by-hand by-nets can cannot "
    "cautious change changed changed-since changes circuit circuits cli comma command "
    "commands compare comparison complete completions constant copies copy core count "
    "counts ctrl-c data decides decisions derate-voltage developers diagnose did "
    "differs dir display do does draw draws each editor editors else end ends every "
    "everything exactly example exclude excludes exit explain explanations eye "
    "fail-under failed far feed few fewer figure fill filter find first fish fit five "
    "fixed flow folder folders for format from full fully gets gives go goes groff "
    "hand handbook hardly has have held help here highest hold how ids if in included "
    "independent index information int into is it its jobs key know known kth larger "
    "last "
    "least leaves lets like line list longer look looks made make man manual many "
    "matters may md mean meaning means measure measured merge message meter methods "
    "millimetres more most move moved moves multiples must my name names need needed "
    "new no none not now number of often once one only options or order other out "
    "over own page pair paper pass paths pattern place plain positionals print "
    "printed processor program propose proposed prove proves put quay read recorded "
    "reference repeated report reports required results right rows rules run-copies "
    "same save saved says schema script security seed sent set several share sheet "
    "shell shopping shorter show showed shows sides since size small smaller so "
    "sockets some somewhere speed stage stand standard start status still string "
    "subcommand subcommands supplies svg switched takes taking target test tests "
    "textbook that the their them there these they this though three tick tidy time "
    "to together too trade twice two unplugged us usage use used value values verify "
    "wanted was watch way well were what when whenever where which who whose will "
    "wired wiring with with-expectations with-faults without word words work worked "
    "worth write written wrong xml your zsh";

std::string small(std::string text) {
  for (char& c : text)
    c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return text;
}

std::vector<std::string> commands() {
  const std::string help = run_program({"--help"}).out;
  std::vector<std::string> names;
  std::istringstream lines(help.substr(help.find("Subcommands:")));
  std::string line;
  std::getline(lines, line);
  while (std::getline(lines, line) && line.starts_with("  "))
    if (line[2] != ' ') names.push_back(line.substr(2, line.find(' ', 2) - 2));
  return names;
}

/// What `--help` says of everything.
std::string all_help() {
  std::string text = run_program({"--help"}).out;
  for (const std::string& command : commands())
    text += run_program({command, "--help"}).out;
  return text;
}

/// The tables of a page, without what is code, a file or a link's target.
std::string tables_of(const std::string& page) {
  std::istringstream lines(text_of(std::string(BENCHPROOF_SOURCE_DIR) + "/" + page));
  std::string text;
  for (std::string line; std::getline(lines, line);)
    if (line.starts_with('|')) text += line + "\n";
  text = std::regex_replace(text, std::regex(R"(\]\([^)]*\))"), " ");
  return std::regex_replace(text, std::regex("`[^`]*`"), " ");
}

}  // namespace

TEST_CASE("words of the help and of the tables are explained, or plain",
          "[program][words]") {
  std::set<std::string> known;
  const nlohmann::json list = json_of({"words"});
  for (const auto& word : list.at("words")) {
    known.insert(small(word.at("word").get<std::string>()));
    for (const auto& also : word.at("also"))
      known.insert(small(also.get<std::string>()));
  }
  std::istringstream plain(kPlain);
  for (std::string word; plain >> word;) known.insert(word);
  const std::string text =
      all_help() + tables_of("README.md") + tables_of("cli/README.md");
  CHECK(commands().size() >= 11);
  const std::regex word("[A-Za-z][A-Za-z-]+");
  for (std::sregex_iterator it(text.begin(), text.end(), word), end; it != end; ++it) {
    const std::string one = small(it->str());
    const bool is_plural =
        one.ends_with('s') && known.contains(one.substr(0, one.size() - 1));
    INFO(one);
    CHECK((known.contains(one) || is_plural));
  }
}

TEST_CASE("an id is explained by words as by verify", "[program][words]") {
  const nlohmann::json list = json_of({"words"});
  REQUIRE(list.at("explanations").size() > 100);
  for (const char* id : {"led-bare", "touch", "run-surge", "finding-missing"}) {
    const Ran by_words = run_program({"words", id});
    CHECK(by_words.status == 0);
    CHECK(by_words.out == run_program({"verify", "--explain", id}).out);
  }
  // A word that is an id as well: both.
  const Ran both = run_program({"words", "derating"});
  CHECK_THAT(both.out,
             Contains("longer") &&
                 Contains(run_program({"verify", "--explain", "derating"}).out));
}

TEST_CASE("a word of two words needs no quotes", "[program][words]") {
  const Ran ran = run_program({"words", "forward", "voltage"});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Catch::StartsWith("forward voltage\n"));
  check_width(ran.out);
  CHECK(ran.out == run_program({"words", "Forward Voltage"}).out);
}

TEST_CASE("a misspelt word is answered by the nearest", "[program][words]") {
  const auto told = [](const std::string& word) {
    const Ran ran = run_program({"words", word});
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    return ran.err;
  };
  CHECK_THAT(told("dropuot"), Contains("did you mean 'dropout'?"));
  CHECK_THAT(told("led-baer"), Contains("did you mean 'led-bare'?"));
  CHECK_THAT(told("qqqqqq"), Contains("'benchproof words' lists all of them"));
}

TEST_CASE("the list of words fits on paper", "[program][words]") {
  const Ran ran = run_program({"words"});
  CHECK(ran.status == 0);
  check_width(ran.out);
}
