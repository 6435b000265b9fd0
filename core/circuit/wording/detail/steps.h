#pragma once

#include <map>
#include <string>
#include <vector>

#include "core/circuit/wording/detail/wording.h"

// The steps that put usual words right, in the order in which they are taken.

namespace benchproof {

/// The pins of each block by its name.
using BlockPins = std::map<std::string, std::vector<std::string>>;

/// Calls tables as descriptions have them: [components] is [parts].
void name_tables(Wording& words);

/// Puts hyphens in place of blanks in names, and words in place of signs, wherever a
/// name stands: "+ rail" is plus-rail.
void name_plainly(Wording& words);

/// Calls kinds and keys of parts as descriptions have them, and notes which pins each
/// part has.
void name_kinds(Wording& words, const BlockPins& blocks);

/// Calls pins as descriptions have them: "lamp.+" is lamp.anode.
void name_pins(Wording& words);

/// Calls the one net that is called "gnd" or "0V" ground.
void name_ground(Wording& words);

/// Takes lists that pass through parts from the nets to the paths.
void move_paths(Wording& words);

/// Rows of a breadboard that a path passes by are nets, also where nothing else names
/// them.
void mark_rows(Wording& words);

/// Gives parts that stand in lists without a pin the one that they stand there with.
void place_bare_parts(Wording& words);

/// Gives the one source its pins where it stands at a path's end by itself, and takes
/// "plus" and "minus" as its pins.
void place_sources(Wording& words);

/// Puts the zero at the minus of the one source, where there is none.
void find_zero(Wording& words);

/// Says of switches that they are open or closed, and of outputs high or low: "on".
void name_positions(Wording& words);

}  // namespace benchproof
