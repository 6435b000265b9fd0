#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <numeric>
#include <optional>

#include "core/board/proof/detail/proof_run.h"
#include "core/circuit/like_pins.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// Whether a part does the same whichever way round it stands.
bool is_alike_turned(const Part& part) {
  return has_like_pins(part.kind) ||
         (part.kind == KindId::capacitor && !flag(part, "polarised", false));
}

/// The ways in which leads of a shape come into each other's holes, the likeliest
/// first: for each lead the one in whose hole it should be.
std::vector<std::vector<std::size_t>> exchanges(const Footprint& foot) {
  const std::size_t count = foot.lead_holes.size();
  if (count == 2) return {{1, 0}};
  if (foot.is_off) return {};
  std::vector<std::vector<std::size_t>> all;
  switch (foot.shape->form) {
    case ShapeForm::row:
      if (count == 3) all = {{2, 1, 0}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}};
      break;
    case ShapeForm::rows: {
      std::vector<std::size_t> turned(count);
      std::iota(turned.begin(), turned.end(), std::size_t{0});
      std::rotate(turned.begin(),
                  turned.begin() + static_cast<std::ptrdiff_t>(count / 2),
                  turned.end());
      all = {std::move(turned)};
      break;
    }
    default:
      break;
  }
  return all;
}

}  // namespace

void Proof::gather_company() {
  std::map<int, std::vector<std::size_t>> on_island;
  for (std::size_t k = 0; k < stands_.size(); ++k)
    on_island[islands_.root(stands_[k].hole)].push_back(k);
  company_.assign(stands_.size(), {});
  for (std::size_t k = 0; k < stands_.size(); ++k) {
    company_[k].island = islands_.root(stands_[k].hole);
    for (const std::size_t other : on_island[company_[k].island])
      if (stands_[other].foot != stands_[k].foot) company_[k].others.push_back(other);
  }
}

std::size_t Proof::misfits(const std::vector<std::size_t>& leads,
                           const std::vector<std::size_t>& holes,
                           std::size_t* fits) const {
  std::size_t wrong = 0;
  if (fits != nullptr) *fits = 0;
  std::map<int, int> net_of_island;
  for (std::size_t k = 0; k < leads.size(); ++k) {
    const int net = stands_[leads[k]].net;
    const Company& there = company_[holes[k]];
    bool is_wrong = false;
    bool is_met = false;
    for (const std::size_t other : there.others) {
      if (std::find(leads.begin(), leads.end(), other) != leads.end()) continue;
      if (stands_[other].net == net)
        is_met = true;
      else
        is_wrong = true;
    }
    const auto [own, is_new] = net_of_island.emplace(there.island, net);
    if (!is_new && own->second != net) is_wrong = true;
    if (is_wrong) ++wrong;
    if (is_met && !is_wrong && fits != nullptr) ++*fits;
  }
  return wrong;
}

void Proof::check_turned() {
  gather_company();
  std::vector<std::vector<std::size_t>> leads(proof_.feet.size());
  for (std::size_t k = 0; k < stands_.size(); ++k) leads[stands_[k].foot].push_back(k);
  std::vector<bool> is_told(proof_.feet.size(), false);
  for (std::size_t f = 0; f < proof_.feet.size(); ++f)
    is_told[f] = check_beside(leads[f]);
  // What makes no difference comes first: it explains all that it can.
  for (const bool is_alike : {true, false})
    for (std::size_t f = 0; f < proof_.feet.size(); ++f)
      if (!is_told[f] && is_alike_turned(part_at(proof_.feet[f].part)) == is_alike)
        turn(leads[f], exchanges(proof_.feet[f]));
  for (std::size_t a = 0; a < proof_.feet.size(); ++a)
    for (std::size_t b = a + 1; b < proof_.feet.size(); ++b)
      if (!is_told[a] && !is_told[b]) check_exchanged(leads[a], leads[b]);
  // Of many legs two may be exchanged, where nothing else explains it.
  for (std::size_t f = 0; f < proof_.feet.size(); ++f) {
    if (is_told[f] || leads[f].size() <= 3) continue;
    std::vector<std::size_t> wrong;
    for (std::size_t k = 0; k < leads[f].size(); ++k)
      if (misfits({leads[f][k]}, {leads[f][k]}) > 0) wrong.push_back(k);
    if (wrong.size() != 2) continue;
    std::vector<std::size_t> way(leads[f].size());
    std::iota(way.begin(), way.end(), std::size_t{0});
    std::swap(way[wrong[0]], way[wrong[1]]);
    turn(leads[f], {way}, false);
  }
}

