#include "core/board/places/footprint.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "core/base/quantity.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// Leads of radial parts and of parts in a row may each be bent by so much.
constexpr double kBend = kPitch;
/// A standing axial part has its upper end's lead bent over by so much. Common
/// practice. Metre.
constexpr double kLoop = 2e-3;

int pitches(double metres) {
  return std::max(1, static_cast<int>(std::lround(metres / kPitch)));
}

std::pair<int, int> turned(std::pair<int, int> place, int quarters) {
  for (int k = 0; k < quarters; ++k) place = {-place.second, place.first};
  return place;
}

/// To which side a shape's front looks where its leads stand as `home_leads` says.
Side home_side(ShapeForm form) {
  switch (form) {
    case ShapeForm::row:
    case ShapeForm::triangle:
      return Side::south;
    case ShapeForm::rows:
      return Side::north;
    default:
      return Side::east;
  }
}

int quarters_to(Side from, Side to) {
  return (static_cast<int>(to) - static_cast<int>(from) + 4) % 4;
}

/// The holes of leads in a shape's home stance, from that of lead 1.
std::vector<std::pair<int, int>> home_leads(const PartShape& shape, int spacing) {
  std::vector<std::pair<int, int>> leads;
  switch (shape.form) {
    case ShapeForm::row:
      for (int k = 0; k < shape.leads; ++k) leads.emplace_back(k * spacing, 0);
      break;
    case ShapeForm::rows: {
      const int across = pitches(shape.size("across"));
      const int half = shape.leads / 2;
      for (int k = 0; k < half; ++k) leads.emplace_back(0, k);
      for (int k = half - 1; k >= 0; --k) leads.emplace_back(across, k);
      break;
    }
    case ShapeForm::triangle: {
      const int across = pitches(shape.size("across"));
      leads = {{0, 0}, {spacing / 2, -across}, {spacing, 0}};
      break;
    }
    default:
      leads = {{0, 0}, {spacing, 0}};
      break;
  }
  return leads;
}

int usual_spacing(const PartShape& shape) {
  if (shape.form == ShapeForm::axial)
    return static_cast<int>(std::lround(shape.size("holes")));
  return pitches(shape.size("spacing"));
}

std::string millimetres(double metres) {
  return fmt::format("{:.4g} mm", metres * 1e3);
}

Side direction(Point from, Point to) {
  const double x = to.x - from.x;
  const double y = to.y - from.y;
  if (std::abs(x) >= std::abs(y)) return x >= 0.0 ? Side::east : Side::west;
  return y >= 0.0 ? Side::south : Side::north;
}

Point step_to(Side side) {
  constexpr std::array<Point, 4> kSteps = {{{0, -1}, {1, 0}, {0, 1}, {-1, 0}}};
  return kSteps[static_cast<std::size_t>(side)];
}

void misplace(Footprint& foot, Misplaced how, std::string problem, std::string remedy,
              std::optional<Hole> at) {
  if (foot.misplaced != Misplaced::no) return;
  foot.misplaced = how;
  foot.problem = std::move(problem);
  foot.remedy = std::move(remedy);
  foot.at = at;
}

/// The hole so many pitches from another, or nothing where none is.
std::optional<Hole> hole_beside(const Board& board, Hole hole, int east, int south) {
  const auto [x, y] = pitches_of(board, hole);
  Hole other{hole.row + south, x + east};
  // On groups rows are not evenly spaced.
  for (int row = hole.row - std::abs(south); row <= hole.row + std::abs(south); ++row)
    if (has_hole(board, {row, hole.column}) &&
        pitches_of(board, {row, hole.column}).second == y + south)
      other.row = row;
  if (!has_hole(board, other) || pitches_of(board, other).second != y + south)
    return std::nullopt;
  return other;
}

/// The body of a part whose leads are all known.
class BodyMaker {
 public:
  BodyMaker(const Board& board, Footprint& foot, const Placement& place)
      : board_(board), foot_(foot), place_(place), shape_(*foot.shape) {}

