#pragma once

#include <span>
#include <string_view>

#include "core/catalogue/catalogue.h"

namespace benchproof {

/// The built-in catalogue as constants: what bake.cpp writes at build time from
/// reference/parts/, so that the program need neither read nor fit anything when it
/// starts. Field by field the same as Type, Figure and ForwardPoint.
struct BakedFigure {
  std::string_view key;
  double value;
  Unit unit;
  Mark mark;
  std::string_view source;
  std::string_view condition;
  bool is_typical;
};

struct BakedWord {
  std::string_view key;
  std::string_view value;
};

struct BakedPoint {
  double amps;
  double volts;
  Mark mark;
  std::string_view source;
};

struct BakedCurvePoint {
  double at;
  double beside;
  double value;
  Mark mark;
  std::string_view source;
};

struct BakedCurve {
  std::string_view key;
  std::span<const BakedCurvePoint> points;
};

struct BakedType {
  std::string_view name;
  KindId kind;
  std::span<const BakedFigure> figures;  ///< By key, ascending.
  std::span<const BakedWord> words;      ///< By key, ascending.
  std::span<const BakedPoint> points;
  std::span<const BakedPoint> points_least;
  std::span<const BakedPoint> points_most;
  std::span<const BakedCurve> curves;  ///< By key, ascending.
  DeviceModel model;
};

/// All types, in the data's order. Its source is written by bake.cpp.
[[nodiscard]] std::span<const BakedType> baked_types();

}  // namespace benchproof
