#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "core/nodal/transient.h"
#include "core/verify/runs/verify_runs.h"
#include "spice/session/witness.h"
#include "tests/coils/coil_circuits.h"
#include "tests/truth/ida_integrator.h"

// What a transistor sees of the coil that it lets go: both witnesses against an
// integration by IDA with equations of this file's own, written from those of ngspice's
// manual, version 39: junction diodes, Gummel-Poon transistors without high injection,
// level 1 MOS transistors. The coil, its winding R and its core's loss G follow from
// Kirchhoff's laws: i = (v G + i_L) / (1 + R G), L di_L/dt = (v - R i_L) / (1 + R G).

namespace benchproof {
namespace {

// Codata 2014, as the engine has it.
constexpr double kVoltsPerKelvin = 1.38064852e-23 / 1.6021766208e-19;

/// exp, going on as a straight line where no solution lies.
double steep(double x) {
  constexpr double kMost = 200.0;
  return x < kMost ? std::exp(x) : std::exp(kMost) * (1.0 + x - kMost);
}

double junction_amps(const DiodeModel& m, double vt, double v) {
  const double nvt = m.n * vt;
  const double start = m.bv - m.nbv * vt * std::log1p(m.ibv / m.is);
  if (v >= -3.0 * nvt) return m.is * (steep(v / nvt) - 1.0);
  if (v <= -start) return -m.is * steep(-(start + v) / (m.nbv * vt));
  const double ratio = 3.0 * nvt / (v * std::exp(1.0));
  return -m.is * (1.0 + ratio * ratio * ratio);
}

struct CollectorAndBase {
  double collector;
  double base;
};

CollectorAndBase bipolar_amps(const BipolarModel& m, double vt, double vbe,
                              double vbc) {
  const double sign = m.is_pnp ? -1.0 : 1.0;
  const double forward = m.is * (steep(sign * vbe / (m.nf * vt)) - 1.0);
  const double reverse = m.is * (steep(sign * vbc / (m.nr * vt)) - 1.0);
  const double early = 1.0 - sign * vbc / m.vaf;
  const double charge = std::sqrt(1.0 + 4.0 * forward / m.ikf);
  return {sign * ((forward - reverse) * early * 2.0 / (1.0 + charge) - reverse / m.br),
          sign * (forward / m.bf + reverse / m.br)};
}

double channel_amps(const MosModel& m, double vgs, double vds) {
  const double sign = m.is_p_channel ? -1.0 : 1.0;
  const bool is_turned = sign * vds < 0.0;  // drain and source change roles
  const double ds = std::abs(vds);
  const double over =
      sign * (is_turned ? vgs - vds : vgs) - sign * m.vto;  // above the threshold
  if (over <= 0.0) return 0.0;
  const double shape = ds < over ? ds * (over - 0.5 * ds) : 0.5 * over * over;
  return (is_turned ? -sign : sign) * m.kp * (1.0 + m.lambda * ds) * shape;
}

/// The whole transistor: what flows lies between nothing and what the channel alone
/// would let through, and the channel lets through the less the more flows.
double mos_amps(const MosModel& m, double vgs, double vds) {
  double none = 0.0;
  double most = channel_amps(m, vgs, vds);
  if (m.rd + m.rs == 0.0) return most;
  for (int halving = 0; halving < 64; ++halving) {
    const double amps = 0.5 * (none + most);
    const double let = channel_amps(m, vgs - m.rs * amps, vds - (m.rd + m.rs) * amps);
    (std::abs(let) > std::abs(amps) && let * amps > 0.0 ? none : most) = amps;
  }
  return 0.5 * (none + most);
}

/// The differential equations of a timeline whose supplies never reach their limit:
/// every node at which one stands is at its voltage. They are there from `kDark` on,
/// within `kRise`, so that all has come to rest by time 0.
class Equations {
 public:
  static constexpr double kDark = -2.0;  // second
  static constexpr double kRise = 1e-3;

  explicit Equations(const Timeline& timeline)
      : t_(timeline),
        s_(*timeline.network.structure),
        x_(timeline.network.values),
        vt_(kVoltsPerKelvin * (timeline.network.celsius + 273.15)),
        given_(s_.nodes.size(), kFree),
        place_(s_.nodes.size(), -1),
        volts_(s_.nodes.size()),
        rates_(s_.nodes.size()),
        sums_(s_.nodes.size()) {
    REQUIRE(s_.current_sources.empty());
    REQUIRE(t_.volts.empty());
    given_[0] = 0.0;
    for (std::size_t k = 0; k < s_.voltage_sources.size(); ++k) {
      REQUIRE(s_.voltage_sources[k].b == 0);
      given_[s_.voltage_sources[k].a] = x_.volts[k];
    }
    for (const ThreeEnds& limiter : s_.regulators) {
      REQUIRE(given_[limiter.ends[0]] != kFree);
      given_[limiter.ends[2]] = given_[limiter.ends[0]];
    }
    for (std::size_t node = 0; node < s_.nodes.size(); ++node)
      if (given_[node] == kFree) place_[node] = nodes_++;
    REQUIRE(std::all_of(x_.diodes.begin(), x_.diodes.end(), [&](const DiodeModel& m) {
      return m.tnom == t_.network.celsius;
    }));
  }

