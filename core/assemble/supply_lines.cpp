#include "core/assemble/supply_lines.h"

#include <algorithm>
#include <deque>
#include <functional>
#include <optional>

#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr int kNoWay = 1'000'000;

/// What it costs a way to lead through a part, and between which of its pins. A way
/// takes the dearer only where there is no cheaper one.
struct Passage {
  int from = 0;
  int to = 1;
  int cost = kNoWay;
};

Passage passage_of(const Part& part) {
  switch (part.kind) {
    case KindId::fuse:
    case KindId::wire:
    case KindId::switch_:
    case KindId::inductor:
    case KindId::diode:
      return {0, 1, 1};
    case KindId::transistor:
    case KindId::mosfet:
      return {1, 2, 10};
    case KindId::resistor:
    case KindId::heat_resistor:
      return {0, 1, 30};
    default:
      return {};
  }
}

class Finder {
 public:
  explicit Finder(const Circuit& circuit) : circuit_(circuit) {
    found_.line_of_net.assign(circuit.nets.size(), -1);
    found_.line_of_part.assign(circuit.parts.size(), -1);
  }

  SupplyLines find() {
    for (int k = 0; k < count(); ++k)
      if (is_source(circuit_.parts[k].kind) && found_.line_of_part[k] < 0)
        begin_source(k);
    for (std::size_t k = 0; k < found_.lines.size(); ++k) follow(k);
    // What no source feeds by a way of this kind still is a line of its own.
    for (int k = 0; k < count(); ++k) {
      if (circuit_.parts[k].kind != KindId::regulator) continue;
      if (found_.line_of_part[k] >= 0) continue;
      begin_regulator(k);
      follow(found_.lines.size() - 1);
    }
    return std::move(found_);
  }

 private:
  [[nodiscard]] int count() const { return static_cast<int>(circuit_.parts.size()); }
  [[nodiscard]] bool zero(int net) const { return net < 0 || is_zero(circuit_, net); }

  void begin_source(int part) {
    const std::vector<int>& nets = circuit_.parts[part].nets;
    const bool is_negative = zero(nets[0]) && !zero(nets[1]);
    open({part, is_negative, {}, {}});
    if (!zero(nets[is_negative ? 1 : 0])) put_net(nets[is_negative ? 1 : 0]);
    if (!is_negative && !zero(nets[1])) put_way_back(nets[1], part);
  }

  void begin_regulator(int part) {
    open({part, polarity(circuit_.parts[part]) < 0.0, {}, {}});
    const int out = circuit_.parts[part].nets[2];
    if (!zero(out)) put_net(out);
  }

  void open(SupplyLine line) {
    current_ = static_cast<int>(found_.lines.size());
    found_.line_of_part[line.part] = current_;
    found_.lines.push_back(std::move(line));
  }

  void put_net(int net) {
    if (found_.line_of_net[net] >= 0) return;
    found_.line_of_net[net] = current_;
    found_.lines[current_].nets.push_back(net);
  }

  void put_part(int part) {
    if (found_.line_of_part[part] >= 0) return;
    found_.line_of_part[part] = current_;
    found_.lines[current_].parts.push_back(part);
  }

  /// Follows a line to all that it feeds. New lines begin at the regulators there.
  void follow(std::size_t line) {
    current_ = static_cast<int>(line);
    if (found_.lines[line].nets.empty()) return;
    const int start = found_.lines[line].nets.front();
    const bool feeds = put_ways(start, found_.lines[line].part);
    const bool begins = is_source(circuit_.parts[found_.lines[line].part].kind);
    if (!feeds && begins) put_what_stands_alone(start, found_.lines[line].part);
    for (std::size_t k = 0; k < found_.lines[line].nets.size(); ++k) {
      for (const PinRef pin : circuit_.nets[found_.lines[line].nets[k]].pins) {
        const bool is_met =
            circuit_.parts[pin.part].kind == KindId::regulator && pin.pin == 0;
        if (is_met && found_.line_of_part[pin.part] < 0) {
          begin_regulator(pin.part);
          current_ = static_cast<int>(line);
        }
      }
    }
  }

  /// Where the ways from a net lead: the cost of each net, and the part before it.
  struct Reach {
    std::vector<int> cost;
    std::vector<PinRef> by;  ///< The part, and its pin at the net before.
  };

