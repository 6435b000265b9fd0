#include "core/diagnose/diagnosis.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <utility>

#include "core/check/finding/wording.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// So many suspects are predicted at every question there is, for the next reading.
constexpr std::size_t kMostLooked = 40;
constexpr double kLooked = 0.999;
/// Groups of which the next reading tells what they would show.
constexpr std::size_t kMostToldGroups = 5;
/// From there on a second fault is looked for behind the first.
constexpr double kNearlySure = 0.9;
/// A band of a figure to both sides, in deviations.
constexpr double kBand = 2.0;

/// Suspects with their weights: "as meant", the single faults, perhaps pairs.
struct Lineup {
  std::vector<Suspect> suspects;
  std::vector<double> weights;
};

Lineup singles_of(const std::vector<Fault>& faults) {
  Lineup lineup{singles(faults.size()), {}};
  double sum = 0.0;
  for (const Fault& fault : faults) sum += fault.weight;
  for (const Suspect& suspect : lineup.suspects)
    lineup.weights.push_back(
        suspect.first < 0
            ? kAsMeant
            : (1.0 - kAsMeant) *
                  faults[static_cast<std::size_t>(suspect.first)].weight / sum);
  return lineup;
}

/// The questions of readings, each once, and which of them each reading answers.
struct Answered {
  std::vector<Question> questions;
  std::vector<std::size_t> of_reading;
};

Answered asked_by(std::span<const TakenReading> readings) {
  Answered asked;
  for (const TakenReading& reading : readings) {
    const auto known =
        std::find(asked.questions.begin(), asked.questions.end(), reading.question);
    asked.of_reading.push_back(
        static_cast<std::size_t>(known - asked.questions.begin()));
    if (known == asked.questions.end()) asked.questions.push_back(reading.question);
  }
  return asked;
}

/// So many faults, those that explain most by themselves, are paired with each other.
constexpr std::size_t kMostPaired = 250;

/// How well each fault explains each reading, [fault][reading]; 0 of what was not
/// taken.
std::vector<std::vector<double>> fits_alone(std::size_t faults,
                                            std::span<const TakenReading> readings,
                                            const Predictions& shown,
                                            const Answered& asked) {
  std::vector<std::vector<double>> fits(faults,
                                        std::vector<double>(readings.size(), 0.0));
  for (std::size_t f = 0; f < faults; ++f)
    for (std::size_t r = 0; r < readings.size(); ++r)
      if (readings[r].is_reached)
        fits[f][r] =
            fit_of(shown.at(f + 1, asked.of_reading[r]), readings[r]).log_likelihood;
  return fits;
}

/// What two faults show together where both move a figure: it moves by both. Less than
/// any likelihood where that says nothing.
double log_likelihood_of_sum(const Shown& meant, const Shown& one, const Shown& other,
                             const TakenReading& taken) {
  constexpr double kNothing = -1e300;
  if (taken.question.asks == Asks::looks || taken.is_open) return kNothing;
  if (meant.open || one.open || other.open) return kNothing;
  Shown sum = one;
  sum.value = one.value + other.value - meant.value;
  sum.sigma = std::hypot(one.sigma, other.sigma);
  if (std::isnan(sum.value)) return kNothing;
  return fit_of(sum, taken).log_likelihood;
}

/// The faults that may be one of two: those that explain some reading better than "as
/// meant" does, by how much, all readings together.
std::vector<std::size_t> worth_pairing(const std::vector<Fault>& faults,
                                       const std::vector<std::vector<double>>& fits,
                                       std::span<const TakenReading> readings,
                                       const Predictions& shown,
                                       const Answered& asked) {
  std::vector<std::pair<double, std::size_t>> scored;
  for (std::size_t f = 0; f < faults.size(); ++f) {
    double score = std::log(faults[f].weight);
    for (std::size_t r = 0; r < readings.size(); ++r)
      if (readings[r].is_reached)
        score += std::max(
            0.0,
            fits[f][r] -
                fit_of(shown.at(0, asked.of_reading[r]), readings[r]).log_likelihood);
    scored.emplace_back(-score, f);
  }
  std::sort(scored.begin(), scored.end());
  if (scored.size() > kMostPaired) scored.resize(kMostPaired);
  std::vector<std::size_t> worth;
  for (const auto& [score, f] : scored) worth.push_back(f);
  return worth;
}

