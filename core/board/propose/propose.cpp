#include "core/board/propose/propose.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numeric>
#include <set>
#include <tuple>

#include "core/board/places/footprint.h"
#include "core/board/proof/bounds.h"
#include "core/board/proof/proof.h"

namespace benchproof {
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

/// The same numbers on every machine (Steele, Lea, Flood, "Fast splittable pseudorandom
/// number generators", OOPSLA 2014).
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : state_(seed) {}
  std::uint64_t next() {
    state_ += 0x9E3779B97F4A7C15ULL;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31U);
  }
  int upto(int count) {
    return count <= 1 ? 0 : static_cast<int>(next() % static_cast<unsigned>(count));
  }
  double share() { return static_cast<double>(next() >> 11U) * 0x1.0p-53; }

 private:
  std::uint64_t state_;
};

/// One way in which something may stand, seen from its first lead.
struct Variant {
  std::vector<std::pair<int, int>> leads;  ///< Pitches to the east and south.
  std::optional<Outline> body;             ///< Metres from the first lead.
  Bounds around{};                         ///< Of body and leads; metres.
  std::optional<Side> faces;
  bool is_flat = false;
};

/// A part, or the start of one wire.
struct Item {
  int part = -1;
  int pin = -1;  ///< Of a wire's start; else -1.
  std::vector<Variant> variants;
  std::vector<int> nets;  ///< By lead.
  bool is_fixed = false;
  bool is_warm = false;
  bool is_can = false;
  bool is_marked = false;
  KindId kind = KindId::resistor;
};

struct Spot {
  int x = 0;
  int y = 0;
  int variant = 0;
};

/// The board as a grid of pitches; on groups some have no hole.
struct Grid {
  int width = 0;
  int height = 0;
  std::vector<int> row_at;     ///< By pitches to the south; kNone where no row is.
  std::vector<int> joint_at;   ///< Of groups: which cells are one by themselves.
  std::vector<bool> is_taken;  ///< Cut away.
  static constexpr int kNone = -1000;
};

Outline moved(const Outline& outline, double x, double y) {
  Outline result = outline;
  result.centre = {result.centre.x + x, result.centre.y + y};
  for (Point& corner : result.corners) corner = {corner.x + x, corner.y + y};
  return result;
}

/// Along the current: parts by how far their nets are from the positive end of what
/// powers the circuit.
std::vector<int> path_order(const Circuit& circuit) {
  const int count = static_cast<int>(circuit.parts.size());
  std::vector<int> depth(circuit.nets.size(), std::numeric_limits<int>::max());
  std::vector<int> queue;
  const auto reach = [&](int net, int at) {
    if (net <= 0 || depth[static_cast<std::size_t>(net)] <= at) return;
    depth[static_cast<std::size_t>(net)] = at;
    queue.push_back(net);
  };
  for (const Part& part : circuit.parts)
    if (is_source(part.kind) && !part.nets.empty()) reach(part.nets.front(), 0);
  for (std::size_t k = 0; k < queue.size(); ++k) {
    const int net = queue[k];
    for (const PinRef pin : circuit.nets[static_cast<std::size_t>(net)].pins)
      for (const int next : circuit.parts[static_cast<std::size_t>(pin.part)].nets)
        reach(next, depth[static_cast<std::size_t>(net)] + 1);
  }
  std::vector<int> order(static_cast<std::size_t>(count));
  std::iota(order.begin(), order.end(), 0);
  const auto key = [&](int part) {
    int nearest = std::numeric_limits<int>::max();
    for (const int net : circuit.parts[static_cast<std::size_t>(part)].nets)
      if (net > 0) nearest = std::min(nearest, depth[static_cast<std::size_t>(net)]);
    return nearest;
  };
  std::stable_sort(order.begin(), order.end(),
                   [&](int a, int b) { return key(a) < key(b); });
  return order;
}

class Annealer {
 public:
  Annealer(const Circuit& circuit, const Board& board, std::span<const double> watts,
           std::uint64_t seed, bool begins_on_rails)
      : circuit_(circuit),
        board_(board),
        dice_(seed),
        begins_on_rails_(begins_on_rails) {
    make_grid();
    make_items(watts);
    make_order();
  }

  /// False where something has no room on this board at all.
  bool can_begin() const { return !has_no_room_; }

  /// The best layout found, and what it costs beyond length.
  double run(int trials) {
    scatter();
    if (has_no_room_) return std::numeric_limits<double>::infinity();
    rebuild();
    double cost = total();
    best_ = spots_;
    double best_cost = cost;
    constexpr double kHot = 25.0;
    constexpr double kCold = 0.08;
    const double fall = std::pow(kCold / kHot, 1.0 / std::max(1, trials));
    double heat = kHot;
    for (int k = 0; k < trials; ++k, heat *= fall) {
      const double share = static_cast<double>(k) / trials;
      if (!propose(share)) continue;
      const double next = total();
      if (next <= cost || dice_.share() < std::exp((cost - next) / heat)) {
        cost = next;
        if (cost < best_cost - 1e-9) {
          best_cost = cost;
          best_ = spots_;
        }
      } else {
        undo();
      }
    }
    spots_ = best_;
    rebuild();
    return best_cost;
  }

