#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include "core/circuit/topology.h"
#include "core/draw/detail/items.h"
#include "core/draw/detail/order.h"
#include "core/draw/diagram.h"

namespace benchproof {
namespace {

// Sizes, in the diagram's unit.
constexpr double kHalfElement = 30.0;  ///< From a symbol's middle to its leads' ends.
constexpr double kStub = 36.0;         ///< To the end of a side pin's lead.
constexpr double kLoopTrack = 46.0;    ///< To a wire that goes round a part.
constexpr double kTrack = 10.0;        ///< Between wires beside a block.
constexpr double kPinPitch = 24.0;     ///< Between pins of a block.
constexpr double kBarRoom = 5.0;       ///< Above and below a bar.
constexpr double kMargin = 14.0;
constexpr double kBlockLead = 10.0;  ///< Of a pin at a block's side.
constexpr double kSupplyPin = 22.0;  ///< From a block's left edge to vdd and vss.
constexpr double kHead = 64.0;       ///< Of a block: name, type, current.
constexpr double kFoot = 22.0;
constexpr double kBody = 20.0;  ///< From a symbol's middle to the words beside it.

/// Some symbols reach farther to the right than others.
double words_offset(const Part& part) {
  switch (part.kind) {
    case KindId::led:
      return 32.0;
    case KindId::controller:
      return 0.0;
    case KindId::regulator:
      return 32.0;
    default:
      return 22.0;
  }
}

/// Where the bar of a net begins at the side pin of a part in a column.
struct SideAnchor {
  int item = -1;
  int element = -1;
};

/// One layout, from an order to coordinates.
class Laying {
 public:
  Laying(const Circuit& circuit, const Items& made, const Order& order,
         const DiagramNeeds& needs)
      : circuit_(circuit), made_(made), order_(order), needs_(needs) {}

  [[nodiscard]] Diagram diagram() {
    find_places();
    anchor_side_pins();
    choose_hosts();
    measure_items();
    share_columns();
    place_columns();
    find_attachments();
    choose_bands();
    place_rows();
    return drawn();
  }

 private:
  struct ItemShape {
    double left = 34.0;   ///< From its column to its left edge.
    double right = 24.0;  ///< To its right edge.
    double x = 0.0;       ///< Of its column; of a block its left edge.
    bool is_mirrored = false;
    double label_right = 0.0;  ///< Of a net beside its column.
    double label_stub = 0.0;   ///< Of a net beside its stub.
    // Of a block:
    double width = 0.0;
    double label_sides = 0.0;  ///< Of nets that begin at its right side ...
    double label_lefts = 0.0;  ///< ... and at its left side.
    int right_tracks = 0;
    int left_tracks = 0;
  };

  /// Where a pin's wire reaches the height of its bar.
  struct Attachment {
    int item = -1;
    int element = -1;  ///< -1: a block's.
    int part = -1;
    int pin = -1;
    int side = -1;  ///< Of a block.
    double pin_x = 0.0;
    double x = 0.0;
    bool is_center = false;  ///< Straight above or below its column.
    bool is_bar_end = false;
    bool is_round = false;  ///< Its wire first leaves the column to the left.
  };

  /// What is placed as one: boxes about a height, which is put into `y`.
  struct Piece {
    double key = 0.0;
    int place = 0;
    int turn = 0;
    std::vector<Box> boxes;
    double* y = nullptr;
  };

  [[nodiscard]] const Item& item_of(int index) const { return made_.items[index]; }
  [[nodiscard]] const Part& part_of(const ItemPart& element) const {
    return circuit_.parts[element.part];
  }
  [[nodiscard]] int row_of(int net) const {
    return net < 0 ? -1 : order_.row_of_net[net];
  }
  [[nodiscard]] double net_width(int net) const { return needs_.net_widths[net]; }
  [[nodiscard]] bool is_loop(const Item& item) const {
    return !item.is_block && item.top_net >= 0 && item.top_net == item.bottom_net;
  }
  [[nodiscard]] bool is_anchored(int item, int element, int net) const {
    return net >= 0 && side_anchors_[net].item == item &&
           side_anchors_[net].element == element;
  }
  [[nodiscard]] int side_net(const ItemPart& element) const {
    return element.side_pin < 0 ? -1 : part_of(element).nets[element.side_pin];
  }

  void find_places() {
    place_.resize(made_.items.size());
    for (std::size_t k = 0; k < order_.columns.size(); ++k)
      place_[order_.columns[k]] = static_cast<int>(k);
    first_row_.assign(made_.items.size(), -1);
    last_row_.assign(made_.items.size(), -1);
    for (std::size_t row = 0; row < order_.rows.size(); ++row) {
      const int item = order_.rows[row].item;
      if (item < 0) continue;
      if (first_row_[item] < 0) first_row_[item] = static_cast<int>(row);
      last_row_[item] = static_cast<int>(row);
    }
    shapes_.resize(made_.items.size());
  }