/// Whether a part would have two values, or an output two levels, at once.
bool are_one_place(const Fault& one, const Fault& other) {
  const bool is_single = one.mode == FaultMode::value || one.mode == FaultMode::stuck ||
                         one.mode == FaultMode::supply;
  return is_single && one.mode == other.mode && one.parts == other.parts &&
         one.pins == other.pins;
}

/// The pairs of faults that may explain the readings, the likeliest first: of each
/// reading, what one of them moves stays moved, and what both move moves by both.
std::vector<Suspect> likely_pairs(const std::vector<Fault>& faults,
                                  std::span<const TakenReading> readings,
                                  const Predictions& shown, const Answered& asked,
                                  std::size_t most) {
  struct Scored {
    double score;
    Suspect pair;
  };
  const auto fits = fits_alone(faults.size(), readings, shown, asked);
  const std::vector<std::size_t> worth =
      worth_pairing(faults, fits, readings, shown, asked);
  std::vector<Scored> scored;
  for (std::size_t i = 0; i < worth.size(); ++i) {
    for (std::size_t k = i + 1; k < worth.size(); ++k) {
      const auto [a, b] = std::minmax(worth[i], worth[k]);
      if (are_one_place(faults[a], faults[b])) continue;
      double score = std::log(faults[a].weight) + std::log(faults[b].weight);
      for (std::size_t r = 0; r < readings.size(); ++r) {
        if (!readings[r].is_reached) continue;
        const std::size_t q = asked.of_reading[r];
        score += std::max({fits[a][r], fits[b][r],
                           log_likelihood_of_sum(shown.at(0, q), shown.at(a + 1, q),
                                                 shown.at(b + 1, q), readings[r])});
      }
      scored.push_back({score, {static_cast<int>(a), static_cast<int>(b)}});
    }
  }
  std::sort(scored.begin(), scored.end(), [](const Scored& x, const Scored& y) {
    if (x.score != y.score) return x.score > y.score;
    return std::pair(x.pair.first, x.pair.second) <
           std::pair(y.pair.first, y.pair.second);
  });
  if (scored.size() > most) scored.resize(most);
  std::vector<Suspect> pairs;
  for (const Scored& each : scored) pairs.push_back(each.pair);
  return pairs;
}

/// Adds pairs to a lineup, each by the product of its faults' weights.
void add_pairs(const std::vector<Fault>& faults, const std::vector<Suspect>& pairs,
               Lineup& lineup) {
  double sum = 0.0;
  for (const Fault& fault : faults) sum += fault.weight;
  for (const Suspect& pair : pairs) {
    lineup.suspects.push_back(pair);
    // Each two of them count once: twice the product of their shares.
    lineup.weights.push_back(
        kTwoFaults * 2.0 * faults[static_cast<std::size_t>(pair.first)].weight / sum *
        faults[static_cast<std::size_t>(pair.second)].weight / sum);
  }
}

std::vector<std::size_t> misfits_of(const Ranked& leader,
                                    std::span<const TakenReading> readings,
                                    const ShownAt& shown) {
  std::vector<std::size_t> misfits;
  for (std::size_t r = 0; r < readings.size(); ++r)
    if (readings[r].is_reached &&
        fit_of(shown(leader.suspect, r), readings[r]).is_misfit)
      misfits.push_back(r);
  return misfits;
}

