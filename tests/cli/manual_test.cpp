#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <regex>
#include <set>
#include <string>
#include <vector>

#include "tests/cli/folder.h"
#include "tests/cli/program.h"
#include "tests/cli/screen.h"
#include "tests/files.h"

using namespace benchproof;
using Catch::Contains;

namespace {

/// The names of commands, as the program's help lists them.
std::vector<std::string> commands() {
  const std::string help = run_program({"--help"}).out;
  const std::string list = help.substr(help.find("Subcommands:"));
  const std::regex row(R"(\n  ([a-z]+) )");
  std::vector<std::string> names;
  for (std::sregex_iterator at(list.begin(), list.end(), row), end; at != end; ++at)
    names.push_back((*at)[1]);
  return names;
}

/// The names of options that a text has.
std::set<std::string> options_in(const std::string& text) {
  const std::regex option("--[a-z-]+");
  std::set<std::string> names;
  for (std::sregex_iterator at(text.begin(), text.end(), option), end; at != end; ++at)
    names.insert(at->str());
  return names;
}

/// A page as a person reads it, its marks gone.
std::string plain(const std::string& page) {
  return std::regex_replace(page, std::regex(R"(\\f[BRI]|\\(?=-))"), "");
}

}  // namespace

TEST_CASE("the manual has what the help has", "[manual]") {
  const std::string page = plain(run_program({"manual"}).out);
  const std::vector<std::string> names = commands();
  REQUIRE(names.size() >= 12);
  for (const std::string& name : names) {
    CAPTURE(name);
    CHECK_THAT(page, Contains(".TP\n" + name + "\n"));
    CHECK_THAT(page, Contains("benchproof-" + name + "(1)"));
    const Ran own = run_program({"manual", name});
    CHECK(own.status == 0);
    CHECK(options_in(plain(own.out)) == options_in(run_program({name, "--help"}).out));
  }
  const Ran wrong = run_program({"manual", "verfy"});
  CHECK(wrong.status == 2);
  CHECK_THAT(wrong.err, Contains("did you mean 'verify'?"));
}

TEST_CASE("every page is written where it is installed from", "[manual]") {
  const Folder folder;
  const std::string share = folder.path() + "/new/share";
  REQUIRE(run_program({"manual", "--folder", share}).status == 0);
  CHECK(text_of(share + "/man/man1/benchproof.1") == run_program({"manual"}).out);
  for (const std::string& name : commands())
    CHECK(text_of(share + "/man/man1/benchproof-" + name + ".1") ==
          run_program({"manual", name}).out);
  CHECK(text_of(share + "/bash-completion/completions/benchproof") ==
        run_program({"completions", "bash"}).out);
  // What comes to that place with the program is the same.
  CHECK(std::filesystem::exists(share + "/zsh/site-functions/_benchproof"));
  CHECK(std::filesystem::exists(share + "/fish/vendor_completions.d/benchproof.fish"));
  CHECK(run_program({"manual", "--folder", "/proc/none"}).status == 2);
}

TEST_CASE("the pages are set without a warning", "[manual]") {
  if (std::system("groff -v >/dev/null 2>&1") != 0) {
    WARN("not installed, so not tried: groff");
    return;
  }
  const Folder folder;
  REQUIRE(run_program({"manual", "--folder", folder.path()}).status == 0);
  for (const auto& page :
       std::filesystem::directory_iterator(folder.path() + "/man/man1")) {
    const std::string log = folder.path() + "/log";
    const std::string command =
        "groff -man -Tutf8 -ww -z '" + page.path().string() + "' >'" + log + "' 2>&1";
    CAPTURE(page.path());
    CHECK(std::system(command.c_str()) == 0);
    CHECK(text_of(log).empty());
  }
}
