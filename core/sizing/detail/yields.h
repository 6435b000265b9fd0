#pragma once

#include <vector>

#include "core/sizing/detail/choices.h"
#include "core/sizing/detail/figures.h"
#include "core/sizing/size.h"

namespace benchproof {

/// Of how many copies the values keep to the goal's band and work, those with the
/// largest share first. Of values that are the same in this the one comes first whose
/// figure is nearest to the goal.
///
/// One value: the standard values next to the exact one are looked at with some copies,
/// and from these on outwards as long as the share does not fall. Two: of the pairs
/// that come nearest, some. Then more copies are counted, up to all that are wished
/// for, of those values that may still be the best by their intervals.
[[nodiscard]] std::vector<ValuesYield> count_yields(
    Figures& figures, const Circuit& circuit, const SizeRequest& request,
    const Witnesses& witnesses, const Choices& choices, const Sizing& sizing);

}  // namespace benchproof