/// How many of the readings a suspect says nothing of.
std::size_t unknown_to(const Ranked& leader, std::span<const TakenReading> readings,
                       const ShownAt& shown) {
  std::size_t unknown = 0;
  for (std::size_t r = 0; r < readings.size(); ++r)
    if (readings[r].is_reached &&
        fit_of(shown(leader.suspect, r), readings[r]).is_unknown)
      ++unknown;
  return unknown;
}

/// Where the questions of readings stand in predictions that are there already; empty
/// where one of them does not.
std::optional<Answered> answered_in(const Predictions& known,
                                    std::span<const TakenReading> readings) {
  Answered answered;
  answered.questions = known.questions();
  for (const TakenReading& reading : readings) {
    const auto at = std::find(answered.questions.begin(), answered.questions.end(),
                              reading.question);
    if (at == answered.questions.end()) return std::nullopt;
    answered.of_reading.push_back(
        static_cast<std::size_t>(at - answered.questions.begin()));
  }
  return answered;
}

/// What the members of a group would make a question show.
WouldShow would_show(const Group& group, std::size_t number,
                     const std::map<std::size_t, std::size_t>& looked,
                     const Predictions& shown, std::size_t q) {
  WouldShow would;
  would.group = number;
  const Asks asks = shown.questions()[q].asks;
  bool is_first = true;
  for (const Ranked& member : group.members) {
    const auto at = looked.find(member.suspect);
    if (at == looked.end()) continue;
    const Shown& each = shown.at(at->second, q);
    if (is_first) {
      would.is_open = each.open;
      if (asks == Asks::looks) would.looks = each.looks;
    }
    is_first = false;
    if (asks == Asks::looks || each.open || is_unknown(asks, each)) continue;
    const double room = kBand * deviation_of(asks, each);
    would.least = std::min(would.least.value_or(each.value - room), each.value - room);
    would.most = std::max(would.most.value_or(each.value + room), each.value + room);
  }
  if (would.least) would.is_open = false;
  return would;
}

/// What pairs show, their spread taken from what each fault shows alone.
Predictions predict_pairs(
    const Circuit& circuit, const Meter& meter, const std::vector<Question>& questions,
    const std::vector<Fault>& faults, std::vector<Suspect> pairs,
    const PredictOptions& options,
    const std::function<const Shown&(std::size_t, std::size_t)>& alone) {
  PredictOptions plain = options;
  plain.spread = false;
  Predictions predictions =
      predict(circuit, meter, questions, faults, std::move(pairs), plain);
  if (options.spread) widen_pairs(predictions, alone);
  return predictions;
}

/// What some suspects show at every question there is.
Predictions at_all_questions(const Circuit& circuit, const std::vector<Fault>& faults,
                             const Meter& meter, std::vector<Suspect> suspects,
                             const DiagnoseOptions& options) {
  if (options.known == nullptr)
    return predict(circuit, meter, all_questions(circuit), faults, std::move(suspects),
                   options.predict);
  const Predictions& known = *options.known;
  std::vector<Suspect> two;
  for (const Suspect& suspect : suspects)
    if (suspect.second >= 0) two.push_back(suspect);
  const Predictions of_two = predict_pairs(
      circuit, meter, known.questions(), faults, std::move(two), options.predict,
      [&known](std::size_t fault, std::size_t q) -> const Shown& {
        return known.at(fault + 1, q);
      });
  Predictions shown(known.questions(), std::move(suspects));
  std::size_t next_of_two = 0;
  for (std::size_t k = 0; k < shown.suspects().size(); ++k) {
    const Suspect& suspect = shown.suspects()[k];
    const bool is_pair = suspect.second >= 0;
    const Predictions& from = is_pair ? of_two : known;
    const std::size_t row =
        is_pair ? next_of_two++ : static_cast<std::size_t>(suspect.first + 1);
    for (std::size_t q = 0; q < known.questions().size(); ++q)
      shown.put(k, q, from.at(row, q));
  }
  return shown;
}

