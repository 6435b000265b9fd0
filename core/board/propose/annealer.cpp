#include "core/board/propose/detail/annealer.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace benchproof::proposing {

Annealer::Annealer(const Scene& scene, std::uint64_t seed, bool begins_on_rails)
    : scene_(scene),
      dice_(seed),
      begins_on_rails_(begins_on_rails),
      has_no_room_(scene.has_no_room),
      layout_(scene) {}

double Annealer::run(int trials) {
  std::vector<Spot> best = scattered();
  if (has_no_room_) return std::numeric_limits<double>::infinity();
  layout_.put_all(best);
  double cost = layout_.cost();
  double best_cost = cost;
  constexpr double kHot = 25.0;
  constexpr double kCold = 0.08;
  const double fall = std::pow(kCold / kHot, 1.0 / std::max(1, trials));
  double heat = kHot;
  for (int k = 0; k < trials; ++k, heat *= fall) {
    if (!try_move(static_cast<double>(k) / trials)) continue;
    const double next = layout_.cost();
    if (next <= cost || dice_.share() < std::exp((cost - next) / heat)) {
      cost = next;
      if (cost < best_cost - 1e-9) {
        best_cost = cost;
        best = layout_.spots();
      }
    } else {
      layout_.undo();
    }
  }
  layout_.put_all(std::move(best));
  return best_cost;
}

Board Annealer::placed() const {
  Board board = scene_.board;
  const std::vector<Spot>& spots = layout_.spots();
  for (std::size_t k = 0; k < scene_.items.size(); ++k) {
    const Item& item = scene_.items[k];
    if (item.is_fixed) continue;
    const Variant& variant = layout_.variant_of(k);
    Placement* place = nullptr;
    for (Placement& known : board.places)
      if (known.part == item.part) place = &known;
    if (place == nullptr) {
      board.places.push_back({item.part, {}, std::nullopt, false, std::nullopt, {}});
      place = &board.places.back();
    }
    if (item.pin >= 0) {
      place->pins.push_back({item.pin, hole_at(spots[k].x, spots[k].y), {}});
      continue;
    }
    const Part& part = scene_.circuit.parts[static_cast<std::size_t>(item.part)];
    const Leads leads = leads_of(part, *shape_of(part).shape);
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
      const int lead = leads.lead_of_pin[pin];
      if (lead < 0 || lead >= static_cast<int>(variant.leads.size())) continue;
      const auto& [x, y] = variant.leads[static_cast<std::size_t>(lead)];
      place->pins.push_back(
          {static_cast<int>(pin), hole_at(spots[k].x + x, spots[k].y + y), {}});
    }
    place->is_flat = variant.is_flat;
    if (variant.leads.size() > 2) place->faces = variant.faces;
  }
  std::vector<std::size_t> rank(scene_.circuit.parts.size());
  for (std::size_t k = 0; k < scene_.order.size(); ++k)
    rank[static_cast<std::size_t>(scene_.order[k])] = k;
  std::stable_sort(board.places.begin(), board.places.end(),
                   [&](const Placement& a, const Placement& b) {
                     return rank[static_cast<std::size_t>(a.part)] <
                            rank[static_cast<std::size_t>(b.part)];
                   });
  return board;
}

std::array<int, 4> Annealer::needed() const {
  const std::vector<Spot>& spots = layout_.spots();
  std::array<int, 4> box = {1 << 20, 1 << 20, -(1 << 20), -(1 << 20)};
  const auto take = [&box](double least_x, double least_y, double most_x,
                           double most_y) {
    // A body may reach half a pitch beyond the outermost holes.
    box[0] = std::min(box[0], static_cast<int>(std::ceil(least_x / kPitch - 0.06)));
    box[1] = std::min(box[1], static_cast<int>(std::ceil(least_y / kPitch - 0.06)));
    box[2] = std::max(box[2], static_cast<int>(std::floor(most_x / kPitch + 0.06)));
    box[3] = std::max(box[3], static_cast<int>(std::floor(most_y / kPitch + 0.06)));
  };
  for (std::size_t k = 0; k < scene_.items.size(); ++k) {
    const Bounds around = layout_.around_of(k);
    take(around.least.x, around.least.y, around.most.x, around.most.y);
    const Variant& v = layout_.variant_of(k);
    for (const auto& [x, y] : v.leads)
      take((spots[k].x + x) * kPitch, (spots[k].y + y) * kPitch,
           (spots[k].x + x) * kPitch, (spots[k].y + y) * kPitch);
  }
  return box;
}

