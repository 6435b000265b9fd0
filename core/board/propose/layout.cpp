#include "core/board/propose/detail/layout.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>

#include "core/board/proof/proof.h"

namespace benchproof::proposing {
namespace {

// What a layout costs, in pitches of wire. Chosen by trying on the templates.
constexpr double kForbidden = 30.0;  ///< Leads in one hole, bodies that meet ...
constexpr double kPerMilli = 4.0;    ///< ... and each millimetre by which they do.
constexpr double kPerJoin = 0.6;
constexpr double kPerCut = 0.5;
constexpr double kPerHole = 0.06;    ///< Of the rectangle around everything.
constexpr double kPerSide = 0.35;    ///< Pitches of its two sides.
constexpr double kWarm = 12.0;       ///< An electrolytic beside heat.
constexpr double kTurned = 0.3;      ///< A mark against its neighbour's.
constexpr double kBackwards = 0.05;  ///< A part west of the one before it.
constexpr double kOverlapAllowed = 0.15e-3;

}  // namespace

Layout::Layout(const Scene& scene) : scene_(scene) {}

void Layout::put_all(std::vector<Spot> spots) {
  spots_ = std::move(spots);
  lead_of_item_.clear();
  leads_.clear();
  for (std::size_t k = 0; k < scene_.items.size(); ++k) {
    lead_of_item_.push_back(leads_.size());
    for (const int net : scene_.items[k].nets) leads_.push_back({0, 0, net, k});
  }
  for (std::size_t k = 0; k < scene_.items.size(); ++k) put_leads(k);
  bodies_ = 0.0;
  for (std::size_t a = 0; a < scene_.items.size(); ++a)
    for (std::size_t b = 0; b < a; ++b) bodies_ += pair_cost(a, b);
}

const Variant& Layout::variant_of(std::size_t k) const {
  return scene_.items[k].variants[static_cast<std::size_t>(spots_[k].variant)];
}

Bounds Layout::around_of(std::size_t k) const {
  const Variant& v = variant_of(k);
  const double x = spots_[k].x * kPitch;
  const double y = spots_[k].y * kPitch;
  return {{v.around.least.x + x, v.around.least.y + y},
          {v.around.most.x + x, v.around.most.y + y}};
}

void Layout::put_leads(std::size_t k) {
  const Variant& v = variant_of(k);
  for (std::size_t lead = 0; lead < v.leads.size(); ++lead) {
    Lead& at = leads_[lead_of_item_[k] + lead];
    at.x = spots_[k].x + v.leads[lead].first;
    at.y = spots_[k].y + v.leads[lead].second;
  }
}

double Layout::body_cost(std::size_t k) const {
  double sum = 0.0;
  for (std::size_t other = 0; other < scene_.items.size(); ++other)
    if (other != k) sum += pair_cost(k, other);
  return sum;
}

/// What two items cost by standing where they do.
double Layout::pair_cost(std::size_t a, std::size_t b) const {
  const Variant& va = variant_of(a);
  const Variant& vb = variant_of(b);
  double cost = 0.0;
  const bool is_heat = (scene_.items[a].is_warm && scene_.items[b].is_can) ||
                       (scene_.items[b].is_warm && scene_.items[a].is_can);
  const double room = is_heat ? kWarmMetres : 0.0;
  const auto offset = [&](std::size_t k) {
    return Point{spots_[k].x * kPitch, spots_[k].y * kPitch};
  };
  const Point at_a = offset(a);
  const Point at_b = offset(b);
  if (va.body && vb.body) {
    const double gap_x =
        std::max(va.around.least.x + at_a.x - vb.around.most.x - at_b.x,
                 vb.around.least.x + at_b.x - va.around.most.x - at_a.x);
    const double gap_y =
        std::max(va.around.least.y + at_a.y - vb.around.most.y - at_b.y,
                 vb.around.least.y + at_b.y - va.around.most.y - at_a.y);
    if (gap_x < room && gap_y < room) {
      const double gap =
          apart(moved(*va.body, at_a.x - at_b.x, at_a.y - at_b.y), *vb.body);
      if (gap < -kOverlapAllowed)
        cost += kForbidden + kPerMilli * std::min(8.0, -gap * 1e3);
      else if (is_heat && gap < room)
        cost += kWarm;
    }
  }
  cost += under_cost(a, at_a, b) + under_cost(b, at_b, a);
  if (scene_.items[a].is_marked && scene_.items[b].is_marked &&
      scene_.items[a].kind == scene_.items[b].kind && va.faces && vb.faces && va.body &&
      vb.body) {
    const int turn =
        (static_cast<int>(*va.faces) - static_cast<int>(*vb.faces) + 4) % 4;
    if (turn == 2) cost += kTurned;
  }
  return cost;
}

/// Leads of an item that go through another's body.
double Layout::under_cost(std::size_t body, Point at, std::size_t other) const {
  const Variant& v = variant_of(body);
  if (!v.body) return 0.0;
  double cost = 0.0;
  constexpr double kHairInside = 0.3e-3;
  for (const auto& [x, y] : variant_of(other).leads) {
    const double px = (spots_[other].x + x) * kPitch - at.x;
    const double py = (spots_[other].y + y) * kPitch - at.y;
    if (px < v.around.least.x || px > v.around.most.x || py < v.around.least.y ||
        py > v.around.most.y)
      continue;
    if (apart(*v.body, circle({px, py}, 0.0)) < -kHairInside + 0.15e-3)
      cost += kForbidden;
  }
  return cost;
}

void Layout::move(std::size_t k, const Spot& spot) {
  moved_.push_back({k, spots_[k], bodies_});
  const double before = body_cost(k);
  spots_[k] = spot;
  put_leads(k);
  bodies_ += body_cost(k) - before;
}

void Layout::undo() {
  while (!moved_.empty()) {
    spots_[moved_.back().item] = moved_.back().from;
    bodies_ = moved_.back().bodies;
    put_leads(moved_.back().item);
    moved_.pop_back();
  }
}

const std::vector<std::size_t>& Layout::leads_of_net(int net) {
  if (of_net_.empty()) {
    of_net_.resize(static_cast<std::size_t>(scene_.net_count));
    for (std::size_t k = 0; k < leads_.size(); ++k)
      of_net_[static_cast<std::size_t>(leads_[k].net)].push_back(k);
  }
  return of_net_[static_cast<std::size_t>(net)];
}

/// Length and number of the joins that make pieces one.
double Layout::tree(const std::vector<Piece>& pieces) {
  if (pieces.size() < 2) return 0.0;
  far_.assign(pieces.size(), std::numeric_limits<double>::infinity());
  in_.assign(pieces.size(), false);
  std::size_t at = 0;
  double sum = 0.0;
  for (std::size_t step = 1; step < pieces.size(); ++step) {
    in_[at] = true;
    std::size_t next = 0;
    double nearest = std::numeric_limits<double>::infinity();
    for (std::size_t k = 0; k < pieces.size(); ++k) {
      if (in_[k]) continue;
      const int x = std::max({0, pieces[k].least_x - pieces[at].most_x,
                              pieces[at].least_x - pieces[k].most_x});
      const int y = std::max({0, pieces[k].least_y - pieces[at].most_y,
                              pieces[at].least_y - pieces[k].most_y});
      // What is straight and short is a bridge.
      double cost = std::sqrt(static_cast<double>(x * x + y * y)) + kPerJoin;
      if ((x != 0 && y != 0) || x + y > 4) cost += kPerJoin;
      far_[k] = std::min(far_[k], cost);
      if (far_[k] < nearest) {
        nearest = far_[k];
        next = k;
      }
    }
    sum += nearest;
    at = next;
  }
  return sum;
}

double Layout::cost() {
  double cost = bodies_;
  switch (scene_.board.kind) {
    case BoardKind::pads:
      cost += pads_cost();
      break;
    case BoardKind::strips:
      cost += strips_cost();
      break;
    case BoardKind::groups:
      cost += groups_cost();
      break;
  }
  return cost + size_cost() + order_cost();
}

double Layout::pads_cost() {
  count_.assign(static_cast<std::size_t>(scene_.grid.width * scene_.grid.height), 0);
  double cost = 0.0;
  for (const Lead& lead : leads_)
    if (count_[scene_.grid.cell(lead.x, lead.y)]++ > 0) cost += kForbidden;
  for (int net = 0; net < static_cast<int>(scene_.circuit.nets.size()); ++net) {
    pieces_.clear();
    for (const std::size_t k : leads_of_net(net))
      pieces_.push_back({leads_[k].x, leads_[k].x, leads_[k].y, leads_[k].y});
    cost += tree(pieces_);
  }
  return cost;
}

double Layout::strips_cost() {
  sorted_.resize(leads_.size());
  std::iota(sorted_.begin(), sorted_.end(), std::size_t{0});
  std::sort(sorted_.begin(), sorted_.end(), [this](std::size_t a, std::size_t b) {
    return std::pair(leads_[a].y, leads_[a].x) < std::pair(leads_[b].y, leads_[b].x);
  });
  per_net_.resize(scene_.circuit.nets.size());
  for (auto& pieces : per_net_) pieces.clear();
  double cost = 0.0;
  for (std::size_t k = 0; k < sorted_.size(); ++k) {
    const Lead& lead = leads_[sorted_[k]];
    bool goes_on = false;
    if (k > 0) {
      const Lead& last = leads_[sorted_[k - 1]];
      if (last.y == lead.y) {
        const int room = lead.x - last.x - 1;
        if (room < 0) cost += kForbidden;
        bool is_cut = false;
        for (int x = last.x + 1; x < lead.x; ++x)
          is_cut = is_cut || scene_.grid.is_taken[scene_.grid.cell(x, lead.y)];
        if (last.net == lead.net) {
          goes_on = !is_cut;
        } else if (room < 1) {
          cost += kForbidden * 0.7;
        } else if (!is_cut) {
          cost += kPerCut;
        }
      }
    }
    if (lead.net >= static_cast<int>(scene_.circuit.nets.size())) continue;
    auto& pieces = per_net_[static_cast<std::size_t>(lead.net)];
    if (goes_on && !pieces.empty() && pieces.back().most_y == lead.y)
      pieces.back().most_x = lead.x;
    else
      pieces.push_back({lead.x, lead.x, lead.y, lead.y});
  }
  for (const auto& pieces : per_net_) cost += tree(pieces);
  return cost;
}

double Layout::groups_cost() {
  count_.assign(static_cast<std::size_t>(scene_.grid.width * scene_.grid.height), 0);
  // Net of each joint, one more than its number; and how many leads are in it.
  const auto joints = static_cast<std::size_t>(2 * scene_.grid.width + kGroupRows + 4);
  net_of_joint_.assign(joints, 0);
  filled_.assign(joints, 0);
  per_net_.resize(scene_.circuit.nets.size());
  for (auto& pieces : per_net_) pieces.clear();
  double cost = 0.0;
  for (const Lead& lead : leads_) {
    if (count_[scene_.grid.cell(lead.x, lead.y)]++ > 0) cost += kForbidden;
    const auto joint = static_cast<std::size_t>(
        scene_.grid.joint_at[scene_.grid.cell(lead.x, lead.y)]);
    ++filled_[joint];
    if (net_of_joint_[joint] == 0) {
      net_of_joint_[joint] = lead.net + 1;
      if (lead.net >= static_cast<int>(scene_.circuit.nets.size())) continue;
      const bool is_rail = joint >= static_cast<std::size_t>(2 * scene_.grid.width);
      const int half = static_cast<int>(joint % 2);
      const int first = first_of_half(half);
      per_net_[static_cast<std::size_t>(lead.net)].push_back(
          is_rail ? Piece{0, scene_.grid.width - 1, lead.y, lead.y}
                  : Piece{lead.x, lead.x, first, first + kGroupRows / 2 - 1});
    } else if (net_of_joint_[joint] != lead.net + 1) {
      cost += kForbidden * 0.7;
    }
  }
  constexpr int kHoles = kGroupRows / 2;
  for (std::size_t joint = 0; joint < static_cast<std::size_t>(2 * scene_.grid.width);
       ++joint)
    if (filled_[joint] >= kHoles) cost += 6.0;  // No hole is left for a wire.
  for (const auto& pieces : per_net_) {
    cost += tree(pieces);
    if (pieces.size() > 1) cost += kPerJoin * static_cast<double>(pieces.size() - 1);
  }
  return cost;
}

int Layout::first_of_half(int half) const {
  return pitches_of(scene_.board, {half * (kGroupRows / 2), 0}).second;
}

double Layout::size_cost() const {
  double least_x = 1e9;
  double least_y = 1e9;
  double most_x = -1e9;
  double most_y = -1e9;
  double over = 0.0;
  const double east = (scene_.grid.width - 0.5) * kPitch + 0.15e-3;
  const double south = (scene_.grid.height - 0.5) * kPitch + 0.15e-3;
  const double edge = -0.5 * kPitch - 0.15e-3;
  for (std::size_t k = 0; k < scene_.items.size(); ++k) {
    const Variant& v = variant_of(k);
    const double x = spots_[k].x * kPitch;
    const double y = spots_[k].y * kPitch;
    if (v.body) {
      const Bounds around = around_of(k);
      least_x = std::min(least_x, around.least.x + kPitch / 2);
      least_y = std::min(least_y, around.least.y + kPitch / 2);
      most_x = std::max(most_x, around.most.x - kPitch / 2);
      most_y = std::max(most_y, around.most.y - kPitch / 2);
      const double beyond = std::max({0.0, edge - around.least.x, edge - around.least.y,
                                      around.most.x - east, around.most.y - south});
      if (beyond > 0.0 && !scene_.items[k].is_fixed)
        over += kForbidden + kPerMilli * beyond * 1e3;
    }
    for (const auto& [dx, dy] : v.leads) {
      least_x = std::min(least_x, x + dx * kPitch);
      least_y = std::min(least_y, y + dy * kPitch);
      most_x = std::max(most_x, x + dx * kPitch);
      most_y = std::max(most_y, y + dy * kPitch);
    }
  }
  const double wide = (most_x - least_x) / kPitch + 1;
  const double deep = (most_y - least_y) / kPitch + 1;
  if (scene_.board.kind == BoardKind::groups) return over + 0.5 * wide;
  return over + kPerHole * wide * deep + kPerSide * (wide + deep);
}

double Layout::order_cost() const {
  double cost = 0.0;
  for (std::size_t k = 1; k < scene_.path.size(); ++k)
    cost += kBackwards *
            std::max(0, spots_[scene_.path[k - 1]].x - spots_[scene_.path[k]].x);
  return cost;
}

}  // namespace benchproof::proposing
