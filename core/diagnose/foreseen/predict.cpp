#include <algorithm>
#include <atomic>
#include <limits>
#include <memory>
#include <optional>
#include <stdexcept>
#include <utility>

#include "core/base/threads.h"
#include "core/diagnose/foreseen/detail/worktable.h"
#include "core/diagnose/foreseen/predictions.h"

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

/// What all threads share, and what they come to.
struct Work {
  Work(const Circuit& circuit, const std::vector<Question>& questions, bool spread)
      : conditions(conditions_of(circuit, questions, spread)),
        meant(expected_copy(bare(circuit))),
        builder(meant, conditions) {
    std::vector<char> is_asked(questions.size(), 0);
    for (const Condition& condition : conditions) {
      std::vector<std::size_t>& group = groups.emplace_back();
      for (const Asked& asked : condition.asked) {
        group.push_back(asked.question);
        is_asked[asked.question] = 1;
      }
    }
    std::vector<std::size_t>& rest = groups.emplace_back();
    for (std::size_t q = 0; q < questions.size(); ++q)
      if (is_asked[q] == 0) rest.push_back(q);
    Showing nothing;
    Shown unknown;
    unknown.value = std::numeric_limits<double>::quiet_NaN();
    unknown.looks_sure = 0.0;
    nothing.shown.assign(rest.size(), unknown);
    unasked = nothing.shown;
  }

  std::vector<Condition> conditions;
  Circuit meant;
  Builder builder;
  Known known;
  std::vector<Build> builds;  ///< Of each fault that is needed.
  /// Questions of each condition, then those that stand in none.
  std::vector<std::vector<std::size_t>> groups;
  std::vector<Shown> unasked;
};

/// One thread's share of it.
class Hand {
 public:
  Hand(Work& work, const Meter& meter, std::span<const Fault> faults, bool has_pairs,
       const PredictOptions& options)
      : work_(work),
        faults_(faults),
        spread_(options.spread),
        table_(work.meant, meter, work.conditions, work.builder, work.known, has_pairs,
               options.witness) {}

  /// Works out what a fault has otherwise, and what it shows alone.
  void look_at(std::size_t fault) {
    const Fault* one[] = {&faults_[fault]};
    Build& build = work_.builds[fault];
    build = work_.builder.build(one);
    for (std::size_t c = 0; c < work_.conditions.size(); ++c)
      table_.show(c, build.changes[c], spread_);
  }

  /// Puts in what a suspect shows.
  void put(Predictions& predictions, std::size_t k) {
    const Suspect& suspect = predictions.suspects()[k];
    const std::size_t count = work_.conditions.size();
    predictions.share(k, count, work_.unasked.data());
    std::optional<Build> both;
    for (std::size_t c = 0; c < count; ++c)
      predictions.share(k, c, row_of(c, suspect, both).data());
  }

 private:
  const Build& build_of(int fault) const {
    return work_.builds[static_cast<std::size_t>(fault)];
  }

  const std::vector<Shown>& row_of(std::size_t c, const Suspect& suspect,
                                   std::optional<Build>& both) {
    if (suspect.first < 0 || suspect.second < 0) {
      const int fault = std::max(suspect.first, suspect.second);
      return fault < 0 ? table_.as_meant(c)
                       : table_.show(c, build_of(fault).changes[c], spread_).shown;
    }
    const Build& one = build_of(suspect.first);
    const Build& other = build_of(suspect.second);
    const BuildChange& first = one.changes[c];
    const BuildChange& second = other.changes[c];
    const bool are_apart = Builder::are_apart(one, other, c);
    if (!are_apart && !both) {
      const Fault* faults[] = {&faults_[static_cast<std::size_t>(suspect.first)],
                               &faults_[static_cast<std::size_t>(suspect.second)]};
      both = work_.builder.build(faults);
    }
    if (!spread_)
      return are_apart ? table_.show(c, first, second).shown
                       : table_.show(c, both->changes[c], false).shown;
    Name name;
    name.add(static_cast<int>(c));
    name.add(are_apart ? 3 : 4);
    name.add(std::min(first.name, second.name));
    name.add(std::max(first.name, second.name));
    if (!are_apart) name.add(both->changes[c].name);
    if (const Showing* known = work_.known.find(name.value())) return known->shown;
    Showing pair;
    pair.shown = are_apart ? table_.show(c, first, second).shown
                           : table_.show(c, both->changes[c], false).shown;
    const std::vector<Shown>& alone = table_.show(c, first, true).shown;
    const std::vector<Shown>& beside = table_.show(c, second, true).shown;
    for (std::size_t k = 0; k < pair.shown.size(); ++k)
      pair.shown[k] = widened(pair.shown[k], alone[k], beside[k]);
    return work_.known.keep(name.value(), std::move(pair)).shown;
  }

