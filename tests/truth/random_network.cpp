#include "tests/truth/random_network.h"

#include <cmath>
#include <memory>
#include <numeric>
#include <random>
#include <string>
#include <vector>

#include "tests/truth/drawn.h"

namespace benchproof::test {
namespace {

/// Numbers for the standard library's distributions.
class Draws {
 public:
  using result_type = std::uint64_t;
  explicit Draws(const std::function<std::uint64_t()>& draw) : draw_(draw) {}
  static constexpr result_type min() { return 0; }
  static constexpr result_type max() { return ~result_type{0}; }
  result_type operator()() { return draw_(); }

 private:
  const std::function<std::uint64_t()>& draw_;
};

/// Draws each number in a statement of its own: the order of draws within one is the
/// compiler's choice, and a find of a fuzzer must be the same network for all.
class Maker : Drawn<Draws> {
 public:
  explicit Maker(const std::function<std::uint64_t()>& draw) : Drawn(Draws(draw)) {}

  Network make() {
    const int nodes = whole(4, 16);
    celsius_ = between(-10.0, 70.0);
    s_.nodes.emplace_back("ground");
    for (int k = 1; k < nodes; ++k) s_.nodes.push_back("n" + std::to_string(k));
    s_.nets = nodes;
    joined_.resize(s_.nodes.size() + 64);
    std::iota(joined_.begin(), joined_.end(), 0);

    source(1, 0, between(3.0, 24.0));
    for (int k = 2; k < nodes; ++k) {
      const double value = ohms();
      resistor(k, whole(0, k - 1), value);
    }
    const int extras = whole(nodes / 2, 3 * nodes / 2);
    for (int k = 0; k < extras; ++k) element();

    Network network;
    network.structure = std::make_shared<const Structure>(std::move(s_));
    network.values = std::move(v_);
    network.celsius = celsius_;
    return network;
  }

 private:
  double ohms() { return spread(10.0, 1e5); }
  int node() { return whole(0, s_.nets - 1); }
  std::pair<int, int> two() {
    const int a = node();
    int b = node();
    while (b == a) b = node();
    return {a, b};
  }
  std::array<int, 3> three() {
    std::array<int, 3> ends{node(), node(), node()};
    while (ends[1] == ends[0]) ends[1] = node();
    while (ends[2] == ends[0] || ends[2] == ends[1]) ends[2] = node();
    return ends;
  }
  int find(int k) {
    while (joined_[k] != k) k = joined_[k];
    return k;
  }
  /// Joins two nodes by a voltage; false if they are so joined already.
  bool join(int a, int b) {
    a = find(a);
    b = find(b);
    if (a == b) return false;
    joined_[a] = b;
    return true;
  }
  /// Most transistors switch a load from below (emitter or source at ground) or, the
  /// other polarity, from above; the rest stand anywhere.
  int foot(bool is_upper, int anywhere, int other, int third) {
    const int usual = is_upper ? 1 : 0;
    const bool is_free = usual != other && usual != third;
    return is_free && whole(0, 3) > 0 ? usual : anywhere;
  }
  int inner() {
    s_.nodes.push_back("inner" + std::to_string(s_.nodes.size()));
    const int made = static_cast<int>(s_.nodes.size()) - 1;
    if (static_cast<int>(joined_.size()) <= made) joined_.push_back(made);
    return made;
  }

  void resistor(int a, int b, double value) {
    s_.resistors.push_back({a, b, {}});
    v_.ohms.push_back(value);
  }
  void source(int a, int b, double value) {
    if (!join(a, b)) return;
    s_.voltage_sources.push_back({a, b, {}});
    v_.volts.push_back(value);
  }
  /// A node behind a resistor: nobody joins a junction to a source without one.
  int lead(int from) {
    const int made = inner();
    resistor(from, made, spread(47.0, 1e5));
    return made;
  }
  void diode(int a, int b, const DiodeModel& model) {
    s_.diodes.push_back({lead(a), b, {}});
    v_.diodes.push_back(model);
  }

  /// An ideal source before a sharp junction.
  void constant_drop(int a, int b, double drop, double slope) {
    const int middle = inner();
    source(a, middle, drop);
    DiodeModel m;
    m.is = 1e-12;
    m.n = 1e-5;
    m.rs = slope;
    m.tnom = celsius_;  // an idealisation: it does not move with temperature
    s_.diodes.push_back({middle, b, {}});
    v_.diodes.push_back(m);
    resistor(a, b, 1e11);
  }
  double slope() { return whole(0, 1) == 1 ? spread(0.1, 1e3) : 0.0; }

