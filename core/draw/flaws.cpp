#include <algorithm>
#include <cstddef>
#include <string>
#include <vector>

#include "core/draw/diagram.h"

namespace benchproof {
namespace {

constexpr double kHair = 0.01;

Box box_of(const Wire& wire) {
  return {std::min(wire.from.x, wire.to.x), std::min(wire.from.y, wire.to.y),
          std::max(wire.from.x, wire.to.x), std::max(wire.from.y, wire.to.y)};
}

bool is_level(const Wire& wire) { return wire.from.y == wire.to.y; }

/// Whether two boxes have more than an edge in common; a wire is a box without area.
bool overlap(const Box& a, const Box& b) {
  return a.left < b.right - kHair && b.left < a.right - kHair &&
         a.top < b.bottom - kHair && b.top < a.bottom - kHair;
}

/// A box with what it holds, for a test's words.
struct Thing {
  Box box;
  std::string name;
};

/// Of two wires of different nets, one level and one upright.
enum class Meet { apart, crossing, touching };

Meet meet(const Wire& a, const Wire& b) {
  const Box x = box_of(a);
  const Box y = box_of(b);
  if (x.left > y.right + kHair || y.left > x.right + kHair ||
      x.top > y.bottom + kHair || y.top > x.bottom + kHair)
    return Meet::apart;
  if (is_level(a) == is_level(b)) return Meet::touching;
  const Box& level = is_level(a) ? x : y;
  const Box& upright = is_level(a) ? y : x;
  const bool is_through =
      level.left < upright.left - kHair && upright.left < level.right - kHair &&
      upright.top < level.top - kHair && level.top < upright.bottom - kHair;
  return is_through ? Meet::crossing : Meet::touching;
}

}  // namespace

DiagramFlaws flaws_of(const Circuit& circuit, const Diagram& diagram) {
  DiagramFlaws flaws;
  std::vector<Thing> things;
  for (const Symbol& symbol : diagram.symbols) {
    if (symbol.part < 0) continue;
    const std::string& name = circuit.parts[symbol.part].name;
    things.push_back({symbol.body, "symbol " + name});
    const bool is_block = circuit.parts[symbol.part].kind == KindId::controller;
    if (symbol.marks.right > symbol.marks.left && !is_block)
      things.push_back({symbol.marks, "mark of " + name});
    if (!is_block) things.push_back({symbol.words, "words of " + name});
  }
  for (const NetLabel& label : diagram.labels)
    things.push_back({label.words, "label " + circuit.nets[label.net].name});
  const auto count = [&flaws](const std::string& a, const std::string& b) {
    ++flaws.overlaps;
    if (flaws.first_overlap.empty()) flaws.first_overlap = a + " on " + b;
  };
  for (std::size_t a = 0; a < things.size(); ++a)
    for (std::size_t b = a + 1; b < things.size(); ++b)
      if (overlap(things[a].box, things[b].box)) count(things[a].name, things[b].name);
  for (std::size_t a = 0; a < diagram.wires.size(); ++a) {
    const Wire& wire = diagram.wires[a];
    const std::string name = "wire of " + circuit.nets[wire.net].name;
    Box box = box_of(wire);
    box = {box.left - 0.5, box.top - 0.5, box.right + 0.5, box.bottom + 0.5};
    for (const Thing& thing : things)
      if (overlap(box, thing.box)) count(name, thing.name);
    for (std::size_t b = a + 1; b < diagram.wires.size(); ++b) {
      if (diagram.wires[b].net == wire.net) continue;
      const Meet how = meet(wire, diagram.wires[b]);
      if (how == Meet::crossing) ++flaws.crossings;
      if (how == Meet::touching)
        count(name, "wire of " + circuit.nets[diagram.wires[b].net].name);
    }
  }
  return flaws;
}

}  // namespace benchproof
