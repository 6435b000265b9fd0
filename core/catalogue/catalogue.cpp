#include "core/catalogue/catalogue.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

namespace benchproof {

std::string_view mark_word(Mark mark) {
  switch (mark) {
    case Mark::verified:
      return "verified";
    case Mark::memory:
      return "memory";
    case Mark::practice:
      return "practice";
    case Mark::given:
      return "given";
    case Mark::derived:
      return "derived";
  }
  return "";
}

std::optional<CurvePoint> point_at(const FigureCurve& curve, double at) {
  if (curve.empty()) return std::nullopt;
  const auto above = std::find_if(curve.begin(), curve.end(),
                                  [&](const CurvePoint& p) { return p.at >= at; });
  if (above == curve.begin()) return curve.front();
  if (above == curve.end()) return curve.back();
  if (above->at == at) return *above;
  const CurvePoint& low = *std::prev(above);
  const double share = std::log(at / low.at) / std::log(above->at / low.at);
  CurvePoint point = share < 0.5 ? low : *above;
  point.at = at;
  point.value = low.value * std::pow(above->value / low.value, share);
  return point;
}

Catalogue::Catalogue(std::vector<Type> types) : types_(std::move(types)) {}

const Type* Catalogue::find(KindId kind, std::string_view name) const {
  const auto found = std::find_if(types_.begin(), types_.end(), [&](const Type& type) {
    return type.kind == kind && type.name == name;
  });
  return found == types_.end() ? nullptr : &*found;
}

const Type* Catalogue::find_by_words(
    KindId kind, const std::map<std::string, std::string, std::less<>>& words) const {
  const auto has = [](const Type& type, const auto& word) {
    const auto found = type.words.find(word.first);
    return found != type.words.end() && found->second == word.second;
  };
  const auto found = std::find_if(types_.begin(), types_.end(), [&](const Type& type) {
    return type.kind == kind && type.name != "default" &&
           std::all_of(words.begin(), words.end(),
                       [&](const auto& word) { return has(type, word); });
  });
  return found == types_.end() ? nullptr : &*found;
}

const Type* Catalogue::defaults(KindId kind) const { return find(kind, "default"); }

std::vector<std::string> Catalogue::names(KindId kind) const {
  std::vector<std::string> names;
  for (const Type& type : types_) {
    if (type.kind == kind && type.name != "default") names.push_back(type.name);
  }
  return names;
}

std::vector<std::string> Catalogue::words(KindId kind, std::string_view word) const {
  std::vector<std::string> words;
  for (const Type& type : types_) {
    if (type.kind != kind) continue;
    const auto found = type.words.find(word);
    if (found != type.words.end() &&
        std::find(words.begin(), words.end(), found->second) == words.end()) {
      words.push_back(found->second);
    }
  }
  return words;
}

}  // namespace benchproof
