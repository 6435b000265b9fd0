#include "core/board/proof/proof.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/board/proof/detail/proof_run.h"

namespace benchproof {

std::string in_millimetres(double metres) {
  return fmt::format("{:.4g} mm", std::round(metres * 1e5) / 1e2);
}

BoardProof Proof::prove() {
  for (const Placement& place : board_.places)
    proof_.feet.push_back(footprint_of(circuit_, board_, place));
  check_missing();
  check_places();
  gather();
  note_islands();
  check_holes();
  check_joins();
  check_turned();
  check_shorts();
  check_opens();
  check_cuts();
  check_bodies();
  check_space();
  check_heat();
  check_marks();
  std::stable_sort(
      proof_.findings.begin(), proof_.findings.end(),
      [](const Finding& a, const Finding& b) { return a.severity > b.severity; });
  return std::move(proof_);
}

void Proof::note_islands() {
  for (std::size_t net = 0; net < circuit_.nets.size(); ++net) {
    std::map<int, std::vector<Hole>> pieces;
    for (const Stands& s : stands_)
      if (s.net == static_cast<int>(net))
        pieces[islands_.root(s.hole)].push_back(s.hole);
    for (auto& [root, holes] : pieces) {
      std::sort(holes.begin(), holes.end());
      proof_.islands.push_back({static_cast<int>(net), std::move(holes)});
    }
  }
}

void Proof::gather() {
  for (std::size_t f = 0; f < proof_.feet.size(); ++f) {
    const Footprint& foot = proof_.feet[f];
    const Part& part = part_at(foot.part);
    for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead) {
      if (!foot.has_hole[lead]) continue;
      Stands s{f, static_cast<int>(lead), foot.pin_of_lead[lead],
               foot.lead_holes[lead]};
      const int net = s.pin < 0 ? -1 : part.nets[static_cast<std::size_t>(s.pin)];
      s.net = net >= 0 ? net : -static_cast<int>(stands_.size()) - 2;
      stands_.push_back(s);
    }
  }
}

std::string Proof::pin_text(const Stands& s) const {
  const Part& part = part_at(proof_.feet[s.foot].part);
  if (s.pin < 0) return fmt::format("leg {} of '{}'", s.lead + 1, part.name);
  return fmt::format("{}.{}", part.name, part.pins[static_cast<std::size_t>(s.pin)]);
}

std::string Proof::net_text(int net) const {
  if (net >= 0)
    return fmt::format("'{}'", circuit_.nets[static_cast<std::size_t>(net)].name);
  return pin_text(stands_[static_cast<std::size_t>(-net - 2)]);
}

Finding& Proof::add(Severity severity, CheckId check, const Span& span, Hole hole,
                    std::string message) {
  Finding finding;
  finding.severity = severity;
  finding.check = std::string(std::string_view(check));
  finding.span = span;
  finding.hole = name(hole);
  finding.message = std::move(message);
  finding.source = board_checks::kOurs;
  finding.mark = Mark::given;
  proof_.findings.push_back(std::move(finding));
  return proof_.findings.back();
}

void Proof::source(Finding& finding, std::string text, Mark mark) {
  finding.source = std::move(text);
  finding.mark = mark;
}

void Proof::size_figures(Finding& finding, std::string quantity, double value,
                         double limit) {
  finding.quantity = std::move(quantity);
  finding.unit = Unit::metre;
  finding.value = value;
  finding.limit = limit;
}

const Part& Proof::part_at(int index) const {
  return circuit_.parts[static_cast<std::size_t>(index)];
}

BoardProof prove_board(const Circuit& circuit, const Board& board,
                       std::span<const double> watts) {
  return Proof(circuit, board, watts).prove();
}

std::span<const Explanation> explain_board() { return board_checks::kExplained; }

}  // namespace benchproof
