#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "core/board/proof/detail/proof_run.h"
#include "core/check/finding/wording.h"

namespace benchproof {
namespace {

/// A bare jumper. Metre.
constexpr double kHoleDiameter = 1.0e-3;  // From memory of sellers' pages. Metre.

}  // namespace

void Proof::check_missing() {
  std::vector<const Footprint*> of_part(circuit_.parts.size(), nullptr);
  for (const Footprint& foot : proof_.feet)
    of_part[static_cast<std::size_t>(foot.part)] = &foot;
  for (std::size_t k = 0; k < circuit_.parts.size(); ++k) {
    const Part& part = circuit_.parts[k];
    const Footprint* foot = of_part[k];
    std::vector<std::string> missing;
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
      if (part.nets[pin] < 0) continue;
      bool is_there = false;
      if (foot != nullptr)
        for (std::size_t lead = 0; lead < foot->pin_of_lead.size(); ++lead)
          is_there = is_there || (foot->pin_of_lead[lead] == static_cast<int>(pin) &&
                                  foot->has_hole[lead]);
      if (!is_there) missing.push_back(part.pins[pin]);
    }
    if (missing.empty()) continue;
    if (foot != nullptr && foot->misplaced != Misplaced::no) continue;  // Told there.
    Finding finding = about(part, Severity::fault, board_checks::id("board-missing"));
    const bool is_off = board_.is_off[k];
    finding.message =
        fmt::format("{} of '{}' {} no hole{}",
                    missing.size() == part.pins.size() && !is_off
                        ? std::string("no pin")
                        : fmt::format("{} {}", missing.size() == 1 ? "pin" : "pins",
                                      fmt::join(missing, ", ")),
                    part.name,
                    missing.size() == part.pins.size() && !is_off ? "has"
                    : missing.size() == 1                         ? "has"
                                                                  : "have",
                    is_off ? " where its wire starts" : "");
    if (missing.size() == part.pins.size() && !is_off)
      finding.message = fmt::format("'{}' is not on the board", part.name);
    finding.source = board_checks::kOurs;
    finding.mark = Mark::given;
    proof_.findings.push_back(std::move(finding));
  }
}

void Proof::check_places() {
  for (const Footprint& foot : proof_.feet) {
    const Part& part = part_at(foot.part);
    if (foot.misplaced != Misplaced::no) {
      const CheckId check =
          foot.misplaced == Misplaced::reach   ? board_checks::id("board-reach")
          : foot.misplaced == Misplaced::faces ? board_checks::id("board-faces")
                                               : board_checks::id("board-pattern");
      Finding& finding =
          add(Severity::fault, check, foot.span, foot.at.value_or(Hole{}),
              fmt::format("'{}' cannot stand so at {}: {}; {}", part.name,
                          name(foot.at.value_or(Hole{})), foot.problem, foot.remedy));
      finding.part = part.name;
      source(finding, fmt::format("shape {} of reference/shapes", foot.shape->name),
             Mark::verified);
    }
    if (foot.is_off || foot.shape->form == ShapeForm::loose) continue;
    const Leads leads = leads_of(part, *foot.shape);
    const auto first = std::find(foot.has_hole.begin(), foot.has_hole.end(), true);
    if (first == foot.has_hole.end()) continue;
    const Hole at =
        foot.lead_holes[static_cast<std::size_t>(first - foot.has_hole.begin())];
    if (leads.is_assumed) {
      Finding& finding =
          add(Severity::note, board_checks::id("board-legs-assumed"), foot.span, at,
              fmt::format("which lead of '{}' is which pin is assumed: {}; tell it: "
                          "legs = {{ ... }}",
                          part.name, legs_text(part, leads)));
      finding.part = part.name;
      source(finding, "common practice, no source", Mark::practice);
    }
    if (!leads.differs.empty()) {
      Finding& finding =
          add(Severity::note, board_checks::id("board-makers"), foot.span, at,
              fmt::format("leads of '{}' from lead 1: {}; {}", part.name,
                          legs_text(part, leads), leads.differs));
      finding.part = part.name;
      const LeadOrder* order = built_in_shapes().order(part.type->name);
      source(finding, leads.source, order != nullptr ? order->mark : Mark::given);
    }
    const auto thick = foot.shape->figures.find("lead");
    constexpr double kTight = 1.05e-3;  // Widest leads of a TO-220 still go in.
    if (thick != foot.shape->figures.end() && thick->second.value > kTight) {
      Finding& finding =
          add(Severity::caution, board_checks::id("board-drill"), foot.span, at,
              fmt::format("leads of '{}' are {} thick, more than a hole of 1 mm: drill "
                          "it wider; eyes protected",
                          part.name, in_millimetres(thick->second.value)));
      finding.part = part.name;
      finding.quantity = "lead";
      finding.unit = Unit::metre;
      finding.value = thick->second.value;
      finding.limit = kHoleDiameter;
      source(finding, thick->second.source, thick->second.mark);
    }
  }
}

std::string Proof::legs_text(const Part& part, const Leads& leads) {
  std::vector<std::string> texts;
  for (std::size_t lead = 0; lead < leads.pin_of_lead.size(); ++lead)
    if (const int pin = leads.pin_of_lead[lead]; pin >= 0)
      texts.push_back(
          fmt::format("{} {}", lead + 1, part.pins[static_cast<std::size_t>(pin)]));
  return fmt::format("{}", fmt::join(texts, ", "));
}

}  // namespace benchproof
