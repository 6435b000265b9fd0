// Machines that are set up oddly, or to do harm.
#include <catch2/catch.hpp>
#include <filesystem>
#include <string>
#include <vector>

#include "folder.h"
#include "program.h"

using namespace benchproof;
using Catch::Contains;

namespace {

const std::vector<std::string> kVerify = {"verify", "circuits/night-switch.toml"};

}  // namespace

TEST_CASE("what the environment says changes nothing", "[program][robust]") {
  const Folder home;
  const std::string mark = home.path() + "/mark";
  for (const char* name : {".spiceinit", "spice.rc", ".spicerc", "spinit", "init"})
    home.file(name, "* start\nset numdgt=3\nshell touch " + mark + "\n");
  const Ran usual = run_program(kVerify);
  REQUIRE(usual.status == 0);
  const std::vector<std::pair<std::string, std::string>> settings{
      {"HOME", home.path()},
      {"HOME", "/nonexistent"},
      {"HOME", ""},
      {"USERPROFILE", home.path()},
      {"SPICE_SCRIPTS", home.path()},
      {"SPICE_LIB_DIR", home.path()},
      {"SPICE_EXEC_DIR", home.path()},
      {"SPICE_PATH", home.path() + "/spinit"},
      {"SPICE_ASCIIRAWFILE", "1"},
      {"SPICE_NEWS", home.path() + "/spinit"},
      {"SPICE_HELP_DIR", home.path()},
      {"SPICE_OPTS", "-i"},
      {"NGSPICE_INPUT_DIR", home.path()},
      {"NGSPICE_MEAS_PRECISION", "1"},
      {"LD_LIBRARY_PATH", "/nonexistent"},
      {"LC_ALL", "de_DE.UTF-8"},
      {"LC_NUMERIC", "de_DE.UTF-8"},
      {"LANG", "tr_TR.UTF-8"},
      {"TZ", "Pacific/Chatham"},
      {"TMPDIR", "/nonexistent"},
      {"TMPDIR", "/proc"},
      {"OMP_NUM_THREADS", "999999"},
      {"XDG_CACHE_HOME", "/proc"},
      {"XDG_CACHE_HOME", "relative"},
      {"EDITOR", "touch " + mark},
      {"SHELL", "/nonexistent"},
      {"MALLOC_PERTURB_", "165"},
  };
  for (const auto& setting : settings) {
    CAPTURE(setting);
    RunOptions options;
    options.environment = {setting};
    const Ran ran = run_program(kVerify, options);
    CHECK(ran.status == usual.status);
    CHECK(ran.out == usual.out);
    CHECK(ran.err == usual.err);
    CHECK_FALSE(std::filesystem::exists(mark));
  }
}

TEST_CASE("where nothing can be made below /tmp that is said", "[program][robust]") {
  RunOptions options;
  options.tmp_read_only = true;
  const Ran ran = run_program(kVerify, options);
  if (ran.status == kNoSuchMachine) {
    WARN("this machine lets nobody have a view of their own of the files");
    return;
  }
  CHECK(ran.status == 3);
  CHECK_THAT(ran.out, Contains("verdict: withheld"));
  CHECK_THAT(ran.out, Contains("cannot make a temporary folder"));
  CHECK_THAT(ran.out, Contains("TMPDIR"));

  const Folder elsewhere("/var/tmp/");
  options.environment = {{"TMPDIR", elsewhere.path()}};
  CHECK(run_program(kVerify, options).status == 0);
}

TEST_CASE("few descriptors give an answer or say so", "[program][robust]") {
  int answers = 0;
  for (long free = 0; free < 12; ++free) {
    CAPTURE(free);
    RunOptions options;
    options.descriptors = free;
    const Ran ran = run_program(kVerify, options);
    CAPTURE(ran.out, ran.err);
    // The loader of libraries needs a descriptor, and says in its own way that it has
    // none.
    constexpr int kNotLoaded = 127;
    if (ran.status == kNotLoaded) continue;
    if (ran.status == 0) {
      ++answers;
      continue;
    }
    CHECK((ran.status == 2 || ran.status == 3));
    CHECK_THAT(ran.out + ran.err, Contains("Too many open files"));
  }
  CHECK(answers >= 4);
}
