#include <span>
#include <string>
#include <utility>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/catalogue/detail/baked.h"

namespace benchproof {
namespace {

std::vector<ForwardPoint> points_of(std::span<const BakedPoint> baked) {
  std::vector<ForwardPoint> points;
  points.reserve(baked.size());
  for (const BakedPoint& p : baked)
    points.push_back({p.amps, p.volts, p.mark, std::string(p.source)});
  return points;
}

FigureCurve curve_of(const BakedCurve& baked) {
  FigureCurve curve;
  curve.reserve(baked.points.size());
  for (const BakedCurvePoint& p : baked.points)
    curve.push_back({p.at, p.beside, p.value, p.mark, std::string(p.source)});
  return curve;
}

Type type_of(const BakedType& baked) {
  Type type;
  type.name = baked.name;
  type.kind = baked.kind;
  for (const BakedFigure& f : baked.figures) {
    type.figures.emplace_hint(type.figures.end(), f.key,
                              Figure{f.value, f.unit, f.mark, std::string(f.source),
                                     std::string(f.condition), f.is_typical});
  }
  for (const BakedWord& w : baked.words) {
    type.words.emplace_hint(type.words.end(), w.key, w.value);
  }
  type.points = points_of(baked.points);
  type.points_least = points_of(baked.points_least);
  type.points_most = points_of(baked.points_most);
  for (const BakedCurve& c : baked.curves)
    type.curves.emplace_hint(type.curves.end(), c.key, curve_of(c));
  type.model = baked.model;
  return type;
}

}  // namespace

Catalogue built_in_catalogue() {
  std::vector<Type> types;
  types.reserve(baked_types().size());
  for (const BakedType& baked : baked_types()) types.push_back(type_of(baked));
  return Catalogue(std::move(types));
}

}  // namespace benchproof
