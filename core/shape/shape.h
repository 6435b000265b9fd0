#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/catalogue/catalogue.h"

namespace benchproof {

/// The distance between neighbouring holes of a board. Metre.
inline constexpr double kPitch = 2.54e-3;

/// How leads stand under a body.
enum class ShapeForm {
  axial,     ///< A cylinder with a lead at each end, lying or standing.
  radial,    ///< Two leads below a round or square body.
  row,       ///< Three leads in a row, with a front and a back.
  rows,      ///< Legs in two rows, counted round from the notch.
  triangle,  ///< Two leads in front, one behind.
  loose,     ///< No body on the board: wires that go to any hole.
};

/// The body of a part and where its leads stand.
struct PartShape {
  std::string name;   ///< "TO-92"
  std::string about;  ///< In a few words.
  std::string mark;   ///< What shows its orientation.
  ShapeForm form = ShapeForm::loose;
  int leads = 2;
  /// Sizes in metres by name (length, diameter, width, depth, height, spacing, across,
  /// before, behind, lead); `holes` and `capacity` are plain numbers.
  std::map<std::string, Figure, std::less<>> figures = {};

  /// A figure's value, 0 where the shape has none.
  [[nodiscard]] double size(std::string_view figure) const;
};

/// Which lead is which pin, for types with leads in a row.
struct LeadOrder {
  std::vector<std::string> pins;  ///< From lead 1.
  Mark mark = Mark::practice;
  std::string source;
  std::string differs;  ///< Which parts differ; empty: none known.
};

/// What decides a part's shape when it names none.
struct ShapeWish {
  KindId kind = KindId::resistor;
  std::string type = {};  ///< Name of the catalogue's type; may be empty.
  std::string size = {};  ///< "3 mm"; may be empty.
  std::optional<double> watts = std::nullopt;   ///< Power rating.
  std::optional<double> farads = std::nullopt;  ///< Of a capacitor.
  std::optional<double> volts = std::nullopt;   ///< Its rated voltage.
  bool polarised = false;
  int pins = 2;
};

/// A shape, and how it came to be chosen.
struct ChosenShape {
  const PartShape* shape = nullptr;
  bool is_assumed = false;  ///< Usual for the kind, not known of the type.
  std::string source;       ///< Where the choice comes from.
  Mark mark = Mark::practice;
};

/// The shapes of reference/shapes.
class Shapes {
 public:
  /// Reads the data file by the rules of reference/shapes/README.md, and the order of
  /// leads from that of reference/pinouts.
  /// @throws std::runtime_error with the line on data that breaks them: our own
  ///         mistake, caught by a test.
  explicit Shapes(std::string_view text, std::string_view pinouts = {});

  /// The shape of that name, or null.
  [[nodiscard]] const PartShape* find(std::string_view name) const;
  [[nodiscard]] std::vector<std::string> names() const;
  [[nodiscard]] std::span<const PartShape> all() const { return shapes_; }

  /// The shape of a type, else what is usual for the kind and the figures. Never null.
  [[nodiscard]] ChosenShape choose(const ShapeWish& wish) const;

  /// The order of a type's leads in a row, or null where it is not known.
  [[nodiscard]] const LeadOrder* order(std::string_view type) const;

 private:
  struct Use {
    std::size_t shape = 0;
    Mark mark = Mark::practice;
    std::string source;
  };
  void read_orders(std::string_view pinouts);

  std::vector<PartShape> shapes_;
  std::map<std::string, Use, std::less<>> uses_;  ///< By type.
  std::map<std::string, LeadOrder, std::less<>> orders_;
};

/// The shapes built into the program, read when first asked for.
[[nodiscard]] const Shapes& built_in_shapes();

/// What a catalogue's type says about its shape.
[[nodiscard]] ShapeWish wish_of(const Type& type);

}  // namespace benchproof
