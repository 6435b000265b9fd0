#include <algorithm>
#include <cstddef>
#include <limits>
#include <utility>
#include <vector>

#include "core/circuit/topology.h"
#include "core/draw/detail/laying.h"

namespace benchproof {

void Laying::choose_bands() {
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

int Laying::best_band(const std::vector<double>& heights, int from, int to,
                      double height) {
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

int Laying::anchored_row(int item, int element) const {
  const int net = side_net(item_of(item).elements[element]);
  return is_anchored(item, element, net) ? row_of(net) : -1;
}

Box Laying::element_box(int index, int element) const {
  const Item& item = item_of(index);
  const ItemShape& shape = shapes_[index];
  const ItemPart& it = item.elements[element];
  const double words =
      words_offset(it, shape.is_mirrored) + needs_.part_widths[it.part] + 6.0;
  double left = it.side_pin >= 0 ? shape.x - stub_x(index, element) + 2.0 : 34.0;
  left = std::max(left, reach_of(part_of(it)).left + 20.0);
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

Box Laying::label_box(int net) const {
  const double width = net_width(net);
  const int host = hosts_[net];
  if (host < 0) return {};
  const ItemShape& shape = shapes_[host];
  double left = shape.x + 6.0;
  if (const Anchor& anchor = order_.anchors[net]; anchor.item >= 0) {
    left = item_of(anchor.item).sides[anchor.side].is_right
               ? shape.x + shape.width + kBlockLead + kTrack * shape.right_tracks + 6.0
               : shape.x - kBlockLead - kTrack * shape.left_tracks - 4.0 - width;
  } else if (is_stub_host_[net]) {
    left = stub_label_x(host, net);
  } else if (item_of(host).is_block) {
    left = shape.x + kSupplyPin + 6.0;
  }
  return {left, -kLineHeight - 3.0, left + width, -3.0};
}

double Laying::stub_label_x(int host, int net) const {
  const ItemShape& shape = shapes_[host];
  if (!item_of(host).is_block)
    return shape.is_mirrored ? shape.x + kStub + 6.0
                             : shape.x - outer_stub(host) - 6.0 - net_width(net);
  for (const Attachment& at : attachments_[net])
    if (at.item == host && at.x > shape.x)
      return shape.x + shape.width + kBlockLead + kTrack * shape.right_tracks + 6.0;
  return shape.x - kBlockLead - kTrack * shape.left_tracks - 4.0 - net_width(net);
}

std::pair<double, double> Laying::ends_of_bar(int net) const {
  double left = std::numeric_limits<double>::infinity();
  double right = -left;
  for (const Attachment& at : attachments_[net]) {
    left = std::min(left, at.x);
    right = std::max(right, at.x);
  }
  return {left, right};
}

Laying::Piece Laying::row_piece(int row) {
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
      piece.boxes.push_back({shape.x, -half / 2.0, shape.x + shape.width, half / 2.0});
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

void Laying::add_item_pieces(int index, std::vector<Piece>& pieces) {
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

void Laying::stack(const std::vector<Piece>& pieces) {
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

void Laying::place_rows() {
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

}  // namespace benchproof