  void make() {
    switch (shape_.form) {
      case ShapeForm::axial:
        make_axial();
        break;
      case ShapeForm::radial:
        make_radial();
        break;
      case ShapeForm::row:
        make_row();
        break;
      case ShapeForm::rows:
      case ShapeForm::triangle:
        make_box();
        break;
      case ShapeForm::loose:
        break;
    }
  }

 private:
  [[nodiscard]] Point lead(std::size_t k) const {
    return point_of(board_, foot_.lead_holes[k]);
  }

  void make_axial() {
    const double distance = std::hypot(lead(0).x - lead(1).x, lead(0).y - lead(1).y);
    const auto [least, most] = axial_reach(shape_);
    const double diameter = shape_.size("diameter");
    if (distance > most + kHair) {
      misplace(foot_, Misplaced::reach,
               fmt::format("its holes are {} apart; its leads reach {}, twice the body",
                           millimetres(distance), millimetres(most)),
               "put them nearer", foot_.lead_holes[1]);
    }
    if (distance < least - kHair) {
      foot_.is_standing = true;
      foot_.height = standing_height(shape_);
      foot_.body = circle(lead(0), diameter / 2);
      return;
    }
    foot_.height = diameter;
    foot_.body = rectangle(lead(0), lead(1), shape_.size("length"), diameter);
  }

  void make_radial() {
    const double distance = std::hypot(lead(0).x - lead(1).x, lead(0).y - lead(1).y);
    const double spacing = shape_.size("spacing");
    const double most = spacing + 2 * kBend;
    const double rounded = (pitches(spacing) + 2) * kPitch;
    if (distance > std::max(most, rounded) + kHair)
      misplace(
          foot_, Misplaced::reach,
          fmt::format("its holes are {} apart; leads of {} are spread to {} at most",
                      millimetres(distance), millimetres(spacing),
                      millimetres(std::max(most, rounded))),
          "put them nearer", foot_.lead_holes[1]);
    const double diameter = shape_.size("diameter");
    const double width = diameter > 0.0 ? diameter : shape_.size("width");
    const double depth = diameter > 0.0 ? diameter : shape_.size("depth");
    const Point middle = {(lead(0).x + lead(1).x) / 2, (lead(0).y + lead(1).y) / 2};
    foot_.height = shape_.size("height");
    if (!foot_.is_flat) {
      foot_.body = diameter > 0.0 ? circle(middle, diameter / 2)
                                  : rectangle(lead(0), lead(1), width, depth);
      return;
    }
    // On its side it lies square to the line of its leads.
    const Side line = direction(lead(0), lead(1));
    const Side to =
        place_.flat_to.value_or(static_cast<Side>((static_cast<int>(line) + 1) % 4));
    lay(middle, to, foot_.height, width, 0.0);
    foot_.height = depth;
  }

  void make_row() {
    const Point middle = {(lead(0).x + lead(2).x) / 2, (lead(0).y + lead(2).y) / 2};
    const Side front = foot_.faces.value_or(Side::south);
    const Point ahead = step_to(front);
    const Point aside = {std::abs(ahead.y), std::abs(ahead.x)};
    foot_.height = shape_.size("height");
    const double half = shape_.size("width") / 2;
    if (foot_.is_flat) {
      const Side back = static_cast<Side>((static_cast<int>(front) + 2) % 4);
      lay(middle, place_.flat_to.value_or(back), shape_.size("length"), 2 * half,
          kPitch);
      foot_.height = shape_.size("before") + shape_.size("behind");
      return;
    }
    const double before = shape_.size("before");
    const double behind = shape_.size("behind");
    const Point a = {middle.x + ahead.x * before - aside.x * half,
                     middle.y + ahead.y * before - aside.y * half};
    const Point b = {middle.x - ahead.x * behind + aside.x * half,
                     middle.y - ahead.y * behind + aside.y * half};
    foot_.body = box({std::min(a.x, b.x), std::min(a.y, b.y)},
                     {std::max(a.x, b.x), std::max(a.y, b.y)});
  }

