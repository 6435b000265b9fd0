#pragma once

#include <array>
#include <limits>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/check/rating/borne.h"
#include "core/check/rating/measure.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// What a passed rating brings about: a part's finding follows from another of the same
/// part whose stress comes before its own, from `load` on.
enum class Stress { none, load, power, heat, surface };

/// So many times its limit never makes a fault of a rating.
inline constexpr double kNever = std::numeric_limits<double>::infinity();

/// Where findings begin: shares of the limit, or times it. A figure of the part goes
/// before a number.
struct Grade {
  double caution = 1.0;  ///< A caution above it, where it is below `fault`.
  double fault = 1.0;    ///< A fault above it.
  std::string_view caution_figure = {};
  std::string_view fault_figure = {};
};

/// How a rating is judged in a state at rest.
struct AtRest {
  std::string_view check = {};   ///< Id of the finding; empty: not judged at rest.
  std::string_view words = {};   ///< "continuous rating"
  std::string_view advice = {};  ///< What to change; put after a semicolon.
  Grade grade = {};
  Stress stress = Stress::none;
  /// Not told where a finding of this id is told of the same part: that says it all.
  std::string_view unless_told = {};
  /// A guard against what ought not to be at all: any room is as good, so that no
  /// margin is kept.
  bool is_guard = false;
};

/// How a rating is judged in a run.
struct InRun {
  std::string_view check = {};  ///< Id of the finding; empty: not judged in runs.
  /// "reverse voltage limit"; of a lasting one "carries".
  std::string_view words = {};
  std::string_view advice = {};  ///< What to change.
  /// What the part bears for a time; null: the limit holds at every moment.
  Endurance (*endurance)(const Part&) = nullptr;
  Stress stress = Stress::none;  ///< As at rest.
  double shortest = 0.0;  ///< Shorter stretches beyond the limit do not count. Second.
  double moment = 0.0;    ///< Beyond it for no longer than this: a caution. Second.
  double fault = 1.0;     ///< Up to so many times the limit: a caution.
  std::string_view where = {};        ///< Only where the part has this figure ...
  std::string_view where_not = {};    ///< ... and not this one.
  std::string_view unless_told = {};  ///< As at rest.
  bool is_first = false;              ///< Told before the part's others.
  /// Of a voltage: what the part's current makes across its own resistance is held
  /// instead. It is what heats a winding; the voltage that it makes itself when it is
  /// switched off, or turns against, does it no harm.
  bool by_current = false;
};

/// Which of a person's wishes says how much of a rating may be used.
enum class Derated { no, power, voltage };

/// The ratings that resistors are sold with. Watt. Common practice, no source.
inline constexpr std::array kResistorPowers = {0.125, 0.25, 0.5,  1.0,  2.0,
                                               3.0,   5.0,  10.0, 20.0, 50.0};

/// How `shopping` asks for a rating.
struct Bought {
  std::string_view quantity = {};       ///< "reverse voltage"; empty: not asked for.
  std::span<const double> grades = {};  ///< Sold, in rising order; empty: by type only.
  /// Those of polarised ones, where they are sold in others.
  std::span<const double> polarised_grades = {};
  Derated derated = Derated::no;    ///< Else as much as is no caution at rest.
  std::optional<Over> over = {};    ///< What counts, where the measure's does not.
  std::string_view where_not = {};  ///< Not where the part has this figure.
  bool is_first = false;            ///< Told before the part's others.
};

/// What equipment that lasts keeps to, of a rating.
struct Careful {
  double share = 0.0;             ///< 0: nothing is said.
  std::string_view words = {};    ///< "current rating"
  std::optional<Over> over = {};  ///< What counts, where the measure's does not.
};

/// A rating of some kinds of part: what is measured, and which limit it is held
/// against. Findings at rest and in runs, margins, and what `shopping` asks for follow.
struct Rating {
  Measure measure = {};
  std::string_view quantity = {};  ///< "current" ...
  std::string_view key = {};  ///< Of the figure that limits it; empty: `limit` only.
  AtRest rest = {};
  InRun run = {};
  /// A limit that does not stand in one figure; null: the figure itself.
  std::optional<Figure> (*limit)(const Part& part, double ambient) = nullptr;
  /// The number of `limit` without its source, which takes far longer to put into
  /// words; null: only `limit` tells it.
  std::optional<double> (*limit_number)(const Part& part, double ambient) = nullptr;
  Bound bound = Bound::upper;
  /// Of the lowest over the phases: whether a part with this value is switched on.
  bool (*is_on)(const Part& part, double value) = nullptr;
  Bought bought = {};
  Careful careful = {};
};

/// The ratings of kinds that have the same, in the order in which they are told.
struct RatingGroup {
  std::span<const KindId> kinds = {};
  std::span<const Rating> ratings = {};
};

/// The whole table, in the order in which margins are told.
[[nodiscard]] std::span<const RatingGroup> rating_groups();

/// All ratings of a kind, in the table's order.
[[nodiscard]] std::span<const Rating* const> ratings_of(KindId kind);

/// The first rating of a kind whose finding at rest has an id, and whose limit is the
/// figure of a key, if one is given.
/// @throws std::invalid_argument where the table has none.
[[nodiscard]] const Rating& rating_at_rest(KindId kind, std::string_view check,
                                           std::string_view key = {});

/// The first rating of a kind whose finding in a run has an id.
/// @throws std::invalid_argument where the table has none.
[[nodiscard]] const Rating& rating_in_run(KindId kind, std::string_view check,
                                          std::string_view key = {});

/// What findings at rest of an id bring about; none for those that are no rating's.
[[nodiscard]] Stress stress_of(std::string_view check);

/// What findings in runs of an id bring about; none for those that are no rating's.
[[nodiscard]] Stress stress_in_run(std::string_view check);

/// The unit of what is measured.
[[nodiscard]] Unit unit_of(const Rating& rating);

/// The limit of a part, or nothing where it is not known.
[[nodiscard]] std::optional<Figure> limit_of(const Rating& rating, const Part& part,
                                             double ambient);
/// Its number alone, which is found sooner.
[[nodiscard]] std::optional<double> limit_number_of(const Rating& rating,
                                                    const Part& part, double ambient);

/// The share of the limit from which on a part gets a caution, and so many times it
/// from which on a fault, at rest.
[[nodiscard]] double caution_share(const Rating& rating, const Part& part);
[[nodiscard]] double fault_times(const Rating& rating, const Part& part);

}  // namespace benchproof
