#include "core/verify/seen/expected_findings.h"

#include <fmt/format.h>

#include <algorithm>

namespace benchproof {

bool is_meant(const ExpectedFinding& expected, const Finding& finding) {
  return expected.check == finding.check &&
         (expected.part.empty() || expected.part == finding.part) &&
         (expected.net.empty() || expected.net == finding.net) &&
         (expected.grade.empty() || expected.grade == severity_word(finding.severity));
}

bool is_expected_in(const ExpectedFinding& expected, std::string_view state, int run) {
  if (expected.run >= 0) return expected.run == run;
  return expected.state.empty() || (run < 0 && expected.state == state);
}

std::string name_of(const Circuit& circuit, const ExpectedFinding& expected) {
  std::string name = fmt::format("'{}'", expected.check);
  if (!expected.grade.empty()) name = expected.grade + " " + name;
  if (!expected.part.empty()) name += fmt::format(" of '{}'", expected.part);
  if (!expected.net.empty()) name += fmt::format(" of net '{}'", expected.net);
  if (!expected.state.empty()) name += fmt::format(" in state '{}'", expected.state);
  if (expected.run >= 0)
    name += fmt::format(" in run '{}'",
                        circuit.runs[static_cast<std::size_t>(expected.run)].name);
  return name;
}

bool is_expected(const Circuit& circuit, std::string_view state, int run,
                 const Finding& finding) {
  return std::any_of(circuit.expected_findings.begin(), circuit.expected_findings.end(),
                     [&](const ExpectedFinding& expected) {
                       return is_expected_in(expected, state, run) &&
                              is_meant(expected, finding);
                     });
}

void mark_expected(const Circuit& circuit, std::string_view state, int run,
                   std::vector<Finding>& findings) {
  for (Finding& finding : findings)
    finding.is_expected =
        finding.is_expected || is_expected(circuit, state, run, finding);
}

}  // namespace benchproof
