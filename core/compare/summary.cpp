#include "core/compare/summary.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string_view>

#include "core/check/limits.h"

namespace benchproof {
namespace {

/// How many findings of a severity a candidate has, over all states.
std::size_t count(const std::vector<ComparedState>& states, std::size_t column,
                  Severity severity) {
  std::size_t number = 0;
  for (const ComparedState& state : states)
    number += static_cast<std::size_t>(std::count_if(
        state.findings.begin(), state.findings.end(), [&](const ComparedFinding& f) {
          return f.in[column] && f.finding.severity == severity;
        }));
  return number;
}

std::string counted(std::size_t number, std::string_view one) {
  return fmt::format("{} {}{}", number, one, number == 1 ? "" : "s");
}

std::string tally(const std::vector<ComparedState>& states, std::size_t column) {
  const std::size_t faults = count(states, column, Severity::fault);
  const std::size_t cautions = count(states, column, Severity::caution);
  if (faults == 0 && cautions == 0) return "neither fault nor caution";
  if (faults == 0) return counted(cautions, "caution");
  if (cautions == 0) return counted(faults, "fault");
  return counted(faults, "fault") + " and " + counted(cautions, "caution");
}

/// The worst finding, a caution at least, that one candidate has and another has not.
const Finding* telling_finding(const std::vector<ComparedState>& states,
                               std::size_t with, std::size_t without) {
  const Finding* worst = nullptr;
  for (const ComparedState& state : states) {
    for (const ComparedFinding& f : state.findings) {
      const bool tells = f.in[with] && !f.in[without] &&
                         f.finding.severity != Severity::note &&
                         f.finding.follows.empty();
      if (tells && (worst == nullptr || f.finding.severity > worst->severity))
        worst = &f.finding;
    }
  }
  return worst;
}

/// Fewer faults are better, then fewer cautions.
std::pair<std::size_t, std::size_t> rank(const std::vector<ComparedState>& states,
                                         std::size_t column) {
  return {count(states, column, Severity::fault),
          count(states, column, Severity::caution)};
}

std::string all_alike(const std::vector<ComparedState>& states, std::size_t columns) {
  const std::string both = columns == 2 ? "Both" : "All";
  const auto [faults, cautions] = rank(states, 0);
  if (faults > 0)
    return fmt::format("{} have {}: build none like this.", both, tally(states, 0));
  if (cautions > 0)
    return fmt::format("{} work, with {} each.", both, tally(states, 0));
  return fmt::format("{} pass every check.", both);
}

/// Which candidate is the sounder, and what tells it from the worst.
std::string verdicts(const std::vector<Candidate>& candidates,
                     const std::vector<ComparedState>& states) {
  for (const Candidate& candidate : candidates)
    if (candidate.verification->verdict > Verdict::fault)
      return fmt::format("No verdict on {}: its witnesses do not agree.",
                         candidate.head);
  std::size_t best = 0;
  std::size_t worst = 0;
  for (std::size_t k = 1; k < candidates.size(); ++k) {
    if (rank(states, k) < rank(states, best)) best = k;
    if (rank(states, worst) < rank(states, k)) worst = k;
  }
  if (rank(states, best) == rank(states, worst))
    return all_alike(states, candidates.size());
  std::vector<std::string> others;
  for (std::size_t k = 0; k < candidates.size(); ++k)
    if (k != best && rank(states, k) == rank(states, best))
      others.push_back(candidates[k].head);
  others.insert(others.begin(), candidates[best].head);
  std::string text =
      fmt::format("{} {} sounder ({}); {} has {}", fmt::join(others, " and "),
                  others.size() > 1 ? "are" : "is", tally(states, best),
                  candidates[worst].head, tally(states, worst));
  if (const Finding* finding = telling_finding(states, worst, best))
    text += fmt::format(": {}", finding->message);
  return text + ".";
}

/// How much a row differs, as a share of its largest value.
double weight(const ComparedRow& row) {
  double least = HUGE_VAL;
  double most = -HUGE_VAL;
  double size = 0.0;
  for (const auto& value : row.values) {
    if (!value) return 0.0;
    least = std::min(least, *value);
    most = std::max(most, *value);
    size = std::max(size, std::abs(*value));
  }
  return size > 0.0 ? (most - least) / size : 0.0;
}

struct Place {
  const ComparedState* state = nullptr;
  const ComparedRow* row = nullptr;
};

/// What changes most: an LED's light before anything else, then currents, voltages and
/// powers, for those follow from each other.
Place main_change(const std::vector<ComparedState>& states) {
  for (const Topic topic :
       {Topic::light, Topic::current, Topic::voltage, Topic::power}) {
    Place place;
    for (const ComparedState& state : states)
      for (const ComparedRow& row : state.rows)
        if (row.topic == topic && row.extent == Extent::real &&
            (place.row == nullptr || weight(row) > weight(*place.row)))
          place = {&state, &row};
    if (place.row != nullptr) return place;
  }
  return {};
}

std::string subject_text(const ComparedRow& row) {
  std::vector<std::string> names;
  // What an expectation is about comes in quotes already.
  for (const std::string& name : row.subjects)
    names.push_back(name.starts_with('\'') ? name : "'" + name + "'");
  if (names.size() > 3)
    return fmt::format("{} and {} more", names.front(), names.size() - 1);
  return fmt::format("{}", fmt::join(names, " and "));
}

std::string in_state(const Place& place, std::size_t states) {
  return states > 1 ? fmt::format(" in state '{}'", place.state->name) : "";
}

/// What the subjects of a row do, of one or of several.
std::string_view verb(const ComparedRow& row) {
  const bool is_one = row.subjects.size() == 1;
  switch (row.topic) {
    case Topic::light:
      return is_one ? "runs at" : "run at";
    case Topic::current:
      return is_one ? "carries" : "carry";
    case Topic::power:
      return is_one ? "takes up" : "take up";
    default:
      return is_one ? "lies at" : "lie at";
  }
}

std::string change_words(const ComparedRow& row, std::string_view words) {
  if (!row.relative) return std::string(words);
  const double share = *row.relative;
  const std::string much = short_text(std::abs(share), Unit::fraction, 2);
  const std::string_view way = row.topic == Topic::light
                                   ? (share < 0.0 ? "dimmer" : "brighter")
                                   : (share < 0.0 ? "less" : "more");
  return fmt::format("{}, {} {}", words, much, way);
}

/// What changes most, in words; what is least and what is most of more than two.
std::string change(const std::vector<Candidate>& candidates,
                   const std::vector<ComparedState>& states) {
  const Place place = main_change(states);
  if (place.row == nullptr) return "Nothing that matters changes.";
  const ComparedRow& row = *place.row;
  const bool is_light = row.topic == Topic::light;
  const auto value = [&](std::size_t k) {
    return short_text(*row.values[k], row.unit) +
           (is_light ? " of the usual current" : "");
  };
  const std::string where = in_state(place, states.size());
  const std::string_view does = verb(row);
  if (candidates.size() == 2)
    return change_words(
               row, fmt::format("With {} {}{} {} {} in place of {}", candidates[1].head,
                                subject_text(row), where, does,
                                short_text(*row.values[1], row.unit), value(0))) +
           ".";
  std::size_t least = 0;
  std::size_t most = 0;
  for (std::size_t k = 1; k < row.values.size(); ++k) {
    if (*row.values[k] < *row.values[least]) least = k;
    if (*row.values[k] > *row.values[most]) most = k;
  }
  return fmt::format("What changes most: {}{} {} {} with {}, {} with {}.",
                     subject_text(row), where, does,
                     short_text(*row.values[least], row.unit), candidates[least].head,
                     value(most), candidates[most].head);
}

/// The least margin of each candidate that is not the same in all, and of what.
std::string tightest(const std::vector<Candidate>& candidates,
                     const std::vector<ComparedState>& states) {
  std::vector<std::string> list;
  for (std::size_t k = 0; k < candidates.size(); ++k) {
    Place place;
    for (const ComparedState& state : states)
      for (const ComparedRow& row : state.rows)
        if (row.topic == Topic::margin && row.extent != Extent::none && row.values[k] &&
            (place.row == nullptr || *row.values[k] < *place.row->values[k]))
          place = {&state, &row};
    if (place.row == nullptr) continue;
    list.push_back(fmt::format(
        "{} with {} ({}, {})", short_text(*place.row->values[k], Unit::fraction, 2),
        candidates[k].head, subject_text(*place.row), place.row->check));
  }
  if (list.empty()) return {};
  return fmt::format(" Tightest margin that moves: {}.", fmt::join(list, ", "));
}

}  // namespace

std::string summary_of(const std::vector<Candidate>& candidates,
                       const std::vector<ComparedState>& states) {
  return verdicts(candidates, states) + " " + change(candidates, states) +
         tightest(candidates, states);
}

}  // namespace benchproof
