#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <deque>
#include <map>
#include <utility>
#include <vector>

#include "core/check/always/always.h"
#include "core/check/always/one_nets.h"
#include "core/check/always/parallel_leds.h"
#include "core/check/finding/wording.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutParallelLeds[] = {
    {"led-shared-resistor", "LEDs in parallel that share one resistor",
     "in any phase of any state two or more LEDs, or strings of LEDs, from one net to "
     "another of which not both are held at a voltage; nets with a wire, a fuse, a "
     "closed switch or a transistor that is on between, and outputs of one level, "
     "count "
     "as one. Where one at a time is lit, they share without harm",
     "common practice, no source (practice)",
     "the one with the lowest forward voltage takes most of the current: 0.1 V less "
     "is several times the current; it warms up, its voltage falls, and it takes still "
     "more until it fails, and then the next",
     "give each LED, or each string, a resistor of its own: R = (supply - forward "
     "voltage) / its current"},
};

/// LEDs in series, with nothing else at the nets between them.
struct String {
  std::vector<int> leds;  ///< From the anode's end.
  int from = -1;          ///< Net at the anode's end.
  int to = -1;            ///< Net at the cathode's end.
};

/// What is looked at: a circuit in a phase.
struct Place {
  const Circuit& circuit;
  const OneNets& nets;
};

/// The LED whose anode (or cathode) stands alone with a pin of another LED on a net.
int joined_led(const Place& place, int net, int from, int pin) {
  if (net < 0 || place.nets.is_set(net)) return -1;
  const auto pins = place.nets.pins(net);
  if (pins.size() != 2) return -1;
  const PinRef other = pins[0].part == from ? pins[1] : pins[0];
  const bool is_led = place.circuit.parts[other.part].kind == KindId::led;
  return is_led && other.part != from && other.pin == pin ? other.part : -1;
}

/// The string that begins at an LED; nothing where the LED is not its first.
std::optional<String> string_from(const Place& place, int first) {
  const auto net = [&](int led, int pin) {
    return place.nets.of(place.circuit.parts[led].nets[pin]);
  };
  if (joined_led(place, net(first, 0), first, 1) >= 0) return std::nullopt;
  String string{{first}, net(first, 0), net(first, 1)};
  for (int next = joined_led(place, string.to, first, 0); next >= 0;
       next = joined_led(place, string.to, string.leds.back(), 0)) {
    string.leds.push_back(next);
    string.to = net(next, 1);
  }
  return string;
}

/// The one resistor that stands at either end, or -1.
int shared_resistor(const Place& place, int from, int to) {
  int found = -1;
  for (const int net : {from, to}) {
    if (place.nets.is_set(net)) continue;
    for (const PinRef pin : place.nets.pins(net)) {
      if (place.circuit.parts[pin.part].kind != KindId::resistor) continue;
      if (found >= 0 && found != pin.part) return -1;
      found = pin.part;
    }
  }
  return found;
}

/// Strings that share what feeds them.
struct Sharing {
  std::vector<int> firsts;  ///< The first LED of each, in the description's order.
  std::vector<String> strings;
  int resistor = -1;
};

std::vector<Sharing> sharing_in(const Place& place) {
  std::map<std::pair<int, int>, Sharing> by_ends;
  for (int k = 0; k < static_cast<int>(place.circuit.parts.size()); ++k) {
    if (place.circuit.parts[k].kind != KindId::led) continue;
    auto string = string_from(place, k);
    if (!string || string->from < 0 || string->to < 0 || string->from == string->to)
      continue;
    Sharing& sharing = by_ends[{string->from, string->to}];
    sharing.firsts.push_back(k);
    sharing.strings.push_back(std::move(*string));
  }
  std::vector<Sharing> found;
  for (auto& [ends, sharing] : by_ends) {
    const auto [from, to] = ends;
    if (sharing.strings.size() < 2) continue;
    if (place.nets.is_set(from) && place.nets.is_set(to)) continue;
    sharing.resistor = shared_resistor(place, from, to);
    found.push_back(std::move(sharing));
  }
  return found;
}

/// Keeps of those that share LEDs the one of the most strings.
void keep_largest(std::vector<Sharing>& all, Sharing next) {
  const auto covers = [](const Sharing& a, const Sharing& b) {
    return std::includes(a.firsts.begin(), a.firsts.end(), b.firsts.begin(),
                         b.firsts.end());
  };
  if (std::any_of(all.begin(), all.end(),
                  [&](const Sharing& known) { return covers(known, next); }))
    return;
  std::erase_if(all, [&](const Sharing& known) { return covers(next, known); });
  all.push_back(std::move(next));
}

/// "'a', string 'b' and 2 more"
std::string names_of(const Circuit& circuit, const std::vector<String>& strings) {
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
  return fmt::format("{} and {}", fmt::join(names, ", "), last);
}

Finding tell_sharing(const Circuit& circuit, const Sharing& sharing) {
  Finding finding;
  finding.severity = Severity::caution;
  finding.check = CheckId(kAboutParallelLeds, "led-shared-resistor");
  const Part& first = circuit.parts[sharing.firsts.front()];
  finding.part = first.name;
  finding.span = first.span;
  finding.source = source_of(
      practice(0.0, Unit::none, "an LED has a resistor in series of its own"));
  finding.message = fmt::format(
      "{} stand in parallel behind {}: the one with the lowest forward voltage takes "
      "most of the current and fails first; give each a resistor of its own",
      names_of(circuit, sharing.strings),
      sharing.resistor >= 0
          ? fmt::format("'{}' alone", circuit.parts[sharing.resistor].name)
          : "one and the same feed");
  return finding;
}

}  // namespace

std::vector<Finding> check_shared_leds(const Circuit& circuit,
                                       const std::vector<ConductingPhase>& phases) {
  const auto leds =
      std::count_if(circuit.parts.begin(), circuit.parts.end(),
                    [](const Part& part) { return part.kind == KindId::led; });
  if (leds < 2) return {};
  std::vector<Sharing> all;
  for (const ConductingPhase& phase : phases) {
    const OneNets nets(circuit, *phase.state, phase.on);
    for (Sharing& sharing : sharing_in({circuit, nets}))
      keep_largest(all, std::move(sharing));
  }
  std::sort(all.begin(), all.end(), [](const Sharing& a, const Sharing& b) {
    return a.firsts.front() < b.firsts.front();
  });
  std::vector<Finding> findings;
  for (const Sharing& sharing : all) findings.push_back(tell_sharing(circuit, sharing));
  return findings;
}

std::vector<Finding> check_parallel_leds(const Circuit& circuit) {
  std::deque<Phase> all;
  std::vector<ConductingPhase> conducting;
  for (const State& state : circuit.states) {
    for (Phase& phase : phases(circuit, state)) {
      all.push_back(std::move(phase));
      conducting.push_back({&all.back().state, {}});
    }
  }
  return check_shared_leds(circuit, conducting);
}

std::span<const Explanation> explain_parallel_leds() { return kAboutParallelLeds; }

}  // namespace benchproof
