#pragma once

#include "core/circuit/entries/reading.h"

namespace benchproof {

/// Reads the tables [[expect]]: expectations, and findings that are expected. Parts,
/// nets, states and runs have been read.
void read_expectations(Reading& reading, const TomlEntry& list);

}  // namespace benchproof
