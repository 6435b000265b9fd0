#include <algorithm>
#include <cmath>

#include "core/board/proof/proof.h"

namespace benchproof {

AreaNeed area_need(const Circuit& circuit, const Board& board) {
  AreaNeed need;
  double area = 0.0;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    const PartShape& shape = *shape_of(part).shape;
    if (board.is_off[k] || shape.form == ShapeForm::loose) {
      area += static_cast<double>(part.pins.size()) * kPitch * kPitch;
      continue;
    }
    // A part takes its body and a pitch beside it.
    const double diameter = shape.size("diameter");
    double width = diameter > 0.0 ? diameter : shape.size("width");
    double depth = shape.size("depth");
    double height = shape.size("height");
    double flat = height;
    switch (shape.form) {
      case ShapeForm::axial:
        width = shape.size("holes") * kPitch;
        depth = height = flat = diameter;
        break;
      case ShapeForm::radial:
        if (diameter > 0.0) depth = diameter;
        flat = depth;
        break;
      case ShapeForm::row:
        depth = flat = shape.size("before") + shape.size("behind");
        break;
      case ShapeForm::rows:
        depth = shape.size("length");
        break;
      default:
        break;
    }
    area += (width + kPitch) * (depth + kPitch);
    if (height > need.height) {
      need.height = height;
      need.highest = static_cast<int>(k);
    }
    need.flat_height = std::max(need.flat_height, std::min(flat, height));
  }
  constexpr double kFilled = 0.5;  // Common practice: parts take half of a board.
  constexpr double kAspect = 4.0 / 3.0;
  need.width = std::sqrt(area / kFilled * kAspect);
  need.depth = need.width / kAspect;
  return need;
}

}  // namespace benchproof
