#pragma once

#include <optional>
#include <string>
#include <vector>

#include "spice/worker/protocol.h"

namespace benchproof {

/// What makes the circuit of one guarded deck that of another, where they differ in
/// nothing but values that can change in place: the same lines in the same order, but
/// for the numbers of some elements, whose lines are "NAME NODE NODE NUMBER" and do not
/// go on in the next, a blank between two words and the number as `shortest` writes it.
/// Nothing where more differs: a name and a number of a form of their own are all that
/// gets out of here.
[[nodiscard]] std::optional<std::vector<wire::Change>> changes_between(
    const std::vector<std::string>& held, const std::vector<std::string>& wanted);

}  // namespace benchproof
