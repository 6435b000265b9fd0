#include "core/nodal/detail/stamps.h"

#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>

/// Two values side by side: the least that device equations and stamps ask of a number
/// (core/device/number.h).
namespace lanes {

struct Mask {
  std::array<bool, 2> at{};
  friend Mask operator||(const Mask& a, const Mask& b) {
    return {{a.at[0] || b.at[0], a.at[1] || b.at[1]}};
  }
};

struct Two {
  std::array<double, 2> at{};

  Two() = default;
  Two(double both) : at{both, both} {}  // NOLINT(google-explicit-constructor)
  Two(double first, double second) : at{first, second} {}

  friend Two operator-(Two a) { return {-a.at[0], -a.at[1]}; }
  friend Two operator+(Two a, Two b) { return {a.at[0] + b.at[0], a.at[1] + b.at[1]}; }
  friend Two operator-(Two a, Two b) { return {a.at[0] - b.at[0], a.at[1] - b.at[1]}; }
  friend Two operator*(Two a, Two b) { return {a.at[0] * b.at[0], a.at[1] * b.at[1]}; }
  friend Two operator/(Two a, Two b) { return {a.at[0] / b.at[0], a.at[1] / b.at[1]}; }
  friend Mask operator<(Two a, Two b) {
    return {{a.at[0] < b.at[0], a.at[1] < b.at[1]}};
  }
  friend Mask operator<=(Two a, Two b) {
    return {{a.at[0] <= b.at[0], a.at[1] <= b.at[1]}};
  }
  friend Mask operator>(Two a, Two b) { return b < a; }
  friend Mask operator>=(Two a, Two b) { return b <= a; }
};

Two select(const Mask& mask, Two a, Two b) {
  return {mask.at[0] ? a.at[0] : b.at[0], mask.at[1] ? a.at[1] : b.at[1]};
}
Two exp(Two x) { return {std::exp(x.at[0]), std::exp(x.at[1])}; }
Two tanh(Two x) { return {std::tanh(x.at[0]), std::tanh(x.at[1])}; }
Two sqrt(Two x) { return {std::sqrt(x.at[0]), std::sqrt(x.at[1])}; }
bool all(const Mask& mask) { return mask.at[0] && mask.at[1]; }
bool any(const Mask& mask) { return mask.at[0] || mask.at[1]; }

}  // namespace lanes

namespace benchproof {
namespace {

using lanes::Two;

// A lane goes through the operations of the number alone, in their order: nothing may
// differ, not by a bit.
void check_lane(const Two& lanes, int lane, double alone) {
  CHECK(lanes.at[lane] == alone);
}
void check_lane(const PairStamp<Two>& lanes, int lane, const PairStamp<double>& alone) {
  check_lane(lanes.siemens, lane, alone.siemens);
  check_lane(lanes.amps, lane, alone.amps);
}
void check_lane(const TripleStamp<Two>& lanes, int lane,
                const TripleStamp<double>& alone) {
  for (int i = 0; i < 3; ++i) {
    for (int j = 0; j < 3; ++j) {
      check_lane(lanes.siemens[i][j], lane, alone.siemens[i][j]);
    }
  }
  for (int i = 0; i < 2; ++i) check_lane(lanes.amps[i], lane, alone.amps[i]);
}
void check_lane(const RegulatorStamp<Two>& lanes, int lane,
                const RegulatorStamp<double>& alone) {
  for (int i = 0; i < 3; ++i) check_lane(lanes.by_end[i], lane, alone.by_end[i]);
  check_lane(lanes.ohms, lane, alone.ohms);
  check_lane(lanes.volts, lane, alone.volts);
  check_lane(lanes.quiescent, lane, alone.quiescent);
}

DiodeAtOf<Two> both(const DiodeAt& a, const DiodeAt& b) {
  return {{a.is, b.is},
          {a.nvt, b.nvt},
          {a.rs, b.rs},
          {a.breakdown, b.breakdown},
          {a.nvt_breakdown, b.nvt_breakdown},
          {a.critical, b.critical}};
}
BipolarAtOf<Two> both(const BipolarAt& a, const BipolarAt& b) {
  return {{a.sign, b.sign},
          {a.is, b.is},
          {a.bf, b.bf},
          {a.br, b.br},
          {a.nvt_forward, b.nvt_forward},
          {a.nvt_reverse, b.nvt_reverse},
          {a.inverse_early, b.inverse_early},
          {a.inverse_knee, b.inverse_knee},
          {a.leak_forward, b.leak_forward},
          {a.leak_reverse, b.leak_reverse},
          {a.critical, b.critical}};
}
MosAtOf<Two> both(const MosAt& a, const MosAt& b) {
  return {{a.sign, b.sign}, {a.threshold, b.threshold},
          {a.kp, b.kp},     {a.lambda, b.lambda},
          {a.rd, b.rd},     {a.rs, b.rs}};
}
RegulatorAtOf<Two> both(const RegulatorAt& a, const RegulatorAt& b) {
  return {{a.sign, b.sign},           {a.output, b.output},
          {a.dropout, b.dropout},     {a.limit, b.limit},
          {a.quiescent, b.quiescent}, {a.resistance, b.resistance},
          {a.line, b.line},           {a.line_reference, b.line_reference}};
}

/// Voltages on both sides of every branch of the equations: around 0, at some volts
/// forward and reverse, and as wild steps of Newton's method leave them.
class Volts {
 public:
  Two next() { return {one(), one()}; }