Hole Annealer::hole_at(int x, int y) const {
  return {scene_.grid.row_at[static_cast<std::size_t>(y)], x};
}

bool Annealer::is_possible(std::size_t item, const Spot& spot) const {
  return is_on_board(scene_, scene_.items[item], spot);
}

Spot Annealer::anywhere(std::size_t k) {
  Spot spot;
  constexpr int kTries = 400;
  for (int t = 0; t < kTries; ++t) {
    spot = {dice_.upto(scene_.grid.width), dice_.upto(scene_.grid.height),
            dice_.upto(static_cast<int>(scene_.items[k].variants.size()))};
    if (is_possible(k, spot)) return spot;
  }
  return {-1, -1, 0};
}

/// Free items anywhere, the others where they are given.
std::vector<Spot> Annealer::scattered() {
  std::vector<Spot> spots = scene_.given;
  for (const std::size_t k : scene_.free) {
    spots[k] = anywhere(k);
    if (spots[k].x < 0) {
      has_no_room_ = true;
      spots[k] = {0, 0, 0};
    }
  }
  if (begins_on_rails_ && !has_no_room_) begin_on_rails(spots);
  return spots;
}

/// The cells of rails, from the north.
std::vector<int> Annealer::rails() const {
  std::vector<int> at;
  for (int y = 0; y < scene_.grid.height; ++y) {
    const int row = scene_.grid.row_at[static_cast<std::size_t>(y)];
    if (row != Grid::kNone && (row < 0 || row >= kGroupRows)) at.push_back(y);
  }
  return at;
}

/// Rails are for the nets of most leads: a search that begins elsewhere seldom finds
/// them, for a rail is of use only when most of its net is there.
void Annealer::begin_on_rails(std::vector<Spot>& spots) {
  std::vector<std::pair<int, int>> by_size;  // Leads, net.
  for (int net = 0; net < static_cast<int>(scene_.circuit.nets.size()); ++net) {
    int leads = 0;
    for (const Item& item : scene_.items)
      leads += static_cast<int>(std::count(item.nets.begin(), item.nets.end(), net));
    by_size.emplace_back(-leads, net);
  }
  std::sort(by_size.begin(), by_size.end());
  const std::vector<int> at = rails();
  rail_of_net_.assign(scene_.circuit.nets.size(), -1);
  constexpr int kFew = 4;  // What fits into a group needs no rail.
  for (std::size_t r = 0; r < at.size() && r < by_size.size(); ++r)
    if (-by_size[r].first > kFew)
      rail_of_net_[static_cast<std::size_t>(by_size[r].second)] = at[r];
  for (const std::size_t k : scene_.free)
    if (const auto spot = on_rail(k)) spots[k] = *spot;
}

/// A place of an item with one of its leads on its net's rail.
std::optional<Spot> Annealer::on_rail(std::size_t k) {
  const Item& item = scene_.items[k];
  std::vector<std::size_t> own;
  for (std::size_t lead = 0; lead < item.nets.size(); ++lead)
    if (item.nets[lead] < static_cast<int>(rail_of_net_.size()) &&
        rail_of_net_[static_cast<std::size_t>(item.nets[lead])] >= 0)
      own.push_back(lead);
  if (own.empty()) return std::nullopt;
  constexpr int kTries = 20;
  for (int t = 0; t < kTries; ++t) {
    const std::size_t lead =
        own[static_cast<std::size_t>(dice_.upto(static_cast<int>(own.size())))];
    Spot spot;
    spot.variant = dice_.upto(static_cast<int>(item.variants.size()));
    const auto& [x, y] =
        item.variants[static_cast<std::size_t>(spot.variant)].leads[lead];
    spot.x = dice_.upto(scene_.grid.width) - x;
    spot.y = rail_of_net_[static_cast<std::size_t>(item.nets[lead])] - y;
    if (is_possible(k, spot)) return spot;
  }
  return std::nullopt;
}

