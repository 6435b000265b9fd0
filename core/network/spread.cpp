#include "core/network/spread.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <variant>

#include "core/circuit/topology.h"
#include "core/device/constants.h"
#include "core/network/edits.h"

namespace benchproof {
namespace {

/// Whether a part's device is its type's: no key of the description stands for it.
bool is_of_type(const Part& part) {
  const auto has = [&part](const char* key) { return part.settings.contains(key); };
  const bool is_ideal_zener = part.kind == KindId::zener && has("voltage");
  return part.type != nullptr && !has("model") && !has("drop") && !is_ideal_zener;
}

const DiodeModel* type_diode(const Part& part) {
  return is_of_type(part) ? std::get_if<DiodeModel>(&part.type->model) : nullptr;
}

/// The ends of a part's figure: both are named like it, with `_least` and `_most`.
void add_published(const Part& part, int index, SpreadFigure figure, const char* key,
                   std::vector<SpreadEnd>& ends) {
  const auto usual = number_of(part, key);
  if (!usual) return;
  for (const bool is_most : {false, true}) {
    const auto end = number_of(part, std::string(key) + (is_most ? "_most" : "_least"));
    if (end && *end != *usual) ends.push_back({index, figure, is_most, *end, true});
  }
}

void add_lamp(const Part& led, int index, std::vector<SpreadEnd>& ends) {
  const DiodeModel* model = type_diode(led);
  if (model == nullptr || model->n < kLeastRealEmission) return;
  ends.push_back({index, SpreadFigure::lamp, false, -least_lamp_volts(led, *model),
                  !led.type->points_least.empty()});
  if (led.type->points_most.empty()) return;
  const ForwardPoint& most = led.type->points_most.front();
  ends.push_back({index, SpreadFigure::lamp, true,
                  std::max(0.0, most.volts - forward_volts(*model, most.amps)), true});
}

/// The gain of the model is the least that is published: what is left of it at more
/// current is its lower end.
void add_bipolar(const Part& part, int index, std::vector<SpreadEnd>& ends) {
  if (!is_of_type(part)) return;
  const auto gain = number_of(part, "gain");
  if (!gain) return;
  if (const auto most = number_of(part, "gain_most"); most && *most > *gain)
    ends.push_back({index, SpreadFigure::gain, true, *most, true});
  for (const double volts : {-kBaseSpreadVolts, kBaseSpreadVolts})
    ends.push_back({index, SpreadFigure::base, volts > 0.0, volts, false});
}

void add_ends(const Part& part, int index, std::vector<SpreadEnd>& ends) {
  switch (part.kind) {
    case KindId::dc_supply:
      if (const auto volts = number_of(part, "voltage");
          volts && flag(part, "regulated", true)) {
        for (const double share : {-kSupplySpread, kSupplySpread})
          ends.push_back({index, SpreadFigure::supply, share > 0.0,
                          (1.0 + share) * *volts, false});
      }
      return;
    case KindId::led:
      return add_lamp(part, index, ends);
    case KindId::diode:
      if (const DiodeModel* m = type_diode(part);
          m != nullptr && m->n >= kLeastRealEmission)
        ends.push_back({index, SpreadFigure::diode, false, -kDiodeSpreadVolts, false});
      return;
    case KindId::zener:
      if (type_diode(part) != nullptr)
        add_published(part, index, SpreadFigure::zener, "voltage", ends);
      return;
    case KindId::transistor:
      return add_bipolar(part, index, ends);
    case KindId::mosfet:
      if (is_of_type(part) && mos_model(part) != nullptr)
        add_published(part, index, SpreadFigure::threshold, "threshold", ends);
      return;
    case KindId::regulator:
      if (part.type != nullptr && !part.settings.contains("output"))
        add_published(part, index, SpreadFigure::output, "output", ends);
      return;
    default:
      return;
  }
}

/// Calls `change(values[k])` for the elements of a part.
template <class Elements, class Values, class Change>
void for_elements(const Elements& elements, Values& values, int part, Change&& change) {
  for (std::size_t k = 0; k < elements.size(); ++k)
    if (elements[k].origin.part == part) change(values[k]);
}

/// Moves a junction's curve by a voltage at any current.
void move_junction(double& is, double emission, double tnom, double volts) {
  is *= std::exp(-volts / (emission * thermal_voltage(tnom)));
}

}  // namespace

std::vector<SpreadEnd> spread_ends(const std::vector<Part>& parts) {
  std::vector<SpreadEnd> ends;
  for (std::size_t k = 0; k < parts.size(); ++k)
    add_ends(parts[k], static_cast<int>(k), ends);
  std::stable_sort(
      ends.begin(), ends.end(),
      [](const SpreadEnd& a, const SpreadEnd& b) { return a.figure < b.figure; });
  return ends;
}

std::string spread_words(const Part& part, const SpreadEnd& end) {
  const auto volts = [&end] {
    return format_quantity(std::abs(end.value), Unit::volt, 3);
  };
  const auto told = [&](const char* what) {
    return fmt::format("where '{}' is a copy with the {} {} of its type, {}", part.name,
                       end.is_most ? "highest" : "least", what, volts());
  };
  switch (end.figure) {
    case SpreadFigure::supply:
      return fmt::format("where '{}' gives 5 % {} than its label, {}", part.name,
                         end.is_most ? "more" : "less", volts());
    case SpreadFigure::lamp:
    case SpreadFigure::diode:
      return fmt::format(
          "where '{}' is a copy whose forward voltage is {} {} than usual", part.name,
          volts(), end.is_most ? "more" : "less");
    case SpreadFigure::base:
      return fmt::format(
          "where '{}' is a copy whose base-emitter voltage is {} {} than usual",
          part.name, volts(), end.is_most ? "more" : "less");
    case SpreadFigure::gain:
      return fmt::format("where '{}' is a copy with the highest gain of its type, {:g}",
                         part.name, end.value);
    case SpreadFigure::zener:
      return told("zener voltage");
    case SpreadFigure::threshold:
      return told("threshold");
    case SpreadFigure::output:
      return told("output voltage");
  }
  return {};
}

void put_spread(const std::vector<Part>& parts, const SpreadEnd& end,
                Network& network) {
  const Structure& s = *network.structure;
  Values& v = network.values;
  const Part& part = parts[end.part];
  switch (end.figure) {
    case SpreadFigure::supply:
      return for_elements(s.voltage_sources, v.volts, end.part,
                          [&end](double& volts) { volts = end.value; });
    case SpreadFigure::lamp:
    case SpreadFigure::diode:
      return for_elements(s.diodes, v.diodes, end.part, [&end](DiodeModel& m) {
        move_junction(m.is, m.n, m.tnom, end.value);
      });
    case SpreadFigure::zener:
      return for_elements(s.diodes, v.diodes, end.part, [&](DiodeModel& m) {
        m.bv += end.value - number_of(part, "voltage").value_or(end.value);
      });
    case SpreadFigure::gain:
      return for_elements(s.bipolars, v.bipolars, end.part, [&](BipolarModel& m) {
        m.bf *= end.value / number_of(part, "gain").value_or(end.value);
      });
    case SpreadFigure::base:
      return for_elements(s.bipolars, v.bipolars, end.part, [&end](BipolarModel& m) {
        move_junction(m.is, m.nf, m.tnom, end.value);
      });
    case SpreadFigure::threshold:
      return for_elements(s.mosfets, v.mosfets, end.part, [&end](MosModel& m) {
        m.vto = std::copysign(end.value, m.vto);
      });
    case SpreadFigure::output:
      return for_elements(s.regulators, v.regulators, end.part,
                          [&end](RegulatorModel& m) { m.output = end.value; });
  }
}

double forward_volts(const DiodeModel& m, double amps) {
  return m.n * thermal_voltage(m.tnom) * std::log1p(amps / m.is) + m.rs * amps;
}

double least_lamp_volts(const Part& led, const DiodeModel& model) {
  if (led.type == nullptr || led.type->points_least.empty()) return kLampSpreadVolts;
  const ForwardPoint& least = led.type->points_least.front();
  return std::max(0.0, forward_volts(model, least.amps) - least.volts);
}

}  // namespace benchproof
