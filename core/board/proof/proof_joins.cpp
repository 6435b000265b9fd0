#include <fmt/format.h>

#include <algorithm>

#include "core/board/proof/detail/proof_run.h"

namespace benchproof {
namespace {

/// A bare jumper. Metre.
constexpr double kJumperRadius = 0.3e-3;

}  // namespace

void Proof::check_holes() {
  std::map<Hole, std::size_t> first;
  for (std::size_t k = 0; k < stands_.size(); ++k) {
    const auto [there, is_new] = first.emplace(stands_[k].hole, k);
    if (is_new) continue;
    Finding& finding =
        add(Severity::fault, board_checks::id("board-hole-twice"),
            proof_.feet[stands_[k].foot].span, stands_[k].hole,
            fmt::format("two leads in {}: {} and {}; one of them needs another hole",
                        name(stands_[k].hole), pin_text(stands_[there->second]),
                        pin_text(stands_[k])));
    finding.part = part_at(proof_.feet[stands_[k].foot].part).name;
  }
  std::map<Hole, std::string> ends;
  for (const Join& join : board_.joins) {
    const bool is_on_top =
        join.kind == JoinKind::jumper ||
        (join.kind == JoinKind::wire && board_.kind == BoardKind::groups);
    if (!is_on_top) continue;
    for (const Hole hole : {join.from, join.to}) {
      std::string other;
      if (const auto lead = first.find(hole); lead != first.end())
        other = pin_text(stands_[lead->second]);
      if (const auto end = ends.find(hole); other.empty() && end != ends.end())
        other = end->second;
      if (!other.empty())
        add(Severity::fault, board_checks::id("board-hole-twice"), join.span, hole,
            fmt::format("{} is used twice: {}, and a {} ends there; on the parts' side "
                        "each end needs a hole of its own",
                        name(hole), other, join_word(join.kind)));
      ends.emplace(hole, fmt::format("another {}'s end", join_word(join.kind)));
    }
  }
}

void Proof::check_joins() {
  for (const Join& join : board_.joins) {
    if (join.from == join.to) {
      add(Severity::fault, board_checks::id("board-bridge"), join.span, join.from,
          fmt::format("a {} from {} to itself joins nothing", join_word(join.kind),
                      name(join.from)));
      continue;
    }
    if (join.kind == JoinKind::bridge && !is_straight_bridge(board_, join)) {
      add(Severity::fault, board_checks::id("board-bridge"), join.span, join.from,
          fmt::format("{} to {} is no straight line of neighbouring holes: no bridge "
                      "of solder, make it a wire",
                      name(join.from), name(join.to)));
      continue;
    }
    if (join.kind == JoinKind::jumper) check_jumper(join);
  }
}

void Proof::check_jumper(const Join& join) {
  if (join.from.row != join.to.row && join.from.column != join.to.column)
    add(Severity::fault, board_checks::id("board-jumper"), join.span, join.from,
        fmt::format("a jumper from {} to {} is not straight along a row or column; "
                    "make it a wire",
                    name(join.from), name(join.to)));
  const Outline line = rectangle(point_of(board_, join.from), point_of(board_, join.to),
                                 length_of(board_, join), 2 * kJumperRadius);
  for (const Footprint& foot : proof_.feet)
    if (foot.body && apart(line, *foot.body) < -kHair)
      add(Severity::fault, board_checks::id("board-jumper"), join.span, join.from,
          fmt::format("the jumper from {} to {} crosses '{}'; make it a wire on the "
                      "copper side",
                      name(join.from), name(join.to), part_at(foot.part).name))
          .part = part_at(foot.part).name;
  for (const Join& other : board_.joins)
    if (&other < &join && other.kind == JoinKind::jumper && other.from != other.to &&
        apart(line, rectangle(point_of(board_, other.from), point_of(board_, other.to),
                              length_of(board_, other), 2 * kJumperRadius)) < -kHair)
      add(Severity::fault, board_checks::id("board-jumper"), join.span, join.from,
          fmt::format("the jumpers from {} to {} and from {} to {} cross, both bare",
                      name(join.from), name(join.to), name(other.from),
                      name(other.to)));
}

void Proof::check_cuts() {
  std::set<Hole> cuts;
  for (const Cut& cut : board_.cuts) cuts.insert(cut.hole);
  for (const Stands& s : stands_)
    if (cuts.contains(s.hole))
      add(Severity::fault, board_checks::id("board-cut"), proof_.feet[s.foot].span,
          s.hole,
          fmt::format("{} stands in {}, where the copper is cut away", pin_text(s),
                      name(s.hole)))
          .part = part_at(proof_.feet[s.foot].part).name;
  for (const Join& join : board_.joins)
    for (const Hole hole : holes_along(board_, join))
      if (cuts.contains(hole))
        add(Severity::fault, board_checks::id("board-cut"), join.span, hole,
            fmt::format("the {} from {} to {} is soldered at {}, where the copper is "
                        "cut away",
                        join_word(join.kind), name(join.from), name(join.to),
                        name(hole)));
  for (const Cut& cut : board_.cuts) {
    bool is_used[2] = {false, false};
    for (const int side : {-1, 1})
      for (Hole at = {cut.hole.row, cut.hole.column + side};
           has_hole(board_, at) && !cuts.contains(at); at.column += side) {
        const auto is_here = [&at](Hole hole) { return hole == at; };
        bool is_something =
            std::any_of(stands_.begin(), stands_.end(),
                        [&](const Stands& s) { return is_here(s.hole); });
        for (const Join& join : board_.joins)
          for (const Hole hole : holes_along(board_, join))
            is_something = is_something || is_here(hole);
        if (is_something) is_used[side > 0 ? 1 : 0] = true;
      }
    if (is_used[0] && is_used[1]) continue;
    Finding& finding =
        add(Severity::note, board_checks::id("board-cut-idle"), cut.span, cut.hole,
            fmt::format("the cut at {} parts nothing: one of its sides is empty",
                        name(cut.hole)));
    source(finding, "common practice, no source", Mark::practice);
  }
}

}  // namespace benchproof
