#pragma once

#include <array>
#include <type_traits>

#include "core/device/bipolar.h"
#include "core/device/coil.h"
#include "core/device/diode.h"
#include "core/device/mos.h"
#include "core/device/regulator.h"
#include "core/nodal/detail/layout.h"

/// What each kind of element adds to the nodal system A x = b.
///
/// An element's equation is straightened at the voltages where it was last looked at;
/// the straight equation is its stamp. Functions named `stamp` and `*_stamp` make
/// stamps from values, device models and what drives the device; `put` adds them to A
/// and b, `put_matrix` and `put_right` to one of the two. `Number` is a double or lanes
/// of them, see core/device/number.h. Currents that leave a node into an element are
/// positive. `take_off` takes what a straight equation says at given unknowns off a
/// right-hand side.
namespace benchproof {

/// An element between two nodes: amps + siemens * (volts(a) - volts(b)) flows from `a`
/// through it to `b`.
template <class Number>
struct PairStamp {
  Number siemens{};
  Number amps{};
};

/// An element of three ends: amps[i] + the sum of siemens[i][j] * volts(j) flows into
/// end i. The three currents add up to 0, so amps[2] is -amps[0] - amps[1] and is not
/// held.
template <class Number>
struct TripleStamp {
  std::array<std::array<Number, 3>, 3> siemens{};
  std::array<Number, 2> amps{};
};

/// An element whose current i, from `a` to `b`, is an unknown:
/// volts(a) - volts(b) = ohms * i + volts.
template <class Number>
struct BranchStamp {
  Number ohms{};
  Number volts{};
};

/// A coil, of which the current i through the inductance is an unknown:
/// by_volts * (volts(a) - volts(b)) - by_amps * i = right, and share * i + siemens *
/// (volts(a) - volts(b)) flows from `a` to `b`.
template <class Number>
struct CoilStamp {
  Number by_volts{1.0};
  Number by_amps{};
  Number right{};
  Number siemens{};
  Number share{1.0};
};

/// A regulator, whose current i from in to out is an unknown: the sum of
/// by_end[k] * volts(k), over in, common and out, + ohms * i = volts.
template <class Number>
struct RegulatorStamp {
  std::array<Number, 3> by_end{};  ///< Volt per volt.
  Number ohms{};
  Number volts{};
  PairStamp<Number> quiescent;  ///< From in to common.
};

/// What drives a bipolar transistor, in the NPN sense. Volt.
template <class Number>
struct BipolarVolts {
  Number be{};
  Number bc{};
};

/// What drives a regulator.
template <class Number>
struct RegulatorDrive {
  Number in{};    ///< Against common. Volt.
  Number out{};   ///< Against common. Volt.
  Number amps{};  ///< From in to out.
};

/// A regulator's equations at one drive.
template <class Number>
struct RegulatorEquations {
  RegulatorEquationOf<Number> pass;
  ConductionOf<Number> quiescent;
};

// From the ends' voltages (and a regulator's current) to what drives the device.

template <class Number>
[[nodiscard]] BipolarVolts<Number> driven(const BipolarAtOf<Number>& device,
                                          std::type_identity_t<Number> collector,
                                          std::type_identity_t<Number> base,
                                          std::type_identity_t<Number> emitter) {
  return {device.sign * (base - emitter), device.sign * (base - collector)};
}

template <class Number>
[[nodiscard]] MosVolts<Number> driven(const MosAtOf<Number>& device,
                                      std::type_identity_t<Number> drain,
                                      std::type_identity_t<Number> gate,
                                      std::type_identity_t<Number> source) {
  return {device.sign * (gate - source), device.sign * (drain - source)};
}

template <class Number>
[[nodiscard]] RegulatorDrive<Number> driven(const RegulatorAtOf<Number>& /*device*/,
                                            std::type_identity_t<Number> in,
                                            std::type_identity_t<Number> common,
                                            std::type_identity_t<Number> out,
                                            std::type_identity_t<Number> amps) {
  return {in - common, out - common, amps};
}

// From what drives a device to its currents, or its equations, with their derivatives.

template <class Number>
[[nodiscard]] ConductionOf<Number> evaluated(
    const DiodeAtOf<Number>& device, std::type_identity_t<Number> junction_volts) {
  return junction(device, junction_volts);
}

template <class Number>
[[nodiscard]] BipolarConductionOf<Number> evaluated(const BipolarAtOf<Number>& device,
                                                    const BipolarVolts<Number>& at) {
  return conduct(device, at.be, at.bc);
}

template <class Number>
[[nodiscard]] MosConductionOf<Number> evaluated(const MosAtOf<Number>& device,
                                                const MosVolts<Number>& at) {
  return channel(device, at.gs, at.ds);
}

template <class Number>
[[nodiscard]] RegulatorEquations<Number> evaluated(const RegulatorAtOf<Number>& device,
                                                   const RegulatorDrive<Number>& at) {
  return {pass(device, at.in, at.out, at.amps), quiescent(device, at.in)};
}

// Stamps of elements that are straight by themselves.

template <class Number>
[[nodiscard]] PairStamp<Number> resistor_stamp(Number ohms) {
  return {1.0 / ohms, Number(0.0)};
}

/// `amps` leave at `a` into the circuit.
template <class Number>
[[nodiscard]] PairStamp<Number> current_source_stamp(Number amps) {
  return {Number(0.0), -amps};
}

template <class Number>
[[nodiscard]] BranchStamp<Number> voltage_source_stamp(Number volts) {
  return {Number(0.0), volts};
}

/// A capacitor whose voltage is base + seconds * its derivative.
template <class Number>
[[nodiscard]] BranchStamp<Number> capacitor_stamp(Number farads, Number seconds,
                                                  Number base) {
  return {seconds / farads, base};
}

/// A stray capacitance whose voltage is base + seconds * its derivative. It is so small
/// that the conductance a short step makes of it costs no digits.
template <class Number>
[[nodiscard]] PairStamp<Number> stray_stamp(Number farads, Number seconds,
                                            Number base) {
  const Number siemens = farads / seconds;
  return {siemens, -siemens * base};
}

/// A coil through whose inductance base + seconds * its derivative flows. Written by
/// what flows: as a voltage, a short step's 1e14 ohm would cost all digits of a row.
template <class Number>
[[nodiscard]] CoilStamp<Number> coil_stamp(const CoilAtOf<Number>& coil, Number seconds,
                                           Number base) {
  const Number by_volts = coil.share * seconds / coil.henries;
  return {by_volts, 1.0 + coil.ohms * by_volts, -base, coil.siemens, coil.share};
}

/// A coil at rest: its winding.
template <class Number>
[[nodiscard]] CoilStamp<Number> coil_at_rest(const CoilAtOf<Number>& coil) {
  return {Number(1.0), coil.ohms, Number(0.0), coil.siemens, coil.share};
}

// Stamps of devices where they were last looked at.

/// The whole diode, whose inner node is eliminated: of the junction's tangent
/// i = i0 + g (u - u0) and the series resistance, u = v - rs i.
template <class Number>
[[nodiscard]] PairStamp<Number> stamp(const DiodeAtOf<Number>& device,
                                      std::type_identity_t<Number> junction_volts,
                                      const ConductionOf<Number>& c) {
  const Number share = 1.0 / (1.0 + device.rs * c.siemens);
  return {c.siemens * share, (c.amps - c.siemens * junction_volts) * share};
}

template <class Number>
[[nodiscard]] TripleStamp<Number> stamp(const BipolarAtOf<Number>& device,
                                        const BipolarVolts<Number>& at,
                                        const BipolarConductionOf<Number>& c) {
  // Rows: collector, base, emitter; columns the same.
  const Number c_b = c.collector_by_be + c.collector_by_bc;
  const Number b_b = c.base_by_be + c.base_by_bc;
  const Number collector =
      c.collector - c.collector_by_be * at.be - c.collector_by_bc * at.bc;
  const Number base = c.base - c.base_by_be * at.be - c.base_by_bc * at.bc;
  return {{{{-c.collector_by_bc, c_b, -c.collector_by_be},
            {-c.base_by_bc, b_b, -c.base_by_be},
            {c.collector_by_bc + c.base_by_bc, -(c_b + b_b),
             c.collector_by_be + c.base_by_be}}},
          {device.sign * collector, device.sign * base}};
}

/// The whole transistor, whose inner nodes are eliminated: of the channel's tangent and
/// what its resistances leave of the terminals' voltages.
template <class Number>
[[nodiscard]] TripleStamp<Number> stamp(const MosAtOf<Number>& device,
                                        const MosVolts<Number>& at,
                                        const MosConductionOf<Number>& c) {
  // Rows: drain, gate, source; columns the same.
  const Number none(0.0);
  const Number share = share_behind_resistances(device, c);
  const Number gate = share * c.by_gate;
  const Number drain = share * c.by_drain;
  const Number amps = share * c.drain - gate * at.gs - drain * at.ds;
  return {{{{drain, gate, -(gate + drain)},
            {none, none, none},
            {-drain, -gate, gate + drain}}},
          {device.sign * amps, none}};
}

template <class Number>
[[nodiscard]] RegulatorStamp<Number> stamp(const RegulatorAtOf<Number>& /*device*/,
                                           const RegulatorDrive<Number>& at,
                                           const RegulatorEquations<Number>& e) {
  const RegulatorEquationOf<Number>& p = e.pass;
  return {{p.by_in, -p.by_in - p.by_out, p.by_out},
          p.by_amps,
          p.by_in * at.in + p.by_out * at.out + p.by_amps * at.amps - p.error,
          {e.quiescent.siemens, e.quiescent.amps - e.quiescent.siemens * at.in}};
}

// Into the matrix: `a` holds its entries by slot. Those of slot -1 belong to ground.

template <class Number>
void put_entry(Number* a, int slot, std::type_identity_t<Number> value) {
  if (slot >= 0) a[slot] = a[slot] + value;
}

template <class Number>
void put_matrix(const PairStamp<Number>& stamp, const PairSlots& at, Number* a) {
  put_entry(a, at.aa, stamp.siemens);
  put_entry(a, at.bb, stamp.siemens);
  put_entry(a, at.ab, -stamp.siemens);
  put_entry(a, at.ba, -stamp.siemens);
}

template <class Number>
void put_matrix(const TripleStamp<Number>& stamp, const NineSlots& at, Number* a) {
  for (int i = 0; i < 3; ++i) {
    for (int j = 0; j < 3; ++j) put_entry(a, at[i][j], stamp.siemens[i][j]);
  }
}

template <class Number>
void put_matrix(const BranchStamp<Number>& stamp, const BranchSlots& at, Number* a) {
  put_entry(a, at.ends.aa, 1.0);
  put_entry(a, at.ends.ab, -1.0);
  put_entry(a, at.ends.ba, 1.0);
  put_entry(a, at.ends.bb, -1.0);
  put_entry(a, at.self, -stamp.ohms);
}

template <class Number>
void put_matrix(const CoilStamp<Number>& stamp, const CoilSlots& at, Number* a) {
  put_entry(a, at.branch.ends.aa, stamp.share);
  put_entry(a, at.branch.ends.ab, -stamp.share);
  put_entry(a, at.branch.ends.ba, stamp.by_volts);
  put_entry(a, at.branch.ends.bb, -stamp.by_volts);
  put_entry(a, at.branch.self, -stamp.by_amps);
  put_matrix(PairStamp<Number>{stamp.siemens, Number(0.0)}, at.across, a);
}

template <class Number>
void put_matrix(const RegulatorStamp<Number>& stamp, const RegulatorSlots& at,
                Number* a) {
  put_entry(a, at.in_column, 1.0);
  put_entry(a, at.out_column, -1.0);
  for (int end = 0; end < 3; ++end) put_entry(a, at.row[end], stamp.by_end[end]);
  put_entry(a, at.self, stamp.ohms);
  put_matrix(stamp.quiescent, at.quiescent, a);
}

// Into the right-hand side: `b` holds it by unknown.

/// A current that leaves node `from` and enters node `to`.
template <class Number>
void put_current(Number* b, int from, int to, std::type_identity_t<Number> amps) {
  if (from > 0) b[Layout::unknown(from)] = b[Layout::unknown(from)] - amps;
  if (to > 0) b[Layout::unknown(to)] = b[Layout::unknown(to)] + amps;
}

template <class Number>
void put_right(const PairStamp<Number>& stamp, const TwoEnds& ends, Number* b) {
  put_current(b, ends.a, ends.b, stamp.amps);
}

template <class Number>
void put_right(const TripleStamp<Number>& stamp, const ThreeEnds& ends, Number* b) {
  put_current(b, ends.ends[0], ends.ends[2], stamp.amps[0]);
  put_current(b, ends.ends[1], ends.ends[2], stamp.amps[1]);
}

template <class Number>
void put_right(const BranchStamp<Number>& stamp, const BranchSlots& at, Number* b) {
  b[at.number] = b[at.number] + stamp.volts;
}

template <class Number>
void put_right(const CoilStamp<Number>& stamp, const CoilSlots& at, Number* b) {
  b[at.branch.number] = b[at.branch.number] + stamp.right;
}

// Off what is left over of the equations at the unknowns `x`. A stamp is evaluated by
// differences of voltages, once for all its ends: what its rounding adds at one end it
// takes off at the other. By the rows of A an ideal junction's 2e5 S at 20 V leave some
// 0.5 nA at each of both ends by itself, and what hangs together on 90 kohm moves by
// it; across a closed contact rounding moves the ends each time anew.

template <class Number>
void take_off(const PairStamp<Number>& stamp, const TwoEnds& ends,
              const std::vector<Number>& x, Number* left) {
  const Number volts = node_volts(x, ends.a) - node_volts(x, ends.b);
  put_current(left, ends.a, ends.b, stamp.amps + stamp.siemens * volts);
}

template <class Number>
void take_off(const PairStamp<Number>& stamp, const PairSlots& /*at*/,
              const TwoEnds& ends, const std::vector<Number>& x, Number* left) {
  take_off(stamp, ends, x, left);
}

template <class Number>
void take_off(const BranchStamp<Number>& stamp, const BranchSlots& at,
              const TwoEnds& ends, const std::vector<Number>& x, Number* left) {
  const Number volts = node_volts(x, ends.a) - node_volts(x, ends.b);
  const Number amps = x[at.number];
  left[at.number] = left[at.number] + stamp.volts + stamp.ohms * amps - volts;
  put_current(left, ends.a, ends.b, amps);
}

template <class Number>
void take_off(const CoilStamp<Number>& stamp, const CoilSlots& at, const TwoEnds& ends,
              const std::vector<Number>& x, Number* left) {
  const int number = at.branch.number;
  const Number volts = node_volts(x, ends.a) - node_volts(x, ends.b);
  left[number] =
      left[number] + stamp.right + stamp.by_amps * x[number] - stamp.by_volts * volts;
  put_current(left, ends.a, ends.b, stamp.share * x[number] + stamp.siemens * volts);
}

template <class Number>
void take_off(const TripleStamp<Number>& stamp, const NineSlots& /*at*/,
              const ThreeEnds& ends, const std::vector<Number>& x, Number* left) {
  const Number third = node_volts(x, ends.ends[2]);
  const Number first = node_volts(x, ends.ends[0]) - third;
  const Number second = node_volts(x, ends.ends[1]) - third;
  for (int i = 0; i < 2; ++i) {
    put_current(
        left, ends.ends[i], ends.ends[2],
        stamp.amps[i] + stamp.siemens[i][0] * first + stamp.siemens[i][1] * second);
  }
}

template <class Number>
void take_off(const RegulatorStamp<Number>& stamp, const RegulatorSlots& at,
              const ThreeEnds& ends, const std::vector<Number>& x, Number* left) {
  const auto [in, common, out] = ends.ends;
  const Number reference = node_volts(x, common);
  const Number amps = x[at.number];
  left[at.number] = left[at.number] + stamp.volts - stamp.ohms * amps -
                    stamp.by_end[0] * (node_volts(x, in) - reference) -
                    stamp.by_end[2] * (node_volts(x, out) - reference);
  put_current(left, in, out, amps);
  take_off(stamp.quiescent, TwoEnds{in, common, {}}, x, left);
}

// Into both.

template <class Stamp, class Slots, class Ends, class Number>
void put(const Stamp& stamp, const Slots& at, const Ends& ends, Number* a, Number* b) {
  put_matrix(stamp, at, a);
  put_right(stamp, ends, b);
}

template <class Number>
void put(const RegulatorStamp<Number>& stamp, const RegulatorSlots& at,
         const ThreeEnds& ends, Number* a, Number* b) {
  put_matrix(stamp, at, a);
  b[at.number] = b[at.number] + stamp.volts;
  put_right(stamp.quiescent, TwoEnds{ends.ends[0], ends.ends[1], {}}, b);
}

}  // namespace benchproof
