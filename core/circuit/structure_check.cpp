#include "core/circuit/structure_check.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <deque>
#include <numeric>

#include "core/base/diagnostic_ids.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// Which nets hang together.
class Groups {
 public:
  explicit Groups(std::size_t size) : parents_(size) {
    std::iota(parents_.begin(), parents_.end(), 0);
  }

  int find(int item) {
    while (parent(item) != item) {
      parent(item) = parent(parent(item));
      item = parent(item);
    }
    return item;
  }

  void join(int a, int b) { parent(find(b)) = find(a); }

 private:
  int& parent(int item) { return parents_[static_cast<std::size_t>(item)]; }

  std::vector<int> parents_;
};

std::string pin_text(const Circuit& circuit, PinRef pin) {
  const Part& part = circuit.parts[static_cast<std::size_t>(pin.part)];
  return fmt::format("'{}.{}'", part.name,
                     part.pins[static_cast<std::size_t>(pin.pin)]);
}

/// The first few of a list, and that there are more.
std::string listed(const std::vector<std::string>& texts) {
  constexpr std::size_t kMost = 8;
  const auto end =
      texts.begin() + static_cast<std::ptrdiff_t>(std::min(kMost, texts.size()));
  return fmt::format("{}{}", fmt::join(texts.begin(), end, ", "),
                     texts.size() > kMost ? ", ..." : "");
}

bool is_dc_path(KindId kind) {
  return kind != KindId::capacitor && kind != KindId::current_source;
}

/// What hangs together by parts that pass a current at rest. An insulated gate leaks,
/// enough to have a voltage but not for a current source: `with_gates` tells which is
/// meant.
Groups dc_groups(const Circuit& circuit, bool with_gates) {
  Groups groups(circuit.nets.size());
  for (const Part& part : circuit.parts) {
    if (!is_dc_path(part.kind) && !is_in_series_electrolytic(circuit, part)) continue;
    int first = -1;
    for (std::size_t pin = 0; pin < part.nets.size(); ++pin) {
      const int net = part.nets[pin];
      const bool is_gate = part.kind == KindId::mosfet && part.pins[pin] == "gate";
      if (net < 0 || (is_gate && !with_gates)) continue;
      if (first >= 0) groups.join(first, net);
      first = net;
    }
  }
  return groups;
}

/// Complains about current sources without a way back, and marks the groups of nets
/// that they drive, so that these are not told twice.
void check_current_sources(const Circuit& circuit, Groups& groups, Groups& conducting,
                           std::vector<bool>& is_told,
                           std::vector<Diagnostic>& diagnostics) {
  for (std::size_t i = 0; i < circuit.parts.size(); ++i) {
    const Part& part = circuit.parts[i];
    if (part.kind != KindId::current_source) continue;
    const int plus = part.nets[0];
    const int minus = part.nets[1];
    if (plus >= 0 && minus >= 0 && conducting.find(plus) == conducting.find(minus))
      continue;
    for (const int net : {plus, minus})
      if (net >= 0) is_told[static_cast<std::size_t>(groups.find(net))] = true;
    const int index = static_cast<int>(i);
    diagnostics.push_back(
        {std::string(kSourcePath.name), part.span,
         fmt::format("no DC path leads from {} back to {}",
                     pin_text(circuit, {index, 0}), pin_text(circuit, {index, 1})),
         "a current source needs a part that conducts between its nets"});
  }
}

bool is_any_source(const Part& part) {
  return part.kind == KindId::voltage_source || part.kind == KindId::dc_supply ||
         part.kind == KindId::battery;
}

