#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/circuit/circuit.h"
#include "core/network/timeline.h"
#include "core/verify/seen/at_rest.h"

namespace benchproof {

/// How far one number of a circuit may be off in its copies.
struct Spread {
  /// Where its bounds come from: the description, the type's sheet, what is usual.
  enum class From { given, published, assumed };

  std::string target;  ///< "quay1_r.value", "quay1.forward", "ambient".
  int part = -1;       ///< -1: the ambient temperature.
  std::string key;
  Unit unit = Unit::none;
  double nominal = 0.0;  ///< As described, without a state's settings.
  double least = 0.0;
  double most = 0.0;
  bool is_normal = false;  ///< Three sigma at the bounds, none beyond; else uniform.
  From from = From::assumed;
  std::string source;
  Mark mark = Mark::practice;
  /// Spreads of one draw are at the same place between their bounds in each copy: pins
  /// of a chip, parts of one reel.
  std::size_t draw = 0;
};

/// "given", "published", "default".
[[nodiscard]] std::string_view word_of(Spread::From from);

/// What copies of a circuit differ by, part by part in their order, the ambient
/// temperature last. A number of which the description tells how far it is off, else
/// one of which its type does, else what is usual of its kind.
[[nodiscard]] std::vector<Spread> spreads_of(const Circuit& circuit);

/// How many draws there are.
[[nodiscard]] std::size_t draws_of(const std::vector<Spread>& spreads);

/// The spreads of each draw: these are at one place in every copy.
[[nodiscard]] std::vector<std::vector<std::size_t>> by_draw(
    const std::vector<Spread>& spreads);

/// A spread's value at a place between its bounds, 0 to 1, where a state has `parts`:
/// what it changes moves the bounds in proportion. `place` may lie outside.
[[nodiscard]] double value_at(const Spread& spread, const std::vector<Part>& parts,
                              double place);
/// The place of the described value between the bounds.
[[nodiscard]] double nominal_place(const Spread& spread);
/// That of each spread, at an end where the described value lies beyond it.
[[nodiscard]] std::vector<double> nominal_places(const std::vector<Spread>& spreads);

/// Lowers a state with some spreads at other places. Refers to what it is made of.
class Lowering {
 public:
  Lowering(const std::vector<Spread>& spreads, const PosedState& posed)
      : spreads_(spreads), posed_(posed), there_(posed) {}

  /// The networks of the phases with each of the spreads `which` at its place, all else
  /// as posed. Nothing where that asks for other elements (an ESR of 0).
  [[nodiscard]] std::vector<Network> at(std::span<const std::size_t> which,
                                        const double* places);

 private:
  [[nodiscard]] std::vector<Network> put(std::span<const std::size_t> which,
                                         const double* places, PosedState& there) const;

  const std::vector<Spread>& spreads_;
  const PosedState& posed_;
  std::optional<PosedState> there_;  ///< As posed, between two calls.
};

/// The same, for once.
[[nodiscard]] std::vector<Network> networks_at(const std::vector<Spread>& spreads,
                                               std::span<const std::size_t> which,
                                               const double* places,
                                               const PosedState& posed);
/// With all spreads at their places.
[[nodiscard]] std::vector<Network> networks_at(const std::vector<Spread>& spreads,
                                               const double* places,
                                               const PosedState& posed);

/// A run of the copy that has its spreads at these places.
[[nodiscard]] Timeline timeline_at(const std::vector<Spread>& spreads,
                                   const double* places, const Circuit& circuit,
                                   const Run& run);

/// The circuit with the ambient temperature that the copy with these places has.
[[nodiscard]] Circuit circuit_at(const std::vector<Spread>& spreads,
                                 const double* places, const Circuit& circuit);

}  // namespace benchproof