  void make_box() {
    Point least = lead(0);
    Point most = lead(0);
    for (std::size_t k = 1; k < foot_.lead_holes.size(); ++k) {
      least = {std::min(least.x, lead(k).x), std::min(least.y, lead(k).y)};
      most = {std::max(most.x, lead(k).x), std::max(most.y, lead(k).y)};
    }
    const Point middle = {(least.x + most.x) / 2, (least.y + most.y) / 2};
    const bool is_upright =
        foot_.faces.value_or(Side::north) == Side::north || foot_.faces == Side::south;
    const bool is_chip = shape_.form == ShapeForm::rows;
    double east = shape_.size("width");
    double south = is_chip ? shape_.size("length") : shape_.size("depth");
    if (!is_upright) std::swap(east, south);
    foot_.height = shape_.size("height");
    foot_.body = box({middle.x - east / 2, middle.y - south / 2},
                     {middle.x + east / 2, middle.y + south / 2});
  }

  /// A body that lies to a side of its leads, `away` from them.
  void lay(Point leads, Side to, double length, double width, double away) {
    const Point ahead = step_to(to);
    const Point near = {leads.x + ahead.x * away, leads.y + ahead.y * away};
    const Point far = {near.x + ahead.x * length, near.y + ahead.y * length};
    foot_.body = rectangle(near, far, length, width);
  }

  const Board& board_;
  Footprint& foot_;
  const Placement& place_;
  const PartShape& shape_;
};

/// How far leads stand from where their shape has them, for a turn of it.
struct Fit {
  int quarters = 0;
  double worst = std::numeric_limits<double>::infinity();  ///< Metre.
  std::size_t lead = 0;        ///< That is the farthest off.
  bool is_in_order = true;     ///< Along the row.
  std::pair<int, int> origin;  ///< Of lead 1, in pitches.
};

/// The best fit of a turned pattern to the leads whose holes are known.
Fit fit_turn(const Board& board, const Footprint& foot,
             const std::vector<std::pair<int, int>>& home, int quarters) {
  Fit best;
  best.quarters = quarters;
  best.is_in_order = false;
  double best_sum = std::numeric_limits<double>::infinity();
  for (std::size_t anchor = 0; anchor < home.size(); ++anchor) {
    if (!foot.has_hole[anchor]) continue;
    const auto at = pitches_of(board, foot.lead_holes[anchor]);
    const auto from = turned(home[anchor], quarters);
    const std::pair origin = {at.first - from.first, at.second - from.second};
    Fit fit;
    fit.quarters = quarters;
    fit.origin = origin;
    fit.worst = 0.0;
    double sum = 0.0;
    int last = std::numeric_limits<int>::min();
    for (std::size_t k = 0; k < home.size(); ++k) {
      if (!foot.has_hole[k]) continue;
      const auto own = turned(home[k], quarters);
      const auto is = pitches_of(board, foot.lead_holes[k]);
      const double off = kPitch * std::hypot(is.first - origin.first - own.first,
                                             is.second - origin.second - own.second);
      sum += off;
      if (off > fit.worst) {
        fit.worst = off;
        fit.lead = k;
      }
      // Back in the home stance the leads run from west to east.
      const auto along = turned({is.first, is.second}, (4 - quarters) % 4).first;
      if (along <= last) fit.is_in_order = false;
      last = along;
    }
    if (foot.shape->form != ShapeForm::row) fit.is_in_order = true;
    if (std::pair(!fit.is_in_order, sum) < std::pair(!best.is_in_order, best_sum)) {
      best = fit;
      best_sum = sum;
    }
  }
  return best;
}

std::size_t holes_told(const Footprint& foot) {
  return static_cast<std::size_t>(
      std::count(foot.has_hole.begin(), foot.has_hole.end(), true));
}

