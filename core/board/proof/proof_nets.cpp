#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/board/proof/detail/proof_run.h"

namespace benchproof {

void Proof::check_shorts() {
  Islands islands(board_);
  std::vector<std::set<int>> nets(islands.holes().size());
  std::vector<std::vector<std::size_t>> leads(islands.holes().size());
  std::map<int, int> told;  // Nets that are known to be one: a forest.
  const auto root = [&told](int net) {
    for (auto up = told.find(net); up != told.end(); up = told.find(net))
      net = up->second;
    return net;
  };
  for (std::size_t k = 0; k < stands_.size(); ++k) {
    const auto at = static_cast<std::size_t>(islands.index(stands_[k].hole));
    for (const int other : nets[at])
      if (root(other) != root(stands_[k].net)) told[root(stands_[k].net)] = root(other);
    nets[at].insert(stands_[k].net);
    leads[at].push_back(k);
  }
  for (const Link& link : links_of(board_)) {
    const auto a = static_cast<std::size_t>(islands.root(link.from));
    const auto b = static_cast<std::size_t>(islands.root(link.to));
    if (a == b) continue;
    for (const int first : nets[a])
      for (const int second : nets[b]) {
        if (root(first) == root(second)) continue;
        tell_short(link, first, second, leads[a], leads[b]);
        told[root(second)] = root(first);
      }
    islands.join(static_cast<int>(a), static_cast<int>(b));
    const std::size_t stays = std::min(a, b);
    const std::size_t goes = std::max(a, b);
    nets[stays].insert(nets[goes].begin(), nets[goes].end());
    leads[stays].insert(leads[stays].end(), leads[goes].begin(), leads[goes].end());
  }
}

const Stands& Proof::nearest_lead(const std::vector<std::size_t>& leads, int net,
                                  Hole hole) const {
  const Stands* best = nullptr;
  const auto far = [&](const Stands& s) {
    const Point a = point_of(board_, s.hole);
    const Point b = point_of(board_, hole);
    return std::hypot(a.x - b.x, a.y - b.y);
  };
  for (const std::size_t k : leads)
    if (stands_[k].net == net && (best == nullptr || far(stands_[k]) < far(*best)))
      best = &stands_[k];
  return *best;
}

void Proof::tell_short(const Link& link, int first, int second,
                       const std::vector<std::size_t>& leads_a,
                       const std::vector<std::size_t>& leads_b) {
  const Stands& one = nearest_lead(leads_a, first, link.from);
  const Stands& other = nearest_lead(leads_b, second, link.to);
  const bool is_leg = first < 0 || second < 0;
  // A lead whose own net is elsewhere stands in the wrong copper.
  const bool is_alone = is_open(second) && !is_open(first);
  const Stands& stray = is_open(first) && !is_open(second) ? one : other;
  const std::string nets =
      fmt::format("{} ({} in {}) and {} ({} in {})", net_text(first), pin_text(one),
                  name(one.hole), net_text(second), pin_text(other), name(other.hole));
  Finding* finding = nullptr;
  if (link.join >= 0) {
    const Join& join = board_.joins[static_cast<std::size_t>(link.join)];
    const Hole wrong = wrong_end(link, first, one, second, other);
    finding =
        &add(Severity::fault,
             is_leg ? board_checks::id("board-leg") : board_checks::id("board-short"),
             join.span, wrong,
             fmt::format("the {} from {} to {} joins {}; take it away or move "
                         "its end",
                         join_word(join.kind), name(join.from), name(join.to), nets));
  } else if (board_.kind == BoardKind::strips) {
    const auto [west, east] = std::minmax(one.hole.column, other.hole.column);
    const bool is_row = one.hole.row == other.hole.row;
    const bool has_room = is_row && east - west > 1;
    const Hole between = {one.hole.row, west + 1};
    finding = &add(
        Severity::fault,
        is_leg ? board_checks::id("board-leg") : board_checks::id("board-strip"),
        proof_.feet[stray.foot].span,
        &stray != &other || is_alone || !has_room ? stray.hole : between,
        fmt::format("strip {} joins {}; {}", row_text(link.from), nets,
                    !is_row     ? "cut it between them"
                    : !has_room ? "there is no hole between them for a cut: move one"
                    : east - west == 2
                        ? fmt::format("cut it at {}", name(between))
                        : fmt::format("cut it at a hole from {} to {}", name(between),
                                      name({one.hole.row, east - 1}))));
  } else {
    finding =
        &add(Severity::fault,
             is_leg ? board_checks::id("board-leg") : board_checks::id("board-strip"),
             proof_.feet[stray.foot].span, stray.hole,
             fmt::format("the copper of one group joins {}; move one to another "
                         "group",
                         nets));
  }
  finding->net = first >= 0    ? circuit_.nets[static_cast<std::size_t>(first)].name
                 : second >= 0 ? circuit_.nets[static_cast<std::size_t>(second)].name
                               : std::string();
  if (beside_.contains(first) || beside_.contains(second))
    finding->follows = "board-beside";
  shorted_.insert(first);
  shorted_.insert(second);
  if (short_check_.empty()) short_check_ = finding->check;
}

std::string Proof::row_text(Hole hole) const {
  std::string text = name(hole);
  while (!text.empty() && text.back() >= '0' && text.back() <= '9') text.pop_back();
  return text;
}

Hole Proof::wrong_end(const Link& link, int first, const Stands& one, int second,
                      const Stands& other) const {
  // The net that needs the join keeps it: where it meets the other one is wrong.
  const Join& join = board_.joins[static_cast<std::size_t>(link.join)];
  // A leg that no pin names needs none.
  const bool is_of_first = second < 0 || is_open(first, link.join);
  const bool is_of_second = first < 0 || is_open(second, link.join);
  if (is_of_first == is_of_second) return join.from;
  const Islands islands = islands_without(link.join);
  const int there = islands.root(is_of_first ? other.hole : one.hole);
  for (const Hole hole : holes_along(board_, join))
    if (islands.root(hole) == there) return hole;
  return is_of_first ? link.to : link.from;
}

Islands Proof::islands_without(int join) const {
  Islands islands(board_);
  for (const Link& link : links_of(board_))
    if (link.join < 0 || link.join != join)
      islands.join(islands.index(link.from), islands.index(link.to));
  return islands;
}

bool Proof::is_open(int net, int without) const {
  const auto lies_in_pieces = [&](const Islands& islands) {
    std::set<int> pieces;
    for (const Stands& s : stands_)
      if (s.net == net) pieces.insert(islands.root(s.hole));
    return pieces.size() > 1;
  };
  return lies_in_pieces(without < 0 ? islands_ : islands_without(without));
}

std::string Proof::gap_text(const std::vector<Hole>& piece,
                            const std::vector<Hole>& other) const {
  double nearest = std::numeric_limits<double>::infinity();
  std::string text;
  for (const Hole from : piece)
    for (const Hole to : other) {
      const Point a = point_of(board_, from);
      const Point b = point_of(board_, to);
      const double far = std::hypot(a.x - b.x, a.y - b.y);
      if (far >= nearest - 1e-9) continue;
      nearest = far;
      text = fmt::format("; nearest: {} to {}", name(from), name(to));
    }
  return text;
}

void Proof::check_opens() {
  for (std::size_t net = 0; net < circuit_.nets.size(); ++net) {
    std::map<int, std::vector<const Stands*>> pieces;
    for (const Stands& s : stands_)
      if (s.net == static_cast<int>(net)) pieces[islands_.root(s.hole)].push_back(&s);
    if (pieces.size() < 2) continue;
    // The largest piece is the net (by leads, then by holes that are joined); the
    // first hole apart from it is told.
    std::map<int, std::vector<Hole>> joined;
    for (const Hole hole : islands_.holes())
      if (const int root = islands_.root(hole); pieces.contains(root))
        joined[root].push_back(hole);
    const auto largest = std::max_element(
        pieces.begin(), pieces.end(), [&joined](const auto& a, const auto& b) {
          return std::pair(a.second.size(), joined[a.first].size()) <
                 std::pair(b.second.size(), joined[b.first].size());
        });
    std::vector<std::string> texts;
    Hole at;
    std::string gap;
    bool has_hole_told = false;
    for (const auto& [piece, list] : pieces) {
      std::vector<std::string> pins;
      for (const Stands* s : list)
        pins.push_back(fmt::format("{} in {}", pin_text(*s), name(s->hole)));
      constexpr std::size_t kMost = 4;
      std::string text = fmt::format(
          "{}{}",
          fmt::join(
              pins.begin(),
              pins.begin() + static_cast<std::ptrdiff_t>(std::min(kMost, pins.size())),
              ", "),
          pins.size() > kMost ? " ..." : "");
      texts.push_back(std::move(text));
      if (piece != largest->first && !has_hole_told) {
        at = list.front()->hole;
        gap = gap_text(joined[piece], joined[largest->first]);
        has_hole_told = true;
      }
    }
    constexpr std::size_t kMostPieces = 4;
    const std::size_t shown = std::min(kMostPieces, texts.size());
    Finding& finding = add(
        Severity::fault, board_checks::id("board-open"), circuit_.nets[net].span, at,
        fmt::format(
            "net '{}' lies in {} pieces: {}{}{}", circuit_.nets[net].name,
            pieces.size(),
            fmt::join(texts.begin(), texts.begin() + static_cast<std::ptrdiff_t>(shown),
                      "; apart from it "),
            texts.size() > shown ? "; ..." : "", gap));
    finding.net = circuit_.nets[net].name;
    if (beside_.contains(static_cast<int>(net)))
      finding.follows = "board-beside";
    else if (shorted_.contains(static_cast<int>(net)))
      finding.follows = short_check_;
  }
}

}  // namespace benchproof
