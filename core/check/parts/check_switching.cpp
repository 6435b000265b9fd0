#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/catalogue/pins.h"
#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutSwitching[] = {
    {"transistor-half-on", "whether a transistor that switches a load does so fully",
     "what stays across it, of what it shares with the load: at most 1 V or a tenth, "
     "whichever is more; more than half of it across one that an output, a switch, "
     "another transistor or a rail switches on is a fault",
     "common practice, no source (practice)",
     "what is half on keeps the voltage that the load should have, and turns it into "
     "heat",
     "give its base more current"},
    {"mosfet-half-on", "whether a MOS transistor that switches a load does so fully",
     "what stays across it, of what it shares with the load: at most 1 V or a tenth, "
     "whichever is more; more than half of it across one that an output, a switch, "
     "another transistor or a rail switches on is a fault",
     "common practice, no source (practice)",
     "what is half on keeps the voltage that the load should have, and turns it into "
     "heat",
     "give its gate more voltage, or use a type made for less"},
    {"mosfet-never-on", "a MOS transistor that its output does not switch on",
     "the highest gate-source voltage of the state above the threshold of its model, "
     "of "
     "a type the highest published one",
     "the part's `model`, or its figure 'threshold'; 'benchproof parts TYPE' names its "
     "source and mark",
     "below its threshold it carries nothing, and its load stays off",
     "give its gate more voltage, or use a type of a lower threshold"},
    {"mosfet-body", "a load's current through a MOS transistor's body diode",
     "drain current in reverse while its gate is not driven, at most 1 mA",
     "common practice, no source (practice)", "the body diode cannot be switched off",
     "exchange drain and source"},
    {"transistor-saturation", "whether a transistor that is switched on is saturated",
     "Vce while on <= what 'saturations' have at its current, and 50 mV for a base "
     "current of a twentieth; above their last in proportion to the current where the "
     "base gets a twentieth of it, else no more than at the last; without them <= "
     "'saturation_max'",
     "the part's figures; 'benchproof parts TYPE' names their sources and marks",
     "short of base current it keeps more voltage than it needs to, and heats",
     "give its base more current: a tenth to a twentieth of the collector's"},
};

// Pins of a bipolar transistor are base, collector, emitter, of a MOS one gate, drain,
// source: in the same order.

/// What a switch that is on may keep: more than both of these, and it is not fully on.
/// Common practice, no source.
constexpr double kKeptVolts = 1.0;
constexpr double kKeptShare = 0.1;
/// What is meant to switch and keeps more than this share, and more than any type that
/// is on keeps, leaves its load too little to work. Common practice, no source.
constexpr double kMostShare = 0.5;
constexpr double kMostVolts = 0.5;
/// A load that carries less than this share, where no output says what the transistor
/// is to do, may be meant to be off. Common practice, no source.
constexpr double kFaintlyDriven = 0.5;
/// What drives a gate, or a base, for certain. Common practice, no source.
constexpr double kGateVolts = 1.0;
constexpr double kBaseVolts = 0.5;
constexpr double kBaseAmps = 10e-6;  // Less is leakage.
/// What a body diode takes at least when it carries a load's current.
constexpr double kBodyVolts = 0.4;

/// What stands between a transistor's collector or drain and the rail that feeds it.
struct LoadPath {
  std::vector<int> loads;  ///< Lamps, motors, coils, buzzers, LEDs on the way.
  int first = -1;          ///< The first part on the way.
  int end = -1;            ///< The last net reached.
  bool has_limit = false;  ///< Something on the way limits the current.
};

bool is_path(KindId kind) {
  return is_passage(kind) || kind == KindId::led || kind == KindId::diode ||
         kind == KindId::switch_;
}

