#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <numeric>
#include <vector>

#include "core/check/always/always.h"
#include "core/check/always/apart.h"
#include "core/check/finding/wording.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutApart[] = {
    {"supply-apart", "a supply from which no current comes back",
     "from the nets of each supply and battery a way leads to those of ground, and one "
     "from there back through other parts: through diodes and base-emitter junctions "
     "forward only, from collector to emitter, through switches that some state closes",
     "Kirchhoff's current law: what leaves the nets of a supply has to come back",
     "nothing flows out of it, and leakage alone says where its nets lie against all "
     "others: no solver and no voltmeter tells",
     "join its minus to ground"},
};

/// A way that a current may take through a part, from one net to another.
struct Way {
  int from = -1;
  int to = -1;
  int part = -1;
};

/// The ways through a part that lets a current through in one direction, or between
/// whose nets no more than leakage flows at times.
std::vector<Way> one_way(const Part& part) {
  const auto& nets = part.nets;
  switch (part.kind) {
    case KindId::diode:
    case KindId::led:
      return {{nets[0], nets[1]}};
    case KindId::zener:
      return {{nets[0], nets[1]}, {nets[1], nets[0]}};
    case KindId::mosfet:
      return {{nets[1], nets[2]}, {nets[2], nets[1]}};
    case KindId::transistor: {
      const int base = nets[0], collector = nets[1], emitter = nets[2];
      if (polarity(part) > 0.0)
        return {{base, emitter}, {base, collector}, {collector, emitter}};
      return {{emitter, base}, {collector, base}, {emitter, collector}};
    }
    default:
      return {};
  }
}

/// Whether a current flows between all pins of a part, either way.
bool is_joint(const Circuit& circuit, int index) {
  switch (circuit.parts[index].kind) {
    case KindId::capacitor:
    case KindId::diode:
    case KindId::led:
    case KindId::zener:
    case KindId::mosfet:
    case KindId::transistor:
      return false;
    case KindId::switch_:
      return std::any_of(
          circuit.states.begin(), circuit.states.end(),
          [index](const State& state) { return is_closed(state, index); });
    default:
      return true;
  }
}

/// The nets of a circuit in groups that are joined either way, and the ways between
/// the groups. A group goes by one of its nets.
class Islands {
 public:
  explicit Islands(const Circuit& circuit)
      : circuit_(circuit), island_(circuit.nets.size()) {
    std::iota(island_.begin(), island_.end(), 0);
    for (int i = 0; i < static_cast<int>(circuit.parts.size()); ++i) {
      if (is_joint(circuit, i)) join(circuit.parts[i]);
    }
    for (int i = 0; i < static_cast<int>(circuit.parts.size()); ++i) {
      for (const Way& way : one_way(circuit.parts[i])) {
        if (way.from < 0 || way.to < 0 || of(way.from) == of(way.to)) continue;
        ways_.push_back({of(way.from), of(way.to), i});
      }
    }
  }

  [[nodiscard]] int of(int net) {
    while (island_[net] != net) net = island_[net] = island_[island_[net]];
    return net;
  }

  [[nodiscard]] const std::vector<Way>& ways() const { return ways_; }

  /// Of each net: whether a current that leaves its island for that of ground can come
  /// back. What comes back through the very part by which it left is no current.
  [[nodiscard]] std::vector<bool> round_trips() {
    std::vector<bool> both = reached(Towards::there, -1);
    keep(both, reached(Towards::back, -1));
    for (const int part : two_way_parts()) keep(both, reached(Towards::any, part));
    for (int net = 0; net < static_cast<int>(both.size()); ++net)
      both[net] = both[of(net)];
    return both;
  }

 private:
  enum class Towards { there, back, any };

  void join(const Part& part) {
    int first = -1;
    for (const int net : part.nets) {
      if (net < 0) continue;
      if (first >= 0) island_[of(first)] = of(net);
      first = net;
    }
  }

  static void keep(std::vector<bool>& both, const std::vector<bool>& other) {
    for (std::size_t k = 0; k < both.size(); ++k) both[k] = both[k] && other[k];
  }

  /// The parts with ways that lead in opposite directions, or on.
  [[nodiscard]] std::vector<int> two_way_parts() const {
    std::vector<int> parts;
    for (std::size_t k = 1; k < ways_.size(); ++k) {
      const int part = ways_[k].part;
      if (part == ways_[k - 1].part && (parts.empty() || parts.back() != part))
        parts.push_back(part);
    }
    return parts;
  }

  /// The islands from which that of ground is reached, or those that are reached from
  /// it, or either, without a part.
  [[nodiscard]] std::vector<bool> reached(Towards towards, int except) {
    std::vector<std::vector<int>> next(island_.size());
    for (const Way& way : ways_) {
      if (way.part == except) continue;
      if (towards != Towards::back) next[way.to].push_back(way.from);
      if (towards != Towards::there) next[way.from].push_back(way.to);
    }
    std::vector<bool> is_reached(island_.size());
    // Groups with a zero of their own have no way to ground, nor need one.
    std::vector<int> line = {of(0)};
    for (const LocalZero& zero : circuit_.local_zeros) line.push_back(of(zero.net));
    for (const int island : line) is_reached[island] = true;
    for (std::size_t k = 0; k < line.size(); ++k) {
      for (const int island : next[line[k]]) {
        if (is_reached[island]) continue;
        is_reached[island] = true;
        line.push_back(island);
      }
    }
    return is_reached;
  }

  const Circuit& circuit_;
  std::vector<int> island_;
  std::vector<Way> ways_;
};

/// The parts that stand between an island and others, by name.
std::vector<std::string> borders(const Circuit& circuit, const Islands& islands,
                                 int island) {
  std::vector<std::string> names;
  for (const Way& way : islands.ways()) {
    std::string name = fmt::format("'{}'", circuit.parts[way.part].name);
    const bool is_here = way.from == island || way.to == island;
    if (is_here && std::find(names.begin(), names.end(), name) == names.end())
      names.push_back(std::move(name));
  }
  return names;
}

Finding apart(const Circuit& circuit, const Islands& islands, const Part& supply,
              int island) {
  const std::vector<std::string> names = borders(circuit, islands, island);
  const std::string between =
      names.empty() ? "nothing that conducts joins it"
                    : fmt::format("only {} {} between", fmt::join(names, ", "),
                                  names.size() > 1 ? "stand" : "stands");
  Finding finding =
      about(supply, Severity::fault, CheckId(kAboutApart, "supply-apart"));
  finding.source = "Kirchhoff's current law: what leaves a supply has to come back";
  finding.message = fmt::format(
      "'{}.minus' never meets ground: {}, and no current comes back that way; join "
      "'{}' to ground",
      supply.name, between, circuit.nets[supply.nets[1]].name);
  return finding;
}

}  // namespace

std::vector<Finding> check_apart(const Circuit& circuit) {
  Islands islands(circuit);
  std::vector<bool> is_told = islands.round_trips();
  std::vector<Finding> findings;
  for (const Part& part : circuit.parts) {
    const bool is_supply =
        part.kind == KindId::dc_supply || part.kind == KindId::battery;
    if (!is_supply || part.nets[1] < 0) continue;
    const int island = islands.of(part.nets[1]);
    if (is_told[island]) continue;
    is_told[island] = true;
    findings.push_back(apart(circuit, islands, part, island));
  }
  return findings;
}

std::span<const Explanation> explain_apart() { return kAboutApart; }

}  // namespace benchproof
