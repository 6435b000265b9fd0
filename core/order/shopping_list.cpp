#include "core/order/shopping_list.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <stdexcept>

#include "core/base/marking.h"
#include "core/check/rest/limits.h"
#include "core/order/buyers_notes.h"

namespace benchproof {
namespace {

/// Keys that say how a part is used, not what it is.
bool is_of_use(KindId kind, std::string_view key) {
  constexpr std::array<std::string_view, 9> kUse = {"turn",     "initial",  "outputs",
                                                    "inputs",   "analogue", "charge",
                                                    "isolated", "cells",    "length"};
  // Which supply one buys, `current` says; `limit`, what runs take of it.
  if (kind == KindId::dc_supply && key == "limit") return true;
  return std::find(kUse.begin(), kUse.end(), key) != kUse.end();
}

/// Keys whose value needs no name beside it.
bool speaks_for_itself(std::string_view key) {
  constexpr std::array<std::string_view, 12> kPlain = {
      "value",  "type",  "colour",    "size",  "chemistry", "voltage",
      "output", "power", "tolerance", "rated", "gauge",     "current"};
  return std::find(kPlain.begin(), kPlain.end(), key) != kPlain.end();
}

/// Whether one would order the two as the same thing.
bool is_same(const Part& a, const Part& b) {
  if (a.kind != b.kind) return false;
  const auto next = [](auto it, const Part& part) {
    while (it != part.settings.end() && is_of_use(part.kind, it->first)) ++it;
    return it;
  };
  auto i = next(a.settings.begin(), a);
  auto j = next(b.settings.begin(), b);
  for (; i != a.settings.end() && j != b.settings.end();
       i = next(std::next(i), a), j = next(std::next(j), b)) {
    if (i->first != j->first || !(i->second.value == j->second.value)) return false;
  }
  return i == a.settings.end() && j == b.settings.end();
}

/// "reverse 40 V", "0.25 W", "polarised"; empty for what is not told.
std::string setting_text(const Key& key, const Setting& setting) {
  std::string name(key.name);
  std::replace(name.begin(), name.end(), '_', ' ');
  if (const auto* number = std::get_if<double>(&setting.value)) {
    const std::string text = shop_text(*number, key.unit);
    return speaks_for_itself(key.name) ? text : name + " " + text;
  }
  if (const auto* flag = std::get_if<bool>(&setting.value))
    return *flag ? name : "not " + name;
  if (const auto* text = std::get_if<std::string>(&setting.value)) return *text;
  return key.shape == Shape::model ? "a model of its own" : "";
}

/// Everything the description says about what the part is, in the order of the kind's
/// keys.
std::string what_text(const Part& part) {
  std::vector<std::string> words;
  for (const Key& key : kind(part.kind).keys) {
    const auto given = part.settings.find(key.name);
    if (given == part.settings.end() || is_of_use(part.kind, key.name)) continue;
    words.push_back(setting_text(key, given->second));
  }
  return fmt::format("{}", fmt::join(words, ", "));
}

std::string type_text(const Part& part) {
  std::vector<std::string> words;
  for (const char* key : {"type", "colour", "chemistry", "size"}) {
    const auto given = part.settings.find(key);
    if (given == part.settings.end()) continue;
    if (const auto* text = std::get_if<std::string>(&given->second.value))
      words.push_back(*text);
  }
  return fmt::format("{}", fmt::join(words, " "));
}

/// The series that a kind is sold in. Common practice, no source.
struct Sold {
  Unit unit = Unit::ohm;
  std::vector<Series> series;   ///< The coarsest first.
  std::vector<Series> nearest;  ///< Those whose nearest values are told.
};

std::optional<Sold> sold_in(KindId id) {
  switch (id) {
    case KindId::resistor:
      return Sold{Unit::ohm,
                  {Series::e12, Series::e24, Series::e96},
                  {Series::e24, Series::e96}};
    case KindId::capacitor:
      return Sold{Unit::farad,
                  {Series::e6, Series::e12, Series::e24},
                  {Series::e6, Series::e12}};
    case KindId::inductor:
      return Sold{Unit::henry,
                  {Series::e6, Series::e12, Series::e24},
                  {Series::e6, Series::e12}};
    case KindId::trimmer:
      return Sold{Unit::ohm, {}, {}};
    default:
      return std::nullopt;
  }
}

std::optional<SoldValue> sold_value(const Part& part) {
  const auto sold = sold_in(part.kind);
  const auto figure_of = figure(part, "value");
  if (!sold || !figure_of) return std::nullopt;
  SoldValue result;
  result.value = figure_of->value;
  result.unit = sold->unit;
  result.code = letter_code(result.value, result.unit);
  const auto series =
      std::find_if(sold->series.begin(), sold->series.end(),
                   [&](Series s) { return is_preferred(s, result.value); });
  if (series != sold->series.end()) {
    result.series = *series;
  } else {
    for (const Series s : sold->nearest)
      result.nearest.emplace_back(s, preferred_nearest(s, result.value));
  }
  if (const auto tolerance = figure(part, "tolerance"))
    result.tolerance = tolerance->value;
  if (part.kind == KindId::resistor && result.tolerance)
    result.bands = colour_bands(result.value, *result.tolerance);
  return result;
}

OrderLine new_line(const Part& part) {
  OrderLine line;
  line.kind = part.kind;
  line.type = type_text(part);
  line.what = what_text(part);
  line.value = sold_value(part);
  return line;
}

void add_part(OrderLine& line, const Part& part, int index) {
  line.parts.push_back(index);
  const auto cells =
      part.kind == KindId::battery ? figure(part, "cells") : std::nullopt;
  line.pieces += cells ? static_cast<int>(cells->value) : 1;
  if (part.kind != KindId::wire) return;
  if (const auto length = figure(part, "length")) line.metres += length->value;
}

/// Puts a state's ratings of one part to what its line has of others.
void merge(std::vector<LeastRating>& ratings, std::vector<LeastRating> others) {
  for (LeastRating& other : others) {
    const auto same =
        std::find_if(ratings.begin(), ratings.end(),
                     [&](const LeastRating& r) { return r.key == other.key; });
    if (same == ratings.end()) {
      ratings.push_back(std::move(other));
    } else if (other.load > same->load) {
      *same = std::move(other);
    }
  }
}

const State& state_of(const Circuit& circuit, const std::string& name) {
  return *std::find_if(circuit.states.begin(), circuit.states.end(),
                       [&](const State& state) { return state.name == name; });
}

void rate_lines(const Circuit& circuit, const Verification& verification,
                const Derating& derating, std::vector<OrderLine>& lines) {
  for (const StateResult& result : verification.states) {
    const CheckInput input =
        check_input(circuit, state_of(circuit, result.name), result);
    for (OrderLine& line : lines)
      for (const int part : line.parts)
        merge(line.ratings, least_ratings(input, part, derating));
  }
}

/// Why the ratings cannot be told, or empty.
std::string obstacle(const Verification& verification) {
  if (verification.states.empty()) return "no state is judged at rest";
  for (const StateResult& state : verification.states) {
    if (state.agrees) continue;
    const auto is_told = [&state](std::string_view check) {
      return std::any_of(state.findings.begin(), state.findings.end(),
                         [check](const Finding& f) { return f.check == check; });
    };
    return fmt::format(
        "{} in state '{}'",
        is_told("current-unlimited")              ? "nothing limits a current"
        : is_told("supply-apart")                 ? "a supply never meets ground"
        : state.verdict == Verdict::disagreement  ? "the witnesses disagree"
        : state.verdict == Verdict::engine_failed ? "the engine witness has no answer"
                                                  : "the nodal witness has no answer",
        state.name);
  }
  return {};
}

void check_share(const std::optional<double>& share) {
  if (share && !(*share > 0.0 && *share <= 1.0))
    throw std::invalid_argument("a derating is a share above 0 and at most 1");
}

}  // namespace

std::string shop_text(double value, Unit unit) {
  constexpr double kLeastInWatts = 0.05;
  const bool is_in_watts = unit == Unit::watt && value >= kLeastInWatts && value < 1.0;
  // Capacitors are sold by microfarads up to the largest: nobody prints 1 mF.
  if (unit == Unit::farad && value >= 1e-3)
    return fmt::format("{:.4g} uF", value * 1e6);
  return is_in_watts ? fmt::format("{:.4g} W", value) : short_text(value, unit, 4);
}

ShoppingList shopping_list(const Circuit& circuit, const Verification& verification,
                           const Derating& derating) {
  check_share(derating.power);
  check_share(derating.voltage);
  ShoppingList list;
  for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k) {
    const Part& part = circuit.parts[static_cast<std::size_t>(k)];
    if (part.kind == KindId::voltage_source || part.kind == KindId::current_source) {
      list.not_bought.push_back(k);
      continue;
    }
    auto line =
        std::find_if(list.lines.begin(), list.lines.end(), [&](const OrderLine& l) {
          return is_same(circuit.parts[static_cast<std::size_t>(l.parts.front())],
                         part);
        });
    if (line == list.lines.end())
      line = list.lines.insert(list.lines.end(), new_line(part));
    add_part(*line, part, k);
  }
  list.without_ratings = obstacle(verification);
  if (list.without_ratings.empty())
    rate_lines(circuit, verification, derating, list.lines);
  for (OrderLine& line : list.lines) {
    line.notes = buyers_notes(circuit, line);
    if (line.kind != KindId::wire) list.pieces += line.pieces;
  }
  return list;
}

}  // namespace benchproof
