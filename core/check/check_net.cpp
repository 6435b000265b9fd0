#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "core/check/limits.h"
#include "core/check/topology.h"

namespace benchproof {
namespace {

/// Extra-low voltage that may be touched: 60 V DC. Wikipedia, Extra-low voltage (cites
/// IEC 61140), and IEC terms entry SELV (IEC 60335-1:2010, 3.4.2).
Figure touch_limit() {
  return {60.0, Unit::volt, Mark::verified,
          "IEC terms entry SELV (IEC 60335-1:2010, 3.4.2)", "DC"};
}

/// A junction that carries less is taken as blocking: the leak of an input (1 uA) is no
/// current that holds a level. Ampere.
constexpr double kConducts = 3e-6;

struct Spread {
  double volts = 0.0;
  int high = 0;
  int low = 0;
  std::string phase;
};

Spread widest(const CheckInput& input) {
  Spread widest;
  for (const SeenPhase& phase : input.phases) {
    const auto& volts = phase.seen.net_volts;
    const auto [low, high] = std::minmax_element(volts.begin(), volts.end());
    if (*high - *low <= widest.volts) continue;
    widest = {*high - *low, static_cast<int>(high - volts.begin()),
              static_cast<int>(low - volts.begin()), phase.phase.name};
  }
  return widest;
}

/// What a circuit's raw sources explain: the sum of the voltages of raw voltage
/// sources, anything where there is a raw current source. These are a textbook's, not a
/// bench's.
double explained_volts(const CheckInput& input) {
  double sum = 0.0;
  for (const Part& part : input.parts) {
    if (part.kind == KindId::current_source) return HUGE_VAL;
    if (part.kind == KindId::voltage_source)
      sum += std::abs(figure(part, "voltage")->value);
  }
  return sum;
}

std::optional<Finding> check_spread(const CheckInput& input) {
  const Figure limit = touch_limit();
  const Spread spread = widest(input);
  if (!exceeds(spread.volts, limit.value)) return std::nullopt;
  const bool is_explained = !exceeds(spread.volts, explained_volts(input));
  const Net& high = input.circuit.nets[spread.high];
  Finding finding;
  finding.severity = is_explained ? Severity::caution : Severity::fault;
  finding.check = "net-voltage";
  finding.net = high.name;
  finding.span = high.span;
  finding.phase = spread.phase;
  set_limit(finding, "voltage", spread.volts, limit);
  finding.message = fmt::format(
      "'{}' lies {} above '{}'; more than {} DC can kill{}", high.name,
      short_text(spread.volts, Unit::volt), input.circuit.nets[spread.low].name,
      short_text(limit.value, Unit::volt),
      is_explained ? ": leave such a circuit on paper" : ", so do not build this");
  return finding;
}

/// Nets joined by parts that hold a voltage or carry current, in groups.
class Joints {
 public:
  explicit Joints(std::size_t nets) : parent_(nets) {
    std::iota(parent_.begin(), parent_.end(), 0);
  }
  int find(int net) {
    while (parent_[net] != net) net = parent_[net] = parent_[parent_[net]];
    return net;
  }
  void join(const Part& part, int pin, int other) {
    const int a = part.nets[pin];
    const int b = part.nets[other];
    if (a >= 0 && b >= 0) parent_[find(a)] = find(b);
  }

