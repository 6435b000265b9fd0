#include "core/draw/detail/order.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <functional>
#include <limits>
#include <numeric>
#include <queue>
#include <utility>

#include "core/circuit/topology.h"

namespace benchproof {
namespace {

// Rows ------------------------------------------------------------------------------

/// What has to be above what. A demand that contradicts earlier ones is passed over.
class Demands {
 public:
  explicit Demands(std::size_t nodes) : below_(nodes) {}

  void demand(int above, int below) {
    if (above < 0 || below < 0 || above == below || is_above(below, above)) return;
    below_[above].push_back(below);
  }

  /// All nodes from top to bottom: as demanded, else the higher level first.
  [[nodiscard]] std::vector<int> sorted(const std::vector<double>& levels) const {
    std::vector<int> waits(below_.size(), 0);
    for (const auto& list : below_)
      for (const int node : list) ++waits[node];
    const auto later = [&levels](int a, int b) {
      return levels[a] != levels[b] ? levels[a] < levels[b] : a > b;
    };
    std::priority_queue<int, std::vector<int>, decltype(later)> ready(later);
    for (std::size_t k = 0; k < waits.size(); ++k)
      if (waits[k] == 0) ready.push(static_cast<int>(k));
    std::vector<int> order;
    while (!ready.empty()) {
      const int node = ready.top();
      ready.pop();
      order.push_back(node);
      for (const int next : below_[node])
        if (--waits[next] == 0) ready.push(next);
    }
    return order;
  }

 private:
  [[nodiscard]] bool is_above(int from, int to) const {
    std::vector<bool> is_seen(below_.size(), false);
    std::vector<int> open = {from};
    while (!open.empty()) {
      const int node = open.back();
      open.pop_back();
      if (node == to) return true;
      if (is_seen[node]) continue;
      is_seen[node] = true;
      open.insert(open.end(), below_[node].begin(), below_[node].end());
    }
    return false;
  }

