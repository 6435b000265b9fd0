#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/circuit/entries/reading.h"

// What a text names: a part, a pin, a net or a state; and what is likely meant by one
// that names nothing.

namespace benchproof {

/// What may be meant by a name that is no part's.
struct NearName {
  std::string name;  ///< In full; empty where none is near.
  std::string hint;  ///< With the names that may stand there.
};

/// The part, or other thing, that is nearest to `name`. Within a block (see
/// Span::file) names are told as they are written there. `is_joined`: it is said of
/// pins, which do not reach into blocks.
[[nodiscard]] NearName near_part(Reading& reading, std::string_view name,
                                 const Span& span, bool is_joined,
                                 const std::vector<std::string>& others = {});

/// On which net a pin stands ("quay.anode"), or a part's pins do, as a hint to who
/// names it where a net is to be named; empty: there is no such pin or part.
[[nodiscard]] std::string nets_of_pins(const Reading& reading, const std::string& name);

/// Notes a name that no part has, and the place at which that is told.
void note_unknown(Reading& reading, std::string_view name, std::string_view pin,
                  const Span& span);

/// A part's pin written "part.pin". Nothing after a complaint; an index of -1 for the
/// pin of a part that was not understood.
[[nodiscard]] std::optional<PinRef> read_pin(Reading& reading, std::string_view text,
                                             const Span& span);

/// Complains that a part has no such pin, with what is meant by it.
void tell_no_pin(Reading& reading, const Part& part, std::string_view pin,
                 const Span& span);

/// The index of the net that is named behind a key, or -1 after a complaint.
[[nodiscard]] int read_net_name(Reading& reading, const TomlEntry& entry);

/// The state of that name, or -1 after a complaint; `others` are the words that may
/// stand in its place.
[[nodiscard]] int read_state_index(Reading& reading, const TomlNode& name,
                                   const std::vector<std::string>& others = {});

}  // namespace benchproof
