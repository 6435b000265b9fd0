#include "core/catalogue/fit/fit_check.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <variant>

#include "core/catalogue/fit/fit.h"

namespace benchproof {
namespace {

constexpr double kCelsius = 25.0;

double figure_known(const Type& type, std::string_view name) {
  const auto found = type.figures.find(name);
  return found == type.figures.end() ? 0.0 : found->second.value;
}

std::string at(double value, Unit unit) {
  return " at " + format_quantity(value, unit);
}

/// kT/q at 25 C: what a diode of n = 1, carrying e - 1 times its `is`, has across it.
double thermal_volts() {
  DiodeModel unit;
  unit.is = 1.0;
  unit.tnom = kCelsius;
  return voltage_at(unit, std::exp(1.0) - 1.0, kCelsius);
}

void add_forward(const Type& type, const DiodeModel& model, std::string_view name,
                 std::vector<FitPoint>& points) {
  for (const ForwardPoint& p : type.points)
    points.push_back({fmt::format("{}{}", name, at(p.amps, Unit::ampere)), Unit::volt,
                      p.volts, voltage_at(model, p.amps, kCelsius)});
}

/// The slope of the breakdown, rz = nbv vt / I + rs.
double slope_at(const DiodeModel& model, double amps) {
  return model.nbv * thermal_volts() / amps + model.rs;
}

void add_zener(const Type& type, const DiodeModel& model,
               std::vector<FitPoint>& points) {
  const double test = figure_known(type, "test_current");
  const double knee = figure_known(type, "knee_current");
  points.push_back({"breakdown" + at(test, Unit::ampere), Unit::volt,
                    figure_known(type, "voltage"), model.bv + test * model.rs});
  points.push_back({"slope" + at(test, Unit::ampere), Unit::ohm,
                    figure_known(type, "slope"), slope_at(model, test)});
  if (type.figures.contains("knee_slope") && knee > 0.0)
    points.push_back({"slope" + at(knee, Unit::ampere), Unit::ohm,
                      figure_known(type, "knee_slope"), slope_at(model, knee)});
}

void add_on_resistances(const Type& type, const MosModel& model,
                        std::vector<FitPoint>& points) {
  const auto add = [&](double gate, double amps, double ohms) {
    points.push_back({"on resistance" + at(gate, Unit::volt), Unit::ohm, ohms,
                      on_ohms(model, gate, amps)});
  };
  const double gate = figure_known(type, "on_gate");
  add(gate, figure_known(type, "on_current"), figure_known(type, "on_resistance"));
  const auto further = type.curves.find("on_resistances");
  if (further == type.curves.end()) return;
  for (const CurvePoint& p : further->second)
    if (p.at != gate) add(p.at, p.beside, p.value);
}

/// The gain at the published currents from that of `gain` on.
void add_gains(const Type& type, const BipolarModel& model,
               std::vector<FitPoint>& points) {
  const auto gains = type.curves.find("gains");
  if (gains == type.curves.end()) return;
  for (const CurvePoint& p : gains->second) {
    if (p.at < figure_known(type, "gain_current")) continue;
    points.push_back({"gain" + at(p.at, Unit::ampere), Unit::none, p.value,
                      model.bf / (1.0 + p.at / model.ikf)});
  }
}

void add_saturations(const Type& type, const BipolarModel& model,
                     std::vector<FitPoint>& points) {
  const auto saturations = type.curves.find("saturations");
  if (saturations == type.curves.end()) return;
  for (const CurvePoint& p : saturations->second)
    points.push_back({"saturation" + at(p.at, Unit::ampere), Unit::volt, p.value,
                      saturation_volts(model, p.at, p.beside)});
}

/// A parameter that a model need not tell.
void add_told(std::vector<ModelValue>& values, std::string_view name,
              std::optional<double> value) {
  if (value) values.push_back({name, *value});
}

}  // namespace

std::vector<FitPoint> fit_points(const Type& type) {
  std::vector<FitPoint> points;
  if (const auto* diode = std::get_if<DiodeModel>(&type.model)) {
    if (type.kind == KindId::zener) add_zener(type, *diode, points);
    add_forward(type, *diode, "forward", points);
  } else if (const auto* bipolar = std::get_if<BipolarModel>(&type.model)) {
    const double amps = figure_known(type, "base_volts_current");
    DiodeModel base;
    base.is = bipolar->is;
    base.n = bipolar->nf;
    base.tnom = bipolar->tnom;
    points.push_back({"base-emitter" + at(amps, Unit::ampere), Unit::volt,
                      figure_known(type, "base_volts"),
                      voltage_at(base, amps * (1.0 + amps / bipolar->ikf), kCelsius)});
    add_gains(type, *bipolar, points);
    add_saturations(type, *bipolar, points);
  } else if (const auto* mos = std::get_if<MosModel>(&type.model)) {
    add_on_resistances(type, *mos, points);
    if (mos->body) add_forward(type, *mos->body, "body diode", points);
  }
  return points;
}

std::vector<ModelValue> model_values(const DiodeModel& m) {
  std::vector<ModelValue> values{{"is", m.is}, {"n", m.n}, {"rs", m.rs}};
  if (!std::isinf(m.bv)) {
    values.push_back({"bv", m.bv});
    values.push_back({"ibv", m.ibv});
    values.push_back({"nbv", m.nbv});
  }
  for (const ModelValue& value :
       {ModelValue{"eg", m.eg}, ModelValue{"xti", m.xti}, ModelValue{"tnom", m.tnom}})
    values.push_back(value);
  add_told(values, "cjo", m.cjo);
  return values;
}

std::vector<ModelValue> model_values(const BipolarModel& m) {
  std::vector<ModelValue> values{
      {"is", m.is}, {"bf", m.bf}, {"br", m.br}, {"nf", m.nf}, {"nr", m.nr}};
  if (!std::isinf(m.vaf)) values.push_back({"vaf", m.vaf});
  if (!std::isinf(m.ikf)) values.push_back({"ikf", m.ikf});
  if (m.rc > 0.0) values.push_back({"rc", m.rc});
  for (const ModelValue& value :
       {ModelValue{"eg", m.eg}, ModelValue{"xti", m.xti}, ModelValue{"tnom", m.tnom}})
    values.push_back(value);
  add_told(values, "cje", m.cje);
  add_told(values, "cjc", m.cjc);
  return values;
}

std::vector<ModelValue> model_values(const MosModel& m) {
  std::vector<ModelValue> values{{"vto", m.vto}, {"kp", m.kp}, {"lambda", m.lambda},
                                 {"rd", m.rd},   {"rs", m.rs}, {"tnom", m.tnom}};
  add_told(values, "cgs", m.cgs);
  add_told(values, "cgd", m.cgd);
  add_told(values, "cds", m.cds);
  return values;
}

double error(const FitPoint& point) { return point.fitted / point.published - 1.0; }

const FitPoint* worst(const std::vector<FitPoint>& points) {
  const auto found = std::max_element(points.begin(), points.end(),
                                      [](const FitPoint& a, const FitPoint& b) {
                                        return std::abs(error(a)) < std::abs(error(b));
                                      });
  return found == points.end() ? nullptr : &*found;
}

}  // namespace benchproof
