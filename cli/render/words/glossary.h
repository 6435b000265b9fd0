#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/check/finding/explanation.h"

namespace benchproof {

/// A trade word of the screens, in plain words; no field is empty.
struct Word {
  std::string_view name;
  std::string_view others;   ///< What it is called as well, separated by commas.
  std::string_view means;    ///< One to three sentences.
  std::string_view example;  ///< From the setting of a model harbour.
  std::string_view see;      ///< Other words, separated by commas.
};

/// All words, those that belong together side by side.
[[nodiscard]] std::span<const Word> glossary();

/// The word that is called so, by its name or one of the others, whole or in the
/// plural; upper and lower case are the same. Null where none is.
[[nodiscard]] const Word* find_word(std::string_view name);

/// All that a word may be called, by itself or in the list of others.
[[nodiscard]] std::vector<std::string> names_of(const Word& word);

/// The screen of a word. Of `explanations` those that have it in their id or their line
/// are named.
[[nodiscard]] std::string word_text(const Word& word,
                                    std::span<const Explanation> explanations);

/// The list of all words, and of the ids of findings.
[[nodiscard]] std::string words_text(std::span<const Explanation> explanations);

/// Words, and explanations of ids, as one JSON document.
[[nodiscard]] std::string words_json(std::span<const Word> words,
                                     std::span<const Explanation> explanations);

/// What the id of a complaint about a description means, in a few lines; empty where no
/// complaint has that id.
[[nodiscard]] std::string explained_complaint(std::string_view id);

}  // namespace benchproof
