#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <stdexcept>
#include <thread>
#include <utility>

#include "core/diagnose/detail/worktable.h"
#include "core/diagnose/predictions.h"

namespace benchproof {
namespace {

/// The circuit without what nobody measures. Groups of nets apart from ground stay
/// apart from it: what a fault joins to them is joined by that alone.
Circuit bare(const Circuit& circuit) {
  Circuit b;
  b.ambient = circuit.ambient;
  b.parts = circuit.parts;
  b.nets = circuit.nets;
  b.states = circuit.states;
  return b;
}

constexpr std::size_t kNoRow = static_cast<std::size_t>(-1);

/// Suspects of one thread's turn.
constexpr std::size_t kTurn = 16;

/// Does `work(thread)` on so many threads, this one among them; passes on what is
/// thrown.
template <typename Work>
void on_threads(unsigned threads, const Work& work) {
  std::mutex mutex;
  std::exception_ptr thrown;
  const auto guarded = [&] {
    try {
      work();
    } catch (...) {
      const std::lock_guard lock(mutex);
      thrown = std::current_exception();
    }
  };
  std::vector<std::thread> others;
  for (unsigned k = 1; k < threads; ++k) others.emplace_back(guarded);
  guarded();
  for (std::thread& other : others) other.join();
  if (thrown) std::rethrow_exception(thrown);
}

}  // namespace

Predictions predict(const Circuit& circuit, const Meter& meter,
                    std::vector<Question> questions, std::span<const Fault> faults,
                    std::vector<Suspect> suspects, const PredictOptions& options) {
  const auto is_fault = [&faults](int index) {
    return index >= -1 && index < static_cast<int>(faults.size());
  };
  for (const Suspect& suspect : suspects)
    if (!is_fault(suspect.first) || !is_fault(suspect.second))
      throw std::invalid_argument("a suspect that is none of the faults");
  const std::vector<Condition> conditions =
      conditions_of(circuit, questions, options.spread);
  const Circuit meant = expected_copy(bare(circuit));
  Predictions predictions(std::move(questions), std::move(suspects));
  const std::size_t count = predictions.suspects().size();
  const std::size_t asked = predictions.questions().size();
  if (count == 0 || asked == 0) return predictions;
  Known known;
  const auto measure_all = [&](std::size_t many, const auto& suspect_of,
                               const auto& row_of, bool with_spread) {
    std::atomic<std::size_t> next{0};
    const auto turns = static_cast<unsigned>((many + kTurn - 1) / kTurn);
    const unsigned threads = options.witness ? 1U : options.threads;
    on_threads(std::clamp(threads, 1U, turns), [&] {
      Worktable table(meant, meter, conditions, asked, known, options.witness);
      Circuit built;
      for (;;) {
        const std::size_t first = next.fetch_add(kTurn);
        if (first >= many) return;
        for (std::size_t k = first; k < std::min(many, first + kTurn); ++k) {
          const Suspect& suspect = suspect_of(k);
          Shown* row = row_of(k);
          std::copy(table.as_meant().begin(), table.as_meant().end(), row);
          if (suspect.first < 0 && suspect.second < 0) continue;
          built = meant;
          for (const int index : {suspect.first, suspect.second})
            if (index >= 0) build_in(built, faults[static_cast<std::size_t>(index)]);
          table.measure(built, row, with_spread);
        }
      }
    });
  };
  const auto is_pair = [](const Suspect& s) { return s.first >= 0 && s.second >= 0; };
  std::vector<std::size_t> alone;
  std::vector<std::size_t> two;
  for (std::size_t k = 0; k < count; ++k)
    (is_pair(predictions.suspects()[k]) ? two : alone).push_back(k);
  const auto measure_these = [&](const std::vector<std::size_t>& these,
                                 bool with_spread) {
    measure_all(
        these.size(),
        [&](std::size_t k) -> const Suspect& {
          return predictions.suspects()[these[k]];
        },
        [&](std::size_t k) { return &predictions.at(these[k], 0); }, with_spread);
  };
  if (!alone.empty()) measure_these(alone, options.spread);
  if (two.empty()) return predictions;
  measure_these(two, false);
  if (!options.spread) return predictions;

  std::vector<Suspect> each;
  std::vector<std::size_t> row_of(faults.size(), kNoRow);
  for (const std::size_t k : two) {
    const Suspect& suspect = predictions.suspects()[k];
    for (const int fault : {suspect.first, suspect.second}) {
      std::size_t& row = row_of[static_cast<std::size_t>(fault)];
      if (row != kNoRow) continue;
      row = each.size();
      each.push_back({fault, -1});
    }
  }
  std::vector<Shown> rows(each.size() * asked);
  measure_all(
      each.size(), [&](std::size_t k) -> const Suspect& { return each[k]; },
      [&](std::size_t k) { return &rows[k * asked]; }, true);
  widen_pairs(predictions, [&](std::size_t fault, std::size_t q) -> const Shown& {
    return rows[row_of[fault] * asked + q];
  });
  return predictions;
}

}  // namespace benchproof
