#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "core/network/network.h"

// Small errors, as a hand or a program makes them, in decks and networks.

namespace benchproof::test {

/// Draws for one error: from the series, the number of what it is put into, and its
/// own.
class Chance {
 public:
  Chance(std::uint64_t series, std::size_t base, std::size_t error)
      : random_(series * 1'000'003 + base * 1'009 + error) {}
  std::size_t below(std::size_t end) { return random_() % end; }

 private:
  std::mt19937_64 random_;
};

using Lines = std::vector<std::string>;

/// The lines of a network's deck with one error; nothing where there is no place for
/// it.
using DeckError =
    std::function<std::optional<Lines>(Lines lines, const Network&, Chance&)>;

/// By name: values, signs, pins, nodes, lines, parameters, the temperature.
[[nodiscard]] const std::vector<std::pair<std::string, DeckError>>& deck_errors();

/// A network with one error.
struct Misled {
  Network network;
  /// A resistor that is not there any more: its index in the right network.
  std::optional<std::size_t> dropped_resistor = {};
};

using NetworkError = std::function<std::optional<Misled>(const Network&, Chance&)>;

/// The same for networks. One of them adds a node behind all others.
[[nodiscard]] const std::vector<std::pair<std::string, NetworkError>>& network_errors();

}  // namespace benchproof::test
