#pragma once

#include <optional>
#include <string_view>
#include <vector>

namespace benchproof {

/// The series of preferred numbers of IEC 60063: so many values in each decade.
enum class Series { e3, e6, e12, e24, e48, e96, e192 };

/// "E12".
[[nodiscard]] std::string_view series_word(Series series);

/// The series of that name ("E12" or "e12"), or nothing.
[[nodiscard]] std::optional<Series> find_series(std::string_view name);

/// How many values a decade has.
[[nodiscard]] int decade_size(Series series);

/// A value counts as one of a series when it is so but for this share: far less than
/// any two values are apart, far more than arithmetic blurs.
inline constexpr double kPreferredBlur = 1e-9;

/// The values below are those of all decades, as the doubles nearest to the decimal
/// numbers. Every function takes values from 1e-18 to 1e18, in any unit.
/// @throws std::invalid_argument for others, NaN included.

/// The largest value of the series that is at most `value`.
[[nodiscard]] double preferred_at_most(Series series, double value);

/// The smallest value of the series that is at least `value`.
[[nodiscard]] double preferred_at_least(Series series, double value);

/// The value of the series whose ratio to `value` is nearest to 1; of two as near the
/// smaller.
[[nodiscard]] double preferred_nearest(Series series, double value);

[[nodiscard]] bool is_preferred(Series series, double value);

/// The values of the series from `least` to `most`, both included, in rising order;
/// none where `most` is below `least`.
[[nodiscard]] std::vector<double> preferred_between(Series series, double least,
                                                    double most);

}  // namespace benchproof
