#include "spice/session/detail/deck_guard.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <functional>
#include <string_view>
#include <system_error>

namespace benchproof {
namespace {

constexpr std::size_t kMaxLines = 200'000;
constexpr std::size_t kMaxLineBytes = 16'384;
constexpr std::size_t kMaxNameBytes = 128;
constexpr std::string_view kElementLetters = "bcdefghijklmqrsvw";
constexpr std::array<std::string_view, 9> kCards{".model",   ".options", ".option",
                                                 ".param",   ".func",    ".temp",
                                                 ".nodeset", ".ic",      ".op"};

char lower(char letter) {
  return letter >= 'A' && letter <= 'Z' ? static_cast<char>(letter - 'A' + 'a')
                                        : letter;
}

bool is_word(char letter) {
  return (letter >= 'a' && letter <= 'z') || (letter >= '0' && letter <= '9') ||
         letter == '_';
}

bool is_plain(char letter) {
  return letter == '\t' || (letter >= ' ' && letter <= '~' && letter != '`');
}

// For a message: anything else than plain text as '?'.
std::string printable(std::string text) {
  std::replace_if(text.begin(), text.end(), std::not_fn(is_plain), '?');
  return text;
}

std::string_view without_margins(std::string_view line) {
  const auto first = line.find_first_not_of(" \t");
  if (first == std::string_view::npos) return {};
  return line.substr(first, line.find_last_not_of(" \t") - first + 1);
}

// The line's first word in lower case.
std::string first_word(std::string_view line) {
  std::string word(line.substr(0, line.find_first_of(" \t")));
  std::transform(word.begin(), word.end(), word.begin(), lower);
  return word;
}

// Whether a word is a positive number as std::to_chars writes it.
bool is_positive(std::string_view word) {
  double value = 0.0;
  const auto [end, error] =
      std::from_chars(word.data(), word.data() + word.size(), value);
  return error == std::errc{} && end == word.data() + word.size() &&
         std::isfinite(value) && value > 0.0;
}

// Whether a line is the .tran of our decks and nothing more.
bool is_tran(std::string_view line) {
  std::vector<std::string_view> words;
  while (!line.empty()) {
    const std::string_view word = line.substr(0, line.find(' '));
    words.push_back(word);
    line.remove_prefix(std::min(line.size(), word.size() + 1));
  }
  if (words.size() == 6 && words.back() == "uic") words.pop_back();
  return words.size() == 5 && words[0] == ".tran" && is_positive(words[1]) &&
         is_positive(words[2]) && words[3] == "0" && is_positive(words[4]);
}

}  // namespace

GuardedDeck guard_deck(const std::vector<std::string>& deck, wire::Analysis analysis) {
  const auto refused = [](std::string complaint) {
    return GuardedDeck{{}, std::move(complaint)};
  };
  if (deck.size() < 2 || first_word(without_margins(deck.back())) != ".end") {
    return refused("the deck does not end in '.end'");
  }
  if (deck.size() > kMaxLines) {
    return refused("the deck has " + std::to_string(deck.size()) + " lines, above " +
                   std::to_string(kMaxLines));
  }
  GuardedDeck guarded;
  guarded.lines.reserve(deck.size());
  guarded.lines.emplace_back("circuit");
  bool has_element = false;
  bool wants_tran = analysis == wire::Analysis::transient;
  bool may_continue = false;  // The line before may go on.
  for (std::size_t i = 1; i + 1 < deck.size(); ++i) {
    const std::string_view line = without_margins(deck[i]);
    if (line.empty() || line.front() == '*') continue;
    const auto here = [i] { return "deck line " + std::to_string(i + 1) + ": "; };
    if (line.size() > kMaxLineBytes) {
      return refused(here() + "longer than " + std::to_string(kMaxLineBytes) +
                     " bytes");
    }
    if (!std::all_of(line.begin(), line.end(), is_plain)) {
      return refused(here() + "holds a character that no deck needs");
    }
    if (line.front() == '.') {
      const std::string card = first_word(line);
      may_continue = true;
      if (wants_tran && is_tran(line)) {
        wants_tran = false;
        may_continue = false;
      } else if (std::find(kCards.begin(), kCards.end(), card) == kCards.end()) {
        return refused(here() + "'" + card + "' is not a card of a plain circuit");
      }
    } else if (line.front() == '+') {
      if (!may_continue) {
        return refused(here() + "continues nothing");
      }
    } else if (kElementLetters.find(lower(line.front())) == std::string_view::npos) {
      return refused(here() + "no element begins with '" + line.front() + "'");
    } else {
      has_element = true;
      may_continue = true;
    }
    guarded.lines.emplace_back(line);
  }
  if (!has_element) return refused("the deck holds no element");
  if (wants_tran) return refused("the deck holds no '.tran A B 0 C'");
  guarded.lines.emplace_back(".end");
  return guarded;
}

std::string vector_complaint(const std::string& name) {
  std::string_view rest = name;
  const auto take_word = [&rest] {
    const auto end = std::find_if_not(rest.begin(), rest.end(), is_word);
    const auto length = static_cast<std::size_t>(end - rest.begin());
    rest.remove_prefix(length);
    return length > 0;
  };
  bool is_name = false;
  if (rest.starts_with('@')) {
    rest.remove_prefix(1);
    is_name = take_word() && rest.starts_with('[');
    if (is_name) {
      rest.remove_prefix(1);
      is_name = take_word() && rest == "]";
    }
  } else {
    is_name = take_word() && (rest.empty() || rest == "#branch");
  }
  if (is_name && name.size() <= kMaxNameBytes) return {};
  return "not the name of a result: '" + printable(name.substr(0, kMaxNameBytes)) + "'";
}

}  // namespace benchproof
