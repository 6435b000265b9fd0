#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/base/quantity.h"
#include "core/board/proof/detail/proof_run.h"
#include "core/check/finding/wording.h"

namespace benchproof {
namespace {

/// Outlines may overlap by so much: sizes are the largest of a shape. Common practice.
/// Metre.
constexpr double kSqueeze = 0.2e-3;
/// A lead in a hole, seen from above. Metre.
constexpr double kLeadRadius = 0.3e-3;
/// Marks of parts within this are compared. Common practice. Metre.
constexpr double kNeighbours = 12.7e-3;

}  // namespace

void Proof::check_bodies() {
  for (std::size_t a = 0; a < proof_.feet.size(); ++a) {
    const Footprint& one = proof_.feet[a];
    if (!one.body) continue;
    for (std::size_t b = 0; b < proof_.feet.size(); ++b) {
      const Footprint& other = proof_.feet[b];
      if (a == b) continue;
      const bool meets =
          b > a && other.body && apart(*one.body, *other.body) < -kSqueeze;
      const bool is_told_as_bodies =
          other.body && apart(*one.body, *other.body) < -kSqueeze;
      if (meets) {
        tell_meeting(one, other, between(one, other));
      } else if (!is_told_as_bodies) {
        for (std::size_t lead = 0; lead < other.lead_holes.size(); ++lead)
          if (other.has_hole[lead] && is_under(one, other.lead_holes[lead])) {
            tell_meeting(one, other, other.lead_holes[lead]);
            break;
          }
      }
    }
  }
}

bool Proof::is_under(const Footprint& foot, Hole hole) const {
  return apart(*foot.body, circle(point_of(board_, hole), kLeadRadius)) <
         -kLeadRadius - kSqueeze;
}

Hole Proof::between(const Footprint& one, const Footprint& other) const {
  const Point middle = {(one.body->centre.x + other.body->centre.x) / 2,
                        (one.body->centre.y + other.body->centre.y) / 2};
  Hole best = other.lead_holes.front();
  double nearest = std::numeric_limits<double>::infinity();
  for (const Footprint* foot : {&other, &one})
    for (const Hole hole : foot->lead_holes) {
      const Point at = point_of(board_, hole);
      const double far = std::hypot(at.x - middle.x, at.y - middle.y);
      if (far >= nearest - 1e-9) continue;
      nearest = far;
      best = hole;
    }
  return best;
}

void Proof::tell_meeting(const Footprint& one, const Footprint& other, Hole at) {
  Finding& finding =
      add(Severity::fault, board_checks::id("board-overlap"), other.span, at,
          fmt::format("'{}' ({}) and '{}' ({}) meet at {}", part_at(one.part).name,
                      one.shape->name, part_at(other.part).name,
                      other.is_off ? "its wire" : other.shape->name, name(at)));
  finding.part = part_at(other.part).name;
  source(finding, "reference/shapes, largest sizes", Mark::verified);
}

void Proof::check_space() {
  Point least{-kPitch / 2, -kPitch / 2};
  Point most{(board_.columns - 0.5) * kPitch, (pitches_deep(board_) - 0.5) * kPitch};
  const Point bare_least = least;
  const Point bare_most = most;
  for (const Footprint& foot : proof_.feet) {
    if (!foot.body) continue;
    const Bounds around = bounds(*foot.body);
    const double over =
        std::max({bare_least.x - around.least.x, bare_least.y - around.least.y,
                  around.most.x - bare_most.x, around.most.y - bare_most.y});
    least = {std::min(least.x, around.least.x), std::min(least.y, around.least.y)};
    most = {std::max(most.x, around.most.x), std::max(most.y, around.most.y)};
    if (over > kSqueeze) {
      Finding& finding =
          add(Severity::note, board_checks::id("board-edge"), foot.span,
              foot.lead_holes.front(),
              fmt::format("'{}' reaches {} over the board's edge; see that there is "
                          "room beside it",
                          part_at(foot.part).name, in_millimetres(over)));
      finding.part = part_at(foot.part).name;
      source(finding, "reference/shapes, largest sizes", Mark::verified);
    }
    if (foot.height > proof_.height) {
      proof_.height = foot.height;
      proof_.highest = foot.part;
    }
    if (!board_.height || foot.height <= *board_.height + kHair) continue;
    Finding& finding =
        add(Severity::fault, board_checks::id("board-height"), foot.span,
            foot.lead_holes.front(),
            fmt::format("'{}' at {} stands {} high, the space is {}; {}",
                        part_at(foot.part).name, name(foot.lead_holes.front()),
                        in_millimetres(foot.height), in_millimetres(*board_.height),
                        lower_text(foot)));
    finding.part = part_at(foot.part).name;
    size_figures(finding, "height", foot.height, *board_.height);
  }
  check_side("width", bare_most.x - bare_least.x, most.x - least.x, board_.width,
             board_.depth);
  check_side("depth", bare_most.y - bare_least.y, most.y - least.y, board_.depth,
             board_.width);
}

std::string Proof::lower_text(const Footprint& foot) const {
  const PartShape& shape = *foot.shape;
  if (foot.is_standing) return "let it lie, its holes farther apart";
  if (!foot.is_flat && shape.form == ShapeForm::row) {
    const double flat = shape.size("before") + shape.size("behind");
    if (flat <= *board_.height + kHair)
      return fmt::format("laid flat (flat = true) it takes {}", in_millimetres(flat));
  }
  if (!foot.is_flat && shape.form == ShapeForm::radial) {
    const double flat =
        shape.size("diameter") > 0.0 ? shape.size("diameter") : shape.size("depth");
    if (flat <= *board_.height + kHair)
      return fmt::format("laid flat (flat = true) it takes {}", in_millimetres(flat));
  }
  if (shape.form == ShapeForm::rows)
    return "without its socket it takes 5.33 mm (from memory)";
  return "choose a lower part, put it beside the board, or find more room";
}

void Proof::check_side(const char* side, double bare, double whole,
                       const std::optional<double>& room,
                       const std::optional<double>& other_room) {
  if (!room || whole <= *room + kHair) return;
  const bool is_bare = bare > *room + kHair;
  const bool fits_turned = other_room && whole <= *other_room + kHair;
  const Hole at = {board_.rows - 1, board_.columns - 1};
  Finding& finding =
      add(Severity::fault, board_checks::id("board-size"), board_.span, at,
          fmt::format("the {} of the board is {}{}, the space is {}{}", side,
                      in_millimetres(is_bare ? bare : whole),
                      is_bare ? "" : " with what reaches over its edge",
                      in_millimetres(*room),
                      fits_turned ? "; turned by a quarter this side would fit" : ""));
  size_figures(finding, side, is_bare ? bare : whole, *room);
}

void Proof::check_heat() {
  if (watts_.empty()) return;
  for (const Footprint& warm : proof_.feet) {
    const double watts = watts_[static_cast<std::size_t>(warm.part)];
    if (!warm.body || !(watts > kWarmWatts)) continue;
    for (const Footprint& can : proof_.feet) {
      const Part& part = part_at(can.part);
      if (!can.body || part.kind != KindId::capacitor ||
          !flag(part, "polarised", false))
        continue;
      const double gap = std::max(0.0, apart(*warm.body, *can.body));
      if (gap >= kWarmMetres - kHair) continue;
      Finding& finding = add(
          Severity::caution, board_checks::id("board-heat"), can.span,
          can.lead_holes.front(),
          fmt::format("'{}' at {} stands {} from '{}', which turns {} into heat; 5 mm "
                      "keep it from drying out",
                      part.name, name(can.lead_holes.front()), in_millimetres(gap),
                      part_at(warm.part).name, format_quantity(watts, Unit::watt)));
      finding.part = part.name;
      size_figures(finding, "distance", gap, kWarmMetres);
      finding.bound = Bound::lower;
      source(finding, "common practice, no source", Mark::practice);
    }
  }
}

void Proof::check_marks() {
  for (std::size_t a = 0; a < proof_.feet.size(); ++a) {
    const Footprint& one = proof_.feet[a];
    if (!one.body || !one.faces || !is_polarised(part_at(one.part))) continue;
    for (std::size_t b = 0; b < a; ++b) {
      const Footprint& other = proof_.feet[b];
      if (!other.body || !other.faces) continue;
      if (part_at(other.part).kind != part_at(one.part).kind ||
          !is_polarised(part_at(other.part)))
        continue;
      const int turn =
          (static_cast<int>(*one.faces) - static_cast<int>(*other.faces) + 4) % 4;
      const double far = std::hypot(one.body->centre.x - other.body->centre.x,
                                    one.body->centre.y - other.body->centre.y);
      if (turn != 2 || far > kNeighbours) continue;
      Finding& finding = add(
          Severity::note, board_checks::id("board-marks"), one.span,
          one.lead_holes.front(),
          fmt::format("the mark of '{}' at {} points {}, that of its neighbour '{}' at "
                      "{} points {}",
                      part_at(one.part).name, name(one.lead_holes.front()),
                      side_word(*one.faces), part_at(other.part).name,
                      name(other.lead_holes.front()), side_word(*other.faces)));
      finding.part = part_at(one.part).name;
      source(finding, "common practice, no source", Mark::practice);
    }
  }
}

}  // namespace benchproof
