#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <utility>

#include "core/base/pieces.h"
#include "core/catalogue/figure_names.h"
#include "core/catalogue/read/detail/data_file.h"
#include "core/catalogue/read/figure_order.h"

namespace benchproof {
namespace {

/// What a description names the type by: a battery's words, else its name. Upper and
/// lower case are the same, so that no two types are told apart by that alone.
std::pair<KindId, std::string> call_of(const Type& type) {
  if (type.kind != KindId::battery || type.name == kDefaultType)
    return {type.kind, lower_case(type.name)};
  std::string words;
  for (const auto& [key, value] : type.words)
    words += fmt::format("{}={}\n", key, value);
  return {type.kind, lower_case(words)};
}

/// What a type of each kind cannot do without, separated by spaces.
struct Needs {
  std::string_view figures;
  std::string_view words;
};

Needs needs_of(const Type& type) {
  switch (type.kind) {
    case KindId::light_resistor:
    case KindId::heat_resistor:
      return {"value", ""};
    case KindId::zener:
      return {"voltage test_current slope n", ""};
    case KindId::transistor:
      return {"base_volts base_volts_current gain reverse_gain", "polarity"};
    case KindId::mosfet:
      return {"threshold on_resistance on_gate", "channel"};
    case KindId::regulator:
      // The default of `quiescent` is no adjust pin's current.
      return {type.words.contains("adjustable") ? "output quiescent" : "output", ""};
    case KindId::battery:
      return {"open_circuit resistance", "chemistry size charge"};
    case KindId::lamp:
    case KindId::motor:
    case KindId::relay_coil:
    case KindId::buzzer:
      return {"voltage current", ""};
    default:
      return {"", ""};
  }
}

std::optional<Figure> known(const Type& type, std::string_view name) {
  const auto found = type.figures.find(name);
  if (found == type.figures.end()) return std::nullopt;
  return found->second;
}

/// The figure that a bound bounds stands between its least and its most.
FigureOrder order_of(KindId kind, const FigureBound& bound, std::string_view name) {
  if (bound.is_least)
    return {kind, name, false, bound.figure, "it is the least that such parts have"};
  return {kind, bound.figure, false, name, "that is the most that such parts have"};
}

/// A bound without what it bounds.
void complain_of_bound(DataFile& file, Draft& draft, std::string_view figure,
                       std::string_view bound) {
  complain(
      file, kKeyMissing, draft.span,
      fmt::format("{} has '{}' and no '{}'", quoted(draft.type.name), bound, figure),
      "a bound stands beside the figure that it bounds");
  draft.is_whole = false;
}

/// Points of what goes by one number stand in its order, so that it can be told between
/// them.
void check_rising(DataFile& file, Draft& draft) {
  for (const auto& [name, curve] : draft.type.curves) {
    const CurveName* known = find_curve_name(name);
    if (known == nullptr || !known->beside.symbol.empty()) continue;
    const auto wrong = std::adjacent_find(
        curve.begin(), curve.end(),
        [](const CurvePoint& a, const CurvePoint& b) { return a.at >= b.at; });
    if (wrong == curve.end()) continue;
    complain(file, kFigureOrder, draft.span,
             fmt::format("the points of '{}' of {} do not rise with {}", name,
                         quoted(draft.type.name), known->at.symbol),
             "write the smallest first, each once");
    draft.is_whole = false;
  }
}

}  // namespace

void check_names(DataFile& file) {
  std::map<std::pair<KindId, std::string>, std::string> taken;
  for (const Type& type : file.known.types()) taken[call_of(type)] = type.name;
  std::map<std::pair<KindId, std::string>, std::string> own;
  for (Draft& draft : file.drafts) {
    const Type& type = draft.type;
    const std::string& name = type.name;
    const std::string_view kind_name = kind(type.kind).name;
    if (file.author == Author::user && name == kDefaultType) {
      complain(file, kNameReserved, draft.span, "'default' cannot be a type's name");
      continue;
    }
    if (const auto found = taken.find(call_of(type)); found != taken.end()) {
      complain(file, kTypeKnown, draft.span,
               fmt::format("the catalogue has a {} {} already", kind_name,
                           quoted(found->second)),
               type.kind == KindId::battery
                   ? "give it another chemistry or size: a name means one thing"
                   : "give it a name of its own: a name means one thing");
    }
    if (!own.emplace(call_of(type), name).second)
      complain(file, kTypeTwice, draft.span,
               fmt::format("there is a second {} {}", kind_name, quoted(name)));
  }
}

void check_orders(DataFile& file, Draft& draft) {
  if (!draft.is_whole) return;
  std::vector<FigureOrder> orders;
  for (const FigureOrder& order : figure_orders())
    if (order.kind == draft.type.kind) orders.push_back(order);
  for (const auto& [name, figure] : draft.type.figures)
    if (const auto bound = figure_bound(name)) {
      if (!draft.type.figures.contains(bound->figure))
        complain_of_bound(file, draft, bound->figure, name);
      orders.push_back(order_of(draft.type.kind, *bound, name));
    }
  for (const FigureOrder& order : orders) {
    auto problem = order_problem(order, draft.type.name, known(draft.type, order.key),
                                 known(draft.type, order.other));
    if (!problem) continue;
    complain(file, kFigureOrder, draft.span, std::move(problem->message),
             std::move(problem->hint));
    draft.is_whole = false;
  }
  check_rising(file, draft);
  if (!draft.type.points.empty()) return;
  if (!draft.type.points_least.empty())
    complain_of_bound(file, draft, "points", "points_least");
  if (!draft.type.points_most.empty())
    complain_of_bound(file, draft, "points", "points_most");
}

void check_needs(DataFile& file, Draft& draft) {
  const Type& type = draft.type;
  if (!draft.is_whole || type.name == kDefaultType) return;
  const auto lacks = [&](std::string_view what, std::string_view name,
                         std::string_view about) {
    complain(file, kKeyMissing, draft.span,
             fmt::format("{} needs the {} '{}'", quoted(type.name), what, name),
             about.empty() ? "" : fmt::format("{}: {}", name, about));
    draft.is_whole = false;
  };
  const Needs needs = needs_of(type);
  for (const std::string& name : split_words(needs.words))
    if (!type.words.contains(name))
      lacks("word", name, find_key(kind(type.kind), name)->about);
  for (const std::string& name : split_words(needs.figures)) {
    if (type.figures.contains(name)) continue;
    const Key* key = find_key(kind(type.kind), name);
    const FigureName* further = find_figure_name(name);
    lacks("figure", name,
          key != nullptr ? key->about : (further != nullptr ? further->about : ""));
  }
  const bool has_knee = type.figures.contains("knee_slope");
  if (type.kind == KindId::zener && has_knee && !type.figures.contains("knee_current"))
    lacks("figure", "knee_current", find_figure_name("knee_current")->about);
}

}  // namespace benchproof
