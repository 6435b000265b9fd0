#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/draw/detail/items.h"
#include "core/draw/detail/order.h"
#include "core/draw/diagram.h"

namespace benchproof {

// What one layout is worked out with: from an order to coordinates.

// Sizes, in the diagram's unit.
inline constexpr double kHalfElement =
    30.0;                              ///< From a symbol's middle to its leads' ends.
inline constexpr double kStub = 36.0;  ///< To the end of a side pin's lead.
inline constexpr double kLoopTrack = 46.0;  ///< To a wire that goes round a part.
inline constexpr double kTrack = 10.0;      ///< Between wires beside a block.
inline constexpr double kPinPitch = 24.0;   ///< Between pins of a block.
inline constexpr double kBarRoom = 5.0;     ///< Above and below a bar.
inline constexpr double kMargin = 14.0;
inline constexpr double kBlockLead = 10.0;  ///< Of a pin at a block's side.
inline constexpr double kSupplyPin =
    22.0;                              ///< From a block's left edge to vdd and vss.
inline constexpr double kHead = 64.0;  ///< Of a block: name, type, current.
inline constexpr double kFoot = 22.0;

/// How far a symbol of a column reaches to both sides of its middle, as long as it is
/// not mirrored.
struct SideReach {
  double left = 0.0;
  double right = 0.0;
};
[[nodiscard]] SideReach reach_of(const Part& part);

/// Where the bar of a net begins at the side pin of a part in a column.
struct SideAnchor {
  int item = -1;
  int element = -1;
};

/// One layout, step by step; each step uses what the ones before it found.
class Laying {
 public:
  Laying(const Circuit& circuit, const Items& made, const Order& order,
         const DiagramNeeds& needs)
      : circuit_(circuit), made_(made), order_(order), needs_(needs) {}

  [[nodiscard]] Diagram diagram();

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

  // hosts.cpp: Where bars begin, and at which column the name of each stands.
  void find_places();
  /// The items of all pins of a net.
  [[nodiscard]] std::vector<int> items_at(int net) const;
  [[nodiscard]] static int sides_of(const Item& item);
  /// A bar that lies between an item's ends, and goes away from it to one side only,
  /// begins at the side pin itself.
  void anchor_side_pins();
  /// Where a net's name stands: at its leftmost pin above or below the bar, or where it
  /// begins at a block.
  void choose_hosts();

  // measure.cpp: How wide each item is.
  /// How many findings may be marked at a part.
  [[nodiscard]] std::size_t marks_of(int part) const;
  /// Whether its marks stand between it and its words, for at its other side a wire
  /// leaves it.
  [[nodiscard]] bool has_inner_marks(const ItemPart& element) const;
  /// From a symbol's middle to the words beside it; in a mirrored column they stand at
  /// the left, where side pins have turned their symbols round.
  [[nodiscard]] double words_offset(const ItemPart& element, bool is_mirrored) const;
  void measure_items();
  void measure_column(int index);
  /// How many side pins of an item's elements up to one have wires of their own to a
  /// bar above or below, without that one.
  [[nodiscard]] int tracks_before(int index, int element) const;
  /// From a column to the outermost of these wires.
  [[nodiscard]] double outer_stub(int index) const;
  void measure_block(int index);

  // columns.cpp: Where each column stands.
  /// Items that follow each other share a column where one ends above the other.
  void share_columns();
  [[nodiscard]] RowSpan whole_span(int index) const;
  [[nodiscard]] bool fits_into(const std::vector<int>& column, int index) const;
  void place_columns();

  // attach.cpp: Where the wire of each pin reaches the height of its bar.
  void find_attachments();
  void attach(int net, const Attachment& attachment);
  void attach_column(int index);
  [[nodiscard]] double stub_x(int index, int element) const;
  void attach_block(int index);

  // rows.cpp: How high each bar and each part stands.
  /// Each element that is not anchored at a row stands in a band, which is named by the
  /// row above it. All between two anchors stand in one: where it makes the diagram
  /// grow least.
  void choose_bands();
  [[nodiscard]] static int best_band(const std::vector<double>& heights, int from,
                                     int to, double height);
  /// The row at which an element's side pin begins, or -1.
  [[nodiscard]] int anchored_row(int item, int element) const;
  [[nodiscard]] Box element_box(int index, int element) const;
  [[nodiscard]] Box label_box(int net) const;
  [[nodiscard]] double stub_label_x(int host, int net) const;
  [[nodiscard]] std::pair<double, double> ends_of_bar(int net) const;
  [[nodiscard]] Piece row_piece(int row);
  void add_item_pieces(int index, std::vector<Piece>& pieces);
  /// Puts each piece as high as the earlier ones let it.
  static void stack(const std::vector<Piece>& pieces);
  void place_rows();

  // wires.cpp: The diagram from places and heights.
  // What comes out ------------------------------------------------------------------

  [[nodiscard]] double pin_y(const Attachment& at) const;
  [[nodiscard]] int side_row(int item, int side) const;
  [[nodiscard]] Box marks_box(int part, Point first) const;
  void draw_column(int index, Diagram& diagram);
  void draw_block(int index, Diagram& diagram);
  static void add_wire(Diagram& diagram, int net, Point from, Point to);
  void draw_bar(int net, Diagram& diagram) const;
  void draw_inner(int index, Diagram& diagram) const;
  [[nodiscard]] Diagram drawn();

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
  std::vector<double> edges_;  ///< Per column: where its room begins.
  std::vector<std::vector<Attachment>> attachments_;  ///< Per net.
  std::vector<std::vector<int>> bands_;               ///< [item][element]
  std::vector<double> row_y_;
  std::vector<std::vector<double>> element_y_;
  std::vector<std::vector<double>> inner_y_;
  std::vector<double> head_y_;
  std::vector<double> foot_y_;
};

/// Moves the columns together, from left to right, until what stands at the same height
/// in two of them is as near as it may be. `edges` says where the room of each column
/// begins. Heights stay.
void squeeze(const Circuit& circuit, const DiagramNeeds& needs,
             const std::vector<double>& edges, Diagram& diagram);

/// Moves all to where the margin begins, and measures it.
void fit(Diagram& diagram);

}  // namespace benchproof
