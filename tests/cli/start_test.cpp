#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <string>

#include "folder.h"
#include "program.h"
#include "screen.h"
#include "tests/files.h"

using namespace benchproof;
using Catch::Contains;
namespace fs = std::filesystem;

namespace {

std::string template_text(const std::string& name) {
  return text_of(std::string(BENCHPROOF_SOURCE_DIR) + "/circuits/" + name + ".toml");
}

/// A program installed with templates, in a folder of its own.
std::string installed_in(const Folder& folder) {
  const fs::path root = folder.path();
  fs::create_directories(root / "bin");
  fs::create_directories(root / "share/benchproof/circuits");
  for (const char* name : {"benchproof", "benchproof-worker"})
    fs::copy(fs::path(BENCHPROOF_BIN_DIR) / name, root / "bin" / name);
  const auto write = [&root](const std::string& name, const std::string& text) {
    std::ofstream(root / "share/benchproof/circuits" / name) << text;
  };
  write("harbour-light.toml", "# The demo. More.\n" + template_text("led-single"));
  write("own-lamp.toml",
        "# A lamp of one's own: needs a catalogue. Made up.\ncatalogue = "
        "\"lamps.toml\"\n" +
            template_text("led-single"));
  write("lamps.toml", "[sources]\n");
  return (root / "bin/benchproof").string();
}

}  // namespace

TEST_CASE("each template has a line", "[program][start]") {
  const Ran ran = run_program({"start", "--list"});
  CHECK(ran.status == 0);
  check_width(ran.out);
  std::size_t count = 0;
  for (const auto& entry :
       fs::directory_iterator(std::string(BENCHPROOF_SOURCE_DIR) + "/circuits")) {
    const std::string name = entry.path().filename().string();
    if (!name.ends_with(".toml") || name.ends_with(".recorded.toml")) continue;
    // A block's file is no circuit to begin with.
    if (text_of(entry.path().string()).find("\npins ") != std::string::npos) continue;
    CHECK_THAT("\n" + ran.out, Contains("\n" + entry.path().stem().string() + "  "));
    ++count;
  }
  CHECK(count > 30);
  CHECK_THAT(ran.out, !Contains("Made up") && !Contains("recorded"));
}

TEST_CASE("a description begins as its template, and proves", "[program][start]") {
  const Folder folder;
  const std::string file = folder.path() + "/porch.toml";
  const Ran ran = run_program({"start", file, "--from", "led-single"});
  CAPTURE(ran.err);
  CHECK(ran.status == 0);
  CHECK(text_of(file) == template_text("led-single"));
  CHECK_THAT(ran.out, Contains("benchproof verify"));
  CHECK(run_program({"verify", file}).status == 0);
  const Ran shown = run_program({"start", "-", "--from", "led-single.toml"});
  CHECK(shown.status == 0);
  CHECK(shown.out == template_text("led-single"));
}

TEST_CASE("what is there already stays as it is", "[program][start]") {
  const Folder folder;
  const std::string file = folder.file("mine.toml", "mine");
  const Ran ran = run_program({"start", file, "--from", "led-single"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("there already"));
  CHECK(text_of(file) == "mine");
  const std::string link = folder.path() + "/link.toml";
  fs::create_symlink("nowhere.toml", link);
  CHECK(run_program({"start", link, "--from", "led-single"}).status == 2);
  CHECK_FALSE(fs::exists(folder.path() + "/nowhere.toml"));
}

TEST_CASE("a template that is none is answered by the nearest", "[program][start]") {
  const Folder folder;
  const std::string file = folder.path() + "/porch.toml";
  const Ran near = run_program({"start", file, "--from", "led-singel"});
  CHECK(near.status == 2);
  CHECK_THAT(near.err, Contains("did you mean 'led-single'?"));
  const Ran far = run_program({"start", file, "--from", "xxxxxxxxx"});
  CHECK_THAT(far.err, Contains("start --list"));
  CHECK_THAT(run_program({"start", file}).err, Contains("--list"));
  CHECK_THAT(run_program({"start"}).err, Contains("FILE"));
  CHECK(
      run_program({"start", folder.path() + "/no/such/x.toml", "--from", "led-single"})
          .status == 2);
  CHECK(fs::is_empty(folder.path()));
}

TEST_CASE("an installed program has its templates, and what they name",
          "[program][start]") {
  const Folder place;
  const std::string program = installed_in(place);
  const Folder folder;
  const std::string file = folder.path() + "/mine.toml";
  const Ran list = run_program({"start", "--list"}, {.program = program});
  CHECK_THAT(list.out, Contains("own-lamp") && Contains("A lamp of one's own"));
  CHECK_THAT("\n" + list.out, !Contains("\nlamps"));  // No description.
  const Ran ran =
      run_program({"start", file, "--from", "own-lamp"}, {.program = program});
  CAPTURE(ran.err);
  CHECK(ran.status == 0);
  CHECK(text_of(folder.path() + "/lamps.toml") == "[sources]\n");
  CHECK_THAT(ran.out, Contains("lamps.toml: comes with it"));
  // Again, under another name: the catalogue is kept.
  (void)folder.file("lamps.toml", "# mine\n");
  const Ran again =
      run_program({"start", folder.path() + "/other.toml", "--from", "own-lamp"},
                  {.program = program});
  CHECK(again.status == 0);
  CHECK_THAT(again.out, Contains("differs from the template's"));
  CHECK(text_of(folder.path() + "/lamps.toml") == "# mine\n");
}