  /// The items of all pins of a net.
  [[nodiscard]] std::vector<int> items_at(int net) const {
    std::vector<int> items;
    for (std::size_t k = 0; k < made_.items.size(); ++k) {
      const Item& item = made_.items[k];
      if (item.top_net == net) items.push_back(static_cast<int>(k));
      if (item.bottom_net == net) items.push_back(static_cast<int>(k));
      for (const int other : side_nets(circuit_, item))
        if (other == net) items.push_back(static_cast<int>(k));
    }
    return items;
  }

  /// A bar that lies between an item's ends, and goes away from it to one side only,
  /// begins at the side pin itself.
  void anchor_side_pins() {
    side_anchors_.resize(circuit_.nets.size());
    for (const int index : order_.columns) {
      const Item& item = item_of(index);
      if (item.is_block || item.top_net < 0 || item.bottom_net < 0) continue;
      const RowSpan span = span_of(item, order_);
      int last = span.top;
      for (std::size_t e = 0; e < item.elements.size(); ++e) {
        const int net = side_net(item.elements[e]);
        const int row = row_of(net);
        if (row < 0 || row <= last || row >= span.bottom) continue;
        if (order_.anchors[net].item >= 0 || side_anchors_[net].item >= 0) continue;
        int left = 0;
        int right = 0;
        for (const int other : items_at(net)) {
          if (place_[other] < place_[index]) ++left;
          if (place_[other] > place_[index]) ++right;
        }
        const int all = static_cast<int>(items_at(net).size()) - 1;
        const bool may_mirror = item.elements.size() == 1 || sides_of(item) == 1;
        if (left != all && !(right == all && may_mirror)) continue;
        if (all == 0) continue;
        side_anchors_[net] = {index, static_cast<int>(e)};
        shapes_[index].is_mirrored = left != all;
        last = row;
      }
    }
  }

  [[nodiscard]] static int sides_of(const Item& item) {
    return static_cast<int>(
        std::count_if(item.elements.begin(), item.elements.end(),
                      [](const ItemPart& element) { return element.side_pin >= 0; }));
  }

  /// Where a net's name stands: at its leftmost pin above or below the bar, or where it
  /// begins at a block.
  void choose_hosts() {
    hosts_.assign(circuit_.nets.size(), -1);
    is_stub_host_.assign(circuit_.nets.size(), false);
    for (std::size_t net = 0; net < circuit_.nets.size(); ++net) {
      if (order_.row_of_net[net] < 0) continue;
      const int index = static_cast<int>(net);
      const Anchor& anchor = order_.anchors[net];
      if (anchor.item >= 0) {
        hosts_[net] = anchor.item;
        ItemShape& shape = shapes_[anchor.item];
        double& room = item_of(anchor.item).sides[anchor.side].is_right
                           ? shape.label_sides
                           : shape.label_lefts;
        room = std::max(room, net_width(index) + 8.0);
        continue;
      }
      for (const int item : order_.columns)
        if (hosts_[net] < 0 &&
            (item_of(item).top_net == index || item_of(item).bottom_net == index))
          hosts_[net] = item;
      if (hosts_[net] >= 0) {
        ItemShape& shape = shapes_[hosts_[net]];
        shape.label_right = std::max(shape.label_right, net_width(index) + 10.0);
        continue;
      }
      for (const int item : order_.columns) {
        const std::vector<int> nets = side_nets(circuit_, item_of(item));
        if (hosts_[net] < 0 && std::find(nets.begin(), nets.end(), index) != nets.end())
          hosts_[net] = item;
      }
      if (hosts_[net] < 0) continue;
      is_stub_host_[net] = true;
      ItemShape& shape = shapes_[hosts_[net]];
      shape.label_stub = std::max(shape.label_stub, net_width(index) + 10.0);
    }
  }

  void measure_items() {
    for (std::size_t k = 0; k < made_.items.size(); ++k) {
      if (item_of(static_cast<int>(k)).is_block)
        measure_block(static_cast<int>(k));
      else
        measure_column(static_cast<int>(k));
    }
  }