/// The reading to take next, of all that there are.
std::optional<NextReading> next_reading(
    const Circuit& circuit, const std::vector<Fault>& faults, const Meter& meter,
    std::span<const TakenReading> readings, const Lineup& lineup,
    const std::vector<Ranked>& ranked, const std::vector<Group>& groups,
    const std::vector<std::size_t>& doubted, bool is_unplugged,
    const DiagnoseOptions& options) {
  std::vector<Suspect> suspects;
  std::map<std::size_t, std::size_t> looked;  // By its number in the lineup.
  std::vector<Ranked> leading;
  double sum = 0.0;
  for (const Ranked& each : ranked) {
    if (leading.size() >= kMostLooked || sum >= kLooked) break;
    sum += each.probability;
    looked.emplace(each.suspect, suspects.size());
    suspects.push_back(lineup.suspects[each.suspect]);
    leading.push_back(each);
    leading.back().suspect = suspects.size() - 1;
  }
  if (suspects.size() < 2) return std::nullopt;
  Predictions shown =
      at_all_questions(circuit, faults, meter, std::move(suspects), options);
  const std::vector<Question>& questions = shown.questions();
  for (const TakenReading& taken : readings) {
    const auto at = std::find(questions.begin(), questions.end(), taken.question);
    if (!taken.is_reached || at == questions.end()) continue;
    const auto q = static_cast<std::size_t>(at - questions.begin());
    for (std::size_t s = 0; s < leading.size(); ++s)
      shown.put(s, q, shown_again(shown.at(s, q), taken));
  }
  const auto is_doubted = [&](const Question& question) {
    return std::any_of(doubted.begin(), doubted.end(),
                       [&](std::size_t r) { return readings[r].question == question; });
  };
  const auto times_taken = [&readings](const Question& question) {
    return std::count_if(readings.begin(), readings.end(),
                         [&](const TakenReading& r) { return r.question == question; });
  };
  const auto may_ask = [&](std::size_t q) {
    if (is_unplugged && questions[q].powered) return false;
    const auto taken = times_taken(questions[q]);
    return taken == 0 || (taken == 1 && is_doubted(questions[q]));
  };
  const Question* before = readings.empty() ? nullptr : &readings.back().question;
  const ShownAt at = [&shown](std::size_t s, std::size_t q) -> const Shown& {
    return shown.at(s, q);
  };
  const std::vector<Promise> best = promises(leading, questions, at, may_ask, before);
  if (best.empty()) return std::nullopt;
  NextReading next;
  const std::size_t q = best.front().question;
  next.question = questions[q];
  next.bits = best.front().bits;
  next.is_again = times_taken(questions[q]) > 0;
  const auto is_looked = [&looked](const Ranked& member) {
    return looked.contains(member.suspect);
  };
  for (std::size_t g = 0; g < std::min(groups.size(), kMostToldGroups); ++g)
    if (std::any_of(groups[g].members.begin(), groups[g].members.end(), is_looked))
      next.would_show.push_back(would_show(groups[g], g, looked, shown, q));
  return next;
}

/// Whether two witnesses' figures of one question are the same.
bool is_same_shown(Asks asks, const Shown& one, const Shown& other) {
  if (asks == Asks::looks) return one.looks == other.looks;
  if (one.open != other.open || std::isnan(one.value) != std::isnan(other.value))
    return false;
  if (one.open || std::isnan(one.value)) return true;
  const double smallest = asks == Asks::current      ? 1e-8
                          : asks == Asks::resistance ? 1e-3
                                                     : 1e-5;
  return std::abs(one.value - other.value) <= smallest + 1e-5 * std::abs(one.value);
}

/// What no part of a circuit as described can have: far above all its sources together,
/// or more than the descriptions may. Volt.
double dangerous_volts(const Circuit& circuit) {
  constexpr double kTimes = 1.5;
  constexpr double kLargest = 60.0;  // What the program is for; see the README.
  double sum = 0.0;
  for (const Part& part : circuit.parts)
    if (is_source(part.kind)) sum += std::abs(number_of(part, "voltage").value_or(0.0));
  return std::clamp(kTimes * sum + 10.0, 30.0, kLargest);
}

