#include "core/tolerance/states/copies.h"

#include <Random123/philox.h>

#include <algorithm>
#include <atomic>
#include <boost/math/special_functions/erf.hpp>
#include <cmath>
#include <memory>
#include <thread>

namespace benchproof {
namespace {

constexpr std::size_t kCells = 500;
/// Copies that tell between which ends the cells lie.
constexpr std::size_t kPilot = 1024;
/// Copies of one chunk: sums are added chunk by chunk, in order, so that they do not
/// depend on the threads.
constexpr std::size_t kChunk = 4096;
constexpr double kSigmas = 3.0;

/// A place between the ends, 0 to 1, of a uniform number.
double place_of(const Spread& spread, double uniform) {
  if (!spread.is_normal) return uniform;
  // Between the ends of the bell that is cut there.
  const double cut = 0.5 * std::erfc(kSigmas / std::sqrt(2.0));
  const double share = cut + uniform * (1.0 - 2.0 * cut);
  const double sigmas = -std::sqrt(2.0) * boost::math::erfc_inv(2.0 * share);
  return std::clamp((sigmas + kSigmas) / (2.0 * kSigmas), 0.0, 1.0);
}

/// What is summed up of one gauge over a chunk.
struct Sums {
  std::size_t count = 0;
  double sum = 0.0;  ///< Of what is more than the nominal value.
  double squares = 0.0;
  double least = HUGE_VAL;
  double most = -HUGE_VAL;

  void add(double off, double value) {
    ++count;
    sum += off;
    squares += off * off;
    least = std::min(least, value);
    most = std::max(most, value);
  }
};

/// The histograms of all gauges, without counts: between the ends that the first copies
/// show, and half as far again.
std::vector<std::vector<Histogram>> empty_histograms(
    const std::vector<const CopiedState*>& states, std::size_t count,
    std::uint64_t seed) {
  std::vector<std::vector<Histogram>> all;
  for (const CopiedState* state : states) {
    Draw draw(state->spreads(), seed);
    std::vector<Histogram> here(state->gauges().size());
    for (std::size_t g = 0; g < here.size(); ++g)
      here[g].least = here[g].most = state->nominal()[g];
    Measurer measurer(*state);
    measurer.measure(
        0, std::min(count, kPilot),
        [&draw](std::size_t k, double* places) { draw.places(k, places); },
        [&here](const Measurer::Copy& copy) {
          for (std::size_t g = 0; g < here.size(); ++g) {
            if (!std::isfinite(copy.values[g])) continue;
            here[g].least = std::min(here[g].least, copy.values[g]);
            here[g].most = std::max(here[g].most, copy.values[g]);
          }
        });
    for (Histogram& histogram : here) {
      const double more = 0.5 * (histogram.most - histogram.least);
      histogram.least -= more;
      histogram.most += more;
      histogram.cells.assign(kCells, 0);
    }
    all.push_back(std::move(here));
  }
  return all;
}

/// One thread's work: chunks that nobody has taken, each through all states.
class Worker {
 public:
  Worker(const std::vector<const CopiedState*>& states,
         const std::vector<std::vector<Histogram>>& histograms, std::uint64_t seed)
      : states_(states), histograms_(histograms) {
    for (const CopiedState* state : states) {
      measurers_.push_back(std::make_unique<Measurer>(*state));
      draws_.emplace_back(state->spreads(), seed);
      failed_.emplace_back(state->gauges().size(), 0);
    }
    for (const std::vector<Histogram>& of_state : histograms) {
      std::vector<double>& here = cells_per_unit_.emplace_back();
      for (const Histogram& histogram : of_state)
        here.push_back(histogram.cells_per_unit());
    }
  }

