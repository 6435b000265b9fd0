#include "cli/render/words/explanation_text.h"

#include <algorithm>
#include <utility>

#include "cli/render/layout.h"

namespace benchproof {

std::string explanation_text(const Explanation& e) {
  constexpr std::size_t kWord = 9;  // "formula" and its gap
  std::string text = wrapped(std::string(e.check) + ": " + std::string(e.what), 0, 2);
  for (const auto& [word, says] :
       {std::pair{"formula", e.formula}, std::pair{"limit", e.limit},
        std::pair{"why", e.why}, std::pair{"change", e.change}}) {
    std::string lines = wrapped(says, 2 + kWord, 2 + kWord);
    text += lines.replace(2, kWord, padded(word, kWord));
  }
  return text;
}

std::string explanations_text(std::span<const Explanation> explanations) {
  std::size_t width = 0;
  for (const Explanation& e : explanations) width = std::max(width, e.check.size());
  std::string text;
  for (const Explanation& e : explanations) {
    std::string lines = wrapped(e.what, width + 2, width + 2);
    text += lines.replace(0, width + 2, padded(e.check, width + 2));
  }
  return text;
}

}  // namespace benchproof
