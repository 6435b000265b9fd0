#include "core/assemble/on_board.h"

#include <algorithm>
#include <deque>
#include <map>
#include <set>

#include "core/board/places/footprint.h"
#include "core/board/places/islands.h"

namespace benchproof {
namespace {

/// How parts stand, by part; what has no place is not there.
std::map<int, Footprint> feet_of(const Circuit& circuit, const Board& board) {
  std::map<int, Footprint> feet;
  for (const Placement& place : board.places)
    feet.emplace(place.part, footprint_of(circuit, board, place));
  return feet;
}

/// Finds the joins that lead from one hole to others of its net.
class Ways {
 public:
  explicit Ways(const Board& board) : links_(links_of(board)) {
    for (std::size_t k = 0; k < links_.size(); ++k) {
      at_[links_[k].from].push_back(k);
      at_[links_[k].to].push_back(k);
    }
  }

  /// The joins on the shortest way from a hole to the nearest of others; what is made
  /// already costs nothing more than copper does.
  [[nodiscard]] std::vector<int> joins(Hole from, const std::set<Hole>& others,
                                       const std::set<int>& made) const {
    std::map<Hole, std::size_t> by;  // The link by which a hole was reached.
    std::map<Hole, int> cost{{from, 0}};
    std::deque<Hole> queue{from};
    while (!queue.empty()) {
      const Hole hole = queue.front();
      queue.pop_front();
      const auto links = at_.find(hole);
      if (links == at_.end()) continue;
      for (const std::size_t k : links->second) {
        const Link& link = links_[k];
        const Hole next = link.from == hole ? link.to : link.from;
        const bool is_free = link.join < 0 || made.contains(link.join);
        const int here = cost[hole] + (is_free ? 0 : 1);
        if (const auto known = cost.find(next);
            known != cost.end() && known->second <= here)
          continue;
        cost[next] = here;
        by[next] = k;
        if (is_free)
          queue.push_front(next);
        else
          queue.push_back(next);
      }
    }
    const Hole* nearest = nullptr;
    for (const Hole& other : others)
      if (cost.contains(other) &&
          (nearest == nullptr || cost.at(other) < cost.at(*nearest)))
        nearest = &other;
    std::vector<int> list;
    if (nearest == nullptr) return list;
    for (Hole hole = *nearest; hole != from;) {
      const Link& link = links_[by.at(hole)];
      if (link.join >= 0 && !made.contains(link.join) &&
          std::find(list.begin(), list.end(), link.join) == list.end())
        list.push_back(link.join);
      hole = link.from == hole ? link.to : link.from;
    }
    return list;
  }

 private:
  std::vector<Link> links_;
  std::map<Hole, std::vector<std::size_t>> at_;
};

}  // namespace

std::vector<BoardWork> work_on_board(const Circuit& circuit, const Board& board,
                                     const std::vector<int>& placed) {
  const std::map<int, Footprint> feet = feet_of(circuit, board);
  const Ways ways(board);
  std::set<int> made;
  std::map<int, std::set<Hole>> of_net;
  std::vector<BoardWork> work;
  for (const int index : placed) {
    const Part& part = circuit.parts[index];
    BoardWork here;
    here.holes.resize(part.pins.size());
    here.is_off = board.is_off[index];
    if (const auto found = feet.find(index); found != feet.end()) {
      const Footprint& foot = found->second;
      here.faces = foot.faces;
      here.is_flat = foot.is_flat;
      here.is_upright = foot.is_standing;
      for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead) {
        const int pin = foot.pin_of_lead[lead];
        if (pin < 0 || !foot.has_hole[lead]) continue;
        here.holes[pin] = foot.lead_holes[lead];
      }
    }
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
      if (!here.holes[pin] || part.nets[pin] < 0) continue;
      std::set<Hole>& there = of_net[part.nets[pin]];
      for (const int join : ways.joins(*here.holes[pin], there, made)) {
        made.insert(join);
        here.joins.push_back(join);
      }
      there.insert(*here.holes[pin]);
    }
    work.push_back(std::move(here));
  }
  for (std::size_t k = 0; k < board.joins.size() && !work.empty(); ++k)
    if (!made.contains(static_cast<int>(k)))
      work.back().joins.push_back(static_cast<int>(k));
  return work;
}

void put_flat_first(const Circuit& circuit, const Board& board, BuildOrder& order) {
  const std::map<int, Footprint> feet = feet_of(circuit, board);
  const auto is_in_the_way = [&](int tall, int flat) {
    const auto a = feet.find(tall);
    const auto b = feet.find(flat);
    if (a == feet.end() || b == feet.end() || !a->second.body || !b->second.body)
      return false;
    return a->second.height > b->second.height &&
           standing_of(circuit.parts[tall]) > standing_of(circuit.parts[flat]) &&
           apart(*a->second.body, *b->second.body) < kPitch;
  };
  for (BuildStage& stage : order.stages) {
    for (std::size_t k = 1; k < stage.parts.size(); ++k) {
      const auto flat = stage.parts.begin() + static_cast<std::ptrdiff_t>(k);
      const auto tall = std::find_if(stage.parts.begin(), flat, [&](int before) {
        return is_in_the_way(before, *flat);
      });
      if (tall != flat) std::rotate(tall, flat, flat + 1);
    }
  }
}

}  // namespace benchproof