  void measure_column(int index) {
    const Item& item = item_of(index);
    ItemShape& shape = shapes_[index];
    for (const ItemPart& element : item.elements) {
      const double words =
          words_offset(part_of(element)) + needs_.part_widths[element.part] + 6.0;
      if (shape.is_mirrored) {
        shape.left = std::max(shape.left, words);
        shape.right = std::max(shape.right, kStub + 4.0);
      } else {
        shape.right = std::max(shape.right, words);
        if (element.side_pin >= 0)
          shape.left = std::max(shape.left, outer_stub(index) + 4.0);
      }
    }
    for (const int net : item.inner_nets)
      shape.right = std::max(shape.right, net_width(net) + 10.0);
    if (is_loop(item)) shape.left = std::max(shape.left, kLoopTrack + 4.0);
    shape.right = std::max(shape.right, shape.label_right);
    (shape.is_mirrored ? shape.right : shape.left) += shape.label_stub;
  }

  /// How many side pins of an item's elements up to one have wires of their own to a
  /// bar above or below, without that one.
  [[nodiscard]] int tracks_before(int index, int element) const {
    int count = 0;
    for (int e = 0; e < element; ++e) {
      const int net = side_net(item_of(index).elements[e]);
      if (net >= 0 && !is_anchored(index, e, net)) ++count;
    }
    return count;
  }

  /// From a column to the outermost of these wires.
  [[nodiscard]] double outer_stub(int index) const {
    const int all =
        tracks_before(index, static_cast<int>(item_of(index).elements.size()));
    return kStub + kTrack * std::max(0, all - 1);
  }

  void measure_block(int index) {
    const Item& item = item_of(index);
    ItemShape& shape = shapes_[index];
    const Part& part = circuit_.parts[item.elements.front().part];
    double left_names = 0.0;
    double right_names = 0.0;
    for (std::size_t s = 0; s < item.sides.size(); ++s) {
      const BlockPin& side = item.sides[s];
      double& names = side.is_right ? right_names : left_names;
      names = std::max(names, text_width(part.pins[side.pin]));
      const bool is_anchor = side.net >= 0 && order_.anchors[side.net].item == index &&
                             order_.anchors[side.net].side == static_cast<int>(s);
      if (is_anchor || side.net < 0) continue;
      ++(side.is_right ? shape.right_tracks : shape.left_tracks);
    }
    shape.left_tracks += 2;  // For a supply pin's wire that has to go round.
    shape.width = std::max({left_names + right_names + 30.0, 90.0,
                            needs_.part_widths[item.elements.front().part] + 16.0});
    shape.left = kBlockLead + kTrack * shape.left_tracks + 6.0 +
                 std::max(shape.label_lefts, shape.label_stub);
    shape.right = shape.width + kBlockLead + kTrack * shape.right_tracks + 6.0 +
                  std::max(shape.label_sides, shape.label_stub);
    shape.right = std::max(shape.right, kSupplyPin + shape.label_right);
  }

  /// Items that follow each other share a column where one ends above the other.
  void share_columns() {
    for (const int index : order_.columns) {
      if (!columns_.empty() && fits_into(columns_.back(), index))
        columns_.back().push_back(index);
      else
        columns_.push_back({index});
    }
  }

  [[nodiscard]] RowSpan whole_span(int index) const {
    const Item& item = item_of(index);
    RowSpan span = span_of(item, order_);
    for (const int net : side_nets(circuit_, item)) {
      if (row_of(net) < 0) continue;
      span.top = std::min(span.top, row_of(net));
      span.bottom = std::max(span.bottom, row_of(net));
    }
    return span;
  }

  [[nodiscard]] bool fits_into(const std::vector<int>& column, int index) const {
    const auto may_share = [&](int item) {
      return !item_of(item).is_block && !is_loop(item_of(item)) &&
             item_of(item).top_net >= 0 && item_of(item).bottom_net >= 0;
    };
    if (!may_share(index)) return false;
    const RowSpan own = whole_span(index);
    return std::all_of(column.begin(), column.end(), [&](int other) {
      if (!may_share(other)) return false;
      const RowSpan its = whole_span(other);
      return its.bottom <= own.top || own.bottom <= its.top;
    });
  }

  void place_columns() {
    double edge = 0.0;
    for (const std::vector<int>& column : columns_) {
      double left = 0.0;
      double right = 0.0;
      for (const int index : column) {
        left = std::max(left, shapes_[index].left);
        right = std::max(right, shapes_[index].right);
      }
      for (const int index : column) shapes_[index].x = edge + left;
      edge += left + right + 4.0;
    }
  }

  void find_attachments() {
    attachments_.resize(circuit_.nets.size());
    for (std::size_t k = 0; k < made_.items.size(); ++k) {
      const int index = static_cast<int>(k);
      if (item_of(index).is_block)
        attach_block(index);
      else
        attach_column(index);
    }
  }

  void attach(int net, const Attachment& attachment) {
    if (net >= 0 && order_.row_of_net[net] >= 0)
      attachments_[net].push_back(attachment);
  }