  /// Nodes, currents through inductances, junctions behind a diode's resistance: which
  /// of them are told by their rate.
  [[nodiscard]] std::vector<bool> is_differential() const {
    std::vector<bool> all(nodes_ + s_.inductors.size(), true);
    all.resize(all.size() + s_.diodes.size(), false);
    return all;
  }
  [[nodiscard]] int place(int node) const { return place_[node]; }

  void operator()(double seconds, const double* y, const double* dy, double* out) {
    const double share = std::clamp((seconds - kDark) / kRise, 0.0, 1.0);
    const double pace = share > 0.0 && share < 1.0 ? 1.0 / kRise : 0.0;
    for (std::size_t node = 0; node < s_.nodes.size(); ++node) {
      const int place = place_[node];
      volts_[node] = place < 0 ? given_[node] * share : y[place];
      rates_[node] = place < 0 ? given_[node] * pace : dy[place];
    }
    std::fill(sums_.begin(), sums_.end(), 0.0);
    add_passive(seconds);
    add_coils(y + nodes_, dy + nodes_, out + nodes_);
    const std::size_t junctions = nodes_ + s_.inductors.size();
    add_diodes(y + junctions, out + junctions);
    add_transistors();
    for (std::size_t node = 0; node < s_.nodes.size(); ++node)
      if (place_[node] >= 0) out[place_[node]] = sums_[node];
  }

 private:
  static constexpr double kFree = 1e300;

  void pass(int a, int b, double amps) {
    sums_[a] += amps;
    sums_[b] -= amps;
  }
  [[nodiscard]] double across(const TwoEnds& e) const {
    return volts_[e.a] - volts_[e.b];
  }

  void add_passive(double seconds) {
    std::vector<double> ohms = x_.ohms;
    for (const Course& c : t_.ohms) ohms[c.element] = value_at(c, seconds, true);
    for (std::size_t k = 0; k < s_.resistors.size(); ++k)
      pass(s_.resistors[k].a, s_.resistors[k].b, across(s_.resistors[k]) / ohms[k]);
    const auto charge = [this](const TwoEnds& e, double farads) {
      pass(e.a, e.b, farads * (rates_[e.a] - rates_[e.b]));
    };
    for (std::size_t k = 0; k < s_.capacitors.size(); ++k)
      charge(s_.capacitors[k], x_.farads[k]);
    for (std::size_t k = 0; k < s_.strays.size(); ++k)
      charge(s_.strays[k], x_.stray_farads[k]);
  }

  void add_coils(const double* amps, const double* amps_rates, double* out) {
    for (std::size_t k = 0; k < s_.inductors.size(); ++k) {
      const CoilModel& m = x_.coils[k];
      const double v = across(s_.inductors[k]);
      const double whole = 1.0 + m.ohms * m.siemens;
      pass(s_.inductors[k].a, s_.inductors[k].b, (v * m.siemens + amps[k]) / whole);
      out[k] = amps_rates[k] - (v - m.ohms * amps[k]) / whole / m.henries;
    }
  }

  void add_diodes(const double* junctions, double* out) {
    for (std::size_t k = 0; k < s_.diodes.size(); ++k) {
      const double amps = junction_amps(x_.diodes[k], vt_, junctions[k]);
      pass(s_.diodes[k].a, s_.diodes[k].b, amps);
      out[k] = across(s_.diodes[k]) - junctions[k] - x_.diodes[k].rs * amps;
    }
  }

  void add_transistors() {
    for (std::size_t k = 0; k < s_.bipolars.size(); ++k) {
      const auto [c, b, e] = s_.bipolars[k].ends;
      const CollectorAndBase amps = bipolar_amps(
          x_.bipolars[k], vt_, volts_[b] - volts_[e], volts_[b] - volts_[c]);
      pass(c, e, amps.collector);
      pass(b, e, amps.base);
    }
    for (std::size_t k = 0; k < s_.mosfets.size(); ++k) {
      const auto [d, g, s] = s_.mosfets[k].ends;
      pass(d, s, mos_amps(x_.mosfets[k], volts_[g] - volts_[s], volts_[d] - volts_[s]));
    }
  }

