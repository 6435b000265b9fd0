#include "core/tolerance/states/works.h"

#include <algorithm>
#include <atomic>
#include <memory>
#include <numeric>
#include <optional>
#include <thread>
#include <utility>

#include "core/tolerance/states/copies.h"

namespace benchproof {
namespace {

/// Copies that a thread takes at a time.
constexpr std::size_t kChunkOfCount = 512;

/// Tries copies chunk by chunk; each thread has one of its own.
class CopyTrial {
 public:
  CopyTrial(const std::vector<const CopiedState*>& states, const Demand& demand,
            std::uint64_t seed)
      : demand_(demand), draw_(states.front()->spreads(), seed), states_(states) {
    for (const CopiedState* state : states)
      measurers_.push_back(std::make_unique<Measurer>(*state));
  }

  /// The copies of a chunk that work.
  const std::vector<std::size_t>& working(std::size_t first, std::size_t count) {
    alive_.resize(count);
    std::iota(alive_.begin(), alive_.end(), first);
    for (std::size_t s = 0; s < states_.size() && !alive_.empty(); ++s) look_at(s);
    return alive_;
  }

 private:
  /// Leaves the copies that are not out in this state.
  void look_at(std::size_t s) {
    const bool is_asked = states_[s]->posed().state().name == demand_.state;
    still_.clear();
    measurers_[s]->measure(
        0, alive_.size(),
        [this](std::size_t k, double* places) { draw_.places(alive_[k], places); },
        [&](const Measurer::Copy& copy) {
          const std::vector<bool>& failed = copy.failed();
          const bool fails =
              std::find(failed.begin(), failed.end(), true) != failed.end();
          if (!copy.is_solved || fails || (is_asked && !demand_.holds(copy.input)))
            return;
          still_.push_back(alive_[copy.index]);
        });
    std::swap(alive_, still_);
  }

  const Demand& demand_;
  Draw draw_;
  const std::vector<const CopiedState*>& states_;
  std::vector<std::unique_ptr<Measurer>> measurers_;
  std::vector<std::size_t> alive_;  ///< The copies that work so far.
  std::vector<std::size_t> still_;
};

/// Those of the demand first: where most copies are out, little is left to do.
std::vector<const CopiedState*> asked_first(const CopiedCircuit& circuit,
                                            const Demand& demand) {
  std::vector<const CopiedState*> states;
  for (const CopiedState& state : circuit.states()) states.push_back(&state);
  std::stable_partition(states.begin(), states.end(), [&](const CopiedState* state) {
    return state->posed().state().name == demand.state;
  });
  return states;
}

}  // namespace

CopiedCircuit::CopiedCircuit(const Circuit& circuit, const Solve& witness)
    : spreads_(spreads_of(circuit)), posed_(pose_states(circuit)) {
  for (const PosedState& posed : posed_) {
    const Sight sight = sight_of(posed, witness, PinsRead::weak);
    is_solved_ = is_solved_ && sight.seen.has_value();
    if (sight.seen) states_.emplace_back(posed, spreads_, *sight.seen);
  }
}

std::vector<bool> which_work(const CopiedCircuit& circuit, const Demand& demand,
                             std::size_t first, std::size_t count, std::uint64_t seed,
                             const SideBySide& side_by_side) {
  std::vector<bool> works(count, false);
  if (!circuit.is_solved() || circuit.states().empty()) return works;
  const std::vector<const CopiedState*> states = asked_first(circuit, demand);
  const std::size_t chunks = (count + kChunkOfCount - 1) / kChunkOfCount;
  const std::size_t threads = std::clamp<std::size_t>(
      std::thread::hardware_concurrency(), 1, std::max<std::size_t>(1, chunks));
  std::vector<std::vector<std::size_t>> found(threads);
  std::atomic<std::size_t> next = 0;
  side_by_side(threads, [&](std::size_t thread) {
    std::optional<CopyTrial> trial;
    for (std::size_t k = next++; k < chunks; k = next++) {
      if (!trial) trial.emplace(states, demand, seed);
      const std::size_t from = k * kChunkOfCount;
      const auto& working =
          trial->working(first + from, std::min(kChunkOfCount, count - from));
      found[thread].insert(found[thread].end(), working.begin(), working.end());
    }
  });
  for (const std::vector<std::size_t>& of_thread : found)
    for (const std::size_t copy : of_thread) works[copy - first] = true;
  return works;
}

}  // namespace benchproof
