#include "core/board/propose/propose.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <tuple>

#include "core/board/proof/bounds.h"
#include "core/board/proof/proof.h"
#include "core/board/propose/detail/annealer.h"
#include "core/board/propose/detail/scene.h"

namespace benchproof {
namespace {

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
    const proposing::Scene scene = proposing::scene_of(circuit, board, watts);
    proposing::Annealer annealer(
        scene, options.seed * 1000003ULL + static_cast<std::uint64_t>(round),
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
