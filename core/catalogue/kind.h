#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/quantity.h"

namespace benchproof {

/// The kinds of part. kind.cpp holds one table row per kind: its name, pins and keys.
enum class KindId {
  resistor,
  trimmer,
  light_resistor,
  heat_resistor,
  capacitor,
  inductor,
  diode,
  zener,
  led,
  transistor,
  mosfet,
  regulator,
  switch_,
  controller,
  dc_supply,
  battery,
  fuse,
  lamp,
  motor,
  relay_coil,
  buzzer,
  wire,
  voltage_source,
  current_source,
};

/// What may stand behind a key.
enum class Shape {
  quantity,  ///< "4k7", "12 V": a double in the key's unit.
  number,    ///< A bare number without unit (turn, cells).
  flag,      ///< true or false.
  word,      ///< One of the key's choices.
  text,      ///< A word the catalogue knows (type, colour, size, chemistry).
  names,     ///< A list of pin names (outputs, inputs).
  model,     ///< A table of plain numbers by the trade's parameter names.
};

/// One key of a kind.
struct Key {
  std::string_view name;
  Shape shape = Shape::quantity;
  Unit unit = Unit::none;
  double least = 0.0;             ///< Smallest value allowed ...
  bool least_allowed = false;     ///< ... itself included or not.
  double most = 1e30;             ///< Largest value allowed, itself included.
  std::string_view choices = {};  ///< For a word: the choices, separated by spaces.
  std::string_view about = {};    ///< One line for people.
  /// The key makes sense only beside one of these keys, separated by spaces.
  std::string_view only_with = {};
  /// The key must be there beside this one.
  std::string_view needed_with = {};
  bool is_whole = false;  ///< For a number: no fraction.
  bool is_fixed = false;  ///< Says what the part is; the same in every state.
};

/// One parameter of a `model` table: a plain number in SI units.
struct ModelParameter {
  std::string_view name;
  double least = 0.0;          ///< Smallest value allowed ...
  bool least_allowed = false;  ///< ... itself included or not.
  double most = 1e30;          ///< Largest value allowed, itself included.
  std::string_view about = {};
};

/// A kind of part: how it is written down.
struct Kind {
  KindId id = KindId::resistor;
  std::string_view name;  ///< "dc-supply"
  /// Separated by spaces, in the order currents use. The reader names others for a
  /// polarised capacitor, an adjustable regulator and a controller's outputs and
  /// inputs.
  std::string_view pins;
  std::span<const Key> keys;  ///< Besides `kind`, `label` that every part takes.
  /// Exactly one of these keys must be there, separated by spaces; empty: no such rule.
  std::string_view one_of = {};
  /// These keys must be there, separated by spaces.
  std::string_view required = {};
};

[[nodiscard]] const Kind& kind(KindId id);
[[nodiscard]] const Kind* find_kind(std::string_view name);
[[nodiscard]] std::span<const Kind> kinds();
[[nodiscard]] const Key* find_key(const Kind& kind, std::string_view name);

/// The parameters that the kind's `model` takes; empty where it takes none.
[[nodiscard]] std::span<const ModelParameter> model_parameters(KindId id);

/// Splits at single spaces; "" gives no words.
[[nodiscard]] std::vector<std::string> split_words(std::string_view text);

}  // namespace benchproof