void check_floating(const Circuit& circuit, Groups& groups,
                    const std::vector<bool>& is_told,
                    std::vector<Diagnostic>& diagnostics) {
  std::vector<int> held = {groups.find(0)};
  for (const LocalZero& zero : circuit.local_zeros)
    held.push_back(groups.find(zero.net));
  std::map<int, std::vector<std::size_t>> islands;
  for (std::size_t i = 1; i < circuit.nets.size(); ++i) {
    const int group = groups.find(static_cast<int>(i));
    const bool is_held = std::find(held.begin(), held.end(), group) != held.end();
    if (!is_held && !is_told[static_cast<std::size_t>(group)])
      islands[group].push_back(i);
  }
  for (const auto& [group, nets] : islands) {
    std::vector<std::string> names;
    std::vector<std::string> pins;
    for (const std::size_t net : nets) {
      names.push_back(fmt::format("'{}'", circuit.nets[net].name));
      for (const PinRef pin : circuit.nets[net].pins)
        pins.push_back(pin_text(circuit, pin));
    }
    const bool is_one = nets.size() == 1;
    diagnostics.push_back(
        {std::string(kNetFloating.name), circuit.nets[nets.front()].span,
         fmt::format("{} {} {} no DC path to ground", is_one ? "net" : "nets",
                     listed(names), is_one ? "has" : "have"),
         fmt::format("joined there: {}; capacitors and current sources are no DC path: "
                     "join it to ground, straight or through a resistor",
                     listed(pins))});
  }
}

/// A part that holds the voltage between two nets.
struct Link {
  int part = -1;
  int a = -1;
  int b = -1;
};

bool is_winding(const Part& part) {
  if (part.kind != KindId::inductor) return false;
  const auto dcr = figure(part, "dcr");
  return !dcr || dcr->value == 0.0;
}

bool is_ideal_source(const Part& part) {
  return part.kind == KindId::voltage_source ||
         (part.kind == KindId::dc_supply && flag(part, "regulated", true));
}

/// The links from one net to another in a forest, or nothing.
std::vector<Link> path_between(const std::vector<std::vector<Link>>& forest, int from,
                               int to) {
  std::vector<Link> came_by(forest.size());
  std::vector<bool> is_seen(forest.size(), false);
  std::deque<int> queue = {from};
  is_seen[static_cast<std::size_t>(from)] = true;
  while (!queue.empty()) {
    const int net = queue.front();
    queue.pop_front();
    for (const Link& link : forest[static_cast<std::size_t>(net)]) {
      const auto next = static_cast<std::size_t>(link.b);
      if (is_seen[next]) continue;
      is_seen[next] = true;
      came_by[next] = link;
      queue.push_back(link.b);
    }
  }
  std::vector<Link> path;
  if (!is_seen[static_cast<std::size_t>(to)]) return path;
  for (int net = to; net != from; net = path.back().a)
    path.push_back(came_by[static_cast<std::size_t>(net)]);
  return path;
}

std::vector<std::string> names_of(const std::vector<Part>& parts,
                                  const std::vector<Link>& links) {
  std::vector<std::string> names;
  names.reserve(links.size());
  for (const Link& link : links)
    names.push_back(
        fmt::format("'{}'", parts[static_cast<std::size_t>(link.part)].name));
  return names;
}

/// The two-pin parts that fulfil a condition and have both pins on nets.
template <typename Condition>
std::vector<Link> links_of(const std::vector<Part>& parts, Condition&& condition) {
  std::vector<Link> links;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const Part& part = parts[i];
    if (condition(part) && part.nets[0] >= 0 && part.nets[1] >= 0)
      links.push_back({static_cast<int>(i), part.nets[0], part.nets[1]});
  }
  return links;
}

