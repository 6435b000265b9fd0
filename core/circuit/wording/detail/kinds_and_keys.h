#pragma once

#include "core/circuit/wording/detail/wording.h"

namespace benchproof {

/// The kind that a text says which is no kind's name: another word for it, or a line of
/// a shop's page, which is answered with all that it says of `part`. Null where it says
/// none.
[[nodiscard]] const Kind* kind_in_words(Wording& words, TomlEntry& part,
                                        const TomlNode& text);

/// Whether another word for a kind says more than the kind ("npn"): it is answered, not
/// taken.
[[nodiscard]] bool says_more(std::string_view word);

/// Calls the keys of a part as descriptions have them, adds units that keys say, and
/// takes "yes" and "no" for true and false.
void name_keys(TomlNode& part, const Kind& kind);

}  // namespace benchproof
