#include <string>
#include <utility>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/catalogue/detail/baked.h"

namespace benchproof {
namespace {

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
  type.points.reserve(baked.points.size());
  for (const BakedPoint& p : baked.points) {
    type.points.push_back({p.amps, p.volts, p.mark, std::string(p.source)});
  }
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
