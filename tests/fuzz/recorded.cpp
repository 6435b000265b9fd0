// The reader of recorded results: any text. What was read must come back from the text
// that is written of it.

#include "core/regress/recorded.h"

#include <algorithm>
#include <string>
#include <variant>
#include <vector>

#include "tests/fuzz/target.h"

namespace benchproof::fuzz {
namespace {

/// Names that a description may have; no others are ever written.
bool is_name(const std::string& text) {
  return std::all_of(text.begin(), text.end(), [](char c) {
    return c >= ' ' && c < '\x7f' && c != '"' && c != '\\';
  });
}

bool is_written(const Recorded& recorded) {
  return std::all_of(
      recorded.cases.begin(), recorded.cases.end(), [](const CaseRecord& record) {
        return is_name(record.name.variant) && is_name(record.name.name) &&
               std::all_of(record.findings.begin(), record.findings.end(), is_name) &&
               std::all_of(record.figures.begin(), record.figures.end(),
                           [](const KeptFigure& f) { return is_name(f.of); });
      });
}

void check_whole(const Recorded& recorded) {
  for (const CaseRecord& record : recorded.cases) {
    const CaseRecord* found = find_case(recorded.cases, record.name);
    demand(found == &record, "a case is recorded once");
    demand(moved(record, record, recorded.tolerance).empty(),
           "nothing has moved against itself");
    demand(!case_text(record.name).empty(), "a case has a name");
  }
  if (!is_written(recorded)) return;
  const std::string text = recorded_text(recorded, "harbour.toml");
  const auto again = read_recorded(text);
  const Recorded* back = std::get_if<Recorded>(&again);
  demand(back != nullptr, "what is written is read");
  demand(back->cases.size() == recorded.cases.size(), "with all its cases");
  for (std::size_t k = 0; k < back->cases.size(); ++k) {
    const CaseRecord& a = recorded.cases[k];
    const CaseRecord& b = back->cases[k];
    demand(a.name == b.name && a.findings == b.findings &&
               a.figures.size() == b.figures.size(),
           "names and findings come back");
  }
  demand(recorded_text(*back, "harbour.toml") == text, "and is written the same again");
}

}  // namespace
}  // namespace benchproof::fuzz

int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  using namespace benchproof;
  const std::string_view text = fuzz::text_of(bytes, size);
  const auto result = read_recorded(text);
  if (const auto* recorded = std::get_if<Recorded>(&result)) {
    fuzz::check_whole(*recorded);
    return 0;
  }
  const auto& complaints = std::get<std::vector<Diagnostic>>(result);
  fuzz::demand(!complaints.empty(), "a refused record has a complaint");
  for (const Diagnostic& d : complaints)
    fuzz::demand(to_text(d, "harbour.recorded.toml", text).ends_with('\n'),
                 "a complaint ends its line");
  return 0;
}
