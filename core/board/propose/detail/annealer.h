#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "core/board/propose/detail/dice.h"
#include "core/board/propose/detail/layout.h"
#include "core/board/propose/detail/scene.h"

namespace benchproof::proposing {

/// Looks for places by simulated annealing (see propose.h).
class Annealer {
 public:
  /// `begins_on_rails`: with the nets of most leads on the rails of a board of groups.
  Annealer(const Scene& scene, std::uint64_t seed, bool begins_on_rails);

  /// False where something has no room on this board at all.
  [[nodiscard]] bool can_begin() const { return !has_no_room_; }

  /// Finds the best layout of so many trials. What it costs; infinite without room.
  double run(int trials);

  /// The board with the places found.
  [[nodiscard]] Board placed() const;

  /// The rectangle of pitches that everything needs: least x, y and most x, y.
  [[nodiscard]] std::array<int, 4> needed() const;

 private:
  [[nodiscard]] Hole hole_at(int x, int y) const;
  [[nodiscard]] bool is_possible(std::size_t item, const Spot& spot) const;
  [[nodiscard]] Spot anywhere(std::size_t item);
  [[nodiscard]] std::vector<Spot> scattered();
  [[nodiscard]] std::vector<int> rails() const;
  void begin_on_rails(std::vector<Spot>& spots);
  [[nodiscard]] std::optional<Spot> on_rail(std::size_t item);
  [[nodiscard]] bool try_move(double share);
  [[nodiscard]] Spot nearby(std::size_t item, double share);
  [[nodiscard]] Spot turned_about_a_lead(std::size_t item);
  [[nodiscard]] std::optional<Spot> beside_its_net(std::size_t item);
  [[nodiscard]] bool try_exchange(std::size_t item);
  [[nodiscard]] std::size_t one_of_free();

  const Scene& scene_;
  Dice dice_;
  bool begins_on_rails_;
  bool has_no_room_;
  std::vector<int> rail_of_net_;  ///< Of groups: its cells' row, or -1.
  Layout layout_;
};

}  // namespace benchproof::proposing
