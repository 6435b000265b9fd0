#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "core/base/pieces.h"
#include "core/base/quantity.h"

namespace benchproof {

/// A text that stands for a power of ten: a unit, a prefix or a code letter.
struct UnitScale {
  std::string_view text;
  int exponent = 0;
};

/// How a unit is written.
struct UnitStyle {
  Unit unit;
  std::span<const UnitScale> symbols;  ///< The first is the one that is printed.
  std::span<const UnitScale>
      letters;  ///< Of the letter code; empty where there is none.
  bool takes_prefix;
  std::string_view name;     ///< "a voltage"
  std::string_view example;  ///< "'12 V'"
};

/// The SI prefixes, and last the empty one.
[[nodiscard]] std::span<const UnitScale> si_prefixes();

/// All units, in the order of Unit.
[[nodiscard]] std::span<const UnitStyle> unit_styles();
[[nodiscard]] const UnitStyle& style_of(Unit unit);

/// The scale whose text is exactly this one.
[[nodiscard]] std::optional<UnitScale> find_scale(std::span<const UnitScale> scales,
                                                  std::string_view text);

/// The power of ten of a text that is the unit, with or without a prefix.
[[nodiscard]] std::optional<int> unit_exponent(const UnitStyle& style,
                                               std::string_view text);

/// The power of ten of a text that is the unit as people write it who are not strict
/// with capitals and plurals: "v", "ma", "Ohms", "KHz", "V DC". Nothing where that
/// could be read in two ways: whether an m is a milli or a mega goes by how it is
/// written, and a small m of what is often meant by the mega or the micro (Hz, F) is
/// not read.
[[nodiscard]] std::optional<int> loose_exponent(const UnitStyle& style,
                                                std::string_view text);

/// The text in small letters, with the unit's symbol for its word.
[[nodiscard]] std::string with_symbol(std::string_view text);

/// An error at that byte, with the hint how such a quantity is written.
[[nodiscard]] QuantityError quantity_error(QuantityError::Kind kind, std::size_t offset,
                                           std::string message, Unit unit);

/// Why a small m alone is not read as a resistance, with what it could mean.
[[nodiscard]] QuantityError small_m_error(std::size_t offset);

/// Why a text behind a number, at `offset`, is not a unit of what was asked for.
[[nodiscard]] QuantityError unit_error(std::string_view text, std::size_t offset,
                                       Unit unit);

}  // namespace benchproof
