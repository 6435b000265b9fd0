// Boards with one mistake each, and their sound neighbours: tests/boards.
//
// `# expect: SEVERITY CHECK HOLE` names a finding that [boards.wrong] must get, in
// which hole ("-" where the part stands in none). Faults and cautions must be exactly
// those named; what follows from another is not counted. [boards.sound] gets none.
// Where a person would look for each is common practice, no source.
#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <string>

#include "folder.h"
#include "program.h"
#include "screen.h"
#include "tests/files.h"

using namespace benchproof;
using Json = nlohmann::json;

namespace {

using Lines = std::multiset<std::string>;

/// "fault board-open B13" of each finding that follows from no other.
Lines told(const Json& board, bool with_notes) {
  Lines lines;
  for (const Json& f : board["findings"]) {
    if (!f.value("follows", Json()).is_null()) continue;
    const std::string severity = f["severity"];
    if ((severity == "note") != with_notes) continue;
    const Json hole = f.value("hole", Json());
    lines.insert(severity + " " + f["check"].get<std::string>() + " " +
                 (hole.is_string() ? hole.get<std::string>() : "-"));
  }
  return lines;
}

Lines expected(const std::string& text, bool notes) {
  Lines lines;
  const std::regex one("# expect: ([a-z]+ [a-z-]+ \\S+)\n");
  for (std::sregex_iterator it(text.begin(), text.end(), one), end; it != end; ++it)
    if (((*it)[1].str().rfind("note", 0) == 0) == notes) lines.insert((*it)[1]);
  return lines;
}

}  // namespace

TEST_CASE("one mistake on a board is found and named by its hole",
          "[program][board][mistakes]") {
  int mistakes = 0;
  int sound = 0;
  for (const auto& entry :
       std::filesystem::directory_iterator(BENCHPROOF_SOURCE_DIR "/tests/boards")) {
    const std::string path = entry.path().string();
    CAPTURE(path);
    const std::string text = text_of(path);
    const Lines notes = expected(text, true);
    const Lines faults = expected(text, false);
    REQUIRE_FALSE((notes.empty() && faults.empty()));
    ++mistakes;
    const Json wrong = json_of({"board", path, "--board", "wrong"});
    CHECK(told(wrong, false) == faults);
    const Lines notes_told = told(wrong, true);
    CHECK(std::includes(notes_told.begin(), notes_told.end(), notes.begin(),
                        notes.end()));
    if (text.find("[boards.sound]") == std::string::npos) continue;
    ++sound;
    const Json right = json_of({"board", path, "--board", "sound"});
    CHECK(right["verdict"] == "good");
    CHECK(told(right, false) == Lines{});
    const Lines quiet = told(right, true);
    for (const std::string& note : notes) CHECK_FALSE(quiet.contains(note));
  }
  CHECK(mistakes >= 60);
  CHECK(sound >= 50);
}