/// Follows the largest current away from `net`, through parts of two pins, to a rail.
LoadPath load_path(const CheckInput& input, const Observation& seen, int transistor,
                   int net) {
  LoadPath path;
  std::vector<int> passed{transistor};
  path.end = net;
  while (path.end >= 0 && !is_rail(input.circuit, path.end)) {
    int next = -1;
    double most = 0.0;
    for (const PinRef pin : input.circuit.nets[path.end].pins) {
      const Part& part = input.parts[pin.part];
      const double amps = std::abs(pin_amps(seen, pin.part, pin.pin));
      const bool is_new =
          std::find(passed.begin(), passed.end(), pin.part) == passed.end();
      if (!is_path(part.kind) || !is_new || amps <= most) continue;
      if (other_net(part, path.end) < 0) continue;
      next = pin.part;
      most = amps;
    }
    if (next < 0) break;
    passed.push_back(next);
    if (path.first < 0) path.first = next;
    const Part& part = input.parts[next];
    if (is_load(part.kind) || part.kind == KindId::led) path.loads.push_back(next);
    path.has_limit |= is_passage(part.kind);
    path.end = other_net(part, path.end);
  }
  return path;
}

/// Whether the emitter's or source's current flows on through a resistor or load: a
/// follower or a current sink, which is never meant to be fully on.
bool is_follower(const CheckInput& input, const Observation& seen, int index) {
  const int net = input.parts[index].nets[kLow];
  if (net < 0 || is_rail(input.circuit, net)) return false;
  const double amps = std::abs(pin_amps(seen, index, kLow));
  const auto& pins = input.circuit.nets[net].pins;
  return std::any_of(pins.begin(), pins.end(), [&](PinRef pin) {
    const KindId kind = input.parts[pin.part].kind;
    const bool is_resistive = is_passage(kind) || kind == KindId::trimmer;
    return is_resistive && std::abs(pin_amps(seen, pin.part, pin.pin)) > 0.5 * amps;
  });
}

bool is_transistor(const Part& part) {
  return part.kind == KindId::transistor || part.kind == KindId::mosfet;
}

/// Whether the control pin stands on the net of a transistor joined as a diode: a
/// current mirror.
bool is_mirror(const CheckInput& input, int index) {
  const int net = input.parts[index].nets[kControl];
  if (net < 0) return false;
  const auto& pins = input.circuit.nets[net].pins;
  return std::any_of(pins.begin(), pins.end(), [&](PinRef pin) {
    const Part& part = input.parts[pin.part];
    return is_transistor(part) && part.nets[kControl] == net && part.nets[kHigh] == net;
  });
}

/// The nets from which a transistor's control pin is driven: its own, and what lies
/// behind one resistor.
std::vector<int> driving_nets(const CheckInput& input, int index) {
  const int net = input.parts[index].nets[kControl];
  if (net < 0) return {};
  std::vector<int> nets{net};
  for (const PinRef pin : resting_pins(input.circuit, net)) {
    const Part& resistor = input.parts[pin.part];
    if (resistor.kind != KindId::resistor) continue;
    const int far = other_net(resistor, net);
    if (far >= 0 && !is_rail(input.circuit, far)) nets.push_back(far);
  }
  return nets;
}

/// What a controller's output asks of the transistor that it drives.
enum class Wishes { on, off, unknown };
struct Asked {
  Wishes wishes = Wishes::unknown;
  PinRef output;
};

Asked asked(const CheckInput& input, const State& state, int index) {
  const double sign = polarity(input.parts[index]);
  for (const int net : driving_nets(input, index)) {
    for (const PinRef pin : resting_pins(input.circuit, net)) {
      if (!is_output_pin(input.parts[pin.part], pin.pin)) continue;
      const auto level = output(state, pin).level;
      if (level == OutputSetting::Level::open) continue;
      const bool is_high = level == OutputSetting::Level::high;
      return {is_high == (sign > 0.0) ? Wishes::on : Wishes::off, pin};
    }
  }
  return {};
}

