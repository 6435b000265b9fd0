#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>
#include <tuple>

#include "core/board/places/footprint.h"
#include "core/board/places/islands.h"
#include "core/board/propose/propose.h"

namespace benchproof {
namespace {

/// Solder closes so many neighbouring holes in one line by hand; more is a wire. Common
/// practice.
constexpr int kLongestBridge = 4;

/// A lead and its net; legs that no pin names have numbers of their own.
struct LeadAt {
  Hole hole;
  int net = -1;
};

std::vector<LeadAt> leads_on(const Circuit& circuit, const Board& board) {
  std::vector<LeadAt> leads;
  int alone = static_cast<int>(circuit.nets.size());
  for (const Placement& place : board.places) {
    const Footprint foot = footprint_of(circuit, board, place);
    const Part& part = circuit.parts[static_cast<std::size_t>(place.part)];
    for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead) {
      if (!foot.has_hole[lead]) continue;
      const int pin = foot.pin_of_lead[lead];
      const int net = pin < 0 ? -1 : part.nets[static_cast<std::size_t>(pin)];
      leads.push_back({foot.lead_holes[lead], net >= 0 ? net : alone++});
    }
  }
  return leads;
}

class Router {
 public:
  Router(const Circuit& circuit, const Board& placed)
      : board_(placed),
        nets_(static_cast<int>(circuit.nets.size())),
        leads_(leads_on(circuit, placed)) {
    for (const LeadAt& lead : leads_) net_at_.emplace(lead.hole, lead.net);
  }

  Board route() {
    if (board_.kind == BoardKind::strips) cut();
    note_joins();
    // Nets of few leads first: they are joined by bridges where others have a choice.
    std::vector<std::pair<std::size_t, int>> order;
    for (int net = 0; net < nets_; ++net) {
      std::size_t count = 0;
      for (const LeadAt& lead : leads_) count += lead.net == net ? 1 : 0;
      if (count > 1) order.emplace_back(count, net);
    }
    std::sort(order.begin(), order.end());
    for (const auto& [count, net] : order) join(net);
    merge();
    return std::move(board_);
  }

 private:
  /// Cuts strips half way between leads of two nets that follow each other.
  void cut() {
    std::set<Hole> cuts;
    for (const Cut& cut : board_.cuts) cuts.insert(cut.hole);
    std::set<Hole> used;
    for (const Join& join : board_.joins)
      for (const Hole hole : holes_along(board_, join)) used.insert(hole);
    std::map<int, std::map<int, int>> rows;
    for (const LeadAt& lead : leads_) rows[lead.hole.row][lead.hole.column] = lead.net;
    for (const auto& [row, at] : rows) {
      auto last = at.begin();
      for (auto next = std::next(last); next != at.end(); last = next++) {
        if (last->second == next->second) continue;
        bool is_cut = false;
        int best = -1;
        for (int column = last->first + 1; column < next->first; ++column) {
          const Hole hole{row, column};
          is_cut = is_cut || cuts.contains(hole);
          if (used.contains(hole)) continue;
          const int middle = (last->first + next->first) / 2;
          if (best < 0 || std::abs(column - middle) < std::abs(best - middle))
            best = column;
        }
        if (!is_cut && best >= 0) board_.cuts.push_back({{row, best}, {}});
      }
    }
  }

  void note_joins() {
    for (const Join& join : board_.joins) {
      if (join.kind == JoinKind::bridge)
        for (const Hole hole : holes_along(board_, join)) bridged_.insert(hole);
      ends_.insert(join.from);
      ends_.insert(join.to);
    }
    for (const Cut& cut : board_.cuts) cut_.insert(cut.hole);
  }

  /// A possible join between two holes.
  struct Edge {
    double cost = 0.0;
    Join join;
  };

  [[nodiscard]] double distance(Hole a, Hole b) const {
    const Point p = point_of(board_, a);
    const Point q = point_of(board_, b);
    return std::hypot(p.x - q.x, p.y - q.y) / kPitch;
  }

  /// Whether solder can go from hole to hole without touching what is not the net's.
  [[nodiscard]] bool is_free_bridge(const Join& join, int net, const Islands& islands,
                                    int root_a, int root_b) const {
    if (!is_straight_bridge(board_, join)) return false;
    const std::vector<Hole> holes = holes_along(board_, join);
    if (static_cast<int>(holes.size()) - 1 > kLongestBridge) return false;
    for (const Hole hole : holes) {
      if (cut_.contains(hole)) return false;
      const auto lead = net_at_.find(hole);
      if (lead != net_at_.end() && lead->second != net) return false;
      const int root = islands.root(hole);
      if (root == root_a || root == root_b) continue;
      // Copper in between may be anybody's: only what is empty is passed over.
      if (bridged_.contains(hole) || is_used(islands, root)) return false;
    }
    return true;
  }

