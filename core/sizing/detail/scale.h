#pragma once

#include "core/sizing/goal.h"
#include "core/sizing/sized_key.h"

namespace benchproof {

/// Positions from 0 to 1 between a key's bounds: by ratio where both are above 0.
class Scale {
 public:
  Scale(const SizedKey& key, const Goal& goal);

  [[nodiscard]] double value(double position) const;
  [[nodiscard]] double position(double value) const;
  /// Into so many steps the bounds' distance is divided while it is not known where the
  /// goal is met.
  [[nodiscard]] int steps() const;
  [[nodiscard]] bool is_by_ratio() const { return by_ratio_; }
  /// The logarithm of how many times the greatest value is the least.
  [[nodiscard]] double log_range() const;

 private:
  double least_;
  double most_;
  double per_decade_;
  bool by_ratio_;
};

}  // namespace benchproof