/// Whether something that is either on or off switches a transistor on: an output, a
/// closed switch, or another transistor that itself is switched on.
bool is_switched_on(const CheckInput& input, const State& state, int index,
                    int most_deep = 2) {
  const Wishes wishes = asked(input, state, index).wishes;
  if (wishes != Wishes::unknown) return wishes == Wishes::on;
  for (const int net : driving_nets(input, index)) {
    for (const PinRef pin : resting_pins(input.circuit, net)) {
      if (pin.part == index) continue;
      const Part& part = input.parts[pin.part];
      if (part.kind == KindId::switch_ && is_closed(state, pin.part)) {
        const int far = other_net(part, net);
        const bool is_on_side = far != input.parts[index].nets[kLow];
        if (far >= 0 && is_on_side && is_rail(input.circuit, far)) return true;
      }
      const bool is_driver = is_transistor(part) && pin.pin == kHigh && most_deep > 0;
      if (is_driver && is_switched_on(input, state, pin.part, most_deep - 1))
        return true;
    }
  }
  return false;
}

/// Whether a rail turns a transistor on for good, itself or through resistors alone.
/// With a trimmer or a sensor at its control pin it may be meant to be in between.
bool is_held_on(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const int net = part.nets[kControl];
  if (net < 0) return false;
  if (is_rail(input.circuit, net)) return true;
  bool has_rail = false;
  for (const PinRef pin : resting_pins(input.circuit, net)) {
    if (pin.part == index) continue;
    const Part& other = input.parts[pin.part];
    if (other.kind != KindId::resistor) return false;
    const int far = other_net(other, net);
    if (far < 0 || !is_rail(input.circuit, far)) return false;
    has_rail = has_rail || far != part.nets[kLow];
  }
  return has_rail;
}

/// Whether the control pin's voltage turns the transistor on.
bool is_driven(const CheckInput& input, const Observation& seen, int index) {
  const Part& part = input.parts[index];
  const double volts =
      polarity(part) * volts_between(input, seen, index, kControl, kLow);
  if (part.kind == KindId::mosfet) return volts > kGateVolts;
  return volts > kBaseVolts &&
         polarity(part) * pin_amps(seen, index, kControl) > kBaseAmps;
}

/// The load's largest share of its rated current; 1 where that is not known.
double load_share(const CheckInput& input, const Observation& seen,
                  const std::vector<int>& loads) {
  double most = 0.0;
  for (const int load : loads) {
    const auto rated = figure(input.parts[load], "current");
    if (!rated) return 1.0;
    most = std::max(most, std::abs(pin_amps(seen, load, 0)) / rated->value);
  }
  return most;
}

/// What a transistor that is driven keeps of what it shares with its load.
struct Share {
  double kept = 0.0;
  double shared = 0.0;
  int load = -1;
  bool is_off = false;      ///< Its output asks it to be off.
  bool is_most = false;     ///< It is switched on, and keeps most.
  bool is_unclear = false;  ///< No output says what it is to do.
  bool has_limit = false;   ///< Something else limits the current, too.
  std::string phase;
};

/// Nothing where that is no more than a switch may keep, or it is no switch.
std::optional<Share> kept_share(const CheckInput& input, const SeenPhase& phase,
                                int index) {
  const Part& part = input.parts[index];
  const Observation& seen = phase.seen;
  const double sign = polarity(part);
  Share share;
  share.phase = phase.phase.name;
  share.kept = sign * volts_between(input, seen, index, kHigh, kLow);
  if (share.kept <= kMostVolts || !is_driven(input, seen, index)) return std::nullopt;
  const LoadPath path = load_path(input, seen, index, part.nets[kHigh]);
  if (path.first < 0 || is_follower(input, seen, index)) return std::nullopt;
  share.has_limit = path.has_limit;
  share.load = path.loads.empty() ? path.first : path.loads.front();
  share.shared = sign * (seen.net_volts[path.end] - seen.net_volts[part.nets[kLow]]);
  const bool has_load =
      std::any_of(path.loads.begin(), path.loads.end(),
                  [&](int load) { return is_load(input.parts[load].kind); });
  share.is_most = share.kept > kMostShare * share.shared &&
                  is_rail(input.circuit, path.end) &&
                  is_rail(input.circuit, part.nets[kLow]) &&
                  (is_switched_on(input, phase.phase.state, index) ||
                   (has_load && is_held_on(input, index)));
  if (share.is_most) return share;
  const bool is_much =
      exceeds(share.kept, kKeptVolts) && exceeds(share.kept, kKeptShare * share.shared);
  if (!is_much || path.loads.empty()) return std::nullopt;
  const Wishes wishes = asked(input, phase.phase.state, index).wishes;
  const double driven = load_share(input, seen, path.loads);
  share.is_off = wishes == Wishes::off;
  if (share.is_off && driven < kOffShare) return std::nullopt;
  // Where there is but one state, it is the one that the load is there for.
  share.is_unclear = wishes == Wishes::unknown && driven < kFaintlyDriven &&
                     input.circuit.states.size() > 1;
  return share;
}