  /// Measures a chunk; `sums` is [state][gauge].
  /// `of_all` is told which copies fail, of the first ones.
  void measure(std::size_t first, std::size_t count,
               std::vector<std::vector<Sums>>& sums, std::vector<char>& of_all) {
    std::vector<char> fails(count, 0);
    for (std::size_t s = 0; s < states_.size(); ++s) {
      sums.emplace_back(states_[s]->gauges().size());
      measurers_[s]->measure(
          first, count,
          [&](std::size_t k, double* places) { draws_[s].places(k, places); },
          [&](const Measurer::Copy& copy) { take(copy, s, first, fails, sums[s]); });
    }
    for (std::size_t k = 0; k < count; ++k) {
      if (first + k < of_all.size()) of_all[first + k] = fails[k] != 0 ? 1 : 0;
      if (fails[k] == 0) {
        ++works_;
        continue;
      }
      if ((fails[k] & 2) != 0) ++unsolved_;
      failing_.push_back(first + k);
    }
    // The first of all chunks are wanted: of a thread's no more than these can be.
    std::sort(failing_.begin(), failing_.end());
    if (failing_.size() > kMostFailing) failing_.resize(kMostFailing);
  }

  void add_to(CopiesResult& result) const {
    result.works += works_;
    result.unsolved += unsolved_;
    result.failing.insert(result.failing.end(), failing_.begin(), failing_.end());
    for (std::size_t s = 0; s < states_.size(); ++s) {
      const BatchSolver::Counts counts = measurers_[s]->counts();
      result.handed_on += counts.handed_on;
      result.solved += counts.copies;
      for (std::size_t g = 0; g < failed_[s].size(); ++g) {
        GaugeCopies& gauge = result.states[s][g];
        gauge.failed += failed_[s][g];
        for (std::size_t c = 0; c < kCells; ++c)
          gauge.histogram.cells[c] += histograms_[s][g].cells[c];
      }
    }
  }

 private:
  void take(const Measurer::Copy& copy, std::size_t s, std::size_t first,
            std::vector<char>& fails, std::vector<Sums>& sums) {
    char& fail = fails[copy.index - first];
    if (!copy.is_solved) {
      fail = static_cast<char>(fail | 2);
      return;
    }
    const std::vector<bool>& failed = copy.failed();
    for (std::size_t g = 0; g < copy.values.size(); ++g) {
      const double value = copy.values[g];
      if (!std::isfinite(value)) continue;
      sums[g].add(value - states_[s]->nominal()[g], value);
      histograms_[s][g].add(value, cells_per_unit_[s][g]);
      if (!failed[g]) continue;
      ++failed_[s][g];
      fail = static_cast<char>(fail | 1);
    }
  }