  void attach_column(int index) {
    const Item& item = item_of(index);
    const ItemShape& shape = shapes_[index];
    const int last = static_cast<int>(item.elements.size()) - 1;
    Attachment at;
    at.item = index;
    at.is_center = true;
    at.element = 0;
    at.part = item.elements.front().part;
    at.pin = item.elements.front().top_pin;
    at.pin_x = at.x = shape.x;
    attach(item.top_net, at);
    at.element = last;
    at.part = item.elements.back().part;
    at.pin = item.elements.back().bottom_pin;
    if (is_loop(item)) {
      at.is_round = true;
      at.is_center = false;
      at.x = shape.x - kLoopTrack;
    }
    attach(item.bottom_net, at);
    for (int e = 0; e <= last; ++e) {
      const int net = side_net(item.elements[e]);
      if (net < 0) continue;
      Attachment side;
      side.item = index;
      side.element = e;
      side.part = item.elements[e].part;
      side.pin = item.elements[e].side_pin;
      side.pin_x = side.x = stub_x(index, e);
      side.is_bar_end = is_anchored(index, e, net);
      attach(net, side);
    }
  }

  [[nodiscard]] double stub_x(int index, int element) const {
    const ItemShape& shape = shapes_[index];
    if (shape.is_mirrored) return shape.x + kStub;
    const int net = side_net(item_of(index).elements[element]);
    if (is_anchored(index, element, net)) return shape.x - kStub;
    return shape.x - kStub - kTrack * tracks_before(index, element);
  }

  void attach_block(int index) {
    const Item& item = item_of(index);
    const ItemShape& shape = shapes_[index];
    const int part = item.elements.front().part;
    const auto supply = [&](int net, int pin, bool is_wrong_way, double track) {
      Attachment at;
      at.item = index;
      at.part = part;
      at.pin = pin;
      at.pin_x = at.x = shape.x + kSupplyPin;
      at.is_center = !is_wrong_way;
      if (is_wrong_way) {
        at.is_round = true;
        at.x = track;
      }
      attach(net, at);
    };
    const int top = row_of(item.top_net);
    const int bottom = row_of(item.bottom_net);
    const double outer = shape.x - kBlockLead - kTrack * (shape.left_tracks - 2);
    supply(item.top_net, kVdd, top > first_row_[index], outer - kTrack);
    supply(item.bottom_net, kVss, bottom >= 0 && bottom < last_row_[index],
           outer - 2.0 * kTrack);
    int right = 0;
    int left = 0;
    for (std::size_t s = 0; s < item.sides.size(); ++s) {
      const BlockPin& side = item.sides[s];
      if (side.net < 0) continue;
      Attachment at;
      at.item = index;
      at.part = part;
      at.pin = side.pin;
      at.side = static_cast<int>(s);
      at.pin_x =
          side.is_right ? shape.x + shape.width + kBlockLead : shape.x - kBlockLead;
      at.is_bar_end = order_.anchors[side.net].item == index &&
                      order_.anchors[side.net].side == static_cast<int>(s);
      at.x = at.pin_x;
      if (!at.is_bar_end) at.x += side.is_right ? kTrack * ++right : -kTrack * ++left;
      attach(side.net, at);
    }
  }

  /// Each element that is not anchored at a row stands in a band, which is named by the
  /// row above it. All between two anchors stand in one: where it makes the diagram
  /// grow least.
  void choose_bands() {
    bands_.resize(made_.items.size());
    std::vector<double> heights(order_.rows.size() + 1, 0.0);
    std::vector<int> by_length = order_.columns;
    std::stable_sort(by_length.begin(), by_length.end(), [&](int a, int b) {
      return item_of(a).elements.size() > item_of(b).elements.size();
    });
    for (const int index : by_length) {
      const Item& item = item_of(index);
      if (item.is_block) continue;
      std::vector<int>& bands = bands_[index];
      bands.assign(item.elements.size(), 0);
      const RowSpan span = span_of(item, order_);
      std::size_t begin = 0;
      int from = item.top_net < 0 ? span.top - 1 : span.top;
      while (begin < item.elements.size()) {
        const int anchored = anchored_row(index, static_cast<int>(begin));
        if (anchored >= 0) {
          bands[begin] = anchored;
          from = anchored;
          ++begin;
          continue;
        }
        std::size_t end = begin;
        while (end < item.elements.size() &&
               anchored_row(index, static_cast<int>(end)) < 0)
          ++end;
        int to = item.bottom_net < 0 ? span.bottom : span.bottom - 1;
        if (end < item.elements.size())
          to = anchored_row(index, static_cast<int>(end)) - 1;
        const double height =
            static_cast<double>(end - begin) * (2.0 * kHalfElement + kLineHeight);
        const int band = best_band(heights, from, std::max(from, to), height);
        for (std::size_t e = begin; e < end; ++e) bands[e] = band;
        heights[std::max(0, band)] = std::max(heights[std::max(0, band)], height);
        begin = end;
      }
    }
  }

