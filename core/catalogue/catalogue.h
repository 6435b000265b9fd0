#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "core/base/quantity.h"
#include "core/catalogue/kind.h"
#include "core/catalogue/model.h"

namespace benchproof {

/// How far a figure can be trusted.
enum class Mark {
  verified,  ///< Read in the source named.
  memory,    ///< Recalled, not looked up.
  practice,  ///< Common practice, no source.
  given,     ///< The user wrote it in the description.
  derived,   ///< Computed from other figures of the same entry; `source` says how.
};

/// The mark's word in data files and output: "verified", "memory", "practice" ...
[[nodiscard]] std::string_view mark_word(Mark mark);

/// One number about a part, and where it comes from.
struct Figure {
  double value = 0.0;
  Unit unit = Unit::none;
  Mark mark = Mark::practice;
  std::string source;
  std::string condition;  ///< "25 C", "IF = 20 mA"; may be empty.
  /// What such parts usually get or show, where others of the class bear more: no limit
  /// to the last digit.
  bool is_typical = false;
  bool operator==(const Figure&) const = default;
};

/// A published point of a diode's forward curve.
struct ForwardPoint {
  double amps = 0.0;
  double volts = 0.0;
  Mark mark = Mark::practice;
  std::string source;
  bool operator==(const ForwardPoint&) const = default;
};

/// A published point of a figure that goes by others: 0.3 V at 150 mA and 15 mA.
struct CurvePoint {
  double at = 0.0;      ///< In the units that the curve's CurveName tells.
  double beside = 0.0;  ///< 0 where the curve goes by one number only.
  double value = 0.0;
  Mark mark = Mark::practice;
  std::string source;
  bool operator==(const CurvePoint&) const = default;
};
using FigureCurve = std::vector<CurvePoint>;

/// What a curve that goes by one number has at `at`: between its points straight in
/// logarithms, beyond them as at the nearest; mark and source are the nearer point's.
/// Nothing for a curve without points.
[[nodiscard]] std::optional<CurvePoint> point_at(const FigureCurve& curve, double at);

/// What a type is as a device: fitted from its published points when the catalogue is
/// read. Nothing for kinds that need none.
using DeviceModel = std::variant<std::monostate, DiodeModel, BipolarModel, MosModel>;

/// Something one can order, or a class of such things ("any red LED of 5 mm").
struct Type {
  std::string name;  ///< "1N5819"; "default" holds what its kind assumes when not told.
  KindId kind = KindId::resistor;
  std::map<std::string, Figure, std::less<>> figures = {};  ///< By key name.
  /// colour, size, polarity ...
  std::map<std::string, std::string, std::less<>> words = {};
  std::vector<ForwardPoint> points = {};
  /// Between which voltages the forward curve of such a part may lie, where published.
  std::vector<ForwardPoint> points_least = {};
  std::vector<ForwardPoint> points_most = {};
  std::map<std::string, FigureCurve, std::less<>> curves =
      {};  ///< By name of CurveName.
  DeviceModel model = {};
  bool operator==(const Type&) const = default;
};

/// All types known to the program. The built-in one is made from reference/parts/.
class Catalogue {
 public:
  explicit Catalogue(std::vector<Type> types);

  /// The type of that kind and name (exact), or nothing.
  [[nodiscard]] const Type* find(KindId kind, std::string_view name) const;

  /// The first type of that kind whose words hold all of `words` ("colour" = "red"), or
  /// nothing. Entries for a class of parts come before single types in the data.
  [[nodiscard]] const Type* find_by_words(
      KindId kind, const std::map<std::string, std::string, std::less<>>& words) const;

  /// What the kind assumes for figures that neither part nor type gives, or nothing.
  [[nodiscard]] const Type* defaults(KindId kind) const;

  /// Names of the types of a kind that a person may write, in the data's order.
  [[nodiscard]] std::vector<std::string> names(KindId kind) const;

  /// The different values that a word takes over a kind's types ("colour" of led).
  [[nodiscard]] std::vector<std::string> words(KindId kind,
                                               std::string_view word) const;

  [[nodiscard]] std::span<const Type> types() const { return types_; }

 private:
  std::vector<Type> types_;
};

/// The catalogue built into the program: that of reference/parts/, read and fitted when
/// the program was built.
[[nodiscard]] Catalogue built_in_catalogue();

}  // namespace benchproof