/// The turn in which the leads that are told fit best; where several fit alike (one pin
/// alone) what is told of the front decides.
Fit best_turn(const Board& board, const Placement& place, const Footprint& foot,
              const std::vector<std::pair<int, int>>& home) {
  const Side front = home_side(foot.shape->form);
  const bool is_ordered = foot.shape->form == ShapeForm::row && holes_told(foot) > 1;
  const auto rank = [&](const Fit& f) {
    return std::pair(is_ordered && !f.is_in_order, f.worst);
  };
  Fit best;
  best.is_in_order = false;
  for (int quarters = 0; quarters < 4; ++quarters) {
    const Fit fit = fit_turn(board, foot, home, quarters);
    const bool is_asked = place.faces && quarters == quarters_to(front, *place.faces);
    const bool is_better = rank(fit).first != rank(best).first
                               ? rank(fit).first < rank(best).first
                               : fit.worst < best.worst - kHair;
    if (is_better || (is_asked && fit.worst <= best.worst + kHair &&
                      rank(fit).first == rank(best).first))
      best = fit;
  }
  return best;
}

/// Puts the leads that are not told where they stand in that turn.
void put_untold_leads(const Board& board, const std::vector<std::pair<int, int>>& home,
                      const Fit& fit, Hole anchor, Footprint& foot) {
  const auto at = pitches_of(board, anchor);
  for (std::size_t k = 0; k < home.size(); ++k) {
    if (foot.has_hole[k]) continue;
    const auto own = turned(home[k], fit.quarters);
    const auto hole =
        hole_beside(board, anchor, fit.origin.first + own.first - at.first,
                    fit.origin.second + own.second - at.second);
    if (!hole) {
      misplace(foot, Misplaced::edge,
               fmt::format("lead {} would stand beside the board's holes", k + 1),
               "move it inwards", anchor);
      continue;
    }
    foot.lead_holes[k] = *hole;
    foot.has_hole[k] = true;
  }
}

/// Puts a part of three or more leads: finds its turn, then the leads that are not
/// told.
void settle_pattern(const Board& board, const Placement& place, Footprint& foot) {
  const auto home = home_leads(*foot.shape, usual_spacing(*foot.shape));
  const Side front = home_side(foot.shape->form);
  const bool is_row = foot.shape->form == ShapeForm::row;
  const Fit best = best_turn(board, place, foot, home);
  const auto first = std::find(foot.has_hole.begin(), foot.has_hole.end(), true) -
                     foot.has_hole.begin();
  const Hole anchor = foot.lead_holes[static_cast<std::size_t>(first)];
  if (holes_told(foot) == 1 && !place.faces)
    return misplace(foot, Misplaced::few, "one hole alone does not tell how it stands",
                    "give the side that it faces, or the holes of its other pins",
                    anchor);
  const bool can_bend = is_row || foot.shape->form == ShapeForm::triangle;
  if (best.worst > (can_bend ? kBend : kHair) + kHair || (is_row && !best.is_in_order))
    return misplace(
        foot, Misplaced::pattern,
        is_row && !best.is_in_order
            ? "its leads do not stand in the order of these holes"
            : fmt::format("lead {} is {} from where a {} has it", best.lead + 1,
                          millimetres(best.worst), foot.shape->name),
        "see 'benchproof parts' for the order and spacing of its leads",
        foot.lead_holes[best.lead]);
  const auto seen = static_cast<Side>((static_cast<int>(front) + best.quarters) % 4);
  if (place.faces && *place.faces != seen)
    misplace(foot, Misplaced::faces,
             fmt::format("by its holes it faces {}, not {}", side_word(seen),
                         side_word(*place.faces)),
             "exchange the holes, or leave 'faces' out", anchor);
  foot.faces = seen;
  put_untold_leads(board, home, best, anchor, foot);
}

/// Puts a part of two leads.
void settle_pair(const Board& board, const Placement& place, Footprint& foot) {
  const bool has_first = foot.has_hole[0];
  const std::size_t known = has_first ? 0 : 1;
  if (!has_first || !foot.has_hole[1]) {
    const Hole anchor = foot.lead_holes[known];
    if (!place.faces)
      return misplace(
          foot, Misplaced::few, "one hole alone does not tell how it stands",
          "give the side that it faces, or the hole of its other pin", anchor);
    const Point ahead = step_to(*place.faces);
    const int way = usual_spacing(*foot.shape) * (has_first ? 1 : -1);
    const auto other = hole_beside(board, anchor, static_cast<int>(ahead.x) * way,
                                   static_cast<int>(ahead.y) * way);
    if (!other)
      return misplace(foot, Misplaced::edge,
                      "its other lead would stand beside the board's holes",
                      "move it inwards", anchor);
    foot.lead_holes[1 - known] = *other;
    foot.has_hole[1 - known] = true;
  }
  const Point a = point_of(board, foot.lead_holes[0]);
  const Point b = point_of(board, foot.lead_holes[1]);
  foot.faces = direction(a, b);
  if (place.faces && *place.faces != *foot.faces)
    misplace(foot, Misplaced::faces,
             fmt::format("by its holes it faces {}, not {}", side_word(*foot.faces),
                         side_word(*place.faces)),
             "exchange the holes, or leave 'faces' out", foot.lead_holes[0]);
}