  const Timeline& t_;
  const Structure& s_;
  const Values& x_;
  double vt_;
  std::vector<double> given_;  ///< Voltage of each node at a supply, or kFree.
  std::vector<int> place_;     ///< Of each free node among the unknowns.
  int nodes_ = 0;
  std::vector<double> volts_;
  std::vector<double> rates_;
  std::vector<double> sums_;
};

/// Two witnesses that agree may be kWaveShare of the swing apart; either from IDA not
/// much more. The top of a peak is flat: it is lower by the share x at a time that is
/// off by sqrt(2 x) of its width at most.
constexpr double kShare = 2 * kWaveShare;
constexpr double kTimeShare = 0.06;

struct Peak {
  double volts = 0.0;
  double seconds = 0.0;
};

/// The greatest voltage of a node in the run, or the least where `sign` is -1.
Peak peak_by_ida(const Timeline& timeline, int node, double sign) {
  Equations equations(timeline);
  const auto place = static_cast<std::size_t>(equations.place(node));
  test::IdaIntegrator ida(std::ref(equations), equations.is_differential(), 1e-8, 1e-8);
  std::vector<double> bounds{Equations::kDark, Equations::kDark + Equations::kRise,
                             0.0};
  for (const double corner : corners_of(timeline)) bounds.push_back(corner);
  bounds.push_back(timeline.span);
  Peak peak{-1e300 * sign, 0.0};
  for (std::size_t k = 0; k + 1 < bounds.size(); ++k) {
    ida.begin(bounds[k], bounds[k + 1]);
    for (double t = bounds[k]; t < bounds[k + 1];) {
      t = ida.step(bounds[k + 1]);
      const double volts = ida.values()[place];
      if (t >= 0.0 && sign * volts > sign * peak.volts) peak = {volts, t};
    }
  }
  return peak;
}

Peak peak_of(const Waveform& w, int node, double sign) {
  Peak peak{-1e300 * sign, 0.0};
  for (std::size_t k = 0; k < w.seconds.size(); ++k)
    if (sign * w.row(k)[node] > sign * peak.volts)
      peak = {w.row(k)[node], w.seconds[k]};
  return peak;
}

/// Numbers of coil_circuits(): every transistor, every guard and, of those without one,
/// some more, for there the peak is the strays' and the core's doing alone.
constexpr std::array kChosen = {3,   14,  26,  51,  57,  68,  87,  111, 140, 146,
                                153, 176, 200, 207, 219, 237, 267, 284, 297};

/// A net's node, and whether a coil that is let go throws it up (1) or down (-1): it
/// goes on pushing current out of its second pin.
struct Switched {
  int node = 0;
  double sign = 1.0;
};

Switched switched_of(const Circuit& circuit) {
  const auto named = [](const auto& list, const std::string& name) {
    const auto found = std::find_if(list.begin(), list.end(),
                                    [&](const auto& x) { return x.name == name; });
    REQUIRE(found != list.end());
    return static_cast<int>(found - list.begin());
  };
  const int net = named(circuit.nets, "switched");
  const Part& coil = circuit.parts[named(circuit.parts, "coil")];
  return {net, coil.nets[1] == net ? 1.0 : -1.0};
}

}  // namespace

TEST_CASE("what a coil throws at its switch is as high as IDA has it",
          "[runs][truth][ida]") {
  EngineOptions options;
  options.worker_path = BENCHPROOF_BIN_DIR "/benchproof-worker";
  EngineSession session(options);
  const Catalogue catalogue = built_in_catalogue();
  const std::vector<test::CoilCircuit> circuits = test::coil_circuits();
  for (const int number : kChosen) {
    const test::CoilCircuit& c = circuits.at(number);
    REQUIRE(c.mode == "off");
    const ReadResult read = read_circuit(c.text, "coil.toml", catalogue);
    REQUIRE(read.circuit);
    const RunResult run =
        verify_run(*read.circuit, 0, engine_in_time(session), nodal_in_time);
    CAPTURE(c.name, run.agreement.reason);
    CHECK(run.agreement.agrees);
    const auto [node, sign] = switched_of(*read.circuit);
    const Peak wanted = peak_by_ida(run.timeline, node, sign);
    for (const Waveform* w : {&run.nodal, &run.engine}) {
      const Peak peak = peak_of(*w, node, sign);
      CAPTURE(w == &run.engine, wanted.volts, peak.volts, wanted.seconds, peak.seconds);
      CHECK(std::abs(peak.volts - wanted.volts) <= kShare * std::abs(wanted.volts));
      CHECK(std::abs(peak.seconds - wanted.seconds) <=
            kWaveShift * run.timeline.span + kTimeShare * wanted.seconds);
    }
  }
}

}  // namespace benchproof