  std::vector<std::vector<int>> below_;
};

/// Which bars begin at a block: each at the first of its pins, but for supply rails and
/// those that are `is_free`.
std::vector<Anchor> anchors_of(const Items& made, const std::vector<bool>& is_free) {
  std::vector<Anchor> anchors(made.is_bar.size());
  for (std::size_t k = 0; k < made.items.size(); ++k) {
    const Item& item = made.items[k];
    for (std::size_t s = 0; s < item.sides.size(); ++s) {
      const int net = item.sides[s].net;
      if (net <= 0 || is_free[net] || anchors[net].item >= 0) continue;
      if (net == item.top_net || net == item.bottom_net) continue;
      anchors[net] = {static_cast<int>(k), static_cast<int>(s)};
    }
  }
  return anchors;
}

/// The sides of a block as rows: left and right ones in turn, as they stand side by
/// side.
std::vector<Row> rows_of(const Items& made, int index,
                         const std::vector<Anchor>& anchors) {
  const Item& item = made.items[index];
  std::vector<int> left;
  std::vector<int> right;
  for (std::size_t s = 0; s < item.sides.size(); ++s)
    (item.sides[s].is_right ? right : left).push_back(static_cast<int>(s));
  std::vector<Row> rows;
  const auto take = [&](int side) {
    const int net = item.sides[side].net;
    const bool is_bar =
        net >= 0 && anchors[net].item == index && anchors[net].side == side;
    rows.push_back({is_bar ? net : -1, index, side});
  };
  for (std::size_t k = 0; k < std::max(left.size(), right.size()); ++k) {
    if (k < left.size()) take(left[k]);
    if (k < right.size()) take(right[k]);
  }
  if (rows.empty()) rows.push_back({-1, index, -1});
  return rows;
}

struct RowNodes {
  std::vector<int> of_net;    ///< -1: it is no bar.
  std::vector<int> of_block;  ///< Per item; -1: it is none.
  std::vector<double> levels;
};

RowNodes nodes_of(const Items& made, const std::vector<Anchor>& anchors,
                  const std::vector<double>& levels) {
  RowNodes nodes;
  nodes.of_net.assign(made.is_bar.size(), -1);
  nodes.of_block.assign(made.items.size(), -1);
  const auto level = [&levels](int net) { return net < 0 ? 0.0 : levels[net]; };
  for (std::size_t net = 0; net < made.is_bar.size(); ++net) {
    if (!made.is_bar[net] || anchors[net].item >= 0) continue;
    nodes.of_net[net] = static_cast<int>(nodes.levels.size());
    nodes.levels.push_back(levels[net]);
  }
  for (std::size_t k = 0; k < made.items.size(); ++k) {
    const Item& item = made.items[k];
    if (!item.is_block) continue;
    nodes.of_block[k] = static_cast<int>(nodes.levels.size());
    nodes.levels.push_back((level(item.top_net) + level(item.bottom_net)) / 2.0);
  }
  for (std::size_t net = 0; net < anchors.size(); ++net)
    if (anchors[net].item >= 0) nodes.of_net[net] = nodes.of_block[anchors[net].item];
  return nodes;
}

/// Blocks stand below their supply and above their common, transistors' bases between
/// their other pins.
Demands demands_of(const Circuit& circuit, const Items& made, const RowNodes& nodes,
                   const std::vector<double>& levels) {
  Demands demands(nodes.levels.size());
  const auto node = [&nodes](int net) { return net < 0 ? -1 : nodes.of_net[net]; };
  for (std::size_t k = 0; k < made.items.size(); ++k) {
    if (!made.items[k].is_block) continue;
    demands.demand(node(made.items[k].top_net), nodes.of_block[k]);
    demands.demand(nodes.of_block[k], node(made.items[k].bottom_net));
  }
  for (const Item& item : made.items) {
    if (item.is_block || item.top_net < 0 || item.bottom_net < 0) continue;
    const bool is_over = levels[item.top_net] < levels[item.bottom_net];
    const int top = is_over ? item.bottom_net : item.top_net;
    const int bottom = is_over ? item.top_net : item.bottom_net;
    demands.demand(node(top), node(bottom));
    for (const ItemPart& element : item.elements) {
      const Part& part = circuit.parts[element.part];
      // What a regulator's common stands at is below its output.
      if (element.side_pin < 0 || part.kind == KindId::regulator) continue;
      const int side = part.nets[element.side_pin];
      demands.demand(node(top), node(side));
      demands.demand(node(side), node(bottom));
    }
  }
  return demands;
}

void order_rows(const Circuit& circuit, const Items& made,
                const std::vector<double>& levels, Order& order) {
  const RowNodes nodes = nodes_of(made, order.anchors, levels);
  const std::vector<int> sorted =
      demands_of(circuit, made, nodes, levels).sorted(nodes.levels);
  std::vector<std::vector<Row>> rows_of_node(nodes.levels.size());
  for (std::size_t net = 0; net < made.is_bar.size(); ++net)
    if (made.is_bar[net] && order.anchors[net].item < 0)
      rows_of_node[nodes.of_net[net]] = {{static_cast<int>(net), -1, -1}};
  for (std::size_t k = 0; k < made.items.size(); ++k)
    if (made.items[k].is_block)
      rows_of_node[nodes.of_block[k]] =
          rows_of(made, static_cast<int>(k), order.anchors);
  order.rows.clear();
  order.row_of_net.assign(made.is_bar.size(), -1);
  for (const int node : sorted)
    for (const Row& row : rows_of_node[node]) {
      if (row.net >= 0) order.row_of_net[row.net] = static_cast<int>(order.rows.size());
      order.rows.push_back(row);
    }
}

// Columns ---------------------------------------------------------------------------

/// All nets that an item touches, zeros left out.
std::vector<int> live_nets(const Circuit& circuit, const Item& item) {
  std::vector<int> nets = side_nets(circuit, item);
  nets.push_back(item.top_net);
  nets.push_back(item.bottom_net);
  std::erase_if(nets, [&](int net) { return net < 0 || is_zero(circuit, net); });
  std::sort(nets.begin(), nets.end());
  nets.erase(std::unique(nets.begin(), nets.end()), nets.end());
  return nets;
}

bool is_source_item(const Circuit& circuit, const Item& item) {
  return is_source(circuit.parts[item.elements.front().part].kind);
}

/// How many parts lie between a source and each net, zeros left out; what no source is
/// joined to follows behind.
std::vector<double> depths_of(const Circuit& circuit, const Items& made) {
  constexpr double kNever = std::numeric_limits<double>::infinity();
  std::vector<double> depths(circuit.nets.size(), kNever);
  std::vector<std::vector<int>> nets_of;
  std::vector<std::vector<int>> items_at(circuit.nets.size());
  for (const Item& item : made.items) {
    for (const int net : live_nets(circuit, item))
      items_at[net].push_back(static_cast<int>(nets_of.size()));
    nets_of.push_back(live_nets(circuit, item));
  }
  std::queue<int> open;
  const auto reach = [&](const std::vector<int>& nets, double depth) {
    for (const int net : nets) {
      if (depths[net] < kNever) continue;
      depths[net] = depth;
      open.push(net);
    }
  };
  const auto spread = [&] {
    for (; !open.empty(); open.pop())
      for (const int item : items_at[open.front()])
        reach(nets_of[item], depths[open.front()] + 1.0);
  };
  for (std::size_t k = 0; k < made.items.size(); ++k)
    if (is_source_item(circuit, made.items[k])) reach(nets_of[k], 0.0);
  spread();
  for (const std::vector<int>& nets : nets_of) {
    double deepest = 0.0;
    for (const double depth : depths)
      if (depth < kNever) deepest = std::max(deepest, depth);
    reach(nets, deepest + 1.0);
    spread();
  }
  return depths;
}

/// How far to the right each item belongs by the current's way from the supply.
std::vector<double> keys_of(const Circuit& circuit, const Items& made) {
  const std::vector<double> depths = depths_of(circuit, made);
  std::vector<double> keys;
  for (const Item& item : made.items) {
    double least = 0.0;
    double most = 0.0;
    bool is_first = true;
    for (const int net : live_nets(circuit, item)) {
      least = is_first ? depths[net] : std::min(least, depths[net]);
      most = is_first ? depths[net] : std::max(most, depths[net]);
      is_first = false;
    }
    if (is_source_item(circuit, item))
      keys.push_back(least - 0.5);
    else
      keys.push_back(item.is_block ? least + 0.5 : (least + most) / 2.0);
  }
  return keys;
}

/// Where an item meets a bar.
struct Meeting {
  int item = -1;
  double offset = 0.0;  ///< In columns; of side pins to the left or right.
};

/// Counts what a sequence of columns costs: lengths of bars, crossings, and what is out
/// of order.
class Costs {
 public:
  Costs(const Circuit& circuit, const Items& made, const Order& order,
        std::vector<double> keys)
      : made_(made),
        order_(order),
        keys_(std::move(keys)),
        meetings_(order.rows.size()) {
    for (std::size_t k = 0; k < made.items.size(); ++k) {
      const Item& item = made.items[k];
      const int index = static_cast<int>(k);
      meet(item.top_net, {index, 0.0});
      meet(item.bottom_net, {index, 0.0});
      if (item.is_block) {
        for (const BlockPin& side : item.sides)
          meet(side.net, {index, side.is_right ? kSide : -kSide});
      } else {
        for (const int net : side_nets(circuit, item)) meet(net, {index, -kSide});
      }
      spans_.push_back(span_of(item, order));
    }
    place_.resize(made.items.size());
  }

