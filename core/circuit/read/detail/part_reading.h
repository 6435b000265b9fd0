#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/toml_tree.h"
#include "core/circuit/entries/reading.h"

// What the steps of reading one part have in common.

namespace benchproof {

/// One key of a part.
struct GivenKey {
  std::string key;
  Span key_span;
  TomlNode value;
  std::string target;  ///< For messages: "'quay_r.value'".
};

/// The keys of a part but for those that every part has.
[[nodiscard]] std::vector<GivenKey> given_keys(std::string_view part,
                                               const TomlNode& table);

/// The key of that name; null where it is not given.
[[nodiscard]] const GivenKey* find_given(const std::vector<GivenKey>& list,
                                         std::string_view key);

/// Which keys must stand together, and which must not. `has_stranger`: one of the
/// part's keys means nothing that is known.
void check_company(Reading& reading, const Kind& kind, const Part& part,
                   const std::vector<GivenKey>& list, bool has_stranger);

/// Refuses a capacitance that the part's model tells already.
void check_twins(Reading& reading, const Part& part, const std::vector<GivenKey>& list);

/// Looks up the type that a part names, or the class that its words name, and puts the
/// catalogue's words in place of the part's.
void find_type(Reading& reading, const Kind& kind, Part& part);

/// The batteries of a part's chemistry and size by their charge.
[[nodiscard]] std::map<std::string, const Type*> batteries_by_charge(
    const Catalogue& catalogue, const Part& part);

/// The text that a part is given; null where it is given none.
[[nodiscard]] const std::string* given_text(const Part& part, std::string_view key);

/// Where a setting stands; the part's place where it has none.
[[nodiscard]] const Span& span_of(const Part& part, std::string_view key);

}  // namespace benchproof
