#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/base/quantity.h"
#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/verify/verify.h"

namespace benchproof {

/// One of what is compared: a circuit that was judged. Circuit and verification must
/// outlive the comparison.
struct Candidate {
  std::string name;  ///< In full: "quay_r.value=330R".
  std::string head;  ///< Short, and another one for each: "330R".
  const Circuit* circuit = nullptr;
  const Verification* verification = nullptr;
};

/// What a row is about, in the order in which rows are told.
enum class Topic {
  light,    ///< An LED's average current as a share of its rated or typical one.
  supply,   ///< What a supply, battery or source delivers. Ampere.
  life,     ///< How long a battery lasts in this state, up to kLongestLife. Second.
  current,  ///< Into a part at its first pin, or at each pin of more than two. Ampere.
  voltage,  ///< Of a net against ground. Volt.
  power,    ///< What a part takes up, or a source delivers. Watt.
  margin,   ///< The share of a limit that is left; at most 1.
};

/// How much of a difference there is between the candidates.
enum class Extent {
  none,    ///< No more than the witnesses may differ by.
  slight,  ///< Less than 1 % of the value, or than 0.1 % of the largest of its topic in
           ///< the state; a margin: less than a hundredth, or half and more in each;
           ///< an LED that stays dark (kDarkShare).
  real,
};

/// One figure of each candidate.
struct ComparedRow {
  Topic topic = Topic::voltage;
  /// Parts, pins or nets that have the same figures, in the description's order.
  std::vector<std::string> subjects;
  std::string check;     ///< Of a margin: the check's id ...
  std::string limit_of;  ///< ... and which of its limits.
  Unit unit = Unit::none;
  std::vector<std::optional<double>> values;  ///< One per candidate; nothing: no such.
  std::optional<double> difference = {};      ///< Of two: the second less the first.
  /// How the size changes, over that of the first; nothing where signs differ, where
  /// the first is below telling_least, or for a margin.
  std::optional<double> relative = {};
  Extent extent = Extent::none;
};

/// A finding that one candidate at least has.
struct ComparedFinding {
  Finding finding;       ///< As the first candidate that has it tells it.
  std::vector<bool> in;  ///< One per candidate.
  /// What each candidate says of it, with its own figures; empty where it has it not.
  std::vector<std::string> messages;
  [[nodiscard]] bool is_in_all() const;
};

struct ComparedState {
  std::string name;
  std::string withheld;  ///< Why there are no rows; empty where there are.
  std::vector<ComparedRow> rows;
  std::vector<ComparedFinding> findings;  ///< Worst first.
};

struct Comparison {
  std::vector<ComparedState> states;  ///< Of every candidate, in the first one's order.
  std::size_t runs = 0;               ///< Of all candidates; they were not looked at.
  std::string summary;                ///< In plain words; see summary_of.
  Verdict verdict = Verdict::good;    ///< The worst of the candidates', at rest.
};

/// Below this share of its usual current an LED counts as dark: it is told as 0.0 %.
/// Common practice, no source.
inline constexpr double kDarkShare = 5e-4;

/// No battery is said to last longer: it ages before the load empties it. Also what
/// may be noise of the witnesses is not told as a life. Second. Common practice, no
/// source.
inline constexpr double kLongestLife = 99.0 * 365.25 * 24.0 * 3600.0;

/// The size below which a figure of a topic tells nothing, since the witnesses may
/// differ by as much: it counts as 0. SI.
[[nodiscard]] double telling_least(Topic topic);

/// Holds at least two candidates against each other, state by state, by the averages
/// over the phases as the nodal witness has them. A state in which the witnesses do not
/// agree on a candidate, or which one does not have, has findings but no rows. Parts,
/// nets and states belong together by their names.
[[nodiscard]] Comparison compare(const std::vector<Candidate>& candidates);

}  // namespace benchproof
