#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/board/places/outline.h"
#include "core/circuit/circuit.h"
#include "core/shape/shape.h"

namespace benchproof {

/// The shape of a part: the one that it names, else its type's, else the usual one.
[[nodiscard]] ChosenShape shape_of(const Part& part);

/// Which lead is which pin of a part.
struct Leads {
  std::vector<int> lead_of_pin;  ///< From 0.
  std::vector<int> pin_of_lead;  ///< -1: a lead that no pin names.
  bool is_assumed = false;       ///< Neither the description nor the type tells it.
  std::string source;            ///< Where it comes from.
  std::string differs;           ///< Which makers' parts differ; may be empty.
};
[[nodiscard]] Leads leads_of(const Part& part, const PartShape& shape);

/// Whether the part's two directions differ: one of its leads is marked.
[[nodiscard]] bool is_polarised(const Part& part);

/// Why a part cannot stand where it is put.
enum class Misplaced {
  no,
  reach,    ///< A lead cannot reach its hole.
  pattern,  ///< The legs do not stand as the holes do, or in another order.
  faces,    ///< What is said of its front is not so.
  few,      ///< Neither all pins nor a side that it faces is told.
  edge,     ///< A lead would stand beside the board.
};

/// A part as it stands on the board.
struct Footprint {
  int part = -1;
  const PartShape* shape = nullptr;
  bool is_off = false;           ///< Only its wires start there.
  std::vector<Hole> lead_holes;  ///< By lead; of a part that is off by pin.
  std::vector<int> pin_of_lead;  ///< As in Leads; -1: a leg that no pin names.
  std::vector<bool> has_hole;    ///< By lead: false where none is known.
  std::optional<Side> faces;
  bool is_standing = false;  ///< An axial part with its leads side by side.
  bool is_flat = false;
  std::optional<Outline> body;
  double height = 0.0;  ///< Above the board. Metre.
  Misplaced misplaced = Misplaced::no;
  std::string problem;     ///< What is wrong, in words; empty where nothing is.
  std::string remedy;      ///< What to do about it.
  std::optional<Hole> at;  ///< The hole that the problem is told of.
  Span span;
};

/// Works out where all leads and the body of a placed part are.
[[nodiscard]] Footprint footprint_of(const Circuit& circuit, const Board& board,
                                     const Placement& place);

/// Where a hole is.
[[nodiscard]] Point point_of(const Board& board, Hole hole);

/// How a part may stand: the holes of its leads from the one of lead 1, in pitches to
/// the east and the south, as its shape has them when its front looks to that side.
struct Stance {
  Side faces = Side::east;
  std::vector<std::pair<int, int>> leads;
};

/// The stances that a part's shape has by itself, the usual ones first: four sides, and
/// of two-lead parts several spacings. Nothing for what is loose.
[[nodiscard]] std::vector<Stance> stances_of(const PartShape& shape);

/// An axial part reaches from the first to the second. Metre.
[[nodiscard]] std::pair<double, double> axial_reach(const PartShape& shape);

/// How high an axial part is that stands on end. Metre.
[[nodiscard]] double standing_height(const PartShape& shape);

}  // namespace benchproof
