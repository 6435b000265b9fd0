#pragma once

#include <cstddef>
#include <vector>

#include "core/board/propose/detail/scene.h"

namespace benchproof::proposing {

/// Where everything stands at the moment, and what that costs: the length of the
/// shortest trees between the leads of each net, in pitches of wire, the number of
/// joins, the board's size, and what stands against building it.
class Layout {
 public:
  explicit Layout(const Scene& scene);

  [[nodiscard]] const std::vector<Spot>& spots() const { return spots_; }
  [[nodiscard]] const Variant& variant_of(std::size_t item) const;
  /// Of its body and leads. Metre.
  [[nodiscard]] Bounds around_of(std::size_t item) const;

  /// Everything anew; fixed items must be where they are given.
  void put_all(std::vector<Spot> spots);
  /// Moves an item. What was moved since `begin_move` is undone by `undo`.
  void begin_move() { moved_.clear(); }
  void move(std::size_t item, const Spot& spot);
  void undo();

  [[nodiscard]] double cost();

  struct Lead {
    int x = 0;
    int y = 0;
    int net = 0;
    std::size_t item = 0;
  };
  [[nodiscard]] const Lead& lead(std::size_t index) const { return leads_[index]; }
  /// Indices of the leads of a net.
  [[nodiscard]] const std::vector<std::size_t>& leads_of_net(int net);

 private:
  struct Moved {
    std::size_t item;
    Spot from;
    double bodies;
  };
  /// Pieces of a net: a lead, or leads on one stretch of copper.
  struct Piece {
    int least_x, most_x, least_y, most_y;
  };

  void put_leads(std::size_t k);
  [[nodiscard]] double body_cost(std::size_t k) const;
  [[nodiscard]] double pair_cost(std::size_t a, std::size_t b) const;
  [[nodiscard]] double under_cost(std::size_t body, Point at, std::size_t other) const;
  [[nodiscard]] double tree(const std::vector<Piece>& pieces);
  [[nodiscard]] double pads_cost();
  [[nodiscard]] double strips_cost();
  [[nodiscard]] double groups_cost();
  [[nodiscard]] int first_of_half(int half) const;
  [[nodiscard]] double size_cost() const;
  [[nodiscard]] double order_cost() const;

  const Scene& scene_;
  std::vector<Spot> spots_;
  std::vector<Lead> leads_;
  std::vector<std::size_t> lead_of_item_;
  std::vector<std::vector<std::size_t>> of_net_;
  double bodies_ = 0.0;
  std::vector<Moved> moved_;
  // Room that each look at a cost uses again.
  std::vector<int> count_;
  std::vector<std::size_t> sorted_;
  std::vector<std::vector<Piece>> per_net_;
  std::vector<Piece> pieces_;
  std::vector<int> net_of_joint_;
  std::vector<int> filled_;
  std::vector<double> far_;
  std::vector<bool> in_;
};

}  // namespace benchproof::proposing