  [[nodiscard]] static int best_band(const std::vector<double>& heights, int from,
                                     int to, double height) {
    int best = to;
    double least = std::numeric_limits<double>::infinity();
    for (int band = to; band >= from; --band) {
      const double growth = std::max(0.0, height - heights[std::max(0, band)]);
      if (growth >= least) continue;
      least = growth;
      best = band;
    }
    return best;
  }

  /// The row at which an element's side pin begins, or -1.
  [[nodiscard]] int anchored_row(int item, int element) const {
    const int net = side_net(item_of(item).elements[element]);
    return is_anchored(item, element, net) ? row_of(net) : -1;
  }

  [[nodiscard]] Box element_box(int index, int element) const {
    const Item& item = item_of(index);
    const ItemShape& shape = shapes_[index];
    const ItemPart& it = item.elements[element];
    const double words = words_offset(part_of(it)) + needs_.part_widths[it.part] + 6.0;
    double left = it.side_pin >= 0 ? shape.x - stub_x(index, element) + 2.0 : 34.0;
    double right = words;
    if (shape.is_mirrored) {
      left = std::max(34.0, words);
      right = kStub + 2.0;
    }
    double below = kHalfElement + 2.0;
    if (is_loop(item)) {
      left = std::max(left, kLoopTrack + 2.0);
      below += 6.0;
    }
    return {shape.x - left, -kHalfElement - 2.0, shape.x + right, below};
  }

  void place_rows() {
    row_y_.assign(order_.rows.size(), 0.0);
    element_y_.resize(made_.items.size());
    inner_y_.resize(made_.items.size());
    head_y_.assign(made_.items.size(), 0.0);
    foot_y_.assign(made_.items.size(), 0.0);
    for (std::size_t k = 0; k < made_.items.size(); ++k) {
      element_y_[k].assign(made_.items[k].elements.size(), 0.0);
      inner_y_[k].assign(made_.items[k].inner_nets.size(), 0.0);
    }
    std::vector<Piece> pieces;
    for (std::size_t row = 0; row < order_.rows.size(); ++row)
      pieces.push_back(row_piece(static_cast<int>(row)));
    for (std::size_t k = 0; k < made_.items.size(); ++k)
      add_item_pieces(static_cast<int>(k), pieces);
    std::stable_sort(pieces.begin(), pieces.end(), [](const Piece& a, const Piece& b) {
      if (a.key != b.key) return a.key < b.key;
      return a.place != b.place ? a.place < b.place : a.turn < b.turn;
    });
    stack(pieces);
    for (std::size_t k = 0; k < made_.items.size(); ++k)
      for (std::size_t e = 0; e < element_y_[k].size(); ++e) {
        const int row = made_.items[k].is_block
                            ? -1
                            : anchored_row(static_cast<int>(k), static_cast<int>(e));
        if (row >= 0) element_y_[k][e] = row_y_[row];
      }
  }

  [[nodiscard]] Box label_box(int net) const {
    const double width = net_width(net);
    const int host = hosts_[net];
    if (host < 0) return {};
    const ItemShape& shape = shapes_[host];
    double left = shape.x + 6.0;
    if (const Anchor& anchor = order_.anchors[net]; anchor.item >= 0) {
      left =
          item_of(anchor.item).sides[anchor.side].is_right
              ? shape.x + shape.width + kBlockLead + kTrack * shape.right_tracks + 6.0
              : shape.x - kBlockLead - kTrack * shape.left_tracks - 4.0 - width;
    } else if (is_stub_host_[net]) {
      left = stub_label_x(host, net);
    } else if (item_of(host).is_block) {
      left = shape.x + kSupplyPin + 6.0;
    }
    return {left, -kLineHeight - 3.0, left + width, -3.0};
  }

  [[nodiscard]] double stub_label_x(int host, int net) const {
    const ItemShape& shape = shapes_[host];
    if (!item_of(host).is_block)
      return shape.is_mirrored ? shape.x + kStub + 6.0
                               : shape.x - outer_stub(host) - 6.0 - net_width(net);
    for (const Attachment& at : attachments_[net])
      if (at.item == host && at.x > shape.x)
        return shape.x + shape.width + kBlockLead + kTrack * shape.right_tracks + 6.0;
    return shape.x - kBlockLead - kTrack * shape.left_tracks - 4.0 - net_width(net);
  }

  [[nodiscard]] std::pair<double, double> ends_of_bar(int net) const {
    double left = std::numeric_limits<double>::infinity();
    double right = -left;
    for (const Attachment& at : attachments_[net]) {
      left = std::min(left, at.x);
      right = std::max(right, at.x);
    }
    return {left, right};
  }

