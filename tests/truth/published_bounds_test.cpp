// Every type of the catalogue as a part on a bench, solved: what is measured there must
// lie between the least and the most that are published of it. Where each bound comes
// from stands beside it in reference/parts and is told where one is not kept.

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <string>
#include <string_view>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/catalogue/figure_names.h"
#include "core/network/observation.h"
#include "core/nodal/nodal_solver.h"
#include "tests/unit/network/lowered.h"

namespace benchproof {
namespace {

using test::Lowered;
using test::lowered;

/// A description, solved. The part that is measured is called x.
struct Bench {
  Lowered lowered;
  Observation seen;

  [[nodiscard]] double volts(std::string_view net) const {
    return seen.net_volts[static_cast<std::size_t>(lowered.node(net))];
  }
  [[nodiscard]] double amps(std::string_view part, std::size_t pin = 0) const {
    return seen.pin_amps[static_cast<std::size_t>(lowered.part(part))][pin];
  }
};

Bench solved(const std::string& text) {
  CAPTURE(text);
  Bench bench{lowered(text), {}};
  const Solution solution = solve_nodal(bench.lowered.network);
  REQUIRE(solution.status == SolveStatus::solved);
  bench.seen = observe(bench.lowered.circuit, bench.lowered.network, solution);
  return bench;
}

/// How a description asks for the type, with `more` keys.
std::string part(const Type& type, const std::string& more = "") {
  std::string text = fmt::format("x = {{ kind = \"{}\"", kind(type.kind).name);
  if (type.kind == KindId::battery)
    text += fmt::format(", chemistry = \"{}\", size = \"{}\", charge = \"{}\"",
                        type.words.at("chemistry"), type.words.at("size"),
                        type.words.at("charge"));
  else if (type.name != "default")
    text += fmt::format(", type = \"{}\"", type.name);
  return text + more + " }\n";
}

std::string current_source(double amps) {
  return fmt::format("i = {{ kind = \"current-source\", current = \"{} A\" }}\n", amps);
}

std::string voltage_source(std::string_view name, double volts) {
  return fmt::format("{} = {{ kind = \"voltage-source\", voltage = \"{} V\" }}\n", name,
                     volts);
}

double figure_of(const Type& type, std::string_view name) {
  return type.figures.find(name)->second.value;
}

bool is_p(const Type& type) {
  return type.kind == KindId::mosfet ? type.words.at("channel") == "p"
                                     : type.words.at("polarity") == "pnp";
}

/// The forward voltage at a current. A MOS transistor's body diode conducts from its
/// source to its drain, of a p-channel from drain to source, with the gate shut.
double forward_volts(const Type& type, double amps) {
  std::string nets =
      "p = [\"i.plus\", \"x.anode\"]\n"
      "ground = [\"i.minus\", \"x.cathode\"]\n";
  if (type.kind == KindId::mosfet)
    nets = is_p(type) ? "p = [\"i.plus\", \"x.drain\"]\n"
                        "ground = [\"i.minus\", \"x.source\", \"x.gate\"]\n"
                      : "p = [\"i.plus\", \"x.source\", \"x.gate\"]\n"
                        "ground = [\"i.minus\", \"x.drain\"]\n";
  return solved("[parts]\n" + current_source(amps) + part(type) + "[nets]\n" + nets)
      .volts("p");
}

double zener_volts(const Type& type, double celsius) {
  return solved(fmt::format("ambient = \"{} C\"\n[parts]\n", celsius) +
                current_source(figure_of(type, "test_current")) + part(type) +
                "[nets]\np = [\"i.plus\", \"x.cathode\"]\n"
                "ground = [\"i.minus\", \"x.anode\"]\n")
      .volts("p");
}

double zener_voltage(const Type& type) { return zener_volts(type, 25.0); }

double zener_drift(const Type& type) {
  const double cold = zener_volts(type, 25.0);
  return (zener_volts(type, 75.0) / cold - 1.0) / 50.0;
}

/// A transistor with 5 V from collector to emitter and the base current that its gain
/// asks for at the current of its base voltage.
Bench amplifier(const Type& type) {
  const double sign = is_p(type) ? -1.0 : 1.0;
  const double amps = figure_of(type, "base_volts_current") / figure_of(type, "gain");
  return solved("[parts]\n" + current_source(sign * amps) +
                voltage_source("v", sign * 5.0) + part(type) +
                "[nets]\nb = [\"i.plus\", \"x.base\"]\n"
                "c = [\"v.plus\", \"x.collector\"]\n"
                "ground = [\"i.minus\", \"v.minus\", \"x.emitter\"]\n");
}

double transistor_gain(const Type& type) {
  const Bench bench = amplifier(type);
  return bench.amps("x", 1) / bench.amps("x", 0);
}

double base_voltage(const Type& type) { return std::abs(amplifier(type).volts("b")); }

/// The gate voltage at which drain and gate, joined, carry 250 uA.
double gate_threshold(const Type& type) {
  const double sign = is_p(type) ? -1.0 : 1.0;
  const Bench bench = solved("[parts]\n" + current_source(sign * 250e-6) + part(type) +
                             "[nets]\nd = [\"i.plus\", \"x.drain\", \"x.gate\"]\n"
                             "ground = [\"i.minus\", \"x.source\"]\n");
  return std::abs(bench.volts("d"));
}

/// A transistor with a base current, and a voltage or a current at its collector.
Bench driven(const Type& type, double base_amps, const std::string& collector) {
  return solved("[parts]\n" + current_source((is_p(type) ? -1.0 : 1.0) * base_amps) +
                collector + part(type) +
                "[nets]\nb = [\"i.plus\", \"x.base\"]\n"
                "c = [\"v.plus\", \"x.collector\"]\n"
                "ground = [\"i.minus\", \"v.minus\", \"x.emitter\"]\n");
}

/// The gain with the base current that a published gain asks for.
double gain_at(const Type& type, const CurvePoint& p) {
  const double sign = is_p(type) ? -1.0 : 1.0;
  const Bench bench =
      driven(type, p.at / p.value, voltage_source("v", sign * p.beside));
  return bench.amps("x", 1) / bench.amps("x", 0);
}

double saturation_at(const Type& type, const CurvePoint& p) {
  const double sign = is_p(type) ? -1.0 : 1.0;
  const std::string collector = fmt::format(
      "v = {{ kind = \"current-source\", current = \"{} A\" }}\n", sign * p.at);
  return std::abs(driven(type, p.beside, collector).volts("c"));
}

double on_resistance_at(const Type& type, const CurvePoint& p) {
  const double sign = is_p(type) ? -1.0 : 1.0;
  const Bench bench =
      solved("[parts]\n" + current_source(sign * p.beside) +
             voltage_source("v", sign * p.at) + part(type) +
             "[nets]\ng = [\"v.plus\", \"x.gate\"]\nd = [\"i.plus\", \"x.drain\"]\n"
             "ground = [\"i.minus\", \"v.minus\", \"x.source\"]\n");
  return std::abs(bench.volts("d")) / p.beside;
}

/// A regulator at an input, with a load. A negative one has all of it the other way
/// round.
Bench regulated(const Type& type, double volts, const std::string& ohms) {
  const auto polarity = type.words.find("polarity");
  const bool is_negative =
      polarity != type.words.end() && polarity->second == "negative";
  const bool has_adjust = type.words.contains("adjustable");
  return solved("[parts]\n" + voltage_source("v", is_negative ? -volts : volts) +
                part(type) + "r = { kind = \"resistor\", value = \"" + ohms +
                "\" }\n[nets]\nin = [\"v.plus\", \"x.in\"]\n"
                "out = [\"x.out\", \"r.a\"]\nground = [\"v.minus\", \"r.b\", \"x." +
                (has_adjust ? "adjust" : "common") + "\"]\n");
}

Bench usual(const Type& type) {
  return regulated(type, figure_of(type, "line_reference"), "100k");
}
double output_volts(const Type& type) { return std::abs(usual(type).volts("out")); }
double quiescent_amps(const Type& type) { return std::abs(usual(type).amps("x", 1)); }
double limit_amps(const Type& type) {
  return std::abs(
      regulated(type, figure_of(type, "line_reference"), "1 mohm").amps("x", 2));
}
double dropout_volts(const Type& type) {
  const Bench low = regulated(type, figure_of(type, "output"), "100k");
  return std::abs(low.volts("in") - low.volts("out"));
}

/// A battery that delivers a current.
double battery_volts(const Type& type, double amps) {
  return solved("[parts]\n" + part(type) + current_source(amps) +
                "[nets]\np = [\"x.plus\", \"i.minus\"]\n"
                "ground = [\"x.minus\", \"i.plus\"]\n")
      .volts("p");
}
double open_volts(const Type& type) { return battery_volts(type, 0.0); }
double inner_ohms(const Type& type) {
  return (battery_volts(type, 0.0) - battery_volts(type, 1e-3)) / 1e-3;
}

Bench across(const Type& type, double volts) {
  return solved("[parts]\n" + part(type) + voltage_source("v", volts) +
                "[nets]\np = [\"x.a\", \"v.plus\"]\nground = [\"x.b\", \"v.minus\"]\n");
}
double rated_amps(const Type& type) {
  return across(type, figure_of(type, "voltage")).amps("x");
}
double sensor_ohms(const Type& type) { return 1.0 / across(type, 1.0).amps("x"); }

/// The resistance of an output that carries some milliampere.
double pin_ohms(const Type& type, bool is_high) {
  const Bench bench = solved(
      "[parts]\n" + part(type, ", outputs = [\"o\"]") + voltage_source("v", 3.3) +
      "r = { kind = \"resistor\", value = \"1k\" }\n[nets]\n"
      "vdd = [\"v.plus\", \"x.vdd\"" +
      (is_high ? "" : ", \"r.a\"") + "]\no = [\"x.o\", \"r." + (is_high ? "a" : "b") +
      "\"]\nground = [\"v.minus\", \"x.vss\"" + (is_high ? ", \"r.b\"" : "") +
      "]\n[states.on]\n\"x.o\" = \"" + (is_high ? "high" : "low") + "\"\n");
  const double dropped = is_high ? 3.3 - bench.volts("o") : bench.volts("o");
  return dropped / std::abs(bench.amps("r"));
}
double high_ohms(const Type& type) { return pin_ohms(type, true); }
double low_ohms(const Type& type) { return pin_ohms(type, false); }

/// How a figure that has bounds is measured.
struct Measure {
  KindId kind;
  std::string_view figure;
  double (*measured)(const Type&);
};
constexpr std::array kMeasures{
    Measure{KindId::zener, "voltage", zener_voltage},
    Measure{KindId::zener, "voltage_drift_per_kelvin", zener_drift},
    Measure{KindId::transistor, "gain", transistor_gain},
    Measure{KindId::transistor, "base_volts", base_voltage},
    Measure{KindId::mosfet, "threshold", gate_threshold},
    Measure{KindId::regulator, "output", output_volts},
    Measure{KindId::regulator, "quiescent", quiescent_amps},
    Measure{KindId::regulator, "limit", limit_amps},
    Measure{KindId::regulator, "dropout", dropout_volts},
    Measure{KindId::battery, "open_circuit", open_volts},
    Measure{KindId::battery, "resistance", inner_ohms},
    Measure{KindId::relay_coil, "current", rated_amps},
    Measure{KindId::motor, "current", rated_amps},
    Measure{KindId::light_resistor, "value", sensor_ohms},
    Measure{KindId::heat_resistor, "value", sensor_ohms},
    Measure{KindId::controller, "resistance_high", high_ohms},
    Measure{KindId::controller, "resistance_low", low_ohms},
};

/// What is not kept, or cannot be measured; and how many bounds were looked at.
struct Held {
  std::vector<std::string> broken;
  int bounds = 0;
};

/// A measured value may pass its bound by what a thousandth of its last printed digit
/// is worth, so that a model that stands at a bound keeps it: leaks of 1 Gohm and more
/// take nanoamperes.
constexpr double kRounding = 1e-5;

void hold(Held& held, const Type& type, const std::string& what, double value,
          double bound, bool is_least, const std::string& source) {
  ++held.bounds;
  const double room = kRounding * std::abs(bound);
  if (is_least ? value >= bound - room : value <= bound + room) return;
  held.broken.push_back(fmt::format("{}, {}: {:.6g}, but {} {:.6g} by {}", type.name,
                                    what, value, is_least ? "at least" : "at most",
                                    bound, source));
}

void hold_figures(Held& held, const Type& type) {
  for (const auto& [name, limit] : type.figures) {
    const auto bound = figure_bound(name);
    if (!bound) continue;
    const auto measure =
        std::find_if(kMeasures.begin(), kMeasures.end(), [&](const Measure& m) {
          return m.kind == type.kind && m.figure == bound->figure;
        });
    if (measure == kMeasures.end()) {
      held.broken.push_back(fmt::format("{}: nothing measures {}", type.name, name));
      continue;
    }
    hold(held, type, std::string(bound->figure), measure->measured(type), limit.value,
         bound->is_least, limit.source);
  }
}

void hold_curve(Held& held, const Type& type) {
  const auto each = [&](const std::vector<ForwardPoint>& points, bool is_least) {
    for (const ForwardPoint& p : points)
      hold(held, type, fmt::format("forward at {:g} A", p.amps),
           forward_volts(type, p.amps), p.volts, is_least, p.source);
  };
  each(type.points_least, true);
  each(type.points_most, false);
}

/// The curves of transistors: no more gain than the least published, no more voltage
/// and resistance when on than the most. Below its current a gain is taken as constant.
void hold_curves(Held& held, const Type& type) {
  const auto each = [&](const char* name,
                        double (*measured)(const Type&, const CurvePoint&)) {
    const auto curve = type.curves.find(name);
    if (curve == type.curves.end()) return;
    for (const CurvePoint& p : curve->second) {
      const bool is_gain = std::string_view(name) == "gains";
      if (is_gain && p.at < figure_of(type, "gain_current")) continue;
      hold(held, type, fmt::format("{} at {:g}", name, p.at), measured(type, p),
           p.value, false, p.source);
    }
  };
  each("gains", gain_at);
  each("saturations", saturation_at);
  each("on_resistances", on_resistance_at);
}

TEST_CASE("every model lies between the least and the most that are published",
          "[truth][parts]") {
  const Catalogue catalogue = built_in_catalogue();
  Held held;
  for (const Type& type : catalogue.types()) {
    CAPTURE(kind(type.kind).name, type.name);
    hold_figures(held, type);
    hold_curve(held, type);
    hold_curves(held, type);
  }
  for (const std::string& broken : held.broken) {
    INFO(broken);
    CHECK(false);
  }
  // 37 zeners alone have four each; a third as many stand beside all other figures.
  CHECK(held.bounds > 250);
}

TEST_CASE("a model that leaves its bounds is found", "[truth][parts]") {
  const Catalogue catalogue = built_in_catalogue();
  const auto broken = [](const Type& type) {
    Held held;
    hold_figures(held, type);
    hold_curve(held, type);
    return held.broken.size();
  };
  Type diode = *catalogue.find(KindId::diode, "1N4001");
  CHECK(broken(diode) == 0);
  diode.points_most.push_back({0.1, 0.7, Mark::given, "a test"});
  diode.points_least.push_back({0.1, 0.8, Mark::given, "a test"});
  CHECK(broken(diode) == 2);
  // A transistor that its sheet does not allow, in every curve.
  for (const auto& [id, name] : {std::pair{KindId::transistor, "2N2222A"},
                                 std::pair{KindId::mosfet, "IRLZ44N"}}) {
    Type type = *catalogue.find(id, name);
    Held kept;
    hold_curves(kept, type);
    CHECK(kept.broken.empty());
    for (auto& [curve, points] : type.curves)
      for (CurvePoint& p : points) p.value *= 0.4;
    Held passed;
    hold_curves(passed, type);
    CHECK(passed.broken.size() == (id == KindId::mosfet ? 3 : 7));
  }
  // Each measure at a bound that its own figure breaks, and within bounds around it.
  for (const Measure& measure : kMeasures) {
    const auto type = std::find_if(
        catalogue.types().begin(), catalogue.types().end(), [&](const Type& t) {
          return t.kind == measure.kind && t.name != "default" &&
                 t.figures.contains(measure.figure);
        });
    REQUIRE(type != catalogue.types().end());
    CAPTURE(type->name, measure.figure);
    Type bounded = *type;
    const Figure figure = bounded.figures.find(measure.figure)->second;
    const auto bound = [&](const char* end, double times) {
      Figure limit = figure;
      limit.value += (times - 1.0) * std::abs(figure.value);
      bounded.figures[std::string(measure.figure) + end] = limit;
      return broken(bounded);
    };
    bound("_least", 0.8);
    CHECK(bound("_most", 1.2) == 0);
    CHECK(bound("_least", 1.2) == 1);
    bound("_least", 0.8);
    CHECK(bound("_most", 0.8) == 1);
  }
}

}  // namespace
}  // namespace benchproof
