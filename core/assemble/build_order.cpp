#include "core/assemble/build_order.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <tuple>

#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// Below this a part carries nothing that gives it a direction. Ampere.
constexpr double kNoFlow = 1e-8;

/// So many branches that hang on a supply line alone make one stage.
constexpr std::size_t kMostTogether = 6;

/// A capacitor up to this stands beside a chip's pins. Farad. Common practice.
constexpr double kBesideChip = 1.1e-6;

bool gives_light_or_moves(KindId kind) { return kind == KindId::led || is_load(kind); }

/// What a stage's order hangs on, within the whole circuit.
class Orderer {
 public:
  Orderer(const Circuit& circuit, const PartFlows& flows)
      : circuit_(circuit), flows_(flows), is_placed_(circuit.parts.size(), false) {}

  /// The parts in the order in which they are placed; from then on they are there.
  std::vector<int> place(std::vector<int> parts) {
    std::vector<int> order;
    int last = -1;
    while (!parts.empty()) {
      const auto next = std::min_element(parts.begin(), parts.end(), [&](int a, int b) {
        return rank(a, last, parts) < rank(b, last, parts);
      });
      last = *next;
      order.push_back(last);
      is_placed_[last] = true;
      parts.erase(next);
    }
    return order;
  }

  [[nodiscard]] bool is_there(int net) const {
    if (net < 0 || is_zero(circuit_, net)) return true;
    const auto& pins = circuit_.nets[net].pins;
    return std::any_of(pins.begin(), pins.end(),
                       [this](PinRef pin) { return is_placed_[pin.part]; });
  }

 private:
  using Rank = std::tuple<int, int, int, int, int, int>;

  [[nodiscard]] double flow(int part, std::size_t pin) const {
    return flows_[part].empty() ? 0.0 : flows_[part][pin];
  }

  /// Whether something still to be placed pushes its current into a net.
  [[nodiscard]] bool waits_for(int part, int net, const std::vector<int>& left) const {
    return std::any_of(left.begin(), left.end(), [&](int other) {
      if (other == part) return false;
      const std::vector<int>& nets = circuit_.parts[other].nets;
      for (std::size_t pin = 0; pin < nets.size(); ++pin)
        if (nets[pin] == net && flow(other, pin) < -kNoFlow) return true;
      return false;
    });
  }

  /// The least comes next.
  [[nodiscard]] Rank rank(int index, int last, const std::vector<int>& left) const {
    const Part& part = circuit_.parts[index];
    int unmet = 0;   // Nets by which a current enters that something else feeds first.
    int absent = 0;  // Nets that are not there.
    int touching = 0;
    bool follows = false;  // The current goes on from the part that was placed last.
    bool on_output = false;
    for (std::size_t pin = 0; pin < part.nets.size(); ++pin) {
      const int net = part.nets[pin];
      if (net < 0 || is_zero(circuit_, net)) continue;
      if (flow(index, pin) > kNoFlow && waits_for(index, net, left)) ++unmet;
      if (is_there(net))
        ++touching;
      else
        ++absent;
      if (last >= 0 && flow(index, pin) > -kNoFlow && feeds(last, net)) follows = true;
      for (const PinRef other : circuit_.nets[net].pins)
        if (circuit_.parts[other.part].kind == KindId::controller &&
            is_placed_[other.part] && other.pin >= kFirstPin)
          on_output = true;
    }
    const bool carries = !flows_[index].empty();
    const bool begins = is_source(part.kind) || part.kind == KindId::controller;
    // What carries nothing waits until all its nets are there, then comes at once.
    const bool is_idle = !carries && !begins;
    const int standing = standing_of(part);
    return {begins ? 0 : (is_idle ? absent : 0) + (touching == 0 ? 100 : 0) + unmet,
            begins || (is_idle && absent == 0) ? 0 : 1,
            follows ? 0 : 1,
            on_output ? 0 : 1,
            carries && !begins ? 0 : standing,
            index};
  }

  /// Whether a part lets its current out into a net, as far as that is known.
  [[nodiscard]] bool feeds(int part, int net) const {
    const std::vector<int>& nets = circuit_.parts[part].nets;
    for (std::size_t pin = 0; pin < nets.size(); ++pin)
      if (nets[pin] == net && (flows_[part].empty() || flow(part, pin) < -kNoFlow))
        return true;
    return false;
  }

  const Circuit& circuit_;
  const PartFlows& flows_;
  std::vector<bool> is_placed_;
};

/// Parts that hang together by nets of their own.
struct Cluster {
  std::vector<int> parts;
  std::vector<int> nets;
  std::vector<PinRef> pins;  ///< Controllers' pins that they hang on.
  std::vector<int>
      line_parts;  ///< Parts of supply lines whose pins they are joined to.
};

class Sorter {
 public:
  Sorter(const Circuit& circuit, const PartFlows& flows)
      : circuit_(circuit), orderer_(circuit, flows) {
    order_.lines = supply_lines(circuit);
    order_.branch_of_net.assign(circuit.nets.size(), -1);
    stage_of_part_.assign(circuit.parts.size(), -1);
  }

