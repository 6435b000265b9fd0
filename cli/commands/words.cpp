#include <fmt/format.h>
#include <fmt/ranges.h>

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/output.h"
#include "cli/render/layout.h"
#include "cli/render/words/explanation_text.h"
#include "cli/render/words/glossary.h"
#include "core/base/complaints.h"
#include "core/base/diagnostic.h"
#include "core/verify/explanations.h"

namespace benchproof {
namespace {

struct WordsOptions {
  std::vector<std::string> words;  ///< One word, which may have blanks.
  bool json = false;
};

int tell_unknown(const std::string& asked, const std::vector<Explanation>& all) {
  std::vector<std::string> names;
  for (const Word& word : glossary())
    for (const std::string& name : names_of(word)) names.push_back(name);
  for (const Explanation& e : all) names.emplace_back(e.check);
  const std::string near = nearest(asked, names);
  const std::string line = printable(fmt::format(
      "benchproof: there is no word {}; {}", benchproof::quoted(asked),
      near.empty() ? "'benchproof words' lists all of them"
                   : fmt::format("did you mean {}?", benchproof::quoted(near))));
  write_error(wraps_errors() ? wrapped(line, 0, 2) : line + "\n");
  return kExitRefused;
}

int run_words(const WordsOptions& options) {
  const std::vector<Explanation> all = explanations();
  if (options.words.empty())
    return write_last(
        options.json ? words_json(glossary(), all) + "\n" : words_text(all), kExitGood);
  const std::string asked = fmt::format("{}", fmt::join(options.words, " "));
  const Word* word = find_word(asked);
  const Explanation* explained = find_explanation(asked);
  if (word == nullptr && explained == nullptr) {
    const std::string complaint = options.json ? std::string() : explained_complaint(asked);
    return complaint.empty() ? tell_unknown(asked, all)
                             : write_last(complaint, kExitGood);
  }
  if (options.json) {
    std::span<const Word> words;
    std::span<const Explanation> ids;
    if (word != nullptr) words = {word, 1};
    if (explained != nullptr) ids = {explained, 1};
    return write_last(words_json(words, ids) + "\n", kExitGood);
  }
  std::string text = word != nullptr ? word_text(*word, all) : std::string();
  if (word != nullptr && explained != nullptr) text += "\n";
  if (explained != nullptr) text += explanation_text(*explained);
  return write_last(text, kExitGood);
}

}  // namespace

Command words_command() {
  const auto given = std::make_shared<WordsOptions>();
  Options options;
  options.argument("WORD", "a trade word, or the id of a finding; else all",
                   given->words);
  options.flag("--json", "as JSON", given->json);
  return {"words", "what the words mean, in plain words", std::move(options),
          [given] { return run_words(*given); }};
}

}  // namespace benchproof
