#include "core/diagnose/sheet.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <queue>
#include <tuple>
#include <utility>

#include "core/circuit/topology.h"
#include "core/diagnose/likelihood.h"
#include "core/diagnose/ranking.h"

namespace benchproof {
namespace {

/// A sound copy's figure lies within so many deviations.
constexpr double kSoundBand = 2.5;
/// Pairs of classes that are weighed at a time; of more, evenly chosen ones.
constexpr std::size_t kMostWeighedPairs = 20'000;

int net_index_of(const Circuit& circuit, const std::string& name) {
  return name.empty() ? 0 : find_net(circuit, name);
}

int part_index_of(const Circuit& circuit, const std::string& name) {
  for (std::size_t k = 0; k < circuit.parts.size(); ++k)
    if (circuit.parts[k].name == name) return static_cast<int>(k);
  return -1;
}

/// The parts of which a question tells something: those on its net, or its own.
std::vector<std::string> parts_at(const Circuit& circuit, const Question& question) {
  if (!question.part.empty()) return {question.part};
  std::vector<std::string> parts;
  const int net = net_index_of(circuit, question.net);
  if (net < 0) return parts;
  for (const PinRef& pin : circuit.nets[static_cast<std::size_t>(net)].pins) {
    const std::string& name = circuit.parts[static_cast<std::size_t>(pin.part)].name;
    if (std::find(parts.begin(), parts.end(), name) == parts.end())
      parts.push_back(name);
  }
  return parts;
}

/// Where a question comes in the order of measuring.
using Place = std::tuple<bool, bool, std::size_t, std::size_t, int, std::size_t>;

Place place_of(const Circuit& circuit, const std::vector<std::size_t>& order,
               const Question& question, std::size_t number) {
  std::size_t state = 0;
  for (std::size_t k = 0; k < circuit.states.size(); ++k)
    if (circuit.states[k].name == question.state) state = k + 1;
  std::size_t along = circuit.nets.size();
  if (!question.part.empty()) {
    const int part = part_index_of(circuit, question.part);
    if (part >= 0)
      for (const int net : circuit.parts[static_cast<std::size_t>(part)].nets)
        if (net >= 0) along = std::min(along, order[static_cast<std::size_t>(net)]);
  } else if (const int net = net_index_of(circuit, question.net); net >= 0) {
    along = order[static_cast<std::size_t>(net)];
  }
  return {question.powered,
          question.out.empty(),
          state,
          question.asks == Asks::looks ? 1U : 0U,
          static_cast<int>(along),
          number};
}

/// Two classes that some reading may part.
using ClassPair = std::pair<std::size_t, std::size_t>;

/// What each suspect shows, by representatives of classes.
class Parting {
 public:
  Parting(const Predictions& shown,
          const std::vector<std::vector<std::size_t>>& classes)
      : shown_(shown) {
    for (const auto& each : classes) first_.push_back(each.front());
    for (std::size_t a = 0; a < first_.size(); ++a)
      for (std::size_t b = a + 1; b < first_.size(); ++b) left_.emplace_back(a, b);
  }

  [[nodiscard]] std::size_t left() const { return left_.size(); }
  /// The pairs that no question taken so far parts, in order.
  [[nodiscard]] const std::vector<ClassPair>& pairs_left() const { return left_; }

  [[nodiscard]] bool parts(std::size_t question, const ClassPair& pair) const {
    return are_parted(shown_.questions()[question].asks,
                      shown_.at(first_[pair.first], question),
                      shown_.at(first_[pair.second], question));
  }

  /// The share of the pairs left that a question parts, of some of them.
  [[nodiscard]] double share_parted(std::size_t question) const {
    const std::size_t step = left_.size() / kMostWeighedPairs + 1;
    std::size_t hits = 0;
    std::size_t looked = 0;
    for (std::size_t k = 0; k < left_.size(); k += step, ++looked)
      if (parts(question, left_[k])) ++hits;
    return looked > 0 ? static_cast<double>(hits) / static_cast<double>(looked) : 0.0;
  }

