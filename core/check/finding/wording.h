#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/check/finding/explanation.h"
#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// A value counts as past its limit when it is so by more than this share: ideal
/// drops hold within 10 uV (DESIGN section 4), which is 1e-5 of a volt.
inline constexpr double kLimitShare = 1e-5;

/// A finding about a part that still has to say what.
[[nodiscard]] Finding about(const Part& part, Severity severity, CheckId check);

/// Whether `value` is above `limit` (>= 0) by more than the solvers' own blur.
[[nodiscard]] bool exceeds(double value, double limit);

/// Where a figure comes from, in words; never empty.
[[nodiscard]] std::string source_of(const Figure& figure);

/// A limit that is common practice and stands in no source.
[[nodiscard]] Figure practice(double value, Unit unit, std::string_view what);

/// Puts value, limit, and the limit's source and mark into a finding.
void set_limit(Finding& finding, std::string_view quantity, double value,
               const Figure& limit);

/// "22.5 mA exceeds the 20 mA continuous rating of 'quay'": three digits, more where
/// both would print the same.
[[nodiscard]] std::string past_text(double value, const Figure& limit,
                                    std::string_view rating, std::string_view part);

/// Above this any part would burn, and how hot it were says nothing. Common practice,
/// no source. Celsius.
inline constexpr double kBurnsCelsius = 400.0;

/// Whether a voltage, current or power is there by calculation only: no meter shows it.
/// 0 is not.
[[nodiscard]] bool is_next_to_nothing(double value, Unit unit);

/// A quantity that was found: "20 mA", "next to nothing", "400 C and more".
[[nodiscard]] std::string found_text(double value, Unit unit, int digits = 3);

/// A quantity without needless zeros: "20 mA", "1.5 A". It reads back.
[[nodiscard]] std::string short_text(double value, Unit unit, int digits = 3);

/// Two quantities with as many digits as tell them apart, three at least.
[[nodiscard]] std::pair<std::string, std::string> two_texts(double value, double limit,
                                                            Unit unit);

/// Appends a finding if there is one.
void append(std::vector<Finding>& findings, std::optional<Finding> finding);

}  // namespace benchproof
