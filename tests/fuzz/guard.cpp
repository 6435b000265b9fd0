// The guard before the engine: any lines. What it lets through is held against its
// promises by other code than its own. What follows a line ".end" is a second deck, of
// which the changes from the first one are sought.

#include <algorithm>
#include <cctype>
#include <cmath>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/pieces.h"
#include "core/base/quantity.h"
#include "spice/session/detail/deck_changes.h"
#include "spice/session/detail/deck_guard.h"
#include "tests/fuzz/target.h"

namespace benchproof::fuzz {
namespace {

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

/// Changes and nothing else make one deck of the other.
void check_changes(const std::vector<std::string>& held,
                   const std::vector<std::string>& wanted) {
  const auto changes = changes_between(held, wanted);
  if (!changes) return;
  demand(held.size() == wanted.size(), "no line comes or goes");
  auto next = changes->begin();
  for (std::size_t k = 0; k < held.size(); ++k) {
    if (held[k] == wanted[k]) continue;
    demand(next != changes->end(), "each line that differs is a change");
    const auto& [element, value] = *next++;
    demand(std::string_view("rvi").find(element.at(0)) != std::string_view::npos &&
               std::all_of(element.begin() + 1, element.end(),
                           [](unsigned char c) { return std::isdigit(c); }),
           "an element that can change");
    demand(std::isfinite(value), "a value that can be");
    demand(wanted[k].starts_with(element + " ") &&
               wanted[k].ends_with(" " + shortest(value)),
           "the change says what the line says");
    demand(held[k].substr(0, held[k].rfind(' ')) ==
               wanted[k].substr(0, wanted[k].rfind(' ')),
           "nothing but the value differs");
    demand(k + 1 == wanted.size() || !wanted[k + 1].starts_with('+'),
           "the line is the whole of the element");
  }
  demand(next == changes->end(), "each change is a line that differs");
}

void check_decks(const std::vector<std::string>& lines) {
  const auto end = std::find(lines.begin(), lines.end(), ".end");
  if (end == lines.end()) return;
  const GuardedDeck held = guard_deck({lines.begin(), end + 1});
  const GuardedDeck wanted = guard_deck({end + 1, lines.end()});
  if (held.lines.empty() || wanted.lines.empty()) return;
  check_changes(held.lines, wanted.lines);
  check_changes(held.lines, held.lines);
}

}  // namespace
}  // namespace benchproof::fuzz

int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  using namespace benchproof;
  const std::string_view text = fuzz::text_of(bytes, size);
  const std::vector<std::string> lines = lines_of(text);
  fuzz::check(lines, wire::Analysis::operating_point);
  fuzz::check(lines, wire::Analysis::transient);
  fuzz::check_decks(lines);
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