  [[nodiscard]] Piece row_piece(int row) {
    const Row& it = order_.rows[row];
    Piece piece{2.0 * row, 0, 0, {}, &row_y_[row]};
    if (it.net >= 0 && !attachments_[it.net].empty()) {
      const auto [left, right] = ends_of_bar(it.net);
      piece.boxes.push_back({left - 2.0, -kBarRoom, right + 2.0, kBarRoom});
      piece.boxes.push_back(label_box(it.net));
      const SideAnchor& anchor = side_anchors_[it.net];
      if (anchor.item >= 0)
        piece.boxes.push_back(element_box(anchor.item, anchor.element));
    }
    if (it.item >= 0) {
      const ItemShape& shape = shapes_[it.item];
      const double middle = shape.x + shape.width / 2.0;
      const double half = kPinPitch / 2.0;
      if (it.side < 0)
        piece.boxes.push_back(
            {shape.x, -half / 2.0, shape.x + shape.width, half / 2.0});
      else if (item_of(it.item).sides[it.side].is_right)
        piece.boxes.push_back(
            {middle, -half,
             shape.x + shape.width + kBlockLead + kTrack * shape.right_tracks + 2.0,
             half});
      else
        piece.boxes.push_back({shape.x - kBlockLead - kTrack * shape.left_tracks - 2.0,
                               -half, middle, half});
    }
    return piece;
  }

  void add_item_pieces(int index, std::vector<Piece>& pieces) {
    const Item& item = item_of(index);
    const ItemShape& shape = shapes_[index];
    if (item.is_block) {
      const double left = shape.x - kBlockLead - kTrack * shape.left_tracks;
      const double right = shape.x + shape.width;
      pieces.push_back({2.0 * first_row_[index] - 0.5,
                        place_[index],
                        0,
                        {{left, -14.0, right, kHead}},
                        &head_y_[index]});
      pieces.push_back({2.0 * last_row_[index] + 0.5,
                        place_[index],
                        0,
                        {{left, 0.0, right, kFoot + 14.0}},
                        &foot_y_[index]});
      return;
    }
    int turn = 0;
    for (std::size_t e = 0; e < item.elements.size(); ++e) {
      const int element = static_cast<int>(e);
      const bool is_row = anchored_row(index, element) >= 0;
      const double key = is_row ? 2.0 * bands_[index][e] : 2.0 * bands_[index][e] + 1.0;
      if (!is_row)
        pieces.push_back({key,
                          place_[index],
                          turn++,
                          {element_box(index, element)},
                          &element_y_[index][e]});
      if (e < item.inner_nets.size())
        pieces.push_back(
            {key + (is_row ? 0.25 : 0.0),
             place_[index],
             turn++,
             {{shape.x - 1.0, -kLineHeight / 2.0,
               shape.x + 8.0 + net_width(item.inner_nets[e]), kLineHeight / 2.0}},
             &inner_y_[index][e]});
    }
  }

  /// Puts each piece as high as the earlier ones let it.
  static void stack(const std::vector<Piece>& pieces) {
    std::vector<Box> placed;
    for (const Piece& piece : pieces) {
      double y = 0.0;
      for (const Box& box : piece.boxes) {
        if (box.right <= box.left) continue;
        y = std::max(y, -box.top);
        for (const Box& other : placed)
          if (box.left < other.right && other.left < box.right)
            y = std::max(y, other.bottom - box.top);
      }
      *piece.y = y;
      for (const Box& box : piece.boxes)
        if (box.right > box.left)
          placed.push_back({box.left, box.top + y, box.right, box.bottom + y});
    }
  }

  // What comes out ------------------------------------------------------------------

  [[nodiscard]] double pin_y(const Attachment& at) const {
    if (at.element >= 0) {
      const ItemPart& element = item_of(at.item).elements[at.element];
      const double y = element_y_[at.item][at.element];
      if (at.pin == element.side_pin) return y;
      return at.pin == element.top_pin ? y - kHalfElement : y + kHalfElement;
    }
    if (at.side < 0)
      return at.pin == kVdd ? head_y_[at.item] : foot_y_[at.item] + kFoot;
    return row_y_[side_row(at.item, at.side)];
  }

  [[nodiscard]] int side_row(int item, int side) const {
    for (int row = first_row_[item]; row <= last_row_[item]; ++row)
      if (order_.rows[row].item == item && order_.rows[row].side == side) return row;
    return first_row_[item];
  }

