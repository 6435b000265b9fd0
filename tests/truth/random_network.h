#pragma once

#include <cstdint>
#include <functional>

#include "core/network/network.h"

namespace benchproof::test {

/// A random network of all elements: sample `index` of the series `seed`, drawn only
/// from the two, so that any one sample can be made again. Every node has a path of
/// resistors to ground; sources form no loop. 4 to 16 nodes, and
/// those inside parts.
[[nodiscard]] Network random_network(std::uint64_t seed, std::uint64_t index);

/// The same from any numbers, all 64 bits of them drawn upon.
[[nodiscard]] Network random_network(const std::function<std::uint64_t()>& draw);

}  // namespace benchproof::test
