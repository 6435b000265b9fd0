// The guard before the engine: any lines. What it lets through is held against its
// promises by other code than its own.

#include <cctype>
#include <string>
#include <string_view>
#include <vector>

#include "spice/session/detail/deck_guard.h"
#include "tests/fuzz/target.h"

namespace benchproof::fuzz {
namespace {

std::vector<std::string> lines_of(std::string_view text) {
  std::vector<std::string> lines{""};
  for (const char c : text) {
    if (c == '\n') {
      lines.emplace_back();
    } else {
      lines.back() += c;
    }
  }
  return lines;
}

std::string lower_word(const std::string& line) {
  std::string word;
  for (const char c : line) {
    if (c == ' ' || c == '\t') break;
    word += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  }
  return word;
}

bool is_allowed_card(const std::string& word, wire::Analysis analysis) {
  for (const char* card : {".model", ".options", ".option", ".param", ".func", ".temp",
                           ".nodeset", ".ic", ".op"})
    if (word == card) return true;
  return word == ".tran" && analysis == wire::Analysis::transient;
}

void check_line(const std::string& line, wire::Analysis analysis) {
  demand(!line.empty(), "no empty line goes to the engine");
  for (const char c : line)
    demand(c == '\t' || (c >= ' ' && c < '\x7f' && c != '`'), "plain text only");
  const char first = line.front();
  const bool is_element =
      std::string_view("bcdefghijklmqrsvwBCDEFGHIJKLMQRSVW").find(first) !=
      std::string_view::npos;
  demand(is_element || first == '+' || is_allowed_card(lower_word(line), analysis),
         "elements, continuations and known cards only");
}

void check(const std::vector<std::string>& lines, wire::Analysis analysis) {
  const GuardedDeck guarded = guard_deck(lines, analysis);
  demand(guarded.complaint.empty() != guarded.lines.empty(),
         "a deck is either refused or let through");
  if (!guarded.complaint.empty()) {
    for (const char c : guarded.complaint)
      demand(c >= ' ' && c < '\x7f', "a complaint is printable");
    return;
  }
  demand(guarded.lines.size() >= 3, "title, an element, end");
  demand(guarded.lines.front() == "circuit", "the title is a fixed one");
  demand(guarded.lines.back() == ".end", "the last line ends the deck");
  std::size_t trans = 0;
  for (std::size_t k = 1; k + 1 < guarded.lines.size(); ++k) {
    check_line(guarded.lines[k], analysis);
    if (lower_word(guarded.lines[k]) == ".tran") ++trans;
  }
  demand(trans == (analysis == wire::Analysis::transient ? 1U : 0U),
         "one .tran in a transient, none at rest");
  demand(guard_deck(guarded.lines, analysis).lines == guarded.lines,
         "what was let through is let through as it is");
}

}  // namespace
}  // namespace benchproof::fuzz

int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  using namespace benchproof;
  const std::string_view text = fuzz::text_of(bytes, size);
  const std::vector<std::string> lines = fuzz::lines_of(text);
  fuzz::check(lines, wire::Analysis::operating_point);
  fuzz::check(lines, wire::Analysis::transient);
  const std::string& name = lines.front();
  if (vector_complaint(name).empty()) {
    for (const char c : name)
      fuzz::demand(std::islower(static_cast<unsigned char>(c)) ||
                       std::isdigit(static_cast<unsigned char>(c)) ||
                       std::string_view("_@#[]").find(c) != std::string_view::npos,
                   "a result's name has only such characters");
  }
  return 0;
}