  [[nodiscard]] double of(const std::vector<int>& columns) {
    for (std::size_t k = 0; k < columns.size(); ++k)
      place_[columns[k]] = static_cast<double>(k);
    double cost = disorder(columns);
    for (std::size_t row = 0; row < meetings_.size(); ++row) cost += of_row(row);
    return cost;
  }

 private:
  static constexpr double kSide = 0.3;
  static constexpr double kCrossing = 4.0;
  static constexpr double kWrongSide = 60.0;
  static constexpr double kDisorder = 0.7;

  void meet(int net, Meeting meeting) {
    if (net >= 0 && order_.row_of_net[net] >= 0)
      meetings_[order_.row_of_net[net]].push_back(meeting);
  }

  [[nodiscard]] double disorder(const std::vector<int>& columns) const {
    double cost = 0.0;
    for (std::size_t a = 0; a < columns.size(); ++a)
      for (std::size_t b = a + 1; b < columns.size(); ++b)
        if (keys_[columns[a]] > keys_[columns[b]] + 0.3) cost += kDisorder;
    return cost;
  }

  [[nodiscard]] double of_row(std::size_t row) const {
    const std::vector<Meeting>& meetings = meetings_[row];
    if (meetings.empty()) return 0.0;
    double left = std::numeric_limits<double>::infinity();
    double right = -left;
    for (const Meeting& meeting : meetings) {
      const double x = place_[meeting.item] + meeting.offset;
      left = std::min(left, x);
      right = std::max(right, x);
    }
    double cost = right - left;
    const int height = static_cast<int>(row);
    for (std::size_t k = 0; k < spans_.size(); ++k)
      if (spans_[k].top < height && height < spans_[k].bottom && left < place_[k] &&
          place_[k] < right)
        cost += kCrossing;
    const Row& at = order_.rows[row];
    if (at.item < 0 || at.net < 0) return cost;
    const bool is_right = made_.items[at.item].sides[at.side].is_right;
    for (const Meeting& meeting : meetings) {
      const double x = place_[meeting.item] + meeting.offset - place_[at.item];
      if (is_right ? x <= 0.0 : x >= 0.0) cost += kWrongSide;
    }
    return cost;
  }

