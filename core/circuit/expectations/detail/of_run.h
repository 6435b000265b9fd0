#pragma once

#include "core/circuit/entries/reading.h"

namespace benchproof {

/// Reads an expectation of a run. `reaches` and `stays` may stand in one table: they
/// become two expectations.
void read_of_run(Reading& reading, const TomlNode& table, Expectation expectation);

}  // namespace benchproof