  void element() {
    const auto [a, b] = two();
    switch (whole(0, 21)) {
      case 0:
      case 1:
        return resistor(a, b, ohms());
      case 2:
        return resistor(a, b, 1e9);  // an open switch
      case 3:
        return source(a, b, between(-9.0, 9.0));
      case 4:
        s_.current_sources.push_back({a, b, {}});
        v_.amps.push_back(spread(1e-6, 2e-2));
        if (whole(0, 1) == 0) v_.amps.back() *= -1.0;
        return;
      case 5:
        s_.capacitors.push_back({a, b, {}});
        v_.farads.push_back(spread(1e-9, 1e-3));
        return;
      case 6:
        if (!join(a, b)) return;
        s_.inductors.push_back({a, b, {}});
        v_.coils.push_back({spread(1e-6, 1e-1)});
        return;
      case 7:
      case 8: {  // small-signal, rectifier, Schottky
        DiodeModel m;
        m.is = spread(1e-14, 1e-6);
        m.n = between(1.0, 2.0);
        m.rs = whole(0, 2) == 0 ? 0.0 : spread(0.01, 5.0);
        m.tnom = between(20.0, 30.0);
        return diode(a, b, m);
      }
      case 9:
      case 10: {  // LED
        DiodeModel m;
        m.n = between(1.8, 4.0);
        m.is = spread(1e-24, 1e-16);
        m.rs = spread(0.5, 20.0);
        m.tnom = 25.0;
        return diode(a, b, m);
      }
      case 11:
      case 12: {  // zener
        DiodeModel m;
        m.is = spread(1e-14, 1e-10);
        m.bv = between(2.4, 15.0);
        m.ibv = 5e-3;
        m.nbv = between(1.0, 6.0);
        m.rs = spread(0.1, 20.0);
        return diode(a, b, m);
      }
      case 13: {
        const double rise = slope();
        const double drop = between(0.0, 3.0);
        return constant_drop(lead(a), b, drop, rise);
      }
      case 20: {  // a zener by its voltage alone
        const int start = lead(a);
        const double rise = slope();
        constant_drop(start, b, between(2.0, 12.0), rise);
        constant_drop(b, start, 0.7, 0.0);
        return;
      }
      case 21: {  // nobody meant this: straight from one net to another
        DiodeModel m;
        m.is = spread(1e-14, 1e-8);
        m.n = between(1.0, 2.0);
        m.rs = 0.01;
        if (whole(0, 1) == 1) {
          m.bv = between(2.4, 9.0);
          m.ibv = 5e-3;
        }
        s_.diodes.push_back({a, b, {}});
        v_.diodes.push_back(m);
        return;
      }
      case 14:
      case 15:
      case 16: {
        BipolarModel m;
        m.is_pnp = whole(0, 1) == 1;
        m.is = spread(1e-16, 1e-13);
        m.bf = spread(20.0, 500.0);
        m.br = spread(0.5, 10.0);
        m.nf = between(1.0, 1.2);
        m.nr = between(1.0, 1.2);
        if (whole(0, 1) == 1) m.vaf = between(20.0, 150.0);
        if (whole(0, 1) == 1) m.ikf = spread(3e-3, 1.0);
        auto [collector, base, emitter] = three();
        emitter = foot(m.is_pnp, emitter, collector, base);
        s_.bipolars.push_back({{lead(collector), lead(base), emitter}, {}});
        v_.bipolars.push_back(m);
        return;
      }
      case 17:
      case 18: {
        MosModel m;
        m.is_p_channel = whole(0, 1) == 1;
        m.vto = between(0.8, 3.0) * (m.is_p_channel ? -1.0 : 1.0);
        m.kp = spread(1e-3, 5.0);
        m.lambda = whole(0, 1) == 1 ? between(0.001, 0.05) : 0.0;
        auto [drain, gate, source] = three();
        source = foot(m.is_p_channel, source, drain, gate);
        if (m.lambda > 0.0) {  // Its lead is inside of it, some of it at the source.
          m.rd = spread(47.0, 1e5);
          m.rs = 1e-3 * m.rd;
        } else {
          drain = lead(drain);
        }
        s_.mosfets.push_back({{drain, gate, source}, {}});
        v_.mosfets.push_back(m);
        return;
      }
      default: {
        // Fed from the supply, as regulators are; common at ground or lifted. A
        // negative one has its common at the supply and its input towards ground.
        RegulatorModel m;
        m.is_negative = whole(0, 3) == 0;
        const int common = m.is_negative ? 1 : whole(0, 3) > 0 ? 0 : node();
        const int out = node();
        if (out == common || (common == 1 && !m.is_negative) || !join(out, common))
          return;
        const int in = inner();
        resistor(m.is_negative ? 0 : 1, in, spread(1.0, 100.0));
        resistor(out, common, spread(100.0, 1e4));
        m.output = between(1.2, 12.0);
        m.dropout = between(0.1, 2.5);
        m.limit = spread(0.05, 3.0);
        m.quiescent = spread(5e-5, 8e-3);
        m.resistance = whole(0, 1) == 1 ? spread(1e-3, 0.1) : 0.0;
        m.line = whole(0, 1) == 1 ? between(0.0, 0.005) : 0.0;
        m.line_reference = m.output + 5.0;
        s_.regulators.push_back({{in, common, out}, {}});
        v_.regulators.push_back(m);
        return;
      }
    }
  }

  double celsius_ = 25.0;
  Structure s_;
  Values v_;
  std::vector<int> joined_;
};

}  // namespace

Network random_network(std::uint64_t seed, std::uint64_t index) {
  std::seed_seq mixed{
      static_cast<std::uint32_t>(seed), static_cast<std::uint32_t>(seed >> 32U),
      static_cast<std::uint32_t>(index), static_cast<std::uint32_t>(index >> 32U)};
  std::mt19937_64 random(mixed);
  return random_network([&random] { return random(); });
}

Network random_network(const std::function<std::uint64_t()>& draw) {
  return Maker(draw).make();
}

}  // namespace benchproof::test