/// After which readings nothing is to be touched under power, and why.
std::vector<std::string> dangers_of(const Circuit& circuit,
                                    std::span<const TakenReading> readings) {
  std::vector<std::string> dangers;
  const double most = dangerous_volts(circuit);
  for (const TakenReading& reading : readings) {
    if (!reading.is_reached) continue;
    const Question& question = reading.question;
    if (question.asks == Asks::voltage && std::abs(reading.value) > most)
      dangers.push_back(fmt::format(
          "{} at '{}' is more than any source here has: if that is no slip of the pen, "
          "take your hands off, switch off at the wall, and do not use that supply "
          "again; it may not be separated from the mains, which is for licensed people",
          short_text(reading.value, Unit::volt), question.net));
    if (question.asks == Asks::looks && reading.looks == Looks::hot)
      dangers.push_back(
          fmt::format("'{}' is hot: unplug now and let it cool, and look on with the "
                      "power off, by resistances",
                      question.part));
  }
  return dangers;
}

/// The readings with what "as meant" looks like there: a lamp that is meant to be dark
/// is dark.
std::vector<TakenReading> as_it_looks(std::span<const TakenReading> readings,
                                      const Predictions& single,
                                      const Answered& asked) {
  std::vector<TakenReading> all(readings.begin(), readings.end());
  for (std::size_t r = 0; r < all.size(); ++r) {
    const bool is_meant =
        all[r].question.asks == Asks::looks && all[r].looks == Looks::as_meant;
    if (is_meant) all[r].looks = single.at(0, asked.of_reading[r]).looks;
  }
  return all;
}

/// Puts the groups into the diagnosis, and whether the leading one explains the
/// readings.
void tell_groups(const std::vector<Group>& groups, const Lineup& lineup,
                 std::span<const TakenReading> readings, const ShownAt& shown,
                 Diagnosis& diagnosis) {
  for (const Group& group : groups) {
    LikelyGroup& told = diagnosis.groups.emplace_back();
    told.probability = group.probability;
    for (const Ranked& member : group.members)
      told.causes.push_back({lineup.suspects[member.suspect], member.probability});
    told.misfits = misfits_of(group.members.front(), readings, shown);
  }
  const std::size_t misfits = diagnosis.groups.front().misfits.size();
  const std::size_t unknown =
      unknown_to(groups.front().members.front(), readings, shown);
  // What says nothing of most readings does not explain them.
  diagnosis.explained = (misfits == 0 || (misfits == 1 && diagnosis.readings >= 3)) &&
                        2 * unknown <= diagnosis.readings;
}

}  // namespace

std::vector<const Fault*> faults_in(const Diagnosis& diagnosis,
                                    const Suspect& suspect) {
  std::vector<const Fault*> faults;
  for (const int k : {suspect.first, suspect.second})
    if (k >= 0) faults.push_back(&diagnosis.faults[static_cast<std::size_t>(k)]);
  return faults;
}

