#include "core/tolerance/copy/share.h"

#include <boost/math/distributions/binomial.hpp>

namespace benchproof {

Share share_of(std::size_t hits, std::size_t trials) {
  using Binomial = boost::math::binomial_distribution<double>;
  constexpr double kTail = 0.025;
  Share share;
  if (trials == 0) return share;
  const auto n = static_cast<double>(trials);
  const auto k = static_cast<double>(hits);
  share.share = k / n;
  share.least = hits == 0 ? 0.0 : Binomial::find_lower_bound_on_p(n, k, kTail);
  share.most = hits == trials ? 1.0 : Binomial::find_upper_bound_on_p(n, k, kTail);
  return share;
}

}  // namespace benchproof
