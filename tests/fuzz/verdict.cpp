// From a description to the report: any text that reads is solved, judged and told,
// with the nodal solver as both witnesses.

#include <nlohmann/json.hpp>
#include <string>
#include <variant>

#include "cli/render/verify/json.h"
#include "cli/render/verify/text.h"
#include "core/check/finding/explanation.h"
#include "core/nodal/nodal_solver.h"
#include "core/order/shopping_list.h"
#include "core/regress/case_record.h"
#include "core/regress/recorded.h"
#include "core/verify/explanations.h"
#include "core/verify/hand_rules.h"
#include "core/verify/verify.h"
#include "tests/fuzz/bounded.h"
#include "tests/fuzz/described.h"
#include "tests/fuzz/target.h"
#include "tests/nodal_witness.h"

namespace benchproof::fuzz {
namespace {

void check_report(FileReport& report) {
  const Circuit& circuit = *report.circuit;
  const Solve nodal = by_nodal;
  report.verification = verify(circuit, nodal, nodal);
  put_by_hand(circuit, report.verification);
  for (const StateResult& state : report.verification.states)
    for (const Finding& finding : state.findings)
      demand(find_explanation(finding.check) != nullptr, "a finding can be explained");
  const auto json = nlohmann::json::parse(verify_json(report), nullptr, false);
  demand(!json.is_discarded(), "the report is JSON");
  demand(json["states"].size() == report.verification.states.size(),
         "every state is told");
  for (const bool by_hand : {false, true})
    demand(!verify_text(report, {.colour = false, .by_hand = by_hand}).empty(),
           "the report has a text");
  const ShoppingList list = shopping_list(circuit, report.verification);
  demand(list.lines.size() <= circuit.parts.size(), "no more lines than parts");
  const Recorded recorded{{}, case_records(circuit, report.verification, {})};
  const auto again = read_recorded(recorded_text(recorded, "harbour.toml"));
  demand(std::holds_alternative<Recorded>(again),
         "results that are recorded read back");
}

}  // namespace
}  // namespace benchproof::fuzz

int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  using namespace benchproof;
  const fuzz::Described input = fuzz::described(fuzz::text_of(bytes, size));
  const auto read = fuzz::read(input);
  if (!read->result.circuit || !read->type_complaints.empty()) return 0;
  if (!fuzz::is_small(*read->result.circuit)) return 0;
  FileReport report;
  report.file = "harbour.toml";
  report.source = input.text;
  report.circuit = read->result.circuit;
  fuzz::check_report(report);
  return 0;
}