  /// `ends` tells of a net whether the way may not go on from there.
  Reach reach(int start, const std::function<bool(int)>& ends, int but,
              bool through_sources) const {
    Reach there{std::vector<int>(circuit_.nets.size(), kNoWay),
                std::vector<PinRef>(circuit_.nets.size())};
    there.cost[start] = 0;
    std::deque<int> queue{start};
    while (!queue.empty()) {
      const int net = queue.front();
      queue.pop_front();
      if (net != start && ends(net)) continue;
      for (const PinRef pin : circuit_.nets[net].pins) {
        const Part& part = circuit_.parts[pin.part];
        Passage passage = passage_of(part);
        if (through_sources && is_source(part.kind)) passage = {0, 1, 1};
        if (pin.part == but || passage.cost >= kNoWay) continue;
        if (pin.pin != passage.from && pin.pin != passage.to) continue;
        const int other =
            part.nets[pin.pin == passage.from ? passage.to : passage.from];
        if (other < 0 || there.cost[other] <= there.cost[net] + passage.cost) continue;
        there.cost[other] = there.cost[net] + passage.cost;
        there.by[other] = pin;
        queue.push_back(other);
      }
    }
    return there;
  }

  void put_way(const Reach& there, int start, int end) {
    std::vector<int> nets;
    std::vector<int> parts;
    for (int net = end; net != start;) {
      nets.push_back(net);
      parts.push_back(there.by[net].part);
      net = circuit_.parts[there.by[net].part].nets[there.by[net].pin];
    }
    std::for_each(parts.rbegin(), parts.rend(), [this](int part) { put_part(part); });
    std::for_each(nets.rbegin(), nets.rend(), [this](int net) {
      if (!zero(net)) put_net(net);
    });
  }

  /// Whether a line has somewhere to lead to, and the ways to all of them.
  bool put_ways(int start, int from) {
    const Reach there = reach(
        start, [this](int net) { return zero(net); }, from, false);
    bool feeds = false;
    for (int k = 0; k < count(); ++k) {
      const Part& part = circuit_.parts[k];
      if (k == from) continue;
      const bool is_regulator = part.kind == KindId::regulator;
      if (!is_regulator && part.kind != KindId::controller) continue;
      for (const int pin : is_regulator ? std::vector{0} : std::vector{kVdd, kVss}) {
        const int net = part.nets[pin];
        if (net < 0 || zero(net) || there.cost[net] >= kNoWay) continue;
        feeds = true;
        // What another line holds already is fed by that one.
        const int line = found_.line_of_net[net];
        if (line < 0 || line == current_) put_way(there, start, net);
      }
    }
    return feeds;
  }

  /// A capacitor, or what clamps the line: it does not lead on.
  [[nodiscard]] bool stands_aside(const Part& part) const {
    return part.kind == KindId::capacitor || part.kind == KindId::zener;
  }

  void put_what_stands_alone(int start, int from) {
    int net = start;
    int before = from;
    for (int step = 0; step < count(); ++step) {
      PinRef next;
      int others = 0;
      for (const PinRef pin : circuit_.nets[net].pins) {
        if (pin.part == before || stands_aside(circuit_.parts[pin.part])) continue;
        next = pin;
        ++others;
      }
      if (others != 1) return;
      const Part& part = circuit_.parts[next.part];
      if (passage_of(part).cost != 1 || part.kind == KindId::inductor) return;
      const int other = other_net(part, net);
      if (other < 0 || zero(other) || found_.line_of_net[other] >= 0) return;
      put_part(next.part);
      put_net(other);
      net = other;
      before = next.part;
    }
  }

  /// The way from a source's minus to ground, where that is not one net.
  void put_way_back(int start, int from) {
    const Reach there = reach(
        start, [this](int net) { return zero(net); }, from, true);
    int best = -1;
    for (int net = 0; net < static_cast<int>(circuit_.nets.size()); ++net)
      if (zero(net) && there.cost[net] < kNoWay &&
          (best < 0 || there.cost[net] < there.cost[best]))
        best = net;
    if (best < 0) return;
    put_net(start);
    put_way(there, start, best);
  }

  const Circuit& circuit_;
  SupplyLines found_;
  int current_ = 0;
};

}  // namespace

SupplyLines supply_lines(const Circuit& circuit) { return Finder(circuit).find(); }

}  // namespace benchproof
