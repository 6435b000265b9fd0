#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "core/board/places/footprint.h"
#include "core/board/places/outline.h"
#include "core/circuit/circuit.h"

namespace benchproof::proposing {

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

  [[nodiscard]] std::size_t cell(int x, int y) const {
    return static_cast<std::size_t>(y * width + x);
  }
};

/// An outline so far to the east and south. Metre.
[[nodiscard]] Outline moved(const Outline& outline, double x, double y);

/// What is to be placed, and on what; nothing of it changes while places are looked
/// for.
struct Scene {
  const Circuit& circuit;
  const Board& board;
  Grid grid = {};
  std::vector<Item> items = {};
  std::vector<Spot> given = {};        ///< Of each item that is fixed.
  std::vector<std::size_t> free = {};  ///< Items that are not.
  std::vector<int> order = {};         ///< Parts along the current ...
  std::vector<std::size_t> path = {};  ///< ... and the items of those on the board.
  int net_count = 0;         ///< Leads without a net have one each, behind the others.
  bool has_no_room = false;  ///< A part can stand nowhere on the board.
};

/// `watts` of each part, or nothing where they are not known. Circuit and board must
/// outlive the scene.
[[nodiscard]] Scene scene_of(const Circuit& circuit, const Board& board,
                             std::span<const double> watts);

/// Whether all leads of an item are on holes.
[[nodiscard]] bool is_on_board(const Scene& scene, const Item& item, const Spot& spot);

}  // namespace benchproof::proposing