Diagnosis diagnose(const Circuit& circuit, std::vector<Fault> faults,
                   const Meter& meter, std::span<const TakenReading> given,
                   const DiagnoseOptions& options) {
  std::span<const TakenReading> readings = given;
  Diagnosis diagnosis;
  diagnosis.readings = static_cast<std::size_t>(
      std::count_if(readings.begin(), readings.end(),
                    [](const TakenReading& each) { return each.is_reached; }));
  diagnosis.dangers = dangers_of(circuit, given);
  Lineup lineup = singles_of(faults);
  std::optional<Answered> in_known;
  if (options.known != nullptr) in_known = answered_in(*options.known, readings);
  const Answered asked = in_known ? *in_known : asked_by(readings);
  std::optional<Predictions> of_singles;
  if (!in_known)
    of_singles = predict(circuit, meter, asked.questions, faults, lineup.suspects,
                         options.predict);
  const Predictions& single = of_singles ? *of_singles : *options.known;
  const std::vector<TakenReading> seen = as_it_looks(given, single, asked);
  readings = seen;
  const Answered by_reading = asked_by(readings);
  std::optional<Predictions> of_pairs;
  const std::size_t count = lineup.suspects.size();
  const ShownAt shown = [&](std::size_t s, std::size_t r) -> const Shown& {
    return s < count ? single.at(s, asked.of_reading[r])
                     : of_pairs->at(s - count, by_reading.of_reading[r]);
  };
  Ranking ranking = rank(lineup.weights, readings, shown);
  diagnosis.looked_at_pairs = ranking.suspects.front().misfits > 0;
  // Behind a fault that is nearly sure another one may hide.
  const bool is_nearly_sure =
      diagnosis.readings > 0 &&
      groups_of(ranking.suspects, readings, shown).front().probability > kNearlySure;
  if (diagnosis.looked_at_pairs || is_nearly_sure) {
    const std::vector<Suspect> pairs =
        likely_pairs(faults, readings, single, asked, options.most_pairs);
    std::vector<std::size_t> in_single(by_reading.questions.size());
    for (std::size_t r = 0; r < readings.size(); ++r)
      in_single[by_reading.of_reading[r]] = asked.of_reading[r];
    of_pairs = predict_pairs(circuit, meter, by_reading.questions, faults, pairs,
                             options.predict,
                             [&](std::size_t fault, std::size_t q) -> const Shown& {
                               return single.at(fault + 1, in_single[q]);
                             });
    add_pairs(faults, pairs, lineup);
    ranking = rank(lineup.weights, readings, shown);
  }
  const std::vector<Group> groups = groups_of(ranking.suspects, readings, shown);
  tell_groups(groups, lineup, readings, shown, diagnosis);
  if (options.wants_next) {
    // What only a slip explains, or what all hangs on, may be looked at once more.
    std::vector<std::size_t> doubted = diagnosis.groups.front().misfits;
    if (ranking.rests_on && readings[*ranking.rests_on].question.asks != Asks::looks)
      doubted.push_back(*ranking.rests_on);
    diagnosis.next =
        next_reading(circuit, faults, meter, readings, lineup, ranking.suspects, groups,
                     doubted, !diagnosis.dangers.empty(), options);
  }
  diagnosis.faults = std::move(faults);
  return diagnosis;
}

Predictions foreseen(const Circuit& circuit, std::span<const Fault> faults,
                     const Meter& meter, const PredictOptions& options) {
  return predict(circuit, meter, all_questions(circuit), faults, singles(faults.size()),
                 options);
}

void confirm(const Circuit& circuit, const Meter& meter,
             std::span<const TakenReading> readings, const Solve& engine,
             Diagnosis& diagnosis) {
  constexpr std::size_t kMostConfirmed = 3;
  constexpr double kWorthIt = 0.05;
  const Answered answered = asked_by(readings);
  std::vector<Suspect> leaders;
  for (const LikelyGroup& group : diagnosis.groups)
    if (leaders.size() < kMostConfirmed && group.probability >= kWorthIt)
      leaders.push_back(group.causes.front().suspect);
  PredictOptions by_nodal;
  by_nodal.spread = false;
  PredictOptions by_engine = by_nodal;
  by_engine.witness = engine;
  const Predictions nodal =
      predict(circuit, meter, answered.questions, diagnosis.faults, leaders, by_nodal);
  const Predictions other =
      predict(circuit, meter, answered.questions, diagnosis.faults, leaders, by_engine);
  for (std::size_t g = 0; g < leaders.size(); ++g) {
    bool agrees = true;
    for (std::size_t q = 0; q < answered.questions.size(); ++q)
      agrees = agrees && is_same_shown(answered.questions[q].asks, nodal.at(g, q),
                                       other.at(g, q));
    diagnosis.groups[g].confirmed = agrees;
  }
}

}  // namespace benchproof
