#pragma once

#include <string>
#include <vector>

#include "core/network/network.h"

namespace benchproof {

/// A network as the engine reads it, and what to ask for afterwards.
struct Deck {
  std::vector<std::string> lines;    ///< First a fixed title, last ".end".
  std::vector<std::string> vectors;  ///< Names of the vectors that make up a solution.
};

/// How tightly the engine must settle, and from where.
struct DeckOptions {
  double reltol = 1e-9;
  double vntol = 1e-12;   ///< Volt.
  double abstol = 1e-15;  ///< Ampere.
  /// Node voltages to start from, ground first; empty: the engine's own start.
  std::vector<double> start = {};
};
inline const DeckOptions kTightDeck{};
inline const DeckOptions kLooseDeck{1e-6, 1e-9, 1e-12, {}};
/// What the engine takes when it is told nothing: steps end early enough that a long
/// way does not break off, among floating nets for instance.
inline const DeckOptions kUsualDeck{1e-3, 1e-6, 1e-12, {}};
inline const DeckOptions kClosestDeck{1e-12, 1e-13, 1e-15, {}};

/// Writes a network as a deck. Pure. Every name is generated (n1, r1 ...), every number
/// is printed so that it reads back as the same double: no text of the description gets
/// into a deck. Node k is "n<k>", ground "0"; the k-th element of a list is
/// r, c, l, v, i, d, q, m or b (regulators) with its number from 1.
///
/// The engine lifts a diode model's saturation current to 1e-28 A without a word; a
/// smaller one is written as that share (`area`) of such a model.
///
/// Besides `options`, gmin (kJunctionLeak) and pivrel are pinned in the deck: at the
/// engine's own threshold for pivots its solution can break Kirchhoff's law by parts in
/// a thousand (see DEVELOPERS.md).
[[nodiscard]] Deck make_deck(const Network& network, const DeckOptions& options = {});

/// Puts the engine's values, one per name in `deck.vectors`, back into a solution.
/// @throws std::invalid_argument if their number differs.
[[nodiscard]] Solution from_vectors(const Network& network, const Deck& deck,
                                    const std::vector<double>& values);

/// The deck as a person may read it: each generated name explained in a comment by the
/// net, or by the part, that it stands for; those that a part's element needs besides,
/// all of a kind by what they do. `part_names` by index; names must have passed the
/// reader. The engine never sees this text.
[[nodiscard]] std::string annotate(const Network& network, const Deck& deck,
                                   const std::vector<std::string>& part_names);

}  // namespace benchproof
