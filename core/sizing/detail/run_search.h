#pragma once

#include "core/sizing/detail/figures.h"
#include "core/sizing/size.h"

namespace benchproof {

/// Notes the value of the request's one key with which a run reaches its level when it
/// should, where there is one, and what was reached on the way. The goal's figure with
/// the present value is known.
void find_exact_in_run(Figures& figures, const SizeRequest& request, Sizing& sizing);

}  // namespace benchproof
