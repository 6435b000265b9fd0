#include "core/nodal/detail/lane_kernel_body.h"

namespace benchproof {

LaneKernel* make_avx2_kernel(const LaneProblem& problem) {
  return new HWY_NAMESPACE::Kernel(problem);
}

}  // namespace benchproof