/// What to do about a transistor that is neither on nor off, or not as it is asked to
/// be: what shall be off must not be told to be driven more, and what alone limits an
/// LED's current would burn it.
std::string half_on_advice(const CheckInput& input, const Part& part,
                           const Share& share) {
  if (share.is_off) return "bring its control pin to its other rail";
  const bool is_mos = part.kind == KindId::mosfet;
  if (share.is_unclear)
    return is_mos ? "where it is to be on, give its gate more voltage, or use a type "
                    "made for less; where it is to be off, less"
                  : "where it is to be on, give its base more current; where it is to "
                    "be off, none";
  const std::string more = is_mos ? "give its gate more voltage, or use a type made "
                                    "for less"
                                  : "give its base more current";
  if (share.has_limit) return more;
  return fmt::format(
      "nothing but it limits the current of '{}': put a resistor in "
      "series with that first, then {}",
      input.parts[share.load].name, more);
}

/// A transistor that carries a load's current and keeps a good part of its voltage.
std::optional<Finding> check_fully_on(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  if (part.nets[kHigh] < 0 || part.nets[kLow] < 0 || is_mirror(input, index))
    return std::nullopt;
  std::optional<Share> worst;
  for (const SeenPhase& phase : input.phases) {
    auto share = kept_share(input, phase, index);
    if (!share) continue;
    if (!worst ||
        std::pair(share->is_most, share->kept) > std::pair(worst->is_most, worst->kept))
      worst = std::move(share);
  }
  if (!worst) return std::nullopt;
  const bool is_mos = part.kind == KindId::mosfet;
  Finding finding =
      about_part(input, index, worst->is_most ? Severity::fault : Severity::caution,
                 is_mos ? CheckId(kAboutSwitching, "mosfet-half-on")
                        : CheckId(kAboutSwitching, "transistor-half-on"));
  finding.phase = worst->phase;
  const double limit = worst->is_most
                           ? std::max(kMostVolts, kMostShare * worst->shared)
                           : std::max(kKeptVolts, kKeptShare * worst->shared);
  set_limit(finding, "voltage", worst->kept,
            practice(limit, Unit::volt,
                     worst->is_most ? "a switch that is on leaves its load more than "
                                      "half"
                                    : "a switch that is on keeps less than 1 V or a "
                                      "tenth"));
  finding.message = fmt::format(
      "'{}' is {}: {} stay across it, of {} that it shares with '{}'; {}", part.name,
      worst->is_off       ? "not fully off"
      : worst->is_unclear ? "neither on nor off"
                          : "not fully on",
      short_text(worst->kept, Unit::volt), short_text(worst->shared, Unit::volt),
      input.parts[worst->load].name, half_on_advice(input, part, *worst));
  return finding;
}

/// Whether nothing but outputs, resistors and capacitors stands on the nets that drive
/// a transistor, so that its gate is what its output makes of it.
bool is_driven_alone(const CheckInput& input, int index) {
  for (const int net : driving_nets(input, index)) {
    for (const PinRef pin : resting_pins(input.circuit, net)) {
      const Part& part = input.parts[pin.part];
      const bool may_pull =
          part.kind == KindId::switch_ || (is_transistor(part) && pin.pin != kControl);
      if (may_pull) return false;
    }
  }
  return true;
}