  /// Whether a lead or a join's end stands on that island.
  [[nodiscard]] bool is_used(const Islands& islands, int root) const {
    for (const LeadAt& lead : leads_)
      if (islands.root(lead.hole) == root) return true;
    for (const Hole hole : ends_)
      if (islands.root(hole) == root) return true;
    return false;
  }

  /// The holes of an island from which a join may start.
  std::vector<Hole> starts(const Islands& islands, int root, int net) const {
    std::vector<Hole> holes;
    for (const Hole hole : islands.holes()) {
      if (islands.root(hole) != root || cut_.contains(hole)) continue;
      const bool has_lead = net_at_.contains(hole);
      if (board_.kind == BoardKind::groups && (has_lead || ends_.contains(hole)))
        continue;
      // On pads a wire goes to a lead, not to a bridge's middle.
      if (board_.kind == BoardKind::pads && !has_lead && !ends_.contains(hole))
        continue;
      holes.push_back(hole);
    }
    (void)net;
    return holes;
  }

  /// The best join between two islands; nothing where none is possible.
  std::optional<Edge> best_between(const Islands& islands, int a, int b,
                                   int net) const {
    std::optional<Edge> best;
    for (const Hole from : starts(islands, a, net))
      for (const Hole to : starts(islands, b, net)) {
        Edge edge{0.0, {from, to, JoinKind::wire, "", {}}};
        const double far = distance(from, to);
        // A wire takes two ends to strip, a bridge a drop of solder.
        constexpr double kWire = 0.25;
        edge.cost = far + kWire;
        if (board_.kind == BoardKind::strips && net_at_.contains(from))
          edge.cost += 0.01;
        if (board_.kind != BoardKind::groups && far <= kLongestBridge + 0.5) {
          Join bridge = edge.join;
          bridge.kind = JoinKind::bridge;
          if (is_free_bridge(bridge, net, islands, a, b)) {
            edge.join = bridge;
            edge.cost = far;
          }
        }
        if (!best || edge.cost < best->cost - 1e-9) best = edge;
      }
    return best;
  }

  void join(int net) {
    for (;;) {
      const Islands islands = islands_of(board_);
      std::set<int> roots;
      for (const LeadAt& lead : leads_)
        if (lead.net == net) roots.insert(islands.root(lead.hole));
      if (roots.size() < 2) return;
      std::optional<Edge> best;
      for (auto a = roots.begin(); a != roots.end(); ++a)
        for (auto b = std::next(a); b != roots.end(); ++b) {
          const auto edge = best_between(islands, *a, *b, net);
          if (edge && (!best || edge->cost < best->cost - 1e-9)) best = edge;
        }
      if (!best) return;
      board_.joins.push_back(best->join);
      added_.push_back(net);
      ends_.insert(best->join.from);
      ends_.insert(best->join.to);
      if (best->join.kind == JoinKind::bridge)
        for (const Hole hole : holes_along(board_, best->join)) bridged_.insert(hole);
    }
  }

  /// Makes bridges that go on in one line one.
  void merge() {
    const std::size_t given = board_.joins.size() - added_.size();
    bool is_merged = true;
    while (is_merged) {
      is_merged = false;
      for (std::size_t a = given; a < board_.joins.size() && !is_merged; ++a)
        for (std::size_t b = given; b < board_.joins.size() && !is_merged; ++b) {
          Join& one = board_.joins[a];
          const Join& other = board_.joins[b];
          if (a == b || one.kind != JoinKind::bridge || other.kind != JoinKind::bridge)
            continue;
          std::vector<Hole> ends = {one.from, one.to, other.from, other.to};
          std::sort(ends.begin(), ends.end());
          if (ends[1] != ends[2]) continue;
          const Join whole{ends[0], ends[3], JoinKind::bridge, "", {}};
          const auto far = [](const Join& j) {
            return std::abs(j.to.row - j.from.row) +
                   std::abs(j.to.column - j.from.column);
          };
          if (!is_straight_bridge(board_, whole) || far(whole) != far(one) + far(other))
            continue;
          one = whole;
          board_.joins.erase(board_.joins.begin() + static_cast<std::ptrdiff_t>(b));
          is_merged = true;
        }
    }
  }

  Board board_;
  int nets_;
  std::vector<LeadAt> leads_;
  std::map<Hole, int> net_at_;
  std::vector<int> added_;
  std::set<Hole> bridged_;
  std::set<Hole> ends_;
  std::set<Hole> cut_;
};

}  // namespace

Board route_board(const Circuit& circuit, const Board& placed) {
  return Router(circuit, placed).route();
}

}  // namespace benchproof
