#include "cli/commands/explain.h"

#include <fmt/format.h>

#include <vector>

#include "cli/commands/output.h"
#include "cli/render/layout.h"
#include "cli/render/words/explanation_text.h"
#include "cli/render/words/glossary.h"
#include "core/base/diagnostic.h"
#include "core/check/finding/explanation.h"
#include "core/verify/explanations.h"

namespace benchproof {
namespace {

int tell_unknown(const std::string& check, const std::vector<Explanation>& all) {
  std::vector<std::string> names;
  names.reserve(all.size());
  for (const Explanation& e : all) names.emplace_back(e.check);
  const std::string near = nearest(check, names);
  const std::string hint = near.empty() ? "'--explain list' shows all of them"
                                        : fmt::format("did you mean '{}'?", near);
  const std::string line =
      printable(fmt::format("benchproof: no finding has the id '{}'; {}", check, hint));
  write_error(wraps_errors() ? wrapped(line, 0, 2) : line + "\n");
  return kExitRefused;
}

}  // namespace

int run_explain(const std::string& check, bool json) {
  const std::vector<Explanation> all = explanations();
  if (check == "list") {
    const std::string text =
        json ? explanations_json(all) + "\n" : explanations_text(all);
    return write_result(text) ? kExitGood : kExitRefused;
  }
  const Explanation* found = find_explanation(check);
  if (found == nullptr) {
    const std::string complaint = json ? std::string() : explained_complaint(check);
    if (complaint.empty()) return tell_unknown(check, all);
    return write_result(complaint) ? kExitGood : kExitRefused;
  }
  const std::string text =
      json ? explanations_json({found, 1}) + "\n" : explanation_text(*found);
  return write_result(text) ? kExitGood : kExitRefused;
}

}  // namespace benchproof