ShapeWish wish_of(const Part& part) {
  ShapeWish wish{part.kind, part.type != nullptr ? part.type->name : ""};
  wish.size = word_of(part, "size");
  if (wish.size.empty() && part.type != nullptr)
    if (const auto size = part.type->words.find("size"); size != part.type->words.end())
      wish.size = size->second;
  wish.watts = number_of(part, "power");
  if (part.kind == KindId::capacitor) {
    wish.farads = number_of(part, "value");
    wish.volts = number_of(part, "rated");
    wish.polarised = flag(part, "polarised", false);
  }
  wish.pins = static_cast<int>(part.pins.size());
  return wish;
}

/// Legs of a chip whose description tells none: its supply at the first and last leg,
/// outputs from the last but one down, then up from the second. Common practice.
std::vector<int> usual_legs(const Part& part, int count) {
  std::vector<int> order;
  for (int leg = count - 1; leg > count / 2; --leg) order.push_back(leg - 1);
  for (int leg = 2; leg <= count / 2; ++leg) order.push_back(leg - 1);
  std::vector<int> legs(part.pins.size(), -1);
  legs[kVdd] = 0;
  legs[kVss] = count - 1;
  for (std::size_t pin = kFirstPin; pin < legs.size(); ++pin)
    if (pin - kFirstPin < order.size()) legs[pin] = order[pin - kFirstPin];
  return legs;
}

}  // namespace

ChosenShape shape_of(const Part& part) {
  const Shapes& shapes = built_in_shapes();
  if (!part.shape.empty())
    return {shapes.find(part.shape), false, "description", Mark::given};
  return shapes.choose(wish_of(part));
}

Leads leads_of(const Part& part, const PartShape& shape) {
  Leads leads;
  const std::size_t count = shape.form == ShapeForm::loose
                                ? part.pins.size()
                                : static_cast<std::size_t>(shape.leads);
  leads.lead_of_pin.assign(part.pins.size(), -1);
  leads.pin_of_lead.assign(std::max(count, part.pins.size()), -1);
  const auto is_told = [](int leg) { return leg > 0; };
  const LeadOrder* order = part.type != nullptr && shape.form == ShapeForm::row
                               ? built_in_shapes().order(part.type->name)
                               : nullptr;
  if (std::any_of(part.legs.begin(), part.legs.end(), is_told)) {
    for (std::size_t pin = 0; pin < part.legs.size(); ++pin)
      leads.lead_of_pin[pin] = part.legs[pin] - 1;
    leads.source = "description";
  } else if (order != nullptr) {
    for (std::size_t lead = 0; lead < order->pins.size(); ++lead)
      if (const int pin = pin_index(part, order->pins[lead]); pin >= 0)
        leads.lead_of_pin[static_cast<std::size_t>(pin)] = static_cast<int>(lead);
    leads.source = order->source;
    leads.differs = order->differs;
  } else if (shape.form == ShapeForm::rows && part.kind == KindId::controller) {
    leads.lead_of_pin = usual_legs(part, shape.leads);
    leads.is_assumed = true;
    leads.source = "common practice, no source";
  } else {
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin)
      leads.lead_of_pin[pin] = static_cast<int>(pin);
    leads.is_assumed = shape.form == ShapeForm::row;
    leads.source = "the order of its pins";
  }
  for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
    const int lead = leads.lead_of_pin[pin];
    if (lead < 0 || lead >= static_cast<int>(leads.pin_of_lead.size())) continue;
    leads.pin_of_lead[static_cast<std::size_t>(lead)] = static_cast<int>(pin);
  }
  return leads;
}