  [[nodiscard]] Diagram drawn() {
    Diagram diagram;
    diagram.symbols.resize(circuit_.parts.size());
    for (std::size_t k = 0; k < made_.items.size(); ++k)
      item_of(static_cast<int>(k)).is_block ? draw_block(static_cast<int>(k), diagram)
                                            : draw_column(static_cast<int>(k), diagram);
    for (std::size_t net = 0; net < circuit_.nets.size(); ++net)
      if (order_.row_of_net[net] >= 0) draw_bar(static_cast<int>(net), diagram);
    for (std::size_t k = 0; k < made_.items.size(); ++k)
      draw_inner(static_cast<int>(k), diagram);
    std::sort(diagram.labels.begin(), diagram.labels.end(),
              [](const NetLabel& a, const NetLabel& b) { return a.net < b.net; });
    fit(diagram);
    return diagram;
  }

  void draw_column(int index, Diagram& diagram) {
    const Item& item = item_of(index);
    const ItemShape& shape = shapes_[index];
    for (std::size_t e = 0; e < item.elements.size(); ++e) {
      const ItemPart& element = item.elements[e];
      const double y = element_y_[index][e];
      const Part& part = part_of(element);
      Symbol& symbol = diagram.symbols[element.part];
      symbol.part = element.part;
      symbol.at = {shape.x, y};
      symbol.is_flipped = element.top_pin != main_pins(part).first;
      symbol.is_mirrored = shape.is_mirrored && element.side_pin >= 0;
      symbol.pins.resize(part.pins.size());
      symbol.pins[element.top_pin] = {shape.x, y - kHalfElement};
      symbol.pins[element.bottom_pin] = {shape.x, y + kHalfElement};
      if (element.side_pin >= 0)
        symbol.pins[element.side_pin] = {stub_x(index, static_cast<int>(e)), y};
      symbol.body = {shape.x - 16.0, y - 20.0, shape.x + 16.0, y + 20.0};
      if (part.kind == KindId::regulator)
        symbol.body = {shape.x - 28.0, y - 20.0, shape.x + 28.0, y + 20.0};
      if (part.kind == KindId::led) symbol.body.right = shape.x + 28.0;
      const double width = needs_.part_widths[element.part];
      const double offset = words_offset(part);
      const double left =
          shape.is_mirrored ? shape.x - offset - width : shape.x + offset;
      symbol.words = {left, y - 1.5 * kLineHeight, left + width, y + 1.5 * kLineHeight};
      symbol.mark = {shape.is_mirrored ? shape.x + 24.0 : shape.x - 24.0, y - 22.0};
    }
  }

  void draw_block(int index, Diagram& diagram) {
    const Item& item = item_of(index);
    const ItemShape& shape = shapes_[index];
    const int number = item.elements.front().part;
    Symbol& symbol = diagram.symbols[number];
    symbol.part = number;
    const double top = head_y_[index];
    const double bottom = foot_y_[index] + kFoot;
    symbol.body = {shape.x, top + 8.0, shape.x + shape.width, bottom - 8.0};
    symbol.at = {shape.x + shape.width / 2.0, (top + bottom) / 2.0};
    symbol.pins.resize(circuit_.parts[number].pins.size());
    symbol.pins[kVdd] = {shape.x + kSupplyPin, top};
    symbol.pins[kVss] = {shape.x + kSupplyPin, bottom};
    for (std::size_t s = 0; s < item.sides.size(); ++s) {
      const BlockPin& side = item.sides[s];
      symbol.pins[side.pin] = {
          side.is_right ? shape.x + shape.width + kBlockLead : shape.x - kBlockLead,
          row_y_[side_row(index, static_cast<int>(s))]};
    }
    symbol.words = {shape.x + 8.0, top + 22.0,
                    shape.x + 8.0 + needs_.part_widths[number], top + 22.0 + 42.0};
    symbol.mark = {shape.x + shape.width - 12.0, top + 20.0};
  }

  static void add_wire(Diagram& diagram, int net, Point from, Point to) {
    if (from.x == to.x && from.y == to.y) return;
    diagram.wires.push_back({net, from, to});
  }

