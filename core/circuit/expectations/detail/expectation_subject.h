#pragma once

#include <array>
#include <string_view>

#include "core/base/quantity.h"
#include "core/circuit/entries/reading.h"

// What an expectation is about: a net or a part, and which of its quantities.

namespace benchproof {

/// A quantity, the key that asks for it, and its unit.
struct QuantityStyle {
  std::string_view key;
  Quantity quantity;
  Unit unit;
};

inline constexpr std::array<QuantityStyle, 4> kQuantities = {{
    {"voltage", Quantity::voltage, Unit::volt},
    {"current", Quantity::current, Unit::ampere},
    {"power", Quantity::power, Unit::watt},
    {"temperature", Quantity::temperature, Unit::celsius},
}};

/// The text behind a key, or nothing (after a complaint where it is not a text).
[[nodiscard]] const TomlEntry* text_entry(Reading& reading, const TomlNode& table,
                                          std::string_view key);

/// Reads what an expectation is about, `entry` being the one that asks for the
/// quantity. False after a complaint, or when the part it names was not understood.
[[nodiscard]] bool read_subject(Reading& reading, const TomlNode& table,
                                const QuantityStyle& quantity, const TomlEntry& entry,
                                Expectation& expectation);

/// Reads an expectation that has the key `finding`.
void read_expected_finding(Reading& reading, const TomlNode& table);

}  // namespace benchproof