void Proof::turn(const std::vector<std::size_t>& leads,
                 const std::vector<std::vector<std::size_t>>& ways, bool is_turn) {
  if (leads.size() < 2) return;
  const Footprint& foot = proof_.feet[stands_[leads.front()].foot];
  if (leads.size() != foot.lead_holes.size()) return;
  if (misfits(leads, leads) < 2) return;
  for (const std::vector<std::size_t>& way : ways) {
    std::vector<std::size_t> holes;
    for (const std::size_t lead : way) holes.push_back(leads[lead]);
    std::size_t fits = 0;
    if (misfits(leads, holes, &fits) > 0 || fits < 2) continue;
    tell_turned(foot, leads, holes, is_turn && &way == &ways.front());
    stand_as_meant(leads, holes);
    return;
  }
}

bool Proof::check_beside(const std::vector<std::size_t>& leads) {
  if (leads.size() < 2) return false;
  const Footprint& foot = proof_.feet[stands_[leads.front()].foot];
  if (foot.is_off) return false;
  // In a hole without copper it is told there.
  for (const Cut& cut : board_.cuts)
    for (const std::size_t k : leads)
      if (stands_[k].hole == cut.hole) return false;
  // The nets of each island, this part's leads left out.
  std::map<int, std::set<int>> nets;
  std::set<int> elsewhere;
  for (const Stands& s : stands_)
    if (s.foot != stands_[leads.front()].foot) {
      nets[islands_.root(s.hole)].insert(s.net);
      elsewhere.insert(s.net);
    }
  // How many leads meet their net and no other, if all stand so much farther.
  const auto meeting = [&](int east, int south) {
    std::size_t count = 0;
    for (const std::size_t k : leads) {
      const Hole hole = {stands_[k].hole.row + south, stands_[k].hole.column + east};
      if (!has_hole(board_, hole)) return std::size_t{0};
      const auto there = nets.find(islands_.root(hole));
      const bool is_empty = there == nets.end();
      const bool is_own = !is_empty && there->second == std::set<int>{stands_[k].net};
      if (elsewhere.contains(stands_[k].net) ? is_own : is_empty) ++count;
    }
    return count;
  };
  if (meeting(0, 0) == leads.size()) return false;
  constexpr std::array<std::pair<Side, std::pair<int, int>>, 4> kWays = {
      {{Side::north, {0, -1}},
       {Side::east, {1, 0}},
       {Side::south, {0, 1}},
       {Side::west, {-1, 0}}}};
  for (const int far : {1, 2})
    for (const auto& [side, by] : kWays) {
      const auto [east, south] = std::pair(far * by.first, far * by.second);
      if (meeting(east, south) < leads.size()) continue;
      const Stands& lead = stands_[leads.front()];
      const Part& part = part_at(foot.part);
      Finding& finding =
          add(Severity::fault, board_checks::id("board-beside"), foot.span, lead.hole,
              fmt::format("'{}' stands beside its place: move it by {} to the {}, {} "
                          "from {} to {}",
                          part.name, far == 1 ? "a hole" : "two holes", side_word(side),
                          pin_text(lead), name(lead.hole),
                          name({lead.hole.row + south, lead.hole.column + east})));
      finding.part = part.name;
      for (const std::size_t k : leads) beside_.insert(stands_[k].net);
      return true;
    }
  return false;
}

