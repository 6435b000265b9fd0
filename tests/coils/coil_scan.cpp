// Judges every circuit of coil_circuits() as `verify` does, states and run, and tells
// how many have a verdict, why the others have none, and which took longest. Where a
// folder is named, it gets the descriptions of those that fail.
//
// Usage: coil_scan [FOLDER]. Ends with 1 where one of the bounds below is not kept.

#include <fmt/format.h>
#include <sys/resource.h>

#include <algorithm>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "core/circuit/read/reader.h"
#include "core/nodal/nodal_solver.h"
#include "core/nodal/transient.h"
#include "core/verify/runs/verify_runs.h"
#include "core/verify/verify.h"
#include "spice/session/witness.h"
#include "tests/coils/coil_circuits.h"

namespace benchproof::test {
namespace {

// The project's own demands.
constexpr double kLeastShare = 0.98;  // of all, with a verdict
constexpr double kMostSeconds = 2.0;  // for each

enum class Answer { verdict, withheld, differs, refused };

struct Outcome {
  Answer answer = Answer::verdict;
  std::string reason;    ///< Why there is no verdict.
  double seconds = 0.0;  ///< Of a processor.
};

/// What this process and its workers have used of a processor. Both witnesses work one
/// after the other, so that it is the time that one waits for them on a machine that
/// does nothing else; and it stays so where it does. Second.
double used(const EngineSession& session) {
  const auto seconds = [](const rusage& r) {
    return static_cast<double>(r.ru_utime.tv_sec + r.ru_stime.tv_sec) +
           1e-6 * static_cast<double>(r.ru_utime.tv_usec + r.ru_stime.tv_usec);
  };
  rusage own{};
  rusage ended{};
  getrusage(RUSAGE_SELF, &own);
  getrusage(RUSAGE_CHILDREN, &ended);
  double all = seconds(own) + seconds(ended);
  clockid_t clock{};
  timespec present{};
  const pid_t worker = session.worker_pid();
  if (worker != 0 && clock_getcpuclockid(worker, &clock) == 0 &&
      clock_gettime(clock, &present) == 0)
    all += static_cast<double>(present.tv_sec) +
           1e-9 * static_cast<double>(present.tv_nsec);
  return all;
}

/// Why the first state or run without a verdict has none.
std::string reason_of(const Verification& states, const std::vector<RunResult>& runs) {
  for (const StateResult& state : states.states)
    for (const PhaseResult& phase : state.phases)
      if (state.verdict >= Verdict::disagreement && !phase.agreement.agrees)
        return "at rest: " + phase.agreement.reason;
  for (const RunResult& run : runs)
    if (run.verdict >= Verdict::disagreement) return run.agreement.reason;
  return "no reason told";
}

Outcome judge(const CoilCircuit& described, const Catalogue& catalogue,
              EngineSession& session) {
  const double before = used(session);
  Outcome outcome;
  const ReadResult read =
      read_circuit(described.text, described.name + ".toml", catalogue);
  if (!read.circuit) return {Answer::refused, read.diagnostics.front().message, 0.0};
  const Verification states = verify(
      *read.circuit, [&](const Network& n) { return solve_with_engine(session, n); },
      [](const Network& n) { return solve_nodal(n); });
  const std::vector<RunResult> runs =
      verify_runs(*read.circuit, engine_in_time(session), nodal_in_time);
  Verdict verdict = states.verdict;
  for (const RunResult& run : runs) verdict = std::max(verdict, run.verdict);
  if (verdict >= Verdict::disagreement) {
    outcome.answer =
        verdict == Verdict::disagreement ? Answer::differs : Answer::withheld;
    outcome.reason = reason_of(states, runs);
  }
  outcome.seconds = used(session) - before;
  return outcome;
}

/// The first words of a reason, without names, figures and their units.
std::string first_words(const std::string& reason) {
  constexpr int kWords = 8;
  std::istringstream words(reason);
  std::string all;
  bool is_after_figure = false;
  int count = 0;
  for (std::string word; count < kWords && words >> word;) {
    const bool is_unit = std::exchange(is_after_figure, false);
    if (is_unit) continue;
    is_after_figure =
        word.find_first_of("0123456789") != std::string::npos && word.front() != '\'';
    if (is_after_figure || word.front() == '\'') word = "...";
    all += (all.empty() ? "" : " ") + word;
    ++count;
  }
  return all;
}

void write_failing(const std::filesystem::path& folder, const CoilCircuit& described,
                   const std::string& reason) {
  std::string name = described.name;
  std::replace(name.begin(), name.end(), ' ', '-');
  name.erase(std::remove(name.begin(), name.end(), ','), name.end());
  std::filesystem::create_directories(folder);
  std::ofstream(folder / (name + ".toml")) << "# " << reason << '\n' << described.text;
}

struct Judged {
  const CoilCircuit* described;
  Outcome outcome;
};

std::size_t count(const std::vector<Judged>& all, Answer answer) {
  return static_cast<std::size_t>(
      std::count_if(all.begin(), all.end(),
                    [&](const Judged& j) { return j.outcome.answer == answer; }));
}

/// How many of each have a verdict, by one of the choices.
void tell_by(const std::vector<Judged>& all, std::string CoilCircuit::*choice) {
  std::map<std::string, std::pair<int, int>> counts;
  for (const Judged& j : all) {
    auto& [verdicts, of] = counts[j.described->*choice];
    ++of;
    if (j.outcome.answer == Answer::verdict) ++verdicts;
  }
  for (const auto& [name, c] : counts)
    fmt::print("  {:20} {:3} of {:3}\n", name, c.first, c.second);
  fmt::print("\n");
}

void tell_reasons(const std::vector<Judged>& all) {
  std::map<std::string, int> reasons;
  for (const Judged& j : all)
    if (j.outcome.answer != Answer::verdict) ++reasons[first_words(j.outcome.reason)];
  std::vector<std::pair<int, std::string>> sorted;
  for (const auto& [reason, of] : reasons) sorted.emplace_back(of, reason);
  std::sort(sorted.rbegin(), sorted.rend());
  fmt::print("without a verdict, by reason:\n");
  for (const auto& [of, reason] : sorted) fmt::print("  {:3}  {}\n", of, reason);
}

void tell_slowest(std::vector<Judged> all) {
  constexpr std::size_t kTold = 10;
  std::sort(all.begin(), all.end(), [](const Judged& a, const Judged& b) {
    return a.outcome.seconds > b.outcome.seconds;
  });
  fmt::print("slowest:\n");
  for (std::size_t k = 0; k < std::min(kTold, all.size()); ++k)
    fmt::print("  {:6.2f} s  {}\n", all[k].outcome.seconds, all[k].described->name);
}

std::vector<Judged> judge_all(const std::vector<CoilCircuit>& circuits,
                              const std::string& folder) {
  const Catalogue catalogue = built_in_catalogue();
  EngineOptions options;
  options.worker_path = BENCHPROOF_BIN_DIR "/benchproof-worker";
  EngineSession session(options);
  session.start();
  std::vector<Judged> all;
  for (const CoilCircuit& described : circuits) {
    all.push_back({&described, judge(described, catalogue, session)});
    const Outcome& outcome = all.back().outcome;
    const bool is_late = outcome.seconds > kMostSeconds;
    if (outcome.answer == Answer::verdict && !is_late) continue;
    const std::string reason =
        is_late ? fmt::format("{:.2f} s; {}", outcome.seconds, outcome.reason)
                : outcome.reason;
    fmt::print("{}: {}\n", described.name, reason);
    if (!folder.empty()) write_failing(folder, described, reason);
  }
  return all;
}

/// Returns whether the bounds are kept.
bool tell(const std::vector<Judged>& all) {
  const std::size_t verdicts = count(all, Answer::verdict);
  const std::size_t differ = count(all, Answer::differs);
  const std::size_t refused = count(all, Answer::refused);
  const double share = static_cast<double>(verdicts) / static_cast<double>(all.size());
  double sum = 0.0;
  double longest = 0.0;
  for (const Judged& j : all) {
    sum += j.outcome.seconds;
    longest = std::max(longest, j.outcome.seconds);
  }
  fmt::print("\nwith a verdict:\n");
  for (const auto choice : {&CoilCircuit::driver, &CoilCircuit::guard,
                            &CoilCircuit::mode, &CoilCircuit::load})
    tell_by(all, choice);
  tell_reasons(all);
  tell_slowest(all);
  fmt::print(
      "{} combinations: {} with a verdict ({:.1f} %), {} withheld, {} in disagreement, "
      "{} refused; {:.2f} s the longest, {:.0f} s all\n",
      all.size(), verdicts, 100 * share, count(all, Answer::withheld), differ, refused,
      longest, sum);
  return share >= kLeastShare && differ == 0 && refused == 0 && longest <= kMostSeconds;
}

}  // namespace
}  // namespace benchproof::test

int main(int argc, char** argv) {
  using namespace benchproof::test;
  if (argc > 2) {
    fmt::print(stderr, "usage: coil_scan [FOLDER]\n");
    return 2;
  }
  const std::vector<CoilCircuit> circuits = coil_circuits();
  return tell(judge_all(circuits, argc == 2 ? argv[1] : "")) ? 0 : 1;
}