/// Moves something, if it can stand there. Later in the search, when `share` of it is
/// over, it goes less far.
bool Annealer::try_move(double share) {
  layout_.begin_move();
  if (scene_.free.empty()) return false;
  const std::size_t k = one_of_free();
  const int choice = dice_.upto(rail_of_net_.empty() ? 10 : 11);
  std::optional<Spot> spot;
  if (choice == 10)
    spot = on_rail(k);
  else if (choice < 4)
    spot = nearby(k, share);
  else if (choice < 6 && scene_.items[k].variants.size() > 1)
    spot = turned_about_a_lead(k);
  else if (choice < 9)
    spot = beside_its_net(k);
  else
    return try_exchange(k);
  if (!spot || !is_possible(k, *spot)) return false;
  layout_.move(k, *spot);
  return true;
}

std::size_t Annealer::one_of_free() {
  return scene_
      .free[static_cast<std::size_t>(dice_.upto(static_cast<int>(scene_.free.size())))];
}

Spot Annealer::nearby(std::size_t k, double share) {
  Spot spot = layout_.spots()[k];
  const int reach =
      std::max(1, static_cast<int>((1.0 - share) * 0.5 * scene_.grid.width));
  spot.x += dice_.upto(2 * reach + 1) - reach;
  spot.y += dice_.upto(2 * reach + 1) - reach;
  return spot;
}

/// Another stance about one of its leads, so that this one stays.
Spot Annealer::turned_about_a_lead(std::size_t k) {
  const std::vector<Variant>& variants = scene_.items[k].variants;
  Spot spot = layout_.spots()[k];
  const auto& old = layout_.variant_of(k).leads;
  const auto lead = static_cast<std::size_t>(dice_.upto(static_cast<int>(old.size())));
  spot.variant = dice_.upto(static_cast<int>(variants.size()));
  const auto& now = variants[static_cast<std::size_t>(spot.variant)].leads;
  spot.x += old[lead].first - now[lead].first;
  spot.y += old[lead].second - now[lead].second;
  return spot;
}

/// One of its leads beside a lead of the same net.
std::optional<Spot> Annealer::beside_its_net(std::size_t k) {
  const Item& item = scene_.items[k];
  Spot spot = layout_.spots()[k];
  const auto own =
      static_cast<std::size_t>(dice_.upto(static_cast<int>(item.nets.size())));
  const int net = item.nets[own];
  if (net >= static_cast<int>(scene_.circuit.nets.size())) return std::nullopt;
  const std::vector<std::size_t>& others = layout_.leads_of_net(net);
  const Layout::Lead& other = layout_.lead(
      others[static_cast<std::size_t>(dice_.upto(static_cast<int>(others.size())))]);
  if (other.item == k) return std::nullopt;
  if (dice_.upto(2) == 0)
    spot.variant = dice_.upto(static_cast<int>(item.variants.size()));
  const auto& lead = item.variants[static_cast<std::size_t>(spot.variant)].leads[own];
  const int near = 1 + dice_.upto(3);
  const int to = dice_.upto(4);
  spot.x = other.x - lead.first + (to == 0 ? near : to == 1 ? -near : 0);
  spot.y = other.y - lead.second + (to == 2 ? near : to == 3 ? -near : 0);
  return spot;
}

/// Lets it and another one stand where the other one stood.
bool Annealer::try_exchange(std::size_t k) {
  const std::size_t other = one_of_free();
  if (other == k) return false;
  Spot spot = layout_.spots()[k];
  Spot theirs = layout_.spots()[other];
  std::swap(spot.x, theirs.x);
  std::swap(spot.y, theirs.y);
  if (!is_possible(k, spot) || !is_possible(other, theirs)) return false;
  layout_.move(k, spot);
  layout_.move(other, theirs);
  return true;
}

}  // namespace benchproof::proposing