/// The gate voltage at which a MOS transistor begins to carry a current, its highest;
/// positive for one that is off without any.
std::optional<Figure> gate_threshold(const Part& part) {
  const MosModel* model = mos_model(part);
  if (model == nullptr) return std::nullopt;
  const auto published = figure(part, "threshold");
  if (published && !part.settings.contains("model")) return published;
  return Figure{polarity(part) * model->vto, Unit::volt, Mark::given,
                "its 'model' in the description", ""};
}

/// A MOS transistor that stays off while its output asks for it.
std::optional<Finding> check_threshold(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const auto threshold = gate_threshold(part);
  if (!threshold || part.nets[kHigh] < 0 || part.nets[kLow] < 0 ||
      !is_driven_alone(input, index))
    return std::nullopt;
  const double sign = polarity(part);
  std::optional<Peak> most;
  Asked by;
  for (const SeenPhase& phase : input.phases) {
    const Asked now = asked(input, phase.phase.state, index);
    if (now.wishes != Wishes::on) continue;
    const double supply = volts_between(input, phase.seen, now.output.part, kVdd, kVss);
    if (supply < kControllerOffVolts) continue;
    by = now;
    const double volts = sign * volts_between(input, phase.seen, index, kControl, kLow);
    if (!most || volts > most->value) most = Peak{volts, phase.phase.name};
  }
  if (!most || most->value > threshold->value) return std::nullopt;
  Finding finding = about_part(input, index, Severity::fault,
                               CheckId(kAboutSwitching, "mosfet-never-on"));
  set_limit(finding, "voltage", most->value, *threshold);
  finding.bound = Bound::lower;
  finding.phase = most->phase;
  const Part& chip = input.parts[by.output.part];
  finding.message = fmt::format(
      "'{}' stays off: '{}.{}' brings its gate to {} from its source, and its "
      "threshold "
      "is {}; give its gate more voltage, or use a type of a lower threshold",
      part.name, chip.name, chip.pins[by.output.pin],
      short_text(most->value, Unit::volt), short_text(threshold->value, Unit::volt));
  return finding;
}

/// A MOS transistor that is off, but whose body diode carries a load's current.
std::optional<Finding> check_body(const CheckInput& input, int index) {
  constexpr double kBodyAmps = 1e-3;  // Common practice, no source.
  const Part& part = input.parts[index];
  const double sign = polarity(part);
  const Peak body = highest(input, [&](const Observation& seen) {
    const double reverse = sign * volts_between(input, seen, index, kLow, kHigh);
    const bool is_body = reverse > kBodyVolts && !is_driven(input, seen, index);
    return is_body ? -sign * pin_amps(seen, index, kHigh) : 0.0;
  });
  if (!exceeds(body.value, kBodyAmps)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::fault,
                               CheckId(kAboutSwitching, "mosfet-body"));
  set_limit(finding, "current", body.value,
            practice(kBodyAmps, Unit::ampere, "a switch that is off carries nothing"));
  finding.phase = body.phase;
  finding.message = fmt::format(
      "'{}' carries {} through its body diode with its gate not driven, so that it "
      "cannot switch that off: are drain and source the wrong way round",
      part.name, short_text(body.value, Unit::ampere));
  return finding;
}

/// What a base current of a twentieth instead of a tenth of the collector's adds to a
/// saturation voltage: kT/q ln 2, and about as much again where the gain is near 50.
/// Volt.
constexpr double kLessBaseVolts = 0.05;

/// The share of the collector's current that a base gets for certain saturation. Common
/// practice, no source.
constexpr double kSaturatedShare = 0.05;

