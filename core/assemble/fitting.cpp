#include "core/assemble/fitting.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "core/base/quantity.h"
#include "core/board/places/footprint.h"
#include "core/check/finding/wording.h"

namespace benchproof {
namespace {

/// From here on a part is too hot to touch, and warms its neighbours. Watt.
constexpr double kHotWatts = 0.3;
/// A capacitor of so much holds enough to spark. Farad.
constexpr double kLargeFarads = 100e-6;
/// Direct voltage that is counted as safe to touch when dry. Volt.
constexpr double kTouchVolts = 60.0;
/// An LED of so much current dazzles. Ampere.
constexpr double kDazzlingAmps = 0.1;

std::string net_name(const Circuit& circuit, const Part& part, std::string_view pin) {
  const int index = pin_index(part, pin);
  if (index < 0 || part.nets[index] < 0) return "nothing";
  return "'" + circuit.nets[part.nets[index]].name + "'";
}

/// The most that a part turns into heat, and the most that lies across its first two
/// pins, over all states that the witnesses agree on.
struct Strain {
  double watts = 0.0;
  double volts = 0.0;
};
Strain strain_of(const Circuit& circuit, int index, const Verification& verification) {
  Strain strain;
  const Part& part = circuit.parts[index];
  for (const StateResult& state : verification.states) {
    if (!state.agrees) continue;
    strain.watts = std::max(strain.watts, state.nodal.part_watts[index]);
    if (part.nets.size() < 2 || part.nets[0] < 0 || part.nets[1] < 0) continue;
    strain.volts =
        std::max(strain.volts, std::abs(state.nodal.net_volts[part.nets[0]] -
                                        state.nodal.net_volts[part.nets[1]]));
  }
  return strain;
}

void warn_of_supply(const Part& part, std::vector<std::string>& cautions) {
  if (!flag(part, "isolated", true))
    cautions.emplace_back(
        "it is not separated from the mains: every net may carry the mains' voltage. "
        "That is for licensed people, by the local code, and not for a bench");
  else
    cautions.emplace_back(
        "take a finished, closed supply that is separated from the mains, and leave it "
        "closed: work on the mains is for licensed people, by the local code");
  if (number_of(part, "voltage").value_or(0.0) > kTouchVolts)
    cautions.emplace_back("more than 60 V can hurt: touch nothing while it is in");
}

/// "front to you, leads down, from the left: collector, base, emitter".
std::string leads_text(const Part& part) {
  const PartShape& shape = *shape_of(part).shape;
  const Leads leads = leads_of(part, shape);
  const bool is_known = !leads.is_assumed && shape.form == ShapeForm::row;
  if (!is_known)
    return fmt::format(
        "find the order of its leads in the sheet of its maker: it differs; {}",
        shape.mark);
  std::vector<std::string> names;
  for (const int pin : leads.pin_of_lead)
    names.push_back(pin < 0 ? "not used" : part.pins[pin]);
  return fmt::format(
      "{}; front to you, leads down, from the left: {}{}", shape.mark,
      fmt::join(names, ", "),
      leads.differs.empty() ? "" : " (other order: " + leads.differs + ")");
}

/// "; vdd is leg 1, vss is leg 8"; empty where the description tells no legs.
std::string legs_text(const Part& part) {
  std::string text;
  for (std::size_t pin = 0; pin < part.legs.size(); ++pin)
    if (part.legs[pin] > 0)
      text += fmt::format("{} {} is leg {}", text.empty() ? ";" : ",", part.pins[pin],
                          part.legs[pin]);
  return text;
}

}  // namespace

std::string mark_of(const Circuit& circuit, int index) {
  const Part& part = circuit.parts[index];
  const auto at = [&](std::string_view pin) { return net_name(circuit, part, pin); };
  switch (part.kind) {
    case KindId::capacitor:
      if (!flag(part, "polarised", false)) return {};
      return fmt::format(
          "longer lead = plus, to {}; stripe = minus, to {} (on a tantalum bead "
          "the mark is plus)",
          at("plus"), at("minus"));
    case KindId::diode:
    case KindId::zener:
      return fmt::format("band = cathode, to {}", at("cathode"));
    case KindId::led:
      return fmt::format("flat of the rim, shorter lead = cathode, to {}",
                         at("cathode"));
    case KindId::transistor:
    case KindId::mosfet:
    case KindId::regulator:
      return leads_text(part);
    case KindId::controller:
      return "the socket's notch marks the end of leg 1; the chip's dot or notch goes "
             "there" +
             legs_text(part);
    case KindId::dc_supply:
      return "measure which contact of its plug is plus before it is joined";
    case KindId::battery:
      return "the holder's red lead, or the cell's raised end, is plus";
    case KindId::buzzer:
      return "if it is marked, its plus comes first on the current's way";
    default:
      return {};
  }
}

std::vector<std::string> cautions_of(const Circuit& circuit, int index,
                                     const Verification& verification) {
  const Part& part = circuit.parts[index];
  const Strain strain = strain_of(circuit, index, verification);
  std::vector<std::string> cautions;
  switch (part.kind) {
    case KindId::dc_supply:
      warn_of_supply(part, cautions);
      break;
    case KindId::battery:
      cautions.emplace_back(
          "leave the cells out until the check: shorted they get hot and can burn; "
          "coin "
          "cells out of reach of children");
      break;
    case KindId::capacitor:
      if (flag(part, "polarised", false))
        cautions.emplace_back("the wrong way round it heats up and can burst");
      if (number_of(part, "value").value_or(0.0) >= kLargeFarads && strain.volts > 1.0)
        cautions.push_back(fmt::format(
            "it stays charged, to {}: with the power off let it fall below 1 V, by 1 "
            "kohm across it, before you work on",
            short_text(strain.volts, Unit::volt, 3)));
      break;
    case KindId::led:
      cautions.emplace_back("it minds heat: the iron on a lead for 3 s at most");
      if (number_of(part, "current").value_or(0.0) > kDazzlingAmps)
        cautions.emplace_back("it dazzles: do not look into it");
      break;
    case KindId::diode:
    case KindId::zener:
    case KindId::transistor:
    case KindId::regulator:
      cautions.emplace_back("it minds heat: let each lead cool before the next");
      break;
    case KindId::mosfet:
      cautions.emplace_back(
          "static charge kills it: touch something earthed first, and leave it in its "
          "bag until then");
      break;
    case KindId::controller:
      cautions.emplace_back(
          "solder the socket without the chip; static charge kills the chip: leave it "
          "in "
          "its foam until it is put in");
      break;
    default:
      break;
  }
  const bool feeds = is_source(part.kind);
  if (!feeds && strain.watts >= kHotWatts)
    cautions.push_back(fmt::format(
        "at work it turns {} into heat: too hot to touch, and 5 mm at least from "
        "electrolytics and plastic",
        short_text(strain.watts, Unit::watt, 2)));
  return cautions;
}

std::vector<std::string> general_cautions() {
  return {
      "nothing is plugged in while you solder, and no cell is in its holder",
      "glasses on: solder spits, and clipped leads fly; hold them while you clip",
      "air: do not breathe the fumes; open a window or draw them off",
      "the iron's tip has 350 C or so: it goes back into its stand each time",
      "wash your hands afterwards: solder may hold lead",
  };
}

}  // namespace benchproof