void Proof::check_exchanged(const std::vector<std::size_t>& a,
                            const std::vector<std::size_t>& b) {
  if (a.size() != b.size() || a.empty()) return;
  const Footprint& one = proof_.feet[stands_[a.front()].foot];
  const Footprint& other = proof_.feet[stands_[b.front()].foot];
  if (one.is_off != other.is_off || one.shape->form == ShapeForm::rows) return;
  if (misfits(a, a) == 0 || misfits(b, b) == 0) return;
  std::vector<std::size_t> both = a;
  both.insert(both.end(), b.begin(), b.end());
  std::vector<std::size_t> ways = {0};
  if (a.size() == 2 && is_alike_turned(part_at(one.part)) &&
      is_alike_turned(part_at(other.part)))
    ways = {0, 1, 2, 3};
  for (const std::size_t way : ways) {
    std::vector<std::size_t> holes = b;
    std::vector<std::size_t> back = a;
    if ((way & 1U) != 0) std::reverse(holes.begin(), holes.end());
    if ((way & 2U) != 0) std::reverse(back.begin(), back.end());
    holes.insert(holes.end(), back.begin(), back.end());
    std::size_t fits = 0;
    if (misfits(both, holes, &fits) > 0 || fits < both.size()) continue;
    Finding& finding =
        add(Severity::fault, board_checks::id("board-exchanged"), other.span,
            stands_[b.front()].hole,
            fmt::format("'{}' at {} and '{}' at {} stand in each other's place; "
                        "exchange them",
                        part_at(one.part).name, name(stands_[a.front()].hole),
                        part_at(other.part).name, name(stands_[b.front()].hole)));
    finding.part = part_at(other.part).name;
    stand_as_meant(both, holes);
    return;
  }
}

void Proof::tell_turned(const Footprint& foot, const std::vector<std::size_t>& leads,
                        const std::vector<std::size_t>& holes, bool is_turned) {
  const Part& part = part_at(foot.part);
  // Of the first lead that stands wrong.
  std::size_t first = 0;
  while (first + 1 < leads.size() &&
         (leads[first] == holes[first] || stands_[leads[first]].pin < 0))
    ++first;
  const Stands& lead = stands_[leads[first]];
  const std::string where =
      fmt::format("{} is in {}, its net '{}' is at {}", pin_text(lead), name(lead.hole),
                  circuit_.nets[static_cast<std::size_t>(std::max(0, lead.net))].name,
                  name(stands_[holes[first]].hole));
  if (is_alike_turned(part)) {
    Finding& finding =
        add(Severity::note, board_checks::id("board-either-way"), foot.span, lead.hole,
            fmt::format("'{}' stands the other way round than described ({}): it does "
                        "the same either way",
                        part.name, where));
    finding.part = part.name;
    source(finding, "common practice, no source", Mark::practice);
    return;
  }
  Finding& finding =
      add(Severity::fault, board_checks::id("board-turned"), foot.span, lead.hole,
          fmt::format("{}: {}",
                      foot.is_off ? fmt::format("the wires of '{}' are exchanged; "
                                                "exchange their ends",
                                                part.name)
                      : is_turned ? fmt::format("'{}' stands the wrong way round; turn "
                                                "it",
                                                part.name)
                                  : fmt::format("leads of '{}' are in each other's "
                                                "holes",
                                                part.name),
                      where));
  finding.part = part.name;
  if (foot.misplaced == Misplaced::pattern) finding.follows = "board-pattern";
  if (lead.net >= 0)
    finding.net = circuit_.nets[static_cast<std::size_t>(lead.net)].name;
}

void Proof::stand_as_meant(const std::vector<std::size_t>& leads,
                           const std::vector<std::size_t>& holes) {
  std::vector<Stands> meant;
  for (std::size_t k = 0; k < leads.size(); ++k) {
    Stands s = stands_[leads[k]];
    s.hole = stands_[holes[k]].hole;
    meant.push_back(s);
  }
  for (std::size_t k = 0; k < leads.size(); ++k) stands_[leads[k]] = meant[k];
  gather_company();
}

}  // namespace benchproof
