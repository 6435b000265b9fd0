#include "core/circuit/tolerance.h"

#include <algorithm>

namespace benchproof {
namespace {

/// The widest tolerance that parts of a series are sold with.
double sold_with(Series series) {
  switch (series) {
    case Series::e48:
      return 0.02;
    case Series::e96:
      return 0.01;
    case Series::e192:
      return 0.005;
    case Series::e3:
    case Series::e6:
    case Series::e12:
    case Series::e24:
      break;
  }
  return 1.0;
}

/// What parts of a kind are usually sold with: aluminium electrolytics +-20 %, while
/// many film and X7R ones are tighter; chokes +-20 %. Common practice, no source.
std::optional<double> usual_tolerance(KindId kind) {
  if (kind == KindId::capacitor || kind == KindId::inductor) return 0.2;
  return std::nullopt;
}

}  // namespace

std::optional<double> tolerance_of(const Part& part, std::string_view key,
                                   std::optional<Series> series) {
  if (key != "value") return std::nullopt;
  const auto told = number_of(part, "tolerance");
  if (!told) return usual_tolerance(part.kind);
  if (!series || part.settings.contains("tolerance")) return told;
  return std::min(*told, sold_with(*series));
}

std::optional<PublishedBounds> published_bounds(const Part& part,
                                                std::string_view key) {
  if (part.type == nullptr || part.settings.contains(key)) return std::nullopt;
  const auto of_type = [&part](const std::string& name) {
    const auto found = part.type->figures.find(name);
    return found == part.type->figures.end() ? std::nullopt
                                             : std::optional(found->second);
  };
  const std::string name(key);
  const auto usual = figure(part, name);
  auto least = of_type(name + "_least");
  auto most = of_type(name + "_most");
  if (!usual && (!least || !most)) return std::nullopt;
  if (!least && !most) return std::nullopt;
  return PublishedBounds{least ? *std::move(least) : *usual,
                         most ? *std::move(most) : *usual};
}

std::vector<std::string> bounded_figures(const Part& part) {
  std::vector<std::string> names;
  if (part.type == nullptr) return names;
  if (!part.type->points.empty()) names.emplace_back("forward");
  for (const auto& [name, value] : part.type->figures) {
    for (const std::string_view end : {"_least", "_most"}) {
      if (!name.ends_with(end)) continue;
      std::string key = name.substr(0, name.size() - end.size());
      const bool is_known = std::find(names.begin(), names.end(), key) != names.end();
      if (!is_known && published_bounds(part, key)) names.push_back(std::move(key));
    }
  }
  return names;
}

std::optional<Unit> unit_of_target(const Part& part, std::string_view key) {
  const Key* known = find_key(kind(part.kind), key);
  const bool is_number = known != nullptr && (known->shape == Shape::quantity ||
                                              known->shape == Shape::number);
  if (is_number) return known->unit;
  const std::vector<std::string> figures = bounded_figures(part);
  if (std::find(figures.begin(), figures.end(), key) == figures.end())
    return std::nullopt;
  if (key == "forward") return Unit::volt;
  const auto bounds = published_bounds(part, key);
  return bounds ? std::optional(bounds->least.unit) : std::nullopt;
}

}  // namespace benchproof