/// The largest saturation voltage that is published at a collector current. Above the
/// last point in proportion, as across a resistance, if the base gets enough: of less
/// the sheet promises nothing there.
std::optional<Figure> saturation_limit(const Part& part, double amps,
                                       double base_amps) {
  if (part.type == nullptr || part.settings.contains("saturation_max"))
    return figure(part, "saturation_max");
  const auto found = part.type->curves.find("saturations");
  if (found == part.type->curves.end()) return figure(part, "saturation_max");
  FigureCurve curve = found->second;
  std::stable_sort(curve.begin(), curve.end(),
                   [](const auto& a, const auto& b) { return a.at < b.at; });
  const auto point = point_at(curve, amps);
  if (!point) return figure(part, "saturation_max");
  const bool is_saturated = !exceeds(kSaturatedShare * amps, base_amps);
  const double times = is_saturated ? std::max(amps / curve.back().at, 1.0) : 1.0;
  const double volts = point->value * times;
  return Figure{volts + kLessBaseVolts, Unit::volt, point->mark,
                point->source + ", and 50 mV for a base current of a twentieth", ""};
}

/// A transistor that is on, in the phase in which it is furthest above what its sheet
/// allows.
struct Kept {
  double volts = 0.0;
  Figure limit;
  std::string phase;
};

/// Whether a transistor holds a current by a resistor at its emitter: a follower whose
/// load stands at its collector.
bool is_sink(const CheckInput& input, const Observation& seen, int index) {
  const int net = input.parts[index].nets[kHigh];
  return net >= 0 && !is_rail(input.circuit, net) && is_follower(input, seen, index);
}

std::optional<Kept> most_kept(const CheckInput& input, int index) {
  constexpr double kOnAmps = 1e-3;  // Common practice, no source.
  const Part& part = input.parts[index];
  const double sign = polarity(part);
  std::optional<Kept> most;
  for (const SeenPhase& phase : input.phases) {
    const double amps = sign * pin_amps(phase.seen, index, kHigh);
    const double base = sign * pin_amps(phase.seen, index, kControl);
    const bool is_on = amps > kOnAmps && base > 0.0 &&
                       is_switched_on(input, phase.phase.state, index) &&
                       !is_sink(input, phase.seen, index);
    const auto limit = is_on ? saturation_limit(part, amps, base) : std::nullopt;
    if (!limit) continue;
    const double volts = sign * volts_between(input, phase.seen, index, kHigh, kLow);
    if (!most || volts / limit->value > most->volts / most->limit.value)
      most = Kept{volts, *limit, phase.phase.name};
  }
  return most;
}

/// A switch that is on has no more than its saturation voltage; with more it is short
/// of base current and heats.
std::optional<Finding> check_saturation(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  if (is_mirror(input, index)) return std::nullopt;
  const auto kept = most_kept(input, index);
  if (!kept || !exceeds(kept->volts, kept->limit.value)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::caution,
                               CheckId(kAboutSwitching, "transistor-saturation"));
  set_limit(finding, "voltage", kept->volts, kept->limit);
  finding.phase = kept->phase;
  const bool is_behind =
      std::any_of(input.phases.begin(), input.phases.end(), [&](const SeenPhase& p) {
        return p.phase.name == kept->phase && is_follower(input, p.seen, index);
      });
  finding.message = fmt::format(
      "'{}' is switched on and keeps {} from collector to emitter, above the {} of "
      "saturation; {}",
      part.name, short_text(kept->volts, Unit::volt),
      short_text(kept->limit.value, Unit::volt),
      is_behind
          ? "what it feeds at its emitter gets 0.7 V less than its base, whatever "
            "the current: put the load at its collector"
          : "give its base more current");
  return finding;
}

}  // namespace

std::vector<Finding> check_switching(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::transistor, [&](int index, const Part&) {
    auto half = check_fully_on(input, index);
    append(findings, half ? std::move(half) : check_saturation(input, index));
  });
  for_parts(input, KindId::mosfet, [&](int index, const Part&) {
    auto off = check_threshold(input, index);
    append(findings, off ? std::move(off) : check_fully_on(input, index));
    append(findings, check_body(input, index));
  });
  return findings;
}

std::span<const Explanation> explain_switching() { return kAboutSwitching; }

}  // namespace benchproof