/// Complains about loops of links that hold voltages, in one state.
void check_loops(const Circuit& circuit, const std::vector<Part>& parts,
                 std::vector<Diagnostic>& diagnostics) {
  std::vector<std::vector<Link>> forest(circuit.nets.size());
  Groups groups(circuit.nets.size());
  const auto part_at = [&parts](int index) -> const Part& {
    return parts[static_cast<std::size_t>(index)];
  };
  // Windings first: what they join counts as one net for the supplies.
  for (const Link& link : links_of(parts, is_winding)) {
    if (link.a == link.b) continue;  // A winding shorted by its net carries nothing.
    if (groups.find(link.a) == groups.find(link.b)) {
      std::vector<Link> loop = path_between(forest, link.a, link.b);
      loop.push_back(link);
      diagnostics.push_back({std::string(kSourceLoop.name), part_at(link.part).span,
                             fmt::format("windings without resistance form a loop: {}",
                                         listed(names_of(parts, loop))),
                             "give an inductor its 'dcr'"});
      continue;
    }
    groups.join(link.a, link.b);
    forest[static_cast<std::size_t>(link.a)].push_back(link);
    forest[static_cast<std::size_t>(link.b)].push_back({link.part, link.b, link.a});
  }
  std::vector<Link> sources;
  for (const Link& link : links_of(parts, is_any_source)) {
    const Part& part = part_at(link.part);
    if (groups.find(link.a) != groups.find(link.b)) {
      if (is_ideal_source(part)) sources.push_back(link);
      continue;
    }
    const std::vector<Link> windings = path_between(forest, link.a, link.b);
    const std::string through =
        windings.empty()
            ? fmt::format("on net '{}'",
                          circuit.nets[static_cast<std::size_t>(link.a)].name)
            : fmt::format("by {}, which has no resistance",
                          listed(names_of(parts, windings)));
    diagnostics.push_back(
        {std::string(kSupplyShorted.name), part.span,
         fmt::format("{} and {} are joined {}", pin_text(circuit, {link.part, 0}),
                     pin_text(circuit, {link.part, 1}), through),
         ""});
  }
  for (const Link& link : sources) {
    if (groups.find(link.a) == groups.find(link.b)) {
      std::vector<Link> loop = path_between(forest, link.a, link.b);
      loop.push_back(link);
      diagnostics.push_back(
          {std::string(kSourceLoop.name), part_at(link.part).span,
           fmt::format("sources that hold their voltage form a loop: {}",
                       listed(names_of(parts, loop))),
           "put a resistor in between, or the resistance that real sources have"});
      continue;
    }
    groups.join(link.a, link.b);
    forest[static_cast<std::size_t>(link.a)].push_back(link);
    forest[static_cast<std::size_t>(link.b)].push_back({link.part, link.b, link.a});
  }
}

}  // namespace

std::vector<LocalZero> local_zeros(const Circuit& circuit) {
  std::vector<LocalZero> zeros;
  if (circuit.nets.empty()) return zeros;
  Groups groups = dc_groups(circuit, true);
  std::vector<int> held = {groups.find(0)};
  for (std::size_t i = 0; i < circuit.parts.size(); ++i) {
    const Part& part = circuit.parts[i];
    if (!is_any_source(part) || part.nets[0] < 0 || part.nets[1] < 0) continue;
    const int group = groups.find(part.nets[1]);
    if (std::find(held.begin(), held.end(), group) != held.end()) continue;
    held.push_back(group);
    zeros.push_back({static_cast<int>(i), part.nets[1]});
  }
  return zeros;
}

std::vector<Diagnostic> check_structure(const Circuit& circuit) {
  std::vector<Diagnostic> diagnostics;
  if (circuit.nets.empty()) return diagnostics;
  Groups groups = dc_groups(circuit, true);
  Groups conducting = dc_groups(circuit, false);
  std::vector<bool> is_told(circuit.nets.size(), false);
  check_current_sources(circuit, groups, conducting, is_told, diagnostics);
  check_floating(circuit, groups, is_told, diagnostics);
  check_loops(circuit, circuit.parts, diagnostics);
  for (const State& state : circuit.states)
    if (!state.settings.empty())
      check_loops(circuit, parts_in(circuit, state), diagnostics);
  sort_by_position(diagnostics);
  return diagnostics;
}

}  // namespace benchproof
