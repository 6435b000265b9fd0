#pragma once

#include "core/circuit/entries/reading.h"

// The steps of reading a description, in their order: each reads one table.

namespace benchproof {

/// The battery of that charge, chemistry and size; null when the catalogue has none.
[[nodiscard]] const Type* find_battery(const Catalogue& catalogue, const Part& part);

/// Rules that need more than one key of a part: safety of supplies, the no-load
/// voltage.
void check_part(Reading& reading, const Part& part);

/// Reads the keys `shape` and `legs` of a part whose pins are known.
void read_shape(Reading& reading, const TomlNode& table, Part& part);

void read_parts(Reading& reading, const TomlNode& table);
void read_nets(Reading& reading, const TomlEntry& nets);
/// `states` is null where the description has none.
void read_states(Reading& reading, const TomlEntry* states);
void read_runs(Reading& reading, const TomlEntry& list);
void read_tolerances(Reading& reading, const TomlNode& table);
/// Reads [board] or [boards], if there is one.
void read_boards(Reading& reading, const TomlNode& root);

}  // namespace benchproof
