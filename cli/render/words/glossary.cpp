#include "cli/render/words/glossary.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <utility>

#include "cli/render/json_parts.h"
#include "cli/render/layout.h"
#include "core/base/diagnostic_ids.h"
#include "core/base/pieces.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

std::vector<std::string> split_at_commas(std::string_view text) {
  std::vector<std::string> pieces;
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t to = std::min(text.find(',', from), text.size());
    pieces.emplace_back(text.substr(from, to - from));
    from = to + 1;
  }
  return pieces;
}

/// Whether a text has a word as one of its own, cut at what is no letter or digit.
bool has_word(std::string_view text, std::string_view word) {
  const auto is_inner = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
  };
  const std::string all = lower_case(text);
  for (std::size_t at = all.find(word); at != std::string::npos;
       at = all.find(word, at + 1)) {
    const std::size_t end = at + word.size();
    const bool begins = at == 0 || !is_inner(all[at - 1]);
    const bool ends = end == all.size() || !is_inner(all[end]);
    if (begins && ends) return true;
  }
  return false;
}

/// The ids of findings that have the word in their id, else in their line; some only.
std::vector<std::string> findings_of(const Word& word,
                                     std::span<const Explanation> explanations) {
  constexpr std::size_t kMost = 8;
  const std::string name = lower_case(word.name);
  std::vector<std::string> found;
  for (const bool in_id : {true, false}) {
    for (const Explanation& e : explanations)
      if (found.size() < kMost && has_word(in_id ? e.check : e.what, name))
        found.emplace_back(e.check);
    if (!found.empty()) break;
  }
  return found;
}

/// A line with a word in front, its others below each other.
std::string marked_lines(std::string_view word, std::string_view says) {
  constexpr std::size_t kWord = 10;
  std::string lines = wrapped(says, 2 + kWord, 2 + kWord);
  return lines.replace(2, kWord, padded(word, kWord));
}

}  // namespace

std::vector<std::string> names_of(const Word& word) {
  std::vector<std::string> names = split_at_commas(word.others);
  names.insert(names.begin(), std::string(word.name));
  return names;
}

const Word* find_word(std::string_view name) {
  const auto spelt = [](std::string_view text) {
    std::string plain = lower_case(text);
    std::replace(plain.begin(), plain.end(), '-', ' ');
    return plain;
  };
  const std::string wanted = spelt(name);
  const std::string one = wanted.size() > 3 && wanted.ends_with('s')
                              ? wanted.substr(0, wanted.size() - 1)
                              : wanted;
  for (const std::string& spelling : {wanted, one}) {
    for (const Word& word : glossary()) {
      const std::vector<std::string> names = names_of(word);
      if (std::any_of(names.begin(), names.end(), [&](const std::string& known) {
            return spelt(known) == spelling;
          }))
        return &word;
    }
  }
  return nullptr;
}

std::string word_text(const Word& word, std::span<const Explanation> explanations) {
  std::string text = fmt::format("{}\n", word.name);
  text += wrapped(word.means, 2, 2);
  text += marked_lines("example", word.example);
  text += marked_lines(
      "also", fmt::format("{}", fmt::join(split_at_commas(word.others), ", ")));
  const std::vector<std::string> findings = findings_of(word, explanations);
  if (!findings.empty())
    text += marked_lines("findings", fmt::format("{}", fmt::join(findings, ", ")));
  text += marked_lines("see",
                       fmt::format("{}", fmt::join(split_at_commas(word.see), ", ")));
  return text;
}

std::string words_text(std::span<const Explanation> explanations) {
  std::vector<std::string> words;
  for (const Word& word : glossary()) words.emplace_back(word.name);
  std::sort(words.begin(), words.end(), [](const std::string& a, const std::string& b) {
    return lower_case(a) < lower_case(b);
  });
  std::vector<std::string> ids;
  for (const Explanation& e : explanations) ids.emplace_back(e.check);
  return "words\n" + in_columns(words, 2) + "ids of findings\n" + in_columns(ids, 2) +
         wrapped(
             "'benchproof words WORD' explains one of them, with an example; "
             "'benchproof verify --explain list' has a line for each id.",
             0, 0);
}

std::string words_json(std::span<const Word> words,
                       std::span<const Explanation> explanations) {
  Json list = Json::array();
  for (const Word& word : words)
    list.push_back({{"word", word.name},
                    {"also", split_at_commas(word.others)},
                    {"means", word.means},
                    {"example", word.example},
                    {"see", split_at_commas(word.see)}});
  Json json = {{"benchproof", 1}};
  json["words"] = std::move(list);
  json["explanations"] = explanations_list(explanations);
  return document_text(json);
}

std::string explained_complaint(std::string_view id) {
  const auto found =
      std::find_if(kDiagnosticIds.begin(), kDiagnosticIds.end(),
                   [id](const DiagnosticId& known) { return known.name == id; });
  if (found == kDiagnosticIds.end()) return {};
  return fmt::format("{}\n", id) +
         wrapped(fmt::format("a complaint about a description: {}. Nothing is solved "
                             "until it is mended; the line below it, 'hint', says what "
                             "to write.",
                             found->about),
                 2, 2);
}

}  // namespace benchproof
