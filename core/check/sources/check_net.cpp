#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/check/rest/joints.h"
#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutNet[] = {
    {"net-voltage", "the largest voltage between any two nets",
     "highest net voltage - lowest net voltage, in each phase, at most 60 V",
     "60 V DC: IEC terms entry SELV (IEC 60335-1:2010, 3.4.2) (verified)",
     "above extra-low voltage a touch can kill",
     "lower the supply; leave a textbook's high-voltage circuit on paper"},
    {"net-hanging", "nets that nothing holds at a level",
     "a net that no part joins to the rest but by leakage: open switches, open "
     "outputs, blocking junctions",
     "common practice, no source (practice)",
     "leakage and interference then set the level: an input there reads anything, a "
     "gate switches by itself",
     "join the net to a rail with a resistor of some 10 kohm"},
};

/// Extra-low voltage that may be touched: 60 V DC. Wikipedia, Extra-low voltage (cites
/// IEC 61140), and IEC terms entry SELV (IEC 60335-1:2010, 3.4.2).
Figure touch_limit() {
  return {60.0, Unit::volt, Mark::verified,
          "IEC terms entry SELV (IEC 60335-1:2010, 3.4.2)", "DC"};
}

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
  finding.check = CheckId(kAboutNet, "net-voltage");
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
  finding.check = CheckId(kAboutNet, "net-hanging");
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
  // An output that a state opens holds a gate the rest of the time.
  const bool is_for_a_time =
      part.kind != KindId::controller &&
      std::any_of(net.pins.begin(), net.pins.end(), [&input](PinRef other) {
        const Part& chip = input.parts[other.part];
        return chip.kind == KindId::controller && is_output_pin(chip, other.pin);
      });
  finding.severity = is_for_a_time ? Severity::caution : Severity::fault;
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
  std::optional<Joints> strict;  // Made where something listens.
  Joints loose = joints_of(input, phase, {.junctions_hold = true});
  for (int n = 1; n < static_cast<int>(input.circuit.nets.size()); ++n) {
    const Net& net = input.circuit.nets[n];
    const bool has_listener = listener(input, net).has_value();
    if (has_listener && !strict)
      strict = joints_of(input, phase, {.junctions_hold = false});
    Joints& joints = has_listener ? *strict : loose;
    if (joints.are_joined(n, 0) || is_between_electrolytics(input.circuit, n)) continue;
    const bool is_told =
        std::any_of(findings.begin(), findings.end(), [&](const Finding& f) {
          return f.check == "net-hanging" && f.net == net.name;
        });
    if (!is_told) findings.push_back(hanging(input, phase, n));
  }
}

/// Inputs that are left open on purpose: on nothing at all.
void check_open_inputs(const CheckInput& input, std::vector<Finding>& findings) {
  for_parts(input, KindId::controller, [&](int index, const Part& chip) {
    for (int pin = kFirstPin; pin < static_cast<int>(chip.pins.size()); ++pin) {
      if (chip.nets[pin] >= 0 || is_output_pin(chip, pin)) continue;
      Finding finding = about_part(input, index, Severity::caution,
                                   CheckId(kAboutNet, "net-hanging"));
      finding.source = "common practice, no source (a net that matters is held)";
      finding.message = fmt::format(
          "input '{}.{}' is left open and reads anything; join it to a rail, or make "
          "it "
          "an output",
          chip.name, chip.pins[pin]);
      findings.push_back(std::move(finding));
    }
  });
}

}  // namespace

std::vector<Finding> check_net(const CheckInput& input) {
  std::vector<Finding> findings;
  append(findings, check_spread(input));
  for (const SeenPhase& phase : input.phases) check_hanging(input, phase, findings);
  check_open_inputs(input, findings);
  return findings;
}

std::span<const Explanation> explain_net() { return kAboutNet; }

}  // namespace benchproof