bool is_polarised(const Part& part) {
  switch (part.kind) {
    case KindId::diode:
    case KindId::zener:
    case KindId::led:
      return true;
    case KindId::capacitor:
      return flag(part, "polarised", false);
    default:
      return false;
  }
}

Point point_of(const Board& board, Hole hole) {
  const auto [east, south] = pitches_of(board, hole);
  return {east * kPitch, south * kPitch};
}

std::pair<double, double> axial_reach(const PartShape& shape) {
  const double least = shape.size("holes") * kPitch;
  return {least, std::max(least, 2 * shape.size("length"))};
}

double standing_height(const PartShape& shape) { return shape.size("length") + kLoop; }

Footprint footprint_of(const Circuit& circuit, const Board& board,
                       const Placement& place) {
  const Part& part = circuit.parts[static_cast<std::size_t>(place.part)];
  Footprint foot;
  foot.part = place.part;
  foot.shape = shape_of(part).shape;
  foot.span = place.span;
  foot.is_off = board.is_off[static_cast<std::size_t>(place.part)];
  foot.is_flat = place.is_flat;
  Leads leads = leads_of(part, *foot.shape);
  const bool is_loose = foot.is_off || foot.shape->form == ShapeForm::loose;
  if (is_loose) {
    leads.lead_of_pin.clear();
    leads.pin_of_lead.clear();
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
      leads.lead_of_pin.push_back(static_cast<int>(pin));
      leads.pin_of_lead.push_back(static_cast<int>(pin));
    }
  }
  foot.pin_of_lead = leads.pin_of_lead;
  foot.lead_holes.assign(foot.pin_of_lead.size(), Hole{});
  foot.has_hole.assign(foot.pin_of_lead.size(), false);
  for (const PlacedPin& placed : place.pins) {
    const int lead = leads.lead_of_pin[static_cast<std::size_t>(placed.pin)];
    if (lead < 0 || lead >= static_cast<int>(foot.lead_holes.size())) {
      misplace(foot, Misplaced::pattern,
               fmt::format("no lead of a {} is its pin '{}'", foot.shape->name,
                           part.pins[static_cast<std::size_t>(placed.pin)]),
               "tell the leads: legs = { ... }, or another shape", placed.hole);
      continue;
    }
    foot.lead_holes[static_cast<std::size_t>(lead)] = placed.hole;
    foot.has_hole[static_cast<std::size_t>(lead)] = true;
  }
  if (is_loose || foot.misplaced != Misplaced::no) return foot;
  if (std::none_of(foot.has_hole.begin(), foot.has_hole.end(),
                   [](bool b) { return b; }))
    return foot;
  if (foot.shape->leads == 2)
    settle_pair(board, place, foot);
  else
    settle_pattern(board, place, foot);
  const bool has_all =
      std::all_of(foot.has_hole.begin(), foot.has_hole.end(), [](bool b) { return b; });
  if (has_all) BodyMaker(board, foot, place).make();
  return foot;
}

std::vector<Stance> stances_of(const PartShape& shape) {
  std::vector<Stance> stances;
  if (shape.form == ShapeForm::loose) return stances;
  std::vector<int> spacings = {usual_spacing(shape)};
  if (shape.form == ShapeForm::axial) {
    const int most = static_cast<int>(axial_reach(shape).second / kPitch + kHair);
    for (int more = spacings.front() + 1; more <= most; ++more)
      spacings.push_back(more);
  } else if (shape.form == ShapeForm::radial) {
    spacings.push_back(spacings.front() + 1);
  }
  for (const int spacing : spacings)
    for (int quarters = 0; quarters < 4; ++quarters) {
      Stance stance;
      stance.faces =
          static_cast<Side>((static_cast<int>(home_side(shape.form)) + quarters) % 4);
      for (const auto& lead : home_leads(shape, spacing))
        stance.leads.push_back(turned(lead, quarters));
      stances.push_back(std::move(stance));
    }
  return stances;
}

}  // namespace benchproof