  /// Takes out the pairs that a question parts. Returns whether there are any.
  bool take(std::size_t question) {
    return std::erase_if(
               left_, [&](const ClassPair& pair) { return parts(question, pair); }) > 0;
  }

 private:
  const Predictions& shown_;
  std::vector<std::size_t> first_;
  std::vector<ClassPair> left_;
};

/// The questions that together part all pairs that can be parted, as few as are found.
/// What a question parts only falls as others are chosen, so that one whose old figure
/// is below the best new one need not be looked at again.
std::vector<std::size_t> fewest(const Predictions& shown, Parting& parting) {
  const std::vector<Question>& questions = shown.questions();
  std::priority_queue<std::pair<double, std::size_t>> waiting;
  const auto score = [&](std::size_t q) {
    return parting.share_parted(q) * static_cast<double>(parting.left()) /
           trouble_of(questions[q], nullptr);
  };
  // Of equals the first in order.
  const auto key = [&questions](std::size_t q) { return questions.size() - q; };
  for (std::size_t q = 0; q < questions.size(); ++q) waiting.emplace(score(q), key(q));
  std::vector<std::size_t> chosen;
  while (!waiting.empty() && parting.left() > 0) {
    const auto [old_score, top] = waiting.top();
    waiting.pop();
    if (old_score <= 0.0) continue;
    const std::size_t q = questions.size() - top;
    const double now = score(q);
    if (!waiting.empty() && now < waiting.top().first) {
      if (now > 0.0) waiting.emplace(now, top);
      continue;
    }
    if (parting.take(q)) chosen.push_back(q);
  }
  return chosen;
}

/// Classes that nothing parts from the first of them put together: their suspects.
std::vector<std::vector<std::size_t>> unparted(
    const std::vector<std::vector<std::size_t>>& classes,
    const std::vector<ClassPair>& left) {
  std::vector<std::size_t> leader(classes.size());
  for (std::size_t k = 0; k < classes.size(); ++k) leader[k] = k;
  for (const auto& [a, b] : left)  // In order: a leader is settled before it is asked.
    if (leader[a] == a && leader[b] == b) leader[b] = a;
  std::vector<std::vector<std::size_t>> together(classes.size());
  for (std::size_t k = 0; k < classes.size(); ++k)
    together[leader[k]].insert(together[leader[k]].end(), classes[k].begin(),
                               classes[k].end());
  std::erase_if(together, [](const auto& each) { return each.empty(); });
  return together;
}

SheetLine line_of(const Circuit& circuit, const Predictions& shown, std::size_t q) {
  SheetLine line;
  line.question = shown.questions()[q];
  const Shown& sound = shown.at(0, q);
  line.is_open = sound.open;
  line.looks = sound.looks;
  if (line.question.asks != Asks::looks && !sound.open &&
      !is_unknown(line.question.asks, sound)) {
    const double room = kSoundBand * deviation_of(line.question.asks, sound);
    line.least = sound.value - room;
    line.most = sound.value + room;
    if (line.question.asks == Asks::resistance) line.least = std::max(0.0, *line.least);
  }
  line.parts = parts_at(circuit, line.question);
  for (std::size_t s = 1; s < shown.suspects().size(); ++s)
    if (are_parted(line.question.asks, sound, shown.at(s, q)))
      line.points_to.push_back(static_cast<std::size_t>(shown.suspects()[s].first));
  return line;
}

/// Readings of the rails as the power comes on for the first time, in the first state,
/// chips still out of their sockets.
std::vector<Question> power_up(const Circuit& circuit) {
  Question question;
  for (const Part& part : circuit.parts)
    if (part.kind == KindId::controller) question.out.push_back(part.name);
  for (const State& state : circuit.states)
    if (question.state.empty() && state.steady) question.state = state.name;
  std::vector<Question> questions;
  if (question.out.empty() || question.state.empty()) return questions;
  for (std::size_t net = 1; net < circuit.nets.size(); ++net) {
    if (!is_rail(circuit, static_cast<int>(net))) continue;
    question.net = circuit.nets[net].name;
    questions.push_back(question);
  }
  return questions;
}

}  // namespace

std::vector<std::size_t> path_order(const Circuit& circuit) {
  const std::size_t count = circuit.nets.size();
  std::vector<std::size_t> order(count, count);
  std::vector<std::size_t> row;
  const auto come_to = [&](int net) {
    if (net <= 0 || order[static_cast<std::size_t>(net)] < count) return;
    order[static_cast<std::size_t>(net)] = row.size();
    row.push_back(static_cast<std::size_t>(net));
  };
  for (const Part& part : circuit.parts)
    if (is_source(part.kind) && !part.nets.empty()) come_to(part.nets.front());
  for (std::size_t k = 0; k <= count; ++k) {
    // What no source reaches comes after the rest, as it is described.
    if (k >= row.size()) {
      for (std::size_t net = 1; net < count && k >= row.size(); ++net)
        come_to(static_cast<int>(net));
      if (k >= row.size()) break;
    }
    for (const PinRef& pin : circuit.nets[row[k]].pins)
      for (const int net : circuit.parts[static_cast<std::size_t>(pin.part)].nets)
        come_to(net);
  }
  if (count > 0) order[0] = count;
  return order;
}

Sheet sheet_of(const Circuit& circuit, std::vector<Fault> faults, const Meter& meter,
               const PredictOptions& options) {
  const std::vector<std::size_t> order = path_order(circuit);
  std::vector<Question> questions = all_questions(circuit);
  for (Question& question : power_up(circuit)) questions.push_back(std::move(question));
  std::vector<std::pair<Place, std::size_t>> places;
  for (std::size_t q = 0; q < questions.size(); ++q)
    places.emplace_back(place_of(circuit, order, questions[q], q), q);
  std::sort(places.begin(), places.end());
  std::vector<Question> in_order;
  for (const auto& [place, q] : places) in_order.push_back(questions[q]);
  // What a sound circuit need not show any figure of is no reading to take.
  const Predictions sound =
      predict(circuit, meter, in_order, faults, {Suspect{}}, options);
  std::vector<Question> told;
  for (std::size_t q = 0; q < in_order.size(); ++q)
    if (!is_unknown(in_order[q].asks, sound.at(0, q))) told.push_back(in_order[q]);
  const Predictions shown =
      predict(circuit, meter, std::move(told), faults, singles(faults.size()), options);
  Sheet sheet;
  for (std::size_t q = 0; q < shown.questions().size(); ++q)
    sheet.lines.push_back(line_of(circuit, shown, q));
  const std::vector<std::vector<std::size_t>> classes = shown.classes();
  Parting parting(shown, classes);
  for (const std::size_t q : fewest(shown, parting))
    sheet.lines[q].is_worth_taking = true;
  for (const std::vector<std::size_t>& each : unparted(classes, parting.pairs_left())) {
    ++sheet.classes;
    if (each.size() < 2) continue;
    std::vector<int>& alike = sheet.alike.emplace_back();
    for (const std::size_t s : each) alike.push_back(shown.suspects()[s].first);
  }
  sheet.faults = std::move(faults);
  return sheet;
}

ShortSheet after_build(const Sheet& sheet, std::size_t most) {
  ShortSheet result;
  double all = 0.0;
  for (const Fault& fault : sheet.faults) all += fault.weight;
  std::vector<char> is_excluded(sheet.faults.size(), 0);
  while (result.lines.size() < most) {
    double best = 0.0;
    std::size_t chosen = sheet.lines.size();
    for (std::size_t k = 0; k < sheet.lines.size(); ++k) {
      double gain = 0.0;
      for (const std::size_t f : sheet.lines[k].points_to)
        if (!is_excluded[f]) gain += sheet.faults[f].weight;
      gain /= std::sqrt(trouble_of(sheet.lines[k].question, nullptr));
      if (gain > best) {
        best = gain;
        chosen = k;
      }
    }
    if (chosen == sheet.lines.size()) break;
    for (const std::size_t f : sheet.lines[chosen].points_to) {
      if (!is_excluded[f] && all > 0.0) result.excluded += sheet.faults[f].weight / all;
      is_excluded[f] = 1;
    }
    result.lines.push_back(chosen);
  }
  std::sort(result.lines.begin(), result.lines.end());
  return result;
}

}  // namespace benchproof