  const Items& made_;
  const Order& order_;
  std::vector<double> keys_;
  std::vector<std::vector<Meeting>> meetings_;  ///< Per row.
  std::vector<RowSpan> spans_;
  std::vector<double> place_;
};

/// Moves single columns as long as that makes the sequence cheaper. The first stays.
void improve(std::vector<int>& columns, Costs& costs) {
  const auto count = static_cast<std::ptrdiff_t>(columns.size());
  // Of many columns only near places are tried: the time would grow with their cube.
  const std::ptrdiff_t reach = count <= 40 ? count : 6;
  const int passes = count <= 40 ? 8 : 3;
  double best = costs.of(columns);
  for (int pass = 0; pass < passes; ++pass) {
    bool is_better = false;
    for (std::ptrdiff_t from = 1; from < count; ++from)
      for (std::ptrdiff_t to = std::max<std::ptrdiff_t>(1, from - reach);
           to < std::min(count, from + reach + 1); ++to) {
        if (to == from) continue;
        std::vector<int> tried = columns;
        const int moved = tried[from];
        tried.erase(tried.begin() + from);
        tried.insert(tried.begin() + to, moved);
        const double cost = costs.of(tried);
        if (cost > best - 1e-9) continue;
        best = cost;
        columns = std::move(tried);
        is_better = true;
      }
    if (!is_better) return;
  }
}

void order_columns(const Circuit& circuit, const Items& made, Order& order) {
  const std::vector<double> keys = keys_of(circuit, made);
  order.columns.resize(made.items.size());
  std::iota(order.columns.begin(), order.columns.end(), 0);
  std::stable_sort(order.columns.begin(), order.columns.end(),
                   [&keys](int a, int b) { return keys[a] < keys[b]; });
  Costs costs(circuit, made, order, keys);
  improve(order.columns, costs);
}

/// Bars that begin at a block's side and would have to go back through the block.
bool free_turned_back(const Circuit& circuit, const Items& made, const Order& order,
                      std::vector<bool>& is_free) {
  std::vector<int> place(made.items.size());
  for (std::size_t k = 0; k < order.columns.size(); ++k)
    place[order.columns[k]] = static_cast<int>(k);
  bool is_news = false;
  const auto look = [&](int net, int item, int side_of_block) {
    if (net < 0 || order.anchors[net].item < 0) return;
    const Anchor& anchor = order.anchors[net];
    const bool is_right = made.items[anchor.item].sides[anchor.side].is_right;
    const int away = place[item] - place[anchor.item];
    const int direction = away != 0 ? away : side_of_block;
    if (is_right ? direction > 0 : direction < 0) return;
    is_news = is_news || !is_free[net];
    is_free[net] = true;
  };
  for (std::size_t k = 0; k < made.items.size(); ++k) {
    const Item& item = made.items[k];
    const int index = static_cast<int>(k);
    look(item.top_net, index, 0);
    look(item.bottom_net, index, 0);
    if (item.is_block) {
      for (const BlockPin& side : item.sides)
        look(side.net, index, side.is_right ? 1 : -1);
    } else {
      for (const int net : side_nets(circuit, item)) look(net, index, 0);
    }
  }
  return is_news;
}

void turn_items(Items& made, const Order& order) {
  for (Item& item : made.items) {
    if (item.is_block || item.top_net < 0 || item.bottom_net < 0) continue;
    if (order.row_of_net[item.top_net] > order.row_of_net[item.bottom_net])
      turn_over(item);
  }
}

}  // namespace

std::vector<int> side_nets(const Circuit& circuit, const Item& item) {
  std::vector<int> nets;
  for (const BlockPin& side : item.sides) nets.push_back(side.net);
  for (const ItemPart& element : item.elements)
    if (element.side_pin >= 0)
      nets.push_back(circuit.parts[element.part].nets[element.side_pin]);
  return nets;
}

RowSpan span_of(const Item& item, const Order& order) {
  const int top = item.top_net < 0 ? -1 : order.row_of_net[item.top_net];
  const int bottom = item.bottom_net < 0 ? -1 : order.row_of_net[item.bottom_net];
  if (top < 0 && bottom < 0) return {0, 0};
  if (top < 0) return {bottom, bottom};
  if (bottom < 0) return {top, top};
  return {std::min(top, bottom), std::max(top, bottom)};
}

Order make_order(const Circuit& circuit, Items& items,
                 const std::vector<double>& levels) {
  Order order;
  std::vector<bool> is_free(circuit.nets.size(), false);
  do {  // Each time one net more is free.
    order.anchors = anchors_of(items, is_free);
    order_rows(circuit, items, levels, order);
    order_columns(circuit, items, order);
  } while (free_turned_back(circuit, items, order, is_free));
  turn_items(items, order);
  return order;
}

}  // namespace benchproof
