#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "tests/unit/check/bench.h"

using namespace benchproof;
using namespace benchproof::bench;

namespace {

namespace fs = std::filesystem;

/// What a circuit is wrong by: "# expect: SEVERITY CHECK PART", or "refused ID".
struct Mistake {
  std::string name;
  std::string text;
  std::string severity;
  std::string check;
  std::string part;
};

Mistake read_mistake(const fs::path& path) {
  Mistake mistake;
  mistake.name = path.stem();
  std::ifstream file(path);
  std::ostringstream all;
  all << file.rdbuf();
  mistake.text = all.str();
  const std::string mark = "# expect: ";
  const std::size_t at = mistake.text.find(mark);
  REQUIRE(at != std::string::npos);
  std::istringstream words(mistake.text.substr(at + mark.size()));
  words >> mistake.severity >> mistake.check >> mistake.part;
  return mistake;
}

Severity severity_of(const std::string& word) {
  if (word == "fault") return Severity::fault;
  return word == "caution" ? Severity::caution : Severity::note;
}

bool is_found(const Verification& verification, const Mistake& mistake) {
  for (const StateResult& state : verification.states)
    for (const Finding& f : state.findings)
      if (f.check == mistake.check && f.part == mistake.part &&
          f.severity == severity_of(mistake.severity))
        return true;
  return false;
}

}  // namespace

// Well-known mistakes of beginners, one in each circuit; which severity each deserves
// is common practice, no source. The opposite, circuits without a fault, are the
// templates in circuits/ and the textbook circuits in reference/worked.
TEST_CASE("every mistake is found, placed and weighed", "[check][mistakes]") {
  int count = 0;
  const Catalogue catalogue = built_in_catalogue();
  for (const auto& entry :
       fs::directory_iterator(BENCHPROOF_SOURCE_DIR "/tests/mistakes")) {
    const Mistake mistake = read_mistake(entry.path());
    CAPTURE(mistake.name);
    ++count;
    if (mistake.severity == "refused") {
      const ReadResult read = read_circuit(mistake.text, "mistake.toml", catalogue);
      CHECK_FALSE(read.circuit);
      REQUIRE_FALSE(read.diagnostics.empty());
      CHECK(read.diagnostics[0].id == mistake.check);
      continue;
    }
    const auto bench = verified(mistake.text);
    std::string told;
    for (const StateResult& state : bench.verification.states)
      for (const Finding& f : state.findings)
        told += f.check + " " + f.part + ": " + f.message + "\n";
    CAPTURE(told);
    CHECK(is_found(bench.verification, mistake));
    CHECK(bench.verification.verdict == (mistake.severity == "fault" ? Verdict::fault
                                         : mistake.severity == "caution"
                                             ? Verdict::caution
                                             : Verdict::good));
  }
  CHECK(count >= 105);
}
