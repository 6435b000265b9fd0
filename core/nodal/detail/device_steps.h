#pragma once

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/nodal/detail/devices.h"
#include "core/nodal/detail/limiting.h"

/// What DevicesOf does, for doubles (devices.cpp) and for lanes (lane_solver.cpp).
namespace benchproof {
namespace device_steps {

/// What rounding may do to a voltage that is the difference of two, as a share of both.
inline constexpr double kRounding = 8.0 * std::numeric_limits<double>::epsilon();

// Where a cold start begins: every junction near its bend, at some milliampere, which
// they carry in small circuits; every regulator regulating without load; everything
// else at 0. On large circuits that takes half the steps that starting with unknowns
// of 0 and junctions at their bend does.

/// How many emission voltages below its bend a junction starts.
inline constexpr double kBelowBend = 2.0;
/// A regulator starts with this much more at its input than it needs. Volt.
inline constexpr double kHeadroom = 1.0;

template <class N>
N cold(const DiodeAtOf<N>& d) {
  return d.critical - kBelowBend * d.nvt;
}
template <class N>
BipolarVolts<N> cold(const BipolarAtOf<N>& t) {
  return {t.critical - kBelowBend * t.nvt_forward, N(0.0)};
}
template <class N>
MosVolts<N> cold(const MosAtOf<N>& /*device*/) {
  return {};
}
template <class N>
RegulatorDrive<N> cold(const RegulatorAtOf<N>& r) {
  return {r.sign * (r.output + r.dropout + kHeadroom), r.sign * r.output, N(0.0)};
}

// What the unknowns would drive a device by.

template <class N>
N driven_by(const std::vector<N>& x, const DiodeAtOf<N>& /*device*/, const TwoEnds& e,
            const PairSlots& /*slots*/) {
  return node_volts(x, e.a) - node_volts(x, e.b);
}
template <class N, class Device>
auto driven_by(const std::vector<N>& x, const Device& device, const ThreeEnds& e,
               const NineSlots& /*slots*/) {
  return driven(device, node_volts(x, e.ends[0]), node_volts(x, e.ends[1]),
                node_volts(x, e.ends[2]));
}
template <class N>
RegulatorDrive<N> driven_by(const std::vector<N>& x, const RegulatorAtOf<N>& device,
                            const ThreeEnds& e, const RegulatorSlots& slots) {
  return driven(device, node_volts(x, e.ends[0]), node_volts(x, e.ends[1]),
                node_volts(x, e.ends[2]), x[slots.number]);
}

/// Whether a current is what its tangent foretold; `slack` is what rounding may do.
template <class N>
auto agrees(const Settling& s, N foretold, N found, N slack) {
  using std::abs;
  return abs(foretold - found) <= s.share * abs(found) + s.floor + slack;
}

/// One step of Newton's method as one device sees it.
template <class Kind>
struct Step {
  const std::vector<typename Kind::Number>& next;  ///< Unknowns it leads to.
  const Settling& settling;
  const typename Kind::Device& device;
  const typename Kind::Stamp* stamp;  ///< As last loaded, if kFollowsStamp.
  typename Kind::Drive& drive;        ///< Where it was looked at, and then where it is.
  typename Kind::Found& found;        ///< What was found there, and then what is found.
};

// Moves a device along with a step, as far as limiting lets it, and evaluates it there.
// Returns whether it is settled: nothing was limited, and its currents are those that
// the tangents foretold.

template <class N>
auto follow_step(const Step<DiodeKindOf<N>>& s, const TwoEnds& e,
                 const PairSlots& /*slots*/) {
  using std::abs;
  const N va = node_volts(s.next, e.a);
  const N vb = node_volts(s.next, e.b);
  const N foretold = s.stamp->amps + s.stamp->siemens * (va - vb);
  auto limited = N(1.0) < 0.0;
  s.drive =
      limit_diode<N>(s.device, va - vb - s.device.rs * foretold, s.drive, limited);
  s.found = evaluated(s.device, s.drive);
  const N slack = kRounding * s.found.siemens * (abs(va) + abs(vb));
  return !limited && agrees<N>(s.settling, foretold, s.found.amps, slack);
}

template <class N>
auto follow_step(const Step<BipolarKindOf<N>>& s, const ThreeEnds& e,
                 const NineSlots& slots) {
  using std::abs;
  const BipolarAtOf<N>& t = s.device;
  const BipolarConductionOf<N> before = s.found;
  const BipolarVolts<N> at = driven_by(s.next, t, e, slots);
  const N be_step = at.be - s.drive.be;
  const N bc_step = at.bc - s.drive.bc;
  const N collector = before.collector + before.collector_by_be * be_step +
                      before.collector_by_bc * bc_step;
  const N base =
      before.base + before.base_by_be * be_step + before.base_by_bc * bc_step;
  auto limited = N(1.0) < 0.0;
  s.drive = {limit_junction<N>(at.be, s.drive.be, t.nvt_forward, t.critical, limited),
             limit_junction<N>(at.bc, s.drive.bc, t.nvt_reverse, t.critical, limited)};
  s.found = evaluated(t, s.drive);
  const BipolarConductionOf<N>& now = s.found;
  const N rounding =
      kRounding * (abs(node_volts(s.next, e.ends[1])) + abs(at.be) + abs(at.bc));
  const N collector_slack =
      rounding * (abs(now.collector_by_be) + abs(now.collector_by_bc));
  const N base_slack = rounding * (abs(now.base_by_be) + abs(now.base_by_bc));
  return !limited && agrees<N>(s.settling, collector, now.collector, collector_slack) &&
         agrees<N>(s.settling, base, now.base, base_slack);
}

template <class N>
auto follow_step(const Step<MosKindOf<N>>& s, const ThreeEnds& e,
                 const NineSlots& slots) {
  using std::abs;
  const MosAtOf<N>& t = s.device;
  const MosConductionOf<N> before = s.found;
  const MosVolts<N> ends = driven_by(s.next, t, e, slots);
  const N drain = share_behind_resistances(t, before) *
                  (before.drain + before.by_gate * (ends.gs - s.drive.gs) +
                   before.by_drain * (ends.ds - s.drive.ds));
  const MosVolts<N> at = behind_resistances<N>(t, ends, drain);
  auto limited = N(1.0) < 0.0;
  s.drive = {limit_step<N>(at.gs, s.drive.gs, limited),
             limit_step<N>(at.ds, s.drive.ds, limited)};
  s.found = evaluated(t, s.drive);
  const N slack = kRounding * (abs(ends.gs) + abs(ends.ds)) *
                  (abs(s.found.by_gate) + s.found.by_drain);
  return !limited && agrees<N>(s.settling, drain, s.found.drain, slack);
}

template <class N>
auto follow_step(const Step<RegulatorKindOf<N>>& s, const ThreeEnds& e,
                 const RegulatorSlots& slots) {
  using std::abs;
  const ConductionOf<N> before = s.found.quiescent;
  const N in_before = s.drive.in;
  s.drive = driven_by(s.next, s.device, e, slots);
  s.found = evaluated(s.device, s.drive);
  const RegulatorEquationOf<N>& pass = s.found.pass;
  const ConductionOf<N>& quiescent = s.found.quiescent;
  const double most = s.settling.regulator;
  const N steep = select(pass.by_amps > 1.0, pass.by_amps, N(1.0));
  const auto is_held = abs(pass.error) <= most * steep;
  if (std::isinf(most)) return is_held;
  const N foretold = before.amps + before.siemens * (s.drive.in - in_before);
  const N slack = kRounding * quiescent.siemens * abs(s.drive.in);
  return is_held && agrees<N>(s.settling, foretold, quiescent.amps, slack);
}

// The largest current of a junction.

inline double junction_amps(const Conduction& c) { return std::abs(c.amps); }
inline double junction_amps(const BipolarConduction& c) {
  return std::max(
      {std::abs(c.collector), std::abs(c.base), std::abs(c.collector + c.base)});
}
inline double junction_amps(const MosConduction& /*found*/) { return 0.0; }
inline double junction_amps(const RegulatorEquations<double>& /*found*/) { return 0.0; }

inline int last_node(const TwoEnds& e) { return std::max(e.a, e.b); }
inline int last_node(const ThreeEnds& e) {
  return *std::max_element(e.ends.begin(), e.ends.end());
}

// Currents of an element, as in Currents.

template <class N>
N current_of(const DiodeAtOf<N>& /*device*/, const N& /*drive*/,
             const ConductionOf<N>& c) {
  return c.amps;
}
template <class N>
std::array<N, 3> current_of(const BipolarAtOf<N>& t, const BipolarVolts<N>& /*drive*/,
                            const BipolarConductionOf<N>& c) {
  return {t.sign * c.collector, t.sign * c.base, -t.sign * (c.collector + c.base)};
}
template <class N>
std::array<N, 3> current_of(const MosAtOf<N>& t, const MosVolts<N>& /*drive*/,
                            const MosConductionOf<N>& c) {
  const N drain = t.sign * c.drain;
  return {drain, N(0.0), -drain};
}
template <class N>
std::array<N, 3> current_of(const RegulatorAtOf<N>& /*device*/,
                            const RegulatorDrive<N>& drive,
                            const RegulatorEquations<N>& e) {
  return {drive.amps + e.quiescent.amps, -e.quiescent.amps, -drive.amps};
}

}  // namespace device_steps

template <class Kind>
DevicesOf<Kind>::DevicesOf(const Layout& layout)
    : elements_((*layout.structure).*Kind::kElements),
      slots_(layout.*Kind::kSlots),
      devices_(elements_.size()),
      found_(elements_.size()),
      stamps_(Kind::kFollowsStamp ? elements_.size() : 0) {}

template <class Kind>
void DevicesOf<Kind>::start_cold(MemoryOf<Number>& memory) const {
  auto& drives = memory.*Kind::kDrives;
  for (std::size_t k = 0; k < devices_.size(); ++k)
    drives[k] = device_steps::cold(devices_[k]);
}

template <class Kind>
void DevicesOf<Kind>::start_at_unknowns(MemoryOf<Number>& memory) const {
  auto& drives = memory.*Kind::kDrives;
  for (std::size_t k = 0; k < devices_.size(); ++k)
    drives[k] = device_steps::driven_by(memory.x, devices_[k], elements_[k], slots_[k]);
}

template <class Kind>
void DevicesOf<Kind>::evaluate(const MemoryOf<Number>& memory) {
  const auto& drives = memory.*Kind::kDrives;
  for (std::size_t k = 0; k < devices_.size(); ++k)
    found_[k] = evaluated(devices_[k], drives[k]);
}

template <class Kind>
void DevicesOf<Kind>::load(const MemoryOf<Number>& memory, Number* a, Number* b) {
  const auto& drives = memory.*Kind::kDrives;
  for (std::size_t k = 0; k < devices_.size(); ++k) {
    const typename Kind::Stamp now = stamp(devices_[k], drives[k], found_[k]);
    benchproof::put(now, slots_[k], elements_[k], a, b);
    if constexpr (Kind::kFollowsStamp) stamps_[k] = now;
  }
}

template <class Kind>
void DevicesOf<Kind>::load_left(const MemoryOf<Number>& memory,
                                const std::vector<Number>& x, Number* a, Number* left) {
  const auto& drives = memory.*Kind::kDrives;
  for (std::size_t k = 0; k < devices_.size(); ++k) {
    const typename Kind::Stamp now = stamp(devices_[k], drives[k], found_[k]);
    put_matrix(now, slots_[k], a);
    take_off(now, slots_[k], elements_[k], x, left);
    if constexpr (Kind::kFollowsStamp) stamps_[k] = now;
  }
}

template <class Kind>
auto DevicesOf<Kind>::follow(const std::vector<Number>& next, const Settling& settling,
                             MemoryOf<Number>& memory) {
  auto& drives = memory.*Kind::kDrives;
  auto good = Number(0.0) < 1.0;
  for (std::size_t k = 0; k < devices_.size(); ++k) {
    const typename Kind::Stamp* kept = Kind::kFollowsStamp ? &stamps_[k] : nullptr;
    const device_steps::Step<Kind> step{next, settling,  devices_[k],
                                        kept, drives[k], found_[k]};
    const auto settled = device_steps::follow_step(step, elements_[k], slots_[k]);
    good = good && settled;
  }
  return good;
}

template <class Kind>
std::vector<typename Kind::Current> DevicesOf<Kind>::currents(
    const MemoryOf<Number>& memory) const {
  const auto& drives = memory.*Kind::kDrives;
  std::vector<typename Kind::Current> currents(devices_.size());
  for (std::size_t k = 0; k < devices_.size(); ++k)
    currents[k] = device_steps::current_of(devices_[k], drives[k], found_[k]);
  return currents;
}

}  // namespace benchproof
