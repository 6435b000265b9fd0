#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/quantity.h"
#include "core/base/span.h"
#include "core/catalogue/catalogue.h"

namespace benchproof {

/// note: worth knowing. caution: works, but outside good practice, short-lived, or in
/// need of a person's care. fault: a part can be destroyed, an absolute rating is
/// passed, or the circuit does not do its job.
enum class Severity { note, caution, fault };

/// "fault", "caution" or "note".
[[nodiscard]] std::string_view severity_word(Severity severity);

/// On which side of its limit a value ought to be.
enum class Bound { upper, lower };

/// The result of one check.
struct Finding {
  Severity severity = Severity::note;
  std::string check;     ///< Stable id of the check, for instance "led-current".
  std::string part;      ///< Name, or empty.
  std::string net;       ///< Name, or empty.
  std::string quantity;  ///< "current", "power", "voltage", "temperature" ...
  Unit unit = Unit::none;
  std::optional<double> value;  ///< SI (degrees Celsius for a temperature).
  std::optional<double> limit;
  Bound bound = Bound::upper;  ///< lower: the value ought to be above the limit.
  std::string message;  ///< One line for people: what, how much, why, what to change.
  std::string source;   ///< Where the limit comes from.
  Mark mark = Mark::practice;
  std::string hole;   ///< Of a board: "B12"; else empty.
  std::string phase;  ///< Name of the PWM phase it was seen in, or empty.
  std::string
      follows;  ///< Check id of the finding that this one follows from, or empty.
  Span span;    ///< Of the part, net or expectation in the description.
  /// The description expects it: it counts as nothing in a verdict.
  bool is_expected = false;
};

/// Whether a finding counts as one of that severity: expected ones count as none.
[[nodiscard]] inline bool counts_as(const Finding& finding, Severity severity) {
  return finding.severity == severity && !finding.is_expected;
}

/// Whether a finding says that an expectation of the description fails.
[[nodiscard]] inline bool is_expectation(const Finding& finding) {
  return finding.check == "expectation";
}

/// How near a value came to its limit, whether past it or not.
struct Margin {
  std::string_view check;     ///< Id of the check.
  int part = -1;              ///< Index of the part.
  int pin = -1;               ///< Of the part, where the limit is a pin's; else -1.
  std::string_view quantity;  ///< "current" ...
  std::string_view limit_of;  ///< Which limit of the check: "continuous rating" ...
  Unit unit = Unit::none;
  double value = 0.0;  ///< SI (degrees Celsius for a temperature).
  double limit = 0.0;
  Bound bound = Bound::upper;
};

/// The share of the limit that is left, as that of a finding (see margin there).
[[nodiscard]] std::optional<double> margin(const Margin& margin);

/// How far a value is from its limit: (limit - value) / limit for an upper limit.
/// Nothing without both.
[[nodiscard]] std::optional<double> margin(const Finding& finding);

/// Faults first, then cautions, then notes; in each, causes before what follows from
/// them, then in the order given.
void sort_by_severity(std::vector<Finding>& findings);

}  // namespace benchproof