  Work& work_;
  std::span<const Fault> faults_;
  bool spread_;
  Worktable table_;
};

/// Throws std::invalid_argument where a suspect is none of so many faults, alone or
/// two.
void require_faults(const std::vector<Suspect>& suspects, std::size_t faults) {
  const auto is_fault = [faults](int index) {
    return index >= -1 && index < static_cast<int>(faults);
  };
  for (const Suspect& suspect : suspects)
    if (!is_fault(suspect.first) || !is_fault(suspect.second))
      throw std::invalid_argument("a suspect that is none of the faults");
}

/// The faults that suspects have, each once, rising.
std::vector<std::size_t> faults_of(const std::vector<Suspect>& suspects,
                                   std::size_t faults) {
  std::vector<char> is_needed(faults, 0);
  for (const Suspect& suspect : suspects)
    for (const int fault : {suspect.first, suspect.second})
      if (fault >= 0) is_needed[static_cast<std::size_t>(fault)] = 1;
  std::vector<std::size_t> needed;
  for (std::size_t k = 0; k < faults; ++k)
    if (is_needed[k] != 0) needed.push_back(k);
  return needed;
}

}  // namespace

Predictions predict(const Circuit& circuit, const Meter& meter,
                    std::vector<Question> questions, std::span<const Fault> faults,
                    std::vector<Suspect> suspects, const PredictOptions& options) {
  require_faults(suspects, faults.size());
  const auto work = std::make_shared<Work>(circuit, questions, options.spread);
  Predictions predictions(std::move(questions), std::move(suspects), work->groups,
                          work);
  const std::size_t count = predictions.suspects().size();
  if (count == 0 || predictions.questions().empty()) return predictions;

  const bool has_pairs =
      std::any_of(predictions.suspects().begin(), predictions.suspects().end(),
                  [](const Suspect& s) { return s.first >= 0 && s.second >= 0; });
  const std::vector<std::size_t> needed =
      faults_of(predictions.suspects(), faults.size());
  work->builds.resize(faults.size());

  const auto turns = static_cast<unsigned>((count + kTurn - 1) / kTurn);
  const unsigned threads =
      options.witness ? 1U : std::clamp(options.threads, 1U, turns);
  std::vector<std::unique_ptr<Hand>> hands(threads);
  const auto share_out = [&](std::size_t many, const auto& each) {
    std::atomic<std::size_t> next{0};
    on_threads(threads, [&](unsigned thread) {
      std::unique_ptr<Hand>& hand = hands[thread];
      if (!hand)
        hand = std::make_unique<Hand>(*work, meter, faults, has_pairs, options);
      for (;;) {
        const std::size_t first = next.fetch_add(kTurn);
        if (first >= many) return;
        for (std::size_t k = first; k < std::min(many, first + kTurn); ++k)
          each(*hand, k);
      }
    });
  };
  share_out(needed.size(), [&](Hand& hand, std::size_t k) { hand.look_at(needed[k]); });
  share_out(count, [&](Hand& hand, std::size_t k) { hand.put(predictions, k); });
  return predictions;
}

}  // namespace benchproof
