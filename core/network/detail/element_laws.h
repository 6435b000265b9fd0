#pragma once

#include <array>
#include <cstddef>
#include <type_traits>
#include <vector>

#include "core/device/bipolar.h"
#include "core/device/coil.h"
#include "core/device/diode.h"
#include "core/device/mos.h"
#include "core/device/regulator.h"
#include "core/network/detail/several.h"
#include "core/network/network.h"

namespace benchproof {

/// What the elements of a network carry at given voltages, the devices moved to their
/// temperature once. Volt and ampere, signs as in Currents; `Number` is a double or
/// Several.
class ElementLaws {
 public:
  explicit ElementLaws(const Network& network);

  /// The voltage source whose current a diode's is, see feeding_source, or -1.
  [[nodiscard]] int feeding(std::size_t diode) const { return feeds_[diode]; }

  template <class Number>
  [[nodiscard]] Number diode(std::size_t k, const Number& volts) const {
    if constexpr (std::is_same_v<Number, double>) return conduct(diodes_[k], volts).amps;
    Conductor conductor(diodes_[k]);
    return of_each([&](double v) { return conductor.amps(v); }, volts);
  }
  template <class Number>
  [[nodiscard]] Number coil(std::size_t k, const Number& volts,
                            const Number& amps) const {
    return of_each([&](double v, double i) { return coils_[k].terminal_amps(v, i); },
                   volts, amps);
  }
  template <class Number>
  [[nodiscard]] std::array<Number, 3> bipolar(std::size_t k, const Number& collector,
                                              const Number& base,
                                              const Number& emitter) const {
    const BipolarAt& t = bipolars_[k];
    return three_of_each(
        [&](double c, double b, double e) -> std::array<double, 3> {
          const BipolarConduction i = conduct(t, t.sign * (b - e), t.sign * (b - c));
          return {t.sign * i.collector, t.sign * i.base,
                  -t.sign * (i.collector + i.base)};
        },
        collector, base, emitter);
  }
  template <class Number>
  [[nodiscard]] std::array<Number, 3> mos(std::size_t k, const Number& drain,
                                          const Number& gate,
                                          const Number& source) const {
    const MosAt& t = mosfets_[k];
    return three_of_each(
        [&](double d, double g, double s) -> std::array<double, 3> {
          const double amps =
              t.sign * conduct(t, t.sign * (g - s), t.sign * (d - s)).drain;
          return {amps, 0.0, -amps};
        },
        drain, gate, source);
  }
  /// `passed`: from in to out.
  template <class Number>
  [[nodiscard]] std::array<Number, 3> regulator(std::size_t k, const Number& in,
                                                const Number& common,
                                                const Number& passed) const {
    return three_of_each(
        [&](double i, double c, double p) -> std::array<double, 3> {
          const double ground = quiescent(regulators_[k], i - c).amps;
          return {p + ground, -ground, -p};
        },
        in, common, passed);
  }

 private:
  std::vector<int> feeds_;
  std::vector<DiodeAt> diodes_;
  std::vector<BipolarAt> bipolars_;
  std::vector<MosAt> mosfets_;
  std::vector<CoilAt> coils_;
  std::vector<RegulatorAt> regulators_;
};

/// Every element's current. `p` tells, each as a `Number`: volts(node), ohms(resistor),
/// amps(current source), and the currents that voltages do not determine: capacitor(k),
/// stray(k), inductance(k), source(k) and passed(regulator).
template <class Number, class Point>
[[nodiscard]] CurrentsOf<Number> currents_by(const Structure& s,
                                             const ElementLaws& laws, const Point& p) {
  CurrentsOf<Number> c;
  const auto fill = [](auto& amps, std::size_t count, const auto& amps_of) {
    amps.reserve(count);
    for (std::size_t k = 0; k < count; ++k) amps.push_back(amps_of(k));
  };
  const auto across = [&p](const TwoEnds& e) { return p.volts(e.a) - p.volts(e.b); };
  fill(c.resistors, s.resistors.size(),
       [&](std::size_t k) { return across(s.resistors[k]) / p.ohms(k); });
  fill(c.capacitors, s.capacitors.size(),
       [&](std::size_t k) { return p.capacitor(k); });
  fill(c.strays, s.strays.size(), [&](std::size_t k) { return p.stray(k); });
  fill(c.inductors, s.inductors.size(), [&](std::size_t k) {
    return laws.coil(k, across(s.inductors[k]), p.inductance(k));
  });
  fill(c.voltage_sources, s.voltage_sources.size(),
       [&](std::size_t k) { return p.source(k); });
  // A current source's current leaves at a: through the element it runs from b to a.
  fill(c.current_sources, s.current_sources.size(),
       [&](std::size_t k) { return -p.amps(k); });
  fill(c.diodes, s.diodes.size(), [&](std::size_t k) {
    const int source = laws.feeding(k);
    return source >= 0 ? p.source(source) : laws.diode(k, across(s.diodes[k]));
  });
  fill(c.bipolars, s.bipolars.size(), [&](std::size_t k) {
    const auto [collector, base, emitter] = s.bipolars[k].ends;
    return laws.bipolar(k, p.volts(collector), p.volts(base), p.volts(emitter));
  });
  fill(c.mosfets, s.mosfets.size(), [&](std::size_t k) {
    const auto [drain, gate, source] = s.mosfets[k].ends;
    return laws.mos(k, p.volts(drain), p.volts(gate), p.volts(source));
  });
  fill(c.regulators, s.regulators.size(), [&](std::size_t k) {
    const auto [in, common, out] = s.regulators[k].ends;
    return laws.regulator(k, p.volts(in), p.volts(common), p.passed(k));
  });
  return c;
}

}  // namespace benchproof
