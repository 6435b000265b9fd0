#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "core/catalogue/fit/fit.h"
#include "core/catalogue/fit/fit_check.h"
#include "core/catalogue/read/detail/data_file.h"

namespace benchproof {
namespace {

std::optional<double> value_of(const Type& type, std::string_view name) {
  const auto found = type.figures.find(name);
  if (found == type.figures.end()) return std::nullopt;
  return found->second.value;
}

/// The points of a curve; none where the type has it not.
const FigureCurve& curve(const Type& type, std::string_view name) {
  static const FigureCurve kNone;
  const auto found = type.curves.find(name);
  return found == type.curves.end() ? kNone : found->second;
}

/// A figure that check_needs has seen.
double needed(const Type& type, std::string_view name) {
  return type.figures.find(name)->second.value;
}

DiodeModel forward_model(const Type& type) {
  ForwardShape shape;
  shape.n = value_of(type, "n");
  shape.rs = value_of(type, "rs");
  shape.eg = value_of(type, "eg_electronvolts").value_or(shape.eg);
  shape.xti = value_of(type, "xti").value_or(shape.xti);
  shape.drift = value_of(type, "drift_volts_per_kelvin");
  return fit_forward(type.points, shape).model;
}

DiodeModel zener_model(const Type& type) {
  if (type.points.size() != 1) throw std::invalid_argument("needs one forward point");
  ZenerSheet sheet;
  sheet.volts = needed(type, "voltage");
  sheet.test_amps = needed(type, "test_current");
  sheet.slope = needed(type, "slope");
  sheet.knee_slope = value_of(type, "knee_slope");
  if (sheet.knee_slope) sheet.knee_amps = needed(type, "knee_current");
  sheet.forward = type.points.front();
  sheet.n = needed(type, "n");
  return fit_zener(sheet);
}

BipolarModel bipolar_model(const Type& type) {
  BipolarSheet sheet;
  sheet.is_pnp = type.words.at("polarity") == "pnp";
  sheet.base_volts = needed(type, "base_volts");
  sheet.collector_amps = needed(type, "base_volts_current");
  sheet.gain = needed(type, "gain");
  sheet.gain_amps = value_of(type, "gain_current").value_or(0.0);
  sheet.reverse_gain = needed(type, "reverse_gain");
  for (const CurvePoint& p : curve(type, "gains"))
    sheet.gains.push_back({p.at, p.value});
  for (const CurvePoint& p : curve(type, "saturations"))
    sheet.saturations.push_back({p.at, p.beside, p.value});
  return fit_bipolar(sheet);
}

MosModel mos_model(const Type& type) {
  MosSheet sheet;
  sheet.is_p_channel = type.words.at("channel") == "p";
  sheet.threshold = needed(type, "threshold");
  sheet.resistance = needed(type, "on_resistance");
  sheet.gate_volts = needed(type, "on_gate");
  sheet.drain_amps = value_of(type, "on_current").value_or(0.0);
  for (const CurvePoint& p : curve(type, "on_resistances"))
    sheet.further.push_back({p.at, p.beside, p.value});
  if (!type.points.empty()) sheet.body = forward_model(type);
  return fit_mos(sheet);
}

/// The model of a type from its own figures; none for a kind that needs none.
DeviceModel model_of(const Type& type) {
  switch (type.kind) {
    case KindId::diode:
    case KindId::led:
      return forward_model(type);
    case KindId::controller:  // its clamp diodes
      if (type.points.empty()) return {};
      return forward_model(type);
    case KindId::zener:
      return zener_model(type);
    case KindId::transistor:
      return bipolar_model(type);
    case KindId::mosfet:
      return mos_model(type);
    default:
      return {};
  }
}

/// Throws where a parameter lies outside of what a description's `model` may have.
void check_parameters(KindId id, const std::vector<ModelValue>& values) {
  for (const ModelParameter& rule : model_parameters(id)) {
    const auto found =
        std::find_if(values.begin(), values.end(),
                     [&](const ModelValue& v) { return v.name == rule.name; });
    if (found == values.end()) continue;
    const double value = found->value;
    const bool is_above = rule.least_allowed ? value >= rule.least : value > rule.least;
    if (std::isnan(value) || !is_above || value > rule.most)
      throw std::invalid_argument(
          fmt::format("these figures give a model with {} = {:.4g}, which must be {} "
                      "{:g} and at most {:g}",
                      rule.name, value, rule.least_allowed ? "at least" : "above",
                      rule.least, rule.most));
  }
}

void check_model(const DiodeModel& model) {
  check_parameters(KindId::diode, model_values(model));
}
void check_model(const BipolarModel& model) {
  check_parameters(KindId::transistor, model_values(model));
}
void check_model(const MosModel& model) {
  check_parameters(KindId::mosfet, model_values(model));
  if (model.body) check_model(*model.body);
}
void check_model(std::monostate) {}

/// Kinds that a "default" entry gives figures but no model.
bool has_model(const Type& type) {
  return type.name != kDefaultType || !type.points.empty();
}

/// The forward curve of a model, if it has one.
const DiodeModel* curve_of(const DeviceModel& model) {
  if (const auto* diode = std::get_if<DiodeModel>(&model)) return diode;
  const auto* mos = std::get_if<MosModel>(&model);
  return mos != nullptr && mos->body ? &*mos->body : nullptr;
}

/// Throws where the curve leaves what is published of it. A zener's, which shares its
/// series resistance with the breakdown, is not held to that.
void check_curve(const Type& type, const DeviceModel& model) {
  constexpr double kSheetCelsius = 25.0;
  constexpr double kRounding =
      1e-6;  // Volt: a curve passes through its points to that.
  const DiodeModel* curve = curve_of(model);
  if (curve == nullptr || type.kind == KindId::zener) return;
  const auto check = [&](const ForwardPoint& p, double sign, std::string_view which) {
    const double volts = voltage_at(*curve, p.amps, kSheetCelsius);
    if (sign * (volts - p.volts) >= -kRounding) return;
    throw std::invalid_argument(fmt::format(
        "the curve through the points has {} at {}, {} {}",
        format_quantity(volts, Unit::volt), format_quantity(p.amps, Unit::ampere),
        which, format_quantity(p.volts, Unit::volt)));
  };
  for (const ForwardPoint& p : type.points_least) check(p, 1.0, "below the least of");
  for (const ForwardPoint& p : type.points_most) check(p, -1.0, "above the most of");
}

void fit(DataFile& file, Draft& draft) {
  if (!draft.is_whole || !has_model(draft.type)) return;
  try {
    const DeviceModel model = model_of(draft.type);
    std::visit([](const auto& m) { check_model(m); }, model);
    check_curve(draft.type, model);
    draft.type.model = model;
  } catch (const std::invalid_argument& error) {
    complain(file, kModelUnfit, draft.span,
             fmt::format("{}: {}", quoted(draft.type.name), error.what()));
    draft.is_whole = false;
  }
}

/// Takes n and rs from another type's fitted curve.
void share_curve(DataFile& file, Draft& draft) {
  const auto other =
      std::find_if(file.drafts.begin(), file.drafts.end(), [&](const Draft& d) {
        return d.type.kind == draft.type.kind && d.type.name == draft.curve_of;
      });
  const bool is_own = other != file.drafts.end();
  if (is_own && !other->is_whole) {  // Told already.
    draft.is_whole = false;
    return;
  }
  const Type* type =
      is_own ? &other->type : file.known.find(draft.type.kind, draft.curve_of);
  const DiodeModel* model =
      type != nullptr ? std::get_if<DiodeModel>(&type->model) : nullptr;
  if (model == nullptr || (is_own && !other->curve_of.empty())) {
    complain(file, kCurveUnknown, draft.curve_span,
             fmt::format("there is no {} {} with a curve of its own",
                         kind(draft.type.kind).name, quoted(draft.curve_of)));
    draft.is_whole = false;
    return;
  }
  const std::string source = fmt::format("fit of the points of {}", draft.curve_of);
  draft.type.figures.insert_or_assign(
      "n", Figure{model->n, Unit::none, Mark::derived, source, "25 C"});
  draft.type.figures.insert_or_assign(
      "rs", Figure{model->rs, Unit::ohm, Mark::derived, source, "25 C"});
}

}  // namespace

void fit_drafts(DataFile& file) {
  for (Draft& draft : file.drafts) {
    check_needs(file, draft);
    check_orders(file, draft);
    if (draft.curve_of.empty()) fit(file, draft);
  }
  for (Draft& draft : file.drafts) {
    if (draft.curve_of.empty() || !draft.is_whole) continue;
    share_curve(file, draft);
    fit(file, draft);
  }
}

}  // namespace benchproof