  /// The board with the places found.
  Board placed() const {
    Board board = board_;
    for (std::size_t k = 0; k < items_.size(); ++k) {
      const Item& item = items_[k];
      if (item.is_fixed) continue;
      const Variant& variant =
          item.variants[static_cast<std::size_t>(spots_[k].variant)];
      Placement* place = nullptr;
      for (Placement& known : board.places)
        if (known.part == item.part) place = &known;
      if (place == nullptr) {
        board.places.push_back({item.part, {}, std::nullopt, false, std::nullopt, {}});
        place = &board.places.back();
      }
      if (item.pin >= 0) {
        place->pins.push_back({item.pin, hole_at(spots_[k].x, spots_[k].y), {}});
        continue;
      }
      const Part& part = circuit_.parts[static_cast<std::size_t>(item.part)];
      const Leads leads = leads_of(part, *shape_of(part).shape);
      for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
        const int lead = leads.lead_of_pin[pin];
        if (lead < 0 || lead >= static_cast<int>(variant.leads.size())) continue;
        const auto& [x, y] = variant.leads[static_cast<std::size_t>(lead)];
        place->pins.push_back(
            {static_cast<int>(pin), hole_at(spots_[k].x + x, spots_[k].y + y), {}});
      }
      place->is_flat = variant.is_flat;
      if (variant.leads.size() > 2) place->faces = variant.faces;
    }
    std::vector<std::size_t> rank(circuit_.parts.size());
    for (std::size_t k = 0; k < order_.size(); ++k)
      rank[static_cast<std::size_t>(order_[k])] = k;
    std::stable_sort(board.places.begin(), board.places.end(),
                     [&](const Placement& a, const Placement& b) {
                       return rank[static_cast<std::size_t>(a.part)] <
                              rank[static_cast<std::size_t>(b.part)];
                     });
    return board;
  }

  /// The rectangle of pitches that everything needs: least x, y and most x, y.
  std::array<int, 4> needed() const {
    std::array<int, 4> box = {1 << 20, 1 << 20, -(1 << 20), -(1 << 20)};
    const auto take = [&box](double least_x, double least_y, double most_x,
                             double most_y) {
      // A body may reach half a pitch beyond the outermost holes.
      box[0] = std::min(box[0], static_cast<int>(std::ceil(least_x / kPitch - 0.06)));
      box[1] = std::min(box[1], static_cast<int>(std::ceil(least_y / kPitch - 0.06)));
      box[2] = std::max(box[2], static_cast<int>(std::floor(most_x / kPitch + 0.06)));
      box[3] = std::max(box[3], static_cast<int>(std::floor(most_y / kPitch + 0.06)));
    };
    for (std::size_t k = 0; k < items_.size(); ++k) {
      const Bounds around = around_of(k);
      take(around.least.x, around.least.y, around.most.x, around.most.y);
      const Variant& v = variant_of(k);
      for (const auto& [x, y] : v.leads)
        take((spots_[k].x + x) * kPitch, (spots_[k].y + y) * kPitch,
             (spots_[k].x + x) * kPitch, (spots_[k].y + y) * kPitch);
    }
    return box;
  }

 private:
  [[nodiscard]] Hole hole_at(int x, int y) const {
    return {grid_.row_at[static_cast<std::size_t>(y)], x};
  }
  [[nodiscard]] const Variant& variant_of(std::size_t k) const {
    return items_[k].variants[static_cast<std::size_t>(spots_[k].variant)];
  }
  [[nodiscard]] Bounds around_of(std::size_t k) const {
    const Variant& v = variant_of(k);
    const double x = spots_[k].x * kPitch;
    const double y = spots_[k].y * kPitch;
    return {{v.around.least.x + x, v.around.least.y + y},
            {v.around.most.x + x, v.around.most.y + y}};
  }
  [[nodiscard]] std::size_t cell(int x, int y) const {
    return static_cast<std::size_t>(y * grid_.width + x);
  }

  void make_grid() {
    grid_.width = board_.columns;
    grid_.height = pitches_deep(board_);
    grid_.row_at.assign(static_cast<std::size_t>(grid_.height), Grid::kNone);
    for (const Hole hole : holes_of(board_))
      if (hole.column == 0)
        grid_.row_at[static_cast<std::size_t>(pitches_of(board_, hole).second)] =
            hole.row;
    const auto cells = static_cast<std::size_t>(grid_.width * grid_.height);
    grid_.joint_at.assign(cells, -1);
    grid_.is_taken.assign(cells, false);
    for (const Cut& cut : board_.cuts) {
      const auto [x, y] = pitches_of(board_, cut.hole);
      grid_.is_taken[cell(x, y)] = true;
    }
    if (board_.kind != BoardKind::groups) return;
    for (const Hole hole : holes_of(board_)) {
      const auto [x, y] = pitches_of(board_, hole);
      const bool is_rail = hole.row < 0 || hole.row >= kGroupRows;
      // Rails come behind the two halves of all columns.
      grid_.joint_at[cell(x, y)] = is_rail ? 2 * grid_.width + (hole.row + 2)
                                           : 2 * x + hole.row / (kGroupRows / 2);
    }
  }

  /// The variants of a part: each stance of its shape, laid flat where it is too high.
  std::vector<Variant> variants_for(const Part& part, int index) {
    std::vector<Variant> variants;
    const PartShape& shape = *shape_of(part).shape;
    const Leads leads = leads_of(part, shape);
    // A board of pads large enough to stand on anywhere.
    Board wide;
    constexpr int kRoom = 60;
    wide.columns = 2 * kRoom;
    wide.rows = 100;
    wide.is_off.assign(circuit_.parts.size(), false);
    constexpr int kMiddle = 50;
    for (const Stance& stance : stances_of(shape)) {
      for (const bool is_flat : {false, true}) {
        const bool can_lie =
            shape.form == ShapeForm::row || shape.form == ShapeForm::radial;
        if (is_flat && !can_lie) continue;
        Placement place{index, {}, std::nullopt, is_flat, std::nullopt, {}};
        for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
          const int lead = leads.lead_of_pin[pin];
          if (lead < 0 || lead >= static_cast<int>(stance.leads.size())) continue;
          const auto& [x, y] = stance.leads[static_cast<std::size_t>(lead)];
          place.pins.push_back({static_cast<int>(pin), {kMiddle + y, kRoom + x}, {}});
        }
        if (stance.leads.size() > 2) place.faces = stance.faces;
        if (place.pins.empty()) continue;
        const Footprint foot = footprint_of(circuit_, wide, place);
        if (foot.misplaced != Misplaced::no || !foot.body) continue;
        const bool is_too_high = board_.height && foot.height > *board_.height;
        // Flat only where it must; too high stays a choice where nothing else is.
        if (is_flat && !(board_.height && is_high_standing(part, *board_.height)))
          continue;
        if (is_too_high && !is_flat && can_lie) continue;
        Variant variant;
        variant.leads = stance.leads;
        variant.faces = foot.faces;
        variant.is_flat = is_flat;
        variant.body = moved(*foot.body, -kRoom * kPitch, -kMiddle * kPitch);
        variant.around = bounds(*variant.body);
        variants.push_back(std::move(variant));
      }
    }
    return variants;
  }

  static bool is_high_standing(const Part& part, double room) {
    return shape_of(part).shape->size("height") > room;
  }

  static Variant single() {
    Variant variant;
    variant.leads = {{0, 0}};
    return variant;
  }

  void make_items(std::span<const double> watts) {
    int alone = static_cast<int>(circuit_.nets.size());
    std::vector<const Placement*> given(circuit_.parts.size(), nullptr);
    for (const Placement& place : board_.places)
      given[static_cast<std::size_t>(place.part)] = &place;
    for (std::size_t p = 0; p < circuit_.parts.size(); ++p) {
      const Part& part = circuit_.parts[p];
      const PartShape& shape = *shape_of(part).shape;
      const bool is_loose = board_.is_off[p] || shape.form == ShapeForm::loose;
      if (given[p] != nullptr) add_fixed(part, *given[p], alone);
      if (is_loose) {
        for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
          if (part.nets[pin] < 0) continue;
          bool is_given = false;
          if (given[p] != nullptr)
            for (const PlacedPin& placed : given[p]->pins)
              is_given = is_given || placed.pin == static_cast<int>(pin);
          if (is_given) continue;
          Item item;
          item.part = static_cast<int>(p);
          item.pin = static_cast<int>(pin);
          item.variants = {single()};
          item.nets = {part.nets[pin]};
          item.kind = part.kind;
          items_.push_back(std::move(item));
        }
        continue;
      }
      if (given[p] != nullptr) continue;
      Item item;
      item.part = static_cast<int>(p);
      item.kind = part.kind;
      item.variants = variants_for(part, static_cast<int>(p));
      if (item.variants.empty()) {
        has_no_room_ = true;
        continue;
      }
      const Leads leads = leads_of(part, shape);
      for (std::size_t lead = 0; lead < item.variants.front().leads.size(); ++lead) {
        const int pin = lead < leads.pin_of_lead.size() ? leads.pin_of_lead[lead] : -1;
        const int net = pin < 0 ? -1 : part.nets[static_cast<std::size_t>(pin)];
        item.nets.push_back(net >= 0 ? net : alone++);
      }
      set_traits(item, part, watts);
      items_.push_back(std::move(item));
    }
    net_count_ = alone;
    spots_.resize(items_.size());
    for (std::size_t k = 0; k < items_.size(); ++k)
      if (items_[k].is_fixed) spots_[k] = fixed_spots_[k];
    for (std::size_t k = 0; k < items_.size(); ++k)
      if (!items_[k].is_fixed) free_.push_back(k);
  }

  void set_traits(Item& item, const Part& part, std::span<const double> watts) {
    item.is_can = part.kind == KindId::capacitor && flag(part, "polarised", false);
    item.is_marked = is_polarised(part);
    item.is_warm =
        !watts.empty() && watts[static_cast<std::size_t>(item.part)] > kWarmWatts;
  }

  /// What is placed already keeps its holes.
  void add_fixed(const Part& part, const Placement& place, int& alone) {
    const Footprint foot = footprint_of(circuit_, board_, place);
    Item item;
    item.part = place.part;
    item.is_fixed = true;
    item.kind = part.kind;
    Variant variant;
    std::optional<std::pair<int, int>> first;
    for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead) {
      if (!foot.has_hole[lead]) continue;
      const auto at = pitches_of(board_, foot.lead_holes[lead]);
      if (!first) first = at;
      variant.leads.emplace_back(at.first - first->first, at.second - first->second);
      const int pin = foot.pin_of_lead[lead];
      const int net = pin < 0 ? -1 : part.nets[static_cast<std::size_t>(pin)];
      item.nets.push_back(net >= 0 ? net : alone++);
    }
    if (!first) return;
    if (foot.body) {
      variant.body = moved(*foot.body, -first->first * kPitch, -first->second * kPitch);
      variant.around = bounds(*variant.body);
    }
    variant.faces = foot.faces;
    item.variants = {std::move(variant)};
    set_traits(item, part, {});
    fixed_spots_.resize(items_.size() + 1);
    fixed_spots_[items_.size()] = {first->first, first->second, 0};
    items_.push_back(std::move(item));
  }

  void make_order() {
    order_ = path_order(circuit_);
    std::vector<std::size_t> item_of(circuit_.parts.size(), items_.size());
    for (std::size_t k = 0; k < items_.size(); ++k)
      if (items_[k].pin < 0) item_of[static_cast<std::size_t>(items_[k].part)] = k;
    for (const int part : order_)
      if (item_of[static_cast<std::size_t>(part)] < items_.size())
        path_.push_back(item_of[static_cast<std::size_t>(part)]);
  }

  /// Whether all leads of an item are on holes.
  [[nodiscard]] bool is_on_board(std::size_t k, const Spot& spot) const {
    for (const auto& [x, y] :
         items_[k].variants[static_cast<std::size_t>(spot.variant)].leads) {
      const int at_x = spot.x + x;
      const int at_y = spot.y + y;
      if (at_x < 0 || at_x >= grid_.width || at_y < 0 || at_y >= grid_.height)
        return false;
      if (grid_.row_at[static_cast<std::size_t>(at_y)] == Grid::kNone) return false;
      if (grid_.is_taken[cell(at_x, at_y)]) return false;
    }
    return true;
  }

  Spot anywhere(std::size_t k) {
    Spot spot;
    constexpr int kTries = 400;
    for (int t = 0; t < kTries; ++t) {
      spot = {dice_.upto(grid_.width), dice_.upto(grid_.height),
              dice_.upto(static_cast<int>(items_[k].variants.size()))};
      if (is_on_board(k, spot)) return spot;
    }
    return {-1, -1, 0};
  }

  void scatter() {
    for (const std::size_t k : free_) {
      spots_[k] = anywhere(k);
      if (spots_[k].x < 0) {
        has_no_room_ = true;
        spots_[k] = {0, 0, 0};
      }
    }
    if (begins_on_rails_ && !has_no_room_) begin_on_rails();
  }

  /// The cells of rails, from the north.
  [[nodiscard]] std::vector<int> rails() const {
    std::vector<int> at;
    for (int y = 0; y < grid_.height; ++y) {
      const int row = grid_.row_at[static_cast<std::size_t>(y)];
      if (row != Grid::kNone && (row < 0 || row >= kGroupRows)) at.push_back(y);
    }
    return at;
  }

  /// Rails are for the nets of most leads: a search that begins elsewhere seldom finds
  /// them, for a rail is of use only when most of its net is there.
  void begin_on_rails() {
    std::vector<std::pair<int, int>> by_size;  // Leads, net.
    for (int net = 0; net < static_cast<int>(circuit_.nets.size()); ++net) {
      int leads = 0;
      for (const Item& item : items_)
        leads += static_cast<int>(std::count(item.nets.begin(), item.nets.end(), net));
      by_size.emplace_back(-leads, net);
    }
    std::sort(by_size.begin(), by_size.end());
    const std::vector<int> at = rails();
    rail_of_net_.assign(circuit_.nets.size(), -1);
    constexpr int kFew = 4;  // What fits into a group needs no rail.
    for (std::size_t r = 0; r < at.size() && r < by_size.size(); ++r)
      if (-by_size[r].first > kFew)
        rail_of_net_[static_cast<std::size_t>(by_size[r].second)] = at[r];
    for (const std::size_t k : free_)
      if (const auto spot = on_rail(k)) spots_[k] = *spot;
  }

  /// A place of an item with one of its leads on its net's rail.
  std::optional<Spot> on_rail(std::size_t k) {
    const Item& item = items_[k];
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
      spot.x = dice_.upto(grid_.width) - x;
      spot.y = rail_of_net_[static_cast<std::size_t>(item.nets[lead])] - y;
      if (is_on_board(k, spot)) return spot;
    }
    return std::nullopt;
  }

  /// The leads of all items in one list, and what pairs of bodies cost.
  void rebuild() {
    lead_of_item_.clear();
    leads_.clear();
    for (std::size_t k = 0; k < items_.size(); ++k) {
      lead_of_item_.push_back(leads_.size());
      for (std::size_t lead = 0; lead < items_[k].nets.size(); ++lead)
        leads_.push_back({0, 0, items_[k].nets[lead], k});
    }
    for (std::size_t k = 0; k < items_.size(); ++k) put_leads(k);
    bodies_ = 0.0;
    for (std::size_t a = 0; a < items_.size(); ++a)
      for (std::size_t b = 0; b < a; ++b) bodies_ += pair_cost(a, b);
  }

  void put_leads(std::size_t k) {
    const Variant& v = variant_of(k);
    for (std::size_t lead = 0; lead < v.leads.size(); ++lead) {
      Lead& at = leads_[lead_of_item_[k] + lead];
      at.x = spots_[k].x + v.leads[lead].first;
      at.y = spots_[k].y + v.leads[lead].second;
    }
  }

  [[nodiscard]] double body_cost(std::size_t k) const {
    double sum = 0.0;
    for (std::size_t other = 0; other < items_.size(); ++other)
      if (other != k) sum += pair_cost(k, other);
    return sum;
  }

  /// What two items cost by standing where they do.
  [[nodiscard]] double pair_cost(std::size_t a, std::size_t b) const {
    const Variant& va = variant_of(a);
    const Variant& vb = variant_of(b);
    double cost = 0.0;
    const bool is_heat = (items_[a].is_warm && items_[b].is_can) ||
                         (items_[b].is_warm && items_[a].is_can);
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
    if (items_[a].is_marked && items_[b].is_marked &&
        items_[a].kind == items_[b].kind && va.faces && vb.faces && va.body &&
        vb.body) {
      const int turn =
          (static_cast<int>(*va.faces) - static_cast<int>(*vb.faces) + 4) % 4;
      if (turn == 2) cost += kTurned;
    }
    return cost;
  }

  /// Leads of an item that go through another's body.
  [[nodiscard]] double under_cost(std::size_t body, Point at, std::size_t other) const {
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

  bool propose(double share) {
    moved_.clear();
    const std::size_t k = free_.empty() ? 0
                                        : free_[static_cast<std::size_t>(dice_.upto(
                                              static_cast<int>(free_.size())))];
    if (free_.empty()) return false;
    Spot spot = spots_[k];
    const int reach = std::max(1, static_cast<int>((1.0 - share) * 0.5 * grid_.width));
    const int choice = dice_.upto(rail_of_net_.empty() ? 10 : 11);
    if (choice == 10) {
      const auto there = on_rail(k);
      if (!there) return false;
      spot = *there;
    } else if (choice < 4) {
      spot.x += dice_.upto(2 * reach + 1) - reach;
      spot.y += dice_.upto(2 * reach + 1) - reach;
    } else if (choice < 6 && items_[k].variants.size() > 1) {
      // About one of its leads, so that this one stays.
      const auto& old = variant_of(k).leads;
      const int lead = dice_.upto(static_cast<int>(old.size()));
      spot.variant = dice_.upto(static_cast<int>(items_[k].variants.size()));
      const auto& now =
          items_[k].variants[static_cast<std::size_t>(spot.variant)].leads;
      spot.x += old[static_cast<std::size_t>(lead)].first -
                now[static_cast<std::size_t>(lead)].first;
      spot.y += old[static_cast<std::size_t>(lead)].second -
                now[static_cast<std::size_t>(lead)].second;
    } else if (choice < 9) {
      // One of its leads beside a lead of the same net.
      const std::size_t own =
          static_cast<std::size_t>(dice_.upto(static_cast<int>(items_[k].nets.size())));
      const int net = items_[k].nets[own];
      if (net >= static_cast<int>(circuit_.nets.size())) return false;
      const std::vector<std::size_t>& others = leads_of_net(net);
      const Lead& other = leads_[others[static_cast<std::size_t>(
          dice_.upto(static_cast<int>(others.size())))]];
      if (other.item == k) return false;
      if (dice_.upto(2) == 0)
        spot.variant = dice_.upto(static_cast<int>(items_[k].variants.size()));
      const auto& lead =
          items_[k].variants[static_cast<std::size_t>(spot.variant)].leads[own];
      const int near = 1 + dice_.upto(3);
      const int to = dice_.upto(4);
      spot.x = other.x - lead.first + (to == 0 ? near : to == 1 ? -near : 0);
      spot.y = other.y - lead.second + (to == 2 ? near : to == 3 ? -near : 0);
    } else {
      const std::size_t other =
          free_[static_cast<std::size_t>(dice_.upto(static_cast<int>(free_.size())))];
      if (other == k) return false;
      Spot theirs = spots_[other];
      std::swap(spot.x, theirs.x);
      std::swap(spot.y, theirs.y);
      if (!is_on_board(k, spot) || !is_on_board(other, theirs)) return false;
      move(k, spot);
      move(other, theirs);
      return true;
    }
    if (!is_on_board(k, spot)) return false;
    move(k, spot);
    return true;
  }

  struct Moved {
    std::size_t item;
    Spot from;
    double bodies;
  };

  void move(std::size_t k, const Spot& spot) {
    moved_.push_back({k, spots_[k], bodies_});
    const double before = body_cost(k);
    spots_[k] = spot;
    put_leads(k);
    bodies_ += body_cost(k) - before;
  }

  void undo() {
    while (!moved_.empty()) {
      spots_[moved_.back().item] = moved_.back().from;
      bodies_ = moved_.back().bodies;
      put_leads(moved_.back().item);
      moved_.pop_back();
    }
  }

  const std::vector<std::size_t>& leads_of_net(int net) {
    if (of_net_.empty()) {
      of_net_.resize(static_cast<std::size_t>(net_count_));
      for (std::size_t k = 0; k < leads_.size(); ++k)
        of_net_[static_cast<std::size_t>(leads_[k].net)].push_back(k);
    }
    return of_net_[static_cast<std::size_t>(net)];
  }

  /// Pieces of a net: a lead, or leads on one stretch of copper.
  struct Piece {
    int least_x, most_x, least_y, most_y;
  };

  /// Length and number of the joins that make pieces one.
  double tree(const std::vector<Piece>& pieces) {
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

  double total() {
    double cost = bodies_;
    switch (board_.kind) {
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

  double pads_cost() {
    count_.assign(static_cast<std::size_t>(grid_.width * grid_.height), 0);
    double cost = 0.0;
    for (const Lead& lead : leads_)
      if (count_[cell(lead.x, lead.y)]++ > 0) cost += kForbidden;
    for (int net = 0; net < static_cast<int>(circuit_.nets.size()); ++net) {
      pieces_.clear();
      for (const std::size_t k : leads_of_net(net))
        pieces_.push_back({leads_[k].x, leads_[k].x, leads_[k].y, leads_[k].y});
      cost += tree(pieces_);
    }
    return cost;
  }

  double strips_cost() {
    sorted_.resize(leads_.size());
    std::iota(sorted_.begin(), sorted_.end(), std::size_t{0});
    std::sort(sorted_.begin(), sorted_.end(), [this](std::size_t a, std::size_t b) {
      return std::pair(leads_[a].y, leads_[a].x) < std::pair(leads_[b].y, leads_[b].x);
    });
    per_net_.resize(circuit_.nets.size());
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
            is_cut = is_cut || grid_.is_taken[cell(x, lead.y)];
          if (last.net == lead.net) {
            goes_on = !is_cut;
          } else if (room < 1) {
            cost += kForbidden * 0.7;
          } else if (!is_cut) {
            cost += kPerCut;
          }
        }
      }
      if (lead.net >= static_cast<int>(circuit_.nets.size())) continue;
      auto& pieces = per_net_[static_cast<std::size_t>(lead.net)];
      if (goes_on && !pieces.empty() && pieces.back().most_y == lead.y)
        pieces.back().most_x = lead.x;
      else
        pieces.push_back({lead.x, lead.x, lead.y, lead.y});
    }
    for (const auto& pieces : per_net_) cost += tree(pieces);
    return cost;
  }

  double groups_cost() {
    count_.assign(static_cast<std::size_t>(grid_.width * grid_.height), 0);
    // Net of each joint, one more than its number; and how many leads are in it.
    const auto joints = static_cast<std::size_t>(2 * grid_.width + kGroupRows + 4);
    net_of_joint_.assign(joints, 0);
    filled_.assign(joints, 0);
    per_net_.resize(circuit_.nets.size());
    for (auto& pieces : per_net_) pieces.clear();
    double cost = 0.0;
    for (const Lead& lead : leads_) {
      if (count_[cell(lead.x, lead.y)]++ > 0) cost += kForbidden;
      const auto joint = static_cast<std::size_t>(grid_.joint_at[cell(lead.x, lead.y)]);
      ++filled_[joint];
      if (net_of_joint_[joint] == 0) {
        net_of_joint_[joint] = lead.net + 1;
        if (lead.net >= static_cast<int>(circuit_.nets.size())) continue;
        const bool is_rail = joint >= static_cast<std::size_t>(2 * grid_.width);
        const int half = static_cast<int>(joint % 2);
        const int first = first_of_half(half);
        per_net_[static_cast<std::size_t>(lead.net)].push_back(
            is_rail ? Piece{0, grid_.width - 1, lead.y, lead.y}
                    : Piece{lead.x, lead.x, first, first + kGroupRows / 2 - 1});
      } else if (net_of_joint_[joint] != lead.net + 1) {
        cost += kForbidden * 0.7;
      }
    }
    constexpr int kHoles = kGroupRows / 2;
    for (std::size_t joint = 0; joint < static_cast<std::size_t>(2 * grid_.width);
         ++joint)
      if (filled_[joint] >= kHoles) cost += 6.0;  // No hole is left for a wire.
    for (const auto& pieces : per_net_) {
      cost += tree(pieces);
      if (pieces.size() > 1) cost += kPerJoin * static_cast<double>(pieces.size() - 1);
    }
    return cost;
  }

  [[nodiscard]] int first_of_half(int half) const {
    return pitches_of(board_, {half * (kGroupRows / 2), 0}).second;
  }

  double size_cost() const {
    double least_x = 1e9;
    double least_y = 1e9;
    double most_x = -1e9;
    double most_y = -1e9;
    double over = 0.0;
    const double east = (grid_.width - 0.5) * kPitch + 0.15e-3;
    const double south = (grid_.height - 0.5) * kPitch + 0.15e-3;
    const double edge = -0.5 * kPitch - 0.15e-3;
    for (std::size_t k = 0; k < items_.size(); ++k) {
      const Variant& v = variant_of(k);
      const double x = spots_[k].x * kPitch;
      const double y = spots_[k].y * kPitch;
      if (v.body) {
        const Bounds around = around_of(k);
        least_x = std::min(least_x, around.least.x + kPitch / 2);
        least_y = std::min(least_y, around.least.y + kPitch / 2);
        most_x = std::max(most_x, around.most.x - kPitch / 2);
        most_y = std::max(most_y, around.most.y - kPitch / 2);
        const double beyond =
            std::max({0.0, edge - around.least.x, edge - around.least.y,
                      around.most.x - east, around.most.y - south});
        if (beyond > 0.0 && !items_[k].is_fixed)
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
    if (board_.kind == BoardKind::groups) return over + 0.5 * wide;
    return over + kPerHole * wide * deep + kPerSide * (wide + deep);
  }

  double order_cost() const {
    double cost = 0.0;
    for (std::size_t k = 1; k < path_.size(); ++k)
      cost += kBackwards * std::max(0, spots_[path_[k - 1]].x - spots_[path_[k]].x);
    return cost;
  }

  struct Lead {
    int x;
    int y;
    int net;
    std::size_t item;
  };

  const Circuit& circuit_;
  const Board& board_;
  Dice dice_;
  bool begins_on_rails_;
  Grid grid_;
  std::vector<Item> items_;
  std::vector<Spot> fixed_spots_;
  std::vector<std::size_t> free_;
  std::vector<std::size_t> path_;
  std::vector<int> order_;
  int net_count_ = 0;
  bool has_no_room_ = false;
  std::vector<Spot> spots_;
  std::vector<Spot> best_;
  std::vector<Lead> leads_;
  std::vector<std::size_t> lead_of_item_;
  std::vector<std::vector<std::size_t>> of_net_;
  double bodies_ = 0.0;
  std::vector<Moved> moved_;
  std::vector<int> count_;
  std::vector<std::size_t> sorted_;
  std::vector<std::vector<Piece>> per_net_;
  std::vector<Piece> pieces_;
  std::vector<int> rail_of_net_;  ///< Of groups: its cells' row, or -1.
  std::vector<int> net_of_joint_;
  std::vector<int> filled_;
  std::vector<double> far_;
  std::vector<bool> in_;
};

/// A board that has no size yet gets one: what parts need, times `room`.
Board sized(const Circuit& circuit, const Board& given, double room) {
  Board board = given;
  const AreaNeed need = area_need(circuit, given);
  const auto most = [](const std::optional<double>& space, int limit) {
    return space ? std::min(limit, static_cast<int>(*space / kPitch + 1e-6)) : limit;
  };
  const int most_columns = most(given.width, kMostColumns);
  const int most_rows = most(given.depth, kMostRows);
  int pins = 0;
  for (const Part& part : circuit.parts) pins += static_cast<int>(part.pins.size());
  if (board.kind == BoardKind::groups) {
    if (board.rails == 0) board.rails = 2;
    board.rows = kGroupRows;
    board.columns = static_cast<int>(room * (8 + 0.55 * pins));
  } else {
    board.columns = static_cast<int>(std::ceil(room * need.width / kPitch)) + 2;
    board.rows = static_cast<int>(std::ceil(room * need.depth / kPitch)) + 2;
  }
  board.columns = std::clamp(board.columns, 6, kMostColumns);
  if (board.kind != BoardKind::groups)
    board.rows = std::clamp(board.rows, 5, kMostRows);
  // What one side lacks the other one gives, as far as it has room.
  const double area = static_cast<double>(board.columns) * board.rows;
  if (board.columns > most_columns) {
    board.columns = std::max(1, most_columns);
    if (board.kind != BoardKind::groups)
      board.rows = static_cast<int>(std::ceil(area / board.columns));
  }
  if (board.kind != BoardKind::groups && board.rows > most_rows) {
    board.rows = std::max(1, most_rows);
    board.columns =
        std::min(most_columns, static_cast<int>(std::ceil(area / board.rows)));
  }
  board.rows = std::clamp(board.rows, 1, kMostRows);
  board.columns = std::clamp(board.columns, 1, kMostColumns);
  return board;
}

/// Takes away rows and columns around what is used.
Board cropped(const Board& board, const std::array<int, 4>& box) {
  Board result = board;
  const bool is_groups = board.kind == BoardKind::groups;
  const int west = std::max(0, box[0]);
  const int north = is_groups ? 0 : std::max(0, box[1]);
  result.columns = std::min(board.columns, box[2] + 1) - west;
  if (!is_groups) result.rows = std::min(board.rows, box[3] + 1) - north;
  const auto shift = [&](Hole& hole) {
    hole.column -= west;
    hole.row -= north;
  };
  for (Placement& place : result.places)
    for (PlacedPin& pin : place.pins) shift(pin.hole);
  return result;
}

/// More than the fewest joins and 30 %, a whole one begun counted, are worth another
/// try.
bool has_too_many(const JoinBounds& bounds) {
  return bounds.joins > static_cast<int>(std::ceil(1.3 * bounds.fewest));
}

std::size_t faults(const BoardProof& proof) {
  return static_cast<std::size_t>(
      std::count_if(proof.findings.begin(), proof.findings.end(),
                    [](const Finding& f) { return f.severity == Severity::fault; }));
}

}  // namespace

Proposal propose_board(const Circuit& circuit, const Board& given,
                       std::span<const double> watts, const ProposeOptions& options) {
  const bool has_size = given.columns > 0 && given.rows > 0;
  Proposal best;
  best.board = given;
  std::size_t best_faults = std::numeric_limits<std::size_t>::max();
  bool has_most_joins = true;
  double best_score = std::numeric_limits<double>::infinity();
  // Trials go by what there is to place.
  std::size_t count = 0;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k)
    count += given.is_off[k] ? circuit.parts[k].pins.size() : 1;
  const double each = 2400.0 * options.effort / 100.0;
  const int trials = static_cast<int>(each * static_cast<double>(count + 8));
  constexpr int kRounds = 6;
  int proved = 0;
  for (int round = 0; round < kRounds; ++round) {
    const double room = 1.15 + 0.15 * round;
    const Board board = has_size ? given : sized(circuit, given, room);
    Annealer annealer(circuit, board, watts,
                      options.seed * 1000003ULL + static_cast<std::uint64_t>(round),
                      // Both beginnings have their turn.
                      board.kind == BoardKind::groups && round % 2 == 1);
    if (!annealer.can_begin()) {
      best.reason = "a part has no room on this board at all";
      break;
    }
    const double cost = annealer.run(trials);
    if (!annealer.can_begin()) {
      best.reason = "a part has no room on this board at all";
      continue;
    }
    Board placed = annealer.placed();
    if (!has_size) placed = cropped(placed, annealer.needed());
    Board routed = route_board(circuit, placed);
    const BoardProof proof = prove_board(circuit, routed, watts);
    const std::size_t bad = faults(proof);
    const bool has_many = has_too_many(join_bounds(circuit, routed, proof));
    if (std::tuple(bad, has_many, cost) <
        std::tuple(best_faults, has_most_joins, best_score)) {
      best_faults = bad;
      has_most_joins = has_many;
      best_score = cost;
      best.board = std::move(routed);
      best.reason =
          bad == 0 ? ""
                   : fmt::format("{} left in the best of {} tries",
                                 bad == 1 ? "1 fault" : fmt::format("{} faults", bad),
                                 kRounds);
    }
    if (bad == 0) ++proved;
    if (proved >= 2 && !has_most_joins) break;
  }
  best.is_proved = best_faults == 0;
  return best;
}

}  // namespace benchproof