  BuildOrder sort() {
    begin_lines();
    begin_chips();
    put_what_stands_across();
    make_clusters();
    put_helpers();
    put_branches();
    for (std::size_t k = 0; k < stages_.size(); ++k) finish(k);
    return std::move(order_);
  }

 private:
  [[nodiscard]] int count() const { return static_cast<int>(circuit_.parts.size()); }
  [[nodiscard]] bool zero(int net) const { return net < 0 || is_zero(circuit_, net); }
  [[nodiscard]] bool on_line(int net) const {
    return !zero(net) && order_.lines.line_of_net[net] >= 0;
  }

  void put(int part, int stage) {
    if (stage_of_part_[part] >= 0) return;
    stage_of_part_[part] = stage;
    stages_[stage].parts.push_back(part);
  }

  void begin_lines() {
    for (const SupplyLine& line : order_.lines.lines) {
      BuildStage stage;
      stage.sort = circuit_.parts[line.part].kind == KindId::regulator
                       ? StageSort::regulator
                       : StageSort::supply;
      stage.about = line.part;
      stage.nets = line.nets;
      stages_.push_back(std::move(stage));
      const int here = static_cast<int>(stages_.size()) - 1;
      put(line.part, here);
      for (const int part : line.parts) put(part, here);
    }
  }

  void begin_chips() {
    for (int k = 0; k < count(); ++k) {
      const Part& part = circuit_.parts[k];
      if (part.kind != KindId::controller) continue;
      stages_.push_back({StageSort::socket, k, {}, {}, supply_nets(part)});
      const int here = static_cast<int>(stages_.size()) - 1;
      put(k, here);
      for (const int c : beside_chip(k)) put(c, here);
      stages_.push_back({StageSort::chip, k, {}, {}, supply_nets(part)});
    }
  }

  [[nodiscard]] std::vector<int> supply_nets(const Part& chip) const {
    std::vector<int> nets;
    for (const int pin : {kVdd, kVss})
      if (!zero(chip.nets[pin])) nets.push_back(chip.nets[pin]);
    return nets;
  }

  /// The small capacitor that stands at a chip's pins, where a larger one is left for
  /// its regulator.
  [[nodiscard]] std::vector<int> beside_chip(int chip) const {
    const Part& part = circuit_.parts[chip];
    int smallest = -1;
    std::size_t there = 0;
    bool has_regulator = false;
    for (int k = 0; k < count(); ++k) {
      const Part& other = circuit_.parts[k];
      if (other.kind == KindId::regulator && other.nets[2] == part.nets[kVdd])
        has_regulator = true;
      if (other.kind != KindId::capacitor) continue;
      const bool is_across = std::is_permutation(other.nets.begin(), other.nets.end(),
                                                 part.nets.begin()) &&
                             stage_of_part_[k] < 0;
      if (!is_across) continue;
      ++there;
      const double farads = number_of(other, "value").value_or(1.0);
      const bool is_small = !flag(other, "polarised", false) && farads <= kBesideChip;
      const bool is_smaller =
          smallest < 0 ||
          farads < number_of(circuit_.parts[smallest], "value").value_or(1.0);
      if (is_small && is_smaller) smallest = k;
    }
    if (smallest < 0 || (there == 1 && has_regulator)) return {};
    return {smallest};
  }

  [[nodiscard]] int stage_of_line(int net) const {
    return on_line(net) ? order_.lines.line_of_net[net] : -1;
  }

  /// Capacitors, clamps and resistors between supply lines and ground.
  void put_what_stands_across() {
    for (int k = 0; k < count(); ++k) {
      const Part& part = circuit_.parts[k];
      if (stage_of_part_[k] >= 0 || gives_light_or_moves(part.kind)) continue;
      if (part.nets.size() != 2) continue;
      int latest = -1;
      bool is_across = true;
      for (const int net : part.nets) {
        if (zero(net)) continue;
        if (!on_line(net)) is_across = false;
        latest = std::max(latest, stage_of_line(net));
      }
      if (is_across && latest >= 0) put(k, latest);
    }
  }

