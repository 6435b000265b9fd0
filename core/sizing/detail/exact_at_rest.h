#pragma once

#include "core/sizing/detail/figures.h"
#include "core/sizing/size.h"

namespace benchproof {

/// Widens what the figure is known to take by a value.
void note_reach(Sizing& sizing, double figure);

/// Notes all exact values where one is looked for, and what the figure reaches between
/// its bounds.
void find_exact_at_rest(Figures& figures, const SizeRequest& request, Sizing& sizing);

}  // namespace benchproof
