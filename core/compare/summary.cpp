#include "core/compare/summary.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string_view>

#include "core/check/rest/limits.h"

namespace benchproof {
namespace {

/// How many findings of a severity a candidate has, over all states.
std::size_t count(const std::vector<ComparedState>& states, std::size_t column,
                  Severity severity) {
  std::size_t number = 0;
  for (const ComparedState& state : states)
    number += static_cast<std::size_t>(std::count_if(
        state.findings.begin(), state.findings.end(), [&](const ComparedFinding& f) {
          return f.in[column] && counts_as(f.finding, severity);
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
const ComparedFinding* telling_finding(const std::vector<ComparedState>& states,
                                       std::size_t with, std::size_t without) {
  const ComparedFinding* worst = nullptr;
  for (const ComparedState& state : states) {
    for (const ComparedFinding& f : state.findings) {
      const bool tells = f.in[with] && !f.in[without] &&
                         f.finding.severity != Severity::note &&
                         !f.finding.is_expected && f.finding.follows.empty();
      if (tells && (worst == nullptr || f.finding.severity > worst->finding.severity))
        worst = &f;
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

std::string all_alike(const std::vector<ComparedState>& states, std::size_t columns,
                      bool has_runs) {
  const std::string both = columns == 2 ? "Both" : "All";
  const auto [faults, cautions] = rank(states, 0);
  if (faults > 0)
    return fmt::format("{} have {}: build none like this.", both, tally(states, 0));
  const std::string_view at_rest = has_runs ? " at rest" : "";
  if (cautions > 0)
    return fmt::format("{} work{}, with {} each.", both, at_rest, tally(states, 0));
  return has_runs ? both + " pass the checks at rest." : both + " pass every check.";
}

/// Which candidate is the sounder, and what tells it from the worst.
std::string verdicts(const std::vector<Candidate>& candidates,
                     const std::vector<ComparedState>& states, bool has_runs) {
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
    return all_alike(states, candidates.size(), has_runs);
  std::vector<std::string> others;
  for (std::size_t k = 0; k < candidates.size(); ++k)
    if (k != best && rank(states, k) == rank(states, best))
      others.push_back(candidates[k].head);
  others.insert(others.begin(), candidates[best].head);
  std::string text =
      fmt::format("{} {} sounder{} ({}); {} has {}", fmt::join(others, " and "),
                  others.size() > 1 ? "are" : "is", has_runs ? " at rest" : "",
                  tally(states, best), candidates[worst].head, tally(states, worst));
  if (const ComparedFinding* finding = telling_finding(states, worst, best))
    text += fmt::format(": {}", finding->messages[worst]);
  return text + ".";
}

bool is_in_each(const ComparedRow& row) {
  return std::all_of(row.values.begin(), row.values.end(),
                     [](const auto& value) { return value.has_value(); });
}

/// How much a row that every candidate has differs, as a share of its largest value.
double weight(const ComparedRow& row) {
  double least = HUGE_VAL;
  double most = -HUGE_VAL;
  double size = 0.0;
  for (const auto& value : row.values) {
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

/// What changes most of what each has: an LED's light before anything else, then
/// currents, voltages and powers, for those follow from each other.
Place main_change(const std::vector<ComparedState>& states) {
  for (const Topic topic : {Topic::light, Topic::current, Topic::supply, Topic::voltage,
                            Topic::power, Topic::life}) {
    Place place;
    for (const ComparedState& state : states)
      for (const ComparedRow& row : state.rows)
        if (row.topic == topic && row.extent == Extent::real && is_in_each(row) &&
            (place.row == nullptr || weight(row) > weight(*place.row)))
          place = {&state, &row};
    if (place.row != nullptr) return place;
  }
  return {};
}

std::string listed(const std::vector<std::string>& names) {
  if (names.size() > 3)
    return fmt::format("{} and {} more", names.front(), names.size() - 1);
  return fmt::format("{}", fmt::join(names, " and "));
}

std::string subject_text(const ComparedRow& row) {
  std::vector<std::string> names;
  // What an expectation is about comes in quotes already.
  for (const std::string& name : row.subjects)
    names.push_back(name.starts_with('\'') ? name : "'" + name + "'");
  return listed(names);
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
    case Topic::supply:
      return is_one ? "delivers" : "deliver";
    case Topic::power:
      return is_one ? "takes up" : "take up";
    case Topic::life:
      return is_one ? "lasts" : "last";
    default:
      return is_one ? "lies at" : "lie at";
  }
}

bool is_dark(const ComparedRow& row, std::size_t column) {
  return row.topic == Topic::light && *row.values[column] < kDarkShare;
}

std::string value_text(const ComparedRow& row, std::size_t column) {
  const double value = *row.values[column];
  if (row.topic == Topic::life) return life_text(value);
  return short_text(std::abs(value) < telling_least(row.topic) ? 0.0 : value, row.unit);
}

/// A margin's share; one that rounds to nothing has no sign and no power of ten.
std::string share_text(double share) {
  return short_text(std::abs(share) < 5e-4 ? 0.0 : share, Unit::fraction, 2);
}

/// ", 23 % dimmer"; nothing where nearly all goes, or where it is many times as much: a
/// share says nothing then.
std::string change_words(const ComparedRow& row) {
  constexpr double kNearlyAll = 0.995, kManyTimes = 10.0;
  const double share = row.relative.value_or(0.0);
  if (share == 0.0 || share < -kNearlyAll || share > kManyTimes) return {};
  const bool is_less = share < 0.0;
  const std::string_view way =
      row.topic == Topic::light  ? (is_less ? "dimmer" : "brighter")
      : row.topic == Topic::life ? (is_less ? "shorter" : "longer")
                                 : (is_less ? "less" : "more");
  return fmt::format(", {} {}", short_text(std::abs(share), Unit::fraction, 2), way);
}

/// What changes most between two.
std::string change_of_two(const std::vector<Candidate>& candidates, const Place& place,
                          const std::string& where) {
  const ComparedRow& row = *place.row;
  const bool is_one = row.subjects.size() == 1;
  const std::string_view usual =
      row.topic == Topic::light ? " of the usual current" : "";
  const std::string start =
      fmt::format("With {} {}{}", candidates[1].head, subject_text(row), where);
  if (is_dark(row, 1))
    return fmt::format("{} {} dark, from {}{}.", start, is_one ? "goes" : "go",
                       value_text(row, 0), usual);
  if (is_dark(row, 0))
    return fmt::format("{} {} {}{}; with {} {} dark.", start, verb(row),
                       value_text(row, 1), usual, candidates[0].head,
                       is_one ? "it is" : "they are");
  return fmt::format("{} {} {} in place of {}{}{}.", start, verb(row),
                     value_text(row, 1), value_text(row, 0), usual, change_words(row));
}

/// What is least and what is most of more than two.
std::string change_of_many(const std::vector<Candidate>& candidates, const Place& place,
                           const std::string& where) {
  const ComparedRow& row = *place.row;
  std::size_t least = 0;
  std::size_t most = 0;
  for (std::size_t k = 1; k < row.values.size(); ++k) {
    if (*row.values[k] < *row.values[least]) least = k;
    if (*row.values[k] > *row.values[most]) most = k;
  }
  const std::string start =
      fmt::format("What changes most: {}{}", subject_text(row), where);
  const std::string high = fmt::format(
      "{}{} with {}", value_text(row, most),
      row.topic == Topic::light ? " of the usual current" : "", candidates[most].head);
  if (is_dark(row, least))
    return fmt::format("{} {} dark with {}, {} {}.", start,
                       row.subjects.size() == 1 ? "is" : "are", candidates[least].head,
                       verb(row), high);
  return fmt::format("{} {} {} with {}, {}.", start, verb(row), value_text(row, least),
                     candidates[least].head, high);
}

/// "Only old has 'c1'. ": parts that not every candidate has.
std::string only_some_have(const std::vector<Candidate>& candidates) {
  std::vector<std::string> names;
  std::vector<std::vector<bool>> in;
  for (std::size_t k = 0; k < candidates.size(); ++k) {
    for (const Part& part : candidates[k].circuit->parts) {
      const auto known = std::find(names.begin(), names.end(), part.name);
      const auto at = static_cast<std::size_t>(known - names.begin());
      if (known == names.end()) {
        names.push_back(part.name);
        in.emplace_back(candidates.size());
      }
      in[at][k] = true;
    }
  }
  std::vector<std::vector<bool>> owners;
  for (const std::vector<bool>& has : in) {
    const bool is_new = std::find(owners.begin(), owners.end(), has) == owners.end();
    if (is_new && std::find(has.begin(), has.end(), false) != has.end())
      owners.push_back(has);
  }
  std::string text;
  for (const std::vector<bool>& owner : owners) {
    std::vector<std::string> heads;
    std::vector<std::string> parts;
    for (std::size_t k = 0; k < owner.size(); ++k)
      if (owner[k]) heads.push_back(candidates[k].head);
    for (std::size_t n = 0; n < names.size(); ++n)
      if (in[n] == owner) parts.push_back("'" + names[n] + "'");
    text += fmt::format("Only {} {} {}. ", fmt::join(heads, " and "),
                        heads.size() == 1 ? "has" : "have", listed(parts));
  }
  return text;
}

/// What to say where no figure changes that each has; `has_others`: parts that not each
/// has were told.
std::string no_change(const std::vector<ComparedState>& states, bool has_others,
                      bool has_runs) {
  std::size_t compared = 0;
  bool is_judged_alike = true;
  bool moves = false;
  for (const ComparedState& state : states) {
    if (state.withheld.empty()) ++compared;
    for (const ComparedFinding& finding : state.findings)
      is_judged_alike = is_judged_alike && finding.is_in_all();
    for (const ComparedRow& row : state.rows) {
      if (!is_in_each(row)) continue;
      if (row.topic != Topic::margin) {
        moves = moves || row.extent != Extent::none;
      } else if (row.extent == Extent::real) {
        is_judged_alike = false;
      }
    }
  }
  if (compared == 0) return "No state could be compared.";
  const std::string where =
      compared < states.size()
          ? fmt::format(" where there are figures to compare ({} of {} states)",
                        compared, states.size())
      : has_runs ? " at rest"
                 : "";
  if (!is_judged_alike)
    return fmt::format("Voltages and currents {}{}.",
                       moves ? "hardly change" : "stay as they are", where);
  return fmt::format("Nothing{} that matters changes{}.", has_others ? " else" : "",
                     where);
}

/// What changes, in words.
std::string change(const std::vector<Candidate>& candidates,
                   const std::vector<ComparedState>& states, bool has_runs) {
  const std::string only = only_some_have(candidates);
  const Place place = main_change(states);
  if (place.row == nullptr) return only + no_change(states, !only.empty(), has_runs);
  const std::string where = in_state(place, states.size());
  return only + (candidates.size() == 2 ? change_of_two(candidates, place, where)
                                        : change_of_many(candidates, place, where));
}

/// Whether a row differs. One that some have not does where it says something: all the
/// room that a part has is no change.
bool moves(const ComparedRow& row) {
  return row.extent == Extent::real ||
         (row.extent == Extent::slight && is_in_each(row));
}

/// Whether past a margin's limit there is but a note, for one candidate.
bool is_of_note(const ComparedState& state, const ComparedRow& row,
                std::size_t column) {
  return std::any_of(
      state.findings.begin(), state.findings.end(), [&](const ComparedFinding& each) {
        const Finding& finding = each.finding;
        const std::string& subject = finding.part.empty() ? finding.net : finding.part;
        return each.in[column] && finding.severity == Severity::note &&
               finding.check == row.check &&
               std::find(row.subjects.begin(), row.subjects.end(), subject) !=
                   row.subjects.end();
      });
}

/// The least margin of each candidate, to a fault or a caution, that is not the same in
/// all, and of what.
std::string tightest(const std::vector<Candidate>& candidates,
                     const std::vector<ComparedState>& states) {
  std::vector<std::string> list;
  for (std::size_t k = 0; k < candidates.size(); ++k) {
    Place place;
    for (const ComparedState& state : states)
      for (const ComparedRow& row : state.rows)
        if (row.topic == Topic::margin && row.values[k] && moves(row) &&
            !is_of_note(state, row, k) &&
            (place.row == nullptr || *row.values[k] < *place.row->values[k]))
          place = {&state, &row};
    if (place.row == nullptr) continue;
    list.push_back(fmt::format("{} with {} ({}, {})", share_text(*place.row->values[k]),
                               candidates[k].head, subject_text(*place.row),
                               place.row->check));
  }
  if (list.empty()) return {};
  return fmt::format(" Tightest margin that moves: {}.", fmt::join(list, ", "));
}

}  // namespace

std::string summary_of(const std::vector<Candidate>& candidates,
                       const std::vector<ComparedState>& states, std::size_t runs) {
  const bool has_runs = runs > 0;
  return verdicts(candidates, states, has_runs) + " " +
         change(candidates, states, has_runs) + tightest(candidates, states);
}

std::string life_text(double seconds) {
  constexpr double kMinute = 60.0, kHour = 3600.0, kDay = 24.0 * kHour,
                   kYear = 365.25 * kDay;
  if (seconds >= kLongestLife) return ">99 years";
  if (seconds < 2.0 * kMinute) return fmt::format("{:.3g} s", seconds);
  if (seconds < kHour) return fmt::format("{:.0f} min", seconds / kMinute);
  if (seconds < 2.0 * kDay) return fmt::format("{:.3g} h", seconds / kHour);
  if (seconds < 2.0 * kYear) return fmt::format("{:.3g} days", seconds / kDay);
  return fmt::format("{:.2g} years", seconds / kYear);
}

}  // namespace benchproof
