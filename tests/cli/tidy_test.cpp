#include <sys/stat.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <string>

#include "folder.h"
#include "program.h"
#include "tests/files.h"

using namespace benchproof;
using Catch::Contains;

namespace {

const std::string kPorch = R"(# A porch lamp.
[parts]
jack   = { kind = "dc-supply", voltage = "5 V", current = "500 mA" }
porch_r = { kind = "resistor", value = "330R" }
porch   = { kind = "led", colour = "red" }

[nets]
inlet  = ["jack.plus", "porch_r.a"]  # the plug
lamp   = ["porch_r.b", "porch.anode"]
ground = ["jack.minus", "porch.cathode"]
)";

const std::string kTidyPorch = R"(# A porch lamp.
[parts]
jack   = { kind = "dc-supply", voltage = "5 V", current = "500 mA" }
porch_r = { kind = "resistor", value = "330R" }
porch   = { kind = "led", colour = "red" }

[paths]
# the plug
porch = ["ground", "jack.minus", "jack.plus", "net:inlet", "porch_r", "net:lamp", "porch", "ground"]
)";

std::string with_returns(const std::string& text) {
  std::string result;
  for (const char c : text) {
    if (c == '\n') result += '\r';
    result += c;
  }
  return result;
}

}  // namespace

TEST_CASE("tidy writes the wiring as paths to standard output", "[program][tidy]") {
  const Folder folder;
  const std::string path = folder.file("porch.toml", kPorch);
  const Ran ran = run_program({"tidy", path});
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  CHECK(ran.out == kTidyPorch);
  CHECK(text_of(path) == kPorch);
  CHECK(run_program({"tidy", "-"}, {.input = kPorch}).out == kTidyPorch);
}

TEST_CASE("tidy --write puts it in the file's place", "[program][tidy]") {
  const Folder folder;
  const bool has_returns = GENERATE(false, true);
  const std::string mark = GENERATE("", "\xEF\xBB\xBF");
  const auto text = [&](const std::string& lines) {
    return mark + (has_returns ? with_returns(lines) : lines);
  };
  const std::string path = folder.file("porch.toml", text(kPorch));
  REQUIRE(::chmod(path.c_str(), 0640) == 0);
  const std::string link = folder.path() + "/link.toml";
  REQUIRE(::symlink("porch.toml", link.c_str()) == 0);
  const Ran ran = run_program({"tidy", "--write", link});
  CHECK(ran.status == 0);
  CHECK(ran.out.empty());
  CHECK(ran.err.empty());
  CHECK(text_of(path) == text(kTidyPorch));
  struct stat status = {};
  REQUIRE(::lstat(link.c_str(), &status) == 0);
  CHECK(S_ISLNK(status.st_mode));
  REQUIRE(::stat(path.c_str(), &status) == 0);
  CHECK((status.st_mode & 0777U) == 0640U);

  // What is tidy stays so.
  const Ran again = run_program({"tidy", "--write", path});
  CHECK(again.status == 0);
  CHECK_THAT(again.err, Contains("stays as it is: it has no\n  nets, only paths"));
  CHECK(text_of(path) == text(kTidyPorch));
}

TEST_CASE("tidy leaves alone what it cannot read, or write", "[program][tidy]") {
  const Folder folder;
  const std::string path = folder.file("bad.toml", kPorch + "tap = [\"porch.x\"]\n");
  const Ran bad = run_program({"tidy", "--write", path});
  CHECK(bad.status == 2);
  CHECK_THAT(bad.err, Contains("'porch' has no pin 'x'"));
  CHECK(text_of(path) == kPorch + "tap = [\"porch.x\"]\n");

  const Ran input = run_program({"tidy", "--write", "-"}, {.input = kPorch});
  CHECK(input.status == 2);
  CHECK_THAT(input.err, Contains("--write: it needs a file"));

  const std::string hard = folder.file("hard.toml", kPorch);
  REQUIRE(::link(hard.c_str(), (folder.path() + "/other.toml").c_str()) == 0);
  const Ran linked = run_program({"tidy", "--write", hard});
  CHECK(linked.status == 2);
  CHECK_THAT(linked.err, Contains("not written: "));
  CHECK(text_of(hard) == kPorch);
}
