#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <utility>
#include <vector>

#include "core/check/always/always.h"
#include "core/check/finding/wording.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
    {"led-shared-resistor", "LEDs in parallel that share one resistor",
     "two or more LEDs, or strings of LEDs, from one net to another of which not both "
     "are held at a voltage",
     "common practice, no source (practice)",
     "the one with the lowest forward voltage takes most of the current: 0.1 V less "
     "is several times the current; it warms up, its voltage falls, and it takes still "
     "more until it fails, and then the next",
     "give each LED, or each string, a resistor of its own: R = (supply - forward "
     "voltage) / its current"},
};
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

/// LEDs in series, with nothing else at the nets between them.
struct String {
  std::vector<int> leds;  ///< From the anode's end.
  int from = -1;          ///< Net at the anode's end.
  int to = -1;            ///< Net at the cathode's end.
};

/// The LED whose anode (or cathode) stands alone with a pin of another LED on a net.
int joined_led(const Circuit& circuit, int net, int from, int pin) {
  if (net < 0 || is_rail(circuit, net)) return -1;
  const auto pins = resting_pins(circuit, net);
  if (pins.size() != 2) return -1;
  const PinRef other = pins[0].part == from ? pins[1] : pins[0];
  const bool is_led = circuit.parts[other.part].kind == KindId::led;
  return is_led && other.part != from && other.pin == pin ? other.part : -1;
}

/// The string that begins at an LED; nothing where the LED is not its first.
std::optional<String> string_from(const Circuit& circuit, int first) {
  const Part& head = circuit.parts[first];
  if (joined_led(circuit, head.nets[0], first, 1) >= 0) return std::nullopt;
  String string{{first}, head.nets[0], head.nets[1]};
  for (int next = joined_led(circuit, string.to, first, 0); next >= 0;
       next = joined_led(circuit, string.to, string.leds.back(), 0)) {
    string.leds.push_back(next);
    string.to = circuit.parts[next].nets[1];
  }
  return string;
}

/// Whether what stands on a net sets its voltage, so that each string has its own: a
/// rail, or a controller's output, where a missing resistor has a check of its own.
bool is_set(const Circuit& circuit, int net) {
  if (is_rail(circuit, net)) return true;
  const auto& pins = circuit.nets[net].pins;
  return std::any_of(pins.begin(), pins.end(), [&](PinRef pin) {
    return is_output_pin(circuit.parts[pin.part], pin.pin);
  });
}

/// The one resistor that stands at either end, or -1.
int shared_resistor(const Circuit& circuit, int from, int to) {
  int found = -1;
  for (const int net : {from, to}) {
    if (is_rail(circuit, net)) continue;
    for (const PinRef pin : circuit.nets[net].pins) {
      if (circuit.parts[pin.part].kind != KindId::resistor) continue;
      if (found >= 0 && found != pin.part) return -1;
      found = pin.part;
    }
  }
  return found;
}

}  // namespace

std::vector<Finding> check_parallel_leds(const Circuit& circuit) {
  std::map<std::pair<int, int>, std::vector<String>> by_ends;
  std::vector<std::pair<int, int>> order;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    if (circuit.parts[k].kind != KindId::led) continue;
    auto string = string_from(circuit, static_cast<int>(k));
    if (!string || string->from < 0 || string->to < 0 || string->from == string->to)
      continue;
    const std::pair ends{string->from, string->to};
    if (!by_ends.contains(ends)) order.push_back(ends);
    by_ends[ends].push_back(std::move(*string));
  }
  std::vector<Finding> findings;
  for (const auto& ends : order) {
    const std::vector<String>& strings = by_ends[ends];
    const auto [from, to] = ends;
    if (strings.size() < 2 || (is_set(circuit, from) && is_set(circuit, to))) continue;
    constexpr std::size_t kMostNames = 4;
    std::vector<std::string> names;
    for (const String& string : strings) {
      const std::string& name = circuit.parts[string.leds.front()].name;
      names.push_back(string.leds.size() > 1 ? fmt::format("string '{}'", name)
                                             : fmt::format("'{}'", name));
    }
    const std::size_t more = names.size() - std::min(names.size(), kMostNames);
    names.resize(names.size() - more);
    const std::string last =
        more > 0 ? fmt::format("{} more", more) : std::exchange(names.back(), {});
    if (more == 0) names.pop_back();
    const int resistor = shared_resistor(circuit, from, to);
    Finding finding;
    finding.severity = Severity::caution;
    finding.check = id("led-shared-resistor");
    const Part& first = circuit.parts[strings.front().leds.front()];
    finding.part = first.name;
    finding.span = first.span;
    finding.source = source_of(
        practice(0.0, Unit::none, "an LED has a resistor in series of its own"));
    finding.message = fmt::format(
        "{} and {} stand in parallel behind {}: the one with the lowest forward "
        "voltage takes most of the current and fails first; give each a resistor of "
        "its own",
        fmt::join(names, ", "), last,
        resistor >= 0 ? fmt::format("'{}' alone", circuit.parts[resistor].name)
                      : "one and the same feed");
    findings.push_back(std::move(finding));
  }
  return findings;
}

std::span<const Explanation> explain_parallel_leds() { return kExplained; }

}  // namespace benchproof
