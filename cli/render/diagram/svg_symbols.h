#pragma once

#include <string>

#include "core/circuit/circuit.h"
#include "core/draw/diagram.h"

namespace benchproof {

// Symbols after IEC 60617, drawn for this project, as the content of SVG groups. Each
// is drawn about its middle, the first of its main pins above.

/// The symbol of a part that is no block. `side` is how far from the middle the lead of
/// its side pin ends.
[[nodiscard]] std::string symbol_shape(const Part& part, double side);

/// What is written in or beside a symbol, upright however it stands; in the diagram's
/// place.
[[nodiscard]] std::string letters_of(const Part& part, const Symbol& symbol);

/// The lever of a switch, in the diagram's place.
[[nodiscard]] std::string lever_text(const Symbol& symbol, bool is_closed);

/// What shows that a lamp is lit, in the diagram's place: it is filled, with rays.
[[nodiscard]] std::string light_text(const Part& part, const Symbol& symbol);

}  // namespace benchproof