  void draw_bar(int net, Diagram& diagram) const {
    const std::vector<Attachment>& attachments = attachments_[net];
    if (attachments.empty()) return;
    const double y = row_y_[order_.row_of_net[net]];
    const auto [left, right] = ends_of_bar(net);
    add_wire(diagram, net, {left, y}, {right, y});
    std::vector<double> ups;
    std::vector<double> downs;
    for (const Attachment& at : attachments) {
      const Point pin{at.pin_x, pin_y(at)};
      double turn = pin.y;
      if (at.is_round && at.element < 0) {
        turn += at.pin == kVdd ? -6.0 : 6.0;
        add_wire(diagram, net, pin, {pin.x, turn});
      }
      add_wire(diagram, net, {pin.x, turn}, {at.x, turn});
      add_wire(diagram, net, {at.x, turn}, {at.x, y});
      if (turn < y) ups.push_back(at.x);
      if (turn > y) downs.push_back(at.x);
    }
    std::vector<double> all = ups;
    all.insert(all.end(), downs.begin(), downs.end());
    std::sort(all.begin(), all.end());
    all.erase(std::unique(all.begin(), all.end()), all.end());
    for (const double x : all) {
      const auto has = [x](const std::vector<double>& list) {
        return std::find(list.begin(), list.end(), x) != list.end() ? 1 : 0;
      };
      const int ways = has(ups) + has(downs) + (x > left ? 1 : 0) + (x < right ? 1 : 0);
      if (ways > 2) diagram.dots.push_back({net, {x, y}});
    }
    Box words = label_box(net);
    words.top += y;
    words.bottom += y;
    diagram.labels.push_back({net, words});
  }

  void draw_inner(int index, Diagram& diagram) const {
    const Item& item = item_of(index);
    for (std::size_t k = 0; k < item.inner_nets.size(); ++k) {
      const int net = item.inner_nets[k];
      const double x = shapes_[index].x;
      add_wire(diagram, net, {x, element_y_[index][k] + kHalfElement},
               {x, element_y_[index][k + 1] - kHalfElement});
      const double y = inner_y_[index][k];
      diagram.labels.push_back({net,
                                {x + 6.0, y - kLineHeight / 2.0,
                                 x + 6.0 + net_width(net), y + kLineHeight / 2.0}});
    }
  }

  /// Moves all to where the margin begins, and measures it.
  static void fit(Diagram& diagram) {
    Box all{1e300, 1e300, -1e300, -1e300};
    const auto take = [&all](const Box& box) {
      all = {std::min(all.left, box.left), std::min(all.top, box.top),
             std::max(all.right, box.right), std::max(all.bottom, box.bottom)};
    };
    for (const Symbol& symbol : diagram.symbols) {
      take(symbol.body);
      take(symbol.words);
      take({symbol.mark.x - 9.0, symbol.mark.y - 9.0, symbol.mark.x + 9.0,
            symbol.mark.y + 9.0});
      for (const Point& pin : symbol.pins) take({pin.x, pin.y, pin.x, pin.y});
    }
    for (const NetLabel& label : diagram.labels) take(label.words);
    for (const Wire& wire : diagram.wires)
      take({std::min(wire.from.x, wire.to.x), std::min(wire.from.y, wire.to.y),
            std::max(wire.from.x, wire.to.x), std::max(wire.from.y, wire.to.y)});
    if (all.right < all.left) all = {};
    const double dx = kMargin - all.left;
    const double dy = kMargin - all.top;
    diagram.width = all.right - all.left + 2.0 * kMargin;
    diagram.height = all.bottom - all.top + 2.0 * kMargin;
    const auto move = [dx, dy](Point& point) {
      point.x += dx;
      point.y += dy;
    };
    const auto move_box = [dx, dy](Box& box) {
      box = {box.left + dx, box.top + dy, box.right + dx, box.bottom + dy};
    };
    for (Symbol& symbol : diagram.symbols) {
      move(symbol.at);
      move(symbol.mark);
      move_box(symbol.body);
      move_box(symbol.words);
      for (Point& pin : symbol.pins) move(pin);
    }
    for (Wire& wire : diagram.wires) {
      move(wire.from);
      move(wire.to);
    }
    for (Dot& dot : diagram.dots) move(dot.at);
    for (NetLabel& label : diagram.labels) move_box(label.words);
  }

  const Circuit& circuit_;
  const Items& made_;
  const Order& order_;
  const DiagramNeeds& needs_;
  std::vector<int> place_;      ///< Of an item from the left.
  std::vector<int> first_row_;  ///< Of a block, else -1.
  std::vector<int> last_row_;
  std::vector<SideAnchor> side_anchors_;  ///< Per net.
  std::vector<int> hosts_;  ///< Per net: the item at which its name stands.
  std::vector<bool> is_stub_host_;
  std::vector<ItemShape> shapes_;
  std::vector<std::vector<int>> columns_;
  std::vector<std::vector<Attachment>> attachments_;  ///< Per net.
  std::vector<std::vector<int>> bands_;               ///< [item][element]
  std::vector<double> row_y_;
  std::vector<std::vector<double>> element_y_;
  std::vector<std::vector<double>> inner_y_;
  std::vector<double> head_y_;
  std::vector<double> foot_y_;
};

}  // namespace

Diagram lay_out(const Circuit& circuit, const DiagramNeeds& needs) {
  Items items = make_items(circuit);
  const Order order = make_order(circuit, items, needs.levels);
  return Laying(circuit, items, order, needs).diagram();
}

}  // namespace benchproof