  void make_clusters() {
    std::vector<int> parents(circuit_.nets.size());
    std::iota(parents.begin(), parents.end(), 0);
    const auto of = [&parents](int net) {
      while (parents[net] != net) net = parents[net] = parents[parents[net]];
      return net;
    };
    const auto is_own = [this](int net) { return !zero(net) && !on_line(net); };
    for (int k = 0; k < count(); ++k) {
      if (stage_of_part_[k] >= 0) continue;
      int first = -1;
      for (const int net : circuit_.parts[k].nets) {
        if (!is_own(net)) continue;
        if (first >= 0) parents[of(net)] = of(first);
        first = net;
      }
    }
    std::map<int, std::size_t> known;
    for (int k = 0; k < count(); ++k) {
      if (stage_of_part_[k] >= 0) continue;
      int own = -1;
      for (const int net : circuit_.parts[k].nets)
        if (is_own(net)) own = of(net);
      std::size_t here = clusters_.size();
      if (own >= 0) here = known.try_emplace(own, clusters_.size()).first->second;
      if (here == clusters_.size()) clusters_.emplace_back();
      clusters_[here].parts.push_back(k);
    }
    for (int n = 0; n < static_cast<int>(circuit_.nets.size()); ++n) {
      if (!is_own(n)) continue;
      const auto found = known.find(of(n));
      if (found == known.end()) continue;
      Cluster& cluster = clusters_[found->second];
      cluster.nets.push_back(n);
      for (const PinRef pin : circuit_.nets[n].pins) {
        if (circuit_.parts[pin.part].kind == KindId::controller)
          cluster.pins.push_back(pin);
        else if (order_.lines.line_of_part[pin.part] >= 0)
          cluster.line_parts.push_back(pin.part);
      }
    }
    for (Cluster& cluster : clusters_)
      std::sort(cluster.pins.begin(), cluster.pins.end());
  }

  /// What sets a regulator, or holds the gate of a guard, is of its stage.
  void put_helpers() {
    for (Cluster& cluster : clusters_) {
      if (!cluster.pins.empty() || cluster.line_parts.empty()) continue;
      const int first = *std::min_element(
          cluster.line_parts.begin(), cluster.line_parts.end(),
          [this](int a, int b) { return stage_of_part_[a] < stage_of_part_[b]; });
      for (const int part : cluster.parts) put(part, stage_of_part_[first]);
      auto& nets = stages_[stage_of_part_[first]].nets;
      nets.insert(nets.end(), cluster.nets.begin(), cluster.nets.end());
      cluster.parts.clear();
    }
    std::erase_if(clusters_, [](const Cluster& c) { return c.parts.empty(); });
  }

  void put_branches() {
    std::stable_sort(clusters_.begin(), clusters_.end(),
                     [](const Cluster& a, const Cluster& b) {
                       if (a.pins.empty() || b.pins.empty())
                         return !a.pins.empty() && b.pins.empty();
                       return a.pins.front() < b.pins.front();
                     });
    std::size_t together = 0;
    for (std::size_t k = 0; k < clusters_.size(); ++k) {
      const Cluster& cluster = clusters_[k];
      const bool goes_on = cluster.pins.empty() && k > 0 &&
                           clusters_[k - 1].pins.empty() && together < kMostTogether;
      if (!goes_on) {
        stages_.push_back({StageSort::branch, -1, cluster.pins, {}, {}});
        together = 0;
      }
      ++together;
      const int here = static_cast<int>(stages_.size()) - 1;
      for (const int part : cluster.parts) put(part, here);
      for (const int net : cluster.nets) {
        stages_[here].nets.push_back(net);
        order_.branch_of_net[net] = static_cast<int>(k);
      }
    }
  }

  void finish(std::size_t k) {
    BuildStage& stage = stages_[k];
    // Nothing but its source: the next stage has what there is to be seen.
    if (stage.parts.empty() && stage.sort != StageSort::chip) return;
    stage.parts = orderer_.place(std::move(stage.parts));
    order_.stages.push_back(std::move(stage));
  }

  const Circuit& circuit_;
  Orderer orderer_;
  BuildOrder order_;
  std::vector<BuildStage> stages_;
  std::vector<int> stage_of_part_;
  std::vector<Cluster> clusters_;
};

}  // namespace

int standing_of(const Part& part) {
  switch (part.kind) {
    case KindId::wire:
      return 0;
    case KindId::resistor:
    case KindId::diode:
    case KindId::zener:
    case KindId::inductor:
      return 1;
    case KindId::controller:
      return 2;  // Its socket.
    case KindId::capacitor:
      return flag(part, "polarised", false) ? 5 : 3;
    case KindId::trimmer:
    case KindId::fuse:
      return 4;
    case KindId::transistor:
    case KindId::mosfet:
    case KindId::regulator:
      return 4;
    default:
      return 6;
  }
}

PartFlows part_flows(const Circuit& circuit, const Verification& verification) {
  PartFlows flows(circuit.parts.size());
  const auto size_of = [](const std::vector<double>& amps) {
    double most = 0.0;
    for (const double a : amps) most = std::max(most, std::abs(a));
    return most;
  };
  for (const StateResult& state : verification.states) {
    if (!state.agrees) continue;
    for (std::size_t k = 0; k < flows.size(); ++k) {
      const std::vector<double>& amps = state.nodal.pin_amps[k];
      if (size_of(amps) > std::max(kNoFlow, size_of(flows[k]))) flows[k] = amps;
    }
  }
  return flows;
}

BuildOrder build_order(const Circuit& circuit, const PartFlows& flows) {
  return Sorter(circuit, flows).sort();
}

}  // namespace benchproof
