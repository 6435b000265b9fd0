#include "core/board/propose/detail/scene.h"

#include <algorithm>
#include <limits>
#include <numeric>

#include "core/board/proof/proof.h"

namespace benchproof::proposing {
namespace {

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

/// Puts a scene together, step by step.
class SceneMaker {
 public:
  SceneMaker(const Circuit& circuit, const Board& board) : scene_{circuit, board} {}

  Scene make(std::span<const double> watts) && {
    make_grid();
    make_items(watts);
    make_order();
    return std::move(scene_);
  }

 private:
  void make_grid() {
    scene_.grid.width = scene_.board.columns;
    scene_.grid.height = pitches_deep(scene_.board);
    scene_.grid.row_at.assign(static_cast<std::size_t>(scene_.grid.height),
                              Grid::kNone);
    for (const Hole hole : holes_of(scene_.board))
      if (hole.column == 0)
        scene_.grid
            .row_at[static_cast<std::size_t>(pitches_of(scene_.board, hole).second)] =
            hole.row;
    const auto cells = static_cast<std::size_t>(scene_.grid.width * scene_.grid.height);
    scene_.grid.joint_at.assign(cells, -1);
    scene_.grid.is_taken.assign(cells, false);
    for (const Cut& cut : scene_.board.cuts) {
      const auto [x, y] = pitches_of(scene_.board, cut.hole);
      scene_.grid.is_taken[scene_.grid.cell(x, y)] = true;
    }
    if (scene_.board.kind != BoardKind::groups) return;
    for (const Hole hole : holes_of(scene_.board)) {
      const auto [x, y] = pitches_of(scene_.board, hole);
      const bool is_rail = hole.row < 0 || hole.row >= kGroupRows;
      // Rails come behind the two halves of all columns.
      scene_.grid.joint_at[scene_.grid.cell(x, y)] =
          is_rail ? 2 * scene_.grid.width + (hole.row + 2)
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
    wide.is_off.assign(scene_.circuit.parts.size(), false);
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
        const Footprint foot = footprint_of(scene_.circuit, wide, place);
        if (foot.misplaced != Misplaced::no || !foot.body) continue;
        const bool is_too_high =
            scene_.board.height && foot.height > *scene_.board.height;
        // Flat only where it must; too high stays a choice where nothing else is.
        if (is_flat &&
            !(scene_.board.height && is_high_standing(part, *scene_.board.height)))
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

  void make_items(std::span<const double> watts) {
    int alone = static_cast<int>(scene_.circuit.nets.size());
    std::vector<const Placement*> given(scene_.circuit.parts.size(), nullptr);
    for (const Placement& place : scene_.board.places)
      given[static_cast<std::size_t>(place.part)] = &place;
    for (std::size_t p = 0; p < scene_.circuit.parts.size(); ++p) {
      const Part& part = scene_.circuit.parts[p];
      const int index = static_cast<int>(p);
      if (given[p] != nullptr) add_fixed(part, *given[p], alone);
      if (scene_.board.is_off[p] || shape_of(part).shape->form == ShapeForm::loose)
        add_wires(part, index, given[p]);
      else if (given[p] == nullptr)
        add_part(part, index, watts, alone);
    }
    scene_.net_count = alone;
    scene_.given.resize(scene_.items.size());
    for (std::size_t k = 0; k < scene_.items.size(); ++k)
      if (!scene_.items[k].is_fixed) scene_.free.push_back(k);
  }

  /// The starts of the wires to a part off the board, but those that are given.
  void add_wires(const Part& part, int index, const Placement* given) {
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
      if (part.nets[pin] < 0) continue;
      bool is_given = false;
      if (given != nullptr)
        for (const PlacedPin& placed : given->pins)
          is_given = is_given || placed.pin == static_cast<int>(pin);
      if (is_given) continue;
      Item item;
      item.part = index;
      item.pin = static_cast<int>(pin);
      item.variants.emplace_back().leads = {{0, 0}};
      item.nets = {part.nets[pin]};
      item.kind = part.kind;
      scene_.items.push_back(std::move(item));
    }
  }

  void add_part(const Part& part, int index, std::span<const double> watts,
                int& alone) {
    Item item;
    item.part = index;
    item.kind = part.kind;
    item.variants = variants_for(part, index);
    if (item.variants.empty()) {
      scene_.has_no_room = true;
      return;
    }
    const Leads leads = leads_of(part, *shape_of(part).shape);
    for (std::size_t lead = 0; lead < item.variants.front().leads.size(); ++lead) {
      const int pin = lead < leads.pin_of_lead.size() ? leads.pin_of_lead[lead] : -1;
      const int net = pin < 0 ? -1 : part.nets[static_cast<std::size_t>(pin)];
      item.nets.push_back(net >= 0 ? net : alone++);
    }
    set_traits(item, part, watts);
    scene_.items.push_back(std::move(item));
  }

  void set_traits(Item& item, const Part& part, std::span<const double> watts) {
    item.is_can = part.kind == KindId::capacitor && flag(part, "polarised", false);
    item.is_marked = is_polarised(part);
    item.is_warm =
        !watts.empty() && watts[static_cast<std::size_t>(item.part)] > kWarmWatts;
  }

  /// What is placed already keeps its holes.
  void add_fixed(const Part& part, const Placement& place, int& alone) {
    const Footprint foot = footprint_of(scene_.circuit, scene_.board, place);
    Item item;
    item.part = place.part;
    item.is_fixed = true;
    item.kind = part.kind;
    Variant variant;
    std::optional<std::pair<int, int>> first;
    for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead) {
      if (!foot.has_hole[lead]) continue;
      const auto at = pitches_of(scene_.board, foot.lead_holes[lead]);
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
    scene_.given.resize(scene_.items.size() + 1);
    scene_.given[scene_.items.size()] = {first->first, first->second, 0};
    scene_.items.push_back(std::move(item));
  }

  void make_order() {
    scene_.order = path_order(scene_.circuit);
    std::vector<std::size_t> item_of(scene_.circuit.parts.size(), scene_.items.size());
    for (std::size_t k = 0; k < scene_.items.size(); ++k)
      if (scene_.items[k].pin < 0)
        item_of[static_cast<std::size_t>(scene_.items[k].part)] = k;
    for (const int part : scene_.order)
      if (item_of[static_cast<std::size_t>(part)] < scene_.items.size())
        scene_.path.push_back(item_of[static_cast<std::size_t>(part)]);
  }

  Scene scene_;
};

}  // namespace

Outline moved(const Outline& outline, double x, double y) {
  Outline result = outline;
  result.centre = {result.centre.x + x, result.centre.y + y};
  for (Point& corner : result.corners) corner = {corner.x + x, corner.y + y};
  return result;
}

Scene scene_of(const Circuit& circuit, const Board& board,
               std::span<const double> watts) {
  return SceneMaker(circuit, board).make(watts);
}

bool is_on_board(const Scene& scene, const Item& item, const Spot& spot) {
  const Grid& grid = scene.grid;
  for (const auto& [x, y] :
       item.variants[static_cast<std::size_t>(spot.variant)].leads) {
    const int at_x = spot.x + x;
    const int at_y = spot.y + y;
    if (at_x < 0 || at_x >= grid.width || at_y < 0 || at_y >= grid.height) return false;
    if (grid.row_at[static_cast<std::size_t>(at_y)] == Grid::kNone) return false;
    if (grid.is_taken[grid.cell(at_x, at_y)]) return false;
  }
  return true;
}

}  // namespace benchproof::proposing
