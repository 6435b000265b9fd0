#pragma once

#include <optional>
#include <string_view>

#include "core/base/quantity.h"
#include "core/circuit/entries/reading.h"

// The values behind keys: quantities, times, and what a key of a part takes.

namespace benchproof {

/// Highest voltage of a supply or battery: extra-low voltage, dry skin. Volt.
inline constexpr double kMostSupplyVolts = 60.0;

/// Reads a quantity with its unit; complains otherwise. `target` names it.
[[nodiscard]] std::optional<double> read_quantity(Reading& reading,
                                                  const TomlNode& node, Unit unit,
                                                  std::string_view target);

/// Reads what stands behind a key of a part of that kind.
[[nodiscard]] std::optional<Setting> read_setting(Reading& reading, KindId kind,
                                                  const Key& key, const TomlNode& node,
                                                  std::string_view target);

/// Reads a time within a run of that length (0: not known); complains otherwise.
[[nodiscard]] std::optional<double> read_time(Reading& reading, const TomlNode& node,
                                              double span, std::string_view target);

}  // namespace benchproof
