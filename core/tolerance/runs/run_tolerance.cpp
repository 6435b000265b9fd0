#include "core/tolerance/runs/run_tolerance.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <deque>
#include <limits>
#include <map>
#include <set>
#include <thread>
#include <utility>

#include "core/tolerance/runs/run_search.h"

namespace benchproof {
namespace {

using Places = std::vector<double>;

constexpr std::size_t kRunCells = 500;
constexpr std::size_t kRunsByBoth = 4;

/// The runs of which copies are measured, and the copies' places.
struct Copies {
  std::vector<Spread> spreads;
  std::deque<CopiedRun> runs;
  std::vector<const RunResult*> results;
  std::vector<Places> places;              ///< One a copy.
  std::vector<std::vector<SeenRun>> seen;  ///< [run][copy]

  [[nodiscard]] bool works(std::size_t copy) const {
    return std::all_of(seen.begin(), seen.end(),
                       [copy](const auto& of_run) { return of_run[copy].works; });
  }
};

std::size_t usual_count(const std::deque<CopiedRun>& runs) {
  std::size_t points = 1;
  for (const CopiedRun& run : runs) points += run.points();
  return std::clamp(kRunPoints / points, kFewestInRuns, kUsualInRuns);
}

void measure(Copies& copies, std::size_t count, std::uint64_t seed,
             const RunWitnesses& by) {
  Draw draw(copies.spreads, seed);
  copies.places.assign(count, Places(copies.spreads.size()));
  for (std::size_t k = 0; k < count; ++k) draw.places(k, copies.places[k].data());
  copies.seen.assign(copies.runs.size(), std::vector<SeenRun>(count));
  by.at_once.side_by_side(count * copies.runs.size(), [&](std::size_t job) {
    const std::size_t run = job % copies.runs.size();
    const std::size_t copy = job / copies.runs.size();
    copies.seen[run][copy] =
        copies.runs[run].seen(copies.places[copy].data(), by.nodal);
  });
}

/// A corner of a run that both witnesses are to solve, or a copy.
struct Question {
  std::size_t run = 0;
  Places places;
  friend auto operator<=>(const Question&, const Question&) = default;
};

/// Lets both witnesses answer; each thread but the calling one has its own engine.
std::map<Question, ConfirmedRun> ask_both(const std::deque<CopiedRun>& runs,
                                          const std::set<Question>& questions,
                                          const RunWitnesses& by) {
  const std::vector<Question> list(questions.begin(), questions.end());
  std::vector<ConfirmedRun> answers(list.size());
  std::atomic<std::size_t> next = 0;
  const auto work = [&](const SolveInTime& engine) {
    for (std::size_t k = next++; k < list.size(); k = next++)
      answers[k] = runs[list[k].run].confirmed(list[k].places.data(), engine, by.nodal);
  };
  const std::thread::id here = std::this_thread::get_id();
  by.at_once.side_by_side(std::min(list.size(), kMostEngines), [&](std::size_t) {
    const bool is_here = std::this_thread::get_id() == here;
    work(is_here ? by.engine : by.at_once.another_engine());
  });
  std::map<Question, ConfirmedRun> by_question;
  for (std::size_t k = 0; k < list.size(); ++k)
    by_question[list[k]] = std::move(answers[k]);
  return by_question;
}

/// What the copies show of a gauge.
GaugeCopies copies_of(const std::vector<SeenRun>& seen, std::size_t gauge) {
  GaugeCopies copies;
  std::vector<double> values;
  for (const SeenRun& one : seen) {
    if (!one.is_solved) continue;
    copies.failed += one.failed[gauge] ? 1 : 0;
    if (std::isfinite(one.values[gauge])) values.push_back(one.values[gauge]);
  }
  if (values.empty()) {
    copies.mean = copies.least = copies.most = std::numeric_limits<double>::quiet_NaN();
    copies.histogram.least = copies.histogram.most = copies.mean;
    return copies;
  }
  const auto [least, most] = std::minmax_element(values.begin(), values.end());
  copies.least = *least;
  copies.most = *most;
  double sum = 0.0;
  for (const double value : values) sum += value - *least;
  const double off = sum / static_cast<double>(values.size());
  copies.mean = *least + off;
  double squares = 0.0;
  for (const double value : values)
    squares += (value - copies.mean) * (value - copies.mean);
  copies.deviation = std::sqrt(squares / static_cast<double>(values.size()));
  copies.histogram = {*least, *most, std::vector<std::uint32_t>(kRunCells, 0)};
  const double per_unit = copies.histogram.cells_per_unit();
  for (const double value : values) copies.histogram.add(value, per_unit);
  return copies;
}

std::vector<SpoiledRun> spoiled(const std::vector<SeenRun>& seen,
                                const std::set<RunFault>& anywhere) {
  std::map<RunFault, std::size_t> counts;
  for (const RunFault& fault : anywhere) counts[fault] = 0;
  for (const SeenRun& one : seen)
    for (const RunFault& fault : one.faults) ++counts[fault];
  std::vector<SpoiledRun> list;
  for (const auto& [fault, copies] : counts) list.push_back({fault, copies});
  std::stable_sort(list.begin(), list.end(),
                   [](const auto& a, const auto& b) { return a.copies > b.copies; });
  return list;
}

void confirm(const ConfirmedRun& both, std::size_t gauge, Extreme& end) {
  end.agrees = both.agrees;
  if (both.engine.is_solved) end.engine = both.engine.values[gauge];
  if (!both.nodal.is_solved) return;
  end.nodal = end.value = both.nodal.values[gauge];
  end.fails =
      both.nodal.failed[gauge] || (both.engine.is_solved && both.engine.failed[gauge]);
}

/// The worst cases of all runs, both witnesses' word at each corner of a limit.
void find_worst(const Copies& copies, const RunWitnesses& by,
                std::vector<RunTolerance>& told) {
  std::deque<RunSearch> searches;
  std::set<Question> questions;
  for (std::size_t r = 0; r < copies.runs.size(); ++r) {
    const CopiedRun& run = copies.runs[r];
    RunSearch& search = searches.emplace_back(run, by.nodal, by.at_once.side_by_side);
    for (std::size_t k = 0; k < copies.places.size(); ++k)
      search.add(copies.places[k], copies.seen[r][k]);
    std::vector<WorstCase> worst = search.search();
    for (std::size_t g = 0; g < worst.size(); ++g) {
      GaugeTolerance& gauge = told[r].gauges.emplace_back();
      gauge.gauge = run.gauges()[g];
      gauge.nominal = run.nominal().values[g];
      gauge.drivers = drivers_of(copies.spreads, worst[g].variances);
      gauge.worst = std::move(worst[g]);
      gauge.copies = copies_of(copies.seen[r], g);
    }
    told[r].faults = spoiled(copies.seen[r], search.faults());
    if (told[r].reason.empty()) told[r].reason = search.unsolved();
    for (const RunSearch::Side& side : search.sides())
      questions.insert({r, side.places});
  }
  const std::map<Question, ConfirmedRun> answers = ask_both(copies.runs, questions, by);
  for (std::size_t r = 0; r < copies.runs.size(); ++r)
    for (const RunSearch::Side& side : searches[r].sides()) {
      WorstCase& worst = told[r].gauges[side.gauge].worst;
      confirm(answers.at({r, side.places}), side.gauge,
              side.sign < 0.0 ? worst.least : worst.most);
    }
}

/// Judges the first failing copies of runs by both witnesses.
void judge_again(const Copies& copies, const RunWitnesses& by, RunsTolerance& result) {
  std::set<Question> questions;
  for (std::size_t k = 0; k < copies.places.size(); ++k)
    for (std::size_t r = 0; r < copies.runs.size(); ++r)
      if (const SeenRun& seen = copies.seen[r][k];
          seen.is_solved && !seen.works && questions.size() < kRunsByBoth)
        questions.insert({r, copies.places[k]});
  result.asked_both = questions.size();
  for (const auto& [question, both] : ask_both(copies.runs, questions, by))
    result.fail_both += both.agrees && !both.engine.works && !both.nodal.works ? 1 : 0;
}

}  // namespace

RunsTolerance tolerance_of_runs(const Circuit& circuit,
                                const std::vector<RunResult>& nominal,
                                const std::vector<char>& fails_at_rest,
                                const RunWishes& wishes, const RunWitnesses& by) {
  RunsTolerance result;
  Copies copies;
  copies.spreads = spreads_of(circuit);
  for (const RunResult& of : nominal) {
    const auto index = static_cast<int>(of.run - circuit.runs.data());
    const bool is_known =
        of.agreement.agrees &&
        copies.runs.emplace_back(circuit, index, copies.spreads, by.nodal)
            .nominal()
            .is_solved;
    if (is_known) {
      copies.results.push_back(&of);
      continue;
    }
    if (copies.runs.size() > copies.results.size()) copies.runs.pop_back();
    result.left_out.push_back(of.name);
  }
  if (copies.runs.empty()) return result;
  const std::size_t wanted = wishes.copies.value_or(usual_count(copies.runs));
  result.copies = std::min({wanted, kMostInRuns, fails_at_rest.size()});
  measure(copies, result.copies, wishes.seed, by);
  for (std::size_t k = 0; k < result.copies; ++k) {
    if (!copies.works(k)) continue;
    ++result.works;
    result.works_in_all += fails_at_rest[k] == 0 ? 1 : 0;
  }
  result.yield = share_of(result.works_in_all, result.copies);
  for (std::size_t r = 0; r < copies.runs.size(); ++r) {
    RunTolerance& told = result.runs.emplace_back();
    told.name = copies.results[r]->name;
    told.verdict = copies.results[r]->verdict;
    for (const SeenRun& seen : copies.seen[r]) {
      if (seen.is_solved) continue;
      if (told.unsolved++ == 0) told.reason = seen.reason;
    }
  }
  find_worst(copies, by, result.runs);
  judge_again(copies, by, result);
  return result;
}

}  // namespace benchproof
