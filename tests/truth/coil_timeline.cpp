#include "tests/truth/coil_timeline.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <random>
#include <string>
#include <utility>

#include "tests/truth/drawn.h"

namespace benchproof::test {
namespace {

class CoilMaker : Drawn<std::mt19937_64> {
 public:
  CoilMaker(std::uint64_t seed, std::uint64_t index)
      : Drawn(std::mt19937_64(seed * 1'000'003 + index)) {}

  Timeline make() {
    s_.nodes = {"ground", "supply"};
    volts_ = between(3.0, 24.0);
    source(1, volts_);
    const int stages = whole(1, 3);
    for (int k = 0; k < stages; ++k) stage();
    const int extras = whole(0, 3);
    for (int k = 0; k < extras; ++k) extra();
    span_ = std::clamp(span_ * between(2.0, 8.0), 1e-4, 0.1);
    for (const int drive : drives_) pulses(drive);

    s_.nets = static_cast<int>(s_.nodes.size());
    Timeline t;
    t.network.structure = std::make_shared<const Structure>(std::move(s_));
    t.network.values = std::move(v_);
    t.network.celsius = between(-10.0, 70.0);
    t.volts = std::move(courses_);
    t.span = span_;
    return t;
  }

 private:
  int node() {
    s_.nodes.push_back("n" + std::to_string(s_.nodes.size()));
    return static_cast<int>(s_.nodes.size()) - 1;
  }

  void resistor(int a, int b, double ohms) {
    s_.resistors.push_back({a, b, {}});
    v_.ohms.push_back(ohms);
  }
  void source(int plus, double volts) {
    s_.voltage_sources.push_back({plus, 0, {}});
    v_.volts.push_back(volts);
  }
  /// What leaks past every junction of a real part.
  void leak(int a, int b) { resistor(a, b, 1e9); }
  void stray(int a, int b, double farads) {
    s_.strays.push_back({a, b, {}});
    v_.stray_farads.push_back(farads);
  }

  void coil(int a, int b) {
    const double henries = spread(1e-4, 0.5);
    const double ohms = std::max(2.0, henries / spread(2e-5, 2e-3));
    // A core takes a few times the impedance of the winding's own capacitance.
    const double loss = spread(1.0, 10.0) * std::sqrt(henries / 20e-12);
    s_.inductors.push_back({a, b, {}});
    v_.coils.push_back({henries, ohms, 1.0 / loss});
    span_ = std::max(span_, henries / ohms);
  }

  void diode(int anode, int cathode) {
    DiodeModel m;
    m.is = spread(1e-12, 1e-7);
    m.n = between(1.0, 2.0);
    m.rs = spread(0.01, 1.0);
    m.tnom = 25.0;
    s_.diodes.push_back({anode, cathode, {}});
    v_.diodes.push_back(m);
    leak(anode, cathode);
    stray(anode, cathode, spread(1e-12, 2e-10));
  }
  void zener(int anode, int cathode) {
    diode(anode, cathode);
    DiodeModel& m = v_.diodes.back();
    m.is = spread(1e-14, 1e-12);
    m.bv = between(4.7, 24.0);
    m.ibv = 5e-3;
    m.nbv = between(1.0, 6.0);
  }

  void bipolar(int collector, int base, int emitter, bool is_pnp) {
    BipolarModel m;
    m.is_pnp = is_pnp;
    m.is = spread(1e-15, 1e-13);
    m.bf = spread(30.0, 400.0);
    m.br = spread(0.5, 10.0);
    m.tnom = 25.0;
    const int inner = node();
    resistor(base, inner, 10.0);
    s_.bipolars.push_back({{collector, inner, emitter}, {}});
    v_.bipolars.push_back(m);
    leak(collector, emitter);
    leak(base, emitter);
    stray(inner, emitter, spread(5e-12, 5e-11));
    stray(inner, collector, spread(2e-12, 2e-11));
  }
  void mosfet(int drain, int gate, int foot, bool is_p_channel) {
    MosModel m;
    m.is_p_channel = is_p_channel;
    m.vto = between(0.8, 2.5) * (is_p_channel ? -1.0 : 1.0);
    m.kp = spread(0.05, 20.0);
    m.tnom = 25.0;
    s_.mosfets.push_back({{drain, gate, foot}, {}});
    v_.mosfets.push_back(m);
    is_p_channel ? diode(drain, foot) : diode(foot, drain);
    leak(gate, foot);
    resistor(gate, foot, 1e5);
    const double reverse = spread(3e-12, 2e-10);
    stray(gate, drain, reverse);
    stray(gate, foot, reverse * between(2.0, 20.0));
    stray(drain, foot, reverse * between(1.0, 4.0));
  }