 private:
  std::vector<int> parent_;
};

bool carries(const Observation& seen, int index) {
  const auto& amps = seen.pin_amps[index];
  return std::any_of(amps.begin(), amps.end(),
                     [](double a) { return std::abs(a) > kConducts; });
}

/// The magnitude of a MOS transistor's threshold, or nothing.
std::optional<double> threshold(const Part& part) {
  const DeviceModel* model = part.type != nullptr ? &part.type->model : nullptr;
  if (const auto given = part.settings.find("model"); given != part.settings.end())
    model = std::get_if<DeviceModel>(&given->second.value);
  const auto* mos = model != nullptr ? std::get_if<MosModel>(model) : nullptr;
  if (mos == nullptr) return std::nullopt;
  return mos->is_p_channel ? -mos->vto : mos->vto;
}

/// Joins what a part holds together: open switches and outputs, inputs and gates do
/// not. A junction that blocks does only where `junctions_hold`.
void join_part(const CheckInput& input, const SeenPhase& phase, int index,
               bool junctions_hold, Joints& joints) {
  const Part& part = input.parts[index];
  switch (part.kind) {
    case KindId::capacitor:
    case KindId::current_source:
      return;
    case KindId::switch_: {
      const auto closed = phase.phase.state.closed.find(index);
      if (closed != phase.phase.state.closed.end() && closed->second)
        joints.join(part, 0, 1);
      return;
    }
    case KindId::diode:
    case KindId::zener:
    case KindId::led:
      if (junctions_hold || carries(phase.seen, index)) joints.join(part, 0, 1);
      return;
    case KindId::transistor:
      if (!junctions_hold && !carries(phase.seen, index)) return;
      joints.join(part, 0, 2);
      joints.join(part, 1, 2);
      return;
    case KindId::mosfet: {
      const auto least = threshold(part);
      const bool is_p = word(part, "channel") == "p";
      const double gate = volts_between(input, phase.seen, index, 0, 2);
      const bool is_on = least && (is_p ? -gate : gate) > *least;
      if (junctions_hold || is_on || carries(phase.seen, index))
        joints.join(part, 1, 2);
      return;
    }
    case KindId::controller:
      joints.join(part, 0, 1);
      for (int pin = 2; pin < static_cast<int>(part.pins.size()); ++pin) {
        const auto level = phase.phase.state.outputs.find({index, pin});
        const bool is_open = level != phase.phase.state.outputs.end() &&
                             level->second.level == OutputSetting::Level::open;
        if (is_output_pin(part, pin) && !is_open) joints.join(part, pin, 1);
      }
      return;
    default:
      for (int pin = 1; pin < static_cast<int>(part.pins.size()); ++pin)
        joints.join(part, 0, pin);
  }
}

Joints joints_of(const CheckInput& input, const SeenPhase& phase, bool junctions_hold) {
  Joints joints(input.circuit.nets.size());
  for (std::size_t i = 0; i < input.parts.size(); ++i)
    join_part(input, phase, static_cast<int>(i), junctions_hold, joints);
  return joints;
}

/// The first pin of a net that needs a certain level: a controller's input, else a
/// gate.
std::optional<PinRef> listener(const CheckInput& input, const Net& net) {
  std::optional<PinRef> gate;
  for (const PinRef pin : net.pins) {
    const Part& part = input.parts[pin.part];
    if (part.kind == KindId::controller && pin.pin >= 2 &&
        !is_output_pin(part, pin.pin))
      return pin;
    if (part.kind == KindId::mosfet && pin.pin == 0 && !gate) gate = pin;
  }
  return gate;
}

Finding hanging(const CheckInput& input, const SeenPhase& phase, int index) {
  const Net& net = input.circuit.nets[index];
  Finding finding;
  finding.severity = Severity::note;
  finding.check = "net-hanging";
  finding.net = net.name;
  finding.span = net.span;
  finding.quantity = "voltage";
  finding.unit = Unit::volt;
  finding.value = phase.seen.net_volts[index];
  finding.phase = phase.phase.name;
  finding.source = "common practice, no source (a net that matters is held)";
  finding.message =
      fmt::format("nothing holds '{}': only leakage sets its level", net.name);
  const auto pin = listener(input, net);
  if (!pin) return finding;
  const Part& part = input.parts[pin->part];
  finding.severity =
      part.kind == KindId::controller ? Severity::fault : Severity::caution;
  finding.part = part.name;
  finding.message += fmt::format(
      ", which '{}.{}' depends on; join it to a rail with a resistor of "
      "some 10 kohm",
      part.name, part.pins[pin->pin]);
  return finding;
}

/// Nets that hang on leakage alone in a phase. Where a controller's input or a gate
/// listens, a junction must carry current to count as a path; elsewhere it need not:
/// the net between a lamp and its open switch is no trouble.
void check_hanging(const CheckInput& input, const SeenPhase& phase,
                   std::vector<Finding>& findings) {
  Joints strict = joints_of(input, phase, false);
  Joints loose = joints_of(input, phase, true);
  for (int n = 1; n < static_cast<int>(input.circuit.nets.size()); ++n) {
    const Net& net = input.circuit.nets[n];
    Joints& joints = listener(input, net) ? strict : loose;
    if (joints.find(n) == joints.find(0)) continue;
    const bool is_told =
        std::any_of(findings.begin(), findings.end(), [&](const Finding& f) {
          return f.check == "net-hanging" && f.net == net.name;
        });
    if (!is_told) findings.push_back(hanging(input, phase, n));
  }
}

}  // namespace

std::vector<Finding> check_net(const CheckInput& input) {
  std::vector<Finding> findings;
  add(findings, check_spread(input));
  for (const SeenPhase& phase : input.phases) check_hanging(input, phase, findings);
  return findings;
}

}  // namespace benchproof