 private:
  double one() {
    const double decade = std::uniform_real_distribution<double>(-3.0, 2.5)(random_);
    const double sign = std::bernoulli_distribution()(random_) ? 1.0 : -1.0;
    return sign * std::pow(10.0, decade);
  }
  std::mt19937_64 random_{20240611};
};

constexpr int kSamples = 500;

/// Checks a device of three ends, in lanes, against each of its lanes.
template <class Device>
void check_triple(const Device& first, const Device& second) {
  const std::array<Device, 2> alone{first, second};
  const auto device = both(first, second);
  Volts volts;
  for (int k = 0; k < kSamples; ++k) {
    const std::array<Two, 3> ends{volts.next(), volts.next(), volts.next()};
    const auto drive = driven(device, ends[0], ends[1], ends[2]);
    const auto lanes = stamp(device, drive, evaluated(device, drive));
    for (int lane = 0; lane < 2; ++lane) {
      CAPTURE(k, lane);
      const auto at =
          driven(alone[lane], ends[0].at[lane], ends[1].at[lane], ends[2].at[lane]);
      check_lane(lanes, lane, stamp(alone[lane], at, evaluated(alone[lane], at)));
    }
  }
}

}  // namespace

TEST_CASE("a diode's stamp in lanes is that of each lane", "[nodal][stamps]") {
  DiodeModel zener;
  zener.rs = 2.0;
  zener.bv = 5.1;
  DiodeModel steep;
  steep.n = 0.6;
  const std::array<DiodeAt, 2> alone{at(zener, 25.0), at(steep, 60.0)};
  const DiodeAtOf<Two> device = both(alone[0], alone[1]);
  Volts volts;
  for (int k = 0; k < kSamples; ++k) {
    const Two drive = volts.next();
    const PairStamp<Two> lanes = stamp(device, drive, evaluated(device, drive));
    for (int lane = 0; lane < 2; ++lane) {
      CAPTURE(k, lane, drive.at[lane]);
      const double u = drive.at[lane];
      check_lane(lanes, lane, stamp(alone[lane], u, evaluated(alone[lane], u)));
    }
  }
}

TEST_CASE("a transistor's stamp in lanes is that of each lane", "[nodal][stamps]") {
  SECTION("bipolar, one of them with the Early effect, one of either sign") {
    BipolarModel npn;
    npn.vaf = 60.0;
    BipolarModel pnp;
    pnp.is_pnp = true;
    check_triple(at(npn, 25.0), at(pnp, 80.0));
  }
  SECTION("MOS of either channel") {
    MosModel n;
    n.vto = 2.0;
    n.kp = 0.5;
    n.lambda = 0.01;
    MosModel p;
    p.is_p_channel = true;
    p.vto = -1.5;
    p.rd = 3.0;
    p.rs = 0.2;
    check_triple(at(n, 25.0), at(p, 50.0));
  }
}

TEST_CASE("a regulator's stamp in lanes is that of each lane", "[nodal][stamps]") {
  RegulatorModel five;
  five.quiescent = 5e-3;
  five.line = 1e-3;
  five.line_reference = 10.0;
  RegulatorModel negative;
  negative.is_negative = true;
  negative.output = 12.0;
  negative.resistance = 0.02;
  const std::array<RegulatorAt, 2> alone{at(five), at(negative)};
  const RegulatorAtOf<Two> device = both(alone[0], alone[1]);
  Volts volts;
  for (int k = 0; k < kSamples; ++k) {
    const std::array<Two, 3> ends{volts.next(), volts.next(), volts.next()};
    const Two amps = 0.1 * volts.next();
    const auto drive = driven(device, ends[0], ends[1], ends[2], amps);
    const auto lanes = stamp(device, drive, evaluated(device, drive));
    for (int lane = 0; lane < 2; ++lane) {
      CAPTURE(k, lane);
      const auto at = driven(alone[lane], ends[0].at[lane], ends[1].at[lane],
                             ends[2].at[lane], amps.at[lane]);
      check_lane(lanes, lane, stamp(alone[lane], at, evaluated(alone[lane], at)));
    }
  }
}

TEST_CASE("stamps in lanes are put where those of numbers are", "[nodal][stamps]") {
  // A resistor of 2 and 4 ohms and a source of 1 and 3 A between nodes 1 and 2; powers
  // of two, so that nothing is rounded.
  std::array<Two, 4> a{};
  std::array<Two, 2> b{};
  const PairSlots slots{0, 1, 2, 3};
  put_matrix(resistor_stamp(Two(2.0, 4.0)), slots, a.data());
  put_right(current_source_stamp(Two(1.0, 3.0)), TwoEnds{1, 2, {}}, b.data());
  for (const int k : {0, 3}) CHECK(a[k].at == std::array{0.5, 0.25});
  for (const int k : {1, 2}) CHECK(a[k].at == std::array{-0.5, -0.25});
  CHECK(b[0].at == std::array{1.0, 3.0});
  CHECK(b[1].at == std::array{-1.0, -3.0});
  SECTION("a branch has its incidence in every lane, its own values in each") {
    std::array<Two, 5> row{};
    std::array<Two, 3> right{};
    const BranchSlots branch{2, {0, 1, 2, 3}, 4};
    const BranchStamp<Two> stamp =
        capacitor_stamp(Two(0.25, 0.125), Two(0.5, 1.0), Two(3.0, 1.0));
    put_matrix(stamp, branch, row.data());
    put_right(stamp, branch, right.data());
    CHECK(row[0].at == std::array{1.0, 1.0});
    CHECK(row[3].at == std::array{-1.0, -1.0});
    CHECK(row[4].at == std::array{-2.0, -8.0});
    CHECK(right[2].at == std::array{3.0, 1.0});
  }
  SECTION("a coil has its winding and its loss in every lane") {
    std::array<Two, 9> row{};
    std::array<Two, 3> right{};
    const CoilSlots slots_of_coil{{2, {0, 1, 2, 3}, 4}, {5, 6, 7, 8}};
    // 1 H and 2 H, 2 ohm and 4 ohm, shares of a half and a quarter, over half a second.
    const CoilAtOf<Two> coil{Two(1.0, 2.0), Two(2.0, 4.0), Two(0.25, 0.125),
                             Two(0.5, 0.25)};
    const CoilStamp<Two> stamp = coil_stamp(coil, Two(0.5, 0.5), Two(3.0, 1.0));
    put_matrix(stamp, slots_of_coil, row.data());
    put_right(stamp, slots_of_coil, right.data());
    CHECK(row[0].at == std::array{0.5, 0.25});     // its share of the current
    CHECK(row[2].at == std::array{0.25, 0.0625});  // what a volt adds to it
    CHECK(row[4].at == std::array{-1.5, -1.25});
    CHECK(row[5].at == std::array{0.25, 0.125});  // the loss
    CHECK(right[2].at == std::array{-3.0, -1.0});
  }
}

}  // namespace benchproof