  /// From where the coil's current leaves it to where it enters.
  void guard(int leaves, int enters) {
    switch (whole(0, 5)) {
      case 0:
        return;
      case 1: {
        const int between_both = node();
        diode(leaves, between_both);
        return resistor(between_both, enters, spread(22.0, 1e3));
      }
      case 2: {
        const int between_both = node();
        diode(leaves, between_both);
        return zener(enters, between_both);
      }
      case 3: {
        const int between_both = node();
        resistor(leaves, between_both, spread(22.0, 1e3));
        s_.capacitors.push_back({between_both, enters, {}});
        v_.farads.push_back(spread(1e-9, 1e-6));
        return;
      }
      default:
        return diode(leaves, enters);
    }
  }

  void stage() {
    const bool is_upper = whole(0, 3) == 0;
    const int foot = is_upper ? 1 : 0;
    const int switched = node();
    const int drive = node();
    const int base = node();
    coil(is_upper ? switched : 1, is_upper ? 0 : switched);
    guard(is_upper ? 0 : switched, is_upper ? switched : 1);
    resistor(drive, base, spread(220.0, 4700.0));
    if (whole(0, 1) == 0)
      bipolar(switched, base, foot, is_upper);
    else
      mosfet(switched, base, foot, is_upper);
    source(drive, is_upper ? volts_ : 0.0);
    drives_.push_back(static_cast<int>(v_.volts.size()) - 1);
    switched_.push_back(switched);
  }

  void extra() {
    const int at = switched_[whole(0, static_cast<int>(switched_.size()) - 1)];
    const int made = node();
    switch (whole(0, 3)) {
      case 0:
        resistor(1, made, spread(100.0, 1e4));
        return diode(made, at);
      case 1:
        resistor(at, made, spread(1e3, 1e5));
        resistor(made, 0, spread(1e3, 1e5));
        s_.capacitors.push_back({made, 0, {}});
        v_.farads.push_back(spread(1e-9, 1e-5));
        return;
      case 2:
        resistor(1, made, spread(1e2, 1e4));
        s_.capacitors.push_back({made, 0, {}});
        v_.farads.push_back(spread(1e-8, 1e-4));
        return resistor(made, at, spread(1e3, 1e5));
      default:
        resistor(at, made, spread(100.0, 1e4));
        return zener(0, made);
    }
  }

  /// Switches a source to and fro, each time within kSwitchSeconds.
  void pulses(int drive) {
    const double rest = v_.volts[drive];
    const double other = rest == 0.0 ? std::min(volts_, between(3.3, 12.0)) : 0.0;
    const int count = whole(1, 10);
    const double period = span_ / (count + 0.3);
    const double share = between(0.2, 0.8);
    Course course{drive, {}};
    for (int k = 0; k < count; ++k) {
      const double on = (k + 0.1) * period;
      const double off = on + share * period;
      course.corners.insert(course.corners.end(), {{on, rest},
                                                   {on + kSwitchSeconds, other},
                                                   {off, other},
                                                   {off + kSwitchSeconds, rest}});
    }
    courses_.push_back(std::move(course));
  }

  Structure s_;
  Values v_;
  double volts_ = 0.0;
  double span_ = 0.0;
  std::vector<int> drives_;
  std::vector<int> switched_;
  std::vector<Course> courses_;
};

}  // namespace

Timeline coil_timeline(std::uint64_t seed, std::uint64_t index) {
  return CoilMaker(seed, index).make();
}

}  // namespace benchproof::test
