#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <sstream>
#include <string>
#include <vector>

#include "core/nodal/transient.h"
#include "core/verify/runs/verify_runs.h"
#include "tests/files.h"
#include "tests/nodal_witness.h"
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
  mistake.text = text_of(path);
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

/// All findings about a mistake, at rest and in runs, and the verdict on both.
struct Judged {
  std::vector<Finding> findings;
  Verdict verdict = Verdict::good;
};

/// A description, or one of its variants, judged.
Judged judged(const Catalogue& catalogue, const std::string& text,
              const std::string& variant = {}) {
  const ReadResult read =
      read_circuit(text, "mistake.toml", catalogue, {.variant = variant});
  CAPTURE(variant);
  REQUIRE(read.circuit);
  const Solve nodal = by_nodal;
  Judged judged;
  const Verification rest = verify(*read.circuit, nodal, nodal);
  judged.verdict = rest.verdict;
  for (const StateResult& state : rest.states)
    judged.findings.insert(judged.findings.end(), state.findings.begin(),
                           state.findings.end());
  for (const RunResult& run :
       verify_runs(*read.circuit, nodal_in_time, nodal_in_time)) {
    REQUIRE(run.agreement.agrees);
    judged.verdict = std::max(judged.verdict, run.verdict);
    judged.findings.insert(judged.findings.end(), run.findings.begin(),
                           run.findings.end());
  }
  return judged;
}

bool is_found(const Judged& judged, const Mistake& mistake) {
  return std::any_of(judged.findings.begin(), judged.findings.end(),
                     [&](const Finding& f) {
                       return f.check == mistake.check && f.part == mistake.part &&
                              f.severity == severity_of(mistake.severity);
                     });
}

std::string told(const Judged& judged) {
  std::string text;
  for (const Finding& f : judged.findings)
    text += f.check + " " + f.part + ": " + f.message + "\n";
  return text;
}

}  // namespace

// Well-known mistakes of beginners, one in each circuit; which severity each deserves
// is common practice, no source. The opposite, circuits without a fault, are those of
// tests/sound beside them, the templates in circuits/, the textbook circuits in
// reference/worked, and the variants `sound` of some mistakes.
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
    const Judged wrong = judged(catalogue, mistake.text);
    CAPTURE(told(wrong));
    CHECK(is_found(wrong, mistake));
    CHECK(wrong.verdict == (mistake.severity == "fault"     ? Verdict::fault
                            : mistake.severity == "caution" ? Verdict::caution
                                                            : Verdict::good));
    if (mistake.text.find("[variants.sound]") == std::string::npos) continue;
    const Judged sound = judged(catalogue, mistake.text, "sound");
    CAPTURE(told(sound));
    CHECK_FALSE(is_found(sound, mistake));
    CHECK(sound.verdict < wrong.verdict);
  }
  CHECK(count >= 221);
}

// What people build every day, next to a mistake: "# expect: caution" where there is
// something to be said of it, nothing where it is good.
TEST_CASE("sound neighbours of mistakes stay good", "[check][mistakes]") {
  int count = 0;
  const Catalogue catalogue = built_in_catalogue();
  for (const auto& entry :
       fs::directory_iterator(BENCHPROOF_SOURCE_DIR "/tests/sound")) {
    const std::string text = text_of(entry.path());
    CAPTURE(entry.path().stem().string());
    ++count;
    const Judged sound = judged(catalogue, text);
    CAPTURE(told(sound));
    const bool has_caution = text.find("# expect: caution") != std::string::npos;
    CHECK(sound.verdict == (has_caution ? Verdict::caution : Verdict::good));
  }
  CHECK(count >= 99);
}
