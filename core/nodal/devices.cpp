#include "core/nodal/detail/devices.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/nodal/detail/limiting.h"

namespace benchproof {
namespace {

/// What rounding may do to a voltage that is the difference of two, as a share of both.
constexpr double kRounding = 8.0 * std::numeric_limits<double>::epsilon();

DiodeAt at_temperature(const DiodeModel& m, double celsius) { return at(m, celsius); }
BipolarAt at_temperature(const BipolarModel& m, double celsius) {
  return at(m, celsius);
}
MosAt at_temperature(const MosModel& m, double celsius) { return at(m, celsius); }
RegulatorAt at_temperature(const RegulatorModel& m, double /*celsius*/) {
  return at(m);
}

// Where a cold start begins: every junction at its bend, everything else at 0.

double cold(const DiodeAt& d) { return d.critical; }
BipolarVolts<double> cold(const BipolarAt& t) { return {t.critical, 0.0}; }
MosVolts<double> cold(const MosAt& /*device*/) { return {}; }
RegulatorDrive<double> cold(const RegulatorAt& /*device*/) { return {}; }

// What the unknowns would drive a device by.

double driven_by(const std::vector<double>& x, const DiodeAt& /*device*/,
                 const TwoEnds& e, const PairSlots& /*slots*/) {
  return node_volts(x, e.a) - node_volts(x, e.b);
}
template <class Device>
auto driven_by(const std::vector<double>& x, const Device& device, const ThreeEnds& e,
               const NineSlots& /*slots*/) {
  return driven(device, node_volts(x, e.ends[0]), node_volts(x, e.ends[1]),
                node_volts(x, e.ends[2]));
}
RegulatorDrive<double> driven_by(const std::vector<double>& x,
                                 const RegulatorAt& device, const ThreeEnds& e,
                                 const RegulatorSlots& slots) {
  return driven(device, node_volts(x, e.ends[0]), node_volts(x, e.ends[1]),
                node_volts(x, e.ends[2]), x[slots.number]);
}

/// Whether a current is what its tangent foretold; `slack` is what rounding may do.
bool agrees(const Settling& s, double foretold, double found, double slack) {
  return std::abs(foretold - found) <= s.share * std::abs(found) + s.floor + slack;
}

/// One step of Newton's method as one device sees it.
template <class Kind>
struct Step {
  const std::vector<double>& next;  ///< Unknowns that the step leads to.
  const Settling& settling;
  const typename Kind::Device& device;
  const typename Kind::Stamp* stamp;  ///< As last loaded, if kFollowsStamp.
  typename Kind::Drive& drive;        ///< Where it was looked at, and then where it is.
  typename Kind::Found& found;        ///< What was found there, and then what is found.
};

// Moves a device along with a step, as far as limiting lets it, and evaluates it there.
// Returns whether it is settled: nothing was limited, and its currents are those that
// the tangents foretold.

bool follow_step(const Step<DiodeKind>& s, const TwoEnds& e,
                 const PairSlots& /*slots*/) {
  const double va = node_volts(s.next, e.a);
  const double vb = node_volts(s.next, e.b);
  const double foretold = s.stamp->amps + s.stamp->siemens * (va - vb);
  bool limited = false;
  s.drive = limit_diode(s.device, va - vb - s.device.rs * foretold, s.drive, limited);
  s.found = evaluated(s.device, s.drive);
  const double slack = kRounding * s.found.siemens * (std::abs(va) + std::abs(vb));
  return !limited && agrees(s.settling, foretold, s.found.amps, slack);
}

bool follow_step(const Step<BipolarKind>& s, const ThreeEnds& e,
                 const NineSlots& slots) {
  const BipolarAt& t = s.device;
  const BipolarConduction before = s.found;
  const auto [be, bc] = driven_by(s.next, t, e, slots);
  const double be_step = be - s.drive.be;
  const double bc_step = bc - s.drive.bc;
  const double collector = before.collector + before.collector_by_be * be_step +
                           before.collector_by_bc * bc_step;
  const double base =
      before.base + before.base_by_be * be_step + before.base_by_bc * bc_step;
  bool limited = false;
  s.drive = {limit_junction(be, s.drive.be, t.nvt_forward, t.critical, limited),
             limit_junction(bc, s.drive.bc, t.nvt_reverse, t.critical, limited)};
  s.found = evaluated(t, s.drive);
  const BipolarConduction& now = s.found;
  const double rounding = kRounding * (std::abs(node_volts(s.next, e.ends[1])) +
                                       std::abs(be) + std::abs(bc));
  const double collector_slack =
      rounding * (std::abs(now.collector_by_be) + std::abs(now.collector_by_bc));
  const double base_slack =
      rounding * (std::abs(now.base_by_be) + std::abs(now.base_by_bc));
  return !limited && agrees(s.settling, collector, now.collector, collector_slack) &&
         agrees(s.settling, base, now.base, base_slack);
}

bool follow_step(const Step<MosKind>& s, const ThreeEnds& e, const NineSlots& slots) {
  const MosConduction before = s.found;
  const auto [gs, ds] = driven_by(s.next, s.device, e, slots);
  const double drain = before.drain + before.by_gate * (gs - s.drive.gs) +
                       before.by_drain * (ds - s.drive.ds);
  bool limited = false;
  s.drive = {limit_step(gs, s.drive.gs, limited), limit_step(ds, s.drive.ds, limited)};
  s.found = evaluated(s.device, s.drive);
  const double slack = kRounding * (std::abs(gs) + std::abs(ds)) *
                       (std::abs(s.found.by_gate) + s.found.by_drain);
  return !limited && agrees(s.settling, drain, s.found.drain, slack);
}

bool follow_step(const Step<RegulatorKind>& s, const ThreeEnds& e,
                 const RegulatorSlots& slots) {
  const Conduction before = s.found.quiescent;
  const double in_before = s.drive.in;
  s.drive = driven_by(s.next, s.device, e, slots);
  s.found = evaluated(s.device, s.drive);
  const auto& [pass, quiescent] = s.found;
  const double most = s.settling.regulator;
  if (!(std::abs(pass.error) <= most * std::max(1.0, pass.by_amps))) return false;
  if (std::isinf(most)) return true;
  const double foretold = before.amps + before.siemens * (s.drive.in - in_before);
  const double slack = kRounding * quiescent.siemens * std::abs(s.drive.in);
  return agrees(s.settling, foretold, quiescent.amps, slack);
}

// The largest current of a junction.

double junction_amps(const Conduction& c) { return std::abs(c.amps); }
double junction_amps(const BipolarConduction& c) {
  return std::max(
      {std::abs(c.collector), std::abs(c.base), std::abs(c.collector + c.base)});
}
double junction_amps(const MosConduction& /*found*/) { return 0.0; }
double junction_amps(const RegulatorEquations<double>& /*found*/) { return 0.0; }

int last_node(const TwoEnds& e) { return std::max(e.a, e.b); }
int last_node(const ThreeEnds& e) {
  return *std::max_element(e.ends.begin(), e.ends.end());
}

// Currents of an element, as in Currents.

double current_of(const DiodeAt& /*device*/, double /*drive*/, const Conduction& c) {
  return c.amps;
}
std::array<double, 3> current_of(const BipolarAt& t,
                                 const BipolarVolts<double>& /*drive*/,
                                 const BipolarConduction& c) {
  return {t.sign * c.collector, t.sign * c.base, -t.sign * (c.collector + c.base)};
}
std::array<double, 3> current_of(const MosAt& t, const MosVolts<double>& /*drive*/,
                                 const MosConduction& c) {
  const double drain = t.sign * c.drain;
  return {drain, 0.0, -drain};
}
std::array<double, 3> current_of(const RegulatorAt& /*device*/,
                                 const RegulatorDrive<double>& drive,
                                 const RegulatorEquations<double>& e) {
  return {drive.amps + e.quiescent.amps, -e.quiescent.amps, -drive.amps};
}

}  // namespace

template <class Kind>
DevicesOf<Kind>::DevicesOf(const Layout& layout)
    : elements_((*layout.structure).*Kind::kElements),
      slots_(layout.*Kind::kSlots),
      found_(elements_.size()),
      stamps_(Kind::kFollowsStamp ? elements_.size() : 0) {}

template <class Kind>
void DevicesOf<Kind>::bind(const Network& network) {
  devices_.clear();
  for (const auto& model : network.values.*Kind::kModels) {
    devices_.push_back(at_temperature(model, network.celsius));
  }
}

template <class Kind>
void DevicesOf<Kind>::start_cold(Memory& memory) const {
  auto& drives = memory.*Kind::kDrives;
  for (std::size_t k = 0; k < devices_.size(); ++k) drives[k] = cold(devices_[k]);
}

template <class Kind>
void DevicesOf<Kind>::start_at_unknowns(Memory& memory) const {
  auto& drives = memory.*Kind::kDrives;
  for (std::size_t k = 0; k < devices_.size(); ++k) {
    drives[k] = driven_by(memory.x, devices_[k], elements_[k], slots_[k]);
  }
}

template <class Kind>
void DevicesOf<Kind>::evaluate(const Memory& memory) {
  const auto& drives = memory.*Kind::kDrives;
  for (std::size_t k = 0; k < devices_.size(); ++k) {
    found_[k] = evaluated(devices_[k], drives[k]);
  }
}

template <class Kind>
void DevicesOf<Kind>::load(const Memory& memory, double* a, double* b) {
  const auto& drives = memory.*Kind::kDrives;
  for (std::size_t k = 0; k < devices_.size(); ++k) {
    const typename Kind::Stamp now = stamp(devices_[k], drives[k], found_[k]);
    put(now, slots_[k], elements_[k], a, b);
    if constexpr (Kind::kFollowsStamp) stamps_[k] = now;
  }
}

template <class Kind>
bool DevicesOf<Kind>::follow(const std::vector<double>& next, const Settling& settling,
                             Memory& memory) {
  auto& drives = memory.*Kind::kDrives;
  bool good = true;
  for (std::size_t k = 0; k < devices_.size(); ++k) {
    const typename Kind::Stamp* kept = Kind::kFollowsStamp ? &stamps_[k] : nullptr;
    const Step<Kind> step{next, settling, devices_[k], kept, drives[k], found_[k]};
    if (!follow_step(step, elements_[k], slots_[k])) good = false;
  }
  return good;
}

template <class Kind>
int DevicesOf<Kind>::node_beyond(double most) const {
  for (std::size_t k = 0; k < devices_.size(); ++k) {
    if (junction_amps(found_[k]) > most) return last_node(elements_[k]);
  }
  return -1;
}

template <class Kind>
std::vector<typename Kind::Current> DevicesOf<Kind>::currents(
    const Memory& memory) const {
  const auto& drives = memory.*Kind::kDrives;
  std::vector<typename Kind::Current> currents(devices_.size());
  for (std::size_t k = 0; k < devices_.size(); ++k) {
    currents[k] = current_of(devices_[k], drives[k], found_[k]);
  }
  return currents;
}

template class DevicesOf<DiodeKind>;
template class DevicesOf<BipolarKind>;
template class DevicesOf<MosKind>;
template class DevicesOf<RegulatorKind>;

}  // namespace benchproof