  const std::vector<const CopiedState*>& states_;
  std::vector<std::vector<Histogram>> histograms_;
  std::vector<std::vector<double>> cells_per_unit_;  ///< Of these.
  std::vector<std::unique_ptr<Measurer>> measurers_;
  std::vector<Draw> draws_;
  std::vector<std::vector<std::size_t>> failed_;  ///< [state][gauge]
  std::vector<std::size_t> failing_;
  std::size_t works_ = 0;
  std::size_t unsolved_ = 0;
};

/// Adds up the chunks' sums in their order.
void add_sums(const std::vector<std::vector<std::vector<Sums>>>& chunks,
              const std::vector<const CopiedState*>& states, CopiesResult& result) {
  for (std::size_t s = 0; s < states.size(); ++s) {
    for (std::size_t g = 0; g < states[s]->gauges().size(); ++g) {
      Sums all;
      for (const auto& chunk : chunks) {
        const Sums& part = chunk[s][g];
        all.count += part.count;
        all.sum += part.sum;
        all.squares += part.squares;
        all.least = std::min(all.least, part.least);
        all.most = std::max(all.most, part.most);
      }
      GaugeCopies& gauge = result.states[s][g];
      if (all.count == 0) continue;
      const auto count = static_cast<double>(all.count);
      const double off = all.sum / count;
      gauge.mean = states[s]->nominal()[g] + off;
      gauge.deviation = std::sqrt(std::max(0.0, all.squares / count - off * off));
      gauge.least = all.least;
      gauge.most = all.most;
    }
  }
}

}  // namespace

double Histogram::cells_per_unit() const {
  return most > least ? static_cast<double>(cells.size()) / (most - least) : 0.0;
}

void Histogram::add(double value, double per_unit) {
  const double last = static_cast<double>(cells.size()) - 1.0;
  const double cell = std::clamp((value - least) * per_unit, 0.0, last);
  ++cells[static_cast<std::size_t>(cell)];
}

double Histogram::at(double share) const {
  std::uint64_t total = 0;
  for (const std::uint32_t cell : cells) total += cell;
  const double wanted = share * static_cast<double>(total);
  const double width = (most - least) / static_cast<double>(cells.size());
  double below = 0.0;
  for (std::size_t k = 0; k < cells.size(); ++k) {
    const auto here = static_cast<double>(cells[k]);
    if (here > 0.0 && below + here >= wanted)
      return least + width * (static_cast<double>(k) + (wanted - below) / here);
    below += here;
  }
  return most;
}

Draw::Draw(const std::vector<Spread>& spreads, std::uint64_t seed)
    : spreads_(spreads), seed_(seed), drawn_(draws_of(spreads) + 1) {}

void Draw::places(std::size_t index, double* places) {
  r123::Philox2x64 random;
  const r123::Philox2x64::key_type key = {{seed_}};
  constexpr double kUnit = 0x1p-53;
  const auto uniform = [](std::uint64_t bits) {
    return (static_cast<double>(bits >> 11U) + 0.5) * kUnit;
  };
  for (std::size_t pair = 0; 2 * pair + 1 < drawn_.size() + 1; ++pair) {
    const r123::Philox2x64::ctr_type drawn = random({{index, pair}}, key);
    drawn_[2 * pair] = uniform(drawn[0]);
    if (2 * pair + 1 < drawn_.size()) drawn_[2 * pair + 1] = uniform(drawn[1]);
  }
  for (std::size_t k = 0; k < spreads_.size(); ++k)
    places[k] = place_of(spreads_[k], drawn_[spreads_[k].draw]);
}

CopiesResult measure_copies(const std::vector<const CopiedState*>& states,
                            std::size_t count, std::uint64_t seed,
                            const SideBySide& side_by_side) {
  CopiesResult result;
  result.copies = count;
  result.fails.assign(std::min(count, kMostInRuns), 0);
  const std::vector<std::vector<Histogram>> histograms =
      empty_histograms(states, count, seed);
  for (const auto& of_state : histograms) {
    std::vector<GaugeCopies>& gauges = result.states.emplace_back(of_state.size());
    for (std::size_t g = 0; g < gauges.size(); ++g) gauges[g].histogram = of_state[g];
  }
  const std::size_t chunks = (count + kChunk - 1) / kChunk;
  std::vector<std::vector<std::vector<Sums>>> sums(chunks);
  const std::size_t threads = std::clamp<std::size_t>(
      std::thread::hardware_concurrency(), 1, std::max<std::size_t>(1, chunks));
  std::vector<std::unique_ptr<Worker>> workers(threads);
  std::atomic<std::size_t> next = 0;
  side_by_side(threads, [&](std::size_t thread) {
    workers[thread] = std::make_unique<Worker>(states, histograms, seed);
    for (std::size_t k = next++; k < chunks; k = next++)
      workers[thread]->measure(k * kChunk, std::min(kChunk, count - k * kChunk),
                               sums[k], result.fails);
  });
  for (const auto& worker : workers) worker->add_to(result);
  std::sort(result.failing.begin(), result.failing.end());
  if (result.failing.size() > kMostFailing) result.failing.resize(kMostFailing);
  add_sums(sums, states, result);
  return result;
}

}  // namespace benchproof
