#include "tests/truth/errors.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <memory>
#include <string_view>

#include "core/base/quantity.h"

namespace benchproof::test {
namespace {

// ---- decks ----

std::vector<std::string> words_of(const std::string& line) {
  std::vector<std::string> words;
  std::size_t at = 0;
  while ((at = line.find_first_not_of(' ', at)) != std::string::npos) {
    const std::size_t end = std::min(line.find(' ', at), line.size());
    words.push_back(line.substr(at, end - at));
    at = end;
  }
  return words;
}

std::string joined(const std::vector<std::string>& words) {
  std::string line;
  for (const std::string& word : words) line += (line.empty() ? "" : " ") + word;
  return line;
}

using ChangeNumber = std::function<double(double)>;

/// A word that is a number, or a name, "=" and a number, with that one changed; it may
/// end in brackets.
std::optional<std::string> with_number(const std::string& word,
                                       const ChangeNumber& change) {
  const std::size_t sign = word.find('=');
  const std::size_t begin = sign == std::string::npos ? 0 : sign + 1;
  const std::size_t end = word.find_last_not_of(')') + 1;
  if (end <= begin) return std::nullopt;
  double value = 0.0;
  const auto parsed = std::from_chars(word.data() + begin, word.data() + end, value);
  if (parsed.ec != std::errc{} || parsed.ptr != word.data() + end) return std::nullopt;
  return word.substr(0, begin) + shortest(change(value)) + word.substr(end);
}

/// The place of one of the lines that begin with one of these letters or, a card, with
/// this text.
std::optional<std::size_t> place_of(const Lines& lines, std::string_view letters,
                                    Chance& chance, std::string_view card = {}) {
  std::vector<std::size_t> places;
  for (std::size_t k = 1; k + 1 < lines.size(); ++k) {
    const bool is_wanted =
        card.empty() ? letters.find(lines[k].front()) != std::string_view::npos
                     : lines[k].starts_with(card);
    if (is_wanted) places.push_back(k);
  }
  if (places.empty()) return std::nullopt;
  return places[chance.below(places.size())];
}

constexpr std::string_view kElements = "rclvidqmb";
constexpr std::string_view kWithTwoEnds = "rclvid";

/// The line at `at` with other words.
using ChangeWords = std::function<bool(std::vector<std::string>& words)>;

std::optional<Lines> with_words(Lines lines, std::optional<std::size_t> at,
                                const ChangeWords& change) {
  if (!at) return std::nullopt;
  std::vector<std::string> words = words_of(lines[*at]);
  if (!change(words)) return std::nullopt;
  lines[*at] = joined(words);
  return lines;
}

/// The last word of an element, its value, changed.
DeckError value_changed(std::string_view letters, const ChangeNumber& change) {
  return [letters, change](Lines lines, const Network&, Chance& chance) {
    const auto at = place_of(lines, letters, chance);
    return with_words(std::move(lines), at, [&change](auto& words) {
      const auto other = with_number(words.back(), change);
      if (other) words.back() = *other;
      return other.has_value();
    });
  };
}

std::optional<Lines> pins_exchanged(Lines lines, const Network&, Chance& chance) {
  const auto at = place_of(lines, kElements, chance);
  return with_words(std::move(lines), at, [&chance](auto& words) {
    const bool has_two = kWithTwoEnds.find(words[0][0]) != std::string_view::npos;
    const std::size_t first = has_two ? 1 : 1 + chance.below(2);
    if (words.size() < first + 2 || words[first] == words[first + 1]) return false;
    std::swap(words[first], words[first + 1]);
    return true;
  });
}

/// One of an element's first two ends elsewhere.
std::optional<Lines> end_at(Lines lines, Chance& chance, const std::string& node) {
  const auto at = place_of(lines, kElements, chance);
  return with_words(std::move(lines), at, [&](auto& words) {
    const std::size_t end = 1 + chance.below(2);
    if (words.size() < 4 || words[end] == node) return false;
    words[end] = node;
    return true;
  });
}

std::optional<Lines> wrong_node(Lines lines, const Network& network, Chance& chance) {
  const std::size_t nodes = network.structure->nodes.size();
  const std::string node = "n" + std::to_string(1 + chance.below(nodes - 1));
  return end_at(std::move(lines), chance, node);
}

std::optional<Lines> loose_end(Lines lines, const Network&, Chance& chance) {
  return end_at(std::move(lines), chance, "loose");
}

std::optional<Lines> line_dropped(Lines lines, const Network&, Chance& chance) {
  const auto at = place_of(lines, kElements, chance);
  if (!at) return std::nullopt;
  lines.erase(lines.begin() + static_cast<std::ptrdiff_t>(*at));
  return lines;
}

std::optional<Lines> other_parameter(Lines lines, const Network&, Chance& chance) {
  const auto at = place_of(lines, {}, chance, ".model");
  return with_words(std::move(lines), at, [&chance](auto& words) {
    const ChangeNumber change = [](double x) { return x * 1.1; };
    std::vector<std::size_t> numbers;
    for (std::size_t k = 2; k < words.size(); ++k)
      if (with_number(words[k], change)) numbers.push_back(k);
    if (numbers.empty()) return false;
    std::string& word = words[numbers[chance.below(numbers.size())]];
    word = *with_number(word, change);
    return true;
  });
}

std::optional<Lines> other_temperature(Lines lines, const Network&, Chance& chance) {
  const auto at = place_of(lines, {}, chance, ".options");
  return with_words(std::move(lines), at, [](auto& words) {
    for (std::string& word : words) {
      if (!word.starts_with("temp=")) continue;
      word = *with_number(word, [](double x) { return x + 1.0; });
      return true;
    }
    return false;
  });
}

// ---- networks ----

/// A network's copy with a structure of its own to change.
struct Copy {
  explicit Copy(const Network& network)
      : structure(std::make_shared<Structure>(*network.structure)),
        misled{network, std::nullopt} {
    misled.network.structure = structure;
  }
  std::shared_ptr<Structure> structure;
  Misled misled;
};

/// One of the elements with two ends but capacitors, which at rest do nothing; null
/// where there are none.
TwoEnds* one_with_two_ends(Structure& s, Chance& chance) {
  std::vector<TwoEnds*> all;
  for (auto* list :
       {&s.resistors, &s.inductors, &s.voltage_sources, &s.current_sources, &s.diodes})
    for (TwoEnds& e : *list) all.push_back(&e);
  return all.empty() ? nullptr : all[chance.below(all.size())];
}

ThreeEnds* one_with_three_ends(Structure& s, Chance& chance) {
  std::vector<ThreeEnds*> all;
  for (auto* list : {&s.bipolars, &s.mosfets, &s.regulators})
    for (ThreeEnds& e : *list) all.push_back(&e);
  return all.empty() ? nullptr : all[chance.below(all.size())];
}

using NumbersOf = std::function<std::vector<double*>(Values&)>;

/// One of some of a network's numbers, multiplied.
NetworkError multiplied(const NumbersOf& numbers, double factor) {
  return [numbers, factor](const Network& network,
                           Chance& chance) -> std::optional<Misled> {
    Misled misled{network, std::nullopt};
    const std::vector<double*> all = numbers(misled.network.values);
    if (all.empty()) return std::nullopt;
    *all[chance.below(all.size())] *= factor;
    return misled;
  };
}

std::vector<double*> source_values(Values& v) {
  std::vector<double*> all;
  for (auto* list : {&v.volts, &v.amps})
    for (double& value : *list) all.push_back(&value);
  return all;
}

std::vector<double*> values(Values& v) {
  std::vector<double*> all = source_values(v);
  for (double& ohms : v.ohms) all.push_back(&ohms);
  return all;
}

std::vector<double*> parameters(Values& v) {
  std::vector<double*> all;
  for (DiodeModel& m : v.diodes) all.insert(all.end(), {&m.is, &m.n, &m.rs});
  for (BipolarModel& m : v.bipolars) all.insert(all.end(), {&m.is, &m.bf, &m.nf});
  for (MosModel& m : v.mosfets) {
    all.insert(all.end(), {&m.vto, &m.kp});
    if (m.rd > 0.0) all.push_back(&m.rd);
  }
  for (RegulatorModel& m : v.regulators)
    all.insert(all.end(), {&m.output, &m.dropout, &m.quiescent});
  return all;
}

std::optional<Misled> two_exchanged(const Network& network, Chance& chance) {
  Copy copy(network);
  TwoEnds* e = one_with_two_ends(*copy.structure, chance);
  if (e == nullptr) return std::nullopt;
  std::swap(e->a, e->b);
  return copy.misled;
}

std::optional<Misled> two_of_three_exchanged(const Network& network, Chance& chance) {
  Copy copy(network);
  ThreeEnds* e = one_with_three_ends(*copy.structure, chance);
  if (e == nullptr) return std::nullopt;
  const std::size_t first = chance.below(3);
  std::swap(e->ends[first], e->ends[(first + 1) % 3]);
  return copy.misled;
}

std::optional<Misled> moved_end(const Network& network, Chance& chance) {
  Copy copy(network);
  TwoEnds* e = one_with_two_ends(*copy.structure, chance);
  const int to = static_cast<int>(chance.below(copy.structure->nodes.size()));
  if (e == nullptr || e->a == to || e->b == to) return std::nullopt;
  (chance.below(2) == 0 ? e->a : e->b) = to;
  return copy.misled;
}

std::optional<Misled> unconnected(const Network& network, Chance& chance) {
  Copy copy(network);
  TwoEnds* e = one_with_two_ends(*copy.structure, chance);
  if (e == nullptr) return std::nullopt;
  (chance.below(2) == 0 ? e->a : e->b) = static_cast<int>(copy.structure->nodes.size());
  copy.structure->nodes.emplace_back("loose");
  return copy.misled;
}

std::optional<Misled> resistor_dropped(const Network& network, Chance& chance) {
  Copy copy(network);
  std::vector<TwoEnds>& resistors = copy.structure->resistors;
  std::vector<double>& ohms = copy.misled.network.values.ohms;
  if (resistors.empty()) return std::nullopt;
  const std::size_t k = chance.below(resistors.size());
  resistors.erase(resistors.begin() + static_cast<std::ptrdiff_t>(k));
  ohms.erase(ohms.begin() + static_cast<std::ptrdiff_t>(k));
  copy.misled.dropped_resistor = k;
  return copy.misled;
}

std::optional<Misled> warmer(const Network& network, Chance&) {
  Misled misled{network, std::nullopt};
  misled.network.celsius += 1.0;
  return misled;
}

}  // namespace

const std::vector<std::pair<std::string, DeckError>>& deck_errors() {
  static const std::vector<std::pair<std::string, DeckError>> errors{
      {"a value by a thousandth",
       value_changed("rvi", [](double x) { return x * 1.001; })},
      {"a value tenfold", value_changed("rvi", [](double x) { return x * 10.0; })},
      {"a source's sign", value_changed("vi", [](double x) { return -x; })},
      {"two pins exchanged", pins_exchanged},
      {"a wrong node", wrong_node},
      {"an unconnected pin", loose_end},
      {"a line dropped", line_dropped},
      {"a model's parameter by a tenth", other_parameter},
      {"the temperature by a degree", other_temperature}};
  return errors;
}

const std::vector<std::pair<std::string, NetworkError>>& network_errors() {
  static const std::vector<std::pair<std::string, NetworkError>> errors{
      {"a value by a thousandth", multiplied(values, 1.001)},
      {"a value tenfold", multiplied(values, 10.0)},
      {"a source's sign", multiplied(source_values, -1.0)},
      {"two pins exchanged", two_exchanged},
      {"two pins of three exchanged", two_of_three_exchanged},
      {"a wrong node", moved_end},
      {"an unconnected pin", unconnected},
      {"a resistor dropped", resistor_dropped},
      {"a parameter by a tenth", multiplied(parameters, 1.1)},
      {"the temperature by a degree", warmer}};
  return errors;
}

}  // namespace benchproof::test
