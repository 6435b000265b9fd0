#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/catalogue/kind.h"

namespace benchproof {

/// The kind that is meant by another word for it, whatever its capitals
/// ("potentiometer": trimmer; "push button": switch); null: none. Common practice, no
/// source.
[[nodiscard]] const Kind* find_kind_called(std::string_view word);

/// The word of a list that is the same but for capitals, blanks, hyphens and
/// underscores ("3mm", "Warm White"); empty where none is, or more than one.
[[nodiscard]] std::string same_word(std::string_view word,
                                    const std::vector<std::string>& known);
/// The same of the words that a kind's types have behind a key.
[[nodiscard]] std::string same_word(std::string_view word, const Catalogue& catalogue,
                                    KindId kind, std::string_view key);

/// The type of the catalogue that is meant by a name as it is printed on the part or in
/// a shop: written as in `same_word`, with a maker's prefix or a package's suffix that
/// changes no figure ("LM7805", "L7805CV", "1N4148" with a capital I). Nothing where a
/// figure may differ ("78L05" is no 7805, "2N2222" no 2N2222A).
[[nodiscard]] const Type* find_called(const Catalogue& catalogue, KindId kind,
                                      std::string_view name);

/// The longest of the known names whose words all stand in a text that says more ("LED
/// 5mm warm white 20mA": warm white 5 mm); empty: none.
[[nodiscard]] std::string held_word(std::string_view text,
                                    const std::vector<std::string>& known);

}  // namespace benchproof
