#include "tests/repair/simulated_repair.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <queue>
#include <utility>

#include "core/circuit/readings/readings.h"
#include "core/tolerance/copy/spreads.h"

namespace benchproof::test {
namespace {

constexpr double kEnough = 0.98;
constexpr double kPartsMuch = 0.2;  ///< Bits.

double between(double least, double most, std::mt19937_64& random) {
  return std::uniform_real_distribution<double>(least, most)(random);
}

const Accuracy& accuracy_of(const Meter& meter, Asks asks) {
  switch (asks) {
    case Asks::current:
      return meter.amps;
    case Asks::resistance:
      return meter.ohms;
    case Asks::diode:
      return meter.diode;
    default:
      return meter.volts;
  }
}

/// What a person with a meter writes down of what is there: three and a half digits.
TakenReading taken(const Question& question, const Shown& there, const Meter& meter,
                   std::mt19937_64& random) {
  TakenReading reading;
  reading.question = question;
  reading.looks = there.looks;
  if (question.asks == Asks::looks) {
    reading.is_reached = there.looks_sure > 0.0;  // Else there is no solution.
    return reading;
  }
  reading.is_open = there.open || std::isnan(there.value);
  if (reading.is_open && question.asks != Asks::resistance &&
      question.asks != Asks::diode) {
    reading.is_open = false;
    reading.is_reached = false;  // Without a solution there is nothing to write down.
    return reading;
  }
  if (reading.is_open) return reading;
  const Accuracy& accuracy = accuracy_of(meter, question.asks);
  const double bound = accuracy.share * std::abs(there.value) + accuracy.absolute;
  const double value = there.value + between(-bound, bound, random);
  const double size = std::max(std::abs(value), 1e-3);
  reading.last_digit = std::pow(10.0, std::floor(std::log10(size)) - 2.0);
  reading.value = std::round(value / reading.last_digit) * reading.last_digit;
  if (question.asks == Asks::resistance || question.asks == Asks::diode)
    reading.value = std::max(0.0, reading.value);
  return reading;
}

/// Whether two suspects show the same at every question, as far as readings part.
bool is_alike(const Bench& bench, const Predictions& shown, std::size_t a,
              std::size_t b) {
  for (std::size_t q = 0; q < bench.known.questions().size(); ++q)
    if (are_parted(bench.known.questions()[q].asks, shown.at(a, q), shown.at(b, q)))
      return false;
  return true;
}

std::string ids_of(const Bench& bench, const Suspect& suspect) {
  std::string ids;
  for (const int f : {suspect.first, suspect.second})
    if (f >= 0)
      ids += (ids.empty() ? "" : " + ") + bench.faults[static_cast<std::size_t>(f)].id;
  return ids.empty() ? "as meant" : ids;
}

std::string shown_words(Asks asks, const Shown& shown) {
  if (asks == Asks::looks)
    return fmt::format("{} ({:.2f})", word_of(shown.looks), shown.looks_sure);
  return shown.open
             ? "open"
             : fmt::format("{:.4g} +- {:.2g}", shown.value, deviation_of(asks, shown));
}

/// The readings, each with what the suspects should show.
std::string course_of(const Bench& bench, const std::vector<TakenReading>& readings,
                      std::vector<Suspect> suspects) {
  std::vector<Question> questions;
  for (const TakenReading& reading : readings) questions.push_back(reading.question);
  const Predictions shown = predict(bench.circuit, bench.meter, questions, bench.faults,
                                    std::move(suspects), {});
  std::string course;
  for (std::size_t r = 0; r < readings.size(); ++r) {
    const Question& q = readings[r].question;
    course += fmt::format(
        "    {}{}{} {}{}{}{}: {}; ", q.state, q.powered ? "" : " off",
        q.out.empty() ? "" : " out", style_of(q.asks).key, q.net.empty() ? "" : " ",
        q.net + q.part, q.to.empty() ? "" : " to " + q.to,
        q.asks == Asks::looks ? std::string(word_of(readings[r].looks))
        : readings[r].is_open ? std::string("open")
                              : fmt::format("{:.4g}", readings[r].value));
    for (std::size_t s = 0; s < shown.suspects().size(); ++s)
      course += (s > 0 ? " | " : "") + shown_words(q.asks, shown.at(s, r));
    course += "\n";
  }
  return course;
}

/// How many nets lie on the shortest way from a source's plus over a part to ground.
std::size_t path_length(const Circuit& circuit, const std::string& part) {
  std::vector<int> away(circuit.nets.size(), -1);
  std::queue<int> row;
  for (const Part& each : circuit.parts)
    if (is_source(each.kind) && !each.nets.empty() && each.nets[0] > 0) {
      away[static_cast<std::size_t>(each.nets[0])] = 1;
      row.push(each.nets[0]);
    }
  while (!row.empty()) {
    const int net = row.front();
    row.pop();
    for (const PinRef& pin : circuit.nets[static_cast<std::size_t>(net)].pins)
      for (const int other : circuit.parts[static_cast<std::size_t>(pin.part)].nets)
        if (other > 0 && away[static_cast<std::size_t>(other)] < 0) {
          away[static_cast<std::size_t>(other)] =
              away[static_cast<std::size_t>(net)] + 1;
          row.push(other);
        }
  }
  int longest = 1;
  for (const Part& each : circuit.parts)
    for (const int net : each.nets)
      if (net > 0 && (part.empty() || each.name == part))
        longest = std::max(longest, away[static_cast<std::size_t>(net)]);
  return static_cast<std::size_t>(longest);
}

/// A part of another type has that type's figures, not those drawn for the one meant.
void as_other_type(const Circuit& meant, const Fault& fault, Circuit& copy) {
  for (const Edit& edit : fault.edits) {
    if (edit.what != Edit::What::retype) continue;
    const auto part = static_cast<std::size_t>(edit.a.part);
    copy.parts[part].settings = meant.parts[part].settings;
    for (std::size_t s = 0; s < copy.states.size(); ++s)
      std::erase_if(copy.states[s].settings, [&](const auto& setting) {
        return setting.first.first == edit.a.part &&
               !meant.states[s].settings.contains(setting.first);
      });
  }
}

/// Halving the way to what looks wrong: log2 of its joints (two at each net), and one
/// reading more that tells which of the two is bad.
std::size_t halving(const Circuit& circuit, const std::string& wrong) {
  const double joints = 2.0 * static_cast<double>(path_length(circuit, wrong));
  return static_cast<std::size_t>(std::ceil(std::log2(joints))) + 1;
}

}  // namespace

Bench bench_of(Circuit circuit, const Catalogue& catalogue) {
  std::vector<Fault> faults = faults_of(circuit, catalogue);
  Predictions known = foreseen(circuit, faults, {});
  return {std::move(circuit), std::move(faults), {}, std::move(known)};
}

Circuit drawn_copy(const Circuit& circuit, std::mt19937_64& random) {
  Circuit copy = circuit;
  const std::vector<Spread> spreads = spreads_of(circuit);
  std::vector<double> draws(draws_of(spreads), 0.0);
  for (double& draw : draws) draw = between(0.0, 1.0, random);
  for (const Spread& spread : spreads) {
    const double place = draws[spread.draw];
    if (spread.part < 0) {
      copy.ambient = value_at(spread, circuit.parts, place);
      continue;
    }
    copy.parts[static_cast<std::size_t>(spread.part)].settings[spread.key] = {
        value_at(spread, circuit.parts, place), {}};
    for (State& state : copy.states)
      state.settings[{spread.part, spread.key}] = {
          value_at(spread, parts_in(circuit, state), place), {}};
  }
  return copy;
}

Repair repair(const Bench& bench, const Suspect& truth, std::size_t most,
              std::mt19937_64& random) {
  Repair result;
  result.truth = ids_of(bench, truth);
  const std::vector<Question>& questions = bench.known.questions();
  PredictOptions exact;
  exact.spread = false;
  exact.threads = 1;
  Circuit copy = drawn_copy(bench.circuit, random);
  for (const int f : {truth.first, truth.second})
    if (f >= 0)
      as_other_type(bench.circuit, bench.faults[static_cast<std::size_t>(f)], copy);
  const Predictions there =
      predict(copy, bench.meter, questions, bench.faults, {truth}, exact);
  const Predictions by_rights =
      predict(bench.circuit, bench.meter, questions, bench.faults, {{}, truth}, {});
  result.can_be_shown = !is_alike(bench, by_rights, 0, 1);
  std::vector<TakenReading> readings;
  std::string wrong;
  for (std::size_t q = 0; q < questions.size(); ++q) {
    if (questions[q].asks != Asks::looks) continue;
    readings.push_back(taken(questions[q], there.at(0, q), bench.meter, random));
    if (wrong.empty() && there.at(0, q).looks != bench.known.at(0, q).looks)
      wrong = questions[q].part;
  }
  result.by_eye = halving(bench.circuit, wrong);
  DiagnoseOptions options;
  options.known = &bench.known;
  options.predict.threads = 1;
  Diagnosis diagnosis;
  for (;;) {
    diagnosis = diagnose(bench.circuit, bench.faults, bench.meter, readings, options);
    result.probability = diagnosis.groups.front().probability;
    // One group holds enough, and no reading that is left would part it much further.
    const bool is_enough = result.probability >= kEnough;
    if (!diagnosis.next || result.readings >= most) break;
    if (is_enough && diagnosis.next->bits < kPartsMuch) break;
    const auto q = static_cast<std::size_t>(
        std::find(questions.begin(), questions.end(), diagnosis.next->question) -
        questions.begin());
    readings.push_back(taken(questions[q], there.at(0, q), bench.meter, random));
    ++result.readings;
  }
  const LikelyGroup& first = diagnosis.groups.front();
  result.found = ids_of(bench, first.causes.front().suspect);
  for (const Cause& cause : first.causes)
    result.is_right = result.is_right || cause.suspect == truth;
  if (!result.is_right) {
    result.course = course_of(bench, readings, {truth, first.causes.front().suspect});
    // What no reading at all parts from the truth is as right.
    const Predictions both =
        predict(bench.circuit, bench.meter, questions, bench.faults,
                {first.causes.front().suspect, truth}, {});
    result.is_right = is_alike(bench, both, 0, 1);
  }
  return result;
}

}  // namespace benchproof::test
