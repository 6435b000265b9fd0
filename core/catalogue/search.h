#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/catalogue/catalogue.h"

namespace benchproof {

/// What a person's words find in the catalogue. Points into the catalogue; upper and
/// lower case are the same.
struct Found {
  /// The words are a type's whole name (of each kind that has one of that name).
  bool is_exact = false;
  /// In the catalogue's order; without the entries named "default".
  std::vector<const Type*> types;
};

/// Types by their whole name ("1n5819", "red 5 mm"); else all types of the kind that
/// the words name ("led"); else those that are called by each word, in their name,
/// their kind's name or their words ("red", "alkaline AA"); else those for which each
/// is part of such a word ("bc5 pnp", "5819"); else all of the kind that is meant by another
/// word for it ("push button"). The empty text finds nothing.
[[nodiscard]] Found search(const Catalogue& catalogue, std::string_view words);

/// The names near to one that finds nothing: types, kinds and words of the catalogue;
/// at most `most`, the nearest first.
[[nodiscard]] std::vector<std::string> near_names(const Catalogue& catalogue,
                                                  std::string_view name,
                                                  std::size_t most = 3);

/// The keys of a kind that a description may give beside a type of the catalogue, to
/// override its figures or to add to them.
[[nodiscard]] std::vector<const Key*> keys_beside_type(const Kind& kind);

}  // namespace benchproof
