#pragma once

#include <string>
#include <string_view>

#include "core/circuit/circuit.h"

// What people write who know a thing by another name than descriptions do, and what
// they mean by it. All of it is common practice; upper and lower case are the same.

namespace benchproof {

/// The key at the top of a description that is meant by another word for it ("wires":
/// nets); empty: none.
[[nodiscard]] std::string_view meant_table(std::string_view word);

/// The key of a kind that is meant by another word for it ("volts": voltage); empty:
/// none.
[[nodiscard]] std::string_view meant_key(const Kind& kind, std::string_view word);

/// The key of a reading that is meant by another word for it ("volts": voltage; "at":
/// net); empty: none.
[[nodiscard]] std::string_view meant_reading_key(std::string_view word);

/// `meant_key` where it can mean nothing else, so that it is taken as it is ("ohms":
/// value); empty for "name" or "a".
[[nodiscard]] std::string_view taken_key(const Kind& kind, std::string_view word);

/// Whether a key of a part says how many of it there are ("qty").
[[nodiscard]] bool is_count(std::string_view key);

/// The pin of a part whose pins are not alike that a usual name for it can mean alone:
/// "+", "long leg" or "red" of an led is its anode (common practice, no source: the
/// long lead of an led is its anode, red its plus side); empty: none, or not for sure.
[[nodiscard]] std::string_view taken_pin(const Part& part, std::string_view name);

/// The pin of a part that is meant by a usual name for it ("+" of an led: anode);
/// empty: none.
[[nodiscard]] std::string_view meant_pin(const Part& part, std::string_view name);

/// Whether a name is one for the net that all voltages are measured against ("GND").
[[nodiscard]] bool means_ground(std::string_view name);

/// What to say to such a name.
inline constexpr std::string_view kGroundHint = "the net 'ground' is the zero here";

}  // namespace benchproof
