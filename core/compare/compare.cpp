#include "core/compare/compare.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>
#include <utility>

#include "core/check/agree/agreement.h"
#include "core/check/expect/expectations.h"
#include "core/check/rating/derived.h"
#include "core/compare/summary.h"

namespace benchproof {
namespace {

constexpr double kSlightShare = 0.01;
constexpr double kSlightOfLargest = 0.001;
constexpr double kSlightMargin = 0.01;
constexpr double kAmpleMargin = 0.5;

/// One figure of one candidate, before it is put beside the others'.
struct Sample {
  Topic topic = Topic::voltage;
  std::string subject;
  std::string check;
  std::string limit_of;
  Unit unit = Unit::none;
  double value = 0.0;
};

/// What makes samples of several candidates one row.
using RowKey = std::tuple<Topic, std::string, std::string, std::string>;

RowKey key_of(const Sample& sample) {
  return {sample.topic, sample.subject, sample.check, sample.limit_of};
}

std::string pin_text(const Part& part, std::size_t pin) {
  return part.pins.size() > 2 ? fmt::format("{}.{}", part.name, part.pins[pin])
                              : part.name;
}

/// The margin of a limit, where nothing is gained by more room than there is.
void add_margin(std::vector<Sample>& samples, std::string subject,
                std::string_view check, std::string_view limit_of,
                std::optional<double> share) {
  if (!share) return;
  samples.push_back({Topic::margin, std::move(subject), std::string(check),
                     std::string(limit_of), Unit::fraction, std::min(*share, 1.0)});
}

void add_part(std::vector<Sample>& samples, const Part& part,
              const std::vector<double>& amps, double watts) {
  const auto add = [&](Topic topic, const std::string& subject, Unit unit,
                       double value) {
    samples.push_back({topic, subject, "", "", unit, value});
  };
  if (is_source(part.kind)) {
    constexpr double kSecondsPerHour = 3600.0;
    const double delivered = -amps[0];
    add(Topic::supply, part.name, Unit::ampere, delivered);
    add(Topic::power, part.name, Unit::watt, -watts);
    const auto left =
        part.kind == KindId::battery ? charge_left(part, delivered) : std::nullopt;
    // Whether an idle battery gives or takes a trifle is noise.
    const bool is_idle = std::abs(delivered) <= kAgreeAmps;
    if (left && is_idle) add(Topic::life, part.name, Unit::second, kLongestLife);
    if (left && !is_idle && delivered > 0.0)
      add(Topic::life, part.name, Unit::second,
          std::min(kSecondsPerHour * left->value / delivered, kLongestLife));
    return;
  }
  const std::size_t pins = part.pins.size() > 2 ? part.pins.size() : 1;
  for (std::size_t pin = 0; pin < pins; ++pin)
    add(Topic::current, pin_text(part, pin), Unit::ampere, amps[pin]);
  add(Topic::power, part.name, Unit::watt, watts);
  const auto rated = part.kind == KindId::led ? figure(part, "current") : std::nullopt;
  if (rated)
    add(Topic::light, part.name, Unit::fraction, std::max(amps[0], 0.0) / rated->value);
}

/// How near an expectation's value is to the nearer of its bounds, as a share of it.
std::optional<double> margin_of(const ExpectationResult& result) {
  std::optional<double> least;
  const auto take = [&least](double room, double bound) {
    if (bound == 0.0) return;
    const double share = room / std::abs(bound);
    if (!least || share < *least) least = share;
  };
  const Expectation& e = *result.expectation;
  if (e.least) take(result.nodal - *e.least, *e.least);
  if (e.most) take(*e.most - result.nodal, *e.most);
  return least;
}

void add_margins(std::vector<Sample>& samples, const Circuit& circuit,
                 const StateResult& state) {
  std::map<std::pair<std::string, std::string>, bool> kept;
  for (const Margin& each : state.margins) {
    const Part& part = state.parts[static_cast<std::size_t>(each.part)];
    const std::string subject =
        each.pin < 0 ? part.name : pin_text(part, static_cast<std::size_t>(each.pin));
    add_margin(samples, subject, each.check, each.limit_of, margin(each));
    kept[{part.name, std::string(each.check)}] = true;
  }
  for (const ExpectationResult& result : state.expectations) {
    const Expectation& e = *result.expectation;
    add_margin(samples, subject_of(circuit, e), "expectation",
               words_of(e.quantity).quantity, margin_of(result));
  }
  // Checks that keep no margins, where they have something to say.
  for (const Finding& finding : state.findings)
    if (!is_expectation(finding) && !kept.contains({finding.part, finding.check}))
      add_margin(samples, finding.part.empty() ? finding.net : finding.part,
                 finding.check, "", margin(finding));
}

std::vector<Sample> samples_of(const Circuit& circuit, const StateResult& state) {
  std::vector<Sample> samples;
  for (std::size_t net = 1; net < circuit.nets.size(); ++net)
    samples.push_back({Topic::voltage, circuit.nets[net].name, "", "", Unit::volt,
                       state.nodal.net_volts[net]});
  for (std::size_t k = 0; k < state.parts.size(); ++k)
    add_part(samples, state.parts[k], state.nodal.pin_amps[k],
             state.nodal.part_watts[k]);
  add_margins(samples, circuit, state);
  return samples;
}

double largest(const ComparedRow& row) {
  double most = 0.0;
  for (const auto& value : row.values)
    if (value) most = std::max(most, std::abs(*value));
  return most;
}

/// The greatest difference between two values of a row; infinite where one is missing.
double spread(const ComparedRow& row) {
  double least = HUGE_VAL;
  double most = -HUGE_VAL;
  for (const auto& value : row.values) {
    if (!value) return HUGE_VAL;
    least = std::min(least, *value);
    most = std::max(most, *value);
  }
  return most - least;
}

/// What two witnesses of one value may differ by.
double blur(const ComparedRow& row) {
  constexpr double kPowerShare = 2.0 * kAgreeShare;  // Of voltage and of current.
  switch (row.topic) {
    case Topic::voltage:
    case Topic::current:
    case Topic::supply:
      return telling_least(row.topic) + kAgreeShare * largest(row);
    case Topic::power:
      return telling_least(row.topic) + kPowerShare * largest(row);
    case Topic::light:
    case Topic::life:
    case Topic::margin:
      return kAgreeShare * (1.0 + largest(row));
  }
  return 0.0;
}

Extent extent_of(const ComparedRow& row, double largest_of_topic) {
  const double apart = spread(row);
  if (apart <= blur(row)) return Extent::none;
  if (row.topic == Topic::margin) {
    const bool is_ample =
        std::all_of(row.values.begin(), row.values.end(),
                    [](const auto& value) { return !value || *value >= kAmpleMargin; });
    return is_ample || apart < kSlightMargin ? Extent::slight : Extent::real;
  }
  const bool stays_dark = row.topic == Topic::light && largest(row) < kDarkShare;
  const bool is_slight = apart < kSlightShare * largest(row) ||
                         apart < kSlightOfLargest * largest_of_topic || stays_dark;
  return is_slight ? Extent::slight : Extent::real;
}

void set_differences(ComparedRow& row) {
  if (row.values.size() != 2 || !row.values[0] || !row.values[1]) return;
  row.difference = *row.values[1] - *row.values[0];
  const double from = *row.values[0];
  const double to = *row.values[1];
  const double least = telling_least(row.topic);
  if (row.topic == Topic::margin || from == 0.0 || std::abs(from) < least) return;
  const double size = std::abs(to) < least ? 0.0 : std::abs(to);
  if (size == 0.0 || from * to > 0.0)
    row.relative = (size - std::abs(from)) / std::abs(from);
}

bool is_same(const ComparedRow& a, const ComparedRow& b) {
  if (a.topic != b.topic || a.check != b.check || a.limit_of != b.limit_of)
    return false;
  for (std::size_t k = 0; k < a.values.size(); ++k) {
    if (a.values[k].has_value() != b.values[k].has_value()) return false;
    if (a.values[k] && std::abs(*a.values[k] - *b.values[k]) > blur(a)) return false;
  }
  return true;
}

/// Puts subjects that have the same figures into one row.
std::vector<ComparedRow> merged(std::vector<ComparedRow> rows) {
  std::vector<ComparedRow> result;
  for (ComparedRow& row : rows) {
    // Rows of one topic stand together: those of another are not looked at.
    auto same = result.rbegin();
    while (same != result.rend() && same->topic == row.topic && !is_same(*same, row))
      ++same;
    if (same != result.rend() && same->topic == row.topic) {
      same->subjects.push_back(row.subjects.front());
    } else {
      result.push_back(std::move(row));
    }
  }
  return result;
}

std::vector<ComparedRow> rows_of(const std::vector<std::vector<Sample>>& samples) {
  std::map<RowKey, std::size_t> index;
  std::vector<ComparedRow> rows;
  for (std::size_t column = 0; column < samples.size(); ++column) {
    for (const Sample& sample : samples[column]) {
      const auto [at, is_new] = index.try_emplace(key_of(sample), rows.size());
      if (is_new) {
        rows.push_back({.topic = sample.topic,
                        .subjects = {sample.subject},
                        .check = sample.check,
                        .limit_of = sample.limit_of,
                        .unit = sample.unit,
                        .values = std::vector<std::optional<double>>(samples.size())});
      }
      auto& value = rows[at->second].values[column];
      // Of several limits of one name the nearest counts.
      value = value ? std::min(*value, sample.value) : sample.value;
    }
  }
  std::stable_sort(
      rows.begin(), rows.end(),
      [](const ComparedRow& a, const ComparedRow& b) { return a.topic < b.topic; });
  rows = merged(std::move(rows));
  std::map<Topic, double> largest_of;
  for (const ComparedRow& row : rows)
    largest_of[row.topic] = std::max(largest_of[row.topic], largest(row));
  for (ComparedRow& row : rows) {
    set_differences(row);
    row.extent = extent_of(row, largest_of[row.topic]);
  }
  return rows;
}

const StateResult* find_state(const Candidate& candidate, const std::string& name) {
  const std::vector<StateResult>& states = candidate.verification->states;
  const auto found =
      std::find_if(states.begin(), states.end(),
                   [&name](const StateResult& state) { return state.name == name; });
  return found == states.end() ? nullptr : &*found;
}

std::string reason_of(const StateResult& state) {
  for (const PhaseResult& phase : state.phases)
    if (!phase.agreement.agrees) return phase.agreement.reason;
  return {};
}

/// Why a state cannot be compared; empty where it can.
std::string withheld(const std::vector<Candidate>& candidates,
                     const std::string& name) {
  for (const Candidate& candidate : candidates) {
    const StateResult* state = find_state(candidate, name);
    if (state == nullptr)
      return fmt::format("{} has no such state at rest", candidate.head);
    if (state->agrees) continue;
    if (state->verdict <= Verdict::fault)
      return fmt::format("{}: {}", candidate.head, reason_of(*state));
    return fmt::format("{}: the witnesses do not agree: {}", candidate.head,
                       reason_of(*state));
  }
  return {};
}

bool is_same_finding(const Finding& a, const Finding& b) {
  return a.severity == b.severity && a.check == b.check && a.part == b.part &&
         a.net == b.net && a.phase == b.phase && a.quantity == b.quantity &&
         a.bound == b.bound;  // Too little is not too much.
}

std::vector<ComparedFinding> findings_of(
    const std::vector<const StateResult*>& states) {
  std::vector<ComparedFinding> list;
  for (std::size_t column = 0; column < states.size(); ++column) {
    if (states[column] == nullptr) continue;
    for (const Finding& finding : states[column]->findings) {
      auto known =
          std::find_if(list.begin(), list.end(), [&](const ComparedFinding& other) {
            return !other.in[column] && is_same_finding(other.finding, finding);
          });
      if (known == list.end())
        known = list.insert(list.end(), {finding, std::vector<bool>(states.size()),
                                         std::vector<std::string>(states.size())});
      known->in[column] = true;
      known->messages[column] = finding.message;
    }
  }
  std::stable_sort(list.begin(), list.end(),
                   [](const ComparedFinding& a, const ComparedFinding& b) {
                     return a.finding.severity > b.finding.severity;
                   });
  return list;
}

}  // namespace

double telling_least(Topic topic) {
  switch (topic) {
    case Topic::voltage:
      return kAgreeVolts;
    case Topic::current:
    case Topic::supply:
    case Topic::power:  // As at a volt.
      return kAgreeAmps;
    case Topic::light:
    case Topic::life:
    case Topic::margin:
      return 0.0;
  }
  return 0.0;
}

bool ComparedFinding::is_in_all() const {
  return std::all_of(in.begin(), in.end(), [](bool has) { return has; });
}

Comparison compare(const std::vector<Candidate>& candidates) {
  Comparison comparison;
  std::vector<std::string> names;
  std::set<std::string> runs;
  for (const Candidate& candidate : candidates) {
    comparison.verdict = std::max(comparison.verdict, candidate.verification->verdict);
    for (const Run& run : candidate.circuit->runs) runs.insert(run.name);
    for (const StateResult& state : candidate.verification->states)
      if (std::find(names.begin(), names.end(), state.name) == names.end())
        names.push_back(state.name);
  }
  for (const std::string& name : names) {
    ComparedState state;
    state.name = name;
    state.withheld = withheld(candidates, name);
    std::vector<const StateResult*> results;
    std::vector<std::vector<Sample>> samples;
    for (const Candidate& candidate : candidates) {
      results.push_back(find_state(candidate, name));
      if (state.withheld.empty())
        samples.push_back(samples_of(*candidate.circuit, *results.back()));
    }
    if (state.withheld.empty()) state.rows = rows_of(samples);
    state.findings = findings_of(results);
    comparison.states.push_back(std::move(state));
  }
  comparison.runs = runs.size();
  comparison.summary = summary_of(candidates, comparison.states, comparison.runs);
  return comparison;
}

}  // namespace benchproof
