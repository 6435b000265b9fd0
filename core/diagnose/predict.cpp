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
  const Circuit meant = bare(circuit);
  Predictions predictions(std::move(questions), std::move(suspects));
  const std::size_t count = predictions.suspects().size();
  const std::size_t asked = predictions.questions().size();
  if (count == 0 || asked == 0) return predictions;
  std::atomic<std::size_t> next{0};
  const auto turns = static_cast<unsigned>((count + kTurn - 1) / kTurn);
  on_threads(std::clamp(options.threads, 1U, turns), [&] {
    Worktable table(meant, meter, conditions, asked);
    Circuit built;
    for (;;) {
      const std::size_t first = next.fetch_add(kTurn);
      if (first >= count) return;
      for (std::size_t k = first; k < std::min(count, first + kTurn); ++k) {
        const Suspect& suspect = predictions.suspects()[k];
        Shown* row = &predictions.at(k, 0);
        std::copy(table.as_meant().begin(), table.as_meant().end(), row);
        if (suspect.first < 0 && suspect.second < 0) continue;
        built = meant;
        for (const int index : {suspect.first, suspect.second})
          if (index >= 0) build_in(built, faults[static_cast<std::size_t>(index)]);
        table.measure(built, row);
      }
    }
  });
  return predictions;
}

}  // namespace benchproof
