#include "core/circuit/topology.h"

#include <algorithm>

#include "core/base/quantity.h"
#include "core/base/quick_key.h"

namespace benchproof {
namespace {

/// Whether an output pin stands on a net with one other resting pin; its level then,
/// and what it is joined through.
bool join_output(const Circuit& circuit, const std::vector<Part>& parts,
                 const State& phase, int net, SeriesLed& chain) {
  if (net < 0) return false;
  const std::vector<PinRef> pins = resting_pins(circuit, net);
  if (pins.size() != 2) return false;
  const auto found = std::find_if(pins.begin(), pins.end(), [&parts](PinRef pin) {
    return parts[pin.part].kind == KindId::controller && pin.pin >= 2;
  });
  if (found == pins.end()) return false;
  const Part& chip = parts[found->part];
  const auto level = output(phase, *found).level;
  const bool is_high = level == OutputSetting::Level::high;
  if (!is_high && level != OutputSetting::Level::low) return false;
  if (!is_output_pin(chip, found->pin)) return false;
  const auto ohms = figure(chip, is_high ? "resistance_high" : "resistance_low");
  const int rail = chip.nets[is_high ? 0 : 1];
  if (!ohms || rail < 0) return false;
  chain.output = *found;
  chain.output_rail = rail;
  chain.output_ohms = ohms->value;
  return true;
}

/// Whether a controller's pin stands in one of its lists.
bool is_pin_of(const Part& chip, int pin, std::string_view list_of) {
  const auto names = chip.settings.find(list_of);
  if (pin < 2 || names == chip.settings.end()) return false;
  const auto* list = std::get_if<std::vector<std::string>>(&names->second.value);
  return list != nullptr &&
         std::find(list->begin(), list->end(), chip.pins[pin]) != list->end();
}

/// The nets that lie beside one: joined to it by fuses, wires and switches, which add
/// next to nothing between a capacitor and the regulator.
std::vector<int> nets_beside(const Circuit& circuit, int net) {
  std::vector<int> nets{net};
  for (std::size_t k = 0; k < nets.size(); ++k) {
    for (const PinRef pin : circuit.nets[nets[k]].pins) {
      const Part& part = circuit.parts[pin.part];
      const bool is_joint = part.kind == KindId::fuse || part.kind == KindId::wire ||
                            part.kind == KindId::switch_;
      if (!is_joint) continue;
      const int other = other_net(part, nets[k]);
      // Ground is beside everything, and tells nothing.
      if (other <= 0 || std::find(nets.begin(), nets.end(), other) != nets.end())
        continue;
      nets.push_back(other);
    }
  }
  return nets;
}

}  // namespace

int other_net(const Part& part, int net) {
  return part.nets[0] == net ? part.nets[1] : part.nets[0];
}

std::vector<PinRef> resting_pins(const Circuit& circuit, int net) {
  std::vector<PinRef> pins;
  for (const PinRef pin : circuit.nets[net].pins) {
    if (circuit.parts[pin.part].kind != KindId::capacitor) pins.push_back(pin);
  }
  return pins;
}

bool is_output_pin(const Part& chip, int pin) {
  return is_pin_of(chip, pin, "outputs");
}

bool is_analogue_pin(const Part& chip, int pin) {
  return is_pin_of(chip, pin, "analogue");
}

bool is_rail(const Circuit& circuit, int net) {
  if (net == 0) return true;
  if (net < 0) return false;
  const std::vector<PinRef>& pins = circuit.nets[net].pins;
  return std::any_of(pins.begin(), pins.end(), [&circuit](PinRef pin) {
    switch (circuit.parts[pin.part].kind) {
      case KindId::dc_supply:
      case KindId::battery:
      case KindId::voltage_source:
      case KindId::regulator:
        return true;
      case KindId::controller:
        return pin.pin < 2;
      default:
        return false;
    }
  });
}

bool is_between_electrolytics(const Circuit& circuit, int net) {
  if (net <= 0) return false;
  const std::vector<PinRef>& pins = circuit.nets[net].pins;
  return pins.size() > 1 &&
         std::all_of(pins.begin(), pins.end(), [&circuit](PinRef pin) {
           const Part& part = circuit.parts[pin.part];
           return part.kind == KindId::capacitor && flag(part, "polarised", false);
         });
}

bool is_in_series_electrolytic(const Circuit& circuit, const Part& part) {
  return part.kind == KindId::capacitor &&
         std::any_of(part.nets.begin(), part.nets.end(), [&circuit](int net) {
           return is_between_electrolytics(circuit, net);
         });
}

bool is_back_to_back(const Circuit& circuit, const Part& part) {
  return std::any_of(part.nets.begin(), part.nets.end(), [&circuit](int net) {
    if (!is_between_electrolytics(circuit, net)) return false;
    const std::vector<PinRef>& pins = circuit.nets[net].pins;
    return std::all_of(pins.begin(), pins.end(),
                       [&pins](PinRef pin) { return pin.pin == pins.front().pin; });
  });
}

int find_net(const Circuit& circuit, std::string_view name) {
  for (std::size_t k = 0; k < circuit.nets.size(); ++k)
    if (circuit.nets[k].name == name) return static_cast<int>(k);
  const auto inner = circuit.inner_names.find(name);
  return inner != circuit.inner_names.end() ? inner->second : -1;
}

bool is_load(KindId kind) {
  return kind == KindId::lamp || kind == KindId::motor || kind == KindId::relay_coil ||
         kind == KindId::buzzer;
}

bool is_passage(KindId kind) {
  switch (kind) {
    case KindId::resistor:
    case KindId::light_resistor:
    case KindId::heat_resistor:
    case KindId::fuse:
    case KindId::wire:
    case KindId::inductor:
      return true;
    default:
      return is_load(kind);
  }
}

double polarity(const Part& part) {
  if (part.kind == KindId::mosfet) {
    const MosModel* model = mos_model(part);
    return model != nullptr && model->is_p_channel ? -1.0 : 1.0;
  }
  if (const auto given = part.settings.find(QuickKey{"model"});
      given != part.settings.end()) {
    const auto* device = std::get_if<DeviceModel>(&given->second.value);
    const auto* bipolar = device ? std::get_if<BipolarModel>(device) : nullptr;
    if (bipolar != nullptr) return bipolar->is_pnp ? -1.0 : 1.0;
  }
  const std::string turned = word_of(part, "polarity");
  return turned == "pnp" || turned == "negative" ? -1.0 : 1.0;
}

const MosModel* mos_model(const Part& part) {
  const DeviceModel* model = part.type != nullptr ? &part.type->model : nullptr;
  if (const auto given = part.settings.find("model"); given != part.settings.end())
    model = std::get_if<DeviceModel>(&given->second.value);
  return model != nullptr ? std::get_if<MosModel>(model) : nullptr;
}

std::optional<Figure> sheet_on_resistance(const Part& part, double gate_volts) {
  constexpr double kNearly = 1.0 - 1e-3;  // An output that drives it leaves microvolts.
  const auto at_gate = figure(part, "on_gate");
  auto sheet = figure(part, "on_resistance");
  if (!at_gate || !sheet || part.settings.contains("model")) return std::nullopt;
  double highest = 0.0;
  const auto take = [&](double volts, const Figure& ohms) {
    if (gate_volts < kNearly * volts || volts < highest) return;
    highest = volts;
    sheet = ohms;
  };
  take(at_gate->value, Figure(*sheet));
  if (part.type != nullptr) {
    const auto curve = part.type->curves.find("on_resistances");
    if (curve != part.type->curves.end())
      for (const CurvePoint& p : curve->second)
        take(p.at, Figure{p.value, Unit::ohm, p.mark, p.source, ""});
  }
  return highest > 0.0 ? sheet : std::nullopt;
}

bool is_closed(const State& state, int part) {
  const auto found = state.closed.find(part);
  return found != state.closed.end() && found->second;
}

bool is_zero(const Circuit& circuit, int net) {
  return net == 0 || std::any_of(circuit.local_zeros.begin(), circuit.local_zeros.end(),
                                 [net](const LocalZero& z) { return z.net == net; });
}

bool is_held(const Circuit& circuit, const std::vector<Part>& parts, int net) {
  if (is_zero(circuit, net)) return true;
  if (net < 0) return false;
  for (const PinRef pin : circuit.nets[net].pins) {
    const Part& part = parts[pin.part];
    const bool is_source =
        part.kind == KindId::voltage_source ||
        (part.kind == KindId::dc_supply && flag(part, "regulated", true));
    if (is_source && is_zero(circuit, other_net(part, net))) return true;
    if (part.kind == KindId::regulator && pin.pin == 2 &&
        is_zero(circuit, part.nets[1]))
      return true;
  }
  return false;
}

std::optional<SeriesLed> series_led(const Circuit& circuit,
                                    const std::vector<Part>& parts, const State& phase,
                                    int led) {
  const Part& lamp = parts[led];
  for (const int end : {0, 1}) {
    const int middle = lamp.nets[end];
    const int far = lamp.nets[1 - end];
    if (middle < 0 || far < 0 || middle == far) continue;
    const std::vector<PinRef> pins = resting_pins(circuit, middle);
    if (pins.size() != 2) continue;
    const PinRef other = pins[0].part == led ? pins[1] : pins[0];
    const Part& resistor = parts[other.part];
    if (resistor.kind != KindId::resistor) continue;
    const int near = other_net(resistor, middle);
    if (near < 0 || near == middle || near == far) continue;
    SeriesLed chain;
    chain.led = led;
    chain.resistor = other.part;
    chain.from = end == 0 ? near : far;
    chain.to = end == 0 ? far : near;
    const bool is_near_held = is_held(circuit, parts, near);
    const bool is_far_held = is_held(circuit, parts, far);
    if (is_near_held && is_far_held) return chain;
    if (is_far_held && join_output(circuit, parts, phase, near, chain)) return chain;
    if (is_near_held && join_output(circuit, parts, phase, far, chain)) return chain;
  }
  return std::nullopt;
}

namespace {

bool is_junction(KindId kind) { return kind == KindId::led || kind == KindId::diode; }

/// The resistance that a part in a row limits a current by. Ohm.
double limiting_ohms(const Part& part) {
  if (is_load(part.kind)) {
    const double amps = number_of(part, "current").value_or(0.0);
    return amps > 0.0 ? number_of(part, "voltage").value_or(0.0) / amps : 0.0;
  }
  const bool is_resistor =
      part.kind == KindId::resistor || part.kind == KindId::light_resistor ||
      part.kind == KindId::heat_resistor || part.kind == KindId::trimmer;
  return is_resistor ? number_of(part, "value").value_or(0.0) : 0.0;
}

/// The part that alone stands on a net besides `from` and what lies across that, with
/// its pin there; -1 where there is none, or more than one.
PinRef next_in_row(const Circuit& circuit, int net, int from) {
  PinRef found;
  for (const PinRef pin : resting_pins(circuit, net)) {
    const Part& part = circuit.parts[pin.part];
    const Part& before = circuit.parts[from];
    const bool is_across =
        is_junction(part.kind) && before.nets.size() == 2 &&
        std::is_permutation(part.nets.begin(), part.nets.end(), before.nets.begin());
    if (pin.part == from || is_across) continue;
    if (found.part >= 0) return {};
    found = pin;
  }
  return found;
}

}  // namespace

LedRow row_of_led(const Circuit& circuit, int led) {
  LedRow row;
  for (const int end : {0, 1}) {
    int from = led;
    int net = circuit.parts[led].nets[end];
    for (std::size_t step = 0; step < circuit.parts.size(); ++step) {
      if (net < 0 || is_rail(circuit, net)) break;
      const PinRef next = next_in_row(circuit, net, from);
      if (next.part < 0 || next.part == led) break;
      const Part& part = circuit.parts[next.part];
      row.ohms += limiting_ohms(part);
      if (part.kind == KindId::diode && next.pin == 1 - end) row.blocks = true;
      if (part.nets.size() != 2) break;
      from = next.part;
      net = other_net(part, net);
    }
  }
  return row;
}

bool is_antiparallel(const Circuit& circuit, int led) {
  const Part& lamp = circuit.parts[led];
  return std::any_of(
      circuit.parts.begin(), circuit.parts.end(), [&lamp](const Part& part) {
        return is_junction(part.kind) && part.nets[0] >= 0 && part.nets[1] >= 0 &&
               part.nets[0] == lamp.nets[1] && part.nets[1] == lamp.nets[0];
      });
}

std::optional<Figure> published_drop(const Part& part) {
  if (auto drop = figure(part, "drop")) return drop;
  const bool is_modelled = part.settings.contains("model");
  if (is_modelled || part.type == nullptr || part.type->points.empty())
    return std::nullopt;
  const ForwardPoint& point = part.type->points.back();
  return Figure{point.volts, Unit::volt, point.mark, point.source,
                "IF = " + format_quantity(point.amps, Unit::ampere)};
}

std::optional<DiodeModel> diode_model(const Part& part) {
  if (const auto written = part.settings.find("model");
      written != part.settings.end()) {
    const auto* device = std::get_if<DeviceModel>(&written->second.value);
    const auto* model = device ? std::get_if<DiodeModel>(device) : nullptr;
    if (model != nullptr) return *model;
    return std::nullopt;
  }
  if (part.type == nullptr) return std::nullopt;
  const auto* model = std::get_if<DiodeModel>(&part.type->model);
  if (model == nullptr) return std::nullopt;
  return *model;
}

bool is_textbook(const Circuit& circuit) {
  return std::any_of(circuit.parts.begin(), circuit.parts.end(), [](const Part& part) {
    return part.kind == KindId::voltage_source || part.kind == KindId::current_source;
  });
}

std::vector<int> rail_capacitors(const Circuit& circuit, int net) {
  const std::vector<int> nets = nets_beside(circuit, net);
  std::vector<int> found;
  for (const int at : nets) {
    for (const PinRef pin : circuit.nets[at].pins) {
      const Part& part = circuit.parts[pin.part];
      if (part.kind != KindId::capacitor) continue;
      const int other = other_net(part, at);
      const bool is_beside = std::find(nets.begin(), nets.end(), other) != nets.end();
      if (other < 0 || is_beside || !is_rail(circuit, other)) continue;
      if (std::find(found.begin(), found.end(), pin.part) == found.end())
        found.push_back(pin.part);
    }
  }
  return found;
}

double rail_farads(const Circuit& circuit, int net) {
  double farads = 0.0;
  for (const int part : rail_capacitors(circuit, net))
    farads += number_of(circuit.parts[part], "value").value_or(0.0);
  return farads;
}

}  // namespace benchproof
