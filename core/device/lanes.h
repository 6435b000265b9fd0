#pragma once

#include <hwy/contrib/math/math-inl.h>
#include <hwy/highway.h>

#include <cstddef>

#include "core/device/number.h"

/// Several values side by side, for the device equations (see number.h), in vectors of
/// the instruction set that the source is compiled for. Such a source is compiled once
/// for each of them (benchproof_lanes in CMakeLists.txt), and everything that it
/// defines stands in namespace benchproof::HWY_NAMESPACE, which is another one each
/// time; what it needs besides are numbers and pointers.
namespace benchproof::HWY_NAMESPACE {

namespace hn = hwy::HWY_NAMESPACE;

using LaneTag = hn::ScalableTag<double>;

/// One truth for each lane.
struct LaneMask {
  hn::Mask<LaneTag> lanes;

  friend LaneMask operator||(LaneMask a, LaneMask b) {
    return {hn::Or(a.lanes, b.lanes)};
  }
  friend LaneMask operator&&(LaneMask a, LaneMask b) {
    return {hn::And(a.lanes, b.lanes)};
  }
  friend LaneMask operator!(LaneMask a) { return {hn::Not(a.lanes)}; }
};

[[nodiscard]] inline bool all(LaneMask mask) {
  return hn::AllTrue(LaneTag(), mask.lanes);
}
[[nodiscard]] inline bool any(LaneMask mask) {
  return !hn::AllFalse(LaneTag(), mask.lanes);
}

class Lanes {
 public:
  using Vector = hn::Vec<LaneTag>;
  static constexpr std::size_t kCount = hn::MaxLanes(LaneTag());

  Lanes() : v_(hn::Zero(LaneTag())) {}
  Lanes(double all) : v_(hn::Set(LaneTag(), all)) {}  // NOLINT: as a number is.
  explicit Lanes(Vector v) : v_(v) {}

  /// The next kCount values, which need not be aligned.
  [[nodiscard]] static Lanes load(const double* from) {
    return Lanes(hn::LoadU(LaneTag(), from));
  }
  void store(double* to) const { hn::StoreU(v_, LaneTag(), to); }
  [[nodiscard]] Vector vector() const { return v_; }

  friend Lanes operator+(Lanes a, Lanes b) { return Lanes(hn::Add(a.v_, b.v_)); }
  friend Lanes operator-(Lanes a, Lanes b) { return Lanes(hn::Sub(a.v_, b.v_)); }
  friend Lanes operator*(Lanes a, Lanes b) { return Lanes(hn::Mul(a.v_, b.v_)); }
  friend Lanes operator/(Lanes a, Lanes b) { return Lanes(hn::Div(a.v_, b.v_)); }
  friend Lanes operator-(Lanes a) { return Lanes(hn::Neg(a.v_)); }
  friend LaneMask operator<(Lanes a, Lanes b) { return {hn::Lt(a.v_, b.v_)}; }
  friend LaneMask operator<=(Lanes a, Lanes b) { return {hn::Le(a.v_, b.v_)}; }
  friend LaneMask operator>(Lanes a, Lanes b) { return {hn::Gt(a.v_, b.v_)}; }
  friend LaneMask operator>=(Lanes a, Lanes b) { return {hn::Ge(a.v_, b.v_)}; }

 private:
  Vector v_;
};

[[nodiscard]] inline Lanes select(LaneMask mask, Lanes a, Lanes b) {
  return Lanes(hn::IfThenElse(mask.lanes, a.vector(), b.vector()));
}
[[nodiscard]] inline Lanes abs(Lanes a) { return Lanes(hn::Abs(a.vector())); }
[[nodiscard]] inline Lanes sqrt(Lanes a) { return Lanes(hn::Sqrt(a.vector())); }
[[nodiscard]] inline Lanes exp(Lanes a) {
  return Lanes(hn::Exp(LaneTag(), a.vector()));
}
[[nodiscard]] inline Lanes log(Lanes a) {
  return Lanes(hn::Log(LaneTag(), a.vector()));
}
[[nodiscard]] inline Lanes tanh(Lanes a) {
  return Lanes(hn::Tanh(LaneTag(), a.vector()));
}
/// The larger one; where `b` is not a number, that.
[[nodiscard]] inline Lanes larger(Lanes a, Lanes b) { return select(b <= a, a, b); }

}  // namespace benchproof::HWY_NAMESPACE
