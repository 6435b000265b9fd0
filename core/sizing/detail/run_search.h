#pragma once

#include "core/sizing/detail/figures.h"
#include "core/sizing/size.h"

namespace benchproof {

/// Where one value is looked for, notes the one with which a run reaches its level when
/// it should, where there is one, and what was reached on the way. The goal's figure
/// with the present value is known.
void find_exact_in_run(Figures& figures, const SizeRequest& request, Sizing& sizing);

}  // namespace benchproof
