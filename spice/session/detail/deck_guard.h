#pragma once

#include <string>
#include <vector>

#include "spice/worker/protocol.h"

namespace benchproof {

/// A deck that may go to the engine, or why it may not.
struct GuardedDeck {
  std::vector<std::string> lines;  ///< Title first, ".end" last; empty when refused.
  std::string complaint;           ///< Empty when accepted.
};

/// The first line of defence against a deck that is more than a circuit; the second is
/// the worker's seal, which does not depend on it.
///
/// Text for people does not reach the engine: the title is replaced by a fixed one,
/// comment lines and empty lines are left out (the engine obeys some comments). Every
/// other line must be an element (first letter one of b c d e f g h i j k l m q r s v
/// w), a continuation, or one of .model .options .option .param .func .temp .nodeset
/// .ic .op .end; for a transient besides exactly one ".tran A B 0 C" or ".tran A B 0 C
/// uic" of plain positive numbers. Refused besides: a deck without an element or
/// without ".end" as its last line, more than 200,000 lines, a line above 16,384 bytes,
/// anything but printable ASCII and tabs, and a backquote.
[[nodiscard]] GuardedDeck guard_deck(
    const std::vector<std::string>& deck,
    wire::Analysis analysis = wire::Analysis::operating_point);

/// Empty, or why `name` is not the name of a result: a node ("n3"), a branch
/// ("v2#branch") or a device's figure ("@r1[i]"), of lower-case letters, digits and
/// '_', at most 128 bytes.
[[nodiscard]] std::string vector_complaint(const std::string& name);

}  // namespace benchproof
